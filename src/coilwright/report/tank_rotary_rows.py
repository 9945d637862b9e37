"""Which estimates of rotor, electrodes and room are shown, and in which order: the same in every medium."""

from __future__ import annotations

from coilwright.analyses.tank_results import ElectrodeResult, RoomResult, RotaryResult
from coilwright.model.known import Estimate

#: Label, estimate, how it is printed ("" by its unit).
EstimateRow = tuple[str, Estimate | None, str]


def rotor_rows(made: RotaryResult) -> tuple[EstimateRow, ...]:
    """Return the rotor's estimates in the order in which they are shown."""
    return (
        ("dwell", made.dwell, ""),
        ("pull on each electrode", made.electrode_force, ""),
        ("  at the spin test", made.spin_test_force, ""),
        ("disc, worst stress", made.disc_stress, ""),
        ("disc, strength", made.disc_strength, ""),
        ("bolt, stress as tension", made.bolt_stress, ""),
        ("burst speed", made.burst_speed, ""),
        ("energy of one electrode let go", made.electrode_energy, ""),
        ("shield, least thickness", made.shield_thickness, ""),
    )


def electrode_rows(made: ElectrodeResult) -> tuple[EstimateRow, ...]:
    """Return the electrodes' estimates in the order in which they are shown."""
    return (
        ("charge through the gap in a bang", made.charge_per_bang, ""),
        ("metal lost by each electrode", made.wear, "mm3/h"),
        ("running time to 5 % of drift", made.hours_to_drift, ""),
        ("heat of each electrode", made.heat, ""),
        ("temperature rise of its end", made.temperature_rise, ""),
        ("air needed", made.air_flow, ""),
    )


def room_rows(made: RoomResult) -> tuple[EstimateRow, ...]:
    """Return the room's estimates in the order in which they are shown."""
    return (
        ("power turned over", made.power, ""),
        ("ozone in the long run", made.ozone, "ppm"),
        ("time to 0.1 ppm of ozone", made.time_to_ozone_limit, ""),
        ("air changes to stay at it", made.air_changes, ""),
        ("nitrogen dioxide in the long run", made.dioxide, "ppm"),
        ("noise at 1 m", made.noise, ""),
        ("peak noise at 1 m", made.noise_peak, ""),
        ("bare ears a day at 1 m", made.ear_time, ""),
        ("85 dB left at", made.quiet_distance, ""),
    )


__all__ = ["EstimateRow", "electrode_rows", "room_rows", "rotor_rows"]
