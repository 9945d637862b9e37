"""The table of slips on paper: every single mistake, the worst first, with the reading that exposes it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from math import isfinite

from coilwright.analyses.slips_results import SlipRow, SlipsResult, Telltale
from coilwright.report.blocks import Block, Cell, Column, Grid, Heading, Paragraph
from coilwright.report.quantities import fixed, quantity

#: Names of the methods that several telltales share.
LETTERS = "ABCDEF"


def slip_blocks(result: SlipsResult | None) -> Iterator[Block]:
    """Yield the slips sorted by harm, each with what is seen and its telltale."""
    if result is None:
        return
    yield Heading("Slips: what each single mistake does")
    yield Paragraph(
        "The worst first. KILLS: a body at that place carries more than the let-go current where a hand would not "
        "expect it, or more than without the slip. The telltale is read with the plug out. Below a number stands its "
        "95 % band.",
        "warning",
    )
    methods = _methods(result)
    for letter, (meter, how) in zip(LETTERS, methods, strict=False):
        yield Paragraph(f"Method {letter}, {meter}. {how}")
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
        tuple(_details(r, methods) for r in result.rows),
    )


def _row(place: int, r: SlipRow) -> tuple[Cell, ...]:
    kills = {True: "KILLS", False: "no", None: "not known"}[r.lethal]
    touch = r.touch
    t = r.telltale
    return (
        Cell(str(place), strong=True),
        Cell(r.done, strong=True),
        Cell(kills, strong=bool(r.lethal)),
        _number(r, "open_voltage", r.open_voltage, 1e3),
        Cell("-") if touch is None else _number(r, "body_current", touch.current, 1e-3),
        _number(r, "mains_current", r.mains_current, 1),
        Cell("none before the mains is on" if t is None else f"{t.between[0]} to {t.between[1]}"),
        Cell("-" if t is None else _reads(t, t.right)),
        Cell("-" if t is None else _reads(t, t.wrong)),
    )


def _number(r: SlipRow, figure: str, value: float | None, unit: float) -> Cell:
    """Return the value with its 95 % band below it, where it has one."""
    band = r.bands.get(figure)
    mark = r.mains_mark if figure == "mains_current" else r.mark
    return Cell(fixed(value, unit) + (f"\n{fixed(band[0], unit)}-{fixed(band[1], unit)}" if band else ""), mark)


def _reads(t: Telltale, value: float) -> str:
    if not isfinite(value) or (t.test == "resistance" and value >= 1e6):
        return "open"
    if t.test == "resistance" and value < 0.01:
        return "0 ohm"
    return str(quantity(value, t.unit))


def _methods(result: SlipsResult) -> list[tuple[str, str]]:
    """Return instrument and procedure that several telltales share, as often used first."""
    used = Counter((r.telltale.meter, r.telltale.how) for r in result.rows if r.telltale is not None)
    return [method for method, times in used.most_common(len(LETTERS)) if times > 1]


def _details(r: SlipRow, methods: list[tuple[str, str]]) -> tuple[str, ...]:
    lines = [r.sees]
    if r.telltale is not None:
        own = (r.telltale.meter, r.telltale.how)
        if own in methods:
            lines[0] += f" Telltale: method {LETTERS[methods.index(own)]}."
        else:
            lines.append(f"Telltale with {r.telltale.meter}. {r.telltale.how}")
    if r.assumption:
        lines.append(f"Assumed: {r.assumption}.")
    if r.unsolved:
        lines.append(f"Not known, no converged answer: {', '.join(r.unsolved)}.")
    return tuple(line for line in lines if line)


__all__ = ["slip_blocks"]
