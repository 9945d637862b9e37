"""The polarity sheet as tables."""

from __future__ import annotations

from rich.console import Console, RenderableType
from rich.text import Text

from coilwright.analyses.polarity_results import FurtherReading, PolarityResult
from coilwright.model.known import Estimate
from coilwright.report.console import LEGEND, marked, print_block, print_indented, print_tags, sheet
from coilwright.report.quantities import quantity

#: Sets of reversed windings that get a column; of more, the rest are rows below.
COLUMNS = 2


def print_polarity(console: Console, result: PolarityResult, *, tags: bool = True) -> None:
    """Print the sheet: how it is taken, what each pair reads, what the readings say, and what to read next."""
    if tags:
        print_tags(console, result.tags)
    console.print(Text(f'Polarity sheet of "{result.arrangement}"', style="bold"))
    console.print()
    print_indented(console, [f"{k}. {line}" for k, line in enumerate(result.procedure, start=1)], 0)
    console.print()
    a, b = result.reachable_between
    drive = f"Drive: {quantity(result.drive, 'V')} rms, 1 A fuse, between {result.at[0]} and {result.at[1]}."
    most = (
        f"The most within reach is {quantity(result.reachable, 'V')} rms, between {a} and {b}, whatever is reversed "
        f"({quantity(result.body_current, 'A')} through 1 kohm); the limit is 30 V rms = 42.4 V peak."
    )
    print_block(console, Text(f"{drive} {most}"), *_plug(result))
    for blind in result.blind:
        console.print(Text("What this sheet cannot tell", style="bold"))
        print_indented(console, [blind.words], 0)
        console.print()
    print_block(console, *_tables(result))
    print_block(console, Text(f"Readings: {result.words}"))
    for d in result.decoded if len(result.decoded) > 1 else ():
        print_indented(console, [f"- {' + '.join(d.reversed) or 'as wired'}: {d.remedy}"], 2)
    if result.next_reading is not None:
        _print_next(console, result.next_reading)
    print_indented(console, [f"- {note}" for note in result.notes], 0)
    console.print()
    print_block(console, Text(LEGEND))


def _plug(result: PolarityResult) -> list[Text]:
    if result.reachable_plug is None:
        return []
    volts = quantity(result.reachable_plug, "V")
    return [Text(f"The pins of the unplugged plug carry up to {volts} rms of that: keep it in sight and untouched.")]


def _tables(result: PolarityResult) -> list[RenderableType]:
    names = list(result.rows[0].reversed) if result.rows else []
    found: list[RenderableType] = []
    groups = [names[k : k + COLUMNS] for k in range(0, len(names), COLUMNS)] or [[]]
    for place, group in enumerate(groups):
        heads = ["as drawn", *(f"{name} reversed" for name in group)]
        title = "What the meter shows, V rms; below it the 95 % band" if place == 0 else "The same, more of it reversed"
        table = sheet(title, "between", *heads, "read", right=range(1, len(heads) + 2))
        for row in result.rows:
            cells = [_cell(row.right), *(_cell(row.reversed[name]) for name in group)]
            read = "____" if row.read is None else str(quantity(row.read, "V"))
            table.add_row(f"{row.between[0]}, {row.between[1]}", *cells, read)
        found.append(table)
    return found


def _cell(e: Estimate) -> str:
    shown = quantity(e.value, "V", (e.low, e.high))
    return f"{marked(str(shown), e.mark)}\n{shown.band}"


def _print_next(console: Console, further: FurtherReading) -> None:
    console.print(Text(f"Read next: {further.between[0]} to {further.between[1]}", style="bold"))
    lines = [further.why]
    lines += [f"{quantity(volts, 'V')} if {name}" for name, volts in further.expected.items()]
    print_indented(console, lines, 2)
    console.print()
