"""Tank, gap and protection in some lines, for the demo: `tank` prints the whole."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from coilwright.analyses.tank_results import TankResult
from coilwright.model.known import Estimate
from coilwright.report.console import marked, print_block, print_indented, sheet, shown
from coilwright.report.estimate_words import measured
from coilwright.report.quantities import quantity
from coilwright.report.tank_gap_rows import fires_words

#: Sentences of the gap that are printed here.
WORDS = ("Set too wide", "Its setting", "The gap is wider", "It may not fire")


def print_tank_short(console: Console, result: TankResult) -> None:
    """Print size, the project's own string with its verdict, the gap's setting, and the window of the safety gap."""
    print_block(console, _figures(result))
    own, gap, safety = result.strings.own, result.gap, result.protection.safety_gap
    lines = []
    if own is not None:
        told = "; ".join((*own.reasons, *own.notes)) or "no figure is near its limit"
        lines.append(f"String, {own.verdict}: {told}.")
    lines += [w for w in (gap.words if gap is not None else ()) if w.startswith(WORDS)]
    lines += [w for w in safety.words if w.startswith(("NO SETTING FITS", "The one in the project"))]
    print_indented(
        console,
        [*lines, "Scan, strings, filter, bleeders, fuse, and the limits of these models: `coilwright tank`."],
        0,
    )
    console.print()


def _figures(result: TankResult) -> Table:
    size, own, gap, safety = result.size, result.strings.own, result.gap, result.protection.safety_gap
    table = sheet("Tank, gap and protection", "", "value", "95 % band", "", right=(1,))

    def row(label: str, e: Estimate | None, how: str = "") -> None:
        text = measured(e)
        table.add_row(label, marked(str(text), e.mark if e is not None else None), text.band, how)

    row("tank", size.capacitance, size.how)
    table.add_row("mains-resonant", shown(size.resonant_capacitance, "F", "pencil"), "", "I / (2 pi f V)")
    row("to aim at", size.advised, "" if size.advised else "none holds")
    row("peak, gap missing", size.gap_missing_peak)
    row("energy per bang", size.energy_per_bang)
    row("power", size.power)
    if own is not None:
        row("each capacitor stands, peak", own.rated_each_peak, f"{own.series} in series, {own.parallel} in parallel")
        table.add_row("  sees, gap missing", shown(own.voltage_each_peak, "V", own.missing_mark), "", own.verdict)
    if gap is not None:
        row("gap fires at, peak", gap.breakdown_peak, f"this supply fires it: {fires_words(gap)}")
        row("  spacing", gap.spacing, gap.form)
        row("  largest setting, peak", gap.largest_setting, gap.limited_by)
    title = f"safety gap of {' and '.join(safety.legs)}" if safety.legs else "safety gap"
    table.add_row(title, f"above {quantity(safety.low_peak, 'V')}", "", "1.05 x open peak to earth")
    table.add_row("", f"below {quantity(safety.high_peak, 'V')}", "", safety.limited_by or "no rating known")
    row("  set to, peak", safety.setting_peak, "NO SETTING FITS" if safety.empty else "")
    row("  spacing", safety.spacing)
    row("  in the project", safety.fitted_peak, "NONE" if safety.fitted_peak is None else "")
    return table


__all__ = ["print_tank_short"]
