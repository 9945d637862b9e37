"""Frozen results of the supply gates and of the charge that every capacitor may hold: SI, rms unless named peak."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilwright.model.known import Mark
from coilwright.protection.tag import Tag

#: Of one row: "outside" is a reading that does not agree; "not known" has no expected value, and the note says why.
RowVerdict = Literal["open", "agrees", "outside", "not known"]
#: Of a gate. "closed": an earlier gate or a STOP keeps it shut; its ``closed`` says which.
GateVerdict = Literal["open", "agrees", "fails", "closed", "not known"]


@dataclass(frozen=True)
class GateRow:
    """One reading to take. ``low`` and ``high`` bound what agrees, None where that side has no bound.

    ``expected`` is None where only a bound is known. ``read`` is what was read, in ``unit``, ``read_mark`` how it is
    known (stamped with instrument and date). ``verdict`` compares the two, nothing else.
    """

    id: str
    what: str
    expected: float | None
    low: float | None
    high: float | None
    unit: str
    instrument: str
    mark: Mark | None = None
    basis: str = ""
    read: float | None = None
    read_mark: Mark | None = None
    verdict: RowVerdict = "open"
    note: str = ""


@dataclass(frozen=True)
class Gate:
    """One gate. ``how`` are its steps in order, ``ticks`` what is tried and signed on paper, ``wrong`` what readings
    outside mean. ``distance`` [m] is how far people stand, 0 at the set itself; ``distance_words`` says it.
    """

    id: str
    number: int
    title: str
    how: tuple[str, ...]
    wrong: tuple[str, ...]
    distance: float
    distance_words: str
    rows: tuple[GateRow, ...] = ()
    ticks: tuple[str, ...] = ()
    verdict: GateVerdict = "open"
    words: str = ""
    closed: str = ""
    source: str = ""

    @property
    def lead(self) -> GateRow | None:
        """Return the row that decides: one outside, else one that is open, else the first; None without rows."""
        for wanted in ("outside", "open"):
            found = next((r for r in self.rows if r.verdict == wanted), None)
            if found is not None:
                return found
        return self.rows[0] if self.rows else None


@dataclass(frozen=True)
class SparkWindow:
    """Where the safety gap of one leg must fire: above ``low_peak``, below ``high_peak`` [V]; None: not known.

    ``fires_spacing`` [m] is where it fires on the open supply between ends that make a nearly uniform field,
    ``set_spacing`` the setting 8 % wider, ``set_peak`` [V] what that fires at. ``set_peak`` and the rest are of the
    formula, in this site's air; the setting itself is found by firing. ``set_band`` [V] holds 95 % of its firings,
    ``spacing_band`` [m] the spacing as the law alone tells it; ``is_narrow``: the window is narrower than the scatter
    of one gap, or (``is_narrow_for_feeler``) than that of one set with a feeler gauge.
    """

    joint: str
    open_peak: float
    low_peak: float
    high_peak: float | None
    high_where: str
    high_mark: Mark
    low_spacing: float
    high_spacing: float | None
    fires_spacing: float
    set_spacing: float
    set_peak: float
    set_band: tuple[float, float]
    spacing_band: tuple[float, float]
    is_narrow: bool = False
    is_narrow_for_feeler: bool = False

    @property
    def is_empty(self) -> bool:
        """Return whether no setting fits: the bounds cross, or the setting with its margin lies on a rating."""
        return self.high_peak is not None and (self.low_peak >= self.high_peak or self.set_peak >= self.high_peak)


@dataclass(frozen=True)
class ChargeRow:
    """What one capacitor may hold, and the bleeder that it needs.

    ``peak`` [V] is the highest across one unit, None where it is not known; all that follows from it is then None.
    ``residual`` [V] within ``allowed`` [s] is the code's demand, ``rule`` its name. ``fitted`` [ohm] is the bleeder in
    the project, ``drain`` [s] its time. ``largest`` [ohm] is the largest that drains in time, ``power`` [W] what it
    burns while the set runs, ``pieces`` how many usual resistors share its volts.
    """

    where: str
    place: Literal["correction", "tank", "filter", "supply"]
    capacitance: float
    peak: float | None
    energy: float | None
    charge: float | None
    residual: float | None
    allowed: float | None
    rule: str
    fitted: float | None
    drain: float | None
    largest: float | None
    power: float | None
    pieces: int | None
    units: int = 1


@dataclass(frozen=True)
class GatesResult:
    """All gates of one arrangement in order, what every capacitor may hold, the tags and what is assumed."""

    arrangement: str
    gates: tuple[Gate, ...]
    charge: tuple[ChargeRow, ...]
    windows: tuple[SparkWindow, ...]
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()
