"""The spark gap of the tank stage: what it fires at, how wide it is and may be, and whether the supply fires it.

The gap as a whole stands across the output; ``spacing`` in the project is that of each segment (of each side of the
disc where the gap is a rotary one). Everything here is a static gap, cold, at mains frequency; what turns and what
wears is reckoned elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, hypot, pi, sin

import numpy as np

from coilwright.analyses.safety_gap import site_air
from coilwright.analyses.tank_results import GapCurvePoint, GapResult, RatedPlace, SupplySide
from coilwright.discharge.air import Air
from coilwright.discharge.gap import (
    SIGMA,
    SIGMA_HOT,
    Breakdown,
    SpacingFor,
    breakdown_peak,
    high_frequency_factor,
    hot_peak,
    series_peak,
    series_spacing_for,
)
from coilwright.errors import InputError, ModelRangeError, Problem
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Known, Mark, estimate_of, scaled, weakest
from coilwright.model.machine import Gap
from coilwright.protection.wording import metres, percent, volts_peak

COVERAGE = 1.96
#: Where the project names no electrodes: wide, smooth and nearly uniform, the law with the fewest assumptions.
UNKNOWN_FORM = "plate"
#: A rotary gap breaks in two places, on either side of the disc.
ROTARY_GAPS = 2
#: Spacing of one segment of a static gap that clears well in still air [m] (common practice, no source).
USUAL_SEGMENT = 0.7e-3
#: A single static gap above this setting is apt to burn on (common practice, no source) [V peak].
SINGLE_GAP_PEAK = 6e3
CURVE_POINTS = 19
_COLD = (
    "Breakdown volts are those of the first firing of a cold gap with clean, smooth electrodes, charged at mains "
    "frequency; a running gap fires lower and scatters more. Set a gap by firing it, not by its millimetres alone."
)
#: What the figures of every gap rest on.
MODEL = (
    "Model: ionisation of air along the shortest line, calibrated on a law of uniform fields only; checked against "
    "sphere gaps of IEC 60052 (3 % to half a diameter, 5 % to one), wires (Peek) and rod gaps (15 %)."
)
LIMITS = (_COLD, MODEL)


@dataclass(frozen=True)
class _Case:
    """The gap as it is asked about. ``diameter`` None: the form needs none."""

    form: str
    diameter: float | None
    segments: int
    air: Air
    earthed: bool

    def row(self, spacing_each: float) -> Breakdown:
        """Return the breakdown of the whole gap at that spacing of each segment."""
        one = breakdown_peak(self.form, self.diameter, spacing_each, self.air, earthed=self.earthed)
        return series_peak(one, self.segments, earthed=self.earthed)

    def spacing_for(self, peak: float) -> SpacingFor | None:
        """Return the spacing of each segment for volts across the whole gap; None where no law reaches."""
        try:
            return series_spacing_for(self.form, self.diameter, peak, self.segments, self.air, earthed=self.earthed)
        except ModelRangeError:
            return None


@dataclass(frozen=True)
class Bound:
    """A rating as volts across the gap [V peak]: whose it is, and how it is known."""

    peak: float
    where: str
    mark: Mark


def gap_result(design: Design, side: SupplySide, places: Sequence[RatedPlace]) -> GapResult | None:
    """Return the gap's breakdown, spacing, largest setting and curve; None where the project states no gap.

    Parameters
    ----------
    places
        What the gap's setting must stay below: windings, strings, plates, filter.

    Raises
    ------
    InputError
        If spacing or voltage of the gap lies where no law of the air holds.
    """
    g = design.gap
    if g is None:
        return None
    alone = gap_alone(design, earthed=not side.floating)
    if alone is None:
        return None
    case, firing = _case(g, design, earthed=not side.floating), alone.breakdown_peak
    bound = largest_bound(places, side)
    largest = None if bound is None or bound.peak <= 0 else _largest(bound, alone.spread)
    largest_each = None if largest is None else case.spacing_for(largest.value)
    available, named = _available(side)
    widest = case.spacing_for(available)
    spacing = alone.spacing_each.value if alone.spacing_each is not None else None
    ends = [s for s in (spacing, widest.spacing if widest else None, largest_each and largest_each.spacing) if s]
    return replace(
        alone,
        largest_setting=largest,
        largest_spacing=_spacing(largest_each, case.segments, "the largest setting"),
        limited_by="" if bound is None else bound.where,
        widest_that_fires=_spacing(widest, case.segments, named),
        fires=None if firing is None else firing.value <= available,
        words=tuple(_words(g, case, side, firing, largest, bound, widest)),
        curve=_curve(case, g, ends),
    )


def gap_alone(design: Design, *, earthed: bool = True) -> GapResult | None:
    """Return the gap by itself, for an answer without a supply: breakdown, spacing, hot re-fire and curve; what a
    supply or a rating decides is None.

    ``earthed``: one electrode is at earth, else both ride at half the volts. Errors as ``gap_result``.
    """
    g = design.gap
    if g is None:
        return None
    case = _case(g, design, earthed=earthed)
    firing, each = _as_stated(design, g, case, _mark(g, design, case))
    spacing = each.value if each is not None else None
    return GapResult(
        kind=g.kind,
        form=case.form,
        diameter=case.diameter,
        segments=case.segments,
        air_density_ratio=case.air.density_ratio,
        humidity=case.air.humidity,
        breakdown_peak=firing,
        spacing=_times(each, case.segments),
        spacing_each=each,
        spread=SIGMA[case.form],
        hot_peak=None if spacing is None or firing is None else _hot(case, spacing, firing),
        high_frequency_factor=None if spacing is None else _fast(spacing),
        largest_setting=None,
        largest_spacing=None,
        limited_by="",
        widest_that_fires=None,
        fires=None,
        words=(earth_words(earthed=earthed), *_segments(firing, case)),
        curve=_curve(case, g, [s for s in (spacing,) if s]),
        limits=(*LIMITS, *_limits(case, spacing)),
    )


def earth_words(*, earthed: bool) -> str:
    """Return where the gap is taken to have earth, which decides its field and how its segments share."""
    if earthed:
        return "One end of the gap is taken as earthed, as where one end of the output is."
    return (
        "The gap is taken as symmetric to earth, both ends at half the volts, as on a supply with an earthed midpoint."
    )


def largest_bound(places: Sequence[RatedPlace], side: SupplySide) -> Bound | None:
    """Return the rating that the gap's setting reaches first, as volts across the output; None where none is known.

    A place that counts to earth sees the share of the volts across that its leg takes on the open supply; where the
    output floats, never less than its even share.
    """
    found = [Bound(p.limit_peak / _share(p, side), p.where, p.mark) for p in places]
    return min(found, key=lambda b: (b.peak, b.where), default=None)


def _share(place: RatedPlace, side: SupplySide) -> float:
    if place.across or not side.floating:
        return 1.0
    even = 1 / len(side.legs)
    ends = {j: v for j, v in side.ends_open_peak.items() if not place.leg or j == place.leg}
    whole = side.open_peak.value
    return min(max([even, *(v / whole for v in ends.values() if whole > 0)]), 1.0)


# ---- parts -----------------------------------------------------------------------------------------------------------


def _case(g: Gap, design: Design, *, earthed: bool) -> _Case:
    segments = g.segments or (ROTARY_GAPS if g.kind.endswith("rotary") else 1)
    form = g.electrode.form if g.electrode else UNKNOWN_FORM
    diameter = g.electrode.diameter.value if g.electrode else None
    return _Case(form, diameter, segments, site_air(design), earthed)


def _mark(g: Gap, design: Design, case: _Case) -> Mark:
    """Return how well the computed figures are known: pencil where the tool assumed electrodes, edges or sharing."""
    if g.electrode is None or case.form == "rod" or case.segments > 1:
        return "pencil"
    air = design.site.air
    density = air.pressure.mark if air.pressure else design.site.altitude.mark
    return weakest(g.electrode.diameter.mark, density, air.temperature.mark)


def _as_stated(design: Design, g: Gap, case: _Case, mark: Mark) -> tuple[Estimate | None, Estimate | None]:
    """Return breakdown across and spacing of each segment, from whichever of the two the project states."""
    try:
        if g.voltage is not None:
            return _from_voltage(g.voltage, case, mark)
        if g.spacing is None:
            return None, None
        made = case.row(g.spacing.value)
    except ValueError as error:  # ModelRangeError is one: what no law of the air covers
        where = "gap.voltage" if g.voltage is not None else "gap.spacing"
        hint = "Between a tenth of a millimetre and some centimetres the laws hold."
        raise InputError([Problem(where, design.line_of(where), str(error), hint)]) from None
    s = g.spacing
    basis = f"{case.form} gap in air of density {case.air.density_ratio:.3f}, spacing of each segment as written"
    firing = Estimate(made.peak, made.low, made.high, weakest(mark, s.mark), "V", basis)
    return firing, estimate_of(s, "m", "as written")


def _from_voltage(voltage: Known[float], case: _Case, mark: Mark) -> tuple[Estimate, Estimate]:
    v, half = voltage.value, COVERAGE * SIGMA[case.form]
    low, high = v * (1 - half), v * (1 + half)
    firing = Estimate(v, low, high, voltage.mark, "V", f"as written; scatter {percent(SIGMA[case.form])} one sigma")
    found = series_spacing_for(case.form, case.diameter, v, case.segments, case.air, earthed=case.earthed)
    basis = f"{case.form} gap in air of density {case.air.density_ratio:.3f} that breaks down at the volts written"
    return firing, Estimate(found.spacing, found.low, found.high, weakest(mark, voltage.mark), "m", basis)


def _largest(bound: Bound, sigma: float) -> Estimate:
    """Return the largest setting: the rating less the scatter of a cold gap; a hot gap's scatter is the low end."""
    value, low = bound.peak / (1 + COVERAGE * sigma), bound.peak / (1 + COVERAGE * SIGMA_HOT)
    basis = f"{bound.where}: {volts_peak(bound.peak)} across, less 1.96 x {percent(sigma)} of scatter"
    return Estimate(value, low, bound.peak, bound.mark, "V", basis)


