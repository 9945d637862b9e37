"""Rotor, electrodes and room of the tank stage, as JSON objects; estimates are split off by the document."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import ElectrodeResult, RoomResult, RotaryResult, RotorShape, TankResult
from coilwright.analyses.tank_rotor_words import spin_test


def rotary_part(result: TankResult) -> dict[str, Any]:
    """Return the objects ``rotary`` and ``electrodes`` (null where there are none) and ``room``."""
    return {
        "rotary": None if result.rotary is None else _rotary(result.rotary),
        "electrodes": None if result.electrodes is None else _electrodes(result.electrodes),
        "room": _room(result.room),
    }


def _rotary(made: RotaryResult) -> dict[str, Any]:
    return {
        "kind": made.kind,
        "speed": made.speed,
        "highest_speed": made.highest_speed,
        "presentations": made.presentations,
        "presentations_per_second": made.presentations_per_second,
        "presentations_per_half_cycle": made.presentations_per_half_cycle,
        "dwell": made.dwell,
        "phase": made.phase,
        "tip_speed": made.tip_speed,
        "tip_speed_limit": made.tip_speed_limit,
        "electrode_force": made.electrode_force,
        "disc_stress": made.disc_stress,
        "disc_strength": made.disc_strength,
        "disc_factor": made.disc_factor,
        "disc_place": made.disc_place,
        "bolt_stress": made.bolt_stress,
        "bolt_factor": made.bolt_factor,
        "spin_test_speed": made.spin_test_speed,
        "spin_test_force": made.spin_test_force,
        "spin_test": list(spin_test(made)),
        "burst_speed": made.burst_speed,
        "electrode_energy": made.electrode_energy,
        "rotor_energy": made.rotor_energy,
        "shield_thickness": made.shield_thickness,
        "shield_words": made.shield_words,
        "stalled": list(made.stalled),
        "shape": None if made.shape is None else _shape(made.shape),
        "missing": list(made.missing),
        "words": list(made.words),
        "limits": list(made.limits),
    }


def _shape(shape: RotorShape) -> dict[str, Any]:
    return {
        "presentations": shape.presentations,
        "aim_radius": shape.aim_radius,
        "electrode_diameter": shape.electrode_diameter,
        "axial_gap": shape.axial_gap,
        "dwell_angle": shape.dwell_angle,
        "disc_diameter": shape.disc_diameter,
        "bore": shape.bore,
        "thickness": shape.thickness,
        "bolt": shape.bolt,
    }


def _electrodes(made: ElectrodeResult) -> dict[str, Any]:
    return {
        "material": made.material,
        "charge_per_bang": made.charge_per_bang,
        "wear": made.wear,
        "time_to_drift": made.hours_to_drift,
        "heat": made.heat,
        "temperature_rise": made.temperature_rise,
        "air_flow": made.air_flow,
        "words": list(made.words),
        "limits": list(made.limits),
    }


def _room(made: RoomResult) -> dict[str, Any]:
    return {
        "power": made.power,
        "volume": made.volume,
        "ozone": made.ozone,
        "ozone_limit": made.ozone_limit,
        "time_to_ozone_limit": made.time_to_ozone_limit,
        "air_changes": made.air_changes,
        "nitrogen_dioxide": made.dioxide,
        "noise": made.noise,
        "noise_peak": made.noise_peak,
        "ear_time": made.ear_time,
        "quiet_distance": made.quiet_distance,
        "words": list(made.words),
        "limits": list(made.limits),
    }
