"""Numbers with units, written: the engineering prefix, the digits deserved, no exponent. Used through `units`."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction

from coilwright._dimensions import Dimension, dimension


def show(value: float | None, dimension_name: str, digits: int = 3, *, pretty: bool = False, trim: bool = False) -> str:
    """Return the value with its unit, engineering prefix and that many significant digits; "not known" for None and
    NaN.

    ``pretty`` writes µ, Ω, ° and ² (the parser reads them too); ``trim`` leaves out zeros at the end of a decimal
    fraction.

    Examples
    --------
    >>> show(4200, "voltage"), show(0.3996, "current"), show(999.96, "V"), show(4.7e-9, "F", 2)
    ('4.20 kV', '400 mA', '1.00 kV', '4.7 nF')
    """
    if value is None or not math.isfinite(value):
        return "not known"
    dim = dimension(dimension_name)
    shift, factor, unit = _rung(abs(value) if not dim.offsets else value, dim, digits)
    scaled = (Decimal(repr(float(value))) - shift) / factor
    text = _fixed(scaled, _decimals(abs(scaled), digits), ROUND_HALF_UP)
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    return _join(text, unit, pretty)


def show_band(low: float | None, high: float | None, dimension_name: str, *, pretty: bool = False) -> str:
    """Return a band such as ``"1.78 to 2.31 A"`` with as many digits as its width deserves, never narrower than it is.

    Examples
    --------
    >>> show_band(2051.7, 2112.2, "voltage")
    '2.051 to 2.113 kV'
    """
    if low is None or high is None or not (math.isfinite(low) and math.isfinite(high)):
        return "not known"
    low, high = min(low, high), max(low, high)
    dim = dimension(dimension_name)
    if low == high:
        return show(low, dimension_name, 4, pretty=pretty)
    widest = max(abs(low), abs(high))
    shift, factor, unit = _rung(widest if not dim.offsets else high, dim, 3)
    bottom, top = ((Decimal(repr(float(v))) - shift) / factor for v in (low, high))
    # two significant digits of the width, between two and six of the value
    digits = min(6, max(2, 1 + max(abs(bottom), abs(top)).adjusted() - (top - bottom).adjusted() + 1))
    decimals = _decimals(max(abs(bottom), abs(top)), digits)
    return _join(f"{_fixed(bottom, decimals, ROUND_FLOOR)} to {_fixed(top, decimals, ROUND_CEILING)}", unit, pretty)


def _rung(magnitude: float, dim: Dimension, digits: int) -> tuple[Decimal, Decimal, str]:
    """Return (offset, factor, unit) in which a value of that magnitude is written."""
    if dim.offsets:
        unit = dim.ladder[0][1]
        return Decimal(dim.offsets[unit]), Decimal(dim.units[unit]), unit
    rounded = Decimal(f"{magnitude:.{max(digits, 1) - 1}e}")
    if rounded == 0:
        unit = next((u for _, u in dim.ladder if u == dim.bare), dim.ladder[0][1])
    else:
        unit = next(u for start, u in reversed(dim.ladder) if rounded >= Decimal(start))
    return Decimal(0), _decimal(dim.units[unit]), unit


def _decimal(factor: str) -> Decimal:
    exact = Fraction(factor)
    return Decimal(exact.numerator) / Decimal(exact.denominator)


def _decimals(scaled: Decimal, digits: int) -> int:
    """Return how many decimals leave that many significant digits, after the rounding has had its way."""
    if scaled == 0:
        return 0
    rounded = Decimal(f"{scaled:.{max(digits, 1) - 1}e}")
    return max(0, digits - 1 - rounded.adjusted())


def _fixed(scaled: Decimal, decimals: int, rounding: str) -> str:
    step = Decimal(1).scaleb(-decimals)
    text = f"{scaled.quantize(step, rounding=rounding):f}" if scaled.adjusted() - decimals < 20 else f"{scaled:.0f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _join(text: str, unit: str, pretty: bool) -> str:
    if pretty:
        unit = unit.replace("ohm", "Ω").replace("deg", "°").replace("m2", "m²")
        unit = "µ" + unit[1:] if unit.startswith("u") else unit.replace("/us", "/µs")
    return f"{text} {unit}".rstrip()
