"""Numbers as they are printed: three figures, one unit for a value and its band, and no number where none is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

from coilwright._dimensions import dimension
from coilwright.units import show

NOT_KNOWN = "not known"
#: What stands in the unit's place beside a number that has none.
PLAIN = "ratio"
_LEAST = 0.001  # least number in a column of one unit
#: What is smaller is the solver's rest beside kilovolts and amperes: nobody measures it here.
_UNSEEN = {"V": (1e-3, "< 1", "mV"), "A": (1e-6, "< 1", "uA"), "W": (1e-3, "< 1", "mW")}
_NOTHING = 1e-12  # below this a solver's rest is zero, in any unit that this program prints


@dataclass(frozen=True)
class Quantity:
    """A printed number: ``text`` and ``band`` in ``unit``. ``band`` is "" where none is known."""

    text: str
    unit: str
    band: str = ""

    def __str__(self) -> str:
        return self.text if self.text == NOT_KNOWN or self.unit == PLAIN else f"{self.text} {self.unit}"


def figures(value: float | None, digits: int = 3) -> str:
    """Return the bare number with so many significant figures.

    >>> figures(0.40512), figures(3590.0), figures(None), figures(0.0)
    ('0.405', '3590', 'not known', '0')
    """
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    if abs(value) < _NOTHING:
        return "0"
    return f"{value:.{_decimals(value, digits)}f}"


def fixed(value: float | None, scale: float, digits: int = 3) -> str:
    """Return the number in a unit of ``scale`` SI units, for a column that has one unit: three decimals at most.

    >>> fixed(3590.0, 1e3), fixed(0.2, 1e3), fixed(2e-15, 1e3), fixed(14.72e-3, 1e-3)
    ('3.59', '< 0.001', '0', '14.7')
    """
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    scaled = 0.0 if abs(value) < _NOTHING else value / scale
    if 0 < abs(scaled) < _LEAST:
        return f"< {_LEAST}"
    return f"{scaled:.{min(_decimals(scaled, digits), 3)}f}"


def quantity(value: float | None, unit: str, band: tuple[float, float] | None = None, digits: int = 3) -> Quantity:
    """Return the SI value in the unit that suits it, and its band in the same unit, never narrower than it is.

    ``unit`` is the SI unit or the dimension's name; a share of one in "%" is printed in per cent.

    >>> str(quantity(3590.0, "V")), quantity(3590.0, "V", (3511.0, 3672.0)).band
    ('3.59 kV', '3.51 to 3.68')
    >>> str(quantity(None, "A")), str(quantity(9.55, "1"))
    ('not known', '9.55')
    >>> str(quantity(4e-4, "V")), str(quantity(1.1e-3, "V")), str(quantity(0.0, "V"))
    ('< 1 mV', '1.10 mV', '0 V')
    """
    dim = dimension(unit)
    if value is None or not math.isfinite(value):
        return Quantity(NOT_KNOWN, dim.si.strip() if dim.si != "1" else PLAIN)
    if abs(value) < _NOTHING and unit != "F":
        value = 0.0
    least, *unseen = _UNSEEN.get(dim.si.strip(), (0.0,))
    if 0 < abs(value) < least and band is None:
        return Quantity(*unseen)
    text, _, name = show(value, unit, digits).partition(" ")
    if band is None or not all(math.isfinite(b) for b in band):
        return Quantity(text, name or PLAIN)
    factor, offset = Fraction(dim.units[name]), Fraction(dim.offsets.get(name, "0"))
    low, high = ((Fraction(b) - offset) / factor for b in band)
    decimals = max(len(text.partition(".")[2]), _decimals(float(high - low), 2) if high > low else 0)
    decimals = min(decimals, _decimals(max(abs(float(low)), abs(float(high))), 5))
    return Quantity(text, name or PLAIN, f"{_out(low, decimals, ROUND_FLOOR)} to {_out(high, decimals, ROUND_CEILING)}")


def _decimals(value: float, digits: int) -> int:
    """Return how many decimals leave that many significant figures."""
    if value == 0:
        return 0
    return max(digits - 1 - math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}")))), 0)


def _out(value: Fraction, decimals: int, rounding: str) -> str:
    # A float's own last digits must not push the band out by a whole step.
    tidy = Decimal(f"{float(value):.12g}")
    return f"{tidy.quantize(Decimal(1).scaleb(-decimals), rounding=rounding) + 0:f}"


__all__ = ["NOT_KNOWN", "PLAIN", "Quantity", "figures", "fixed", "quantity"]