def _available(side: SupplySide) -> tuple[float, str]:
    """Return the peak that the supply reaches across a gap that does not fire, and what it is called."""
    if side.own_missing is not None:
        return side.own_missing.peak, "the peak with the tank attached and the gap missing"
    return side.open_peak.value, "the open peak (that with the tank attached is not known)"


def _times(one: Estimate | None, count: int) -> Estimate | None:
    if one is None or count == 1:
        return one
    return scaled(one, count, f"{count} x {metres(one.value)}")


def _spacing(found: SpacingFor | None, count: int, what: str) -> Estimate | None:
    """Return a spacing summed over the segments; it is never better than pencil, as it is to be found by firing."""
    if found is None:
        return None
    basis = f"breaks down at {volts_peak(found.peak)}: {what}"
    basis += f"; {count} x {metres(found.spacing)}" if count > 1 else ""
    return Estimate(count * found.spacing, count * found.low, count * found.high, "pencil", "m", basis)


def _hot(case: _Case, spacing: float, firing: Estimate) -> Estimate:
    """Return where the gap fires again while hot: the cold figure times what the law makes of hot gas."""
    middle, low, high = hot_peak(case.form, case.diameter, spacing, case.air)
    basis = "gas at 600 K (293 K to 1200 K, assumed); dust and pits besides"
    return Estimate(firing.value * middle / high, firing.low * low / high, firing.high, "pencil", "V", basis)


