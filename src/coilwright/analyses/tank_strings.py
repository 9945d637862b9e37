"""Strings of film capacitors: the project's own one judged, and the best that the shelf holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import isfinite, log, pi, sqrt

from coilwright.analyses.safety_gap import fitted_peak
from coilwright.analyses.tank_advice import highest_of
from coilwright.analyses.tank_results import (
    BleederResult,
    RatedPlace,
    SizeResult,
    StringResult,
    StringsResult,
    SupplySide,
)
from coilwright.analyses.tank_running import missing_at, running_at
from coilwright.capacitors.bleeders import bleeder_for
from coilwright.capacitors.choose import Ranked, Refused, Wanted, choose, refusals
from coilwright.capacitors.film import FilmUnit, unit_of
from coilwright.capacitors.layout import SpacingOf, layout
from coilwright.capacitors.strings import Duty, StringFigures, dynamic_share, evaluate
from coilwright.errors import InputError, Problem
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Estimate, Mark, weakest
from coilwright.model.parts import Capacitor
from coilwright.protection.clearance import air_density_ratio, required_spacing

#: What a string may miss the wanted capacitance by where the scan knows no range that holds (our choice).
MISS = 1.5
#: Where no capacitance is wanted yet: times the mains-resonant one, for a static gap (common practice, no source).
ABOVE_RESONANT = 1.5
#: Bangs per half cycle of the mains where the gap's break rate is not known: (low, usual, high) (assumption).
BANGS_PER_HALF_CYCLE = (0.5, 1.0, 4.0)
#: How far a break rate from the table of sizes may be off where it has no band of its own (assumption).
RATE_SHARE = 0.5
#: Rows of the ranking that get a layout of their own.
LAID_OUT = 3
#: A string whose own inductance is more than this share of the tank's whole inductance is told of (our choice).
INDUCTANCE_SHARE = 0.1

LIMITS = (
    (
        "A DC label is turned into AC volts by our rule: peak to peak within the DC rating, no discharge beside the "
        "film, less 5 %. The maker's own AC rating goes before it."
    ),
    "Volts are those of the worst unit: the smallest capacitance among the largest ones, within the tolerance.",
    (
        "The ring is a single one that dies with its quality: energy that beats back from the secondary is not in it, "
        "nor a safety gap that fires straight across the string, whose slope is far steeper."
    ),
    "Temperature rise is of the surface, running without a stop, in still air; units of one kind share current alike.",
    "Loss, contacts, voltage slopes and sizes that the file does not state are from memory of data sheets.",
)


def strings_result(
    design: Design,
    side: SupplySide,
    size: SizeResult,
    firing: Estimate | None,
    *,
    arrangement: Arrangement | None = None,
) -> StringsResult:
    """Return the project's string against what it stands, and the best strings of the shelf.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses: what is wired there is not free.
    side
        The supply as the tank sees it.
    size
        The size stage: break rate, wanted capacitance, ranges that hold.
    firing
        What the gap fires at [V peak across]; None without a gap: the crest of the open supply is then taken.

    Raises
    ------
    InputError
        If a capacitor of the shelf has no capacitance, or the string of [tank] counts from less than one.
    """
    at = _Duties(design, side, size, firing)
    spacing_of = _spacing_of(design)
    wanted, words = _wanted(side, size)
    units = _free_units(design, arrangement or design.chosen())
    choice = choose(units, wanted, at.duty)
    ranked = [_ranked(r, at, spacing_of, laid_out=k < LAID_OUT) for k, r in enumerate(choice.ranked)]
    return StringsResult(
        own=_own(design, at, spacing_of, size),
        ranked=tuple(ranked),
        refused=tuple(_refused(r, at, spacing_of) for r in choice.refused),
        considered=choice.considered,
        wanted=f"{words}; {at.words}",
        limits=LIMITS,
    )


def string_for(
    part: Capacitor,
    series: int,
    parallel: int,
    duty: Duty,
    *,
    bleeder: float | None = None,
    spacing_of: SpacingOf = lambda peak: required_spacing(peak).clearance,
) -> StringResult:
    """Return one string bank of a capacitor in a given duty, for an answer without a project.

    Raises
    ------
    InputError
        If the capacitance is not positive, or series or parallel is less than one.
    """
    unit = unit_of(part)
    found = _result(evaluate(unit, series, parallel, duty, bleeder=bleeder), duty, bleeder, spacing_of, laid_out=True)
    return replace(found, reasons=(*unit.unfit, *found.reasons))


def best_strings(
    parts: Sequence[Capacitor],
    capacitance: float,
    duty: Duty,
    *,
    spacing_of: SpacingOf = lambda peak: required_spacing(peak).clearance,
) -> StringsResult:
    """Return the best strings of these capacitors near ``capacitance`` [F], for an answer without a project.

    Raises
    ------
    InputError
        If the capacitance wanted, or that of a part, is not positive.
    """
    at = _Fixed(duty)
    target = capacitance if isfinite(capacitance) else 0.0
    choice = choose([unit_of(p) for p in parts], Wanted(target, target / MISS, target * MISS), at.duty)
    return StringsResult(
        None,
        tuple(_ranked(r, at, spacing_of, laid_out=k < LAID_OUT) for k, r in enumerate(choice.ranked)),
        tuple(_refused(r, at, spacing_of) for r in choice.refused),
        choice.considered,
        f"{_nano(target)}, within a factor {MISS:g}",
        LIMITS,
    )


class _Fixed:
    """The same duty at every capacitance."""

    missing_mark: Mark = "pencil"
    firing_mark: Mark = "pencil"

    def __init__(self, duty: Duty) -> None:
        self._duty = duty

    def duty(self, _capacitance: float) -> Duty:
        return self._duty

    def held(self, _capacitance: float) -> str:
        """Return to what a safety gap holds the scan's peak, "" where it does not."""
        return ""


