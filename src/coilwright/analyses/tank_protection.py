"""Protection of this supply: safety gap, filter, bleeders, fuse, what things hold, keep-out, ground, mains side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

from coilwright.analyses.facts_of_chain import fitted_fuse
from coilwright.analyses.facts_of_supply import site_facts
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.safety_gap import fitted_peak, site_air
from coilwright.analyses.tank_chain_words import disconnection_words, ground_words, soft_start_words
from coilwright.analyses.tank_filter import filter_places, filter_result
from coilwright.analyses.tank_results import (
    BleederResult,
    FuseResult,
    GapResult,
    KeepOut,
    ProtectionResult,
    RatedPlace,
    SafetyGapResult,
    SizeResult,
    SupplySide,
)
from coilwright.analyses.tank_stored import bleeder_results, stored_rows
from coilwright.discharge.gap import high_frequency_factor
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Known, weakest
from coilwright.protection.breaker import inrush_verdict
from coilwright.protection.facts import Rating
from coilwright.protection.fuses import advised_fuse, judge, soft_start
from coilwright.protection.rf_ground import SAFETY_EARTH
from coilwright.protection.rules_site import keep_out_ring
from coilwright.protection.safety_gap import SafetyWindow, window
from coilwright.protection.wording import amperes, metres, percent, volts_peak

LIMITS = (
    (
        "Spacings are those of clean, wide, round ends in this site's air; a safety gap is set by firing, not by the "
        "millimetres."
    ),
    (
        "The filter is one resistor and one capacitor a leg, without the inductance of its leads; the winding is its "
        "stray capacitance."
    ),
    "Discharge times are of the resistors named; none of them is to be trusted without the drain stick.",
)


@dataclass(frozen=True)
class _Case:
    """What every part of the protection looks at."""

    design: Design
    side: SupplySide
    ratings: tuple[Rating, ...]
    legs: int
    main_gap: Estimate | None  # what the main gap fires at, across


def protection_result(
    design: Design,
    side: SupplySide,
    size: SizeResult,
    gap: GapResult | None,
    places: Sequence[RatedPlace],
    *,
    unit_bleeder: BleederResult | None = None,
    made: SupplyResult | None = None,
    shelf: ShelfResult | None = None,
) -> ProtectionResult:
    """Return the protection of this supply.

    ``places`` are all rated places of the stage, ``unit_bleeder`` is that of each unit of its string. ``made`` and
    ``shelf`` add what only they know: the first peak at switch-on, the correction capacitors, the stray capacitance of
    the windings.
    """
    ratings = tuple(Rating(p.where, nan, p.limit_peak, p.mark, across=p.across) for p in places)
    case = _Case(design, side, ratings, max(len(side.legs), 1), gap.breakdown_peak if gap else None)
    safety = _safety_gap(case)
    ring, words = keep_out_ring(site_facts(design, made))
    return ProtectionResult(
        safety_gap=safety,
        filter=filter_result(design, side, size, safety, made, shelf),
        bleeders=bleeder_results(design, side, unit_bleeder),
        fuse=_fuse(case, made),
        stored=stored_rows(design, side, size, made, shelf),
        keep_out=KeepOut(ring, "larger of twice the streamer and the limited approach of NFPA 70E Table 130.4", words),
        ground=ground_words(design, side),
        mains_side=disconnection_words(design),
        limits=LIMITS,
    )


# ---- safety gap ------------------------------------------------------------------------------------------------------


def _safety_gap(case: _Case) -> SafetyGapResult:
    side, air = case.side, site_air(case.design)
    w = window(max(side.ends_open_peak.values(), default=side.open_peak.value / case.legs), case.ratings, air=air,
               legs=case.legs)  # fmt: skip
    bound = w.bound
    mark = weakest(side.open_peak.mark, bound.mark) if bound else side.open_peak.mark
    fitted = fitted_peak(case.design)
    spacing = case.design.protection.safety_gap_spacing if case.design.protection else None
    setting = Estimate(w.set_peak, *w.set_band, mark, "V", "8 % more spacing than just fires on the open supply")
    needed = Estimate(
        w.set_spacing, *w.spacing_band, "pencil", "m", "wide round ends; the band is the law's and the scatter's"
    )
    return SafetyGapResult(
        legs=side.legs,
        low_peak=w.low_peak,
        high_peak=w.high_peak,
        limited_by=bound.where if bound else "",
        setting_peak=None if w.is_empty else setting,
        spacing=None if w.is_empty else needed,
        spacing_low=w.low_spacing,
        spacing_high=w.high_spacing,
        fitted_peak=_fitted(fitted),
        fitted_spacing=spacing.value if spacing else None,
        empty=w.is_empty,
        words=tuple(_gap_words(case, w, fitted)),
    )


def _fitted(fitted: Known[float] | None) -> Estimate | None:
    """Return the fitted gap's firing volts with the band of how they are known."""
    if fitted is None:
        return None
    low, high = (fitted.value if v is None else v for v in (fitted.low, fitted.high))
    return Estimate(fitted.value, low, high, fitted.mark, "V", fitted.basis or "as written; scatter")


