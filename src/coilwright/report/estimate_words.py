"""Estimates as they are printed, in every medium: value, unit, band, mark and where they come from.

Some have units that no bench instrument reads: newtons, litres a second, decibels, ppm.
"""

from __future__ import annotations

import math

from coilwright.model.known import Estimate
from coilwright.report.blocks import Row
from coilwright.report.quantities import NOT_KNOWN, Quantity, quantity

#: SI unit of an estimate -> unit printed, and how many of it make one SI unit. Others go by the table of dimensions.
PRINTED: dict[str, tuple[str, float]] = {
    "N": ("N", 1.0),
    "dB": ("dB", 1.0),
    "m3/s": ("l/s", 1e3),
    "1/s": ("1/h", 3600.0),
    "ppm": ("ppm", 1e6),
    "Pa": ("MPa", 1e-6),
    "mm3/h": ("mm3/h", 3.6e12),
}
_INFINITE = "no end"


def measured(estimate: Estimate | None, printed: str = "") -> Quantity:
    """Return the estimate in print with its band, never narrower than it is.

    ``printed`` names a row of the table where the SI unit alone does not say how to print it ("ppm" for a volume
    fraction, "mm3/h" for wear).

    >>> str(measured(Estimate(78.96, 75.0, 83.0, "ink", "N")))
    '79.0 N'
    >>> measured(Estimate(0.0027, 0.0004, 0.00892, "pencil", "m3/s")).band
    '0.40 to 9.0'
    """
    if estimate is None:
        return Quantity(NOT_KNOWN, PRINTED[printed][0] if printed else "")
    kind = printed or estimate.unit
    if kind not in PRINTED:
        if math.isinf(estimate.high) and math.isfinite(estimate.value):
            found = quantity(estimate.value, kind)
            return Quantity(found.text, found.unit, f"{quantity(estimate.low, kind)} to {_INFINITE}")
        return quantity(estimate.value, kind, (estimate.low, estimate.high) if estimate.high > estimate.low else None)
    unit, scale = PRINTED[kind]
    text = _significant(estimate.value * scale, 3, 0)
    if not estimate.high > estimate.low:
        return Quantity(text, unit)
    digits = 3 if unit == "dB" else 2
    low, high = _significant(estimate.low * scale, digits, -1), _significant(estimate.high * scale, digits, 1)
    return Quantity(text, unit, f"{low} to {high}")


def estimate_row(label: str, estimate: Estimate | None, printed: str = "", *, source: str = "", unit: str = "") -> Row:
    """Return the row of an estimate for a page; ``source`` in place of its basis, ``unit`` [SI] where it is not known.

    >>> estimate_row("loss", Estimate(2.0, 1.0, 4.0, "pencil", "W", "ring"))
    Row(label='loss', value='2.00', unit='W', band='1.00 to 4.00', mark='pencil', source='ring')
    """
    if estimate is None:
        return Row(label, NOT_KNOWN, quantity(None, unit).unit if unit else measured(None, printed).unit, source=source)
    number = measured(estimate, printed)
    return Row(label, number.text, number.unit, number.band, estimate.mark, source or estimate.basis)


def _significant(value: float, digits: int, outward: int) -> str:
    """Return so many figures; ``outward`` -1 rounds down, 1 up, 0 to the nearest."""
    if not math.isfinite(value):
        return _INFINITE
    if value == 0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(abs(value))) - digits + 1)
    counted = value / step
    whole = {-1: math.floor(counted + 1e-9), 0: round(counted), 1: math.ceil(counted - 1e-9)}[outward]
    decimals = max(-round(math.log10(step)), 0)
    return f"{whole * step:.{decimals}f}"


__all__ = ["PRINTED", "estimate_row", "measured"]
