"""Small supplies written out as project files, to be spoilt one thing at a time. All parts are invented."""

from __future__ import annotations

import json
import tempfile
from functools import lru_cache
from pathlib import Path
from unittest import mock

from coilwright.analyses.shelf import shelf
from coilwright.analyses.supply import supply
from coilwright.analyses.topology import wired
from coilwright.project.load import load
from coilwright.supply.circuits import TransformerCircuit

SITE = """format = 1
[project]
name = "workshop"
[site]
mains = "230 V"
frequency = "50 Hz"
breaker = "B16"
rcd = "30 mA"
earthing = "TN"
system = "line and neutral"
plug = "as marked"
[protection]
disconnections = 2
[[instrument]]
id = "bond meter"
accuracy = { resistance = "5 %" }
rating = "50 V"
"""
CHOKE = '[[choke]]\nid = "B1"\ncurrent = "4.6 A"\nlamp = "sodium 400 W"\n'
CHOKE_2 = CHOKE.replace("B1", "B2")
JOINTS = {
    "live": ["mains.line", "B1.a"],
    "fed": ["B1.b", "T1.primary_start"],
    "return": ["mains.neutral", "T1.primary_finish"],
    "ground": ["mains.earth", "T1.core"],
    "hot": ["T1.high_start"],
}
BARE = {
    "live": ["mains.line", "T1.primary_start"],
    "return": ["mains.neutral", "T1.primary_finish"],
    "ground": ["mains.earth", "T1.core"],
    "hot": ["T1.high_start"],
}


def bond(resistance: str, date: str | None = "2026-02-14") -> str:
    stamp = "" if date is None else f', instrument = "bond meter", date = {date}'
    return f'{{ current = "200 mA", resistance = "{resistance}"{stamp} }}'


def transformer(id: str = "T1", *bonds: str, **keys: str | None) -> str:
    """Return an oven unit on paper; a key set to None is left out."""
    said = {
        "kind": "oven",
        "plate_primary": "230 V",
        "plate_secondary": "2100 V",
        "plate_power": "1000 VA",
        "core_end": "finish",
        "core_end_liftable": "yes",
        **keys,
    }
    lines = [f"{k} = {json.dumps(v)}" for k, v in said.items() if v is not None]
    tests = ", ".join(bonds or (bond("0.04 ohm"),))
    return "\n".join([f'[[transformer]]\nid = "{id}"', *lines, f"bond_test = [{tests}]\n"])


def capacitor(**keys: str) -> str:
    said = {"id": "C1", "value": "40 uF", "rated": "450 V AC", "dielectric": "polypropylene", **keys}
    return "[[capacitor]]\n" + "".join(f"{k} = {json.dumps(v)}\n" for k, v in said.items())


def resistor(resistance: str) -> str:
    return f'[[resistor]]\nid = "R1"\nresistance = "{resistance}"\n'


def wire(joints: dict[str, list[str]], output: tuple[str, str] = ("hot", "ground"), shorted: str = "") -> str:
    lines = [f"{joint} = {json.dumps(terminals)}" for joint, terminals in joints.items()]
    more = f'shorted = ["{shorted}"]\n' if shorted else ""
    head = f'[[arrangement]]\nname = "a"\noutput = {json.dumps(output)}\n{more}[arrangement.joint]\n'
    return head + "\n".join(lines) + '\n[supply]\nuse = "a"\n'


def joined(joints: dict[str, list[str]], **more: list[str]) -> dict[str, list[str]]:
    """Return the joints with further terminals on them; ``back`` stands for the joint "return"."""
    out = {j: list(ts) for j, ts in joints.items()}
    for joint, terminals in more.items():
        name = "return" if joint == "back" else joint
        out[name] = [*out.get(name, []), *terminals]
    return out


@lru_cache(maxsize=64)
def designed(text: str):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "workshop.coil.toml"
        path.write_text(text, encoding="utf-8")
        return load(str(path)).design


def solve(text: str, *, gap_missing: bool = False):
    """Return the supply of that file; the switch-on peak, half of the work and no subject here, is made up."""
    with mock.patch("coilwright.analyses.supply.worst_first_peak", return_value=10.0):
        return supply(designed(text), gap_missing=gap_missing)


solved = lru_cache(maxsize=64)(solve)


def tags(text: str, id: str, *, gap_missing: bool = False):
    """Return the tags of one rule in the supply of that file."""
    return [t for t in solved(text, gap_missing=gap_missing).tags if t.id == id]


def sides(text: str):
    """Return the wired arrangement of that file, with the fitted ratios."""
    design = designed(text)
    circuits = {n: p.circuit for n, p in shelf(design).parts.items() if isinstance(p.circuit, TransformerCircuit)}
    return wired(
        design.chosen(), design, {n: c.tied for n, c in circuits.items()}, {n: c.ratio for n, c in circuits.items()}
    )
