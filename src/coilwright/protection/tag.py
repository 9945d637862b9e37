"""A tag: one structured hazard, never a log line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilwright.model.known import Mark

Grade = Literal["STOP", "CAUTION", "NOTE"]
GRADE_ORDER: tuple[Grade, ...] = ("STOP", "CAUTION", "NOTE")


@dataclass(frozen=True)
class Tag:
    """One hazard as it stands in this design.

    ``where`` names part, joint or winding ("" for the whole machine). ``value`` and ``limit`` are words with numbers
    and units as printed ("10.8 kV peak", "3.25 kV peak"); ``limit`` is "-" for a condition tag, ``value`` None where
    the tag has no number. ``standing`` tags are always printed, counted apart and never block. ``answered`` holds the
    builder's reason. ``number`` and ``bound`` are the same in SI for machines, None where there is none. ``mark`` is
    how the weaker of the two is known, None where it does not turn on a number or is exact.
    """

    id: str
    grade: Grade
    standing: bool
    where: str
    what: str
    why: str
    value: str | None
    limit: str
    do: str
    source: str
    answered: str | None = None
    number: float | None = None
    bound: float | None = None
    mark: Mark | None = None

    @property
    def blocks(self) -> bool:
        """Return whether this tag keeps the exit code at 1: a STOP that is not a standing one (answered or not)."""
        return self.grade == "STOP" and not self.standing
