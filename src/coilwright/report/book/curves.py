"""Curves of the supply, the tank with its gap missing, and heat."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.results import SupplyResult
from coilwright.report.blocks import Block, Cell, Column, Figure, Grid, Heading, Paragraph, Row, Table
from coilwright.report.book.marks import mark_of
from coilwright.report.plots.droop import draw_droop
from coilwright.report.plots.gap_missing import answered, draw_gap_missing
from coilwright.report.quantities import fixed, quantity


def curve_blocks(result: SupplyResult) -> Iterator[Block]:
    """Yield the curves: droop, and the tank with its gap missing."""
    yield Heading("Curves")
    yield Figure(
        "droop",
        "Droop: output voltage against current. Rings: open and short-circuited, with their 95 % bands as grey bars; "
        "diamond: best power; thin lines: resistive loads.",
        "Output voltage falls from the open-circuit value to zero at the short-circuit current.",
        lambda axes: draw_droop(result, axes),
        0.080,
    )
    yield Figure(
        "gap missing",
        "Tank attached, gap missing: the highest steady state found at each tank capacitance. The heavy line is "
        "the weakest rating to earth, dashed where it is pencil; compare it with the higher end to earth.",
        "Peak volts against tank capacitance with the gap missing.",
        lambda axes: draw_gap_missing(result, axes),
        0.080,
    )
    yield _gap_missing(result)


def _gap_missing(result: SupplyResult) -> Block:
    scan = result.gap_missing
    if scan is None:
        return Paragraph(
            "Gap missing: not known. Until it has been computed, count on more than the open-circuit peak.", "warning"
        )
    limit = quantity(scan.limit_peak, "V")
    rows = []
    for words, point in (("own tank", scan.own), ("worst found", scan.worst)):
        if point is None:
            basis = "the project states no tank" if point is scan.own else "no point computed"
            rows.append(Row(words, "not known", "V", "", "pencil", basis))
            continue
        mark = mark_of(result, "gap_missing.own.peak", "gap_missing")
        size = str(quantity(point.capacitance, "F"))
        if not answered(point):
            rows.append(Row(f"{words}, {size}: peak across", "not known", "V", "", "pencil", "no converged answer"))
            continue
        shown = quantity(point.peak, "V", point.peak_band)
        edge = "still rising there: a larger tank may be worse" if point == scan.worst and scan.still_rising else ""
        rows.append(Row(f"{words}, {size}: peak across", shown.text, shown.unit, shown.band, mark, edge))
        for joint, peak in point.ends_peak.items():
            end = quantity(peak, "V", point.ends_band.get(joint))
            rows.append(
                Row(
                    f"  {joint} to earth, peak",
                    end.text,
                    end.unit,
                    end.band,
                    mark,
                    "ABOVE the weakest rating" if peak > scan.limit_peak else "within the weakest rating",
                )
            )
    rows.append(Row("weakest rating to earth, peak", limit.text, limit.unit, "", scan.limit_mark, scan.limit_where))
    resonant = quantity(scan.resonant_capacitance, "F")
    rows.append(Row("resonant with the mains at", resonant.text, resonant.unit, "", mark_of(result, "gap_missing")))
    return Table("gap missing", "Gap missing, in numbers", tuple(rows))


def heat_blocks(result: SupplyResult) -> Iterator[Block]:
    """Yield heat and duty of each part; temperatures are "not known" without mass and surface or a reading."""
    if not result.heat:
        return
    columns = (
        Column("part"),
        Column("loss, best power", "W", "right"),
        Column("loss, shorted", "W", "right"),
        Column("rise", "K", "right"),
        Column("on time from cold", "s", "right"),
        Column("duty", "%", "right"),
        Column("basis", share=1),
    )
    rows = []
    for key, heat in result.heat.items():
        mark = mark_of(result, f"heat.{key}.loss", f"heat.{key}")
        rise, on_time = heat.temperature_rise, heat.on_time
        rows.append(
            (
                Cell(key),
                Cell(fixed(heat.loss, 1), mark),
                Cell(fixed(heat.loss_short, 1), mark),
                Cell(fixed(rise.value if rise else None, 1), rise.mark if rise else None),
                Cell(fixed(on_time.value if on_time else None, 1), on_time.mark if on_time else None),
                Cell(fixed(heat.duty, 0.01)),
                Cell(heat.basis),
            )
        )
    yield Grid(
        "heat",
        "Heat and duty",
        columns,
        tuple(rows),
    )
