"""The supplies that the shelf can make, and those it cannot, as tables."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from coilwright.analyses.results import PlanResult, RankedRow, RefusedRow
from coilwright.report.console import LEGEND, marked, print_block, print_indented, print_tags, sheet
from coilwright.report.quantities import figures, quantity

#: Names that are written out of a long list; the rest is counted, and --json lists all.
WRITTEN_OUT = 3
_MEANS = (
    "mains: the largest of open, best power and short, with every correction capacitor failed open. "
    "PF: power factor at best power. The tank without its gap is not known here: `supply` computes it. "
    "The hazards of a row are those of its structure: `supply` solves the rest (body, cores, bonds, insulation, "
    "bleeders) and raises more."
)


def print_plan(
    console: Console,
    result: PlanResult,
    *,
    tags: bool = True,
    rows: int | None = None,
) -> None:
    """Print the plan. ``rows`` limits the ranked rows that are written out (None: all); every refused one is shown."""
    if tags:
        print_tags(console, result.tags)
    ranked = result.ranked if rows is None else result.ranked[:rows]
    if ranked:
        _print_ranked(console, ranked, len(result.ranked))
    else:
        print_block(console, Text("Nothing could be ranked."))
    if result.nearest:
        print_block(console, Text(result.nearest))
    if result.refused:
        console.print(Text("Refused, by reason", style="bold"))
        for number, refused in enumerate(result.refused, start=len(result.ranked) + 1):
            _print_refused(console, number, refused)
        console.print()
    print_block(console, Text(f"{result.considered} considered in {figures(result.seconds)} s"))


def _print_ranked(console: Console, ranked: Sequence[RankedRow], count: int) -> None:
    title = "Supplies that this shelf can make, best first (score: lower is better)"
    table = sheet(title, "#", "score", "open", "short", "mains", "PF", "supply", right=range(6))
    for number, row in enumerate(ranked, start=1):
        table.add_row(
            str(number),
            figures(row.score),
            marked(str(quantity(row.open_voltage, "V")), row.output_mark),
            marked(str(quantity(row.short_current, "A")), row.output_mark),
            marked(str(quantity(row.mains_current, "A")), row.mains_mark),
            marked(figures(row.power_factor, 2), row.mains_mark),
            row.name,
        )
    print_block(console, table)
    for number, row in enumerate(ranked, start=1):
        lines = ["; ".join(row.why)] if row.why else []
        if row.twins:
            lines.append(f"near twins: {_some(row.twins)}")
        lines += [
            f"{tag.grade} {tag.id}"
            + (f" at {tag.where}" if tag.where else "")
            + (f": {tag.value}" if tag.value else "")
            for tag in row.tags
        ]
        if lines:
            console.print(Text(f"{number:>2}  {row.name}"))
            print_indented(console, lines, 4)
    if len(ranked) < count:
        console.print(Text(f"... and {count - len(ranked)} more ranked: `coilwright plan` shows all."))
    console.print()
    print_block(console, Text(_MEANS), Text(LEGEND))


def _print_refused(console: Console, number: int, row: RefusedRow) -> None:
    names = row.names or (row.name,)
    console.print(Text(f"{number:>2}  {_some(names)}"))
    print_indented(console, row.reasons, 4)


def _some(names: Sequence[str]) -> str:
    more = len(names) - WRITTEN_OUT
    shown = "; ".join(names[:WRITTEN_OUT])
    return f"{shown}; and {more} more (--json lists them)" if more > 0 else shown
