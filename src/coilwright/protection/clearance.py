"""Clearance through air and creepage along a surface for a joint at given peak volts.

What each number rests on: the rod-plane formula of IEC 60071-2 was seen in public source code that cites the standard;
the needle-gap table is a seen reprint of the American Institute of Electrical Engineers' table; the creepage and the
mains floor of IEC 60664-1 are from memory. Below about 1 m the rod-plane formula is extrapolated, and asks for more
than rod and needle gaps measured at such distances need: it errs to the long side.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import expm1, isfinite, log, sqrt

from coilwright.errors import ModelRangeError
from coilwright.protection.body import TOUCH_LIMIT_PEAK

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
ROD_PLANE_REACH = 3.0  # m: the formula's own upper end
SIGMA = 0.03  # relative spread of a power-frequency breakdown voltage, IEC 60071-2
WITHSTAND_FACTOR = 1 / (1 - 3 * SIGMA)
CREEPAGE_PER_VOLT_RMS = 16e-3 / 1e3  # m/V: IEC 60664-1, pollution degree 3, material group III, from memory
MAINS_FLOOR = 3e-3  # m: 4 kV impulse, overvoltage category III, IEC 60664-1, from memory


@dataclass(frozen=True)
class Spacing:
    """What a joint needs: clearance and creepage [m], what they rest on, and the factor put on the peak volts."""

    clearance: float
    creepage: float
    basis: str
    factor: float


def air_density_ratio(altitude: float, temperature: float, pressure: float | None = None) -> float:
    """Return the density of the air over that at 20 degC and 101.325 kPa.

    Parameters
    ----------
    altitude : float, [m]
        Used where no pressure is given: the standard atmosphere (ICAO Doc 7488, below 11 km).
    temperature : float, [K] pressure : float or None, [Pa]
        Absolute pressure at the place.

    Raises
    ------
    ValueError
        If temperature or pressure is not positive.
    ModelRangeError
        If the altitude lies outside -500 m to 11 km.
    """
    if not temperature > 0 or not (pressure is None or pressure > 0):
        raise ValueError(f"temperature and pressure must be positive: got {temperature} K, {pressure} Pa")
    if pressure is None:
        if not -500 <= altitude <= 11e3:
            raise ModelRangeError(f"altitude {altitude:g} m is outside -500 m to 11 km: give the air pressure instead")
        pressure = 101325.0 * (1 - 2.25577e-5 * altitude) ** 5.25588
    return pressure / 101325.0 * 293.15 / temperature


def rod_plane_breakdown(distance: float) -> float:
    """Return the 50 % breakdown voltage [V peak] of a rod-plane gap of that length [m] at power frequency.

    IEC 60071-2, Annex F: U50 = 750 sqrt(2) ln(1 + 0.55 d^1.2) kV peak, d in m, up to 3 m.
    """
    if not 0 <= distance <= ROD_PLANE_REACH:
        raise ModelRangeError(f"rod-plane distance {distance:g} m is outside 0 to {ROD_PLANE_REACH:g} m")
    return 750e3 * sqrt(2) * log(1 + 0.55 * distance**1.2)


def rod_plane_distance(peak: float) -> float:
    """Return the rod-plane distance [m] that breaks down at ``peak`` [V] (50 %): the inverse of
    ``rod_plane_breakdown``.
    """
    exponent = peak / (750e3 * sqrt(2))
    distance: float = (expm1(min(exponent, 50.0)) / 0.55) ** (1 / 1.2)  # far beyond the reach, short of an overflow
    if distance > ROD_PLANE_REACH:
        raise ModelRangeError(f"{peak / 1e3:.0f} kV peak needs more than the {ROD_PLANE_REACH:g} m of IEC 60071-2")
    return distance


def uniform_breakdown(spacing: float) -> float:
    """Return the breakdown of a uniform field in air at 20 degC and 101.3 kPa [V peak] for a spacing in m.

    V = 24.22 d + 6.08 sqrt(d) kV, d in cm: F. M. Bruce, J. IEE 94 (1947) 138, as given in Kuffel, Zaengl and
    Kuffel, High Voltage Engineering Fundamentals, from memory.

    >>> round(uniform_breakdown(0.01))
    30300
    """
    d = spacing * 100
    return (24.22 * d + 6.08 * sqrt(d)) * 1e3


def needle_gap(peak: float) -> float:
    """Return the spacing [m] at which needle points spark over at ``peak`` [V], by straight lines between table
    rows.
    """
    for (v0, d0), (v1, d1) in pairwise(NEEDLE_GAP):
        if v0 <= peak <= v1:
            return d0 + (d1 - d0) * (peak - v0) / (v1 - v0)
    raise ModelRangeError(f"{peak / 1e3:.0f} kV peak is outside the needle-gap table (0 to 120 kV)")


def required_spacing(peak: float, air_density_ratio: float = 1.0) -> Spacing:
    """Return clearance and creepage that a joint at ``peak`` volts to its neighbour needs.

    Parameters
    ----------
    peak : float, [V]
        Highest peak between the two pieces of metal.
    air_density_ratio : float
        From the function of that name. Thin air is paid for in full; dense air gives no credit.

    Raises
    ------
    ValueError
        If the peak is negative or no number, or the density ratio is not positive.
    ModelRangeError
        If the spacing would exceed the 3 m that the rod-plane formula covers.
    """
    if not isfinite(peak) or peak < 0:
        raise ValueError(f"peak voltage must be a number from 0 up: got {peak} V")
    if not air_density_ratio > 0:
        raise ValueError(f"air density ratio must be positive: got {air_density_ratio}")
    if peak <= TOUCH_LIMIT_PEAK:
        return Spacing(0.0, 0.0, "within the touch limit of 42.4 V peak (IEC 60335-1 cl. 8.1.4): none of its own", 1.0)
    factor = WITHSTAND_FACTOR / min(air_density_ratio, 1.0)
    stress = peak * factor
    candidates = [
        (
            rod_plane_distance(stress),
            "rod-plane gap at power frequency, IEC 60071-2 Annex F (extrapolated below 1 m, to the long side)",
        ),
        (
            MAINS_FLOOR / min(air_density_ratio, 1.0),
            "floor: 4 kV impulse on the mains, overvoltage category III, IEC 60664-1, from memory",
        ),
    ]
    if stress <= NEEDLE_GAP[-1][0]:
        candidates.append((needle_gap(stress), "floor: needle points, AIEE table"))
    clearance, basis = max(candidates)
    creepage = max(clearance, CREEPAGE_PER_VOLT_RMS * peak / sqrt(2))
    words = (
        f"clearance: {basis}, volts x {factor:.2f} (3 sigma of 3 %, air density {air_density_ratio:.2f}); creepage: "
        "16 mm per kV rms, IEC 60664-1, pollution degree 3, material group III, from memory, never below the clearance"
    )
    return Spacing(clearance, creepage, words, factor)
