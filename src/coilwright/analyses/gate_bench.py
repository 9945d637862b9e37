"""What every gate needs: the project, its supply as solved, and the readings that were typed in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from coilwright.analyses.gates_results import GateRow
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.stress import Limits
from coilwright.analyses.topology import Wired
from coilwright.measurement.readings import DEFAULT_ACCURACY, mark_of
from coilwright.model.design import Design
from coilwright.model.known import Mark
from coilwright.model.machine import Reading
from coilwright.model.parts import Stamp
from coilwright.supply.circuits import MainsCircuit, PartCircuit

#: Half width of a 95 % band in standard deviations.
COVERAGE = 1.96


@dataclass(frozen=True)
class GateBench:
    """``reads`` are the project's readings and those typed in, the later ones last."""

    design: Design
    w: Wired
    shelf: ShelfResult
    supply: SupplyResult
    circuits: Mapping[str, PartCircuit]
    mains: MainsCircuit
    limits: Mapping[str, Limits]
    reads: Sequence[Reading] = ()

    def reading(self, what: str, where: str) -> Reading | None:
        """Return the latest reading of that kind at that row; of two on one day the one that stands last."""
        found = [(r.date or date.min, k, r) for k, r in enumerate(self.reads) if (r.what, r.where) == (what, where)]
        return max(found, key=lambda f: f[:2])[2] if found else None

    def instrument(self, quantity: str, volts: float, otherwise: str, *, apart: frozenset[str] = frozenset()) -> str:
        """Return an instrument of the project that reads a quantity and stands those volts, else words for one.

        Nothing is asked of an instrument whose rating is not written or is lower.
        """
        return next(
            (
                i.id
                for i in self.design.instruments
                if quantity in i.accuracy and i.id not in apart and i.rating is not None and i.rating >= volts
            ),
            f"{otherwise} (none in the project)",
        )

    def meter(self, name: str, quantity: str, value: float) -> float:
        """Return the standard deviation of what an instrument shows there, in the unit of the value."""
        instrument = self.design.instrument(name)
        if instrument is not None and quantity in instrument.accuracy:
            a = instrument.accuracy[quantity]
            return a.relative * abs(value) + a.absolute
        relative, fixed = DEFAULT_ACCURACY[quantity]
        return relative * abs(value) + fixed


def judged(row: GateRow, reading: Reading | None) -> GateRow:
    """Return the row with its reading and whether the two agree; without a reading it stays open."""
    if reading is None:
        return row
    stamp: Mark = mark_of(Stamp(reading.instrument, reading.date))
    return with_read(row, reading.value, stamp)


def with_read(row: GateRow, value: float, mark: Mark) -> GateRow:
    """Return the row with a value read: it agrees if it lies in the band, ends included."""
    within = (row.low is None or value >= row.low) and (row.high is None or value <= row.high)
    known = row.low is not None or row.high is not None
    return replace(
        row, read=value, read_mark=mark, verdict="agrees" if within and known else "outside" if known else "not known"
    )
