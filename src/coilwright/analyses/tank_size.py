"""Size of the tank capacitor: what each capacitance does when the gap misses, and what it gives while the gap fires."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf, isfinite, log, pi, sqrt

from coilwright.analyses.tank import tank_estimate, tank_unit, tank_words
from coilwright.analyses.tank_advice import STATIC_FACTOR, Held, advise, safety_hold, windings
from coilwright.analyses.tank_results import (
    CapacitanceRange,
    Missing,
    RatedPlace,
    SizeResult,
    SizeRow,
    SupplySide,
)
from coilwright.analyses.tank_running import Running, with_running
from coilwright.capacitors.bleeders import RESIDUAL
from coilwright.capacitors.charging import Charging, source_of
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Mark, weakest
from coilwright.protection.energy import drain_time, stored_energy
from coilwright.protection.wording import farads, joules, volts_peak, watts
from coilwright.supply.gap_missing import resonant_capacitance

#: Power and break rate over those of the linear supply (our estimate, no source). A resistance of a twentieth to three
#: tenths of the impedance in place of the tenth assumed makes 1.05 to 0.8 of it, for tanks up to the resonant one; the
#: rest is for iron that saturates, which cuts off crests that the linear supply stores in its inductance, and for an
#: arc that burns on, which shorts the supply meanwhile.
POWER_BAND = (0.7, 1.05)
#: The same with a rotor, where nothing was compared (assumption).
ROTARY_BAND = (0.5, 1.1)
#: Bangs per second above which a plain static gap is apt to burn on instead of clearing (common practice, no source).
STATIC_RATE = 800.0

_CHARGING = (
    "Break rate and power: a linear supply (open volts behind its short-circuit impedance, a tenth of it taken as "
    "resistance) charges the tank; no saturation, no arc that burns on, no scatter of the gap. Their band takes 0.7 "
    "to 1.05 of it, our estimate of what these take away."
)
_SCAN = (
    "Peaks with the gap missing: the supply's own scan, with its iron. Between its points nothing is known; a range "
    "ends at the last point that holds."
)
LIMITS = (
    _CHARGING,
    _SCAN,
    (
        "In the table a string or plates count with the rating that they have now, whatever the capacitance; in what "
        "to aim at only windings count, for a string or plates can be changed."
    ),
)


def size_result(design: Design, side: SupplySide, places: Sequence[RatedPlace], firing: Estimate | None) -> SizeResult:
    """Return the size of the tank: its own figures, a row for each capacitance of the scan, and the ranges that hold.

    ``places`` are what the peak with the gap missing must stay below; ``firing`` is the volts at which the gap fires
    [V peak across], None where no gap is stated.
    """
    own = tank_estimate(design)
    resonant = side.resonant_capacitance
    if not isfinite(resonant):
        resonant = resonant_capacitance(side.open_voltage.value, side.short_current.value, side.frequency)
    running = Running(source_of(side.open_voltage.value, side.short_current.value, side.frequency), design.gap, firing)
    held = safety_hold(design, side, places)
    rows = _rows(side, places, running)
    advice = advise(rows, resonant, running, held)
    fitted = held is not None and held.fitted
    result = SizeResult(
        capacitance=own,
        how=tank_words(design),
        resonant_capacitance=resonant,
        advised=advice.to_aim_at,
        gap_missing_peak=_missing_peak(side, own),
        firing_peak=None if running.rotary else firing,
        energy_per_bang=None,
        charge=None,
        energy_missing=None,
        charge_missing=None,
        break_rate=None,
        power=None,
        power_share=None,
        rows=rows,
        ranges=ranges(rows),
        limits=_limits(running),
        places=tuple(places),
        firing_highest=None if running.rotary else firing,
        highest_peak=None if running.rotary or firing is None else firing.value,
        by_rotor=running.rotary,
        held_peak=held.most if held is not None and fitted else None,
        advised_held=advice.with_gap,
        holding=ranges([replace(r, within=fitted or r.windings_hold) for r in rows]),
        scan_mark=_scan_mark(side),
    )
    if own is not None:
        result = _own(result, own, side, running)
        result = _drained(result, design)
    return replace(result, words=tuple(_words(result, side, running, held)))


def over(places: Sequence[RatedPlace], missing: Missing) -> tuple[str, ...]:
    """Return the rated places that the peak with the gap missing passes, in their order."""
    highest = max(missing.ends_peak.values(), default=missing.peak)
    found = []
    for p in places:
        seen = missing.peak if p.across else missing.ends_peak.get(p.leg, highest)
        if seen > p.limit_peak:
            found.append(p.where)
    return tuple(dict.fromkeys(found))


def ranges(rows: Sequence[SizeRow]) -> tuple[CapacitanceRange, ...]:
    """Return the runs of neighbouring capacitances at which every rated place holds; ends are points of the scan."""
    found: list[list[int]] = []
    for k, row in enumerate(rows):
        if not row.within:
            continue
        if found and found[-1][-1] == k - 1:
            found[-1].append(k)
        else:
            found.append([k])
    last = len(rows) - 1
    return tuple(
        CapacitanceRange(rows[r[0]].capacitance, rows[r[-1]].capacitance, r[0] == 0, r[-1] == last) for r in found
    )


# ---- rows ------------------------------------------------------------------------------------------------------------


def _rows(side: SupplySide, places: Sequence[RatedPlace], running: Running) -> tuple[SizeRow, ...]:
    charged, why = running.charged({m.capacitance: m.peak for m in side.missing})
    rows = []
    for m in side.missing:
        passed = over(places, m)
        row = SizeRow(m.capacitance, m.peak, m.ends_peak, not passed, passed)
        row = replace(row, windings_hold=not over(windings(places), m))
        rows.append(with_running(row, charged.get(m.capacitance), why.get(m.capacitance, "")))
    return tuple(rows)


def _scan_mark(side: SupplySide) -> Mark:
    """Return how the scan is known: by volts, amperes and, for the iron that saturates, the magnetising current."""
    return weakest(side.open_voltage.mark, side.short_current.mark, side.mains_current.mark)


def _missing_peak(side: SupplySide, own: Estimate | None) -> Estimate | None:
    m = side.own_missing
    if m is None:
        return None
    low, high = side.own_missing_band or (m.peak, m.peak)
    mark = weakest(_scan_mark(side), own.mark if own is not None else "pencil")
    return Estimate(m.peak, low, high, mark, "V", "scan of the supply with the gap missing, highest steady state")


def _limits(running: Running) -> tuple[str, ...]:
    if not running.rotary:
        return LIMITS
    words = (
        "A rotor's volts at firing are those of a linear supply too: where they pass the scan's peak, none are shown."
    )
    if running.locked and running.gap is not None and running.gap.phase is None:
        words += " No phase is stated: the one of most power is taken."
    return (*LIMITS, words)


# ---- the own tank ----------------------------------------------------------------------------------------------------


def _own(result: SizeResult, own: Estimate, side: SupplySide, running: Running) -> SizeResult:
    """Return the result with the figures of the project's own tank."""
    missing, firing = side.own_missing, running.firing
    if missing is not None:
        result = replace(
            result,
            energy_missing=stored_energy(own.value, missing.peak),
            charge_missing=own.value * missing.peak,
        )
    if not running.rotary and firing is not None:
        energy, charge = _bang(own, firing)
        result = replace(result, energy_per_bang=energy, charge=charge)
    found = running.charged({own.value: missing.peak if missing is not None else inf})[0].get(own.value)
    if found is None:
        return result  # it does not fire, or nothing is known of it: the words say so
    result = replace(result, power_share=found.share, supply_current=found.current, supply_loss=found.loss)
    if running.rotary:
        return _own_rotary(result, own, side, running, found)
    if firing is None:
        return result
    low, high = firing.low / firing.value, firing.high / firing.value
    return replace(
        result,
        break_rate=_times(found.break_rate, (POWER_BAND[0] / high, POWER_BAND[1] / low), "Hz"),
        power=_times(found.power, (low * POWER_BAND[0], high * POWER_BAND[1]), "W"),
        firing_spread=0.0,
    )


