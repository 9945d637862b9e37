"""Rods end to end, and tubes side by side: field, and the voltage at which the gap breaks down.

Rod ends are solved by ring charges inside the metal (charge simulation); tubes have the exact field of two parallel
cylinders. Both use the criterion of ``uniform``. Where corona comes first (a gap much longer than the end is thick) a
spark must still cross, and does so no earlier than between needle points: that curve is the floor.
"""

from __future__ import annotations

from itertools import pairwise
from math import acosh, pi, sqrt

import numpy as np
from scipy.special import ellipe, ellipk

from coilwright.discharge.spheres import EARTHED_SHARE
from coilwright.discharge.uniform import Array, Lines
from coilwright.errors import ModelRangeError

#: Needle points, one earthed, 25 degC, 101.3 kPa: (V peak, spacing m), AIEE table in a seen reprint.
NEEDLE_GAP: tuple[tuple[float, float], ...] = (
    (0.0, 0.0),
    (5e3, 4.2e-3),
    (10e3, 8.5e-3),
    (15e3, 13e-3),
    (20e3, 17.5e-3),
    (25e3, 22e-3),
    (30e3, 26.9e-3),
    (35e3, 32e-3),
    (40e3, 38.1e-3),
    (45e3, 44.9e-3),
    (50e3, 52e-3),
    (60e3, 68.1e-3),
    (70e3, 88.1e-3),
    (80e3, 111e-3),
    (90e3, 133e-3),
    (100e3, 155e-3),
    (110e3, 177e-3),
    (120e3, 198e-3),
)
NEEDLE_DENSITY = 293.15 / 298.15  # of the table's 25 degC over the reference
#: Long rod gaps: V = 2 kV + 534 V/mm, 250 to 2500 mm, direct voltage, IEC 60052:2002 clause 6, from memory.
ROD_LAW = (2e3, 534e3)
ROD_LAW_FROM = 0.25
#: Rounding of a sawn end with its edge just broken, over the diameter (assumption: 0.16 mm on 8 mm).
SAWN_EDGE = 0.02
ROUND_END = 0.5
_FINE = 0.5 * (1 - np.cos(pi * np.arange(81) / 80))


def needle_spacing(peak: float) -> float:
    """Return the spacing [m] at which needle points spark over at ``peak`` [V], by straight lines between table rows,
    25 degC.
    """
    for (v0, d0), (v1, d1) in pairwise(NEEDLE_GAP):
        if v0 <= peak <= v1:
            return d0 + (d1 - d0) * (peak - v0) / (v1 - v0)
    raise ModelRangeError(f"{peak / 1e3:.0f} kV peak is outside the needle-gap table (0 to 120 kV)")


def needle_breakdown(spacing: float) -> float:
    """Return the voltage [V peak] at which needle points this far apart [m] spark over in air of the reference density.

    The needle table to 198 mm, the rod law from 250 mm, a straight line between. Spread 10 to 20 % with the humidity.

    Raises
    ------
    ModelRangeError
        Beyond 2.5 m.
    """
    if not 0 <= spacing <= 2.5:
        raise ModelRangeError(f"a rod gap of {spacing:g} m is outside 0 to 2.5 m")
    at = [d for _, d in NEEDLE_GAP]
    volts = [v / NEEDLE_DENSITY for v, _ in NEEDLE_GAP]
    law = ROD_LAW[0] + ROD_LAW[1] * max(spacing, ROD_LAW_FROM)
    return law if spacing >= ROD_LAW_FROM else float(np.interp(spacing, [*at, ROD_LAW_FROM], [*volts, law]))


# ---- tubes side by side ----------------------------------------------------------------------------------------------


def tube_field(spacing: float, diameter: float, place: Array) -> Array:
    """Return the field per volt [1/m] on the line of centres between two parallel cylinders, exact, ends left out.

    ``place`` [m] counts from one surface. Two line charges at +-sqrt(c^2/4 - a^2), potential difference
    2 ln((c/2 + b) / a) of them: W. R. Smythe, Static and Dynamic Electricity, section 4.14, from memory.
    """
    a, half = diameter / 2, (spacing + diameter) / 2
    b = sqrt(half**2 - a**2)
    z = np.abs(place - spacing / 2)
    return np.asarray(2 * b / ((b - z) * (b + z)) / (2 * acosh(half / a)))


def tube_lines(spacing: float, diameter: float) -> Lines:
    """Return places [m] and the field per volt [1/m] on the line of centres of two tubes side by side.

    The tubes' ends are taken as no worse than their middle: round them, or let them stand back.

    Raises
    ------
    ValueError
        If a length is not positive.
    """
    if not spacing > 0 or not diameter > 0:
        raise ValueError(f"spacing and diameter must be positive: got {spacing} m, {diameter} m")
    place = spacing * _FINE
    return ((place, tube_field(spacing, diameter, place)),)


# ---- rods end to end -------------------------------------------------------------------------------------------------


