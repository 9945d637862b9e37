"""What each part really is, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from coilwright.analyses.results import NextReading, PartResult, ShelfResult
from coilwright.report.console import LEGEND, marked, print_block, print_tags, sheet
from coilwright.report.quantities import quantity


def print_shelf(console: Console, result: ShelfResult, *, tags: bool = True, short: bool = False) -> None:
    """Print the shelf. ``short`` leaves the tables of values away and keeps every finding and every tag."""
    if tags:
        print_tags(console, result.tags)
    if not result.parts:
        print_block(console, Text("The shelf is empty: nothing to identify."))
        return
    if not short:
        for part in result.parts.values():
            _print_part(console, part)
        print_block(console, Text(LEGEND))
    _print_findings(console, result)
    _print_next(console, result.next_reading)


def _print_part(console: Console, part: PartResult) -> None:
    title = f"{part.id}  {part.kind}{'' if part.usable else '  NOT USABLE'}"
    table = sheet(title, "quantity", "value", "95 % band", "from", right=(1, 2))
    for name, estimate in part.values.items():
        number = quantity(estimate.value, estimate.unit, (estimate.low, estimate.high))
        table.add_row(name.replace("_", " "), marked(str(number), estimate.mark), number.band, estimate.basis)
    print_block(console, table if part.values else Text(f"{title}: nothing is known of it"))
    if not part.usable and part.why_not:
        print_block(console, Text(f"{part.id} cannot be used: {part.why_not}"))


def _print_findings(console: Console, result: ShelfResult) -> None:
    notes = [note for part in result.parts.values() for note in part.readings]
    if not notes:
        print_block(console, Text("No reading is in doubt."))
        return
    table = sheet("Readings in doubt", "grade", "where", "what does not fit, and the way out")
    for note in notes:
        table.add_row(note.grade, note.where, f"{note.message}\n-> {note.hint}" if note.hint else note.message)
    print_block(console, table)


def _print_next(console: Console, readings: tuple[NextReading, ...]) -> None:
    if not readings:
        print_block(console, Text("No further reading would narrow anything that matters."))
        return
    table = sheet("Readings to take next", "#", "part", "what, how and with what", "hazard", "narrows", right=(0,))
    for number, reading in enumerate(readings, start=1):
        before = quantity(sum(reading.band_before) / 2, reading.unit, reading.band_before)
        after = quantity(sum(reading.band_after) / 2, reading.unit, reading.band_after)
        table.add_row(
            str(number),
            reading.part,
            f"{reading.what} ({reading.instrument})\n{reading.how}".strip(),
            f"{reading.hazard}: {reading.hazard_words}",
            f"{reading.narrows}\n{before.band} {before.unit}\nto {after.band} {after.unit}",
        )
    print_block(console, table)
