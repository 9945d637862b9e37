"""Rotary gap: how often, how long and where in the mains cycle the electrodes face each other, and how far apart they
stand in between.

The rotor is a disc with pins through it, parallel to the axle and equally spaced; the ends of each pin pass the ends
of two fixed pins, one on either side. So every presentation is two gaps in series, and there are as many pins as
presentations in a turn.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, hypot, pi, sin, sqrt

#: Gaps in series at every presentation: the pin's two ends.
GAPS_IN_SERIES = 2
#: A presentation rate this near (share) to a whole multiple or a whole part of the half-cycles counts as locked.
LOCKED_WITHIN = 1e-6


@dataclass(frozen=True)
class RotorGeometry:
    """``aim_radius`` is from the axle to the centre of a pin, ``axial_gap`` one end of a pin to the fixed pin that it
    faces [m]; ``moving_diameter`` and ``fixed_diameter`` are those of the pins [m].
    """

    presentations: int
    aim_radius: float
    moving_diameter: float
    fixed_diameter: float
    axial_gap: float

    def __post_init__(self) -> None:
        for name in ("aim_radius", "moving_diameter", "fixed_diameter", "axial_gap"):
            if getattr(self, name) <= 0:
                raise ValueError(f"{name} must be positive: got {getattr(self, name)} m")
        if self.presentations < 1:
            raise ValueError(f"a rotor has at least one presentation: got {self.presentations}")
        if self.pitch <= self.moving_diameter:
            raise ValueError(
                f"{self.presentations} pins of {self.moving_diameter} m do not fit on a circle of {self.aim_radius} m"
            )

    @property
    def pitch(self) -> float:
        """Return the distance of neighbouring pins along the circle of aim [m]."""
        return 2 * pi * self.aim_radius / self.presentations

    @property
    def reach(self) -> float:
        """Return the sideways distance of two pins at which their faces just no longer overlap [m]."""
        return (self.moving_diameter + self.fixed_diameter) / 2


def presentation_rate(presentations: int, speed: float) -> float:
    """Return the presentations in a second, ``speed`` in rev/s.

    Examples
    --------
    >>> presentation_rate(8, 3000 / 60)
    400.0
    """
    if presentations < 1 or speed <= 0:
        raise ValueError(f"needs at least one presentation and a positive speed: got {presentations}, {speed} rev/s")
    return presentations * speed


def tip_speed(radius: float, speed: float) -> float:
    """Return the speed along the circle [m/s] at ``radius`` [m] and ``speed`` [rev/s]."""
    return 2 * pi * radius * speed


def electrode_force(mass: float, radius: float, speed: float) -> float:
    """Return what holds one electrode on its circle: m r w^2 [N]; mass [kg], radius of its centre [m], speed [rev/s].

    Examples
    --------
    >>> print(f"{electrode_force(8e-3, 0.1, 3000 / 60):.0f} N, {electrode_force(8e-3, 0.1, 6000 / 60):.0f} N")
    79 N, 316 N
    """
    return mass * radius * (2 * pi * speed) ** 2


def distance(rotor: RotorGeometry, angle: float) -> float:
    """Return one gap's distance [m] with the pin turned by ``angle`` [rad] from alignment.

    Between the nearest points of two flat pin ends: the axial gap while the faces overlap, slanting beyond that.
    Only the pin next to the fixed one is looked at, so |angle| is taken up to half the pitch.
    """
    within = min(abs(angle), pi / rotor.presentations)
    sideways = max(2 * rotor.aim_radius * sin(within / 2) - rotor.reach, 0.0)
    return hypot(rotor.axial_gap, sideways)


def largest_distance(rotor: RotorGeometry) -> float:
    """Return one gap's distance with the pins half a pitch out of alignment [m]: the widest the rotor can stop at."""
    return distance(rotor, pi / rotor.presentations)


def half_angle(rotor: RotorGeometry, within: float) -> float:
    """Return the angle before alignment [rad] at which one gap has come down to ``within`` [m].

    At the axial gap itself that is the edge of the overlap. Half the pitch is the most.

    Raises
    ------
    ValueError
        If ``within`` is less than the axial gap, which the pins never come to.
    """
    if within < rotor.axial_gap:
        raise ValueError(f"the pins never come within {within} m: they pass at {rotor.axial_gap} m")
    sideways = sqrt(within**2 - rotor.axial_gap**2) + rotor.reach
    chord = min(sideways / (2 * rotor.aim_radius), 1.0)
    return min(2 * asin(chord), pi / rotor.presentations)


def dwell_angle(rotor: RotorGeometry) -> float:
    """Return the angle [rad] through which the faces overlap at one presentation."""
    return 2 * half_angle(rotor, rotor.axial_gap)


def dwell_time(rotor: RotorGeometry, speed: float) -> float:
    """Return how long the faces overlap at one presentation [s], ``speed`` in rev/s.

    Nearly (sum of the two diameters) / (speed along the circle), for pins that are small against the circle.
    """
    return dwell_angle(rotor) / (2 * pi * speed)


# ---- mains -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class MainsLock:
    """How presentations and mains half-cycles go together.

    ``per_half_cycle`` is their ratio. ``locked``: it is a whole number or one over a whole number, so that every
    presentation comes at the same places of the half-cycle for ever. ``drift`` [1/s] is how often the pattern slides
    through a whole presentation otherwise.
    """

    per_half_cycle: float
    locked: bool
    drift: float


def mains_lock(rate: float, frequency: float) -> MainsLock:
    """Return how ``rate`` [presentations/s] goes with a mains of ``frequency`` [Hz].

    Examples
    --------
    >>> mains_lock(400.0, 50.0)
    MainsLock(per_half_cycle=4.0, locked=True, drift=0.0)
    >>> print(f"{mains_lock(384.0, 50.0).drift:.0f} a second")
    16 a second
    """
    if rate <= 0 or frequency <= 0:
        raise ValueError(f"rate and frequency must be positive: got {rate}, {frequency}")
    half_cycles = 2 * frequency
    ratio = rate / half_cycles
    whole = max(round(ratio if ratio >= 1 else 1 / ratio), 1)
    nearest = half_cycles * whole if ratio >= 1 else half_cycles / whole
    locked = abs(rate - nearest) <= LOCKED_WITHIN * nearest
    return MainsLock(ratio, locked, 0.0 if locked else abs(rate - nearest))


def synchronous_pole_pairs(speed: float, frequency: float) -> int | None:
    """Return the pole pairs of the synchronous motor that turns at ``speed`` [rev/s] straight off the mains, or None.

    A synchronous motor turns at frequency / pole pairs and at nothing else.
    """
    pairs = max(round(frequency / speed), 1)
    return pairs if abs(speed * pairs / frequency - 1) <= LOCKED_WITHIN else None


def stator_angle(phase: float, speed: float, frequency: float) -> float:
    """Return by how much the fixed electrodes (or the motor's frame) must be turned [rad] to move the presentations by
    ``phase`` [rad of the mains cycle].

    The time phase / (2 pi f) is an angle 2 pi n times that of a rotor at n rev/s.
    """
    return phase * speed / frequency


__all__ = [
    "GAPS_IN_SERIES",
    "MainsLock",
    "RotorGeometry",
    "distance",
    "dwell_angle",
    "dwell_time",
    "electrode_force",
    "half_angle",
    "largest_distance",
    "mains_lock",
    "presentation_rate",
    "stator_angle",
    "synchronous_pole_pairs",
    "tip_speed",
]
