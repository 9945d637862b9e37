"""Enamelled round copper wire: what stands over the bare diameter, mass and length."""

from __future__ import annotations

from math import log, pi

import numpy as np

#: Bare diameter, least and most overall diameter of grades 1 and 2 [mm]: IEC 60317-0-1 table 1, seen up to 0.5 mm in
#: the data set of a general magnetics library, from memory above (most of both grades; the least is bare plus half
#: of what the most adds).
ENAMEL = (
    (0.100, 0.108, 0.117, 0.118, 0.125),
    (0.125, 0.135, 0.144, 0.145, 0.154),
    (0.160, 0.172, 0.182, 0.183, 0.194),
    (0.200, 0.214, 0.226, 0.227, 0.239),
    (0.250, 0.267, 0.281, 0.282, 0.297),
    (0.315, 0.334, 0.349, 0.350, 0.367),
    (0.400, 0.421, 0.439, 0.440, 0.459),
    (0.500, 0.524, 0.544, 0.545, 0.566),
    (0.630, 0.657, 0.684, 0.684, 0.706),
    (0.800, 0.831, 0.861, 0.861, 0.885),
    (1.000, 1.034, 1.068, 1.068, 1.094),
)
#: Density of copper [kg/m3].
COPPER_DENSITY = 8890.0


def overall_diameter(bare: float, grade: int = 1) -> tuple[float, float, float]:
    """Return usual, least and most overall diameter [m] of enamelled wire of a bare diameter [m].

    What the enamel adds is taken between the diameters of the table in proportion to their logarithms, and beyond its
    ends as at them. The usual value is the middle of the grade.

    Raises
    ------
    ValueError
        For another grade than 1 or 2, or a diameter that is not positive.
    """
    if grade not in (1, 2) or bare <= 0:
        raise ValueError("enamel is of grade 1 or 2, on a positive diameter")
    table = np.array(ENAMEL)
    place = log(bare * 1e3)
    added = [
        float(np.interp(place, np.log(table[:, 0]), table[:, k] - table[:, 0])) * 1e-3
        for k in ((1, 2) if grade == 1 else (3, 4))
    ]
    return bare + sum(added) / 2, bare + added[0], bare + added[1]


def wire_mass(bare: float, length: float) -> float:
    """Return the mass of copper of so much wire [kg]."""
    return COPPER_DENSITY * pi / 4 * bare**2 * length
