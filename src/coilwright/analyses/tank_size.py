"""Size of the tank capacitor: what each capacitance does when the gap misses, and what it gives while the gap fires."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite, log, pi, sqrt

from coilwright.analyses.tank import tank_estimate, tank_words
from coilwright.analyses.tank_results import (
    CapacitanceRange,
    Missing,
    RatedPlace,
    SizeResult,
    SizeRow,
    SupplySide,
)
from coilwright.capacitors.charging import Charging, Source, rotary_gap, source_of, static_gap
from coilwright.errors import ModelRangeError
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Mark, weakest
from coilwright.model.machine import Gap
from coilwright.protection.energy import stored_energy
from coilwright.protection.wording import farads, joules, volts_peak, watts
from coilwright.supply.gap_missing import resonant_capacitance

#: Tank over mains-resonant value that stays clear of resonance: 1.5 for a static gap, 2 to 2.5 for one that is locked
#: to the mains (common practice, no source).
STATIC_FACTOR, SYNCHRONOUS_FACTOR = 1.5, 2.2
#: What the iron's saturation, an arc that burns on and the gap's own scatter do to power and break rate of the linear
#: supply: time stepping of a saturating sign unit gave 0.8 to 1.0 of it (trial); the band is wider than that.
POWER_BAND = (0.7, 1.05)
#: The same with a rotor, where nothing was compared (assumption).
ROTARY_BAND = (0.5, 1.1)
#: Bangs per second above which a plain static gap is apt to burn on instead of clearing (common practice, no source).
STATIC_RATE = 800.0
PHASES = 8  # of a locked rotor whose phase is not stated

_CHARGING = (
    "Break rate and power: a linear supply (open volts behind its short-circuit impedance, a tenth of it taken as "
    "resistance) charges the tank; no saturation, no arc that burns on, no scatter of the gap. Their band takes 0.7 "
    "to 1.05 of it."
)
_SCAN = (
    "Peaks with the gap missing: the supply's own scan, with its iron. Between its points nothing is known; a range "
    "ends at the last point that holds."
)
LIMITS = (
    _CHARGING,
    _SCAN,
    "A string or plates count with the rating that they have now, whatever the capacitance.",
)


@dataclass(frozen=True)
class _Running:
    """How the gap takes the tank's charge: the supply, the gap, and the volts at which it fires (None: not known)."""

    source: Source
    gap: Gap | None
    firing: Estimate | None

    @property
    def rotary(self) -> bool:
        return self.gap is not None and self.gap.kind.endswith("rotary")

    @property
    def rate(self) -> float | None:
        """Return the presentations per second of a rotor, None where the project does not say."""
        g = self.gap
        return None if g is None or g.speed is None or g.presentations is None else g.speed.value * g.presentations

    def charged(self, tanks: Mapping[float, float]) -> dict[float, Charging]:
        """Return what each tank gives; one for which the model does not hold is left out.

        ``tanks`` maps capacitance to the highest volts that the supply reaches with it [F -> V peak]: a result that
        fires above them is one that the iron would not let happen.
        """
        if self.rotary:
            found = self._rotating(sorted(tanks), tanks)
        elif self.firing is None:
            return {}
        else:
            found = self._static(sorted(tanks), self.firing.value)
        return {c: x for c, x in found.items() if x.fires and x.firing_peak <= tanks[c] * (1 + 1e-6)}

    def _static(self, tanks: Sequence[float], peak: float) -> dict[float, Charging]:
        if not tanks:
            return {}
        try:
            return dict(zip(tanks, static_gap(self.source, tanks, peak), strict=True))
        except ModelRangeError:  # the smallest of them burns on as an arc
            return self._static(tanks[1:], peak)

    def _rotating(self, tanks: Sequence[float], highest: Mapping[float, float]) -> dict[float, Charging]:
        gap, rate, least = self.gap, self.rate, self.firing.value if self.firing else 0.0
        if gap is None or rate is None or not tanks:
            return {}
        if gap.kind != "synchronous rotary":
            return dict(zip(tanks, rotary_gap(self.source, tanks, rate, None, least), strict=True))
        phases = [gap.phase.value] if gap.phase else [pi * k / PHASES for k in range(PHASES)]
        runs = [rotary_gap(self.source, tanks, rate, p, least) for p in phases]
        return {
            c: max((r[k] for r in runs), key=lambda x: (x.firing_peak <= highest[x.capacitance], x.power))
            for k, c in enumerate(tanks)
        }


