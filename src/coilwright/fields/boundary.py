"""Axisymmetric boundary elements: the potential of ring charges on bodies of revolution, with a plane at 0 V.

Unknown is the charge at each node of the mesh (density along the curve times the node's weight). Far nodes act as ring
charges; on near panels and on its own a node's charge is spread as the Lagrange polynomial of the panel (product
integration), with points crowded where the kernel peaks. Thin rings (turns, a rail) are one unknown each.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import pi

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, special

from coilwright.fields.outline import Mesh, Real, barycentric, gauss, points
from coilwright.model.constants import EPSILON_0

#: Points on each side of the nearest one in product integration: 12 leave 1e-7 to 4e-7 of the potential.
NEAR_POINTS = 12
#: Panels nearer than this many of their own lengths are integrated.
_NEAR = 1.0
_FRONT = 1 / (2 * pi**2 * EPSILON_0)


@dataclass(frozen=True)
class Rings:
    """Thin rings, one unknown each: ``rho``, ``z``, ``wire_radius`` (k,) [m] and the conductor of each."""

    rho: Real
    z: Real
    wire_radius: Real
    body: NDArray[np.int64]

    @property
    def size(self) -> int:
        """Return how many there are."""
        return int(self.rho.size)


NO_RINGS = Rings(np.empty(0), np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))


def ring_potential(rho: Real, z: Real, source_rho: Real, source_z: Real) -> Real:
    """Return the potential at points of a ring of charge [V/C].

    q / (2 pi^2 eps0 r1) K(1 - (r2/r1)^2), with the complementary modulus formed directly, so that nothing cancels near
    the ring.
    """
    dz2 = (z - source_z) ** 2
    far2 = (rho + source_rho) ** 2 + dz2
    near2 = (rho - source_rho) ** 2 + dz2
    return np.asarray(_FRONT / np.sqrt(far2) * special.ellipkm1(near2 / far2))


def potential_matrix(m: Mesh, rings: Rings = NO_RINGS, *, ground: bool = True, near_points: int = NEAR_POINTS) -> Real:
    """Return the potential at every node and ring of the charge at every node and ring, shape (n + k, n + k) [V/C].

    ``ground``: the plane z = 0 is at 0 V.
    """
    a = _influence(m, rings, 1.0, near_points)
    if ground:
        a -= _influence(m, rings, -1.0, near_points)
    return a


def _influence(m: Mesh, rings: Rings, side: float, near_points: int) -> Real:
    """Return the potential matrix of the charges themselves (``side`` 1) or of their images in the plane (-1)."""
    rho, z = np.concatenate([m.rho, rings.rho]), np.concatenate([m.z, rings.z])
    with np.errstate(divide="ignore", invalid="ignore"):
        a = ring_potential(rho[:, None], z[:, None], rho[None, :], side * z[None, :])
    if side > 0 and rings.size:
        own = np.arange(m.size, rho.size)
        a[own, own] = np.log(8 * rings.rho / rings.wire_radius) / (4 * pi**2 * EPSILON_0 * rings.rho)
    apart = np.hypot(rho[:, None] - m.centre[None, :, 0], z[:, None] - side * m.centre[None, :, 1])
    i, j = np.nonzero(apart <= _NEAR * m.length[None, :])
    if i.size:
        own_node = np.where((side > 0) & (i // m.order == j), i % m.order, -1)  # a ring lies beyond the last panel
        a[i[:, None], j[:, None] * m.order + np.arange(m.order)] = _product_integral(
            m, j, rho[i], side * z[i], own_node, near_points
        )
    return a


def _product_integral(m: Mesh, j: NDArray[np.int64], rho: Real, z: Real, own: NDArray[np.int64], count: int) -> Real:
    """Return the potential at points (k,) of the charges of the nodes of panels ``j`` (k,), shape (k, order).

    ``own`` is the node of that panel at which the point lies, -1 for a point elsewhere. The panel is split at its place
    nearest to the point; towards it the points crowd as t^3 at the point's own node, else as sinh over the distance.
    """
    x, w = gauss(m.order)
    t, dt = gauss(count)
    shape, begin, step = m.shape[j], m.begin[j], m.step[j]
    nearest, scale = _nearest(shape, begin, step, rho, z)
    is_own = own >= 0
    nearest = np.where(is_own, x[own], nearest)
    side = np.array([-1.0, 1.0])[None, :, None]
    reach = np.stack([nearest, 1 - nearest], axis=1)[:, :, None]  # (k, 2, 1)
    crowd = np.arcsinh(reach / scale[:, None, None])
    off = np.where(is_own[:, None, None], reach * t**3, scale[:, None, None] * np.sinh(t * crowd))
    slope = np.where(is_own[:, None, None], 3 * reach * t**2, scale[:, None, None] * crowd * np.cosh(t * crowd))
    local = (nearest[:, None, None] + side * off).reshape(len(j), -1)
    part = (slope * dt).reshape(len(j), -1)
    source_rho, source_z, _ = points(shape[:, None, :], begin[:, None] + step[:, None] * local)
    kernel = part * ring_potential(rho[:, None], z[:, None], source_rho, source_z)
    gap = local[:, :, None] - x
    gap = np.where(gap == 0, 1e-300, gap)
    lagrange = barycentric(m.order) / gap
    lagrange /= lagrange.sum(axis=2, keepdims=True)
    return np.asarray(np.matmul(kernel[:, None, :], lagrange)[:, 0] / w)


def _nearest(shape: Real, begin: Real, step: Real, rho: Real, z: Real) -> tuple[Real, Real]:
    """Return the panel's local parameter nearest to each point, and the distance there in local parameters."""
    grid = np.linspace(0, 1, 17)
    r, h, _ = points(shape[:, None, :], begin[:, None] + step[:, None] * grid)
    away = (r - rho[:, None]) ** 2 + (h - z[:, None]) ** 2
    k = away.argmin(axis=1)
    rows = np.arange(k.size)
    inner = np.clip(k, 1, grid.size - 2)
    before, here, after = away[rows, inner - 1], away[rows, inner], away[rows, inner + 1]
    bend = before - 2 * here + after
    shift = np.where(bend > 0, 0.5 * (before - after) / np.where(bend > 0, bend, 1.0), 0.0)
    best = np.clip(grid[inner] + np.clip(shift, -1.0, 1.0) / (grid.size - 1), 0.0, 1.0)
    r, h, speed = points(shape, begin + step * best)
    distance = np.hypot(r - rho, h - z)
    pace = np.maximum(speed * step, 1e-9 * (np.abs(r) + np.abs(h) + 1e-9))
    return best, np.clip(distance / pace, 1e-10, 1e3)


