"""One iron element: magnetising current as an odd power law of flux linkage.

    i(lam) = lam / L0 + Ik (lam / lk)^n        n odd

Its shape between n = 5 and 15 spans butt-jointed and interleaved cores well enough for terminal quantities;
hysteresis and eddy currents are outside it (core loss is a resistance in parallel).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb, pi, prod, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class Iron:
    """An iron path on some winding: ``inductance`` L0 [H], ``knee_flux`` lk [Wb turns peak], ``knee_current`` Ik [A],
    odd ``exponent`` n.
    """

    inductance: float
    knee_flux: float
    knee_current: float
    exponent: int = 9

    def current(self, flux_linkage: ArrayLike) -> NDArray[np.float64]:
        """Return the magnetising current [A] at the given flux linkage [Wb turns], elementwise."""
        lam = np.asarray(flux_linkage, dtype=float)
        return lam / self.inductance + self.knee_current * (lam / self.knee_flux) ** self.exponent

    def scaled(self, impedance: float) -> Iron:
        """Return the iron with every current divided by ``impedance``: the same flux, impedance times as large."""
        return Iron(self.inductance * impedance, self.knee_flux, self.knee_current / impedance, self.exponent)


def mean_even_power(k: int) -> float:
    """Return the mean of sin^k over a period for even k: C(k, k/2) / 2^k.

    >>> mean_even_power(2)
    0.5
    """
    return comb(k, k // 2) / 2.0**k


def fundamental_peak(iron: Iron, flux_peak: float) -> float:
    """Return the peak of the fundamental of the current [A] for a sine flux linkage of that peak [Wb turns]."""
    b = iron.knee_current * (flux_peak / iron.knee_flux) ** iron.exponent
    return flux_peak / iron.inductance + 2 * mean_even_power(iron.exponent + 1) * b


def true_rms(iron: Iron, flux_peak: float) -> float:
    """Return the true rms of the current [A] for a sine flux linkage of that peak [Wb turns]."""
    a = flux_peak / iron.inductance
    b = iron.knee_current * (flux_peak / iron.knee_flux) ** iron.exponent
    n = iron.exponent
    return sqrt(a * a / 2 + 2 * a * b * mean_even_power(n + 1) + b * b * mean_even_power(2 * n))


def average_meter_rms(iron: Iron, flux_peak: float) -> float:
    """Return what an average-responding meter (scaled for a sine) shows of that current [A]."""
    a = flux_peak / iron.inductance
    b = iron.knee_current * (flux_peak / iron.knee_flux) ** iron.exponent
    mean_odd = 2 / pi * prod((j - 1) / j for j in range(3, iron.exponent + 1, 2))
    return pi / (2 * sqrt(2)) * (2 * a / pi + b * mean_odd)
