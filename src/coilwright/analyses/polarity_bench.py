"""What every step of the polarity sheet needs: the wiring, its networks at low volts, and what a reading is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilwright.analyses.topology import Wired
from coilwright.measurement.readings import DEFAULT_ACCURACY
from coilwright.measurement.senses import Expected
from coilwright.model.design import Arrangement, Design
from coilwright.model.machine import Reading
from coilwright.protection.body import TOUCH_LIMIT_RMS
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.low_drive import Drive, Pair, Sense, reach, solve_senses

Real = NDArray[np.float64]

#: Volts that a small adapter gives, highest first: the default drive is the highest that keeps every pair within the
#: touch limit.
ADAPTER_VOLTS = (12.0, 9.0, 7.5, 6.0, 5.0, 4.5, 3.0, 2.0, 1.5, 1.0, 0.5, 0.2)


@dataclass(frozen=True)
class Bench:
    """What every step needs."""

    design: Design
    arrangement: Arrangement
    circuits: Mapping[str, PartCircuit]
    mains: MainsCircuit
    wired: Wired
    units: tuple[str, ...]
    ground: str
    copper: Mapping[str, str]  # node -> what copper joins it to

    def senses(self, drive: Drive, pairs: Sequence[Pair]) -> list[Sense]:
        return solve_senses(self.arrangement, self.circuits, self.mains, drive, self.units, pairs)


def joints_of(r: Reading) -> Pair | None:
    """Return the two joints of a polarity reading, None where it names something else."""
    return r.where if isinstance(r.where, tuple) else None


def usual_drive(where: Pair, taken: Sequence[Reading], per_volt: float) -> float:
    """Return the volts that the readings had there, else the highest of a small adapter within the touch limit."""
    for r in taken:
        if r.drive is not None and r.drive.between == where:
            return r.drive.voltage
    return next((v for v in ADAPTER_VOLTS if v * per_volt <= TOUCH_LIMIT_RMS), ADAPTER_VOLTS[-1])


def reach_of(bench: Bench, where: Pair) -> tuple[float, Pair, float | None]:
    """Return the highest voltage between two points that copper joins, where, and that of the plug's pins, per volt of
    a drive there: at low flux everything is in proportion.
    """
    pins = tuple(bench.wired.joint_of[p] for p in bench.wired.joint_of if p.startswith("mains.") and p != "mains.earth")
    return reach(bench.arrangement, bench.circuits, bench.mains, Drive(1.0, where), bench.units, bench.copper, pins)


def name_of(reversed_: Sequence[str]) -> str:
    """Return the name of a set of reversed windings, "" as wired."""
    return " + ".join(reversed_)


def expected(bench: Bench, at: Pair, sense: Sense, pairs: Sequence[Pair]) -> Expected:
    """Return what a sense shows at the pairs with the adapter at ``at``.

    The model is off by a share of the larger potential of a pair. In a circuit that copper does not join to the
    adapter's, potentials float on stray capacitances: there it is a share of the volts between the two.
    """
    root, v = bench.copper, sense.potentials

    def size(a: str, b: str) -> float:
        va, vb = v.get(a, 0j), v.get(b, 0j)
        apart = a in root and root[a] == root.get(b) and root[a] != root.get(at[1])
        return max(abs(va - vb) if apart else max(abs(va), abs(vb)), 1e-3)

    return Expected(sense.readings, sense.moves, sense.bend, np.array([size(a, b) for a, b in pairs]))


def meter_default(volts: Real) -> Real:
    """Return the standard deviation of readings by a meter that is not described [V]."""
    relative, fixed = DEFAULT_ACCURACY["voltage"]
    return np.asarray(relative * np.abs(volts) + fixed)


def meter_of(r: Reading, design: Design) -> float:
    """Return the standard deviation of a reading [V]."""
    if r.tolerance is not None:
        return max(r.tolerance / 1.96, 1e-3)
    instrument = design.instrument(r.instrument)
    if instrument is not None and "voltage" in instrument.accuracy:
        accuracy = instrument.accuracy["voltage"]
        return max(accuracy.relative * abs(r.value) + accuracy.absolute, 1e-3)
    return float(meter_default(np.array(r.value)))
