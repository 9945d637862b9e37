"""What the safety gap's window rests on, from the solved supply: one source for tags, gates and the tank stage."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

from coilwright.analyses.results import GapMissingPoint, SupplyResult
from coilwright.discharge.air import Air, air_at
from coilwright.discharge.gap import SIGMA, breakdown_peak
from coilwright.measurement.readings import mark_of
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.machine import Reading
from coilwright.model.parts import Stamp
from coilwright.protection.body import TOUCH_LIMIT_PEAK
from coilwright.protection.safety_gap import COVERAGE, FORM, LEAST_SPACING, firing_peak


def site_air(design: Design) -> Air:
    """Return the air of the site as breakdown laws see it."""
    site, air = design.site, design.site.air
    pressure = air.pressure.value if air.pressure else None
    return air_at(air.temperature.value, air.humidity.value, site.altitude.value, pressure)


def open_end_peaks(made: SupplyResult, output: tuple[str, str]) -> dict[str, float]:
    """Return what each output end shows to earth with the supply open [V peak], of the highest steady state.

    Several states are known by their volts across; an end takes its share of them.
    """
    peaks = [s.voltage_peak for s in made.states]
    whole = made.open_circuit.voltage_peak
    factor = max(peaks) / whole if len(peaks) > 1 and whole else 1.0
    return {j: made.joints[j].to_earth_peak * max(factor, 1.0) for j in output if j in made.joints}


def live_ends(made: SupplyResult, output: tuple[str, str]) -> tuple[str, ...]:
    """Return the output ends above the touch limit: each is a leg with a safety gap of its own."""
    return tuple(j for j in output if j in made.joints and made.joints[j].to_earth_peak > TOUCH_LIMIT_PEAK)


def missing_point(made: SupplyResult) -> GapMissingPoint | None:
    """Return the solved point of the project's own tank with its gap missing, None where it is not known."""
    own = made.gap_missing.own if made.gap_missing else None
    return own if own is not None and own.exact else None


def fitted_peak(design: Design) -> Known[float] | None:
    """Return what the project's safety gap fires at [V peak to earth] with its 95 % band, in the site's air; None
    without one.

    The highest stamped reading of its firing goes before what is written. Volts are those of a gap set by firing: their
    own band and the gap's scatter in squares. Millimetres go through the law of a nearly uniform field, whose band is
    wider, and stay pencil: nobody has seen that gap fire.
    """
    protection = design.protection
    if protection is None or (protection.safety_gap_voltage is None and protection.safety_gap_spacing is None):
        return None
    fired = firing_readings(design)
    if fired:
        last = max(fired, key=lambda r: r.value)
        half = last.tolerance or 0.0
        return scattered(Known(last.value, "stamped", last.value - half, last.value + half, "read when it fired"))
    if protection.safety_gap_voltage is not None:
        return scattered(protection.safety_gap_voltage)
    spacing = protection.safety_gap_spacing
    if spacing is None:
        return None
    air, low, high = site_air(design), spacing.low or spacing.value, spacing.high or spacing.value
    least = LEAST_SPACING / air.density_ratio
    bottom, top = (breakdown_peak(FORM, None, max(s, least), air) for s in (low, high))
    value = firing_peak(spacing.value, air)
    return Known(value, "pencil", min(bottom.low, value), top.high, "from its millimetres: never fired")


def firing_readings(design: Design) -> tuple[Reading, ...]:
    """Return the stamped readings of the safety gap's firing: those at a joint of the output or "safety gap"."""
    chosen = design.chosen()
    places = {"safety gap", *(chosen.output if chosen else ())}
    return tuple(
        r
        for r in design.readings
        if r.what == "gap firing" and r.where in places and mark_of(Stamp(r.instrument, r.date)) == "stamped"
    )


def is_set_by_firing(design: Design) -> bool:
    """Return whether somebody states the volts at which the safety gap fires; millimetres alone say nothing of it."""
    protection = design.protection
    return bool(firing_readings(design)) or (protection is not None and protection.safety_gap_voltage is not None)


def scattered(volts: Known[float]) -> Known[float]:
    """Return the firing volts of a gap with 95 % of its firings as band: what is written and its scatter in squares."""
    scatter = COVERAGE * SIGMA[FORM] * volts.value
    down = hypot(scatter, volts.value - (volts.low if volts.low is not None else volts.value))
    up = hypot(scatter, (volts.high if volts.high is not None else volts.value) - volts.value)
    return replace(volts, low=volts.value - down, high=volts.value + up)


__all__ = [
    "firing_readings",
    "fitted_peak",
    "is_set_by_firing",
    "live_ends",
    "missing_point",
    "open_end_peaks",
    "scattered",
    "site_air",
]
