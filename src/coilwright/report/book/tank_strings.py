"""Strings of film capacitors on paper: the project's own with its board to scale, the shelf's best, the refused."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.tank_results import StringResult, StringsResult, TankResult
from coilwright.model.known import Estimate, Mark
from coilwright.report.blocks import Block, Cell, Column, Drawing, Grid, Heading, Paragraph, Row, Table
from coilwright.report.console_tank_strings import (
    SHOWN,
    VERDICTS,
    bleeder_words,
    firing_label,
    name_of,
    shared_notes,
)
from coilwright.report.drawing.string_layout import string_layout_svg
from coilwright.report.estimate_words import estimate_row
from coilwright.report.quantities import NOT_KNOWN, fixed, quantity


def string_blocks(result: TankResult, *, font: str = "B612, sans-serif") -> Iterator[Block]:
    """Yield the strings of the tank stage."""
    found = result.strings
    yield Heading("Capacitor strings")
    if found.own is not None:
        yield from _bank(found.own, "string of the project", font, firing_label(result.size))
    if found.ranked:
        yield _ranking(found)
        best = found.ranked[0]
        if found.own is None or (best.part, best.series, best.parallel) != _key(found.own):
            yield from _bank(best, "best string of the shelf", font, firing_label(result.size))
    else:
        yield Paragraph(f"No string of the shelf will do: aimed at {found.wanted}.", "warning")
    if found.refused:
        yield _refused(found)
    for line in found.limits:
        yield Paragraph(line, "small")


def _key(row: StringResult) -> tuple[str, int, int]:
    return row.part, row.series, row.parallel


def _bank(row: StringResult, what: str, font: str, firing: str) -> Iterator[Block]:
    yield Heading(f"{what[0].upper()}{what[1:]}: {name_of(row)}", 2)
    yield Paragraph(
        f"Verdict: {VERDICTS[row.verdict]}. {row.rating_words}. Sharing: {row.sharing}.",
        "warning" if row.reasons or row.verdict == "over" else "plain",
    )
    for reason in row.reasons:
        yield Paragraph(f"NO: {reason}.", "warning")
    yield Table(f"{what} figures", "Of one unit, the worst placed one", tuple(_rows(row, firing)), "; ".join(row.notes))
    for words in bleeder_words(row):
        yield Paragraph(words)
    if row.layout is not None:
        yield Drawing(
            f"{what} layout",
            f"Board of the {what}, from above, to scale.",
            f"Layout of {name_of(row)}: {'; '.join(row.layout.words)}",
            string_layout_svg(row, font=font),
        )


def _rows(row: StringResult, firing: str) -> Iterator[Row]:
    share = "worst share of the scan's peak, or of what the safety gap holds it to"
    yield _plain("volts, gap missing, peak", row.voltage_each_peak, "V", row.missing_mark, share)
    yield _plain(firing, row.voltage_each_firing_peak, "V", row.firing_mark, "worst share")
    yield estimate_row("it stands, peak", row.rated_each_peak, unit="V")
    yield estimate_row("voltage slope", row.dv_dt, unit="V/s")
    yield estimate_row("it stands a slope of", row.dv_dt_rated, unit="V/s")
    yield estimate_row("ring current, peak", row.current_peak_each, unit="A")
    yield estimate_row("current, rms", row.current_rms_each, unit="A")
    yield _plain("of it at mains frequency", row.mains_current_each, "A", "pencil", "2 pi f C V")
    yield estimate_row("loss", row.loss_each, unit="W")
    yield estimate_row("temperature rise", row.temperature_rise, unit="K")
    yield estimate_row("whole bank: capacitance", row.capacitance, unit="F")
    yield estimate_row("whole bank: inductance", row.inductance, unit="H")


def _plain(label: str, value: float | None, unit: str, mark: Mark, source: str) -> Row:
    shown = quantity(value, unit)
    return Row(label, shown.text, shown.unit, "", None if value is None else mark, source)


def _ranking(found: StringsResult) -> Grid:
    columns = (
        Column("string", share=2),
        Column("bank", "nF", "right"),
        Column("each, gap missing", "V peak", "right"),
        Column("it stands", "V peak", "right"),
        Column("current", "A rms", "right"),
        Column("rise", "K", "right"),
        Column("verdict", share=1),
    )
    rows = tuple(
        (
            Cell(name_of(r), strong=k == 0),
            Cell(fixed(r.capacitance.value, 1e-9), r.capacitance.mark),
            Cell(fixed(r.voltage_each_peak, 1.0), r.missing_mark),
            _cell(r.rated_each_peak, 1.0),
            _cell(r.current_rms_each, 1.0),
            _cell(r.temperature_rise, 1.0),
            Cell(VERDICTS[r.verdict]),
        )
        for k, r in enumerate(found.ranked[:SHOWN])
    )
    shared = shared_notes(found.ranked[:SHOWN])
    details = tuple(("; ".join(n for n in r.notes if n not in shared),) for r in found.ranked[:SHOWN])
    notes = (
        *(f"All of them: {note}." for note in shared),
        f"Aimed at {found.wanted}.",
        f"{found.considered} banks considered; lower score first: our rule, no source.",
    )
    return Grid("string ranking", "Best strings of the shelf", columns, rows, notes, details)


def _cell(found: Estimate | None, scale: float) -> Cell:
    return Cell(NOT_KNOWN) if found is None else Cell(fixed(found.value, scale), found.mark)


def _refused(found: StringsResult) -> Grid:
    rows = tuple((Cell(r.part, strong=True), Cell("; ".join(r.reasons))) for r in found.refused)
    return Grid("strings refused", "Refused for the tank", (Column("part"), Column("because", share=1)), rows)


__all__ = ["string_blocks"]