def _own_rotary(result: SizeResult, own: Estimate, side: SupplySide, running: Running, found: Charging) -> SizeResult:
    """Return the result with the volts at firing of the charging model, never above the scan's own peak."""
    most = inf if side.own_missing is None else (side.own_missing_band or (0.0, side.own_missing.peak))[1]
    mean, half = found.firing_peak, 2 * found.firing_spread + 0.1 * found.firing_peak
    basis = "linear supply at the presentations"
    firing = Estimate(mean, max(mean - half, 0.0), max(min(mean + half, most), mean), "pencil", "V", f"{basis}, mean")
    top = found.firing_highest
    highest = Estimate(top, 0.9 * top, max(min(1.1 * top, most), top), "pencil", "V", f"{basis}, highest")
    energy, charge = _bang(own, firing)
    return replace(
        result,
        firing_peak=firing,
        firing_highest=highest,
        highest_peak=found.highest_peak,
        energy_per_bang=replace(energy, value=found.energy_per_bang, basis="mean over the bangs, which differ"),
        charge=charge,
        break_rate=Estimate(
            found.break_rate, ROTARY_BAND[0] * found.break_rate, max(running.rate or 0.0, found.break_rate), "pencil",
            "Hz", "presentations that fire; at most all of them",
        ),
        power=_times(found.power, ROTARY_BAND, "W"),
        firing_spread=found.firing_spread,
    )  # fmt: skip


