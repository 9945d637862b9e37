"""A value together with how it is known."""

from __future__ import annotations

from dataclasses import dataclass
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
