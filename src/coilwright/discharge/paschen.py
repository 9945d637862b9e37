"""Breakdown of short uniform gaps in air against pressure times distance: Paschen's curve.

Two forms. E. Husain and R. S. Nema fitted the measured curve over five decades and are what a gap below about half a
millimetre rests on. Townsend's form with constant coefficients is kept for the range of field over pressure in which
its constants were measured; at gaps of a millimetre and more in the open it is 15 % and more too high.
"""

from __future__ import annotations

from math import exp, log

from coilwright.errors import ModelRangeError

#: Measured minimum of air: V, and Pa m at which it lies (7.5 um at one atmosphere); J. D. Cobine, Gaseous Conductors,
#: and public pages, seen. No gap in air fires below it.
MINIMUM = 327.0
MINIMUM_PRODUCT = 0.756
#: Townsend's first coefficient, alpha / p = A exp(-B p / E): Y. P. Raizer, Gas Discharge Physics (1991) Table 4.1, from
#: memory: 15 /(cm Torr) and 365 V/(cm Torr), for E/p of 100 to 800 V/(cm Torr), in /(Pa m) and V/(Pa m).
TOWNSEND_A = 15.0 * 100 / 133.322
TOWNSEND_B = 365.0 * 100 / 133.322
TOWNSEND_GAMMA = 0.01
TOWNSEND_FIELDS = (100.0 * 100 / 133.322, 800.0 * 100 / 133.322)  # V/(Pa m)
PRODUCTS = (0.133, 14e3)  # Pa m: 0.0133 to 1400 kPa cm


def paschen_breakdown(product: float) -> float:
    """Return the breakdown voltage [V peak] of a uniform gap in air at pressure times distance ``product`` [Pa m].

    E. Husain and R. S. Nema, IEEE Trans. Electrical Insulation EI-17 (1982) 350: V = 2737.5 P / (ln P + k), P in kPa
    cm, k = 2.0583 P^-0.1724 to 0.2, 3.5134 P^0.0599 to 100, 4.6295 above (partly from memory), at 20 degC. Never below
    the measured minimum of 327 V.

    Raises
    ------
    ModelRangeError
        Outside 0.133 to 14000 Pa m.
    """
    if not PRODUCTS[0] <= product <= PRODUCTS[1]:
        raise ModelRangeError(f"pressure times distance {product:g} Pa m is outside {PRODUCTS[0]:g} to {PRODUCTS[1]:g}")
    p = product / 10  # kPa cm
    k = 2.0583 * p**-0.1724 if p < 0.2 else 3.5134 * p**0.0599 if p < 100 else 4.6295
    return max(2737.5 * p / (log(p) + k), MINIMUM)


def townsend_breakdown(product: float, gamma: float = TOWNSEND_GAMMA) -> float:
    """Return Townsend's breakdown voltage [V]: B pd / (ln(A pd) - ln ln(1 + 1/gamma)).

    Raises
    ------
    ModelRangeError
        Where E/p at breakdown is outside 100 to 800 V/(cm Torr), hence at any gap of a millimetre in the open.
    """
    denominator = log(TOWNSEND_A * product / log(1 + 1 / gamma)) if product > 0 else 0.0
    volts = TOWNSEND_B * product / denominator if denominator > 0 else float("inf")
    low, high = TOWNSEND_FIELDS
    if not low <= volts / max(product, 1e-300) <= high:
        raise ModelRangeError(
            f"Townsend's form holds for E/p of 100 to 800 V/(cm Torr); at {product:g} Pa m it leaves that range"
        )
    return volts


def townsend_minimum(gamma: float = TOWNSEND_GAMMA) -> tuple[float, float]:
    """Return the minimum of Townsend's form: Pa m and V, e ln(1 + 1/gamma) / A and B times that."""
    product = exp(1.0) * log(1 + 1 / gamma) / TOWNSEND_A
    return product, TOWNSEND_B * product


__all__ = ["MINIMUM", "MINIMUM_PRODUCT", "paschen_breakdown", "townsend_breakdown", "townsend_minimum"]
