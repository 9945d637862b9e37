"""The coil stage, as tables: hazards first."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees

from rich.console import Console
from rich.text import Text

from coilwright.analyses.coil_results import CoilResult
from coilwright.model.known import Estimate
from coilwright.report.console import LEGEND, marked, print_block, print_indented, print_tags, sheet, shown
from coilwright.report.quantities import NOT_KNOWN, quantity


def print_coil(console: Console, result: CoilResult, *, tags: bool = True) -> None:
    """Print the radio-frequency side."""
    if tags:
        print_tags(console, result.tags)
    console.print(Text("Secondary, top load and primary", style="bold"))
    console.print()
    _secondary(console, result)
    _modes(console, result)
    _top(console, result)
    _primary(console, result)
    _detuning(console, result)
    if result.missing:
        print_indented(console, [f"not stated: {line}" for line in result.missing], 0)
        console.print()
    print_indented(console, [f"- {note}" for note in result.notes], 0)
    console.print()
    print_block(console, Text(LEGEND))


def _rows(console: Console, title: str, rows: Iterable[tuple[str, Estimate | float | None, str, str]]) -> None:
    table = sheet(title, "", "value", "how", right=(1,))
    for label, found, unit, how in rows:
        if isinstance(found, Estimate):
            text = shown(found.value, unit, found.mark, (found.low, found.high))
            table.add_row(label, text, how or found.basis)
        else:
            table.add_row(label, NOT_KNOWN if found is None else str(quantity(found, unit)), how)
    print_block(console, table)


def _secondary(console: Console, result: CoilResult) -> None:
    s = result.secondary
    _rows(
        console,
        f"Winding of {s.turns} turns, {quantity(s.length, 'm')} long",
        [
            ("inductance at the first mode", s.inductance, "H", ""),
            ("at low frequency", s.low_frequency_inductance, "H", ""),
            ("resistance, direct current", s.dc_resistance, "ohm", ""),
            ("at the first mode", s.ac_resistance, "ohm", ""),
            ("the same, 60 K warmer", s.ac_resistance_hot, "ohm", "copper's own rise"),
            ("quality, at most", s.quality, "1", "without: " + "; ".join(s.missing_losses)),
            ("wire", s.wire_length, "m", f"{s.wire_mass:.3g} kg of copper"),
            ("left on the reel", s.on_reel, "m", "negative: it does not reach" if s.on_reel is not None else ""),
        ],
    )


def _modes(console: Console, result: CoilResult) -> None:
    columns = ("mode", "frequency", "with magnetic mirror", "eff. C", "eff. L")
    table = sheet("Resonances, base earthed", *columns, right=range(5))
    for k, m in enumerate(result.modes, start=1):
        table.add_row(
            str(k),
            shown(m.frequency.value, "Hz", m.frequency.mark, (m.frequency.low, m.frequency.high)),
            marked(str(quantity(m.mirrored_frequency, "Hz")), "pencil"),
            marked(str(quantity(m.effective_capacitance, "F")), "pencil"),
            marked(str(quantity(m.effective_inductance, "H")), "pencil"),
        )
    print_block(console, table)
    table = sheet("First mode along the winding, 1 V at the top", "height", "V", "A", "V per turn", right=(0, 1, 2, 3))
    for p in result.profile[::5]:
        table.add_row(str(quantity(p.height, "m")), f"{p.voltage:.3f}", f"{p.current:.3g}", f"{p.stress:.3g}")
    print_block(console, table)


def _top(console: Console, result: CoilResult) -> None:
    t = result.top_load
    if t is None:
        return
    radius, height = t.peak_field_at
    _rows(
        console,
        "Top load",
        [
            ("capacitance in the set", t.capacitance, "F", ""),
            ("alone in space", t.isolated_capacitance, "F", ""),
            ("breaks out at, peak", t.breakout_voltage_peak, "V", ""),
        ],
    )
    where = f"Highest field {t.peak_field_per_volt:.3g} V/m for 1 V, at radius {radius:.3g} m, height {height:.3g} m."
    print_indented(console, [f"- {line}" for line in (where, *t.words)], 0)
    console.print()


def _primary(console: Console, result: CoilResult) -> None:
    p, c, t = result.primary, result.coupling, result.tuning
    if p is None or c is None:
        return
    _rows(
        console,
        f"Primary, tap at {p.tap:.2f} turns",
        [
            ("inductance", p.inductance, "H", ""),
            ("at low frequency", p.low_frequency_inductance, "H", "uniform current, as a meter reads it"),
            ("resistance at the first mode", p.resistance, "ohm", "copper tube, no joints"),
            ("conductor to the tap", p.conductor_length, "m", ""),
            ("mutual inductance", c.mutual_inductance, "H", ""),
            ("coupling", c.coefficient, "1", ""),
        ],
    )
    table = sheet("Taps", "turns", "along", "angle", "inductance", "coupling", "tank", right=(0, 1, 2, 3, 4, 5))
    for row in p.taps:
        table.add_row(
            f"{row.turns:g}",
            str(quantity(row.along, "m")),
            f"{degrees(row.angle):.0f} deg",
            str(quantity(row.inductance, "H")),
            f"{row.coupling:.3f}",
            str(quantity(row.frequency, "Hz")),
        )
    print_block(console, table)
    if t is not None:
        low, high = t.range
        tank = (
            f"Tank of {quantity(t.tank_capacitance, 'F')}: {_tap(t.tap_turns)} tunes it to the secondary, "
            f"{_tap(t.loaded_tap_turns)} to the secondary with a streamer of {quantity(t.streamer, 'm')} "
            f"({quantity(t.loaded_frequency, 'Hz')}; 3.3 pF a metre: common practice, no source)."
        )
        lines = [
            tank,
            f"The taps reach from {quantity(low, 'Hz')} to {quantity(high, 'Hz')}.",
            *t.words,
        ]
        print_indented(console, [f"- {line}" for line in lines], 0)
        console.print()


def _tap(turns: float | None) -> str:
    return "no tap" if turns is None else f"{turns:.2f} turns"


def _detuning(console: Console, result: CoilResult) -> None:
    if not result.detuning:
        return
    table = sheet("What shifts the first mode", "", "shift", "counted as", right=(1,))
    for d in result.detuning:
        table.add_row(d.what, f"{100 * d.shift:+.2f} %", d.basis)
    print_block(console, table)
