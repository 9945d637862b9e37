"""Capacitance from turn to turn of a winding, which a smooth sheet of charge leaves out.

Along a winding the potential rises from turn to turn. A smooth sheet takes that field as it is; wires, each at one
potential, squeeze it into the gaps. The energy that this adds per turn is C dV^2 / 2 with C = eps 2 pi R share.
"""

from __future__ import annotations

from functools import lru_cache
from math import comb, pi

import numpy as np
from numpy.typing import NDArray
from scipy import special

from coilwright.model.constants import EPSILON_0

_ORDERS = 80


def grating_share(ratio: float) -> float:
    """Return the capacitance per gap and length of a row of wires over eps, beyond that of a smooth sheet.

    ``ratio`` is wire diameter over pitch. The wires are lines of multipoles in a field along the row; only odd orders
    answer.

    Raises
    ------
    ValueError
        If the wires touch or have no thickness.
    """
    if not 0 < ratio < 1:
        raise ValueError("wire diameter over pitch must lie between 0 and 1")
    half = ratio / 2
    both, factors = _lattice()
    # f_l = s_l - sum S_lm f_m, amplitudes counted as f_m a^m; a perfect conductor answers with -1
    sums = -factors * half**both
    drive = np.zeros(len(both))
    drive[0] = half
    first = np.linalg.solve(np.eye(len(both)) + sums, drive)[0]
    return float(2 * pi * half * first)


@lru_cache(maxsize=1)
def _lattice() -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return l + m and what a row of unit multipoles m makes of order l at one of its wires, odd orders."""
    m = np.arange(1, _ORDERS + 1, 2)
    both = m[:, None] + m[None, :]
    binomial = np.array([[comb(int(i + j - 1), int(i)) for j in m] for i in m], dtype=float)
    return both, binomial * 2 * special.zeta(both, 1.0)


def turn_capacitance(radius: float, ratio: float, permittivity: float = 1.0) -> float:
    """Return what a gap between two turns of this radius [m] adds [F]."""
    return permittivity * EPSILON_0 * 2 * pi * radius * grating_share(ratio)
