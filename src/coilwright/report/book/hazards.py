"""Hazards first: every tag whole, in the order of the printed book, and the sheet on which they are ticked off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coilwright.protection.tag import GRADE_ORDER, Tag
from coilwright.report.blocks import Block, CheckItem, CheckSheet, Heading, Section, SignOff, TagBlock

SECTIONS: tuple[Section, ...] = ("local code", "STOP open", "STOP standing", "CAUTION", "NOTE")
LOCAL_CODE = "local-code"

_TITLES: dict[Section, str] = {
    "STOP open": "STOP: open on this design",
    "STOP standing": "STOP: standing, on every machine of this kind",
    "CAUTION": "CAUTION",
    "NOTE": "NOTE",
}


def in_order(tags: Iterable[Tag]) -> tuple[Tag, ...]:
    """Return the tags in printed order: local code, open STOP, standing STOP, CAUTION, NOTE; ranked as they came."""
    return tuple(sorted(tags, key=lambda tag: SECTIONS.index(section_of(tag))))


def section_of(tag: Tag) -> Section:
    """Return the group in which a tag is printed."""
    if tag.id == LOCAL_CODE:
        return "local code"
    if tag.grade == "STOP":
        return "STOP open" if tag.blocks else "STOP standing"
    return tag.grade


def open_stops(tags: Iterable[Tag]) -> int:
    """Return how many tags keep this design from being built: STOPs that are not standing, answered or not."""
    return sum(tag.blocks for tag in tags)


def counts(tags: Iterable[Tag]) -> tuple[tuple[Section, int], ...]:
    """Return how many tags stand in each group, groups in printed order, the local-code line apart."""
    sections = [section_of(tag) for tag in tags]
    return tuple((section, sections.count(section)) for section in SECTIONS[1:])


def hazard_blocks(tags: tuple[Tag, ...]) -> Iterator[Block]:
    """Yield every tag as a block under the heading of its group."""
    yield Heading("What can kill or hurt here")
    previous: Section = "local code"
    for tag in tags:
        section = section_of(tag)
        if section != previous:
            yield Heading(_TITLES[section], 2)
            previous = section
        yield TagBlock(tag, section)


def check_blocks(tags: tuple[Tag, ...]) -> Iterator[Block]:
    """Yield the check sheet: one line to tick for every tag, and the places to sign."""
    items = tuple(
        CheckItem(tag.grade, tag.what, tag.do, tag.where)
        for tag in sorted(tags, key=lambda tag: GRADE_ORDER.index(tag.grade))
        if tag.id != LOCAL_CODE
    )
    if not items:
        return
    yield Heading("Check sheet")
    yield CheckSheet(
        "check",
        "Before the isolator is closed, each time",
        items,
        "A tick says that you have looked at the thing itself, today. A line without a tick keeps the isolator open.",
    )
    yield SignOff(("checked by", "second person", "date and time"))