def _drained(result: SizeResult, design: Design) -> SizeResult:
    """Return the result with the time that the bleeders take to empty the whole tank to 50 V across it, None without
    them. One on each unit: the string drains as its units do, R C of one.
    """
    peak, own, p = result.gap_missing_peak, result.capacitance, design.protection
    if peak is None or own is None:
        return result
    strings, unit = design.tank.strings if design.tank else None, tank_unit(design)
    each = None if strings is None or unit is None else strings.bleeder or unit.bleeder
    across = p.bleeder.resistance.value if p is not None and p.bleeder is not None and strings is None else None
    if each is not None and strings is not None:
        across = each.value * strings.series / strings.parallel
    if across is None:
        return result
    time = drain_time(own.value, across, peak.value, RESIDUAL)
    return replace(result, discharge_time=time, discharge_residual=RESIDUAL)


def _bang(own: Estimate, firing: Estimate) -> tuple[Estimate, Estimate]:
    """Return energy and charge of one bang."""
    mark = weakest(own.mark, firing.mark)
    (e, e_low, e_high), (q, q_low, q_high) = (
        [f(c, v) for c, v in ((own.value, firing.value), (own.low, firing.low), (own.high, firing.high))]
        for f in (stored_energy, lambda c, v: c * v)
    )
    return (
        Estimate(e, e_low, e_high, mark, "J", "C V^2 / 2 at the firing volts"),
        Estimate(q, q_low, q_high, mark, "C", "C V at the firing volts"),
    )


def _times(value: float, band: tuple[float, float], unit: str) -> Estimate:
    """Return a figure of the charging model: pencil, whatever the supply it rests on."""
    basis = "linear supply charging the tank between firings"
    return Estimate(value, value * band[0], value * band[1], "pencil", unit, basis)


# ---- words -----------------------------------------------------------------------------------------------------------


def _words(result: SizeResult, side: SupplySide, running: Running, held: Held | None) -> list[str]:
    """Return what smaller and larger than resonant do to this supply, from the scan's numbers."""
    resonant, opened, rows = result.resonant_capacitance, side.open_peak.value, result.rows
    climb = pi / 2 * sqrt(2) * side.open_voltage.value
    first = (
        f"Mains-resonant value: {farads(resonant)}. A supply without iron would climb there by {volts_peak(climb)} in "
        "each half-cycle that the gap misses, without end; iron saturates, and what this supply does stands below."
    )
    out = [first]
    if not rows:
        return [*out, "With the gap missing: not known. The scan has no converged point."]
    at = min(rows, key=lambda r: abs(log(r.capacitance / resonant)))
    out.append(
        f"Near resonant, {_times_words(at.capacitance, resonant)}: {volts_peak(at.missing_peak)} with the gap missing, "
        f"{at.missing_peak / opened:.2f} x the open peak of {volts_peak(opened)}."
    )
    worst = max(rows, key=lambda r: r.missing_peak)
    why = (
        "the iron rings with the tank on a harmonic of the mains"
        if worst.capacitance < 0.6 * resonant
        else ("the iron saturates there, so it is not sharp and not at the resonant value")
    )
    out.append(
        f"Worst of all, {_times_words(worst.capacitance, resonant)}: {volts_peak(worst.missing_peak)}; {why}."
        + (" Still rising at the end of the scan: a larger tank may be worse." if worst is rows[-1] else "")
    )
    for name, factor in (("Smaller", 0.5), ("Larger", 1.5)):
        row = min(rows, key=lambda r: abs(log(r.capacitance / (factor * resonant))))
        if (row.capacitance < resonant) == (factor < 1) and row is not at:
            out.append(f"{name}, {_times_words(row.capacitance, resonant)}: {_row_words(row)}.")
    out.append(_range_words(result))
    out += _nothing_runs(rows)
    if result.capacitance is not None:
        out.append(_own_words(result, side, running))
        out += _way_out(result, side, held)
    out += _aim_words(result, held)
    return out


def _nothing_runs(rows: Sequence[SizeRow]) -> list[str]:
    """Return why rows show no running figures although the gap may well fire there."""
    linear = [r for r in rows if r.why_none.startswith("the linear supply")]
    if not linear:
        return []
    first, last = linear[0], linear[-1]
    words = (
        f"No running figures at {len(linear)} of {len(rows)} capacitances, {farads(first.capacitance)} to "
        f"{farads(last.capacitance)}: with {farads(first.capacitance)} {first.why_none} of the scan, which the iron "
        "does not let happen. What the rotor fires at is not known there, at most the peak with the gap missing."
    )
    return [words]


