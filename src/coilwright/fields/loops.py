"""Coaxial circular loops: mutual inductance without cancellation, the self term of a round-wire ring, and the field of
a loop on points.
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from coilwright.model.constants import MU_0

Real = NDArray[np.float64]

#: Steps of the mean after which its square no longer changes in double precision, for any pair of loops.
_ROUNDS = 6


def mutual_inductance(a: ArrayLike, b: ArrayLike, distance: ArrayLike) -> Real:
    r"""Return the mutual inductance of coaxial circular filaments.

    Parameters
    ----------
    a, b, distance
        Radii, positive, and axial distance of the planes, of either sign, shape (...), broadcast [m].

    Returns
    -------
    ndarray, shape (...), [H]
        Infinite where two filaments coincide: a filament has no self-inductance.

    Raises
    ------
    ValueError
        If a radius is not positive.

    Notes
    -----
    Maxwell's formula (Treatise, 1873, art. 701) takes the difference of two elliptic integrals, which loses every digit
    for small or far loops. Here that difference is summed: with the arithmetic-geometric mean of
    r1 = sqrt((a + b)^2 + d^2) and r2 = sqrt((a - b)^2 + d^2), M = mu_0 pi S / 2 A with S the sum of 2^n c_n^2, all of
    one sign (the sum: Abramowitz and Stegun 17.6.4, from memory).

    Examples
    --------
    >>> print(f"{float(mutual_inductance(0.25, 0.2, 0.1)):.6e} H")
    2.487874e-07 H
    """
    a, b, d = np.asarray(a, float), np.asarray(b, float), np.asarray(distance, float)
    if not ((a > 0).all() and (b > 0).all()):
        raise ValueError("radii of loops must be positive")
    outer, inner = np.hypot(a + b, d), np.hypot(a - b, d)
    mean, root = (outer + inner) / 2, np.sqrt(outer * inner)
    c = a * b / mean
    total, weight = c * c, 2.0
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(_ROUNDS):
            following = (mean + root) / 2
            root = np.sqrt(mean * root)
            c = c * c / (4 * following)
            mean = following
            total = total + weight * c * c
            weight *= 2
        return np.asarray(np.where(inner > 0, MU_0 * pi / 2 * total / mean, np.inf))


def internal_share(radius: ArrayLike, skin_depth: ArrayLike) -> Real:
    """Return the internal inductance of a round wire over its value with a uniform current (mu_0 / 8 pi per metre).

    ``radius`` and ``skin_depth`` in m, shape (...). One for a skin far deeper than the wire, zero for a thin one.
    Exact (Bessel functions; S. Ramo, J. R. Whinnery, T. Van Duzer, Fields and Waves in Communication Electronics, from
    memory).
    """
    x = np.asarray(radius, float) / np.asarray(skin_depth, float)
    with np.errstate(invalid="ignore", divide="ignore"):
        ka = (1 - 1j) * x
        ratio = special.jve(0, ka) / special.jve(1, ka)  # the scale factors of both cancel
        share = 4 * np.imag(ka * ratio / 2) / x**2
    return np.asarray(np.where(x < 1e-3, 1.0, share), dtype=np.float64)


def ring_self_inductance(radius: ArrayLike, wire_radius: ArrayLike, internal: ArrayLike = 1.0) -> Real:
    """Return the self-inductance of a ring of round wire [H].

    ``internal`` is the share of the internal inductance that is left: 1 for a uniform current, 0 for one on the
    surface (see `internal_share`).

    L = mu_0 R [(1 + e^2/8) ln(8/e) - 2 + y/4 + e^2/24], e = wire radius over R: Rayleigh and Niven 1881 for y = 1, as
    given by Rosa and Grover, NBS Sci. Paper 169 (1916), from memory; within 2e-7 for e up to 0.1.
    """
    big = np.asarray(radius, float)
    e = np.asarray(wire_radius, float) / big
    if not ((e > 0) & (e < 1)).all():
        raise ValueError("wire radius must lie between zero and the radius of the ring")
    y = np.asarray(internal, float)
    return np.asarray(MU_0 * big * ((1 + e**2 / 8) * np.log(8 / e) - 2 + y / 4 + e**2 / 24))


def loop_field(radius: ArrayLike, rho: ArrayLike, axial: ArrayLike) -> tuple[Real, Real]:
    """Return radial and axial flux density per ampere of a loop at points of radius ``rho`` and height ``axial`` above
    its plane [T/A].

    W. R. Smythe, Static and Dynamic Electricity (1939), from memory; on the axis the limit is taken.
    """
    a, r, z = np.broadcast_arrays(np.asarray(radius, float), np.asarray(rho, float), np.asarray(axial, float))
    near = (a - r) ** 2 + z**2
    far = (a + r) ** 2 + z**2
    rest = near / far
    k, e = special.ellipkm1(rest), special.ellipe(1 - rest)
    front = MU_0 / (2 * pi * np.sqrt(far))
    bz = front * (k + (a**2 - r**2 - z**2) / near * e)
    safe = np.where(r > 0, r, 1.0)
    br = np.where(r > 1e-9 * a, front * z / safe * (-k + (a**2 + r**2 + z**2) / near * e), 0.0)
    return np.asarray(br), np.asarray(bz)
