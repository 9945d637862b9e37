"""What a circuit-breaker does with a current: the bands of IEC 60898-1.

Magnetic bands (B 3 to 5, C 5 to 10, D 10 to 20 times the rated current, r.m.s.): seen second hand, on a web page that
quotes the standard and whose title was not kept; the standard itself was not seen. Conventional non-tripping and
tripping currents (1.13 and 1.45 times, one hour up to 63 A, two above) and the thermal test current (2.55 times: 1 to
60 s up to 32 A, 1 to 120 s above): from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Literal

from coilwright.model.site import Breaker

MAGNETIC_BAND: dict[str, tuple[float, float]] = {"B": (3.0, 5.0), "C": (5.0, 10.0), "D": (10.0, 20.0)}
NON_TRIP = 1.13
TRIP = 1.45
THERMAL = 2.55
#: An unknown curve may be as quick as the quickest and as slow as the slowest.
ENVELOPE = (min(low for low, _ in MAGNETIC_BAND.values()), max(high for _, high in MAGNETIC_BAND.values()))

State = Literal[
    "holds",
    "may trip",
    "trips within the hour",
    "trips within a minute",
    "may trip at once",
    "trips at once",
]


@dataclass(frozen=True)
class BreakerVerdict:
    """What the breaker does with a steady current. ``multiple`` is the current over the rated current."""

    state: State
    multiple: float
    within_rating: bool
    words: str


@dataclass(frozen=True)
class InrushVerdict:
    """What the breaker does with the first peak: ``low`` and ``high`` are its magnetic band as peak values [A].

    ``may_trip`` is None where the curve is unknown and the peak lies between the quickest and the slowest curve there
    is.
    """

    may_trip: bool | None
    low: float | None
    high: float | None
    words: str


def _check(current: float, breaker: Breaker) -> None:
    if not isfinite(current) or current < 0:
        raise ValueError(f"current must be a number of amperes from 0 up: got {current}")
    if not breaker.rated_current > 0:
        raise ValueError(f"rated current of the breaker must be positive: got {breaker.rated_current} A")


def magnetic_band(breaker: Breaker) -> tuple[float, float] | None:
    """Return the magnetic band as r.m.s. currents [A], or None where the curve is unknown."""
    band = MAGNETIC_BAND.get(breaker.curve or "")
    return None if band is None else (band[0] * breaker.rated_current, band[1] * breaker.rated_current)


def verdict(current: float, breaker: Breaker) -> BreakerVerdict:
    """Return what the breaker does with a steady ``current`` [A rms].

    Raises
    ------
    ValueError
        If the current is negative or no number, or the breaker has no positive rating.

    Examples
    --------
    >>> verdict(8.0, Breaker(16.0, "B")).state
    'holds'
    >>> verdict(19.6, Breaker(16.0, "B")).state
    'may trip'
    """
    _check(current, breaker)
    rated = breaker.rated_current
    multiple = current / rated
    low, high = MAGNETIC_BAND.get(breaker.curve or "", ENVELOPE)
    conventional, thermal = ("an hour" if rated <= 63 else "two hours"), (60 if rated <= 32 else 120)
    state: State
    if multiple <= NON_TRIP:
        state, words = "holds", f"holds for {conventional} up to {NON_TRIP} times its rated current"
    elif multiple <= TRIP:
        state, words = "may trip", f"may hold or trip between {NON_TRIP} and {TRIP} times its rated current"
    elif multiple <= min(THERMAL, low):
        state, words = "trips within the hour", f"trips within {conventional} above {TRIP} times its rated current"
    elif multiple <= low:
        state, words = "trips within a minute", f"trips within 1 to {thermal} s above {THERMAL} times its rated current"
    elif multiple <= high:
        state, words = "may trip at once", f"may trip at once between {low:g} and {high:g} times its rated current"
    else:
        state, words = "trips at once", f"trips at once above {high:g} times its rated current"
    return BreakerVerdict(state, multiple, multiple <= 1.0, words)


def inrush_verdict(first_peak: float, breaker: Breaker) -> InrushVerdict:
    """Return whether the first peak of a switch-on [A peak] may trip the breaker magnetically.

    The bands are r.m.s. values of a sine; a sine of that value has sqrt(2) times the peak, and it is the peak that
    pulls the armature. A peak below sqrt(2) times the lower edge is one that the breaker has to hold.

    Raises
    ------
    ValueError
        If the peak is negative or no number, or the breaker has no positive rating.
    """
    _check(first_peak, breaker)
    band = magnetic_band(breaker)
    if band is None:
        quick, slow = (sqrt(2) * m * breaker.rated_current for m in ENVELOPE)
        may_trip = False if first_peak <= quick else True if first_peak > slow else None
        return InrushVerdict(may_trip, None, None, "curve unknown: anything from 3 to 20 times the rated current (rms)")
    low, high = sqrt(2) * band[0], sqrt(2) * band[1]
    if first_peak <= low:
        words = "below the magnetic band"
    elif first_peak <= high:
        words = "within the magnetic band: may trip"
    else:
        words = "above the magnetic band: trips"
    return InrushVerdict(first_peak > low, low, high, words)