def _aim_words(result: SizeResult, held: Held | None) -> list[str]:
    if result.advised is None:
        words = (
            "No capacitance of the scan keeps every winding within its rating with the gap missing and lets the gap "
            "fire: only a safety gap stands between, or the setting comes down."
        )
        return [words]
    if result.advised_held is not None and held is not None:
        bare, usual = farads(result.advised.value), farads(result.advised_held.value)
        return [f"To aim at: {bare} without a safety gap, {usual} only with one, at {held.setting}; none is fitted."]
    if held is None or held.fitted or "ONLY" not in result.advised.basis:
        return []
    aim = farads(result.advised.value)
    return [f"No capacitance of the scan holds bare: {aim} needs a safety gap at {held.setting}; none is fitted."]


def _times_words(capacitance: float, resonant: float) -> str:
    return f"{farads(capacitance)} ({capacitance / resonant:.2f} x)"


def _row_words(row: SizeRow) -> str:
    missing = f"{volts_peak(row.missing_peak)} with the gap missing"
    if row.break_rate is None or row.power is None or row.energy_per_bang is None:
        return f"{missing}; no running figures"
    return f"{missing}; firing, {row.break_rate:.0f} bangs/s of {joules(row.energy_per_bang)}, {watts(row.power)}"


def _range_words(result: SizeResult) -> str:
    with_gap = "" if result.held_peak is None else " With the safety gap the windings hold at all of them."
    if not result.ranges:
        return "With the gap missing no capacitance of the scan keeps every rated place within its rating." + with_gap
    parts = []
    for r in result.ranges:
        ends = [f"{farads(r.low)}{' (end of the scan)' if r.low_is_scan_end else ''}"]
        if r.high > r.low:
            ends.append(f"{farads(r.high)}{' (end of the scan)' if r.high_is_scan_end else ''}")
        parts.append(" to ".join(ends) if len(ends) > 1 else f"{ends[0]} alone")
    return f"Every rated place holds with the gap missing at {'; '.join(parts)}.{with_gap}"


def _way_out(result: SizeResult, side: SupplySide, held: Held | None) -> list[str]:
    """Return the nearest capacitances at which the windings hold, where the project's own tank passes a rating."""
    own = side.own_missing
    row = None if own is None else next((r for r in result.rows if r.capacitance == own.capacitance), None)
    if row is None or row.within:
        return []
    passes = f"With the gap missing this tank passes {', '.join(row.over)}"
    if row.windings_hold:
        where = f"every winding holds: a capacitor that stands {volts_peak(row.missing_peak)}"
    else:
        smaller = [r.capacitance for r in result.rows if r.windings_hold and r.capacitance < row.capacitance]
        larger = [r.capacitance for r in result.rows if r.windings_hold and r.capacitance > row.capacitance]
        near = [farads(c) for c in (*smaller[-1:], *larger[:1])]
        where = f"nearest that hold: {' and '.join(near)}" if near else "no capacitance of the scan holds"
        where += " (windings; string and plates to suit)" if near and len(row.over) > 1 else ""
    out = [f"{passes}; {where}."]
    if held is not None and held.fitted:
        out.append(
            f"That is the peak without a safety gap. With the one at {held.setting}, at most {volts_peak(held.most)} "
            "reaches tank and windings, as long as it fires."
        )
    return out


def _own_words(result: SizeResult, side: SupplySide, running: Running) -> str:
    own, missing, firing = result.capacitance, side.own_missing, running.firing
    if own is None:
        return ""
    head = f"This tank, {_times_words(own.value, result.resonant_capacitance)}"
    if missing is None:
        return f"{head}: with the gap missing not known."
    if firing is not None and not running.rotary and missing.peak < firing.value:
        return (
            f"{head}: the gap at {volts_peak(firing.value)} never fires, the tank reaches {volts_peak(missing.peak)}. "
            "Narrow the gap with the set unplugged, drained and shorted."
        )
    share = f", {result.power_share:.0%} of open volts x short-circuit amperes" if result.power_share else ""
    if result.power is None or result.break_rate is None:
        row = next((r for r in result.rows if r.capacitance == own.value), None)
        why = f": {row.why_none}" if row is not None and row.why_none else ""
        return f"{head}: {volts_peak(missing.peak)} with the gap missing; running figures not known{why}."
    words = f"{head}: {result.break_rate.value:.0f} bangs/s, {watts(result.power.value)}{share}."
    mean, top = result.firing_peak, result.firing_highest
    if result.by_rotor and mean is not None and top is not None:
        words += f" The rotor fires it at {volts_peak(mean.value)} in the mean, at most {volts_peak(top.value)}."
    if not running.rotary and result.break_rate.value > STATIC_RATE:
        words += (
            f" A plain gap is apt to burn on above about {STATIC_RATE:.0f} bangs/s (common practice, no source): a "
            "larger tank, more segments, or air through the gap."
        )
    return words


__all__ = ["STATIC_FACTOR", "over", "ranges", "size_result"]
