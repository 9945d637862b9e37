"""The supply as tank, gap and protection see it, drawn from the supply stage."""

from __future__ import annotations

from math import inf, sqrt

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.leg_ratings import winding_limits
from coilwright.analyses.results import GapMissing, ShelfResult, SupplyResult
from coilwright.analyses.safety_gap import open_end_peaks
from coilwright.analyses.stress import limits_of
from coilwright.analyses.tank_results import Missing, RatedPlace, SupplySide
from coilwright.analyses.topology import Wired, wired_with
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Estimate, Mark
from coilwright.protection.rules_stress import ZERO_VOLTS

#: Ring of tank and primary until the coil is computed or read [Hz]: an assumption, as wide as hobby machines are.
RING_FREQUENCY = (200e3, 80e3, 500e3)
#: Quality of a ring through an air gap: decrement 0.40 to 0.08 of ignition sparks, M. F. Peters, G. F. Blackburn,
#: P. T. Hannen, NBS J. Res. 19 (1937) RP1032, seen; that a tank's gap does the same is an assumption.
RING_QUALITY = (15.0, 8.0, 39.0)
#: Half width of the band of a ring's reading that states no uncertainty (assumption).
READING_SHARE = 0.02


def supply_side(design: Design, arrangement: Arrangement, made: SupplyResult, shelf: ShelfResult) -> SupplySide:
    """Return what tank, gap and protection must know of this supply.

    Raises
    ------
    InputError
        If the arrangement uses a part that has no circuit.
    """
    w = wired_with(arrangement, design, circuits_of(arrangement, design, shelf))
    missing = made.gap_missing
    own = missing.own if missing and missing.own and missing.own.exact else None
    legs = tuple(j for j in arrangement.output if j != w.earth)
    return SupplySide(
        open_voltage=_figure(made, "open_circuit.voltage", made.open_circuit.voltage, "V"),
        open_peak=_figure(made, "open_circuit.voltage_peak", made.open_circuit.voltage_peak, "V"),
        ends_open_peak=open_end_peaks(made, arrangement.output),
        short_current=_figure(made, "short_circuit.current", made.short_circuit.current, "A"),
        best_power_current=made.best_power.current,
        mains_current=_figure(made, "mains_current_uncorrected", made.mains_current_uncorrected, "A"),
        frequency=design.site.frequency.value,
        legs=legs,
        windings=winding_places(w, design, legs),
        missing=_solved(missing),
        own_missing=Missing(own.capacitance, own.peak, own.ends_peak) if own else None,
        own_missing_band=own.peak_band if own else None,
        resonant_capacitance=missing.resonant_capacitance if missing else inf,
        ring_frequency=ring_frequency(design),
        ring_quality=Estimate(*RING_QUALITY, "pencil", "1", "decrement of ignition sparks, NBS RP1032 (1937)"),
        unconverged=() if missing is None or own or missing.own is None else ("tank attached, gap missing",),
    )


def winding_places(w: Wired, design: Design, legs: tuple[str, ...]) -> tuple[RatedPlace, ...]:
    """Return what each end of a high winding stands to its core, the end on the core left out.

    A winding end counts against the leg it is joined to; one inside a stack against every leg, since the highest end is
    the stricter one. One of which no rating is known says so in its place and counts as
    the volt that a lead drops.
    """
    limits = limits_of(w, design.site.mains_voltage.value)
    return tuple(
        RatedPlace(where, sqrt(2) * max(known.value, ZERO_VOLTS), known.mark, leg=joint if joint in legs else "")
        for where, joint, known in winding_limits(w, limits)
    )


def ring_frequency(design: Design) -> Estimate:
    """Return the frequency of tank and primary [Hz]: the latest reading of it, else a wide assumption."""
    read = [r for r in design.readings if r.what == "tank resonance"]
    if read:
        last = max(enumerate(read), key=lambda n: (str(n[1].date or ""), n[0]))[1]
        half = last.tolerance if last.tolerance is not None else READING_SHARE * last.value
        return Estimate(last.value, last.value - half, last.value + half, "stamped", "Hz", "reading of the tank")
    return Estimate(*RING_FREQUENCY, "pencil", "Hz", "assumed until the coil is computed or the tank's ring is read")


def _figure(made: SupplyResult, path: str, value: float, unit: str) -> Estimate:
    mark: Mark = made.marks.get(path, "pencil")
    low, high = made.bands.get(path, (value, value))
    return Estimate(value, low, high, mark, unit, "supply stage")


def _solved(missing: GapMissing | None) -> tuple[Missing, ...]:
    points = [p for p in (missing.points if missing else ()) if p.exact]
    return tuple(Missing(p.capacitance, p.peak, p.ends_peak) for p in sorted(points, key=lambda p: p.capacitance))


__all__ = ["ring_frequency", "supply_side", "winding_places"]
