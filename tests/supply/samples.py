"""Invented parts of usual size, in our own numbers, on which the network tests run."""

from __future__ import annotations

from math import pi, sqrt

from coilwright.magnetics.iron import Iron
from coilwright.model.design import Arrangement
from coilwright.supply.circuits import CapacitorCircuit, ChokeCircuit, MainsCircuit, PartCircuit, TransformerCircuit

OMEGA = 2 * pi * 50
MAINS = MainsCircuit(50, {"line": (230, 0.0), "neutral": (0.0, 0.0)})
STIFF = MainsCircuit(50, {"line": (230, 0.0), "neutral": (0.0, 0.0)}, resistance=1e-6, inductance=1e-9)


def oven(ratio: float = 9.55, n: int = 9, leakage: float = 0.036, tied: str = "finish") -> TransformerCircuit:
    knee = 230 * sqrt(2) / OMEGA
    limb = Iron(2.4, knee, 1.2, n)
    shunt = Iron(leakage * 0.55, 0.3, 0.5 * 0.3 / (leakage * 0.55), 9)
    return TransformerCircuit(ratio, 0.95, 108, limb, limb, 1100, leakage * 0.45, shunt, tied=tied)


def ideal(ratio: float, tied: str = "none") -> TransformerCircuit:
    """Iron so good and copper so thick that only the turns count."""
    limb = Iron(1e4, 10.0, 1e-6, 5)
    return TransformerCircuit(
        ratio, 1e-4, 1e-2, limb, limb, 1e9, 1e-6, None, tied=tied,
        high_to_core=1e-13, primary_to_core=1e-13, high_to_primary=1e-13,
    )  # fmt: skip


def choke(ohm: float = 24.0, knee_volts: float = 200.0) -> ChokeCircuit:
    inductance = ohm / OMEGA
    knee = knee_volts * sqrt(2) / OMEGA
    return ChokeCircuit(0.8, Iron(0.97 * inductance, knee, knee / inductance * 0.3, 9), 0.03 * inductance)


def pair(crossed: bool = True, behind_choke: bool = True, correction: bool = False) -> Arrangement:
    """Two ovens with earthed midpoint; ``crossed`` feeds the second the other way round, as it must be."""
    a, b = ("finish", "start") if crossed else ("start", "finish")
    feed = "B1.b" if behind_choke else "mains.line"
    joints = {
        "fed": (feed, "T1.primary_start", f"T2.primary_{a}"),
        "return": ("mains.neutral", "T1.primary_finish", f"T2.primary_{b}"),
        "ground": ("mains.earth", "T1.core", "T2.core"),
        "hot_a": ("T1.high_start",),
        "hot_b": ("T2.high_start",),
    }
    if behind_choke:
        joints["live"] = ("mains.line", "B1.a")
    if correction:
        joints["live"] += ("C1.a",)
        joints["return"] += ("C1.b",)
    return Arrangement("pair", joints, ("hot_a", "hot_b"))


PARTS: dict[str, PartCircuit] = {"T1": oven(), "T2": oven(), "B1": choke(), "C1": CapacitorCircuit(60e-6)}
