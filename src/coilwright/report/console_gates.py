"""The supply gates as tables."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from coilwright.analyses.gates_results import ChargeRow, Gate, GatesResult, SparkWindow
from coilwright.report.console import LEGEND, marked, print_block, print_indented, print_tags, sheet
from coilwright.report.gate_words import VERDICTS, needs_words, shown_row
from coilwright.report.quantities import quantity


def print_gates(console: Console, result: GatesResult, *, tags: bool = True) -> None:
    """Print every gate in order: its steps, readings with bands, what wrong ones mean, and what it says now."""
    if tags:
        print_tags(console, result.tags)
    console.print(Text(f'Supply gates of "{result.arrangement}"', style="bold"))
    print_indented(console, [f"- {note}" for note in result.notes], 0)
    console.print()
    for gate in result.gates:
        _print_gate(console, gate)
    _print_charge(console, result.charge)
    _print_windows(console, result.windows)
    print_block(console, Text(LEGEND))


def _print_gate(console: Console, gate: Gate) -> None:
    console.print(Text(f"Gate {gate.number}: {gate.title}: {VERDICTS[gate.verdict]}", style="bold"))
    print_indented(console, [gate.words], 2)
    if gate.closed:
        print_indented(console, [f"CLOSED: {gate.closed}"], 2)
    print_indented(console, [f"stand: {gate.distance_words}"], 2)
    print_indented(console, [f"{k}. {line}" for k, line in enumerate(gate.how, start=1)], 2)
    console.print()
    if gate.rows:
        table = sheet("", "reading", "expected", "band", "with", "read", right=(1, 2))
        for row in gate.rows:
            shown = shown_row(row)
            value = marked(f"{shown.value} {shown.unit}".strip(), row.mark)
            state = "" if row.read is None else f"\n{VERDICTS[row.verdict]}"
            table.add_row(
                f"{row.what}\n[{row.id}]", value, shown.band, row.instrument,
                f"{marked(shown.read, row.read_mark) if shown.read else '____'}{state}",
            )  # fmt: skip
        console.print(table)
        print_indented(console, [f"{r.id}: {r.note}" for r in gate.rows if r.note], 2)
    print_indented(console, [f"[ ] {tick}" for tick in gate.ticks], 2)
    if gate.wrong:
        print_indented(console, ["a wrong reading means:", *(f"- {line}" for line in gate.wrong)], 2)
    print_indented(console, [f"source: {gate.source}"] if gate.source else [], 2)
    print_indented(console, ["read by ____________  second person ____________  date ____________"], 2)
    console.print()


def _print_charge(console: Console, rows: tuple[ChargeRow, ...]) -> None:
    if not rows:
        return
    table = sheet(
        "What each capacitor may hold, and its bleeder", "capacitor", "holds", "bleeder", "drains in", "needs at most",
        right=(1, 3),
    )  # fmt: skip
    for c in rows:
        many = f", each of {c.units}" if c.units > 1 else ""
        holds = "not known" if c.peak is None else f"{quantity(c.energy, 'J')} at {quantity(c.peak, 'V')} peak"
        fitted = "none" if c.fitted is None else str(quantity(c.fitted, "ohm"))
        drain = "never by itself" if c.fitted is None else str(quantity(c.drain, "s"))
        table.add_row(f"{c.where}{many}\n{quantity(c.capacitance, 'F')}", holds, fitted, drain, needs_words(c))
    print_block(console, table)


def _print_windows(console: Console, windows: tuple[SparkWindow, ...]) -> None:
    if not windows:
        return
    table = sheet(
        "Safety gap, each leg to earth", "leg", "must not fire at", "must fire below", "weakest", "set about",
        right=(1, 2, 4),
    )  # fmt: skip
    for w in windows:
        high = "not known" if w.high_peak is None else marked(f"{quantity(w.high_peak, 'V')}", w.high_mark)
        top = "" if w.high_spacing is None else f"\n{quantity(w.high_spacing, 'm')}"
        setting = "NO SETTING FITS" if w.is_empty else f"{quantity(w.set_peak, 'V')}\n{quantity(w.set_spacing, 'm')}"
        table.add_row(
            w.joint, f"{quantity(w.low_peak, 'V')}\n{quantity(w.low_spacing, 'm')}", f"{high}{top}", w.high_where,
            setting,
        )  # fmt: skip
    print_block(console, table)
