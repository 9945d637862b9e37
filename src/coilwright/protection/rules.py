"""From facts to tags in the order in which they are printed: the door of this package.

Order: ``local-code`` is always the first line. Then STOP before CAUTION before NOTE. Inside a grade what this design
does comes before what always stands, so that a standing paragraph never pushes an open STOP down the page; then the
order of the catalogue; then the place. Nothing is ever dropped: ``collect`` only merges two tags of the same rule and
place.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from coilwright.model.machine import Answer
from coilwright.protection.catalogue import ORDER
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules_chain import chain_tags
from coilwright.protection.rules_gap import room_tags, rotor_tags
from coilwright.protection.rules_shelf import shelf_tags
from coilwright.protection.rules_site import site_tags
from coilwright.protection.rules_supply import supply_tags
from coilwright.protection.rules_tank import tank_tags
from coilwright.protection.tag import GRADE_ORDER, Tag

FIRST = "local-code"


@dataclass(frozen=True)
class Tally:
    """How many tags there are: open ones by grade, answered ones, and standing ones counted apart."""

    stop: int
    caution: int
    note: int
    answered: int
    standing: int


def _key(tag: Tag) -> tuple[bool, int, bool, int, str]:
    return tag.id != FIRST, GRADE_ORDER.index(tag.grade), tag.standing, ORDER[tag.id], tag.where


def rank(tags: Iterable[Tag]) -> tuple[Tag, ...]:
    """Return the same tags, all of them, in the order of the page."""
    return tuple(sorted(tags, key=_key))


def collect(*groups: Iterable[Tag], answers: Iterable[Answer] = ()) -> tuple[Tag, ...]:
    """Return all groups as one ranked list with the answers beside them.

    Of two tags of the same rule at the same place the one with a number is kept, the earlier of two equals;
    ``local-code`` is there even when no group has it.
    """
    kept: dict[tuple[str, str], Tag] = {}
    for tag in (raise_tag(FIRST), *(t for group in groups for t in group)):
        before = kept.get((tag.id, tag.where))
        if before is None or _weight(tag) > _weight(before):
            kept[tag.id, tag.where] = tag
    return apply_answers(rank(kept.values()), answers)


def _weight(tag: Tag) -> tuple[bool, bool]:
    return tag.number is not None, tag.value is not None


def apply_answers(tags: Iterable[Tag], answers: Iterable[Answer]) -> tuple[Tag, ...]:
    """Return the same tags with the builder's reason on every tag that an answer names; the last answer to a tag
    counts.

    An answer changes neither grade nor standing, and hides nothing: ``is_open`` says what it settles.
    """
    reasons = {a.tag: f"{a.reason} ({a.date.isoformat()})" if a.date else a.reason for a in answers}
    return tuple(replace(t, answered=reasons[t.id]) if t.id in reasons else t for t in tags)


def is_open(tag: Tag) -> bool:
    """Return whether the hazard is still open.

    A STOP is until its cause is gone, whatever is written beside it, and so is a margin that rests on pencil: these go
    with a reading or a change. A CAUTION or NOTE is open until it is answered.
    """
    return tag.grade == "STOP" or tag.id == "pencil-under-stop" or tag.answered is None


def tally(tags: Iterable[Tag]) -> Tally:
    """Return the counts for the head of a page. A STOP counts as open although it is answered."""
    listed = tuple(tags)
    counted = [t.grade for t in listed if not t.standing and is_open(t)]
    return Tally(
        stop=counted.count("STOP"),
        caution=counted.count("CAUTION"),
        note=counted.count("NOTE"),
        answered=sum(t.answered is not None for t in listed),
        standing=sum(t.standing for t in listed),
    )


__all__ = [
    "Tally",
    "apply_answers",
    "chain_tags",
    "collect",
    "is_open",
    "rank",
    "room_tags",
    "rotor_tags",
    "shelf_tags",
    "site_tags",
    "supply_tags",
    "tally",
    "tank_tags",
]