class _Duties(_Fixed):
    """What the tank does at a capacitance: peak with the gap missing from the scan, break rate from the sizes; with a
    rotor its volts at firing too, which differ with the tank.
    """

    def __init__(self, design: Design, side: SupplySide, size: SizeResult, firing: Estimate | None) -> None:
        told = "gap's setting" if firing else "crest of the open supply, since no gap is set"
        firing = firing or side.open_peak
        limit, self.gap_words = _safety_gap(design, side)
        super().__init__(
            Duty(
                side.ring_frequency,
                side.ring_quality,
                side.frequency,
                firing_peak=firing.value,
                mains_rms=firing.value / sqrt(2),
                ambient=design.site.air.temperature.value,
            )
        )
        points = [*side.missing, *([side.own_missing] if side.own_missing else [])]
        self._points = sorted({p.capacitance: p for p in points}.values(), key=lambda p: p.capacitance)
        self._own, self._limit, self._size, self._side = side.own_missing, limit, size, side
        self._cache: dict[float, Duty] = {}
        self.missing_mark = size.scan_mark
        self.firing_mark = "pencil" if size.by_rotor else firing.mark
        fires = f"fires at {firing.value / 1e3:.3g} kV peak ({told})"
        if size.by_rotor:
            fires = "fires at the rotor's volts of each capacitance (charging model)"
        self.words = f"{fires}; gap missing as scanned{self.gap_words}"

    def duty(self, capacitance: float) -> Duty:
        if capacitance not in self._cache:
            scanned = self.scanned(capacitance)
            peak = scanned if scanned is None or self._limit is None else min(scanned, self._limit)
            rate = _break_rate(self._size, self._side, capacitance)
            duty = replace(self._duty, missing_peak=peak, break_rate=rate, unheld_peak=scanned)
            self._cache[capacitance] = _turning(duty, self._size, self._side, capacitance)
        return self._cache[capacitance]

    def scanned(self, capacitance: float) -> float | None:
        return missing_at(self._points, self._own, capacitance)

    def held(self, capacitance: float) -> str:
        peak = self.scanned(capacitance)
        if peak is None or self._limit is None or peak <= self._limit:
            return ""
        return f"{_kilo(self._limit)}, to which the safety gap holds the {_kilo(peak)} of the scan"


def _turning(duty: Duty, size: SizeResult, side: SupplySide, capacitance: float) -> Duty:
    """Return the duty with a rotor's volts at firing at that capacitance [F]; None of them where they are not known."""
    if not size.by_rotor:
        return duty
    at = running_at(size, capacitance)
    if at is None:
        return replace(duty, firing_peak=None, break_rate=None, mains_rms=side.open_voltage.value)
    return replace(
        duty,
        firing_peak=at.firing_highest,
        firing_rms=at.firing_rms,
        running_peak=at.highest_peak,
        mains_rms=at.highest_peak / sqrt(2),
    )


def _break_rate(size: SizeResult, side: SupplySide, capacitance: float) -> Estimate:
    rows = [r for r in size.rows if r.break_rate]
    if rows:
        row = min(rows, key=lambda r: abs(log(r.capacitance / capacitance)))
        value, own = row.break_rate or 0.0, size.break_rate
        low, high = (
            (own.low / own.value, own.high / own.value) if own and own.value > 0 else (1 - RATE_SHARE, 1 + RATE_SHARE)
        )
        mark = own.mark if own else "pencil"
        return Estimate(value, value * low, value * high, mark, "1/s", "from the table of sizes")
    if size.break_rate is not None:
        return size.break_rate
    low, value, high = (2 * side.frequency * n for n in BANGS_PER_HALF_CYCLE)
    return Estimate(value, low, high, "pencil", "1/s", "one bang each half cycle, assumed")


