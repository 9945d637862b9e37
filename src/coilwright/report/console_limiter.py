"""The test through a series limiter, as tables: what is still deadly first."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coilwright.analyses.limiter_results import LimitedPoint, LimiterResult
from coilwright.report.console import print_block, print_indented, sheet, shown
from coilwright.report.quantities import quantity


def print_limiter(console: Console, result: LimiterResult, *, short: bool = False) -> None:
    """Print the test: the warning, the readings, the verdict, the lamps and heaters that would do, the mistakes.

    ``short`` leaves out the mistakes, puts each band beside its value and the notes into one paragraph.
    """
    name = f"{quantity(result.power, 'W')} {result.kind}"
    console.print(Text(f"In series with the line: a {name}", style="bold"))
    print_indented(console, [result.deadly], 0)
    console.print()
    print_block(console, _readings(result, short=short))
    verdict, said = f"Tells open from shorted: {'yes' if result.separates else 'NO'}.", [result.words, _choices(result)]
    if short:
        print_indented(console, [" ".join([verdict, *said])], 0)
    else:
        console.print(Text(verdict, style="bold"))
        print_indented(console, said, 0)
        console.print()
    if result.slips and not short:
        print_block(console, _slips(result))
    if result.taken_off:
        print_indented(console, [f"Taken off for this test: {', '.join(result.taken_off)}."], 0)
    if result.unconverged:
        print_indented(console, [f"Not known, because it did not converge: {', '.join(result.unconverged)}."], 0)
    notes = [f"- {note}" for note in result.notes]
    print_indented(console, [" ".join(result.notes)] if short else notes, 0)
    if not short:
        console.print()


def _readings(result: LimiterResult, *, short: bool) -> Table:
    table = sheet("What it shows (rms unless peak; with 95 % bands)", "", "output open", "output shorted", right=(1, 2))
    rows: tuple[tuple[str, str, str], ...] = (
        (f"across the {result.kind}", "limiter_voltage", "V"),
        ("left for the set", "set_voltage", "V"),
        ("current", "current", "A"),
        ("output", "output_voltage", "V"),
        ("output peak", "output_peak", "V"),
        ("output current", "output_current", "A"),
    )
    for label, field, unit in rows:
        cells = [_cell(p, field, unit, result) for p in (result.opened, result.shorted)]
        table.add_row(label, *(", ".join(c.split("\n")) if short else c for c in cells))
    return table


def _cell(point: LimitedPoint, field: str, unit: str, result: LimiterResult) -> str:
    return shown(getattr(point, field), unit, result.mark, point.bands.get(field))


def _choices(result: LimiterResult) -> str:
    good = [c for c in result.choices if c.separates]
    if not good:
        return "No usual lamp or heater from 25 W to 2 kW tells open from shorted with this supply."
    parts = []
    for kind in dict.fromkeys(c.kind for c in good):
        powers = ", ".join(str(quantity(c.power, "W")) for c in good if c.kind == kind)
        parts.append(f"{kind}s of {powers}")
    return f"Those that would tell: {'; '.join(parts)}. The smallest of them lets through the least."


def _slips(result: LimiterResult) -> Table:
    title = f"Volts across the {result.kind}: wired right, then with one mistake (* differs enough to be seen)"
    table = sheet(title, "mistake", "output open", "output shorted", right=(1, 2))
    mark = result.mark
    table.add_row("none", *(shown(p.limiter_voltage, "V", mark) + "  " for p in (result.opened, result.shorted)))
    for slip in result.slips:
        cells = ((slip.open_voltage, slip.tells_open), (slip.short_voltage, slip.tells_short))
        table.add_row(slip.done, *(shown(volts, "V", mark) + (" *" if tells else "  ") for volts, tells in cells))
    return table
