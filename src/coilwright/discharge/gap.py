"""Breakdown of a spark gap of any form, and the spacing that a voltage needs: the doors of this package.

All figures are peak volts of the first breakdown of a cold gap at mains frequency, of clean smooth electrodes in open
air. What a hot gap, a fast ring and series segments change is reckoned apart, each with its band.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, isfinite, log, sqrt
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded
from scipy.optimize import brentq

from coilwright.discharge.air import STANDARD_AIR, Air
from coilwright.discharge.paschen import MINIMUM
from coilwright.discharge.rods import needle_breakdown, rod_lines, tube_lines
from coilwright.discharge.spheres import sphere_lines
from coilwright.discharge.uniform import (
    CRITICAL_FIELD,
    ROOT_TERM,
    SHORTEST,
    Lines,
    excess,
    inception,
    plate_breakdown,
    short_factor,
    upper_uniform_breakdown,
)
from coilwright.errors import ModelRangeError

Form = Literal["sphere", "rod", "tube", "plate", "point"]
FORMS: tuple[str, ...] = get_args(Form)
#: One sigma of the firing volts from shot to shot, relative, clean and cold, mains frequency. Sphere: IEC 60052 asks
#: for less than 1 % in the laboratory (from memory), doubled for a home-made pair; rod: between the 3 % of IEC 60071-2
#: and the 8 % of rod-gap tables; the others assumed.
SIGMA: dict[str, float] = {"sphere": 0.02, "tube": 0.04, "rod": 0.05, "plate": 0.03, "point": 0.08}
#: The same of a hot, dusty, pitted gap (assumption, no published figure found).
SIGMA_HOT = 0.10
#: Half width of the law itself at 95 %, relative: IEC 60052 gives 3 % to half a diameter and about 5 % beyond.
LAW_SHARE: dict[str, float] = {"sphere": 0.03, "tube": 0.07, "rod": 0.10, "plate": 0.03, "point": 0.15}
#: Temperature of the gas in a gap that fires again and again [K]: middle, and the hottest taken (assumptions). Density
#: falls with it, and the volts by the law of this module.
HOT_GAS = (600.0, 1200.0)
#: Stray capacitance of one electrode to earth over that of one gap: middle, low, high (assumptions; a tube of 16 mm by
#: 50 mm at 0.7 mm has 4.7 pF to its neighbour and about 0.5 to 1 pF to earth, a rod of 8 mm about 1 pF to both).
STRAY_RATIO: dict[str, tuple[float, float, float]] = {
    "tube": (0.1, 0.03, 0.3),
    "plate": (0.1, 0.03, 0.3),
    "sphere": (0.4, 0.1, 1.0),
    "rod": (0.4, 0.1, 1.0),
    "point": (0.4, 0.1, 1.0),
}
#: Spark-over between spheres at 40 kHz over 60 Hz against spacing [m]: F. W. Peek, Dielectric Phenomena in High-Voltage
#: Engineering, quoted in a public posting of 1995, seen; two points, 5 %.
HIGH_FREQUENCY: tuple[tuple[float, float], ...] = ((1e-3, 0.737), (1e-2, 0.881))
LONGEST = 2.5  # m
#: Peak volts below which no spacing is named: the flat foot of Paschen's curve.
LEAST_PEAK = 1.01 * MINIMUM


@dataclass(frozen=True)
class Breakdown:
    """Peak volts at which a gap breaks down the first time: middle, 95 % band, one sigma from shot to shot (relative).

    ``limits`` are the limits of the law at this spacing, in words.
    """

    form: str
    diameter: float | None
    spacing: float
    peak: float
    low: float
    high: float
    sigma: float
    limits: tuple[str, ...] = ()


@dataclass(frozen=True)
class SpacingFor:
    """Spacing [m] at which a gap breaks down at ``peak`` [V], and the band in which the true one lies (95 %)."""

    peak: float
    spacing: float
    low: float
    high: float
    breakdown: Breakdown


def breakdown_peak(
    form: str, diameter: float | None, spacing: float, air: Air = STANDARD_AIR, *, earthed: bool = True
) -> Breakdown:
    """Return the breakdown of one gap.

    Parameters
    ----------
    form : str
        sphere | rod (sawn, end to end) | tube (side by side) | plate (wide, edges rounded) | point.
    diameter : float or None, [m]
        Of either electrode; not used for plate and point.
    spacing : float, [m]
        Between the surfaces at the nearest place.
    air : Air
        Density ratio and humidity at the gap.
    earthed : bool
        Whether one electrode is at earth; else they stand at +V/2 and -V/2.

    Raises
    ------
    ValueError
        If the form is unknown, a length is not positive, or a needed diameter is missing.
    ModelRangeError
        Below 7.5 um (at the reference density) or above 2.5 m.
    """
    _check(form, diameter, spacing)
    peak = _peak(form, diameter, spacing, air, earthed=earthed)
    sigma = SIGMA[form]
    law = LAW_SHARE[form]
    ratio = 0.0 if diameter is None or form in {"plate", "point"} else spacing / diameter
    if form == "sphere" and ratio > 0.5:
        law = 0.05 if ratio <= 1 else 0.12
    share = hypot(law, 1.96 * sigma)
    low, high = peak * (1 - share), peak * (1 + share)
    if form == "plate":
        s = spacing * air.density_ratio
        upper = upper_uniform_breakdown(s) * short_factor(s) * air.humidity_factor
        high = max(high, upper * (1 + 1.96 * sigma))
    if form == "rod":
        high = max(high, _peak("sphere", diameter, spacing, air, earthed=earthed) * (1 + 1.96 * sigma))
    low = max(low, min(MINIMUM, peak))
    return Breakdown(form, diameter, spacing, peak, low, high, sigma, _limits(form, ratio, spacing, air))


def spacing_for(
    form: str, diameter: float | None, peak: float, air: Air = STANDARD_AIR, *, earthed: bool = True
) -> SpacingFor:
    """Return the spacing at which a gap breaks down at ``peak`` [V]: the inverse of ``breakdown_peak``.

    Raises
    ------
    ValueError
        As ``breakdown_peak``, or if the voltage is not positive.
    ModelRangeError
        Below 330 V, next to the least at which air fires at all, and above what 2.5 m hold.
    """
    _check(form, diameter, 1.0)
    if not isfinite(peak) or not peak > 0:
        raise ValueError(f"voltage must be a number above 0: got {peak} V")
    if peak < LEAST_PEAK:
        raise ModelRangeError(
            f"{peak:.0f} V peak: no gap in air fires below {MINIMUM:.0f} V at any spacing (Paschen's minimum), and "
            "next to it surfaces decide"
        )
    spacing = _solve(form, diameter, peak, air, earthed=earthed)
    made = breakdown_peak(form, diameter, spacing, air, earthed=earthed)
    ahead = _peak(form, diameter, min(1.05 * spacing, LONGEST), air, earthed=earthed)
    # spacing grows with volts to this power; never steeper than a quarter of a straight line
    power = min(log(1.05) / max(log(ahead / made.peak), 1e-3), 4.0)
    return SpacingFor(
        peak, spacing, spacing * (made.high / made.peak) ** -power, spacing * (made.low / made.peak) ** -power, made
    )


def _solve(form: str, diameter: float | None, peak: float, air: Air, *, earthed: bool) -> float:
    """Return the spacing: the smaller of those by the criterion and by the needle curve, as the larger volts count."""
    d = air.density_ratio
    floor = _root(lambda spacing: d * needle_breakdown(spacing) - peak, 1e-6, LONGEST, peak)
    if form == "point":
        return floor
    wanted = peak / air.humidity_factor
    root = (-ROOT_TERM + sqrt(ROOT_TERM**2 + 4 * CRITICAL_FIELD * wanted)) / (2 * CRITICAL_FIELD)
    # no form needs less than a uniform field by the higher law, the shortest gaps apart
    low = max(0.9 * root**2 / d, SHORTEST / d)

    def short(spacing: float) -> float:
        s = spacing * d
        if form == "plate" or diameter is None:
            return plate_breakdown(s) - wanted
        return -excess(_lines(form, s, diameter * d, earthed=earthed), wanted / short_factor(s))

    if short(low) > 0:
        raise ModelRangeError(f"{peak:.0f} V peak needs less than 7.5 um of air: no law holds there")
    high = min(1.3 * low, LONGEST)
    while short(high) < 0:
        if form != "plate" and high > floor:
            return floor
        low, high = high, 1.5 * high
    found = _root(short, low, high, peak)
    return found if form == "plate" else min(found, floor)


def _root(miss: Callable[[float], float], low: float, high: float, peak: float) -> float:
    if miss(high) < 0:
        raise ModelRangeError(f"{peak / 1e3:.0f} kV peak needs more than the {LONGEST:g} m of the laws for gaps")
    return float(brentq(miss, low, high, xtol=1e-10, rtol=1e-7))


def _peak(form: str, diameter: float | None, spacing: float, air: Air, *, earthed: bool) -> float:
    """Return the middle figure alone. Density acts on every length (similarity), on the needle curve directly."""
    d = air.density_ratio
    s = spacing * d
    if form == "plate":
        return plate_breakdown(s) * air.humidity_factor
    floor = max(d * needle_breakdown(spacing), MINIMUM)
    if form == "point" or diameter is None:
        return floor
    volts = inception(_lines(form, s, diameter * d, earthed=earthed)) * short_factor(s)
    return max(volts * air.humidity_factor, floor)


def _lines(form: str, spacing: float, diameter: float, *, earthed: bool) -> Lines:
    if form == "sphere":
        return sphere_lines(spacing, diameter, earthed=earthed)
    if form == "tube":
        return tube_lines(spacing, diameter)
    return rod_lines(spacing, diameter, earthed=earthed)


def _check(form: str, diameter: float | None, spacing: float) -> None:
    if form not in FORMS:
        raise ValueError(f'electrode form "{form}" is not known: one of {", ".join(FORMS)}')
    if spacing == 0:
        raise ValueError("spacing must be above 0: electrodes that touch are a short circuit, not a gap")
    if not isfinite(spacing) or spacing < 0:
        raise ValueError(f"spacing must be a number above 0: got {spacing} m")
    if form not in {"plate", "point"} and (diameter is None or not isfinite(diameter) or not diameter > 0):
        raise ValueError(f"a {form} gap needs the diameter of its electrodes, above 0: got {diameter}")


def _limits(form: str, ratio: float, spacing: float, air: Air) -> tuple[str, ...]:
    out = []
    if form == "sphere" and ratio > 1:
        out.append(f"spacing is {ratio:.1f} diameters: sphere gaps are known to 1 diameter, beyond the band is assumed")
    if form == "rod":
        out.append("rod ends as sawn with the edge just broken; the band reaches up to rounded ends")
    if form == "tube":
        out.append("tubes without their ends: rounded, or standing back, else they fire first")
    if form == "plate":
        out.append("plates several spacings wide with rounded edges, else the edge fires first")
    if spacing * air.density_ratio < 5e-4:
        out.append("below about 0.5 mm dust and burrs decide as much as the air")
    if not 0.7 <= air.density_ratio <= 1.15:
        out.append(f"air density {air.density_ratio:.2f} is outside 0.70 to 1.15, where corrections were measured")
    return tuple(out)


# ---- segments in series ----------------------------------------------------------------------------------------------


def sharing(segments: int, stray_ratio: float, *, earthed: bool = True) -> NDArray[np.float64]:
    """Return the share of the volts that each of ``segments`` equal gaps in series takes before any has fired.

    ``stray_ratio`` is the capacitance of one electrode between two gaps to earth over that of one gap. The first share
    is that of the gap at the live end (both ends are alike where none is earthed). Shares of a pair at +V/2 and -V/2
    count as parts of V.

    Raises
    ------
    ValueError
        If there is no segment or the ratio is negative.
    """
    if segments < 1 or not stray_ratio >= 0:
        raise ValueError(f"segments must be 1 or more and the stray ratio not negative: got {segments}, {stray_ratio}")
    first, last = (1.0, 0.0) if earthed else (0.5, -0.5)
    inner = segments - 1
    if inner == 0:
        return np.ones(1)
    bands = np.zeros((3, inner))
    bands[0, 1:] = bands[2, :-1] = -1.0
    bands[1] = 2.0 + stray_ratio
    known = np.zeros(inner)
    known[0] += first
    known[-1] += last
    levels = np.r_[first, solve_banded((1, 1), bands, known), last]
    return np.asarray(-np.diff(levels))


def series_peak(one: Breakdown, segments: int, *, earthed: bool = True) -> Breakdown:
    """Return the breakdown of ``segments`` gaps like ``one`` in series, all of the same spacing.

    The gap with the highest share fires first, and its volts fall on the others, whose highest share is larger still:
    the row fires. Equal sharing, the sum, is the upper bound. Unequal sharing rests on an assumed stray capacitance.
    """
    if segments == 1:
        return one
    middle, least, most = STRAY_RATIO[one.form]
    worst = {k: float(sharing(segments, k, earthed=earthed).max()) for k in (middle, least, most)}
    words = (
        f"{segments} gaps in series share the volts unequally: the worst takes {100 * worst[middle]:.0f} % (stray over "
        f"gap capacitance {middle:g} assumed, band {least:g} to {most:g}); equal sharing would give 1/{segments}"
    )
    return Breakdown(
        one.form,
        one.diameter,
        one.spacing,
        one.peak / worst[middle],
        one.low / worst[most],
        one.high * segments,
        one.sigma,
        (*one.limits, words),
    )


def series_spacing_for(
    form: str, diameter: float | None, peak: float, segments: int, air: Air = STANDARD_AIR, *, earthed: bool = True
) -> SpacingFor:
    """Return the spacing of each of ``segments`` gaps in series at which the row fires at ``peak`` [V] across it all.

    ``low`` is that of equal sharing, ``high`` that of the worst sharing assumed. Errors as ``spacing_for``.
    """
    if segments == 1:
        return spacing_for(form, diameter, peak, air, earthed=earthed)
    _check(form, diameter, 1.0)
    middle, _, most = STRAY_RATIO[form]
    worst, steep = (float(sharing(segments, k, earthed=earthed).max()) for k in (middle, most))
    found = spacing_for(form, diameter, peak * worst, air, earthed=earthed)
    narrow = spacing_for(form, diameter, max(peak / segments, 1.02 * LEAST_PEAK), air, earthed=earthed)
    wide = spacing_for(form, diameter, peak * steep, air, earthed=earthed)
    return SpacingFor(
        peak, found.spacing, narrow.low, wide.high, series_peak(found.breakdown, segments, earthed=earthed)
    )


# ---- hot, and fast ---------------------------------------------------------------------------------------------------


def hot_peak(form: str, diameter: float | None, spacing: float, air: Air = STANDARD_AIR) -> tuple[float, float, float]:
    """Return where a gap fires again while its gas is still hot [V peak]: middle, low, high.

    The law at the density of gas at 600 K, and at 1200 K less the spread for the low end; the high end is the cold
    figure, a gap that has recovered in full. Assumed temperatures: no measured recovery of an unblown gap was found.
    """
    _check(form, diameter, spacing)
    cold = _peak(form, diameter, spacing, air, earthed=True)
    least = 1.001 * SHORTEST / spacing  # thinner than that no law is asked
    warm, hot = (_peak(form, diameter, spacing, _thinned(air, kelvin, least), earthed=True) for kelvin in HOT_GAS)
    return min(warm, cold), max(min(hot, cold) * (1 - 1.96 * SIGMA_HOT), min(MINIMUM, cold)), cold


def _thinned(air: Air, kelvin: float, least: float) -> Air:
    ratio = max(air.density_ratio * 293.15 / kelvin, 0.1, least)
    return Air(ratio, air.humidity * ratio / air.density_ratio)


def high_frequency_factor(spacing: float) -> tuple[float, float, float]:
    """Return by what a ring of tens of kilohertz and more lowers the volts of a gap that long [m]: middle, low, high.

    Peek's two points at 40 kHz, a straight line over the logarithm of the spacing between them, held beyond. It counts
    for a safety gap or a coil that sees the ring, not for the main gap, which the mains charges up slowly.
    """
    if not spacing > 0:
        raise ValueError(f"spacing must be above 0: got {spacing} m")
    (s0, f0), (s1, f1) = HIGH_FREQUENCY
    middle = float(np.interp(log(spacing), [log(s0), log(s1)], [f0, f1]))
    return middle, 0.95 * middle, min(1.05 * middle, 1.0)


__all__ = [
    "FORMS",
    "SIGMA",
    "SIGMA_HOT",
    "STRAY_RATIO",
    "Breakdown",
    "SpacingFor",
    "breakdown_peak",
    "high_frequency_factor",
    "hot_peak",
    "series_peak",
    "series_spacing_for",
    "sharing",
    "spacing_for",
]
