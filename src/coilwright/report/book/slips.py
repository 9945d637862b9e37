"""The table of slips on paper: every single mistake, the worst first, with the reading that exposes it."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from coilwright.analyses.slips_results import SlipRow, SlipsResult, Telltale
from coilwright.report.blocks import Block, Cell, Column, Grid, Heading, Paragraph
from coilwright.report.quantities import fixed, quantity


def slip_blocks(result: SlipsResult | None) -> Iterator[Block]:
    """Yield the slips sorted by harm, each with what is seen and its telltale."""
    if result is None:
        return
    yield Heading("Slips: what each single mistake does")
    yield Paragraph(
        "The worst first. KILLS: a body at that place carries more than the let-go current where a hand would not "
        "expect it, or more than without the slip. The telltale is read with the plug out.",
        "warning",
    )
    columns = (
        Column("rank"),
        Column("mistake; below it, what you would see", share=3),
        Column("kills"),
        Column("across", "kV rms", "right"),
        Column("body", "mA", "right"),
        Column("mains, open", "A", "right"),
        Column("telltale, between", share=2),
        Column("right"),
        Column("wrong"),
    )
    yield Grid(
        "slips",
        "",
        columns,
        tuple(_row(k, r) for k, r in enumerate(result.rows, start=1)),
        result.notes,
        tuple(_details(r) for r in result.rows),
    )


def _row(place: int, r: SlipRow) -> tuple[Cell, ...]:
    kills = {True: "KILLS", False: "no", None: "not known"}[r.lethal]
    touch = r.touch
    t = r.telltale
    return (
        Cell(str(place), strong=True),
        Cell(r.done, strong=True),
        Cell(kills, strong=bool(r.lethal)),
        Cell(fixed(r.open_voltage, 1e3), r.mark),
        Cell("-" if touch is None else fixed(touch.current, 1e-3), None if touch is None else r.mark),
        Cell(fixed(r.mains_current, 1), r.mark),
        Cell("none before the mains is on" if t is None else f"{t.between[0]} to {t.between[1]}"),
        Cell("-" if t is None else _reads(t, t.right)),
        Cell("-" if t is None else _reads(t, t.wrong)),
    )


def _reads(t: Telltale, value: float) -> str:
    if not isfinite(value) or (t.test == "resistance" and value >= 1e6):
        return "open"
    return str(quantity(value, t.unit))


def _details(r: SlipRow) -> tuple[str, ...]:
    lines = [r.sees]
    if r.telltale is not None:
        lines.append(f"Telltale with {r.telltale.meter}. {r.telltale.how}")
    if r.assumption:
        lines.append(f"Assumed: {r.assumption}.")
    if r.unsolved:
        lines.append(f"Not known, no converged answer: {', '.join(r.unsolved)}.")
    return tuple(line for line in lines if line)


__all__ = ["slip_blocks"]