def _safety_gap(design: Design, side: SupplySide) -> tuple[float | None, str]:
    """Return the most that the safety gaps let through across [V peak], None without one, and words for it."""
    fitted = fitted_peak(design)
    if fitted is None:
        return None, ""
    across = highest_of(fitted) * max(len(side.legs), 1)
    return across, f", held by the safety gap to {_kilo(across)} at most"


def _wanted(side: SupplySide, size: SizeResult) -> tuple[Wanted, str]:
    """Return the capacitance to aim at, and the whole range about it in which every part holds with the gap missing:
    a shelf that cannot make the one may make a smaller one.
    """
    if size.advised is not None:
        target, words = size.advised.value, "the size advised"
    elif size.capacitance is not None:
        target, words = size.capacitance.value, "the tank of the project"
    else:
        target, words = ABOVE_RESONANT * side.resonant_capacitance, "1.5 x the mains-resonant value"
    if not (isfinite(target) and target > 0):
        raise InputError(
            [
                Problem(
                    "tank.capacitance",
                    None,
                    "no capacitance is wanted, and the supply has no resonant one to start from",
                    'Write the capacitance to aim at: [tank] capacitance = "12 nF".',
                )
            ]
        )
    low, high = target / MISS, target * MISS
    for held in size.holding or size.ranges:
        if held.low * (1 - 1e-9) <= target <= held.high * (1 + 1e-9):
            low, high = min(held.low, target), max(held.high, target)
            break
    return Wanted(target, low, high), f"{_nano(target)} ({words}), from {_nano(low)} to {_nano(high)}"


def _free_units(design: Design, arrangement: Arrangement | None) -> list[FilmUnit]:
    """Return every kind of capacitor of which some are not wired in the supply."""
    wired = _wired(arrangement.joints if arrangement else {})
    found = []
    for part in design.capacitors:
        left = part.count - len(wired.get(part.id, ()))
        if left > 0:
            found.append(unit_of(replace(part, count=left)))
    return found


def _wired(joints: Mapping[str, tuple[str, ...]]) -> dict[str, set[str]]:
    """Return which pieces of each part have a terminal in a joint."""
    found: dict[str, set[str]] = {}
    for terminals in joints.values():
        for terminal in terminals:
            name, *rest = terminal.split(".")
            found.setdefault(name, set()).add(rest[0] if len(rest) > 1 else "1")
    return found


def _spacing_of(design: Design) -> SpacingOf:
    air = design.site.air
    ratio = air_density_ratio(
        design.site.altitude.value, air.temperature.value, air.pressure.value if air.pressure else None
    )
    return lambda peak: required_spacing(peak, ratio).clearance


def _own(design: Design, at: _Fixed, spacing_of: SpacingOf, size: SizeResult) -> StringResult | None:
    given = design.tank.strings if design.tank else None
    part = next((c for c in design.capacitors if given and c.id == given.part), None)
    if given is None or part is None:
        return None
    unit = unit_of(part)
    bleeder = given.bleeder.value if given.bleeder else unit.bleeder
    duty = at.duty(unit.capacitance.value * given.parallel / given.series)
    figures = evaluate(unit, given.series, given.parallel, duty, bleeder=bleeder)
    found = _result(figures, duty, bleeder, spacing_of, laid_out=True, at=at)
    short = figures.units - unit.count
    few = (
        (f"{figures.units} of {unit.id} are used and the shelf has {unit.count}: {short} too few",) if short > 0 else ()
    )
    # one capacitance, one band and one mark, here as in the size stage
    return replace(
        found,
        own=True,
        reasons=(*unit.unfit, *few, *found.reasons),
        capacitance=size.capacitance or found.capacitance,
    )


def _ranked(r: Ranked, at: _Fixed, spacing_of: SpacingOf, *, laid_out: bool) -> StringResult:
    s = r.figures
    found = _result(s, at.duty(s.capacitance.value), s.unit.bleeder, spacing_of, laid_out=laid_out, at=at)
    return replace(found, score=r.score, notes=(*r.why, *(n for n in found.notes if not n.startswith("in doubt"))))


def _refused(r: Refused, at: _Fixed, spacing_of: SpacingOf) -> StringResult:
    if r.nearest is not None:
        s = r.nearest
        found = _result(s, at.duty(s.capacitance.value), s.unit.bleeder, spacing_of, laid_out=False, at=at)
        return replace(found, reasons=r.reasons)
    u, c = r.unit, r.unit.capacitance
    value = Estimate(
        c.value, c.low if c.low is not None else c.value * (1 - u.tolerance),
        c.high if c.high is not None else c.value * (1 + u.tolerance), c.mark, "F", "one unit",
    )  # fmt: skip
    return StringResult(
        u.id, 0, 0, u.count, c.value, value, None, None, u.rated_peak, u.rating_words, None, None, None, u.dv_dt, None,
        None, None, None, reasons=r.reasons, dielectric=u.dielectric.name,
    )  # fmt: skip


