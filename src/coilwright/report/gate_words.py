"""How the readings of a gate are printed, the same in tables and in the book."""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.analyses.gates_results import ChargeRow, GateRow
from coilwright.report.quantities import Quantity, quantity

#: Verdicts in words.
VERDICTS = {
    "open": "to be read",
    "agrees": "agrees",
    "outside": "DOES NOT AGREE",
    "fails": "DOES NOT AGREE",
    "closed": "CLOSED",
    "not known": "not known",
}


@dataclass(frozen=True)
class Shown:
    """``value`` and ``band`` of an expected reading in ``unit``, and what was read with its own unit ("" for none)."""

    value: str
    unit: str
    band: str
    read: str


def shown_row(row: GateRow) -> Shown:
    """Return the printed numbers of a row. A bound on one side stands as value and "or less".

    >>> r = GateRow("T1.core", "core", None, None, 0.1, "ohm", "tester", read=0.04)
    >>> shown_row(r)
    Shown(value='100', unit='mohm', band='or less', read='40.0 mohm')
    """
    read = "" if row.read is None else str(quantity(row.read, row.unit))
    if row.expected is not None and row.low is not None and row.high is not None:
        q = quantity(row.expected, row.unit, (row.low, row.high))
        return Shown(q.text, q.unit, q.band, read)
    if row.low is not None and row.high is not None:
        low, high = quantity(row.low, row.unit), quantity(row.high, row.unit)
        return Shown("", "", f"{low} to {high}", read)
    if row.low is not None:
        return _bound(quantity(row.low, row.unit), "or more", read)
    if row.high is not None:
        return _bound(quantity(row.high, row.unit), "or less", read)
    return Shown("not known", row.unit, "", read)


def _bound(q: Quantity, words: str, read: str) -> Shown:
    return Shown(q.text, q.unit, words, read)


def needs_words(c: ChargeRow) -> str:
    """Return which bleeder a capacitor needs, by which rule, in words."""
    if c.peak is None or c.residual is None or c.allowed is None:
        return "peak volts not known"
    if c.largest is None:
        return f"none: below {quantity(c.residual, 'V')}"
    pieces = f", {c.pieces} or more in series" if c.pieces is not None and c.pieces > 1 else ""
    return (
        f"{quantity(c.largest, 'ohm')}{pieces}; {quantity(c.residual, 'V')} in {quantity(c.allowed, 's')} ({c.rule}); "
        f"burns {quantity(c.power, 'W')}"
    )
