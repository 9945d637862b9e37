"""Clearance through air and creepage along a surface for a joint at given peak volts.

What each number rests on: the rod-plane formula of IEC 60071-2 was seen in public source code that cites the standard;
the needle-gap table is a seen reprint of the American Institute of Electrical Engineers' table; the creepage and the
mains floor of IEC 60664-1 are from memory. Below about 1 m the rod-plane formula is extrapolated, and asks for more
than rod and needle gaps measured at such distances need: it errs to the long side.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import expm1, isfinite, log, sqrt

from coilwright.discharge.air import air_density_ratio
from coilwright.discharge.rods import NEEDLE_GAP, needle_spacing
from coilwright.errors import ModelRangeError
from coilwright.protection.body import TOUCH_LIMIT_PEAK

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
        candidates.append((needle_spacing(stress), "floor: needle points, AIEE table"))
    clearance, basis = max(candidates)
    creepage = max(clearance, CREEPAGE_PER_VOLT_RMS * peak / sqrt(2))
    words = (
        f"clearance: {basis}, volts x {factor:.2f} (3 sigma of 3 %, air density {air_density_ratio:.2f}); creepage: "
        "16 mm per kV rms, IEC 60664-1, pollution degree 3, material group III, from memory, never below the clearance"
    )
    return Spacing(clearance, creepage, words, factor)


__all__ = [
    "SIGMA",
    "WITHSTAND_FACTOR",
    "Spacing",
    "air_density_ratio",
    "required_spacing",
    "rod_plane_breakdown",
    "rod_plane_distance",
]
