"""A rule: the fixed part of a tag, as it stands in the catalogue."""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.protection.tag import Grade


@dataclass(frozen=True)
class Rule:
    """What one kind of hazard says, whatever the design.

    ``when`` is the trigger in words. ``limit`` is "-" for a condition tag; where the limit depends on the design, the
    raised tag states it in numbers. ``source`` names what the limit leans on, and says so where it is from memory or a
    trade habit.
    """

    id: str
    grade: Grade
    standing: bool
    when: str
    what: str
    why: str
    limit: str
    do: str
    source: str

    @property
    def is_condition(self) -> bool:
        return self.limit == "-"
