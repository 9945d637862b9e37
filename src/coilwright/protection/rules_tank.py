"""Tags of the tank with its gap missing."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from coilwright.protection.facts import Rating, TankFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules_capacitor import bleeder_tag, stored_tag
from coilwright.protection.rules_stress import Margin, peak_margin, pencil_tags
from coilwright.protection.safety_gap import OPEN_PEAK_MARGIN, Bound, legs_in_series, weakest_rating, window
from coilwright.protection.tag import Tag
from coilwright.protection.wording import farads, listed, volts_peak


def tank_tags(facts: TankFacts) -> tuple[Tag, ...]:
    """Return the tags of the tank.

    While the peak with the gap missing is not known nothing is judged against a rating: an unconverged answer comes as
    ``not-converged``. A missing safety gap, bleeder or rating is a STOP either way.
    """
    return (
        *(stored_tag("tank", facts.capacitance, facts.peak) if facts.peak is not None else ()),
        *_overvolt(facts),
        *_unrated(facts),
        *_safety_gap(facts),
        *(tag for unit in facts.units for tag in bleeder_tag(unit.where, unit.capacitance, unit.bleeder, unit.peak)),
        *_kind(facts),
        *pencil_tags(_margins(facts)),
        *(raise_tag("not-converged", name) for name in facts.unconverged),
    )


def _margins(facts: TankFacts) -> tuple[Margin, ...]:
    return tuple(
        peak_margin("tank-overvolt-gap-missing", r.where, r.peak, r.limit, r.mark)
        for r in facts.ratings
        if isfinite(r.peak)
    )


def _unrated(facts: TankFacts) -> Iterator[Tag]:
    """A rating that is not stated is not one that holds."""
    if facts.unrated:
        peak = "peak with the gap missing not known" if facts.peak is None else volts_peak(facts.peak)
        yield raise_tag(
            "tank-overvolt-gap-missing",
            listed(facts.unrated),
            value=peak,
            limit="not known: no rating of the capacitor is stated",
            number=facts.peak,
        )


def _held_by_gap(rating: Rating, facts: TankFacts) -> bool:
    """Return whether a safety gap per leg fires below this rating; between the ends two legs add up."""
    return facts.safety_gap is not None and facts.safety_gap * legs_in_series(rating, facts.legs) < (
        rating.worst_limit or rating.limit
    )


def _overvolt(facts: TankFacts) -> Iterator[Tag]:
    over = [r for r in facts.ratings if isfinite(r.peak) and r.peak > r.limit and not _held_by_gap(r, facts)]
    if not over:
        return
    worst = max(over, key=lambda r: r.peak / r.limit)
    margin = peak_margin(
        "tank-overvolt-gap-missing", listed(r.where for r in over), worst.peak, worst.limit, worst.mark
    )
    yield margin.tag()


def _safety_gap(facts: TankFacts) -> Iterator[Tag]:
    bound = weakest_rating(facts.ratings, facts.legs)
    fits = True
    if facts.open_peak is not None:
        w = window(facts.open_peak, facts.ratings, air=facts.air, legs=facts.legs)
        fits = not w.is_empty
    low = None if facts.open_peak is None else OPEN_PEAK_MARGIN * facts.open_peak
    high = None if bound is None else bound.limit
    words = _window(low, bound, fits=fits)
    if facts.safety_gap is None:
        yield raise_tag("safety-gap-missing", "tank", value="none", limit=words, bound=high)
    elif high is not None and facts.safety_gap >= high:
        yield raise_tag(
            "safety-gap-missing",
            "tank",
            value=f"set to {volts_peak(facts.safety_gap)}: not below the weakest rating",
            limit=words,
            number=facts.safety_gap,
            bound=high,
        )
    elif low is not None and facts.safety_gap <= low:
        yield raise_tag(
            "safety-gap-missing",
            "tank",
            value=f"set to {volts_peak(facts.safety_gap)}: fires on the open supply",
            limit=words,
            number=facts.safety_gap,
            bound=low,
        )
    elif not fits:
        yield raise_tag(
            "safety-gap-missing",
            "tank",
            value=f"set to {volts_peak(facts.safety_gap)}: no room for 8 % more spacing than just fires",
            limit=words,
            number=facts.safety_gap,
            bound=high,
        )


def _window(low: float | None, bound: Bound | None, *, fits: bool) -> str | None:
    if low is None and bound is None:
        return None
    parts = [] if low is None else [f"above {volts_peak(low)} (1.05 x open peak to earth)"]
    parts += [] if bound is None else [f"below {volts_peak(bound.limit)} (weakest rating)"]
    words = ", ".join(parts)
    return f"per leg: {words}" + ("" if fits else "; no setting fits: fewer volts or a better rating")


def _kind(facts: TankFacts) -> Iterator[Tag]:
    if facts.series > 1:
        yield raise_tag("string-zero-is-not-dead", "tank", value=f"{facts.series} in series")
    if facts.plates:
        field = "" if facts.field is None else f", {facts.field / 1e6:.3g} kV/mm"
        yield raise_tag("homebuilt-capacitor", "tank", value=f"{farads(facts.capacitance)}{field}", number=facts.field)
    if len(facts.states) > 1:
        yield raise_tag(
            "two-working-points",
            "tank, gap missing",
            number=max(facts.states),
            value=", ".join(volts_peak(v) for v in sorted(facts.states, reverse=True)),
        )
