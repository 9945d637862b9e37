"""Invented arrangements for the drawing tests: ones a builder would make, and wild ones that nobody would."""

from __future__ import annotations

import random

from coilwright.model.design import Arrangement
from coilwright.report.drawing import WiringPart

OVEN = WiringPart("oven", tied="finish", label=("oven 1000 VA", "230 V / 2100 V"))
SIGN = WiringPart("sign", tapped=True, tied="tap", label=("sign 50 mA", "230 V / 8000 V"))
PARTS = {
    **{f"T{k}": OVEN for k in range(1, 5)},
    **{f"S{k}": SIGN for k in (1, 2)},
    **{f"B{k}": WiringPart("choke", label=("choke 8.2 A",)) for k in range(1, 5)},
    **{f"C{k}": WiringPart("capacitor", label=("40 µF", "450 V AC")) for k in (1, 2, 3)},
    "R1": WiringPart("resistor", label=("50 Mohm", "5 W")),
    "V1": WiringPart("variable", label=("variable 10 A", "set to 80 %")),
    "I1": WiringPart("isolation", label=("isolation 2 kVA", "230 V / 230 V"), step_up=False),
}
FOUR = range(1, 5)

ARRANGEMENTS = {
    "pair": Arrangement(
        "pair, midpoint earthed",
        {
            "live": ("mains.line", "B4.a", "C1.a", "C2.a"),
            "fed": ("B4.b", "T1.primary_start", "T2.primary_finish"),
            "return": ("mains.neutral", "C1.b", "C2.b", "T1.primary_finish", "T2.primary_start"),
            "ground": ("mains.earth", "T1.core", "T2.core"),
            "hot_a": ("T1.high_start",),
            "hot_b": ("T2.high_start",),
        },
        ("hot_a", "hot_b"),
    ),
    "stack": Arrangement(
        "stack of three, two lifted",
        {
            "live": ("mains.line", "B1.a", "C1.a"),
            "fed": ("B1.b", *(f"T{k}.primary_start" for k in (1, 2, 3))),
            "return": ("mains.neutral", "C1.b", *(f"T{k}.primary_finish" for k in (1, 2, 3))),
            "ground": ("mains.earth", "T1.core"),
            "mid_1": ("T1.high_start", "T2.high_finish", "T2.core"),
            "mid_2": ("T2.high_start", "T3.high_finish", "T3.core"),
            "hot": ("T3.high_start",),
        },
        ("hot", "ground"),
        reversed=("T2.high", "T3.primary"),
        lifted=("T2", "T3"),
    ),
    "primaries in series": Arrangement(
        "primaries in series",
        {
            "live": ("mains.line", "B1.a"),
            "fed": ("B1.b", "T1.primary_start"),
            "between": ("T1.primary_finish", "T2.primary_finish"),
            "return": ("mains.neutral", "T2.primary_start"),
            "ground": ("mains.earth", "T1.core", "T2.core"),
            "hot_a": ("T1.high_start",),
            "hot_b": ("T2.high_start",),
        },
        ("hot_a", "hot_b"),
    ),
    "chokes in parallel": Arrangement(
        "two chokes in parallel",
        {
            "live": ("mains.line", "B1.a", "B2.a", "C1.a"),
            "fed": ("B1.b", "B2.b", "T1.primary_start"),
            "return": ("mains.neutral", "C1.b", "T1.primary_finish"),
            "ground": ("mains.earth", "T1.core"),
            "hot": ("T1.high_start",),
        },
        ("hot", "ground"),
    ),
    "choke each": Arrangement(
        "a choke for each of four",
        {
            "live": ("mains.line", *(f"B{k}.a" for k in FOUR)),
            **{f"fed_{k}": (f"B{k}.b", f"T{k}.primary_start") for k in FOUR},
            "return": ("mains.neutral", *(f"T{k}.primary_finish" for k in FOUR)),
            "ground": ("mains.earth", *(f"T{k}.core" for k in FOUR)),
            "hot": tuple(f"T{k}.high_start" for k in FOUR),
        },
        ("hot", "ground"),
    ),
    "signs": Arrangement(
        "sign pair in parallel",
        {
            "live": ("mains.line", "C3.1.a", "S1.primary_start", "S2.primary_start"),
            "return": ("mains.neutral", "C3.1.b", "S1.primary_finish", "S2.primary_finish"),
            "ground": ("mains.earth", "S1.core", "S2.core"),
            "hot_a": ("S1.high_start", "S2.high_start", "R1.a"),
            "hot_b": ("S1.high_finish", "S2.high_finish", "R1.b"),
        },
        ("hot_a", "hot_b"),
    ),
    "in front": Arrangement(
        "separating and variable unit in front",
        {
            "live": ("mains.line", "I1.primary_start"),
            "return": ("mains.neutral", "I1.primary_finish"),
            "apart_a": ("I1.high_start", "V1.line"),
            "apart_b": ("I1.high_finish", "V1.common", "T1.primary_finish", "C1.b"),
            "set": ("V1.wiper", "B1.a"),
            "fed": ("B1.b", "T1.primary_start", "C1.a"),
            "ground": ("mains.earth", "T1.core", "I1.core"),
            "raw": ("T1.high_start", "R1.a"),
            "hot": ("R1.b",),
        },
        ("hot", "ground"),
    ),
    "primary as a choke": Arrangement(
        "a spare primary as a choke",
        {
            "live": ("mains.line", "T2.primary_start"),
            "fed": ("T2.primary_finish", "T1.primary_start"),
            "return": ("mains.neutral", "T1.primary_finish"),
            "ground": ("mains.earth", "T1.core", "T2.core"),
            "loop": ("T2.high_start", "T2.high_finish"),
            "hot": ("T1.high_start",),
        },
        ("hot", "ground"),
        shorted=("T2.high",),
    ),
    "split phase, mains in series": Arrangement(
        "split phase, mains in series",
        {
            "live": ("mains.line", "B1.a", "T1.high_finish"),
            "other": ("mains.line_2", "T1.primary_finish"),
            "middle": ("mains.neutral",),
            "fed": ("B1.b", "T1.primary_start"),
            "hot": ("T1.high_start",),
            "floating": ("T1.core", "R1.a"),
            "ground": ("mains.earth", "R1.b"),
        },
        ("hot", "other"),
        lifted=("T1",),
    ),
}

