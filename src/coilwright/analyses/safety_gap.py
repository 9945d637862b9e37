"""What the safety gap's window rests on, from the solved supply: one source for tags, gates and the tank stage."""

from __future__ import annotations

from coilwright.analyses.results import GapMissingPoint, SupplyResult
from coilwright.discharge.air import Air, air_at
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.protection.body import TOUCH_LIMIT_PEAK
from coilwright.protection.safety_gap import firing_peak


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
    """Return what the project's safety gap fires at [V peak to earth], in the site's air; None without one.

    Volts are taken as written: a setting found by firing. Millimetres go through the law of a nearly uniform field.
    """
    protection = design.protection
    if protection is None:
        return None
    if protection.safety_gap_voltage is not None:
        return protection.safety_gap_voltage
    spacing = protection.safety_gap_spacing
    if spacing is None:
        return None
    return Known(firing_peak(spacing.value, site_air(design)), spacing.mark, basis="spacing, nearly uniform field")


__all__ = ["fitted_peak", "live_ends", "missing_point", "open_end_peaks", "site_air"]
