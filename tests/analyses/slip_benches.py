"""The supplies whose slips are tested: the demo, and three invented ones known from their plates alone."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from analyses.workshop import designed
from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.shelf import shelf
from coilwright.analyses.slip_networks import Slip, network_of, slips_of
from coilwright.analyses.slips import slips
from coilwright.analyses.slips_results import SlipRow, SlipsResult
from coilwright.analyses.tank import tank_capacitance
from coilwright.analyses.topology import Wired, wired_with
from coilwright.model.design import Design
from coilwright.project.load import load
from coilwright.supply.build import mains_circuit
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.network import Network

CHOKE = """[[choke]]
id = "{}"
current = "8 A"
resistance = "0.3 ohm"
test = [{{ voltage = "60 V", current = "5.4 A", power = "16 W" }}]
"""


def _site(mains: str, frequency: str, breaker: str, system: str = "line and neutral") -> str:
    return (
        f'format = 1\n[project]\nname = "slips"\n[site]\nmains = "{mains}"\nfrequency = "{frequency}"\n'
        f'breaker = "{breaker}"\nrcd = "30 mA"\nearthing = "TN"\nsystem = "{system}"\nplug = "as marked"\n'
    )


def _unit(id: str, kind: str, primary: str, secondary: str, end: str, more: str = "") -> str:
    return (
        f'[[transformer]]\nid = "{id}"\nkind = "{kind}"\nplate_primary = "{primary}"\nplate_secondary = "{secondary}"\n'
        f'plate_power = "1000 VA"\ncore_end = "{end}"\n{more}'
    )


def _wire(joints: dict[str, list[str]], *output: str) -> str:
    lines = "".join(f"{joint} = {json.dumps(terminals)}\n" for joint, terminals in joints.items())
    head = f'[[arrangement]]\nname = "a"\noutput = {json.dumps(output)}\n[arrangement.joint]\n'
    return f'{head}{lines}[supply]\nuse = "a"\n'


#: Two unlike 120 V units about an earthed midpoint, behind two chokes in series.
PAIR_120 = (
    _site("120 V", "60 Hz", "20 A")
    + _unit("T1", "oven", "120 V", "2100 V", "finish")
    + _unit("T2", "oven", "120 V", "1900 V", "finish")
    + CHOKE.format("L1")
    + CHOKE.format("L2")
    + _wire(
        {
            "live": ["mains.line", "L1.a"],
            "mid": ["L1.b", "L2.a"],
            "fed": ["L2.b", "T1.primary_start", "T2.primary_finish"],
            "return": ["mains.neutral", "T1.primary_finish", "T2.primary_start"],
            "ground": ["mains.earth", "T1.core", "T2.core"],
            "hot_a": ["T1.high_start"],
            "hot_b": ["T2.high_start"],
        },
        "hot_a",
        "hot_b",
    )
)
#: Two sign units in parallel, centre taps on their cores.
SIGNS = (
    _site("230 V", "50 Hz", "B16")
    + _unit("S1", "sign", "230 V", "8000 V", "tap", 'plate_current = "50 mA"\n')
    + _unit("S2", "sign", "230 V", "8000 V", "tap", 'plate_current = "50 mA"\n')
    + _wire(
        {
            "live": ["mains.line", "S1.primary_start", "S2.primary_start"],
            "return": ["mains.neutral", "S1.primary_finish", "S2.primary_finish"],
            "ground": ["mains.earth", "S1.core", "S2.core"],
            "hot_a": ["S1.high_start", "S2.high_start"],
            "hot_b": ["S1.high_finish", "S2.high_finish"],
        },
        "hot_a",
        "hot_b",
    )
)
#: One unit across both lines of a split phase, behind two chokes in parallel.
SINGLE = (
    _site("240 V", "60 Hz", "20 A", "split phase")
    + _unit("T1", "oven", "240 V", "2100 V", "finish")
    + CHOKE.format("L1")
    + CHOKE.format("L2")
    + _wire(
        {
            "live": ["mains.line", "L1.a", "L2.a"],
            "fed": ["L1.b", "L2.b", "T1.primary_start"],
            "return": ["mains.line_2", "T1.primary_finish"],
            "ground": ["mains.earth", "T1.core"],
            "hot": ["T1.high_start"],
        },
        "hot",
        "ground",
    )
)
TEXTS = {"pair at 120 V": PAIR_120, "signs in parallel": SIGNS, "one unit": SINGLE}
NAMES = ("demo", *TEXTS)


@dataclass(frozen=True)
class Bench:
    """One supply with its slips solved, and the way to each altered network."""

    design: Design
    result: SlipsResult
    wired: Wired
    circuits: dict[str, PartCircuit]
    mains: MainsCircuit
    slips: dict[tuple[str, str], Slip]

    def rows(self, id: str) -> list[SlipRow]:
        return [r for r in self.result.rows if r.id == id]

    def row(self, id: str, subject: str) -> SlipRow:
        return next(r for r in self.rows(id) if r.subject == subject)

    def network(self, row: SlipRow) -> Network:
        """Return the altered network of a row, the tank on where it is part of the slip."""
        network = network_of(self.slips[row.id, row.subject], self.circuits, self.mains)
        tank = tank_capacitance(self.design)
        return network.with_capacitor(tank) if row.id == "safety-gap-missing" and tank else network


@lru_cache(maxsize=4)
def bench(name: str) -> Bench:
    demo = str(files("coilwright.project") / "demo.coil.toml")
    design = load(demo).design if name == "demo" else designed(TEXTS[name])
    known, chosen = shelf(design), design.chosen()
    assert chosen is not None
    circuits = circuits_of(chosen, design, known)
    w = wired_with(chosen, design, circuits)
    fixed = design.site.plug.value == "fixed wiring"
    every = slips_of(w, tank=tank_capacitance(design) is not None, fixed=fixed)
    keyed = {(s.id, s.subject): s for s in every}
    return Bench(design, slips(design, shelf=known), w, circuits, mains_circuit(design.site), keyed)
