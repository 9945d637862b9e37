"""Top loads as bodies of revolution: toroid, sphere, disc, dome, and stacks of them.

Where the outlines of one conductor overlap, what lies inside another is cut away: charge sits on the outside alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot, pi

import numpy as np

from coilwright.fields.outline import Curve, Edges, arc, disc, line, points

#: Places of a curve that are looked at for where it enters another body, and halvings that find the place.
_LOOKS, _HALVINGS = 257, 48


@dataclass(frozen=True)
class Round:
    """A body whose section is a circle about (rho, z): a sphere (rho 0), or the tube of a toroid [m]."""

    rho: float
    z: float
    radius: float
    panels: int = 2

    def holds(self, rho: float, z: float) -> bool:
        """Return whether a point lies inside."""
        return hypot(rho - self.rho, z - self.z) < self.radius * (1 - 1e-12)

    def outline(self) -> tuple[Curve, ...]:
        """Return the generator."""
        if self.rho == 0:
            return (arc((0.0, self.z), self.radius, -pi / 2, pi, panels=self.panels),)
        return (arc((self.rho, self.z), self.radius, panels=self.panels),)


@dataclass(frozen=True)
class Flat:
    """A thin disc."""

    radius: float
    z: float
    panels: int = 1

    def holds(self, rho: float, z: float) -> bool:  # noqa: ARG002  # a sheet holds nothing
        """Return False: it has no inside."""
        return False

    def outline(self) -> tuple[Curve, ...]:
        """Return the generator."""
        return (disc(self.radius, self.z, panels=self.panels),)


@dataclass(frozen=True)
class Dome:
    """Half a spherical shell, open below, its rim at height ``z``."""

    radius: float
    z: float
    panels: int = 1

    def holds(self, rho: float, z: float) -> bool:
        """Return whether a point lies under the dome."""
        return z > self.z and hypot(rho, z - self.z) < self.radius * (1 - 1e-12)

    def outline(self) -> tuple[Curve, ...]:
        """Return the generator, its rim an open edge."""
        return (replace(arc((0.0, self.z), self.radius, 0.0, pi / 2, panels=self.panels), edges="start"),)


Body = Round | Flat | Dome


def toroid(ring_diameter: float, tube_diameter: float, z: float, *, panels: int = 2) -> Round:
    """Return a toroid by the diameters of its tube's centre line and of its tube, its centre at ``z`` [m].

    Raises
    ------
    ValueError
        If the tube is as thick as the ring is wide.
    """
    if not 0 < tube_diameter < ring_diameter:
        raise ValueError("the tube of a toroid must be thinner than its centre line is wide")
    return Round(ring_diameter / 2, z, tube_diameter / 2, panels)


def merged(bodies: Sequence[Body]) -> tuple[Curve, ...]:
    """Return the outer outline of some bodies that are one conductor."""
    out: list[Curve] = []
    for k, body in enumerate(bodies):
        others = [b for j, b in enumerate(bodies) if j != k]
        for curve in body.outline():
            out.extend(_outside(curve, others))
    return tuple(out)


def _outside(curve: Curve, others: Sequence[Body]) -> list[Curve]:
    """Return the parts of a curve that lie inside none of the bodies."""
    if not others:
        return [curve]
    plain = replace(curve, edges="none")  # by the share of its length, whatever its edges
    shape = np.array([[float(plain.arc), plain.a, plain.b, plain.c, plain.d, plain.turn, 0.0]])

    def free(s: float) -> bool:
        rho, z, _ = points(shape, np.array([s]))
        return not any(b.holds(float(rho[0]), float(z[0])) for b in others)

    s = np.linspace(0, 1, _LOOKS)
    state = [free(float(v)) for v in s]
    if all(state):
        return [curve]
    cuts = [0.0]
    for k in range(_LOOKS - 1):
        if state[k] != state[k + 1]:
            low, high = float(s[k]), float(s[k + 1])
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                low, high = (middle, high) if free(middle) == state[k] else (low, middle)
            cuts.append((low + high) / 2)
    cuts.append(1.0)
    pieces = [(a, b) for a, b in pairwise(cuts) if b > a and free((a + b) / 2)]
    return [_piece(curve, a, b) for a, b in pieces]


def _piece(curve: Curve, begin: float, end: float) -> Curve:
    """Return the part of a curve between two shares of its length; an open edge stays one only where it is kept."""
    start_open = curve.edges in ("start", "both") and begin == 0
    end_open = curve.edges in ("end", "both") and end == 1
    edges: Edges = "both" if start_open and end_open else "start" if start_open else "end" if end_open else "none"
    panels = max(2, round(curve.panels * (end - begin)) + 1)
    if curve.arc:
        made = arc((curve.a, curve.b), curve.c, curve.d + begin * curve.turn, (end - begin) * curve.turn, panels=panels)
    else:
        dr, dz = curve.c - curve.a, curve.d - curve.b
        made = line(
            (curve.a + begin * dr, curve.b + begin * dz), (curve.a + end * dr, curve.b + end * dz), panels=panels
        )
    return replace(made, edges=edges, body=curve.body)


__all__ = ["Body", "Dome", "Flat", "Round", "merged", "toroid"]
