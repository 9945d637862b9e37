"""Size of the tank capacitor, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from coilwright.analyses.tank_results import SizeResult, TankResult
from coilwright.model.known import Estimate
from coilwright.report.console import estimated, marked, print_block, print_indented, sheet, shown
from coilwright.report.quantities import fixed, quantity

#: Rows of the scan that are printed; the document has them all.
ROWS = 12


def print_size(console: Console, result: TankResult) -> None:
    """Print the tank's figures, what larger and smaller ones do, the scan, and the limits of both models."""
    size = result.size
    print_block(console, _figures(size))
    print_indented(console, [f"- {line}" for line in size.words], 0)
    console.print()
    if size.rows:
        print_block(console, _rows(size))
    print_indented(console, [f"limit: {line}" for line in size.limits], 0)
    console.print()


def _figures(size: SizeResult) -> Table:
    table = sheet("Size of the tank capacitor", "", "value", "how", right=(1,))
    own = size.capacitance

    def row(label: str, e: Estimate | None, how: str = "") -> None:
        table.add_row(label, estimated(e), how or (e.basis if e is not None else ""))

    row("capacitance", own, size.how if own is not None else "the project states no tank")
    table.add_row("mains-resonant", shown(size.resonant_capacitance, "F", size.scan_mark), "I / (2 pi f V)")
    row("to aim at", size.advised, "" if size.advised else "none holds: see below")
    if size.advised_held is not None:
        row("with a safety gap", size.advised_held)
    if own is None:
        return table
    row("peak, gap missing", size.gap_missing_peak)
    if size.held_peak is not None:
        table.add_row(
            "held to at most", shown(size.held_peak, "V", "pencil"), "by the project's safety gap, as long as it fires"
        )
    mark = "pencil" if size.gap_missing_peak is None else size.gap_missing_peak.mark
    table.add_row("energy then", shown(size.energy_missing, "J", mark), "C V^2 / 2 at the peak not held")
    if size.discharge_residual is not None:
        drained = f"to {size.discharge_residual:g} V across the whole tank, from the peak not held"
        table.add_row("bleeders take", shown(size.discharge_time, "s", "pencil"), drained)
    row("gap fires at, peak", size.firing_peak, "" if size.firing_peak else "see below")
    if size.by_rotor:
        row("at the highest", size.firing_highest)
    row("energy per bang", size.energy_per_bang)
    row("charge per bang", size.charge)
    rate = size.break_rate
    if rate is None:
        table.add_row("bangs per second", "not known", "")
    else:
        words = marked(f"{rate.value:.0f} 1/s", rate.mark) + f"\n{rate.low:.0f} to {rate.high:.0f}"
        table.add_row("bangs per second", words, rate.basis)
    row("power into the tank", size.power)
    share = "not known" if size.power_share is None else marked(f"{size.power_share:.0%}", "pencil")
    table.add_row("share of V x I", share, "of open volts x short-circuit amperes")
    table.add_row("lost in the supply", shown(size.supply_loss, "W", "pencil"), "in its resistance, while it fires")
    return table


def _rows(size: SizeResult) -> Table:
    table = sheet(
        "Over tank capacitance; '-': none shown" + (", highest at firing" if size.by_rotor else ""),
        "tank, nF",
        "gap missing, kV peak",
        "within",
        *(("firing, kV",) if size.by_rotor else ()),
        "bangs/s",
        "J",
        "W",
        right=(0, 1, 3, 4, 5, 6),
    )
    step = max(1, -(-len(size.rows) // ROWS))
    worst = max(size.rows, key=lambda r: r.missing_peak)
    for k, r in enumerate(size.rows):
        own = size.capacitance is not None and r.capacitance == size.capacitance.value
        if k % step and not own and r is not worst:
            continue
        running = (
            *(((r.firing_highest, 1e3),) if size.by_rotor else ()),
            (r.break_rate, 0.0),
            (r.energy_per_bang, 1.0),
            (r.power, 1.0),
        )
        table.add_row(
            f"{fixed(r.capacitance, 1e-9)}{' own' if own else ''}",
            marked(fixed(r.missing_peak, 1e3), size.scan_mark),
            "yes" if r.within else f"NO: {r.over[0]}" + (f" +{len(r.over) - 1}" if len(r.over) > 1 else ""),
            *("-" if v is None else marked(fixed(v, s) if s else f"{v:.0f}", "pencil") for v, s in running),
        )
    return table


def size_line(size: SizeResult) -> str:
    """Return the tank in one line."""
    own = size.capacitance
    return "no tank stated" if own is None else f"{quantity(own.value, 'F')}: {size.how}"


__all__ = ["print_size", "size_line"]
