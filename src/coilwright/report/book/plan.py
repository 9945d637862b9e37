"""The sheet of the plan: what the shelf can make, and what was refused and why."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.results import PlanResult, RankedRow, RefusedRow
from coilwright.report.blocks import Block, Cell, Column, Grid, Heading, Paragraph
from coilwright.report.quantities import figures, fixed

NAMES_SHOWN = 4


def plan_blocks(plan: PlanResult | None) -> Iterator[Block]:
    """Yield the ranked rows, or what is nearest when there is none, and the refused groups with their reasons."""
    if plan is None:
        return
    yield Heading("What this shelf can make")
    yield Paragraph(f"{plan.considered} arrangements were considered. A lower score is better.", "small")
    if plan.ranked:
        yield _ranked(plan.ranked)
    else:
        yield Paragraph("Nothing on this shelf makes a supply.", "warning")
    if plan.nearest:
        yield Paragraph(f"Nearest: {plan.nearest}")
    if plan.refused:
        yield _refused(plan.refused)


def _ranked(rows: tuple[RankedRow, ...]) -> Grid:
    def cells(place: int, row: RankedRow) -> tuple[Cell, ...]:
        numbers = (
            (fixed(row.open_voltage, 1e3), row.output_mark),
            (fixed(row.short_current, 1e-3), row.output_mark),
            (fixed(row.apparent_power, 1), row.output_mark),
            (fixed(row.mains_current, 1), row.mains_mark),
            (fixed(row.mains_current_corrected, 1), row.mains_mark),
            (figures(row.power_factor), row.mains_mark),
            (figures(row.score), row.mains_mark),
        )
        return (
            Cell(str(place), strong=True),
            Cell(row.name, strong=True),
            *(Cell(number, mark) for number, mark in numbers),
        )

    columns = (
        Column("row", align="right"),
        Column("supply; below it, why it stands here", share=1),
        Column("open", "kV rms", "right"),
        Column("short", "mA", "right"),
        Column("product", "VA", "right"),
        Column("mains, bare", "A", "right"),
        Column("mains, corr.", "A", "right"),
        Column("power factor", "ratio", "right"),
        Column("score", "points", "right"),
    )
    return Grid(
        "ranked",
        "Ranked supplies",
        columns,
        tuple(cells(place, row) for place, row in enumerate(rows, 1)),
        (
            "Bare: the largest of open, best power and short-circuited, with every correction capacitor failed open.",
            "Corr.: the same with them working. Bands are worked out for the chosen supply only.",
            "The peak with the tank attached and the gap missing is not known here: it needs a chosen supply.",
        ),
        tuple(tuple(_words(row)) for row in rows),
    )


def _words(row: RankedRow) -> Iterator[str]:
    if row.parts:
        yield "parts: " + ", ".join(row.parts)
    if row.why:
        yield "; ".join(row.why)
    highest = max(row.cores.values(), default=0.0)
    if highest > 1.0:
        yield f"core potential to earth up to {fixed(highest, 1e3)} kV rms"
    if row.twins:
        yield f"near twins: {_some(row.twins)}"
    stops = [tag.id for tag in row.tags if tag.blocks]
    if stops:
        yield "STOP: " + ", ".join(stops)


def _refused(rows: tuple[RefusedRow, ...]) -> Grid:
    columns = (
        Column("refused", share=2),
        Column("how many", "rows", "right"),
        Column("because", share=4),
        Column("tag"),
    )
    return Grid(
        "refused",
        "Refused, grouped by reason",
        columns,
        tuple(
            (
                Cell(r.name if not r.names or r.names == (r.name,) else f"{r.name}: {_some(r.names)}"),
                Cell(str(max(len(r.names), 1))),
                Cell("\n".join(r.reasons)),
                Cell(r.tag),
            )
            for r in rows
        ),
    )


def _some(names: tuple[str, ...]) -> str:
    more = len(names) - NAMES_SHOWN
    return "; ".join(names[:NAMES_SHOWN]) + (f"; and {more} more" if more > 0 else "")
