"""A value together with how it is known."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, inf, log
from typing import Generic, Literal, TypeVar

Mark = Literal["pencil", "ink", "stamped"]
T = TypeVar("T")

#: Weakest first: a result is only as well known as the weakest thing it rests on.
MARK_ORDER: tuple[Mark, ...] = ("pencil", "ink", "stamped")


@dataclass(frozen=True)
class Known(Generic[T]):
    """A value with its mark and, for a number, the band in which it lies with 95 % confidence.

    ``mark`` is pencil (assumed by the tool), ink (written by the builder) or stamped (read with an instrument).
    ``low`` and ``high`` are None where the file gave no uncertainty and the kind's default applies.
    ``basis`` says in a few words where the value comes from.
    """

    value: T
    mark: Mark = "ink"
    low: float | None = None
    high: float | None = None
    basis: str = ""


@dataclass(frozen=True)
class Estimate:
    """A number with its 95 % band, SI: ``unit`` is the unit's word ("ohm", "V", "A", "H", "Wb", "1", "W", "K", "s",
    "F"), ``basis`` says in a few words where the value comes from.
    """

    value: float
    low: float
    high: float
    mark: Mark
    unit: str
    basis: str = ""


def weakest(*marks: Mark) -> Mark:
    """Return the weakest of the marks (pencil before ink before stamped); stamped when there is none."""
    return min(marks, key=MARK_ORDER.index, default="stamped")


def estimate_of(known: Known[float], unit: str, basis: str) -> Estimate:
    """Return a number of the file as an estimate; where no uncertainty is written its band has no width.

    >>> estimate_of(Known(3.0, low=2.0, high=5.0), "s", "as written")
    Estimate(value=3.0, low=2.0, high=5.0, mark='ink', unit='s', basis='as written')
    """
    low = known.value if known.low is None else known.low
    high = known.value if known.high is None else known.high
    return Estimate(known.value, low, high, known.mark, unit, basis)


def scaled(estimate: Estimate, by: float, basis: str | None = None) -> Estimate:
    """Return the estimate times a positive number that is exact; ``basis`` in place of its own."""
    e = estimate
    return Estimate(e.value * by, e.low * by, e.high * by, e.mark, e.unit, e.basis if basis is None else basis)


def product(unit: str, basis: str, *factors: Estimate, over: Estimate | None = None) -> Estimate:
    """Return the product of positive estimates that know nothing of each other, divided by ``over``.

    Their ratios to the band's ends add in quadrature of logarithms, as independent ones do.

    >>> a, b = Estimate(2.0, 1.0, 4.0, "ink", "V"), Estimate(3.0, 3.0, 3.0, "pencil", "A")
    >>> product("W", "volts x amperes", a, b)
    Estimate(value=6.0, low=3.0, high=12.0, mark='pencil', unit='W', basis='volts x amperes')
    """
    value, up, down = 1.0, 0.0, 0.0
    for f in factors:
        value *= f.value
        up, down = hypot(up, log(f.high / f.value)), hypot(down, log(f.value / f.low) if f.low > 0 else inf)
    if over is not None:
        value /= over.value
        up, down = (
            hypot(up, log(over.value / over.low) if over.low > 0 else inf),
            hypot(down, log(over.high / over.value)),
        )
    marks = [f.mark for f in (*factors, *((over,) if over else ()))]
    return Estimate(value, value * exp(-down), value * exp(up), weakest(*marks), unit, basis)
