"""Frozen results of the tank stage about what turns, wears and fills the room: rotor, electrodes, air and noise."""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.model.known import Estimate


@dataclass(frozen=True)
class RotorShape:
    """The rotor as it is drawn: m, ``dwell_angle`` rad. The disc's measures are None where it is not stated."""

    presentations: int
    aim_radius: float
    electrode_diameter: float
    axial_gap: float | None
    dwell_angle: float
    disc_diameter: float | None = None
    bore: float | None = None
    thickness: float | None = None
    bolt: float | None = None


@dataclass(frozen=True)
class RotaryResult:
    """``kind`` synchronous rotary | asynchronous rotary. Forces in N, stresses in Pa, speed in rev/s.

    ``highest_speed`` is the most that the motor can reach, or the running speed where that is not stated; strengths are
    judged there. ``missing`` names what keeps the rotor from being judged.
    """

    kind: str
    speed: float
    presentations: int
    presentations_per_second: float
    dwell: Estimate | None  # s
    phase: float | None
    tip_speed: float | None
    electrode_force: Estimate | None
    disc_stress: Estimate | None
    disc_strength: Estimate | None
    disc_factor: float | None  # strength over stress at running speed
    bolt_stress: Estimate | None
    bolt_factor: float | None
    spin_test_speed: float
    spin_test_force: Estimate | None
    burst_speed: Estimate | None
    electrode_energy: Estimate | None  # J of one electrode let go
    shield_thickness: Estimate | None
    shield_words: str = ""
    stalled: tuple[str, ...] = ()  # rotor stalled while powered: out of alignment, and in alignment
    highest_speed: float | None = None
    presentations_per_half_cycle: float | None = None
    tip_speed_limit: float | None = None  # m/s, 0: the material is not taken
    disc_place: str = ""  # where the disc's worst stress stands
    rotor_energy: float | None = None  # J of the whole rotor at its highest speed
    shape: RotorShape | None = None
    missing: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()


@dataclass(frozen=True)
class ElectrodeResult:
    """What the arc does to the electrodes at the break rate of the size stage."""

    material: str
    charge_per_bang: Estimate | None  # integral of |i|, C
    wear: Estimate | None  # m3/s per electrode
    hours_to_drift: Estimate | None  # s until the setting has drifted by 5 %
    heat: Estimate | None  # W per electrode
    temperature_rise: Estimate | None
    air_flow: Estimate | None  # m3/s
    words: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()


@dataclass(frozen=True)
class RoomResult:
    """Ozone, nitrogen dioxide, noise and ultraviolet light, against limits for people."""

    power: Estimate | None
    ozone: Estimate | None  # volume fraction in the steady state, None where the room is not known
    ozone_limit: float
    time_to_ozone_limit: Estimate | None
    air_changes: Estimate | None  # 1/s wanted to stay below the limit
    noise: Estimate | None  # dB at 1 m
    volume: float | None = None  # m3
    dioxide: Estimate | None = None  # volume fraction of nitrogen dioxide, if all the oxide turned into it
    noise_peak: Estimate | None = None  # dB peak at 1 m
    ear_time: Estimate | None = None  # s a day at 1 m with bare ears
    quiet_distance: Estimate | None = None  # m, where 85 dB are left
    words: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()


__all__ = ["ElectrodeResult", "RoomResult", "RotaryResult", "RotorShape"]