def rod_lines(spacing: float, diameter: float, *, edge: float = SAWN_EDGE, earthed: bool = True) -> Lines:
    """Return places [m] and the field per volt [1/m] on lines parallel to the axis, from rod to rod.

    ``edge`` is the rounding of the ends over the diameter, 0.02 as sawn with the edge just broken to 0.5 for a
    hemisphere. One line starts where the flat face ends, one in the middle of the rounding; for a hemisphere there is
    the axis alone.

    Raises
    ------
    ValueError
        If a length is not positive or ``edge`` is outside 0.02 to 0.5.
    """
    if not spacing > 0 or not diameter > 0:
        raise ValueError(f"spacing and diameter must be positive: got {spacing} m, {diameter} m")
    if not 0.02 <= edge <= 0.5:
        raise ValueError(f"rounding of a rod's end must lie between 0.02 and 0.5 of its diameter: got {edge:g}")
    s = spacing / diameter
    if s < 2e-3:
        return ((spacing * _FINE, np.full_like(_FINE, 1 / spacing)),)
    contour, rings = _rod(edge, s)
    radius, at = rings.T[0], rings.T[1] + s / 2  # the live rod stands at +z
    points = contour + np.array([0.0, s / 2])
    own, far = _ring_potential(points, radius, at), _ring_potential(points, radius, -at)
    ones = np.ones(len(points))
    apart = np.linalg.solve(own - far, ones)  # the rods at opposite potential
    alike = np.linalg.solve(own + far, ones)  # at the same one
    share = EARTHED_SHARE if earthed else 0.5
    here, there = 0.5 * apart + (0.5 - share) * alike, -0.5 * apart + (0.5 - share) * alike
    lines = []
    bent = edge * (1 - sqrt(0.5))
    for rho, depth in ((0.0, 0.0),) if edge >= ROUND_END else ((0.5 - edge, 0.0), (0.5 - bent, bent)):
        length = s + 2 * depth
        e_rho, e_z = _ring_field(rho, length * (_FINE - 0.5), radius, at)
        radial = e_rho @ here + (e_rho @ there)[::-1]
        axial = e_z @ here - (e_z @ there)[::-1]
        lines.append((length * diameter * _FINE, np.hypot(axial, radial)[::-1] / diameter))
    return tuple(lines)


def _rod(edge: float, spacing: float) -> tuple[Array, Array]:
    """Return contour points and ring charges (radius, distance behind the front) of one rod of unit diameter."""
    flat = 0.5 - edge
    arc = edge * pi / 2
    fine = min(edge * pi / 2 / 10, 0.05)
    # no finer than the gap asks for at a sawn end, no coarser than it at a round one
    fine = max(fine, 0.2 * min(spacing, 0.25)) if edge < ROUND_END else max(min(fine, 0.5 * spacing), 0.015)
    lengths: list[float] = []
    back = 0.0  # distance along the contour from the end of the arc: first over the face, then over the shank
    face = []
    step = fine
    while flat - back > 0:
        face.append(flat - back)
        step = min(1.25 * step, 0.06)
        back += step
    n_arc = max(round(arc / fine), 6)
    angles = (np.arange(n_arc) + 0.5) / n_arc * pi / 2
    at, step = fine / 2, arc / n_arc
    while at < 12.0:
        lengths.append(at)
        step *= 1.3
        at += step
    shank = np.array(lengths)
    points = [
        np.column_stack((np.array(face[::-1]), np.zeros(len(face)))),
        np.column_stack((flat + edge * np.sin(angles), edge * (1 - np.cos(angles)))),
        np.column_stack((np.full_like(shank, 0.5), edge + shank)),
    ]
    normals = [
        np.column_stack((np.zeros(len(face)), np.ones(len(face)))),
        np.column_stack((-np.sin(angles), np.cos(angles))),
        np.column_stack((-np.ones_like(shank), np.zeros_like(shank))),
    ]
    contour, inward = np.vstack(points), np.vstack(normals)
    gaps = np.linalg.norm(np.diff(contour, axis=0), axis=1)
    pitch = np.minimum(np.r_[gaps[:1], gaps], np.r_[gaps, gaps[-1:]])
    inset = np.minimum(1.2 * pitch, 0.3)
    rings = contour + inward * inset[:, np.newaxis]
    return contour, np.abs(rings)


def _ring_potential(points: Array, radius: Array, at: Array) -> Array:
    """Return the potential of unit ring charges at points (radius, height): shape (point, ring)."""
    rho, z = points[:, :1], points[:, 1:]
    reach = (rho + radius) ** 2 + (z - at) ** 2
    return np.asarray(2 / pi * ellipk(4 * rho * radius / reach) / np.sqrt(reach))


def _ring_field(rho: float, z: Array, radius: Array, at: Array) -> tuple[Array, Array]:
    """Return radial and axial field of unit ring charges at one radius: shape (place, ring) each."""
    dz = z[:, np.newaxis] - at
    far, near = (rho + radius) ** 2 + dz**2, (rho - radius) ** 2 + dz**2
    m = 4 * rho * radius / far
    e = ellipe(m)
    axial = 2 / pi * dz * e / (np.sqrt(far) * near)
    if rho == 0:
        return np.zeros_like(axial), axial
    radial = (ellipk(m) - (radius**2 - rho**2 + dz**2) / near * e) / (pi * rho * np.sqrt(far))
    return radial, axial


__all__ = [
    "NEEDLE_GAP",
    "ROUND_END",
    "SAWN_EDGE",
    "needle_breakdown",
    "needle_spacing",
    "rod_lines",
    "tube_lines",
    "tube_field",
]
