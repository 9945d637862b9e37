"""Breakdown of a uniform field in air, and what it tells of ionisation: the criterion that every other form rests on.

Two published laws of the same form, a d + b sqrt(d), differ by 3 to 5 %. Plates take Bruce's, the lower one. The
criterion for curved electrodes is calibrated on the other one, given by Kuffel, Zaengl and Kuffel, and on nothing else:
no sphere, rod or wire was used. Which of the two laws to take is the one choice; with Bruce's every sphere comes out
3 to 4 % lower.

Criterion: from an electrode through the region where ionisation exceeds attachment, of length L, the integral of the
effective ionisation coefficient reaches K(L), the value that the same coefficient has in a uniform gap of that length
at its breakdown (after A. Pedersen, IEEE Trans. PAS-86 (1967) 200, from memory). Air of density ratio delta behaves as
air of the reference density with every length multiplied by delta (similarity).
"""

from __future__ import annotations

from math import exp, log, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from coilwright.discharge.air import REFERENCE_PRESSURE
from coilwright.discharge.paschen import MINIMUM, MINIMUM_PRODUCT, paschen_breakdown
from coilwright.errors import ModelRangeError

Array = NDArray[np.float64]
Lines = tuple[tuple[Array, Array], ...]
#: V/m and V/sqrt(m) of a uniform field at the reference density: 24.36 kV/(cm bar), (K/C) = 45.16 kV2/(cm bar) of
#: E. Kuffel, W. S. Zaengl, J. Kuffel, High Voltage Engineering Fundamentals, 2nd ed., ch. 5, from memory; 1.01325 bar.
CRITICAL_FIELD: Final = 24.36e5 * 1.01325
ROOT_TERM: Final = sqrt(45.16 * 1.01325) * 1e4
#: Field that carries a discharge towards the anode through air in which avalanches no longer grow [V/m]: 10 to 12.5
#: kV/cm for negative streamers (Y. P. Raizer, Gas Discharge Physics (1991) ch. 12, from memory).
CROSSING_FIELD: Final = 12e5
#: m at the reference density: the minimum of Paschen's curve, left of which nothing is said; up to 20 um the fit of
#: Husain and Nema is not monotone, and a straight line over the logarithm takes its place.
SHORTEST: Final = MINIMUM_PRODUCT / REFERENCE_PRESSURE
_FIT_FROM: Final = 20e-6 * REFERENCE_PRESSURE
#: Pa m between which Paschen's measured curve hands over to the two-term laws (20 to 40 Torr cm, 0.26 to 0.53 mm at one
#: atmosphere): below the two-term form it runs on too high, above it Husain and Nema are no better than Bruce.
HANDOVER = (26.7, 53.3)


def uniform_breakdown(spacing: float) -> float:
    """Return the breakdown of a uniform field in air at 20 degC and 101.3 kPa [V peak] for a spacing in m.

    V = 24.22 d + 6.08 sqrt(d) kV, d in cm: F. M. Bruce, J. IEE 94 (1947) 138, as given in Kuffel, Zaengl and
    Kuffel, High Voltage Engineering Fundamentals, from memory. Thin air: multiply the spacing by its density ratio.

    >>> round(uniform_breakdown(0.01))
    30300
    """
    d = spacing * 100
    return (24.22 * d + 6.08 * sqrt(d)) * 1e3


def upper_uniform_breakdown(spacing: float) -> float:
    """Return the same by the higher of the two laws, that of Kuffel, Zaengl and Kuffel [V peak]."""
    return CRITICAL_FIELD * spacing + ROOT_TERM * sqrt(spacing)


def short_factor(spacing: float) -> float:
    """Return the factor that brings the two-term law of curved electrodes down to Paschen's curve where the gap is
    short, 1 from 0.53 mm up; ``spacing`` [m] at the reference density.

    Raises
    ------
    ModelRangeError
        Below 7.5 um, left of the minimum of Paschen's curve, where surfaces and not the air decide.
    """
    return _factor(spacing, upper_uniform_breakdown(spacing))


def plate_breakdown(spacing: float) -> float:
    """Return the breakdown of wide plates at the reference density [V peak]: Bruce's law, below half a millimetre
    Paschen's curve. Errors as ``short_factor``.
    """
    law = uniform_breakdown(spacing)
    return max(law * _factor(spacing, law), MINIMUM)


def _factor(spacing: float, law: float) -> float:
    product = spacing * REFERENCE_PRESSURE
    if spacing < SHORTEST:
        raise ModelRangeError(
            f"a spacing of {spacing * 1e6:.2g} um (at the reference density) is below {SHORTEST * 1e6:.1f} um, the "
            "minimum of Paschen's curve: surfaces decide there, and no law of the air holds"
        )
    low, high = HANDOVER
    if product >= high:
        return 1.0
    share = 1.0 if product <= low else (high - product) / (high - low)
    return 1 + share * (_measured(product) / law - 1)


def _measured(product: float) -> float:
    """Return Paschen's curve from its minimum up, rising throughout [V]; ``product`` in Pa m."""
    if product >= _FIT_FROM:
        return paschen_breakdown(product)
    share = log(product / MINIMUM_PRODUCT) / log(_FIT_FROM / MINIMUM_PRODUCT)
    return MINIMUM + share * (paschen_breakdown(_FIT_FROM) - MINIMUM)


