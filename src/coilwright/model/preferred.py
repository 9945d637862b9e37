"""Preferred values: the E series of resistors and capacitors, and the R10 series of fuse links."""

from __future__ import annotations

from math import floor, isfinite, log10

#: IEC 60063, from memory.
E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
E24 = (
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2,
    9.1,
)  # fmt: skip
#: Rated currents of fuse links, a decade [A]: R10 series rounded, as IEC 60127 has them, from memory.
R10 = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)


def preferred_below(value: float, series: tuple[float, ...] = E12) -> float:
    """Return the largest value of the series that is not above ``value``, in the unit of ``value``.

    >>> preferred_below(902.6e6), preferred_below(5.0, E6), preferred_below(1.0)
    (820000000.0, 4.7, 1.0)
    """
    return max(v for v in _around(value, series) if v <= value * (1 + 1e-9))


def preferred_above(value: float, series: tuple[float, ...] = E12) -> float:
    """Return the smallest value of the series that is not below ``value``.

    >>> preferred_above(7.96, R10), preferred_above(8.01, R10)
    (8.0, 10.0)
    """
    return min(v for v in _around(value, series) if v >= value * (1 - 1e-9))


def preferred_near(value: float, series: tuple[float, ...] = E12) -> float:
    """Return the value of the series that is nearest to ``value`` by its ratio.

    >>> preferred_near(1.43e6, E24), preferred_near(9.8)
    (1500000.0, 10.0)
    """
    return min(_around(value, series), key=lambda v: abs(log10(v / value)))


def _around(value: float, series: tuple[float, ...]) -> list[float]:
    if not (isfinite(value) and value > 0):
        raise ValueError(f"a preferred value needs a positive number: got {value}")
    decade = floor(log10(value))
    return [float(f"{s}e{decade + k}") for k in (-1, 0, 1) for s in series]


__all__ = ["E6", "E12", "E24", "R10", "preferred_above", "preferred_below", "preferred_near"]
