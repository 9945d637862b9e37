"""Inductance of windings as sums over their turns: whole, to each tap, and between two windings."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg

from coilwright.fields.loops import Real, mutual_inductance, ring_self_inductance
from coilwright.fields.turns import Turns

#: Nodes that stand for a dense winding seen from further than two pitches: 32 leave 2.4e-6 of the mutual inductance.
NODES = 32


def offsets(turns: Turns, internal: float = 1.0) -> Real:
    """Return the inductance of a turn with itself and with each further one of a uniform winding, shape (n,) [H]."""
    n = turns.radius.size
    out = np.empty(n)
    out[0] = float(ring_self_inductance(turns.radius[0], turns.wire_radius, internal))
    steps = np.abs(turns.height[1:] - turns.height[0])
    out[1:] = mutual_inductance(turns.radius[0], turns.radius[0], steps) if n > 1 else 0.0
    return out


def turn_matrix(turns: Turns, internal: float = 1.0) -> Real:
    """Return the inductance of every turn with every other, shape (n, n) [H], whole turns each.

    The last turn's weight is not in it: multiply by ``weight`` from both sides.
    """
    if turns.is_uniform:
        return np.asarray(linalg.toeplitz(offsets(turns, internal)))
    r, z = turns.radius, turns.height
    m = mutual_inductance(r[:, None], r[None, :], z[:, None] - z[None, :])
    np.fill_diagonal(m, ring_self_inductance(r, turns.wire_radius, internal))
    return m


def self_inductance(turns: Turns, internal: float = 1.0) -> float:
    """Return the inductance of the whole winding [H]. ``internal``: see `ring_self_inductance`.

    A uniform winding needs no matrix: N L0 + 2 sum (N - k) M(k pitch).
    """
    if turns.is_uniform:
        return from_offsets(offsets(turns, internal))
    return float(turns.weight @ turn_matrix(turns, internal) @ turns.weight)


def from_offsets(row: Real) -> float:
    """Return the inductance [H] of a uniform winding from the inductance of a turn with itself and each further one."""
    n = row.size
    return float(n * row[0] + 2 * (np.arange(n - 1, 0, -1) * row[1:]).sum())


def tap_inductances(turns: Turns, taps: ArrayLike, internal: float = 1.0) -> Real:
    """Return the inductance of the winding up to each tap, counted in turns from its first one, shape (t,) [H].

    A fraction of a turn blends the flux of the neighbouring whole ones: its ring counts for its part.
    """
    weights = tap_weights(turns, taps)
    return np.asarray(np.einsum("ti,ij,tj->t", weights, turn_matrix(turns, internal), weights))


def tap_weights(turns: Turns, taps: ArrayLike) -> Real:
    """Return how much of each turn lies before each tap, shape (t, n).

    Raises
    ------
    ValueError
        For a tap outside the winding.
    """
    t = np.asarray(taps, float)
    if t.size and not ((t >= 0).all() and (t <= turns.count + 1e-9).all()):
        raise ValueError(f"taps must lie between 0 and {turns.count:g} turns")
    before = np.concatenate([[0.0], np.cumsum(turns.weight)[:-1]])
    return np.asarray(np.clip(t[:, None] - before, 0.0, turns.weight))


def mutual_between(one: Turns, other: Turns) -> float:
    """Return the mutual inductance of two windings, every turn with every turn [H]."""
    return float(one.weight @ fluxes(other, one))


def fluxes(source: Turns, target: Turns) -> Real:
    """Return the flux that one ampere in the source sends through each whole turn of the target, shape (n,) [H].

    A long uniform source seen from further than two pitches is taken at `NODES` Gauss-Legendre places along it.
    """
    radius, height, weight = _seen(source, target)
    m = mutual_inductance(target.radius[:, None], radius[None, :], target.height[:, None] - height[None, :])
    return np.asarray(m @ weight)


def _seen(source: Turns, target: Turns) -> tuple[Real, Real, Real]:
    if not source.is_uniform or source.radius.size <= 2 * NODES:
        return source.radius, source.height, source.weight
    pitch = float(abs(source.height[1] - source.height[0]))
    low, high = source.height.min() - pitch / 2, source.height.max() + pitch / 2
    beside = np.maximum(np.maximum(low - target.height, target.height - high), 0.0)
    nearest = float(np.hypot(np.abs(target.radius - source.radius[0]), beside).min())
    if nearest < max(2 * pitch, (high - low) / 10):
        return source.radius, source.height, source.weight
    x, w = np.polynomial.legendre.leggauss(NODES)
    place = (low + high) / 2 + (high - low) / 2 * x
    return np.full(NODES, source.radius[0]), place, source.radius.size * w / 2


def coupling(mutual: float, first: float, second: float) -> float:
    """Return the coupling coefficient of two inductances [H]."""
    return float(mutual / np.sqrt(first * second))


__all__ = [
    "NODES",
    "coupling",
    "fluxes",
    "from_offsets",
    "mutual_between",
    "offsets",
    "self_inductance",
    "tap_inductances",
    "tap_weights",
    "turn_matrix",
]