def ionisation(field: Array) -> Array:
    """Return the effective ionisation coefficient of air [1/m] in a field [V/m] at the reference density.

    alpha / p = 4.7786 exp(-221 p / E) up to 60 V/(cm Torr), 9.682 exp(-264.2 p / E) above, less attachment, 0.01298 -
    0.541e-3 E/p + 8.7e-6 (E/p)^2, in 1/(cm Torr): M. P. Sarma and W. Janischewskyj, Proc. IEE 116 (1969) 161, from
    memory. Negative where attachment prevails; attachment is held at its value at 60 V/(cm Torr) beyond, where its
    parabola has left its data.
    """
    x = np.maximum(field / 76000.0, 1.0)  # V/(cm Torr) at 760 Torr
    inverse = 1 / x
    gain = np.where(x < 60, 4.7786 * np.exp(-221 * inverse), 9.682 * np.exp(-264.2 * inverse))
    y = np.minimum(x, 60.0)
    return (gain - 0.01298 + (0.541e-3 - 8.7e-6 * y) * y) * 76000.0


def streamer_threshold(length: float) -> float:
    """Return K, the integral at which an active region of ``length`` [m] at the reference density breaks down.

    It is the ionisation coefficient at the breakdown field of a uniform gap that long, times its length: 8.5 at 1 mm,
    13 at 1 cm.
    """
    x = (CRITICAL_FIELD + ROOT_TERM / sqrt(length)) / 76000.0
    gain = 4.7786 * exp(-221 / x) if x < 60 else 9.682 * exp(-264.2 / x)
    y = min(x, 60.0)
    return (gain - 0.01298 + (0.541e-3 - 8.7e-6 * y) * y) * 76000.0 * length


def inception(lines: Lines) -> float:
    """Return the voltage [V] at which the criterion is first met on one of the lines across a gap.

    Parameters
    ----------
    lines : pairs of ndarray, shape (n,)
        Places from one electrode (0) to the other [m], rising, at the reference density, and the field per volt there
        [1/m].

    Raises
    ------
    ModelRangeError
        If no voltage meets the criterion.
    """
    low = 1.001 * CRITICAL_FIELD / max(float(field.max()) for _, field in lines)
    high = max(1.02 * upper_uniform_breakdown(float(lines[0][0][-1])), 1.05 * low)
    for _ in range(30):
        if excess(lines, high) >= 0:
            return float(brentq(lambda volts: excess(lines, volts), low, high, xtol=1e-4, rtol=1e-8))
        low, high = high, 1.5 * high
    raise ModelRangeError("no voltage meets the streamer criterion in this gap")


def excess(lines: Lines, volts: float) -> float:
    """Return by how much a voltage [V] meets the criterion on the best of the lines, as a share of K; 0 just does.

    Three courses are tried on each line and the best counts: the active region at either electrode by itself, and both
    together where the middle between them is still strong enough to be crossed.
    """
    return max(_excess(place, per_volt, volts) for place, per_volt in lines)


def _excess(x: Array, per_volt: Array, volts: float) -> float:
    weight = np.empty_like(x)  # trapezoidal rule
    weight[0], weight[-1], weight[1:-1] = (x[1] - x[0]) / 2, (x[-1] - x[-2]) / 2, (x[2:] - x[:-2]) / 2
    field = volts * per_volt
    gain = ionisation(field)
    active = field >= CRITICAL_FIELD
    if active.all():
        return float(weight @ gain) / streamer_threshold(float(x[-1])) - 1
    dead = np.flatnonzero(~active)
    first, last = int(dead[0]), int(dead[-1])
    best, whole, total = -1.0, 0.0, 0.0
    if first > 0:
        part = (field[first - 1] - CRITICAL_FIELD) / (field[first - 1] - field[first]) * (x[first] - x[first - 1])
        length = float(x[first - 1] + part)
        slack = (part - (x[first] - x[first - 1])) / 2 * gain[first - 1]
        here = float(weight[:first] @ gain[:first] + slack)
        best = max(best, here / streamer_threshold(max(length, 1e-9)) - 1)
        whole, total = length, here
    if last < x.size - 1:
        part = (field[last + 1] - CRITICAL_FIELD) / (field[last + 1] - field[last]) * (x[last + 1] - x[last])
        length = float(x[-1] - x[last + 1] + part)
        slack = (part - (x[last + 1] - x[last])) / 2 * gain[last + 1]
        here = float(weight[last + 1 :] @ gain[last + 1 :] + slack)
        best = max(best, here / streamer_threshold(max(length, 1e-9)) - 1)
        whole, total = whole + length, total + here
    if total > 0 and float(field.min()) >= CROSSING_FIELD:
        best = max(best, total / streamer_threshold(max(whole, 1e-9)) - 1)
    return best


__all__ = [
    "CRITICAL_FIELD",
    "SHORTEST",
    "inception",
    "ionisation",
    "excess",
    "plate_breakdown",
    "short_factor",
    "streamer_threshold",
    "uniform_breakdown",
    "upper_uniform_breakdown",
]