def size_result(design: Design, side: SupplySide, places: Sequence[RatedPlace], firing: Estimate | None) -> SizeResult:
    """Return the size of the tank: its own figures, a row for each capacitance of the scan, and the ranges that hold.

    ``places`` are what the peak with the gap missing must stay below; ``firing`` is the volts at which the gap fires
    [V peak across], None where no gap is stated.
    """
    own = tank_estimate(design)
    resonant = side.resonant_capacitance
    if not isfinite(resonant):
        resonant = resonant_capacitance(side.open_voltage.value, side.short_current.value, side.frequency)
    running = _Running(source_of(side.open_voltage.value, side.short_current.value, side.frequency), design.gap, firing)
    rows = _rows(side.missing, places, running)
    result = SizeResult(
        capacitance=own,
        how=tank_words(design),
        resonant_capacitance=resonant,
        advised=_advised(rows, resonant, running),
        gap_missing_peak=_missing_peak(side),
        firing_peak=firing,
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
    )
    if own is not None:
        result = _own(result, own, side, running)
    return replace(result, words=tuple(_words(result, side, running)))


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


def _rows(missing: Sequence[Missing], places: Sequence[RatedPlace], running: _Running) -> tuple[SizeRow, ...]:
    least = 0.0 if running.rotary or running.firing is None else running.firing.value
    fires = {m.capacitance: m.peak for m in missing if m.peak >= least}
    charged = running.charged(fires)
    rows = []
    for m in missing:
        passed = over(places, m)
        row = SizeRow(m.capacitance, m.peak, m.ends_peak, not passed, passed)
        c = charged.get(m.capacitance)
        if c is not None:
            row = replace(row, energy_per_bang=c.energy_per_bang, break_rate=c.break_rate, power=c.power)
        rows.append(row)
    return tuple(rows)


def _advised(rows: Sequence[SizeRow], resonant: float, running: _Running) -> Estimate | None:
    """Return the capacitance to aim at: the usual multiple of the resonant one, or the nearest to it that holds."""
    locked = running.gap is not None and running.gap.kind == "synchronous rotary"
    factor = SYNCHRONOUS_FACTOR if locked else STATIC_FACTOR
    target = factor * resonant
    holds = [r for r in rows if r.within and (running.firing is None or r.break_rate is not None)]
    if not holds:
        return None
    best = min(holds, key=lambda r: abs(log(r.capacitance / target)))
    usual = f"{factor:g} x the mains-resonant value is usual (common practice, no source)"
    near = abs(log(best.capacitance / target)) < 0.2
    basis = usual if near else f"{usual}; this is the nearest at which every rated place holds with the gap missing"
    c = best.capacitance
    return Estimate(c, 0.9 * c, 1.1 * c, "pencil", "F", basis)


def _missing_peak(side: SupplySide) -> Estimate | None:
    m = side.own_missing
    if m is None:
        return None
    low, high = side.own_missing_band or (m.peak, m.peak)
    mark = weakest(side.open_voltage.mark, side.short_current.mark)
    return Estimate(m.peak, low, high, mark, "V", "scan of the supply with the gap missing, highest steady state")


def _limits(running: _Running) -> tuple[str, ...]:
    if not running.rotary:
        return LIMITS
    words = (
        "A rotor's volts at firing are those of a linear supply too: where they pass the scan's peak, none are shown."
    )
    locked = running.gap is not None and running.gap.kind == "synchronous rotary"
    if locked and running.gap is not None and running.gap.phase is None:
        words += " No phase is stated: the one of most power is taken."
    return (*LIMITS, words)


# ---- the own tank ----------------------------------------------------------------------------------------------------


