"""Sheets of the shelf: every part with its values, the doubtful readings, and the readings worth taking next."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.results import PartResult, ShelfResult
from coilwright.model.design import Arrangement, Design
from coilwright.report.blocks import Block, Cell, Column, Grid, Heading, Paragraph, Table
from coilwright.report.estimate_words import estimate_row
from coilwright.report.quantities import quantity


def used_parts(arrangement: Arrangement | None) -> frozenset[str]:
    """Return the ids of the parts whose terminals the arrangement joins."""
    if arrangement is None:
        return frozenset()
    return frozenset(t.partition(".")[0] for joint in arrangement.joints.values() for t in joint) - {"mains"}


def part_blocks(design: Design, shelf: ShelfResult | None) -> Iterator[Block]:
    """Yield the part list: parts of the chosen supply first, each with its values, bands and marks."""
    yield Heading("Part list")
    if shelf is None or not shelf.parts:
        yield Paragraph("No part of the shelf has been worked out yet.")
        return
    used = used_parts(design.chosen())
    for part in sorted(shelf.parts.values(), key=lambda p: p.id not in used):
        yield _part(design, part, in_use=part.id in used)


def _part(design: Design, part: PartResult, *, in_use: bool) -> Table:
    own = next((p for p in design.shelf() if p.id == part.id), None)
    place = "in this supply" if in_use else "on the shelf" if part.usable else "not usable"
    count = f" · {own.count} of them" if own is not None and own.count > 1 else ""
    note = " ".join(words for words in (part.why_not, own.notes if own is not None else "") if words)
    rows = tuple(estimate_row(key.replace("_", " "), value) for key, value in part.values.items())
    return Table(f"part {part.id}", f"{part.id} · {part.kind} · {place}{count}", rows, note)


def reading_blocks(shelf: ShelfResult | None) -> Iterator[Block]:
    """Yield what is doubtful on the shelf and which readings would help most."""
    if shelf is None:
        return
    yield Heading("Shelf: doubtful readings, and the next ones to take")
    notes = [(part.id, note) for part in shelf.parts.values() for note in part.readings]
    if notes:
        yield Grid(
            "doubtful",
            "Doubtful readings",
            (
                Column("part"),
                Column("grade"),
                Column("where", share=2),
                Column("what is wrong", share=4),
                Column("way out", share=3),
            ),
            tuple(
                (
                    Cell(name, strong=True),
                    Cell(n.grade, strong=n.grade == "STOP"),
                    Cell(n.where),
                    Cell(n.message),
                    Cell(n.hint),
                )
                for name, n in sorted(notes, key=lambda pair: ("STOP", "CAUTION", "NOTE").index(pair[1].grade))
            ),
        )
    else:
        yield Paragraph("No reading on the shelf is in doubt.")
    if not shelf.next_reading:
        yield Paragraph("No further reading is proposed.")
        return
    rows = []
    for reading in shelf.next_reading:
        before = quantity(reading.band_before[0], reading.unit, reading.band_before)
        after = quantity(reading.band_after[0], reading.unit, reading.band_after)
        rows.append(
            (
                Cell(reading.part, strong=True),
                Cell(reading.what),
                Cell(reading.instrument),
                Cell(f"{reading.hazard} of 3: {reading.hazard_words}", strong=reading.hazard > 0),
                Cell(f"{reading.narrows}: {before.band} {before.unit} becomes {after.band} {after.unit}"),
            )
        )
    yield Grid(
        "next",
        "Readings worth taking next, the least dangerous first",
        (
            Column("part"),
            Column("reading; below it, how", share=4),
            Column("with", share=2),
            Column("hazard", share=3),
            Column("narrows (95 % band)", share=3),
        ),
        tuple(rows),
        details=tuple((reading.how,) if reading.how else () for reading in shelf.next_reading),
    )