def _gap_words(case: _Case, w: SafetyWindow, fitted: Known[float] | None) -> list[str]:
    each = f"One gap from each of {' and '.join(case.side.legs)} to earth" if case.legs > 1 else "One gap to earth"
    words = [
        f"{each}. Open peak of a leg {volts_peak(w.open_peak)}: just fires at about {metres(w.fires_spacing)}.",
        SAFETY_EARTH,
    ]
    if w.bound is None:
        words.append("No rating is known, so there is no upper bound: nothing says that any setting protects.")
    elif w.is_empty:
        words.append(
            f"NO SETTING FITS: above {volts_peak(w.low_peak)} and with its margin {volts_peak(w.set_peak)}, but below "
            f"{volts_peak(w.bound.limit)} ({w.bound.where}). Fewer volts, or a better rating of the weakest part."
        )
    elif w.is_narrow:
        words.append("The window is narrower than one gap scatters: some firings will lie outside it.")
    elif w.is_too_narrow_for_feeler:
        words.append("The window is too narrow for a feeler gauge alone: set it by firing.")
    if case.legs > 1:
        words.append(
            f"Between the ends two legs add up: {volts_peak(2 * w.set_peak)} across when both are about to fire."
        )
    if case.main_gap is not None and case.main_gap.value >= case.legs * w.set_peak:
        words.append(
            f"The main gap, {volts_peak(case.main_gap.value)} across, fires above the safety gaps: they "
            "fire in its place."
        )
    if w.set_spacing > 0:
        middle, low, high = high_frequency_factor(w.set_spacing)
        words.append(
            f"On the ring of the tank it fires already at about {percent(middle)} ({percent(low)} to {percent(high)}) "
            "of these volts: Peek, two points at 40 kHz."
        )
    words.append(
        "Set it: tank disconnected, ballast in place; unplug, drain and short before every adjustment; narrow until it "
        "fires, open until it just does not, then 8 % more (our margin); lock."
    )
    if fitted is not None and w.bound is not None and not w.low_peak < fitted.value < w.bound.limit:
        side = "on the open supply" if fitted.value <= w.low_peak else f"not below {volts_peak(w.bound.limit)}"
        words.append(f"The one in the project, {volts_peak(fitted.value)}, is outside the window: it fires {side}.")
    return words


# ---- fuse ------------------------------------------------------------------------------------------------------------


def _fuse(case: _Case, made: SupplyResult | None) -> FuseResult:
    site, current = case.design.site, case.side.mains_current
    breaker, frequency = site.breaker.value, case.side.frequency
    inrush = made.inrush if made else None
    most = max(current.value, current.high)
    advised, fuse = advised_fuse(most, breaker), fitted_fuse(case.design)
    start = soft_start(site.mains_voltage.value, breaker, most, frequency)
    needed = inrush_verdict(inrush.first_peak, breaker).may_trip if inrush else None
    counted = (
        f"Counted for the fuse: {amperes(most)}, the upper end of the band of the largest steady mains current "
        f"{amperes(current.value)} (output open to shorted, correction capacitors failed open); and at most the "
        f"breaker's {amperes(breaker.rated_current)}, which stands for the wiring: no lead of the set thinner than "
        "the fuse allows."
    )
    words = [counted]
    if fuse is not None:
        words += judge(fuse, current.value, breaker, inrush.first_peak if inrush else None, frequency).words
    else:
        words.append(
            "It does not see a shorted output or a body on it: those currents are no larger than the running one."
        )
    if fuse is not None and current.value <= fuse.rated_current < most:
        words.append(f"The band of that current reaches {amperes(most)}, above the fuse in the project.")
    if advised is None:
        words.append(f"No time-lag fuse holds {amperes(most)} and is not above the breaker: fewer amperes.")
    return FuseResult(
        fitted=case.design.protection.fuse if case.design.protection else None,
        rated_current=fuse.rated_current if fuse else None,
        advised="" if advised is None else f"{advised.rated_current:g} A {advised.kind}",
        holds=None if fuse is None else fuse.rated_current >= current.value,
        soft_start=Estimate(start.resistance, start.least, 2 * start.least, "pencil", "ohm",
                            "E12; least at mains + 10 %, iron saturated; up to twice is as good"),
        soft_start_energy=Estimate(start.energy, 0.0, start.energy, "pencil", "J",
                                   "upper bound: core saturated, output shorted until the relay closes"),
        words=(*words, *soft_start_words(start, inrush.first_peak if inrush else None, needed)),
        holds_band=None if fuse is None else fuse.rated_current >= most,
        soft_start_needed=needed,
    )  # fmt: skip


__all__ = ["filter_places", "protection_result"]