@dataclass(frozen=True)
class Charges:
    """The potential matrix of a set, factored once. Columns of potentials give columns of charges."""

    mesh: Mesh
    rings: Rings
    matrix: Real

    @cached_property
    def _factors(self) -> tuple[Real, NDArray[np.int32]]:
        lu: tuple[Real, NDArray[np.int32]] = linalg.lu_factor(self.matrix, check_finite=False)
        return lu

    @property
    def body(self) -> NDArray[np.int64]:
        """Return the conductor of every node and ring."""
        return np.concatenate([self.mesh.body, self.rings.body])

    def of(self, potentials: Real) -> Real:
        """Return the charges [C] that hold the nodes and rings at potentials (n + k,) or (n + k, c) [V]."""
        return np.asarray(linalg.lu_solve(self._factors, potentials, check_finite=False))

    def field(self, charges: Real) -> Real:
        """Return the normal field at every node of the mesh [V/m]: the charge per area over eps0.

        On a thin sheet it is the sum of both faces.
        """
        m = self.mesh
        area = 2 * pi * m.rho * m.speed * m.weight
        return np.asarray(charges[: m.size] / area / EPSILON_0)


def solve_charges(m: Mesh, rings: Rings = NO_RINGS, *, ground: bool = True, near_points: int = NEAR_POINTS) -> Charges:
    """Return the factored potential matrix of a set of bodies."""
    return Charges(m, rings, potential_matrix(m, rings, ground=ground, near_points=near_points))


def capacitance_matrix(charges: Charges, bodies: int) -> Real:
    """Return the capacitance matrix of the conductors 0 .. bodies - 1 [F], made symmetric."""
    held = (charges.body[:, None] == np.arange(bodies)).astype(float)
    c = held.T @ charges.of(held)
    return np.asarray((c + c.T) / 2)


def peak_field(charges: Charges, values: Real, body: int, *, per_panel: int = 33) -> tuple[float, float, float]:
    """Return the highest field on a body [V/m] and where: rho, z [m].

    The density is a polynomial on each panel and is looked at between the nodes too.
    """
    m, best = charges.mesh, (0.0, 0.0, 0.0)
    x, _ = gauss(m.order)
    grid = np.linspace(0.0, 1.0, per_panel)
    gap = grid[:, None] - x
    weights = barycentric(m.order) / np.where(gap == 0, 1e-300, gap)
    weights /= weights.sum(axis=1, keepdims=True)
    density = values[: m.size] / (2 * pi * m.rho * m.speed * m.weight * EPSILON_0)
    for panel in np.flatnonzero(m.body[:: m.order] == body):
        field = weights @ density[panel * m.order : (panel + 1) * m.order]
        k = int(np.abs(field).argmax())
        if abs(field[k]) > best[0]:
            rho, z, _ = points(m.shape[panel], m.begin[panel] + m.step[panel] * grid[k : k + 1])
            best = float(abs(field[k])), float(rho[0]), float(z[0])
    return best
