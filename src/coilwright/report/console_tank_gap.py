"""The spark gap of the tank stage, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from coilwright.analyses.tank_results import GapResult, TankResult
from coilwright.report.console import estimate_cells, marked, print_block, print_indented, sheet
from coilwright.report.quantities import fixed
from coilwright.report.tank_gap_rows import curve_rows, fires_words, gap_rows, gap_title, plain_rows


def print_gap(console: Console, result: TankResult) -> None:
    """Print what the gap fires at, how wide it is and may be, its curve, and the limits of the model."""
    gap = result.gap
    if gap is None:
        print_indented(console, ["The project states no spark gap: write [gap]."], 0)
        console.print()
        return
    print_block(console, _figures(gap))
    print_indented(console, [f"- {line}" for line in gap.words], 0)
    console.print()
    print_block(console, _curve(gap))
    print_indented(console, [f"limit: {line}" for line in gap.limits], 0)
    console.print()


def _figures(gap: GapResult) -> Table:
    table = sheet(gap_title(gap), "", "value", "95 % band", "how", right=(1,))
    for row in gap_rows(gap):
        table.add_row(*estimate_cells(*row))
    table.add_row("does this supply fire it", fires_words(gap), "", "middle of the band against the supply's peak")
    for label, text, how in plain_rows(gap):
        table.add_row(label, marked(text, "pencil"), "", how)
    return table


def _curve(gap: GapResult) -> Table:
    each = "spacing, mm" if gap.segments == 1 else f"each of {gap.segments}, mm"
    table = sheet("Cold breakdown over spacing", each, "kV peak", "95 % band, kV", right=(0, 1))
    for point in curve_rows(gap):
        table.add_row(
            fixed(point.spacing, 1e-3),
            marked(fixed(point.peak, 1e3), "pencil"),
            f"{fixed(point.low, 1e3)} to {fixed(point.high, 1e3)}",
        )
    return table


__all__ = ["print_gap"]
