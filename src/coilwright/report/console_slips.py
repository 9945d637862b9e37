"""The slips, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coilwright.analyses.slips_results import SlipRow, SlipsResult, Telltale
from coilwright.analyses.telltales import OPEN_READS
from coilwright.report.console import LEGEND, Lookup, marked, print_block, print_indented, print_tags, sheet, shown
from coilwright.report.quantities import NOT_KNOWN, quantity


def print_slips(console: Console, result: SlipsResult, *, tags: bool = True) -> None:
    """Print every slip, the worst first: the numbers in a table, then what one sees and the telltale of each."""
    if tags:
        print_tags(console, result.tags)
    console.print(Text(f'Slips of "{result.arrangement}", the worst first', style="bold"))
    console.print()
    print_block(console, _numbers(result))
    console.print(Text("What one sees, and what exposes it", style="bold"))
    console.print()
    for number, row in enumerate(result.rows, start=1):
        console.print(Text(f"{number:>2}  {row.id}, {row.subject} ({_kills(row)})", style="bold"))
        lines = [f"{row.done[:1].upper()}{row.done[1:]}.", row.sees]
        lines += [_bands(row)] if row.bands else []
        if row.assumption:
            lines.append(f"Assumed: {row.assumption}.")
        lines += [_telltale(row.telltale), f"tag {row.tag}"]
        print_indented(console, lines, 4)
    console.print()
    print_indented(console, [f"- {note}" for note in result.notes], 0)
    console.print()
    print_block(console, Text(LEGEND))


def _numbers(result: SlipsResult) -> Table:
    table = sheet(
        "One mistake at a time (rms; open output unless said)",
        "",
        "slip",
        "across",
        "highest end",
        "short",
        "mains",
        "worst body",
        right=(0, 2, 3, 4, 5, 6),
    )
    right, known = result.right, Lookup(result.right.marks, {})
    usual = max((right.joints[j].to_earth for j in right.joints if right.joints[j].high), default=None)
    table.add_row(
        "",
        "as it should be",
        marked(str(quantity(right.open_circuit.voltage, "V")), known.mark("open_circuit.voltage")),
        marked(str(quantity(usual, "V")), known.mark("open_circuit.voltage")),
        marked(str(quantity(right.short_circuit.current, "A")), known.mark("short_circuit.current")),
        marked(
            str(quantity(right.open_circuit.mains_current_uncorrected, "A")),
            known.mark("open_circuit.mains_current_uncorrected"),
        ),
        "",
    )
    for number, row in enumerate(result.rows, start=1):
        highest = max(row.ends.values(), default=None)
        touch = row.touch
        body = NOT_KNOWN if touch is None else f"{shown(touch.current, 'A', row.mark)}\n{touch.where}"
        table.add_row(
            str(number),
            f"{row.id}\n{row.subject}",
            shown(row.open_voltage, "V", row.mark),
            shown(highest, "V", row.mark),
            shown(row.short_current, "A", row.mark) if row.peak is None else "gap open",
            shown(row.mains_current, "A", row.mains_mark),
            body,
        )
    return table


def _bands(row: SlipRow) -> str:
    """Return the 95 % bands of the row's numbers on one line."""
    numbers = (
        ("across", "open_voltage", row.open_voltage, "V"),
        ("mains", "mains_current", row.mains_current, "A"),
        ("worst body", "body_current", row.touch.current if row.touch else None, "A"),
    )
    known = [
        f"{name} {shown.band} {shown.unit}"
        for name, figure, value, unit in numbers
        if figure in row.bands and (shown := quantity(value, unit, row.bands[figure])).band
    ]
    return f"95 %: {'; '.join(known)}."


def _kills(row: SlipRow) -> str:
    touch = row.touch
    if row.lethal is None or touch is None:
        return "not known whether a touch kills"
    if not row.lethal:
        return "no place above the let-go current while it lasts"
    if row.id == "body-contact":
        return "kills"
    if touch.across:
        return f"kills from {touch.where}"
    if touch.metal:
        return f"kills at {touch.where}, taken for earthed"
    return f"kills at {touch.where}, as every high end does"


def _telltale(t: Telltale | None) -> str:
    if t is None:
        return "Telltale: none. No reading within the touch limit tells it from right: trace each lead, all drained."
    places = {"feed current": "in the feed", "limiter": "across the limiter"}
    between = places.get(t.test, f"between {t.between[0]} and {t.between[1]}")
    return f"Telltale {between}: right {_reading(t.right, t)}, wrong {_reading(t.wrong, t)} ({t.meter}). {t.how}"


def _reading(value: float, t: Telltale) -> str:
    if t.test == "resistance" and value >= OPEN_READS:
        return "open (1 Mohm or more)"
    if t.test == "resistance" and value < 0.01:
        return "0 ohm"
    return str(quantity(value, t.unit))