_TRANSFORMER = (
    "primary_start",
    "primary_finish",
    "high_start",
    "high_tap",
    "high_finish",
    "heater_start",
    "heater_finish",
    "core",
)
_TERMINALS = {**dict.fromkeys(("choke", "capacitor", "resistor"), ("a", "b")), "variable": ("line", "common", "wiper")}
_KINDS = ("oven", "sign", "wound", "isolation", *["choke"] * 3, *["capacitor"] * 2, "resistor", "variable")


def wild(seed: int) -> tuple[Arrangement, dict[str, WiringPart]]:
    """Return up to twelve parts whose terminals are thrown into up to twenty joints, some into none."""
    rng = random.Random(seed)
    parts = {}
    for k in range(rng.randint(1, 12)):
        label = tuple("x" * rng.randint(1, 22) for _ in range(rng.randint(0, 3)))
        name = f"P{k}" if rng.random() < 0.8 else f"P{k}.{rng.randint(1, 3)}"
        tied = rng.choice(["none", "start", "finish", "tap"])
        parts[name] = WiringPart(rng.choice(_KINDS), rng.random() < 0.4, tied, label, step_up=rng.random() < 0.9)
    terminals = [f"{name}.{t}" for name, part in parts.items() for t in _TERMINALS.get(part.kind, _TRANSFORMER)]
    terminals += ["mains.line", "mains.neutral", "mains.earth", *(["mains.line_2"] if rng.random() < 0.3 else [])]
    rng.shuffle(terminals)
    joints: dict[str, list[str]] = {}
    count = rng.randint(1, 20)
    for terminal in terminals[: max(1, int(len(terminals) * rng.uniform(0.3, 1.0)))]:
        k = rng.randrange(count)
        joints.setdefault(("n", "joint_", "a long name of a joint ")[k % 3] + str(k), []).append(terminal)
    names = list(joints)
    transformers = [name for name, part in parts.items() if part.kind not in _TERMINALS]
    return Arrangement(
        f"wild {seed}",
        {name: tuple(held) for name, held in joints.items()},
        (names[0], names[-1]),
        reversed=tuple(f"{t}.{w}" for t in transformers for w in ("primary", "high", "heater") if rng.random() < 0.3),
        lifted=tuple(t for t in transformers if rng.random() < 0.3),
    ), parts