def _result(
    s: StringFigures,
    duty: Duty,
    bleeder: float | None,
    spacing_of: SpacingOf,
    *,
    laid_out: bool,
    at: _Fixed | None = None,
) -> StringResult:
    u, peak = s.unit, duty.highest_peak
    resistors = s.bleeder.resistors if s.bleeder else 0
    made = layout(u, s.series, s.parallel, peak, spacing_of, resistors=resistors) if laid_out and peak else None
    inductance = made.inductance if made else s.inductance
    notes = [*u.doubts, *_inductance_note(s, duty, inductance)]
    notes += [
        f"in doubt: {c.what}" if c.verdict == "doubtful" else f"not known: {c.what}"
        for c in s.checks
        if c.verdict in {"doubtful", "not known"}
    ]
    return StringResult(
        part=u.id,
        series=s.series,
        parallel=s.parallel,
        available=u.count,
        unit_capacitance=u.capacitance.value,
        capacitance=s.capacitance,
        voltage_each_peak=s.missing_each,
        voltage_each_firing_peak=s.firing_each,
        rated_each_peak=s.rated_each,
        rating_words=u.rating_words,
        current_peak_each=s.current_peak,
        current_rms_each=s.current_rms,
        dv_dt=s.dv_dt,
        dv_dt_rated=u.dv_dt,
        loss_each=s.loss,
        temperature_rise=s.temperature_rise,
        inductance=inductance,
        bleeder=_bleeder(s, duty, bleeder),
        sharing=_sharing(s, duty, at),
        reasons=tuple(refusals(s)),
        notes=tuple(notes),
        verdict=s.verdict,
        checks=s.checks,
        mains_current_each=s.mains_current,
        dielectric=u.dielectric.name,
        missing_mark=weakest(at.missing_mark if at else "pencil", "ink" if u.tolerance_known else "pencil"),
        firing_mark=weakest(at.firing_mark if at else "pencil", "ink" if u.tolerance_known else "pencil"),
        layout=made,
    )


def _sharing(s: StringFigures, duty: Duty, at: _Fixed | None) -> str:
    """Return how the volts share, and of what the worst unit takes its share with the gap missing."""
    if duty.missing_peak is None or s.missing_each is None or at is None:
        return s.sharing
    whole = at.held(s.capacitance.value) or f"{_kilo(duty.missing_peak)} of the scan"
    return f"{s.sharing}; with the gap missing the worst unit takes {s.share:.1%} of {whole}"


def _inductance_note(s: StringFigures, duty: Duty, inductance: Estimate) -> list[str]:
    whole = 1 / ((2 * pi * duty.frequency.value) ** 2 * s.capacitance.value)
    share = inductance.value / whole
    if share <= INDUCTANCE_SHARE:
        return []
    return [f"its own inductance is {share:.0%} of the whole tank's at {duty.frequency.value / 1e3:.0f} kHz"]


def _bleeder(s: StringFigures, duty: Duty, fitted: float | None) -> BleederResult | None:
    b, peak = s.bleeder, duty.charged_peak
    if b is None or peak is None:
        return None
    running = (duty.highest_running or peak) / sqrt(2)
    rms = max(running, duty.mains_rms or 0.0) * s.share
    advised = bleeder_for(s.unit.capacitance.value, s.series, peak, peak * s.share, rms)
    return BleederResult(
        b.largest, advised.total, b.resistors, b.each, b.voltage_each_peak, b.power, b.discharge_time, b.residual,
        b.time_allowed, fitted, b.words,
    )  # fmt: skip


def string_places(design: Design) -> tuple[RatedPlace, ...]:
    """Return what the project's string stands across its ends, its smallest unit taking the worst share; nothing where
    the tank is no string or its unit carries no rating.
    """
    given = design.tank.strings if design.tank else None
    part = next((c for c in design.capacitors if given and c.id == given.part), None)
    if given is None or part is None:
        return ()
    unit = unit_of(part)
    if unit.rated_peak is None:
        return ()
    limit = unit.rated_peak.value / dynamic_share(given.series, unit.tolerance)
    mark = weakest(unit.rated_peak.mark, "ink" if unit.tolerance_known else "pencil")
    return (RatedPlace(f"tank string of {given.series} x {unit.id}", limit, mark, across=True, what="string"),)


def _kilo(volts: float) -> str:
    return f"{volts / 1e3:.2f} kV peak"


def _nano(farads: float) -> str:
    return f"{farads * 1e9:.3g} nF" if farads < 1e-6 else f"{farads * 1e6:.3g} uF"


__all__ = ["best_strings", "string_for", "string_places", "strings_result"]
