"""Windings as lists of coaxial turns: solenoid, flat spiral, helix, cone, and any list.

Ring i of n (i = 1..n) lies at the inner radius, or the base, plus (i - 1/2) pitch along the winding. A last part of a
turn is a ring that counts for its part (``weight``).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, cos, hypot, pi, sin

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]


@dataclass(frozen=True)
class Turns:
    """Coaxial turns in series in the order of the conductor. ``radius`` and ``height`` (n,) of the conductor's centre
    line [m], ``weight`` (n,) of each (1 for a whole turn), ``wire_radius`` [m].

    ``pitch`` [m] is from turn to turn along the winding, None for a list without one.
    """

    radius: Real
    height: Real
    weight: Real
    wire_radius: float
    pitch: float | None = None

    @property
    def count(self) -> float:
        """Return how many turns there are."""
        return float(self.weight.sum())

    @property
    def is_uniform(self) -> bool:
        """Return whether all turns are whole, alike and evenly spaced: then only offsets matter."""
        if self.radius.size < 2:
            return False
        steps = np.diff(self.height)
        return bool(
            np.all(self.weight == 1)
            and np.ptp(self.radius) <= 1e-12 * self.radius[0]
            and np.ptp(steps) <= 1e-9 * abs(steps[0])
            and steps[0] != 0
        )

    def raised(self, by: float) -> Turns:
        """Return the same turns higher up [m]."""
        return Turns(self.radius, self.height + by, self.weight, self.wire_radius, self.pitch)


def cone(
    inner_radius: float, pitch: float, turns: float, wire_radius: float, *, angle: float = 0.0, base: float = 0.0
) -> Turns:
    """Return a winding that goes outwards and upwards at ``angle`` [rad] above the horizontal, ``pitch`` [m] along the
    slope: 0 is a flat spiral, pi/2 a helix of the inner radius.
    """
    whole = ceil(turns - 1e-12)
    place = np.arange(whole, dtype=np.float64) + 0.5
    weight = np.ones(whole)
    if turns < whole:
        weight[-1] = turns - (whole - 1)
        place[-1] = whole - 1 + weight[-1] / 2
    radius = np.asarray(inner_radius + place * (pitch * cos(angle)), dtype=np.float64)
    height = np.asarray(base + place * (pitch * sin(angle)), dtype=np.float64)
    return Turns(radius, height, weight, wire_radius, pitch)


def solenoid(radius: float, pitch: float, turns: float, wire_radius: float, *, base: float = 0.0) -> Turns:
    """Return a single layer from ``base`` upwards."""
    made = cone(radius, pitch, turns, wire_radius, angle=pi / 2, base=base)
    return Turns(np.full(made.radius.size, radius), made.height, made.weight, wire_radius, pitch)


def listed(radius: ArrayLike, height: ArrayLike, wire_radius: float) -> Turns:
    """Return turns given one by one."""
    r, z = np.asarray(radius, float), np.asarray(height, float)
    return Turns(r, z, np.ones(r.size), wire_radius)


def conductor_length(turns: Turns) -> float:
    """Return the length of the conductor along its turns [m], the rise from turn to turn included."""
    if turns.radius.size == 0:
        return 0.0
    around = 2 * pi * float((turns.radius * turns.weight).sum())
    return hypot(around, (turns.pitch or 0.0) * turns.count)
