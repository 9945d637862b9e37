"""Rules about single mistakes of the wiring: those that nothing exposes before the mains is on, and the unsolved."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coilwright.model.known import Mark
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag


@dataclass(frozen=True)
class SlipFacts:
    """One mistake. ``harmful`` None: not known, which counts as yes. ``told`` says whether a reading exposes it;
    ``value`` what it does, in words; ``unsolved`` what of it had no converged answer.
    """

    where: str
    harmful: bool | None
    told: bool
    value: str | None = None
    unsolved: tuple[str, ...] = ()
    mark: Mark | None = None


def slip_tags(slips: Iterable[SlipFacts]) -> tuple[Tag, ...]:
    """Return the tags of the mistakes, in their order."""
    found = []
    for slip in slips:
        if slip.unsolved:
            found.append(raise_tag("not-converged", slip.where, value="; ".join(slip.unsolved)))
        if not slip.told and slip.harmful is not False:
            found.append(raise_tag("no-telltale", slip.where, value=slip.value, mark=slip.mark))
    return tuple(found)
