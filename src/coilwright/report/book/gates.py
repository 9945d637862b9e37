"""The polarity sheet and the supply gates on paper: expected readings with lines to write on and to sign."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.gates_results import ChargeRow, Gate, GateRow, GatesResult, SparkWindow
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.report.blocks import (
    Block,
    Cell,
    Column,
    Grid,
    Heading,
    Paragraph,
    ReadingRow,
    ReadingSheet,
    SignOff,
)
from coilwright.report.gate_words import VERDICTS, needs_words, shown_row
from coilwright.report.quantities import fixed, quantity

#: Sets of reversed windings that get a column of their own; the rest stand in a table below.
COLUMNS = 3


def polarity_blocks(sheet: PolarityResult | None) -> Iterator[Block]:
    """Yield the polarity sheet: how it is taken, what each pair reads right and reversed, and what was read."""
    if sheet is None:
        return
    yield Heading("Polarity sheet")
    a, b = sheet.reachable_between
    yield Paragraph(
        f"Drive: {quantity(sheet.drive, 'V')} rms between {sheet.at[0]} and {sheet.at[1]}. The most within reach is "
        f"{quantity(sheet.reachable, 'V')} rms, between {a} and {b} ({quantity(sheet.body_current, 'A')} through "
        "1 kohm); the limit is 30 V rms = 42.4 V peak.",
        "warning" if sheet.reachable > 30.0 else "plain",
    )
    for k, line in enumerate(sheet.procedure, start=1):
        yield Paragraph(f"{k}. {line}")
    for blind in sheet.blind:
        yield Paragraph(blind.words, "warning")
    names = list(sheet.rows[0].reversed) if sheet.rows else []
    for k in range(0, max(len(names), 1), COLUMNS):
        yield _polarity_grid(sheet, names[k : k + COLUMNS], first=k == 0)
    yield Paragraph(f"Readings so far: {sheet.words}", "warning" if sheet.verdict == "reversed" else "plain")
    if sheet.next_reading is not None:
        yield Paragraph(f"Next: {sheet.next_reading.why}")
    for note in sheet.notes:
        yield Paragraph(note, "small")
    yield SignOff(("read by", "second person", "adapter and meter", "date"))


def _polarity_grid(sheet: PolarityResult, names: list[str], *, first: bool) -> Grid:
    columns = (
        Column("between", share=1),
        Column("as drawn", "V rms", "right"),
        Column("95 % band", "V rms", "right"),
        *(Column(f"{name} reversed", "V rms", "right") for name in names),
        Column("read", "V rms", "right"),
        Column("write here"),
    )
    rows = tuple(
        (
            Cell(f"{row.between[0]} to {row.between[1]}", strong=True),
            Cell(fixed(row.right.value, 1), row.right.mark),
            Cell(f"{fixed(row.right.low, 1)} to {fixed(row.right.high, 1)}"),
            *(Cell(fixed(row.reversed[name].value, 1), row.reversed[name].mark) for name in names),
            Cell("-" if row.read is None else fixed(row.read, 1)),
            Cell("____________"),
        )
        for row in sheet.rows
    )
    title = "What the meter shows" if first else "The same, more of it reversed"
    return Grid(f"polarity {'first' if first else names[0]}", title, columns, rows)


def gate_blocks(result: GatesResult | None) -> Iterator[Block]:
    """Yield the gates in order, each with blanks and a line to sign, then the capacitors and the safety gap."""
    if result is None:
        return
    yield Heading("Supply gates")
    for note in result.notes:
        yield Paragraph(note, "warning")
    for gate in result.gates:
        yield from _gate(gate)
    if result.charge or result.windows:
        yield Heading("Charge and safety gap", 2)
    if result.charge:
        yield _charge(result.charge)
    if result.windows:
        yield _windows(result.windows)


def _gate(gate: Gate) -> Iterator[Block]:
    yield Heading(f"Gate {gate.number}: {gate.title}", 2, together=True)
    if gate.verdict in {"fails", "closed"}:
        yield Paragraph(f"{VERDICTS[gate.verdict]}: {gate.closed or gate.words}.", "warning")
    elif gate.verdict in {"agrees", "not known"}:
        yield Paragraph(f"{VERDICTS[gate.verdict].capitalize()}: {gate.words}.")
    yield Paragraph(f"Stand: {gate.distance_words}.")
    for k, line in enumerate(gate.how, start=1):
        yield Paragraph(f"{k}. {line}")
    if gate.id == "polarity":
        yield Paragraph("Take the polarity sheet: it stands on a page of its own, with its readings and blanks.")
    elif gate.rows:
        yield ReadingSheet(f"gate {gate.id}", "", tuple(_row(r) for r in gate.rows), f"source: {gate.source}")
        for note in _notes(gate.rows):
            yield Paragraph(note, "small")
    if gate.ticks:
        cells = tuple((Cell(tick), Cell("[ ]")) for tick in gate.ticks)
        yield Grid(f"ticks {gate.id}", "", (Column("tried and seen", share=1), Column("done")), cells)
    if gate.wrong:
        yield Paragraph("A wrong reading means: " + " ".join(gate.wrong), "small")
    yield SignOff((f"gate {gate.number} read by", "second person", "date and time"))


def _notes(rows: tuple[GateRow, ...]) -> Iterator[str]:
    """Yield the notes of the rows; one that several rows share is told once."""
    shared: dict[str, list[str]] = {}
    for row in rows:
        if row.note:
            shared.setdefault(row.note, []).append(row.what)
    for note, names in shared.items():
        whose = "" if len(names) == len(rows) else f"{'; '.join(names)}: "
        yield f"{whose}{note[:1].upper() if not whose else note[:1]}{note[1:]}."


def _row(row: GateRow) -> ReadingRow:
    shown = shown_row(row)
    read = "" if not shown.read else f"{shown.read}, {VERDICTS[row.verdict]}"
    value, band = (shown.value, shown.band) if shown.value else (shown.band, "")
    return ReadingRow(row.what, value, shown.unit, band, row.mark, row.instrument, "", "", read)


def _charge(rows: tuple[ChargeRow, ...]) -> Grid:
    columns = (
        Column("capacitor", share=2),
        Column("peak", "V", "right"),
        Column("holds", "J", "right"),
        Column("drains in", "s", "right"),
        Column("bleeder fitted", "Mohm", "right"),
        Column("needs at most", share=3),
    )
    cells = tuple(
        (
            Cell(f"{c.where}, {quantity(c.capacitance, 'F')}" + (f", each of {c.units}" if c.units > 1 else ""), None,
                 strong=True),
            Cell(fixed(c.peak, 1)),
            Cell(fixed(c.energy, 1)),
            Cell("never by itself" if c.fitted is None else fixed(c.drain, 1)),
            Cell("none" if c.fitted is None else fixed(c.fitted, 1e6)),
            Cell(needs_words(c)),
        )
        for c in rows
    )  # fmt: skip
    return Grid(
        "charge",
        "What each capacitor may hold with the plug out, and its bleeder",
        columns,
        cells,
        (
            "A bleeder fails open without a sign, so the stick and the short come on every time.",
            "A string that reads 0 V may hold opposite charges inside: short every unit.",
        ),
    )


def _windows(rows: tuple[SparkWindow, ...]) -> Grid:
    columns = (
        Column("leg to earth", share=1),
        Column("open", "kV peak", "right"),
        Column("above", "kV peak", "right"),
        Column("", "mm", "right"),
        Column("below", "kV peak", "right"),
        Column("", "mm", "right"),
        Column("weakest", share=2),
        Column("set about", "kV peak", "right"),
        Column("", "mm", "right"),
        Column("set and locked"),
    )
    cells = tuple(
        (
            Cell(w.joint, strong=True),
            Cell(fixed(w.open_peak, 1e3)),
            Cell(fixed(w.low_peak, 1e3)),
            Cell(fixed(w.low_spacing, 1e-3)),
            Cell(fixed(w.high_peak, 1e3), w.high_mark),
            Cell(fixed(w.high_spacing, 1e-3)),
            Cell(w.high_where),
            Cell("no setting fits" if w.is_empty else fixed(w.set_peak, 1e3), strong=w.is_empty),
            Cell("-" if w.is_empty else fixed(w.set_spacing, 1e-3)),
            Cell("____________"),
        )
        for w in rows
    )
    return Grid(
        "safety gap",
        "Safety gap: the window of each leg",
        columns,
        cells,
        ("The millimetres hold for nearly uniform ends in this site's air. The gap is set by firing, not by them.",),
    )