def _own(result: SizeResult, own: Estimate, side: SupplySide, running: _Running) -> SizeResult:
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
        if missing is not None and missing.peak < firing.value:
            return result  # it never fires: the words say so
    found = running.charged({own.value: missing.peak if missing is not None else inf}).get(own.value)
    if found is None:
        return result
    if running.rotary:
        half = 2 * found.firing_spread + 0.1 * found.firing_peak
        low, high = max(found.firing_peak - half, 0.0), found.firing_peak + half
        firing = Estimate(found.firing_peak, low, high, "pencil", "V", "linear supply at the presentations")
        energy, charge = _bang(own, firing)
        energy = replace(energy, value=found.energy_per_bang, basis="mean over the bangs, which differ")
        result = replace(result, firing_peak=firing, energy_per_bang=energy, charge=charge)
    if firing is None:
        return result
    mark = weakest(firing.mark, own.mark, side.open_voltage.mark, side.short_current.mark)
    low, high = firing.low / firing.value, firing.high / firing.value
    if running.rotary:
        rate = Estimate(found.break_rate, found.break_rate, found.break_rate, mark, "Hz", "presentations that fire")
        power_band = ROTARY_BAND
    else:
        rate = _times(found.break_rate, (POWER_BAND[0] / high, POWER_BAND[1] / low), mark, "Hz")
        power_band = (low * POWER_BAND[0], high * POWER_BAND[1])
    return replace(
        result,
        break_rate=rate,
        power=_times(found.power, power_band, mark, "W"),
        power_share=found.share,
        supply_current=found.current,
        supply_loss=found.loss,
        firing_spread=found.firing_spread if running.rotary else 0.0,
    )


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


def _times(value: float, band: tuple[float, float], mark: Mark, unit: str) -> Estimate:
    basis = "linear supply charging the tank between firings"
    return Estimate(value, value * band[0], value * band[1], mark, unit, basis)


# ---- words -----------------------------------------------------------------------------------------------------------


def _words(result: SizeResult, side: SupplySide, running: _Running) -> list[str]:
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
    if result.capacitance is not None:
        out.append(_own_words(result, side, running))
        out += _way_out(result, side)
    if result.advised is None:
        out.append(
            "No capacitance of the scan keeps every rated place within its rating with the gap missing and lets the "
            "gap fire: only a safety gap stands between, or the setting comes down."
        )
    return out


def _times_words(capacitance: float, resonant: float) -> str:
    return f"{farads(capacitance)} ({capacitance / resonant:.2f} x)"


def _row_words(row: SizeRow) -> str:
    missing = f"{volts_peak(row.missing_peak)} with the gap missing"
    if row.break_rate is None or row.power is None or row.energy_per_bang is None:
        return f"{missing}; no running figures"
    return f"{missing}; firing, {row.break_rate:.0f} bangs/s of {joules(row.energy_per_bang)}, {watts(row.power)}"


def _range_words(result: SizeResult) -> str:
    if not result.ranges:
        return "With the gap missing no capacitance of the scan keeps every rated place within its rating."
    parts = []
    for r in result.ranges:
        ends = [f"{farads(r.low)}{' (end of the scan)' if r.low_is_scan_end else ''}"]
        if r.high > r.low:
            ends.append(f"{farads(r.high)}{' (end of the scan)' if r.high_is_scan_end else ''}")
        parts.append(" to ".join(ends) if len(ends) > 1 else f"{ends[0]} alone")
    return f"Every rated place holds with the gap missing at {'; '.join(parts)}."


def _way_out(result: SizeResult, side: SupplySide) -> list[str]:
    """Return the nearest capacitances that hold, where the project's own does not."""
    own = side.own_missing
    row = None if own is None else next((r for r in result.rows if r.capacitance == own.capacitance), None)
    if row is None or row.within:
        return []
    smaller = [r.capacitance for r in result.rows if r.within and r.capacitance < row.capacitance]
    larger = [r.capacitance for r in result.rows if r.within and r.capacitance > row.capacitance]
    near = [farads(c) for c in (*smaller[-1:], *larger[:1])]
    where = f"nearest that hold: {' and '.join(near)}" if near else "no capacitance of the scan holds"
    return [f"With the gap missing this tank passes {', '.join(row.over)}; {where}."]


def _own_words(result: SizeResult, side: SupplySide, running: _Running) -> str:
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
        return f"{head}: {volts_peak(missing.peak)} with the gap missing; running figures not known."
    words = f"{head}: {result.break_rate.value:.0f} bangs/s, {watts(result.power.value)}{share}."
    if not running.rotary and result.break_rate.value > STATIC_RATE:
        words += (
            f" A plain gap is apt to burn on above about {STATIC_RATE:.0f} bangs/s (common practice, no source): a "
            "larger tank, more segments, or air through the gap."
        )
    return words


__all__ = ["over", "ranges", "size_result"]
