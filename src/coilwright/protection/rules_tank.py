"""Tags of the tank with its gap missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
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

    Judged is the highest over the tank's tolerance, with the 95 % band of the parts. While the peak with the gap
    missing is not known nothing is judged against a rating: an unconverged answer comes as ``not-converged``. A missing
    safety gap, bleeder or rating is a STOP either way.
    """
    return (
        *stored_tag("tank", facts.capacitance, facts.peak),
        *_overvolt(facts),
        *_unrated(facts),
        *_safety_gap(facts),
        *_main_gap(facts),
        *(
            tag
            for unit in facts.units
            for tag in bleeder_tag(unit.where, unit.capacitance, unit.bleeder, unit.peak, series=unit.series)
        ),
        *_kind(facts),
        *pencil_tags(_margins(facts)),
        *(raise_tag("not-converged", name) for name in facts.unconverged),
    )


def _holds_to(rating: Rating) -> float:
    """Return what counts [V peak]: the limit of the worst share where the parts of a string share; 0: none known."""
    return rating.limit if rating.worst_limit is None else rating.worst_limit


def _margins(facts: TankFacts) -> tuple[Margin, ...]:
    return tuple(_margin(r.where, r, facts) for r in facts.ratings if isfinite(r.peak) and _holds_to(r) > 0)


def _margin(where: str, rating: Rating, facts: TankFacts) -> Margin:
    margin = peak_margin("tank-overvolt-gap-missing", where, rating.peak, _holds_to(rating), rating.mark)
    return replace(margin, shown=_peak_words(rating, facts))


def _peak_words(rating: Rating, facts: TankFacts) -> str:
    """Return the peak as stated, and how far it may go over the tank's tolerance and the parts' band."""
    if rating.usual is None or rating.peak <= rating.usual:
        return volts_peak(rating.peak)
    band = facts.capacitance_band
    tank = "" if band is None or band[0] >= band[1] else f"tank of {farads(band[0])} to {farads(band[1])}, "
    return f"{volts_peak(rating.usual)}, up to {volts_peak(rating.peak)} ({tank}95 % band of the parts)"


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


def _gap_high(facts: TankFacts) -> float | None:
    """Return the highest at which the safety gap may fire [V peak]: what protects is that, not its middle."""
    return facts.safety_gap if facts.safety_gap_high is None else facts.safety_gap_high


def _held_by_gap(rating: Rating, facts: TankFacts) -> bool:
    """Return whether a safety gap per leg fires below this rating; between the ends two legs add up."""
    high = _gap_high(facts)
    return high is not None and high * legs_in_series(rating, facts.legs) < _holds_to(rating)


def _overvolt(facts: TankFacts) -> Iterator[Tag]:
    known = [r for r in facts.ratings if isfinite(r.peak) and _holds_to(r) > 0]
    over = [r for r in known if r.peak > _holds_to(r) and not _held_by_gap(r, facts)]
    if over:
        worst = max(over, key=lambda r: r.peak / _holds_to(r))
        yield _margin(listed(r.where for r in over), worst, facts).tag()
    yield from _unrated_places([r for r in facts.ratings if _holds_to(r) <= 0], facts)


def _unrated_places(places: list[Rating], facts: TankFacts) -> Iterator[Tag]:
    """A place of which no rating is known holds nothing that could be counted on; no safety gap clears it."""
    if places:
        first = places[0]
        seen = isfinite(first.peak)
        yield raise_tag(
            "tank-overvolt-gap-missing",
            listed(r.where for r in places),
            value=_peak_words(first, facts) if seen else "peak with the gap missing not known",
            limit="not known: no rating of it counts",
            do="Say which end of the winding is the inner one or lies on the core, or state what the capacitor is "
            "rated for; else a proof test by a qualified person. No safety gap stands in for a rating.",
            number=first.peak if seen else None,
            mark=first.mark,
        )


def _safety_gap(facts: TankFacts) -> Iterator[Tag]:
    ratings = [r for r in facts.ratings if _holds_to(r) > 0]
    bound = weakest_rating(ratings, facts.legs)
    fits = True
    if facts.open_peak is not None:
        w = window(facts.open_peak, ratings, air=facts.air, legs=facts.legs)
        fits = not w.is_empty
    low = None if facts.open_peak is None else OPEN_PEAK_MARGIN * facts.open_peak
    high = None if bound is None else bound.limit
    words = _window(low, bound, fits=fits)
    setting, top = facts.safety_gap, _gap_high(facts)
    if setting is None or top is None:
        yield raise_tag("safety-gap-missing", "tank", value="none", limit=words, bound=high)
        return
    fault: tuple[str, float, float | None] | None = None
    if high is not None and top >= high:
        reach = "" if setting >= high else f", up to {volts_peak(top)} with its band"
        fault = (f"{reach}: not below the weakest rating", top, high)
    elif low is not None and setting <= low:
        fault = (": fires on the open supply", setting, low)
    elif not fits:
        fault = (": no room for 8 % more spacing than just fires", setting, high)
    if fault is not None:
        told, number, limit = fault
        yield raise_tag(
            "safety-gap-missing",
            "tank",
            value=f"set to {volts_peak(setting)}{told}",
            limit=words,
            number=number,
            bound=limit,
        )


def _main_gap(facts: TankFacts) -> Iterator[Tag]:
    """Tell of a main gap that fires above a rating: whatever is rated there is then held by the safety gap alone."""
    even = 1 / max(facts.legs, 1)
    share = min(max(even, facts.end_share or 0.0), 1.0)
    bounds = [(_holds_to(r) / (1.0 if r.across else share), r.where) for r in facts.ratings if _holds_to(r) > 0]
    if facts.main_gap is None or not bounds:
        return
    least, where = min(bounds)
    if facts.main_gap > least:
        high = _gap_high(facts)
        instead = (
            "no safety gap fires before it"
            if high is None or high * max(facts.legs, 1) >= facts.main_gap
            else f"the safety gap fires in its place, at up to {volts_peak(high * max(facts.legs, 1))} across"
        )
        yield raise_tag(
            "main-gap-too-wide",
            "gap",
            value=f"fires at up to {volts_peak(facts.main_gap)} across; {instead}",
            limit=f"below {volts_peak(least)} across ({where})",
            number=facts.main_gap,
            bound=least,
        )


def _window(low: float | None, bound: Bound | None, *, fits: bool) -> str | None:
    if low is None and bound is None:
        return None
    parts = [] if low is None else [f"above {volts_peak(low)} (1.05 x open peak to earth)"]
    parts += [] if bound is None else [f"below {volts_peak(bound.limit)} (weakest rating)"]
    words = ", ".join(parts)
    return f"per leg: {words}" + ("" if fits else "; no setting fits: fewer volts or a better rating")


def _kind(facts: TankFacts) -> Iterator[Tag]:
    if facts.unfit is not None:
        where, why = facts.unfit
        yield raise_tag("tank-unfit-capacitor", where, value=why)
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