def _fast(spacing: float) -> Estimate:
    middle, low, high = high_frequency_factor(spacing)
    return Estimate(middle, low, high, "pencil", "1", "spark-over at 40 kHz over 60 Hz, F. W. Peek, second-hand")


def _curve(case: _Case, g: Gap, ends: Sequence[float]) -> tuple[GapCurvePoint, ...]:
    """Return volts over the spacing of each segment; of a rotor, out to half a pitch from alignment."""
    longest = 1.3 * max(ends, default=3e-3)
    if g.electrode_radius is not None and g.presentations:
        pitch = 2 * g.electrode_radius.value * sin(pi / (2 * g.presentations))
        longest = max(longest, 1.1 * hypot(pitch, min(ends, default=0.0)))
    shortest = min(0.1 * longest, 0.5 * min(ends, default=longest))
    out = []
    for spacing in np.geomspace(max(shortest, 2e-5 / case.air.density_ratio), min(longest, 2.0), CURVE_POINTS):
        made = case.row(float(spacing))
        out.append(GapCurvePoint(float(spacing), made.peak, made.low, made.high))
    return tuple(out)


def _limits(case: _Case, spacing: float | None) -> tuple[str, ...]:
    made = case.row(spacing if spacing is not None else 1e-3)
    return tuple(w[:1].upper() + w[1:] + "." for w in made.limits)


# ---- words -----------------------------------------------------------------------------------------------------------


