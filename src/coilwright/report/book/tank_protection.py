"""Protection of the supply on paper: what can be held, safety gap, filter, bleeders, fuse, keep-out, mains, ground."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.tank_results import FilterResult, ProtectionResult, SafetyGapResult, TankResult
from coilwright.model.design import Design
from coilwright.model.known import Mark
from coilwright.report.blocks import Block, Cell, Column, Drawing, Grid, Heading, Paragraph, Row, Table
from coilwright.report.console_tank_protection import (
    HELD,
    drain_words,
    holding_words,
    limit_words,
    made_of,
    soft_start_label,
)
from coilwright.report.drawing.protection_chain import chain_svg, chain_view
from coilwright.report.estimate_words import estimate_row
from coilwright.report.quantities import fixed, quantity


def protection_blocks(design: Design, result: TankResult, *, font: str = "B612, sans-serif") -> Iterator[Block]:
    """Yield the protection of the tank stage; nothing of it is left out."""
    p = result.protection
    yield Heading("Protection")
    yield Drawing(
        "protection chain",
        "From the mains to the coil: what stands between, and what is missing.",
        "Line drawing of the chain: mains, two disconnections, filter, fuse, soft start, supply, filter and safety gap "
        "in each leg, gap, tank and coil.",
        chain_svg(chain_view(design, result), font=font),
    )
    yield _stored(p)
    yield from _safety_gap(p.safety_gap)
    yield from _filter(p.filter)
    if p.bleeders:
        yield _bleeders(p)
    yield from _fuse(p)
    yield Heading("Keep-out distance", 2)
    yield Paragraph(f"{quantity(p.keep_out.distance, 'm')} all round: {p.keep_out.basis}.", "warning")
    yield Paragraph("; ".join(p.keep_out.words) + ".")
    yield Heading("Mains side", 2)
    yield from (Paragraph(line) for line in p.mains_side)
    yield Heading("Radio-frequency ground", 2)
    yield from (Paragraph(line) for line in p.ground)
    yield from (Paragraph(line, "small") for line in p.limits)


def _row(label: str, value: float | None, unit: str, mark: Mark | None, source: str = "") -> Row:
    q = quantity(value, unit)
    return Row(label, q.text, q.unit, "", mark, source)


def _stored(p: ProtectionResult) -> Grid:
    columns = (
        Column("what", share=3.0),
        Column("highest", "kV peak", "right", share=1.0),
        Column("energy", "J", "right", share=1.0),
        Column("charge", "µC", "right", share=1.0),
        Column("drains in", share=2.0),
    )
    rows = tuple(
        (
            Cell(r.where, strong=bool(r.limits)),
            Cell(fixed(r.peak, 1e3), r.mark),
            Cell(fixed(r.energy, 1.0), r.mark),
            Cell(fixed(r.charge, 1e-6), r.mark),
            Cell(drain_words(r), strong=r.discharge_time is None),
        )
        for r in p.stored
    )
    details = tuple((f"past the limits for people: {limit_words(r)}",) for r in p.stored)
    return Grid("stored", "What can be held when the plug is out", columns, rows, (HELD,), details)


def _safety_gap(s: SafetyGapResult) -> Iterator[Block]:
    mark: Mark = s.setting_peak.mark if s.setting_peak else "pencil"
    rows = (
        _row("fires above (1.05 x open peak)", s.low_peak, "V", mark),
        _row("fires below", s.high_peak, "V", mark, s.limited_by or "no rating known"),
        _row("spacing of the lower bound", s.spacing_low, "m", "pencil"),
        _row("spacing of the upper bound", s.spacing_high, "m", "pencil"),
        estimate_row("set to, peak", s.setting_peak, unit="V"),
        estimate_row("its spacing", s.spacing, unit="m"),
        estimate_row("in the project, peak", s.fitted_peak, unit="V"),
    )
    yield Table("safety gap", "Safety gap of each leg to earth" + (": NO SETTING FITS" if s.empty else ""), rows)
    if s.fitted_peak is None:
        yield Paragraph("The project has no safety gap.", "warning")
    for words in s.words:
        yield Paragraph(words, "warning" if s.empty and words.startswith("NO SETTING") else "plain")


def _filter(f: FilterResult) -> Iterator[Block]:
    own: Mark = "ink" if f.fitted else "pencil"
    rows = (
        _row("resistor", f.resistance, "ohm", own),
        _row("capacitor to earth", f.capacitance, "F", own),
        _row("corner, with the winding's stray", f.corner_frequency, "Hz", "pencil"),
        _row("ring at the winding over that at the gap", f.attenuation, "%", "pencil"),
        _row("open volts lost at best power, at most", f.drop, "%", "pencil"),
        estimate_row("heat of the resistor", f.resistor_power, unit="W"),
        _row("peak on the resistor", f.resistor_voltage_peak, "V", "pencil", f"{f.resistors_in_series} pieces or more"),
        _row("peak on the capacitor", f.capacitor_peak, "V", "pencil"),
        estimate_row("current of the capacitor, rms", f.capacitor_current, unit="A"),
        _row("energy into the resistor each bang", f.surge_energy, "J", "pencil"),
    )
    title = "Filter in each leg: " + ("as in the project" if f.fitted else "none in the project; this would do")
    yield Table("filter", title, rows)
    for line in (*f.limits, *f.fails, *f.chokes):
        yield Paragraph(line)


def _bleeders(p: ProtectionResult) -> Grid:
    columns = (
        Column("on", share=1),
        Column("fitted", "Mohm", "right"),
        Column("at most", "Mohm", "right"),
        Column("made of", share=0.5),
        Column("time", "s", "right"),
        Column("heat", "W", "right"),
    )
    rows = tuple(
        (
            Cell(b.basis),
            Cell("none" if b.fitted is None else fixed(b.fitted, 1e6), strong=b.fitted is None),
            Cell(fixed(b.largest, 1e6)),
            Cell(made_of(b)),
            Cell(fixed(b.discharge_time, 1.0)),
            Cell(fixed(b.power, 1.0)),
        )
        for b in p.bleeders
    )
    note = "A bleeder fails open unseen: drain through the stick and short all the same."
    return Grid("bleeders", "Bleeders", columns, rows, (note,))


def _fuse(p: ProtectionResult) -> Iterator[Block]:
    f = p.fuse
    yield Heading("Fuse and soft start", 2)
    holds = f", {words}" if (words := holding_words(f)) else ""
    yield Paragraph(
        f"In the project: {f.fitted or 'none'}{holds}. Would do: {f.advised or 'none below the breaker'}.",
        "plain" if f.holds and f.holds_band is not False else "warning",
    )
    rows = (
        estimate_row(soft_start_label(f), f.soft_start, unit="ohm"),
        estimate_row("it takes each time, upper bound", f.soft_start_energy, unit="J"),
    )
    yield Table("soft start", "Soft start", rows)
    for line in f.words:
        yield Paragraph(line)


__all__ = ["protection_blocks"]
