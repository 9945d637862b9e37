"""Made-up supplies with windings reversed at random, read with a real meter on iron that is not the model's."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from benchmarks.planner_shelves import Shelf

from coilwright.analyses.results import ShelfResult
from coilwright.model.design import Arrangement, Design
from coilwright.model.machine import Drive as Driven
from coilwright.model.machine import Reading
from coilwright.supply.build import build, mains_circuit
from coilwright.supply.circuits import TransformerCircuit
from coilwright.supply.low_drive import Drive, at_low_flux, driven, plug_out, toggled
from coilwright.supply.steady import rms, solve_network

Pair = tuple[str, str]


@dataclass
class Case:
    """One supply: as drawn, and as it really is. ``wrong`` are the windings that are really reversed."""

    design: Design
    shelf: ShelfResult
    arrangement: Arrangement
    true_circuits: dict[str, object]
    wrong: frozenset[str]
    units: tuple[str, ...]
    adapter: float
    rng: random.Random
    relative: float = 0.01
    fixed: float = 0.03

    def read(self, at: Pair, volts: float, pairs: list[Pair]) -> list[Reading]:
        """Return what the meter shows at these pairs with the adapter at ``at``."""
        wired = toggled(plug_out(self.arrangement), sorted(self.wrong))
        network = driven(
            build(wired, self.true_circuits, mains_circuit(self.design.site)), Drive(volts, at), self.adapter
        )
        state = solve_network(network, highest=1, limit=1)
        out = []
        for a, b in pairs:
            true = rms(state.voltage(a, b))
            shown = abs(true * (1 + self.rng.gauss(0, self.relative / 2)) + self.rng.gauss(0, self.fixed / 2))
            out.append(Reading("polarity", (a, b), shown, "V", drive=Driven(volts, at)))
        return out

    def mirror(self) -> frozenset[str]:
        """Return the reversed set as the sheet names it: of it and its mirror the one that leaves the first alone."""
        every = frozenset(f"{u}.high" for u in self.units)
        return self.wrong if f"{self.units[0]}.high" not in self.wrong else every - self.wrong


def case(seed: int) -> Case:
    """Return a supply of two to five unlike oven units: a pair of groups about an earthed midpoint, a series stack on
    each side, or windings in parallel, behind a choke or not.
    """
    rng = random.Random(7000 + seed)
    volts, frequency = rng.choice(((230.0, 50.0), (120.0, 60.0)))
    shelf = Shelf(volts, frequency)
    n = rng.randint(2, 5)
    units = tuple(f"T{k + 1}" for k in range(n))
    for u in units:
        shelf.oven(u, 230.0 / volts * rng.uniform(8.0, 11.0), rng.uniform(600.0, 1300.0), liftable="yes")
    shelf.choke("B1", 0.25 * volts**2 / 1000.0 * rng.uniform(0.5, 2.0), 8.0)
    choked = rng.random() < 0.7
    ups = n - n // 2
    joints: dict[str, list[str]] = {
        "live": ["mains.line"],
        "fed": [],
        "return": ["mains.neutral"],
        "ground": ["mains.earth", *(f"{u}.core" for u in units)],
    }
    feed = "fed" if choked else "live"
    if choked:
        joints["live"].append("B1.a")
        joints["fed"].append("B1.b")
    lifted: list[str] = []
    for side, members in (("a", units[:ups]), ("b", units[ups:])):
        below: str | None = None
        for k, u in enumerate(members):
            top = f"hot_{side}" if k == len(members) - 1 else f"link_{side}_{k + 1}"
            joints.setdefault(top, []).append(f"{u}.high_start")
            if below is not None:
                joints[below].append(f"{u}.high_finish")
                lifted.append(u)
            first, last = ("primary_start", "primary_finish") if side == "a" else ("primary_finish", "primary_start")
            joints[feed].append(f"{u}.{first}")
            joints["return"].append(f"{u}.{last}")
            below = top
    arrangement = Arrangement(
        "case", {j: tuple(ts) for j, ts in joints.items() if ts}, ("hot_a", "hot_b"), lifted=tuple(lifted)
    )
    design = replace(shelf.design(), arrangements=(arrangement,))
    true: dict[str, object] = {}
    for name, circuit in shelf.circuits.items():
        if isinstance(circuit, TransformerCircuit):
            other = replace(
                circuit,
                ratio=circuit.ratio * rng.gauss(1.0, 0.005),
                air_leakage=circuit.air_leakage * rng.uniform(0.8, 1.25),
                core_loss_resistance=circuit.core_loss_resistance * rng.uniform(0.5, 2.0),
            )
            true[name] = at_low_flux(other, rng.uniform(0.25, 1.0))
        else:
            true[name] = circuit
    wrong = frozenset(f"{u}.high" for u in units if rng.random() < 0.5)
    return Case(design, shelf.result(), arrangement, true, wrong, units, rng.uniform(0.2, 2.0), rng)
