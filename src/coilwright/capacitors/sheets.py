"""Electric strength of the sheets of a home-made capacitor, and what of it may be used for long.

    E(t, A) = E_ref (t / t_ref)^-n (A / A_ref)^(-1/beta)

n = 1/3, between 0.2 and 0.5 (from memory: handbooks give the strength as falling with about the square root of the
thickness for thick pieces, less for films); each material has one anchor, at the thickness where it was measured.
1/beta is the weakest-link law of a Weibull distribution of shape beta = 10 (from memory: 8 to 20 for plastics in
short tests, a minute or less of rising volts); the same shape says how many of a hundred pieces fail below E. A_ref is
the face of a usual test electrode, 25 mm across. Strengths are counted as peak volts: the sources do not say, and peak
is the cautious reading.

What may be used for long is less than what stands for a minute: E^-10 hours to failure (inverse power law of voltage
endurance, from memory: exponents 8 to 12), 0.7 for the high-frequency ring that heats and reverses (assumption), and
5 pieces in 100 that may fail.
"""

from __future__ import annotations

from math import log, pi

from coilwright.capacitors.dielectrics import Range, SheetDielectric
from coilwright.errors import ModelRangeError
from coilwright.model.constants import EPSILON_0

#: Exponent of thickness: usual, least, most.
THICKNESS_EXPONENT, EXPONENT_LOW, EXPONENT_HIGH = 1 / 3, 0.2, 0.5
WEIBULL_SHAPE = 10.0
REFERENCE_AREA = pi * 0.025**2 / 4
#: Share of pieces that may fail, and on-time that the rated volts are meant for [s] (our choice), against a test of
#: 60 s.
FAILING, LIFE, TEST_TIME, ENDURANCE = 0.05, 100 * 3600.0, 60.0, 10.0
RING_FACTOR = 0.7
#: Thinner and thicker than this the law is a guess beyond its anchors [m].
THINNEST, THICKEST = 5e-6, 20e-3


def strength(material: SheetDielectric, thickness: float, area: float) -> Range:
    """Return the short-time strength [V/m peak] at which 63 of 100 such pieces have failed, with its band.

    ``thickness`` [m] of one sheet, ``area`` [m2] of all the sheets together that must hold. The band takes the range
    of the anchor and of the exponent; beyond a decade of thickness the exponent rules it.

    Raises
    ------
    ModelRangeError
        If the thickness is not between 5 um and 20 mm (for air and oil: not positive), or the area is not positive.
    """
    if not area > 0:
        raise ModelRangeError(f"area must be positive: got {area:g} m2")
    if not thickness > 0:
        raise ModelRangeError(f"thickness must be positive: got {thickness:g} m")
    if not material.liquid and not THINNEST <= thickness <= THICKEST:
        raise ModelRangeError(
            f"strength of a sheet {thickness * 1e3:g} mm thick is not known: the law holds from 0.005 mm to 20 mm"
        )
    anchor = material.strength
    ratio, spread = thickness / anchor.thickness, (area / REFERENCE_AREA) ** (-1 / WEIBULL_SHAPE)
    powers = (ratio**-EXPONENT_LOW, ratio**-EXPONENT_HIGH)
    usual = anchor.field.value * ratio**-THICKNESS_EXPONENT * spread
    low, high = anchor.field.low * min(powers) * spread, anchor.field.high * max(powers) * spread
    return Range(usual, low, high, anchor.field.status, anchor.field.source)


def derating(failing: float = FAILING, life: float = LIFE, ring: float = RING_FACTOR) -> float:
    """Return what may be used for ``life`` [s] of on-time, as a share of the short-time strength, so that a share
    ``failing`` of such pieces breaks down.

    >>> round(derating(), 3)
    0.218
    """
    if not (0 < failing < 1 and life > 0 and ring > 0):
        raise ModelRangeError("derating needs a share between 0 and 1, a positive life and a positive factor")
    weakest = (-log(1 - failing)) ** (1 / WEIBULL_SHAPE)
    endurance = (life / TEST_TIME) ** (-1 / ENDURANCE)
    return float(weakest * min(endurance, 1.0) * ring)


def thickness_for(material: SheetDielectric, peak: float, area: float) -> float:
    """Return the least thickness of one sheet [m] that may carry ``peak`` [V] for long, with ``area`` [m2] in all.

    Raises
    ------
    ModelRangeError
        If volts or area are not positive, or the sheet would be thicker than 20 mm.
    """
    if not (peak > 0 and area > 0):
        raise ModelRangeError(f"volts and area must be positive: got {peak:g} V, {area:g} m2")
    anchor = material.strength
    spread = (area / REFERENCE_AREA) ** (-1 / WEIBULL_SHAPE)
    at_anchor = anchor.field.value * anchor.thickness * spread * derating()
    found = anchor.thickness * (peak / at_anchor) ** (1 / (1 - THICKNESS_EXPONENT))
    if found > THICKEST:
        raise ModelRangeError(
            f"one sheet of {material.name} would have to be {found * 1e3:.0f} mm thick for {peak / 1e3:.3g} kV peak; "
            "the strength is not known above 20 mm: put two or more such capacitors in series"
        )
    return float(max(found, THINNEST))


__all__ = ["EPSILON_0", "derating", "strength", "thickness_for"]
