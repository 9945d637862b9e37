"""Readings that their instrument cannot have taken unharmed: they stay in the file and are not used.

A meter above its rating arcs inside and in the hand (IEC 61010-031 rates the probes with it, from memory). So a
reading is used only where the named instrument's rating covers what it had to stand; for the secondary of a unit that
is fed from the mains side this must be shown, by naming an instrument rated for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any, TypeVar

from coilwright.model.design import Design
from coilwright.model.machine import Reading, RefusedReading
from coilwright.model.parts import Choke, LowVoltageTest, OpenTest, ProofTest, ShortTest, Transformer
from coilwright.units import show

T = TypeVar("T")

_HINT = (
    "Take the turns ratio at low voltage instead, both ways round; never put a meter on a live high-voltage winding."
)

#: The largest high turns over primary turns that a kind is built with; for a unit with neither plate nor ratio readings
#: (assumption). It only decides what a meter must be rated for.
_MOST_RATIO = {"oven": 20.0, "sign": 140.0, "ignition": 140.0, "measuring": 400.0}


class _Judge:
    """Collects the refused readings of one design."""

    def __init__(self, design: Design) -> None:
        self.design, self.refused = design, list[RefusedReading]()

    def accept(self, where: str, part: str, instrument: str | None, volts: float, *, must_show: bool = False) -> bool:
        """Return whether an instrument stood that voltage; ``must_show``: only with a rating that says so."""
        named = self.design.instrument(instrument)
        rating = None if named is None else named.rating
        stood = show(volts, "voltage", trim=True)
        if rating is not None and volts > rating:
            limit = show(rating, "voltage", trim=True)
            message = f"{stood} is above the rating of {instrument}, {limit}: the reading is a STOP and is not used"
        elif must_show and rating is None:
            who = f"{instrument} states no rating" if instrument else "no instrument is named"
            message = f"the meter had to stand up to {stood} and {who}: the reading is a STOP and is not used"
        else:
            return True
        self.refused.append(RefusedReading(where, part, instrument, volts, rating, message, _HINT))
        return False


def proof_gap(rating: float | None, day: date | None) -> str | None:
    """Return why a proof test proves nothing though its record is whole, None where it does.

    It is what lets insulation carry more, so its tester must be rated for it and its day must have been (with a day's
    grace for the world's clocks).
    """
    if rating is None:
        return "its instrument states no rating"
    if day is not None and day > datetime.now(tz=UTC).date() + timedelta(days=1):
        return f"{day} is still to come"
    return None


def refuse_readings(design: Design) -> tuple[Design, tuple[RefusedReading, ...]]:
    """Return the design without the readings that are not used, and those readings."""
    judge = _Judge(design)
    kept = replace(
        design,
        transformers=tuple(_transformer(t, judge) for t in design.transformers),
        chokes=tuple(_choke(c, judge) for c in design.chokes),
        readings=tuple(r for r in design.readings if _built(r, judge)),
    )
    return kept, tuple(judge.refused)


def _kept(items: Iterable[T], use: Callable[[T], T | None]) -> tuple[T, ...]:
    return tuple(kept for item in items if (kept := use(item)) is not None)


def _transformer(t: Transformer, judge: _Judge) -> Transformer:
    ratio = _ratio(t)

    def open_test(row: OpenTest) -> OpenTest | None:
        if not judge.accept(f"{row.where}.applied", t.id, row.stamp.instrument, row.applied.value):
            return None
        if row.secondary is None:
            return row
        volts = row.secondary.value
        used = judge.accept(f"{row.where}.secondary", t.id, row.stamp.instrument, volts, must_show=True)
        return row if used else replace(row, secondary=None)

    def short_test(row: ShortTest) -> ShortTest | None:
        if not judge.accept(f"{row.where}.applied", t.id, row.stamp.instrument, row.applied.value):
            return None
        if row.secondary_current is None:
            return row
        # a meter whose fuse opens sees the whole open-circuit voltage of the drive
        volts = row.applied.value * ratio
        used = judge.accept(f"{row.where}.secondary_current", t.id, row.stamp.instrument, volts, must_show=True)
        return row if used else replace(row, secondary_current=None)

    def low_voltage(row: LowVoltageTest) -> LowVoltageTest | None:
        keys = ("applied_high", "low") if row.fed == "high" else ("applied", "secondary")
        pairs = zip(keys, (row.applied.value, row.read.value), strict=True)
        used = [judge.accept(f"{row.where}.{key}", t.id, row.stamp.instrument, volts) for key, volts in pairs]
        return row if all(used) else None

    def proof(row: ProofTest) -> ProofTest | None:
        if not judge.accept(f"{row.where}.applied", t.id, row.stamp.instrument, row.applied):
            return None
        named = judge.design.instrument(row.stamp.instrument)
        why = proof_gap(None if named is None else named.rating, row.stamp.date)
        return row if why is None else replace(row, stamp=replace(row.stamp, date=None))

    def rated(row: Any) -> Any:
        return row if judge.accept(f"{row.where}.applied", t.id, row.stamp.instrument, row.applied) else None

    return replace(
        t,
        open_test=_kept(t.open_test, open_test),
        short_test=_kept(t.short_test, short_test),
        low_voltage_test=_kept(t.low_voltage_test, low_voltage),
        proof_test=_kept(t.proof_test, proof),
        insulation_test=_kept(t.insulation_test, rated),
    )


def _ratio(t: Transformer) -> float:
    """Return the largest ratio that anything in the file speaks for: plate, or low-voltage readings."""
    found = [
        r.read.value / r.applied.value if r.fed == "low" else r.applied.value / r.read.value for r in t.low_voltage_test
    ]
    if t.plate_primary is not None and t.plate_secondary is not None:
        found.append(t.plate_secondary.value / t.plate_primary.value)
    return max(found, default=_MOST_RATIO.get(t.kind, 140.0))


def _choke(c: Choke, judge: _Judge) -> Choke:
    rows = [r for r in c.test if judge.accept(f"{r.where}.voltage", c.id, r.stamp.instrument, r.voltage.value)]
    return replace(c, test=tuple(rows))


def _built(reading: Reading, judge: _Judge) -> bool:
    if reading.unit != "V":
        return True
    driven = reading.drive is None or judge.accept(
        f"{reading.path}.drive", "", reading.instrument, reading.drive.voltage
    )
    return driven and judge.accept(f"{reading.path}.value", "", reading.instrument, reading.value)
