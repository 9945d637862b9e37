"""Where and at what volts a clean round electrode starts to spark: the streamer integral along the field's normal.

Near a smooth surface the field falls as E0 / ((1 + k1 s)(1 + k2 s)) with the principal curvatures k. A streamer starts
where the integral of the effective ionisation coefficient reaches a constant. The coefficient (1.6 (E - 2.165)^2 - 0.29
per mm, E in kV/mm at 1 bar) and the constant 9.15 are those of W. S. Zaengl and co-workers for air, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import optimize

STREAMER_CONSTANT = 9.15
#: One standard deviation of the inception of clean round bodies, relative: the law is within -5 and +9 % of that of
#: F. W. Peek for wires and spheres.
SPREAD = 0.05
_SLOPE, _CENTRE, _LOSS = 1.6, 2.165, 0.29  # 1/mm per (kV/mm)^2, kV/mm, 1/mm
_POINTS = np.polynomial.legendre.leggauss(48)


@dataclass(frozen=True)
class Inception:
    """Field on the surface at which a streamer starts [V/m], and its 95 % band for a clean surface."""

    field: float
    low: float
    high: float


def ionisation(field: np.ndarray, density: float = 1.0) -> np.ndarray:
    """Return the effective ionisation coefficient [1/m] of air at a field [V/m]; negative where electrons are lost."""
    e = field / 1e6 / density
    return density * 1e3 * np.where(e > _CENTRE, _SLOPE * (e - _CENTRE) ** 2 - _LOSS, -_LOSS)


def inception_field(curvature: tuple[float, float], density: float = 1.0) -> Inception:
    """Return the field at which a surface with these principal curvatures [1/m] starts to spark.

    ``density`` is the air's, relative to 1 bar and 20 degC.

    Raises
    ------
    ValueError
        For a surface curved inwards, or a density that is not positive.
    """
    k1, k2 = curvature
    if k1 < 0 or k2 < 0 or k1 + k2 <= 0 or density <= 0:
        raise ValueError("curvatures must not be negative, not both zero, and the density positive")

    def surplus(field: float) -> float:
        return _integral(field, k1, k2, density) - STREAMER_CONSTANT

    low = density * (_CENTRE + (_LOSS / _SLOPE) ** 0.5) * 1e6 * (1 + 1e-9)
    high = 2 * low
    while surplus(high) < 0:
        high *= 2
    found = float(optimize.brentq(surplus, low, high, rtol=1e-10))
    return Inception(found, found * (1 - 1.96 * SPREAD), found * (1 + 1.96 * SPREAD))


def _integral(field: float, k1: float, k2: float, density: float) -> float:
    """Return the integral of the coefficient from the surface to where it ends."""
    critical = density * (_CENTRE + (_LOSS / _SLOPE) ** 0.5) * 1e6
    # (1 + k1 s)(1 + k2 s) = field / critical
    b, c = k1 + k2, 1 - field / critical
    reach = -c / b if k1 * k2 == 0 else (-b + np.sqrt(b * b - 4 * k1 * k2 * c)) / (2 * k1 * k2)
    x, w = _POINTS
    s = reach * (x + 1) / 2
    along = field / ((1 + k1 * s) * (1 + k2 * s))
    return float(reach / 2 * (w @ ionisation(along, density)))
