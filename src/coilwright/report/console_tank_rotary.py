"""Rotor, electrodes and room of the tank stage, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from coilwright.analyses.tank_results import ElectrodeResult, RoomResult, RotaryResult, TankResult
from coilwright.analyses.tank_rotor_words import spin_test
from coilwright.model.known import Mark
from coilwright.report.console import estimate_cells, marked, print_block, print_indented, sheet
from coilwright.report.quantities import NOT_KNOWN, figures, quantity
from coilwright.report.tank_rotary_rows import EstimateRow, electrode_rows, room_rows, rotor_rows


def print_rotary(console: Console, result: TankResult) -> None:
    """Print the rotor where there is one, the electrodes where there is a gap, and the room."""
    if result.rotary is not None:
        _rotor(console, result.rotary)
    if result.electrodes is not None:
        _electrodes(console, result.electrodes)
    _room(console, result.room)


def _plain_rows(made: RotaryResult) -> tuple[tuple[str, str, Mark | None], ...]:
    """Return the rotor's plain numbers: label, text with its unit, mark."""
    tip = NOT_KNOWN if made.tip_speed is None else f"{figures(made.tip_speed)} m/s"
    limit = made.tip_speed_limit
    if limit is not None:
        tip += f" (limit {figures(limit)} m/s)" if limit else " (material not taken)"
    return (
        ("speed", str(quantity(made.speed, "rev/s")), "ink"),
        ("presentations a second", figures(made.presentations_per_second), "ink"),
        ("tip speed of the rim", tip, "ink"),
        ("spin test at", str(quantity(made.spin_test_speed, "rev/s")), "ink"),
        ("disc, strength over stress", _factor(made.disc_factor, made.disc_place), "pencil"),
        ("bolts, strength over stress", _factor(made.bolt_factor), "pencil"),
    )


def _factor(value: float | None, place: str = "") -> str:
    if value is None:
        return NOT_KNOWN
    return f"{figures(value)} (wanted 4)" + (f", {place}" if place else "")


def _add(table: Table, rows: tuple[EstimateRow, ...]) -> None:
    for row in rows:
        table.add_row(*estimate_cells(*row))


def _rotor(console: Console, made: RotaryResult) -> None:
    title = f"Rotor ({made.kind}): strengths and shield from memory"
    plain = sheet(title, "", "value", right=(1,))
    for label, text, mark in _plain_rows(made):
        plain.add_row(label, marked(text, mark))
    print_block(console, plain)
    table = sheet("Loads of the rotor", "", "value", "band", "from", right=(1,))
    _add(table, rotor_rows(made))
    print_block(console, table)
    lines = [*made.words, *((made.shield_words,) if made.shield_words else ())]
    lines += [f"Missing: {word}." for word in made.missing]
    print_indented(console, [*lines, *made.stalled, *spin_test(made), *(f"- {x}" for x in made.limits)], 0)
    console.print()


def _electrodes(console: Console, made: ElectrodeResult) -> None:
    table = sheet(f"Electrodes of {made.material}", "", "value", "band", "from", right=(1,))
    _add(table, electrode_rows(made))
    print_block(console, table)
    print_indented(console, [*made.words, *(f"- {x}" for x in made.limits)], 0)
    console.print()


def _room(console: Console, made: RoomResult) -> None:
    table = sheet("Air and noise of the room", "", "value", "band", "from", right=(1,))
    _add(table, room_rows(made))
    print_block(console, table)
    print_indented(console, [*made.words, *(f"- {x}" for x in made.limits)], 0)
    console.print()


__all__ = ["print_rotary"]
