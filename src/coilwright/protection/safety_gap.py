"""The safety gap of one leg: between which volts it must fire, at what it is set, and how wide that is.

One source for the tags, the gates and the book. The rule per leg: above 1.05 times the open peak to earth, below the
weakest rating; what is rated between the ends is held by two legs in series, so each must fire below half of it.
Recommended: 8 % more spacing than just fires on the open supply (our margin). The spacing law is that of a nearly
uniform field (balls, or round ends of a radius of at least twice the spacing); the setting itself is found by firing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from coilwright.discharge.air import REFERENCE_HUMIDITY, STANDARD_AIR, Air
from coilwright.discharge.gap import SIGMA, breakdown_peak, spacing_for
from coilwright.discharge.paschen import MINIMUM
from coilwright.model.known import Mark
from coilwright.protection.facts import Rating

#: A gap set below this times the open peak fires all the time.
OPEN_PEAK_MARGIN = 1.05
#: Our margin on the spacing over the one that just does not fire.
GAP_MARGIN = 1.08
#: Half width of a 95 % band in standard deviations.
COVERAGE = 1.96
#: The law taken: wide, round ends, nearly uniform field. Its scatter from shot to shot and its own band come with it.
FORM = "plate"
#: Below this no law of the air holds [m, at the reference density], and at these volts no spacing fires [V peak].
LEAST_SPACING, LEAST_PEAK = 1.1e-5, 1.02 * MINIMUM


@dataclass(frozen=True)
class Bound:
    """The rating that decides for one leg [V peak to earth], whose it is, and how it is known."""

    limit: float
    where: str
    mark: Mark


@dataclass(frozen=True)
class SafetyWindow:
    """Volts [V peak to earth] and spacings [m] of one leg. ``bound`` None: no rating is known.

    ``fires_spacing`` just fires on the open supply; ``set_spacing`` is 8 % wider and fires at ``set_peak``. The bands
    hold 95 % of the firings: ``set_band`` of a gap set by firing, ``feeler_band`` of one set with a feeler gauge.
    """

    open_peak: float
    low_peak: float
    bound: Bound | None
    low_spacing: float
    high_spacing: float | None
    fires_spacing: float
    set_spacing: float
    set_peak: float
    set_band: tuple[float, float]
    feeler_band: tuple[float, float]
    spacing_band: tuple[float, float]

    @property
    def high_peak(self) -> float | None:
        return None if self.bound is None else self.bound.limit

    @property
    def is_empty(self) -> bool:
        """Return whether no setting fits: the bounds cross, or the setting with its margin lies on a rating."""
        return self.bound is not None and max(self.low_peak, self.set_peak) >= self.bound.limit

    @property
    def is_narrow(self) -> bool:
        """Return whether the window is narrower than the spread of a gap set by firing (95 %)."""
        return self.bound is not None and self.bound.limit - self.low_peak < self.set_band[1] - self.set_band[0]

    @property
    def is_too_narrow_for_feeler(self) -> bool:
        """Return whether a feeler gauge alone cannot place the gap in the window."""
        return self.bound is not None and self.bound.limit - self.low_peak < self.feeler_band[1] - self.feeler_band[0]


def legs_in_series(rating: Rating, legs: int) -> int:
    """Return how many safety gaps fire in series before what is rated there sees their volts."""
    return 2 if rating.across and legs > 1 else 1


def weakest_rating(ratings: Sequence[Rating], legs: int = 2) -> Bound | None:
    """Return the rating that a gap per leg must stay below, None where none is known."""
    found = []
    for r in ratings:
        if isfinite(r.limit):
            shared, limit = legs_in_series(r, legs), r.worst_limit or r.limit
            found.append(Bound(limit / shared, f"{r.where}, per leg" if shared > 1 else r.where, r.mark))
    return min(found, key=lambda b: (b.limit, b.where), default=None)


def air_of(density: float) -> Air:
    """Return air of that density over the reference's whose moisture changes nothing."""
    return Air(density, REFERENCE_HUMIDITY * density)


def firing_peak(spacing: float, air: Air = STANDARD_AIR) -> float:
    """Return the volts [V peak] at which nearly uniform ends ``spacing`` [m] apart break down in this air.

    0 for ends that touch; below 10 um, where no law holds, Paschen's minimum.

    Raises
    ------
    ValueError
        If the spacing is negative or no number.
    """
    if spacing == 0:
        return 0.0
    if 0 < spacing < LEAST_SPACING / air.density_ratio:
        return MINIMUM
    return breakdown_peak(FORM, None, spacing, air).peak


def spacing_in(peak: float, air: Air = STANDARD_AIR) -> float:
    """Return the spacing [m] that just breaks down at ``peak`` [V]: the inverse of ``firing_peak``.

    0 for volts at which no spacing in air breaks down (Paschen's minimum).
    """
    if not peak > LEAST_PEAK:
        return 0.0
    return spacing_for(FORM, None, peak, air).spacing


def spacing_of(peak: float, density: float = 1.0) -> float:
    """Return ``spacing_in`` for air of that density over the reference's, moisture left out."""
    return spacing_in(peak, air_of(density))


def window(open_peak: float, ratings: Sequence[Rating], *, air: Air = STANDARD_AIR, legs: int = 2) -> SafetyWindow:
    """Return the window of one leg.

    Parameters
    ----------
    open_peak : float, [V]
        Highest of the open supply from this end to earth, of every steady state.
    ratings
        What must hold, to earth or between the ends; ``peak`` of a rating plays no part.
    air : Air
        At the gap.
    legs : int
        Output ends off earth.

    Raises
    ------
    ValueError
        If the peak is negative or no number.
    """
    if not (isfinite(open_peak) and open_peak >= 0):
        raise ValueError(f"open peak must be a number from 0 up: got {open_peak} V")
    bound = weakest_rating(ratings, legs)
    low, fires = OPEN_PEAK_MARGIN * open_peak, spacing_in(open_peak, air)
    setting = GAP_MARGIN * fires
    peak, scatter = firing_peak(setting, air), COVERAGE * SIGMA[FORM]
    feeler, spacings = (peak, peak), (setting, setting)
    if fires > 0:
        made, needed = breakdown_peak(FORM, None, setting, air), spacing_for(FORM, None, open_peak, air)
        feeler, spacings = (made.low, made.high), (GAP_MARGIN * needed.low, GAP_MARGIN * needed.high)
    return SafetyWindow(
        open_peak,
        low,
        bound,
        spacing_in(low, air),
        None if bound is None else spacing_in(bound.limit, air),
        fires,
        setting,
        peak,
        (peak * (1 - scatter), peak * (1 + scatter)),
        feeler,
        spacings,
    )


__all__ = [
    "GAP_MARGIN",
    "OPEN_PEAK_MARGIN",
    "Bound",
    "SafetyWindow",
    "air_of",
    "firing_peak",
    "legs_in_series",
    "spacing_in",
    "spacing_of",
    "weakest_rating",
    "window",
]
