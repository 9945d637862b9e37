"""Outlines of bodies of revolution: lines and arcs in the half-plane (rho, z), cut into panels with Gauss nodes.

An open edge of a thin sheet (a winding's ends, the rim of a disc) carries a density that grows as one over the square
root of the distance. A map of the parameter takes that away, so that plain panels converge as they do on smooth bodies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import pi
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Edges = Literal["none", "start", "end", "both"]
_EDGE: dict[Edges, int] = {"none": 0, "start": 1, "end": 2, "both": 3}


@dataclass(frozen=True)
class Curve:
    """A line from (a, b) to (c, d), or an arc about (a, b) of radius c from angle d over ``turn`` [m, rad].

    ``edges`` says which ends are open edges of a thin sheet; ``panels`` how many pieces it is cut into; ``body`` is the
    conductor it belongs to.
    """

    arc: bool
    a: float
    b: float
    c: float
    d: float
    turn: float = 0.0
    edges: Edges = "none"
    panels: int = 2
    body: int = 0


def line(start: tuple[float, float], end: tuple[float, float], *, edges: Edges = "none", panels: int = 2) -> Curve:
    """Return a straight generator from (rho, z) to (rho, z)."""
    return Curve(False, *start, *end, edges=edges, panels=panels)


def arc(
    centre: tuple[float, float], radius: float, start: float = 0.0, turn: float = 2 * pi, *, panels: int = 2
) -> Curve:
    """Return an arc from the angle ``start`` over ``turn`` [rad]; angles count from the outward radial direction."""
    return Curve(True, *centre, radius, start, turn, panels=panels)


def torus(ring_radius: float, tube_radius: float, height: float, *, panels: int = 2) -> Curve:
    """Return a torus whose tube's centre runs at ``ring_radius``.

    Raises
    ------
    ValueError
        If the tube is as thick as the ring: it would meet itself on the axis.
    """
    if not 0 < tube_radius < ring_radius:
        raise ValueError("the tube of a torus must be thinner than its ring")
    return arc((ring_radius, height), tube_radius, panels=panels)


def sphere(radius: float, height: float, *, panels: int = 1) -> Curve:
    """Return a sphere about the axis."""
    return arc((0.0, height), radius, -pi / 2, pi, panels=panels)


def disc(radius: float, height: float, *, panels: int = 1) -> Curve:
    """Return a thin disc about the axis."""
    return line((0.0, height), (radius, height), edges="end", panels=panels)


def cylinder(radius: float, low: float, high: float, *, panels: int = 3) -> Curve:
    """Return a thin tube open at both ends, as a winding is."""
    return line((radius, low), (radius, high), edges="both", panels=panels)


def on_body(curves: Sequence[Curve], body: int) -> tuple[Curve, ...]:
    """Return the curves as parts of one conductor."""
    return tuple(replace(c, body=body) for c in curves)


@lru_cache(maxsize=16)
def gauss(n: int) -> tuple[Real, Real]:
    """Return Gauss-Legendre nodes and weights on [0, 1]."""
    x, w = np.polynomial.legendre.leggauss(n)
    return (x + 1) / 2, w / 2


@lru_cache(maxsize=16)
def barycentric(n: int) -> Real:
    """Return the barycentric weights of the Gauss nodes (Berrut and Trefethen, SIAM Review 46 (2004) 501, from
    memory).
    """
    x, w = gauss(n)
    return np.asarray((-1.0) ** np.arange(n) * np.sqrt(x * (1 - x) * w))


@dataclass(frozen=True)
class Mesh:
    """Panels (m) with ``order`` nodes each, node k of panel j at place j * order + k.

    ``rho``, ``z`` (n,), ``speed`` (n,) |dx/du| [m], ``weight`` (n,) the Gauss weight in the curve's parameter,
    ``body`` (n,) the conductor; ``centre`` (m, 2) and ``length`` (m,) of the panels.
    """

    curves: tuple[Curve, ...]
    order: int
    of: NDArray[np.int64]  # (m,) the panel's curve
    begin: Real  # (m,) the panel's first parameter
    step: Real  # (m,) its width in the parameter
    shape: Real  # (m, 7): arc, a, b, c, d, turn, edges
    rho: Real
    z: Real
    speed: Real
    weight: Real
    body: NDArray[np.int64]
    centre: Real
    length: Real

    @property
    def size(self) -> int:
        """Return the number of nodes."""
        return int(self.rho.size)


def points(shape: Real, u: Real) -> tuple[Real, Real, Real]:
    """Return rho, z and |dx/du| of curves of the given ``shape`` (..., 7) at parameters ``u`` (...)."""
    is_arc, a, b, c, d, turn, edges = np.moveaxis(shape, -1, 0)
    s, slope = np.array(u), np.ones_like(u)
    both, end, start = edges == 3, edges == 2, edges == 1
    if both.any():
        s = np.where(both, np.sin(pi / 2 * u) ** 2, s)
        slope = np.where(both, pi / 2 * np.sin(pi * u), slope)
    if end.any():
        s, slope = np.where(end, 1 - (1 - u) ** 2, s), np.where(end, 2 * (1 - u), slope)
    if start.any():
        s, slope = np.where(start, u**2, s), np.where(start, 2 * u, slope)
    round_ = is_arc > 0
    angle = d + s * turn
    rho = np.where(round_, a + c * np.cos(angle), a + s * (c - a))
    z = np.where(round_, b + c * np.sin(angle), b + s * (d - b))
    size = np.where(round_, c * np.abs(turn), np.hypot(c - a, d - b))
    return rho, z, slope * size


def mesh(curves: Sequence[Curve], order: int = 8) -> Mesh:
    """Return the nodes and panels of some curves."""
    kept = tuple(curves)
    of = np.repeat(np.arange(len(kept)), [c.panels for c in kept])
    step = np.repeat([1 / c.panels for c in kept], [c.panels for c in kept])
    begin = np.concatenate([np.arange(c.panels) / c.panels for c in kept])
    rows = np.array([[float(c.arc), c.a, c.b, c.c, c.d, c.turn, float(_EDGE[c.edges])] for c in kept])
    shape = rows[of]
    x, w = gauss(order)
    u = begin[:, None] + step[:, None] * x
    rho, z, speed = points(shape[:, None, :], u)
    ends = np.stack([begin, begin + step / 2, begin + step], axis=1)
    er, ez, _ = points(shape[:, None, :], ends)
    length = np.hypot(np.diff(er, axis=1), np.diff(ez, axis=1)).sum(axis=1)
    body = np.repeat(np.array([c.body for c in kept])[of], order)
    weight = (step[:, None] * w).ravel()
    return Mesh(
        kept,
        order,
        of,
        begin,
        step,
        shape,
        rho.ravel(),
        z.ravel(),
        speed.ravel(),
        weight,
        body,
        np.stack([er[:, 1], ez[:, 1]], axis=1),
        length,
    )
