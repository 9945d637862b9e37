"""The filter of each leg: as fitted, or as this supply would take it."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.tank_results import FilterResult, RatedPlace, SafetyGapResult, SizeResult, SupplySide
from coilwright.capacitors.film import unit_of
from coilwright.model.design import Design
from coilwright.model.known import Estimate
from coilwright.protection.surge_filter import (
    RESISTOR_PIECE,
    FilterHeat,
    FilterNeeds,
    Leg,
    advise,
    attenuation,
    choke_ring,
    corner_frequency,
    drop,
    heat,
    needs,
    rise_time,
    surge,
)
from coilwright.protection.wording import (
    amperes,
    coulombs,
    farads,
    joules,
    ohms,
    percent,
    seconds,
    volts_peak,
    volts_per_second,
    volts_rms,
    watts,
)
from coilwright.supply.circuits import TransformerCircuit

#: Winding end to its core and case where no circuit is at hand [F] (assumption).
USUAL_STRAY = 0.4e-9
#: Bypass choke of the example [H], and its losses at the ring [ohm] (assumptions).
EXAMPLE_CHOKE = (5e-3, 300.0)
#: Firings a mains cycle where the break rate is not worked out: one each half cycle.
FIRINGS_PER_CYCLE = 2.0


def filter_places(design: Design) -> tuple[RatedPlace, ...]:
    """Return what the filter's capacitor stands to earth, where the shelf has one for it with a rating.

    A DC label counts as the alternating peak that such a film capacitor is assumed to stand, as in a tank string; a
    kind that is unfit for pulses counts for nothing.
    """
    fitted = design.protection.filter if design.protection else None
    if fitted is None:
        return ()
    found = [
        c
        for c in design.capacitors
        if c.use == "filter" and c.rated is not None and abs(c.value.value / fitted.capacitance.value - 1) < 0.05
    ]
    units = [unit_of(c) for c in found]
    return tuple(
        RatedPlace(
            f"filter capacitor {u.id}" + (" (unfit)" if u.unfit else ""),
            0.0 if u.unfit else u.rated_peak.value,
            u.rated_peak.mark,
            what="filter",
        )
        for u in units
        if u.rated_peak is not None
    )


def highest_end(side: SupplySide) -> float:
    """Return the highest peak of an output end to earth [V]: with the gap missing where that is solved, never below
    that of the open supply. The one figure for the filter's ratings and for what its capacitor and a winding end hold.

    A fitted safety gap is not counted on: one that has drifted wide, or is off for a repair, holds nothing.
    """
    ends = [*side.ends_open_peak.values(), *(side.own_missing.ends_peak.values() if side.own_missing else ())]
    return max(ends, default=side.open_peak.value)


def stray_of(design: Design, made: SupplyResult | None, shelf: ShelfResult | None) -> float:
    """Return the stray capacitance of the worst winding end of the supply to its core [F]."""
    wired = next((a for a in design.arrangements if made and a.name == made.name), None)
    if wired is None or shelf is None:
        return USUAL_STRAY
    circuits = circuits_of(wired, design, shelf)
    used = {t.split(".")[0] for terminals in wired.joints.values() for t in terminals}
    found = [c.high_to_core / 2 for n, c in circuits.items() if n in used and isinstance(c, TransformerCircuit)]
    return max(found, default=USUAL_STRAY)


def filter_result(
    design: Design,
    side: SupplySide,
    size: SizeResult,
    safety: SafetyGapResult,
    made: SupplyResult | None,
    shelf: ShelfResult | None,
) -> FilterResult:
    """Return the filter of one leg with what it does and what its parts must stand."""
    legs = max(len(side.legs), 1)
    share = max(side.ends_open_peak.values(), default=side.open_peak.value / legs) / side.open_peak.value
    stray = stray_of(design, made, shelf)
    tank = size.capacitance.value if size.capacitance else side.resonant_capacitance
    fitted = design.protection.filter if design.protection else None
    frequency = side.ring_frequency.value
    open_rms = share * side.open_voltage.value
    if fitted is None:
        advice = advise(open_rms, side.best_power_current, tank, legs, frequency, stray)
        r, c, decided = advice.resistance, advice.capacitance, advice.decided_by
    else:
        r, c, decided = fitted.resistance.value, fitted.capacitance.value, "file"
    highest = highest_end(side)
    firing = min(size.firing_peak.value if size.firing_peak else side.open_peak.value, side.open_peak.value) * share
    rate = size.break_rate.value if size.break_rate else FIRINGS_PER_CYCLE * side.frequency
    leg = Leg(open_rms, side.best_power_current, firing, highest, rate, stray, side.frequency)
    heated = heat(leg, r, c)
    worst = heat(
        Leg(open_rms, side.short_current.value, firing, highest, rate, stray, side.frequency),
        r,
        c,
        (frequency, side.ring_quality.value),
    )
    need = needs(leg, r, c, worst)
    return FilterResult(
        fitted=fitted is not None,
        resistance=r,
        capacitance=c,
        corner_frequency=corner_frequency(r, c + stray),
        attenuation=attenuation(frequency, r, c + stray),
        drop=drop(r, side.best_power_current, open_rms),
        resistor_power=Estimate(
            heated.resistor,
            heated.supply,
            worst.resistor,
            "pencil",
            "W",
            "best power and the bangs; up to a gap that holds on, tank across the supply",
        ),
        resistor_voltage_peak=need.resistor_peak,
        resistors_in_series=need.pieces,
        capacitor_peak=need.capacitor_peak,
        capacitor_current=Estimate(
            need.capacitor_current, 0.5 * need.capacitor_current, 2 * need.capacitor_current, "pencil", "A",
            "mains and bangs in squares; factor 2 for the break rate",
        ),
        surge_energy=surge(r, c, firing).energy,
        fails=tuple(_fails(side, tank, r, highest)),
        chokes=tuple(_chokes(stray, frequency, firing)),
        limits=(
            *_words(r, c, stray, decided, legs, tank, need, firing, (heated, worst)),
            *_rated_at(side, safety, highest),
        ),
    )  # fmt: skip


def _rated_at(side: SupplySide, safety: SafetyGapResult, highest: float) -> Iterator[str]:
    """Yield what the ratings' peak is, and what a safety gap makes of it."""
    if side.own_missing is None:
        yield (
            f"{volts_peak(highest)} is the open supply's, for no tank with its gap missing is solved: a tank may raise "
            "it; rate the parts again then."
        )
        return
    held = safety.fitted_peak.high if safety.fitted_peak else None
    words = f"{volts_peak(highest)} is the highest of a leg with the gap missing, as in the table of what can be held."
    band = side.own_missing_band
    if band is not None and band[1] > side.own_missing.peak > 0:
        words += f" Its band reaches {volts_peak(highest * band[1] / side.own_missing.peak)}: rate above that."
    if held is not None and held < highest:
        words += f" The safety gap holds it below {volts_peak(held)} while it does its work; no rating counts on that."
    yield words


