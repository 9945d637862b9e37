"""The sheet of the spark gap."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.tank_results import GapResult, TankResult
from coilwright.report.blocks import (
    Block,
    Cell,
    CheckItem,
    CheckSheet,
    Column,
    Drawing,
    Figure,
    Grid,
    Heading,
    Paragraph,
    Row,
    Table,
)
from coilwright.report.drawing.gap_layout import gap_layout
from coilwright.report.estimate_words import estimate_row
from coilwright.report.plots.gap_curve import draw_gap_curve
from coilwright.report.quantities import PLAIN, figures, fixed
from coilwright.report.tank_gap_rows import curve_rows, fires_words, gap_rows, gap_title

#: How the sentences begin that tell of something wrong.
WARNED = ("The gap is wider", "It may not fire", "Set too wide", "Its setting is within the ratings, its", "No rating")
#: Before every setting: the rule of the safety-gap tag, common practice, no source.
SETTING = (
    "Plug pulled, in the pocket of whoever sets the gap; tank discharged, drained and shorted",
    "Tank disconnected, ballast in place; narrow until it fires, then open until it just does not",
    "Lock the electrodes; check that no setting passes the largest one above",
)


def gap_blocks(result: TankResult) -> Iterator[Block]:
    """Yield the gap's figures, what they mean, the drawing, the curve and the limits; nothing where there is none."""
    gap = result.gap
    if gap is None:
        return
    yield Heading("Spark gap", 2)
    yield Table("gap", gap_title(gap), (*(estimate_row(*row) for row in gap_rows(gap)), *_plain(gap)))
    for line in gap.words:
        yield Paragraph(line, "warning" if line.startswith(WARNED) else "plain")
    if gap.spacing_each is not None:
        yield Drawing(
            "gap layout",
            "The gap to scale, and one spacing enlarged.",
            f"{gap.segments + 1} electrodes in a row, the spacing between them dimensioned.",
            gap_layout(gap),
        )
    yield Figure(
        "gap curve",
        "Cold breakdown over spacing. Grey: 95 % of what such a gap does. Diamond: as stated. Heavy line: the largest "
        "setting, dashed where its rating is pencil.",
        "Breakdown volts of the gap against its spacing, with band, setting and largest setting.",
        lambda axes: draw_gap_curve(gap, axes),
        0.085,
    )
    yield _curve(gap)
    yield CheckSheet("gap setting", "Before the gap is set", tuple(CheckItem("STOP", line, "") for line in SETTING))
    for line in gap.limits:
        yield Paragraph(line, "small")


def _plain(gap: GapResult) -> Iterator[Row]:
    yield Row(
        "does this supply fire it", fires_words(gap), "", "", None, "middle of the band against the supply's peak"
    )
    yield Row(
        "scatter, one sigma", figures(100 * gap.spread), "%", "", "pencil", "clean and cold; hot, dusty 10 % (assumed)"
    )
    yield Row("air density ratio", f"{gap.air_density_ratio:.3f}", PLAIN, "", "pencil", "over 20 degC, 101.3 kPa")
    yield Row("moisture", figures(1e3 * gap.humidity), "g/m3", "", "pencil", "absolute; 8.5 g/m3 is the reference")


def _curve(gap: GapResult) -> Grid:
    columns = (
        Column("spacing" if gap.segments == 1 else f"each of {gap.segments}", "mm", "right"),
        Column("breaks down, peak", "kV", "right"),
        Column("95 % band", "kV", share=1),
    )
    rows = tuple(
        (
            Cell(fixed(p.spacing, 1e-3)),
            Cell(fixed(p.peak, 1e3), "pencil"),
            Cell(f"{fixed(p.low, 1e3)} to {fixed(p.high, 1e3)}"),
        )
        for p in curve_rows(gap)
    )
    return Grid("gap curve rows", "Cold breakdown over spacing", columns, rows)


__all__ = ["gap_blocks"]