def _words(
    g: Gap,
    case: _Case,
    side: SupplySide,
    firing: Estimate | None,
    largest: Estimate | None,
    bound: Bound | None,
    widest: SpacingFor | None,
) -> Iterator[str]:
    yield earth_words(earthed=case.earthed)
    if g.electrode is None:
        yield "The project names no electrodes: wide, smooth ones (a nearly uniform field) are taken."
    if g.kind == "segmented" and g.segments is None:
        yield "The number of segments is not stated: one gap is taken. State segments."
    if firing is None:
        yield "The project states neither spacing nor voltage of the gap, so what it fires at is not known."
    else:
        yield _fires(g, firing, side, widest, case)
    if bound is not None and largest is None:
        yield f"No setting is known to hold: {bound.where}. A safety gap does not make up for it; have it tested."
    elif bound is None or largest is None:
        yield "No rating is known that would bound the setting: it must not be taken as unbounded."
    elif not g.kind.endswith("rotary"):  # a rotor fires at other volts than those of its cold breakdown
        yield _within(firing, largest, bound)
    if not g.kind.endswith("rotary"):
        yield from _segments(firing, case)
    if firing is not None:
        yield (
            "Hot and dusty it fires again far below the cold figure, and scatters by "
            f"{percent(SIGMA_HOT)} one sigma (assumption): never widen it to make up for that; blow air through it."
        )
    yield "The high-frequency factor counts for gaps that see the ring of tank and primary, such as a safety gap."


def _fires(g: Gap, firing: Estimate, side: SupplySide, widest: SpacingFor | None, case: _Case) -> str:
    available, named = _available(side)
    reach = f"this supply reaches {volts_peak(available)}, {named}"
    if firing.value > available:
        wide = "no spacing" if widest is None else f"{_of_each(widest.spacing, case)} at the most"
        between = "" if g.electrode or widest is None else " between wide, smooth plates, as no electrodes are named"
        return (
            f"The gap is wider than the supply can fire: it breaks down at {volts_peak(firing.value)} and {reach}. "
            f"What fires is {wide}{between}; below that by a margin, as the band of the law is wide."
        )
    if firing.high > available:
        return (
            f"It may not fire: it breaks down at {volts_peak(firing.value)}, with its band up to "
            f"{volts_peak(firing.high)}, and {reach}."
        )
    return f"The supply fires it: it breaks down at {volts_peak(firing.value)} and {reach}."


def _within(firing: Estimate | None, largest: Estimate, bound: Bound) -> str:
    top = f"the largest setting is {volts_peak(largest.value)} across, bounded by {bound.where} ({bound.mark})"
    if firing is None:
        return f"{top[:1].upper()}{top[1:]}."
    if firing.value > largest.value:
        over = "passes" if firing.value > bound.peak else "comes within the scatter of"
        return (
            f"Set too wide: firing at {volts_peak(firing.value)} it {over} the rating of {bound.where}; {top}. "
            "Narrow it. The safety gap does not make up for it."
        )
    if firing.high > bound.peak:
        return f"Its setting is within the ratings, its band is not: {top}. Find the setting by firing."
    return f"Its setting is within every known rating: {top}."


def _segments(firing: Estimate | None, case: _Case) -> Iterator[str]:
    """Advise on the number of segments: of the usual spacing, sharing evenly, and as unevenly as assumed."""
    if firing is None:
        return
    one = breakdown_peak(case.form, case.diameter, USUAL_SEGMENT, case.air, earthed=case.earthed)
    least = max(ceil(firing.value / one.peak - 1e-9), 1)
    most = next((n for n in range(least, 31) if series_peak(one, n, earthed=case.earthed).peak >= firing.value), None)
    if least == 1:
        yield (
            f"One gap does for this setting: {metres(USUAL_SEGMENT)} alone holds {volts_peak(one.peak)} "
            "(0.7 mm a segment is common practice, no source)."
        )
        return
    uneven = "more than 30, if they share as unevenly as assumed" if most is None else f"{most} if unevenly, as assumed"
    single = case.segments == 1 and firing.value > SINGLE_GAP_PEAK
    yield (
        f"Segments of {metres(USUAL_SEGMENT)} (common practice, no source) for {volts_peak(firing.value)}: {least} if "
        f"they share evenly, {uneven}."
        + (" A single static gap this wide is apt to burn on instead of clearing." if single else "")
    )


def _of_each(spacing: float, case: _Case) -> str:
    return metres(spacing) if case.segments == 1 else f"{case.segments} x {metres(spacing)}"


__all__ = ["MODEL", "Bound", "earth_words", "gap_alone", "gap_result", "largest_bound"]