def _fails(side: SupplySide, tank: float, resistance: float, highest: float) -> Iterator[str]:
    short = side.short_current
    legs = max(len(side.legs), 1)
    yield (
        f"Resistor open: nothing drains the tank through the winding any more; {coulombs(tank * highest * legs)} stay "
        "on it at the highest peak until its bleeder has done its work. The output looks dead."
    )
    half = ": half of the output is gone" if legs > 1 else ""
    yield (
        f"Capacitor shorted: that leg of the supply is shorted to earth and {amperes(short.value)} flow{half}; the set "
        f"hums, the resistor of that leg ({ohms(resistance)}) holds one end of the tank on earth."
    )
    yield (
        "Resistor flashed over: no filter is there and nothing shows it; look for tracks, and space the string for "
        f"{volts_peak(2 * highest)}."
    )


def _chokes(stray: float, frequency: float, firing: float) -> Iterator[str]:
    inductance, loss = EXAMPLE_CHOKE
    own = choke_ring(inductance, stray, loss, frequency)
    at_own = choke_ring(inductance, stray, loss, own.frequency)
    yield (
        f"Bypass chokes in place of the resistors ring with the winding: {inductance * 1e3:g} mH and {farads(stray)} "
        f"(assumed example, {ohms(loss)} of losses) at {own.frequency / 1e3:.0f} kHz with a quality of "
        f"{own.quality:.0f}. A gap that drops {volts_peak(firing)} swings the winding {own.swing:.2f} times as far, "
        f"and a tank that rings at that frequency is raised {at_own.gain:.0f} times, not held back."
    )
    yield "A choke only behind its resistor, and only with the resistor large enough to damp it: above 2 sqrt(L / C)."


def _words(
    r: float,
    c: float,
    stray: float,
    decided: str,
    legs: int,
    tank: float,
    need: FilterNeeds,
    firing: float,
    heats: tuple[FilterHeat, FilterHeat],
) -> Iterator[str]:
    why = {
        "attenuation": "the capacitor brings the ring to about a tenth",
        "energy": "the capacitor is as large as 3 % of a bang allows; the ring is not brought to a tenth",
        "stray": "the capacitor is five times the winding's stray capacitance, more than 3 % of a bang",
        "file": "values of the project",
    }
    yield (
        f"Per leg, from the winding: {farads(c)} to earth, then {ohms(r)}, then safety gap, tank and gap. "
        f"{why[decided].capitalize()}; the capacitors take {percent(c / (legs * tank))} of a bang."
    )
    one, (usual, worst) = surge(r, c, firing), heats
    yield (
        f"Resistor: at least {watts(need.resistor_power)}, twice the upper end of its heat ({watts(worst.resistor)}: "
        "the supply shorted by a gap that holds on, the tank across it); "
        f"{volts_peak(need.resistor_peak)} (the tank may swing through), {need.pieces} or more in series at "
        f"{volts_peak(RESISTOR_PIECE)} each; each bang {joules(one.energy)} at up to {watts(one.power_peak)}, "
        f"{watts(usual.surge)} of its heat. Wire-wound on ceramic, in free air, not inside the winding's box."
    )
    yield (
        f"Capacitor: {volts_rms(need.capacitor_rms)} of mains frequency, {volts_peak(need.capacitor_peak)}, "
        f"{volts_per_second(need.capacitor_dv_dt)}, {farads(c)}; its own bleeder."
    )
    yield (
        f"It slows a step of the gap to {seconds(rise_time(r, c + stray))} (10 to 90 %). With the gap missing it adds "
        f"{farads(c / legs)} to the tank."
    )


__all__ = ["filter_places", "filter_result", "highest_end", "stray_of"]
