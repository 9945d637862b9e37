"""Tank capacitor and home-made plates on paper."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.tank_plates import plates_words
from coilwright.analyses.tank_results import PlatesResult, SizeResult, TankResult
from coilwright.model.known import Mark
from coilwright.report.blocks import Block, Cell, Column, Drawing, Figure, Grid, Heading, Paragraph, Row, Table
from coilwright.report.drawing.plates_layout import plates_svg
from coilwright.report.estimate_words import estimate_row
from coilwright.report.plots.tank_range import draw_tank_range
from coilwright.report.quantities import figures, fixed, quantity


def size_blocks(result: TankResult) -> Iterator[Block]:
    """Yield the size of the tank capacitor: figures, what larger and smaller ones do, the range drawn, the scan."""
    size = result.size
    yield Heading("Size of the tank capacitor", 2)
    yield Table("tank size", "The tank", tuple(_rows(size)), "Volts with the gap missing are the scan's highest state.")
    for line in size.words:
        yield Paragraph(line)
    yield Figure(
        "tank range",
        "Tank attached, gap missing: peak volts against tank capacitance. Hatched: every rated place holds. Heavy "
        "lines: the weakest ratings, dashed where they are pencil. Diamond: the project's own tank.",
        "Peak volts with the gap missing against tank capacitance, with ratings and the ranges that hold.",
        lambda axes: draw_tank_range(result, axes),
        0.085,
    )
    if size.rows:
        yield _scan(size)
    for line in size.limits:
        yield Paragraph(line, "small")


def plates_blocks(result: TankResult) -> Iterator[Block]:
    """Yield the home-made capacitor: what speaks against it first, then figures, pieces to cut and the drawing."""
    p = result.plates
    if p is None:
        return
    yield Heading("Home-made tank capacitor" if p.own else "A home-made tank capacitor that would do", 2)
    yield Paragraph(f"{plates_words(p)}.")
    for line in p.reasons:
        yield Paragraph(f"{line[:1].upper()}{line[1:]}.", "warning")
    yield Table("tank plates", "What it stands and loses", tuple(_plate_rows(p)))
    yield _cuts(p)
    yield Drawing(
        "tank plates layout",
        "Layout of the home-made capacitor, to scale.",
        f"Drawing of {plates_words(p)}",
        plates_svg(p),
    )
    for line in p.limits:
        yield Paragraph(line, "small")


def _rows(size: SizeResult) -> Iterator[Row]:
    own = size.capacitance
    yield estimate_row("capacitance", own, source=size.how or "the project states no tank")
    resonant = quantity(size.resonant_capacitance, "F")
    yield Row("mains-resonant", resonant.text, resonant.unit, "", size.scan_mark, "I / (2 pi f V)")
    yield estimate_row("to aim at", size.advised, source="" if size.advised else "none holds", unit="F")
    if size.advised_held is not None:
        yield estimate_row("with a safety gap", size.advised_held)
    if own is None:
        return
    yield estimate_row("peak across, gap missing", size.gap_missing_peak)
    mark: Mark = size.gap_missing_peak.mark if size.gap_missing_peak else "pencil"
    if size.held_peak is not None:
        yield _plain("held to at most", size.held_peak, "V", "pencil", "by the safety gap, as long as it fires")
    yield _plain("energy then", size.energy_missing, "J", mark, "at the peak not held")
    yield _plain("charge then", size.charge_missing, "C", mark, "at the peak not held")
    if size.discharge_residual is not None:
        words = f"to {size.discharge_residual:g} V across the whole tank, from the peak not held"
        yield _plain("bleeders take", size.discharge_time, "s", "pencil", words)
    yield _plain("lost in the supply while it fires", size.supply_loss, "W", "pencil")
    yield estimate_row("gap fires at, peak", size.firing_peak, unit="V")
    if size.by_rotor:
        yield estimate_row("at the highest, peak", size.firing_highest, unit="V")
    yield estimate_row("energy per bang", size.energy_per_bang)
    yield estimate_row("charge per bang", size.charge)
    rate = size.break_rate
    if rate is None:
        yield Row("bangs", "not known", "1/s", "", "pencil")
    else:
        yield Row("bangs", f"{rate.value:.0f}", "1/s", f"{rate.low:.0f} to {rate.high:.0f}", rate.mark, rate.basis)
    yield estimate_row("power into the tank", size.power)
    share = "not known" if size.power_share is None else f"{100 * size.power_share:.0f}"
    yield Row("of open volts x short-circuit amperes", share, "%", "", "pencil")


def _plain(label: str, value: float | None, unit: str, mark: Mark, source: str = "") -> Row:
    shown = quantity(value, unit)
    return Row(label, shown.text, shown.unit, "", mark, source)


def _scan(size: SizeResult) -> Grid:
    columns = (
        Column("tank", "nF", "right"),
        Column("gap missing, peak", "kV", "right"),
        Column("firing, highest", "kV", "right"),
        Column("bangs", "1/s", "right"),
        Column("each", "J", "right"),
        Column("power", "W", "right"),
        Column("with the gap missing", share=1),
    )
    rows = tuple(
        (
            Cell(
                fixed(r.capacitance, 1e-9),
                strong=size.capacitance is not None and r.capacitance == size.capacitance.value,
            ),
            Cell(fixed(r.missing_peak, 1e3), size.scan_mark),
            Cell(
                "-" if r.firing_highest is None else fixed(r.firing_highest, 1e3),
                "pencil" if r.firing_highest else None,
            ),
            Cell("-" if r.break_rate is None else f"{r.break_rate:.0f}", "pencil" if r.break_rate else None),
            Cell("-" if r.energy_per_bang is None else fixed(r.energy_per_bang, 1), "pencil" if r.power else None),
            Cell("-" if r.power is None else fixed(r.power, 1), "pencil" if r.power else None),
            Cell("within every rating" if r.within else f"ABOVE: {', '.join(r.over)}"),
        )
        for r in size.rows
    )
    why = tuple(f"{quantity(r.capacitance, 'F')}: {r.why_none}." for r in size.rows if r.why_none)
    return Grid("tank scan", "Over tank capacitance", columns, rows, why)


def _plate_rows(p: PlatesResult) -> Iterator[Row]:
    yield estimate_row("capacitance", p.capacitance)
    yield Row("field, gap missing", _kv_mm(p.field_peak), "kV/mm", "", "pencil", "between the foils")
    yield Row("field at the foil's edge", _kv_mm(p.edge_field_peak), "kV/mm", "", "pencil", "in the dielectric")
    s = p.strength
    yield Row("short-time strength", _kv_mm(s.value), "kV/mm", f"{_kv_mm(s.low)} to {_kv_mm(s.high)}", s.mark, s.basis)
    yield estimate_row("rated, peak across", p.rated_peak)
    yield estimate_row("edge glows in air, peak", p.corona_peak)
    yield estimate_row("edge glows in oil, peak", p.corona_peak_oil)
    t = p.loss_tangent
    yield Row("loss tangent", f"{100 * t.value:.2g}", "%", f"{100 * t.low:.2g} to {100 * t.high:.2g}", t.mark, t.basis)
    yield estimate_row("loss", p.loss)
    yield estimate_row("temperature rise", p.temperature_rise)
    yield Row("mass", figures(p.mass), "kg", "", "pencil", "without box and oil")
    litres = "none" if p.oil_volume is None else figures(1e3 * p.oil_volume)
    yield Row("oil", litres, "l", "", "pencil", "box 20 mm larger all round")


def _kv_mm(field: float | None) -> str:
    return "not known" if field is None else figures(field / 1e6)


def _cuts(p: PlatesResult) -> Grid:
    columns = (
        Column("piece"),
        Column("count", align="right"),
        Column("length", "mm", "right"),
        Column("width", "mm", "right"),
        Column("thickness", "mm", "right"),
        Column("of", share=1),
        Column("cut"),
    )
    rows = tuple(
        (
            Cell(c.what),
            Cell(str(c.count)),
            Cell(fixed(c.length, 1e-3)),
            Cell(fixed(c.width, 1e-3)),
            Cell("-" if c.thickness is None else fixed(c.thickness, 1e-3)),
            Cell(c.material),
            Cell("[ ]"),
        )
        for c in p.sheets
    )
    margin = f"Margin of the sheet beyond the foil: {quantity(p.margin, 'm')} on every side."
    return Grid("tank plates cuts", "To cut", columns, rows, (margin,))


__all__ = ["plates_blocks", "size_blocks"]
