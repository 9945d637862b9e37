"""Protection of the supply, as tables: what can be held first, then safety gap, filter, bleeders, fuse, and words."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coilwright.analyses.tank_results import (
    BleederResult,
    FilterResult,
    FuseResult,
    ProtectionResult,
    SafetyGapResult,
    StoredRow,
    TankResult,
)
from coilwright.model.known import Mark
from coilwright.report.console import estimated, marked, print_block, print_indented, sheet
from coilwright.report.quantities import quantity

#: Said below the table of charges, in every medium.
HELD = (
    "The volts are the highest there can be, the gap missing and no safety gap counted on. Times are those of the "
    "bleeder until 50 V are left across the whole of what a hand can reach (NEC 460.6; 460.28 above 600 V, from "
    "memory), at the pins of a plug 34 V (IEC 60335-1 cl. 22.5, from memory); where there is no bleeder the charge "
    "stays for days."
)


def print_protection(console: Console, result: TankResult) -> None:
    """Print the whole protection; nothing of it is left out."""
    p = result.protection
    print_block(console, _stored(p))
    print_indented(
        console,
        [
            HELD,
        ],
        0,
    )
    console.print()
    print_block(console, _safety_gap(p.safety_gap))
    print_indented(console, [f"- {line}" for line in p.safety_gap.words], 0)
    console.print()
    print_block(console, _filter(p.filter))
    print_indented(console, [f"- {line}" for line in (*p.filter.limits, *p.filter.fails, *p.filter.chokes)], 0)
    console.print()
    if p.bleeders:
        print_block(console, _bleeders(p))
    print_block(console, _fuse(p))
    print_indented(console, [f"- {line}" for line in p.fuse.words], 0)
    console.print()
    _words(console, f"Keep-out distance: {quantity(p.keep_out.distance, 'm')} all round", p.keep_out.words)
    print_indented(console, [f"  {p.keep_out.basis}"], 0)
    console.print()
    _words(console, "Mains side", p.mains_side)
    console.print()
    _words(console, "Radio-frequency ground", p.ground)
    console.print()
    print_indented(console, [f"- {line}" for line in p.limits], 0)
    console.print()


def _words(console: Console, title: str, lines: tuple[str, ...]) -> None:
    console.print(Text(title, style="bold"))
    print_indented(console, [f"- {line}" for line in lines], 0)


def limit_words(row: StoredRow) -> str:
    """Return the limits for people that a charged thing passes, the worst first, with by how much."""
    if not row.limits:
        return "none of those listed"
    worst = sorted(row.limits, key=lambda s: -s.value / s.limit)
    return "; ".join(f"{s.value / s.limit:.3g} x {quantity(s.limit, s.quantity)} ({s.source})" for s in worst)


def drain_words(row: StoredRow) -> str:
    """Return how long the charge takes to fall, "never" where nothing drains it."""
    if row.discharge_time is None or row.residual is None:
        return "NEVER: no bleeder"
    return f"{quantity(row.discharge_time, 's')} to {quantity(row.residual, 'V')}"


def made_of(b: BleederResult) -> str:
    """Return what a bleeder is made of: resistors that are sold; of a fitted one how many at least, and their volts."""
    if b.fitted is None:
        return f"{b.resistors_in_series} x {quantity(b.resistor_each, 'ohm')}"
    return f"{b.resistors_in_series} or more, at least {quantity(b.voltage_each_peak, 'V')} each"


def holding_words(f: FuseResult) -> str:
    """Return whether the fuse of the project holds the largest steady current, "" where there is none."""
    if f.holds is None:
        return ""
    if not f.holds:
        return "DOES NOT HOLD the largest steady current"
    return "holds the largest steady current" + (", NOT the upper end of its band" if f.holds_band is False else "")


def soft_start_label(f: FuseResult) -> str:
    """Return what the resistor of a soft start is there for."""
    return {
        True: "soft start, needed for the breaker",
        False: "soft start, only if the breaker trips all the same",
        None: "soft start, may be needed",
    }[f.soft_start_needed]


def _stored(p: ProtectionResult) -> Table:
    table = sheet(
        "What can be held when the plug is out", "", "volts peak", "energy", "charge", "drains in", right=(1, 2, 3)
    )
    for row in p.stored:
        table.add_row(
            row.where,
            marked(str(quantity(row.peak, "V")), row.mark),
            marked(str(quantity(row.energy, "J")), row.mark),
            marked(str(quantity(row.charge, "C")), row.mark),
            drain_words(row),
        )
        table.add_row(Text(f"  past: {limit_words(row)}", style="dim"), "", "", "", "")
    return table


def _safety_gap(s: SafetyGapResult) -> Table:
    title = "Safety gap of each leg to earth" + (": NO SETTING FITS" if s.empty else "")
    table = sheet(title, "", "volts peak", "spacing", right=(1, 2))
    mark = s.setting_peak.mark if s.setting_peak else "pencil"
    table.add_row("above (1.05 x open peak)", marked(str(quantity(s.low_peak, "V")), mark), _length(s.spacing_low))
    table.add_row(f"below ({s.limited_by or 'no rating known'})", marked(str(quantity(s.high_peak, "V")), mark),
                  _length(s.spacing_high))  # fmt: skip
    table.add_row("set to", estimated(s.setting_peak), estimated(s.spacing))
    if s.fitted_peak is not None:
        table.add_row("in the project", estimated(s.fitted_peak), str(quantity(s.fitted_spacing, "m")))
    else:
        table.add_row("in the project", "NONE", "")
    return table


def _length(value: float | None) -> str:
    return marked(str(quantity(value, "m")), "pencil")


def _filter(f: FilterResult) -> Table:
    title = "Filter in each leg: " + ("as in the project" if f.fitted else "NONE in the project; this would do")
    table = sheet(title, "", "", right=(1,))
    own: Mark = "ink" if f.fitted else "pencil"
    rows: tuple[tuple[str, str], ...] = (
        ("resistor", marked(str(quantity(f.resistance, "ohm")), own)),
        ("capacitor to earth", marked(str(quantity(f.capacitance, "F")), own)),
        ("corner, with the winding's stray", marked(str(quantity(f.corner_frequency, "Hz")), "pencil")),
        ("ring at the winding over that at the gap", marked(str(quantity(f.attenuation, "%")), "pencil")),
        ("open volts lost at best power, at most", marked(str(quantity(f.drop, "%")), "pencil")),
        ("heat of the resistor", estimated(f.resistor_power)),
        ("volts peak on the resistor", marked(str(quantity(f.resistor_voltage_peak, "V")), "pencil")),
        ("pieces in series, at least", f"{f.resistors_in_series}"),
        ("volts peak on the capacitor", marked(str(quantity(f.capacitor_peak, "V")), "pencil")),
        ("current of the capacitor, rms", estimated(f.capacitor_current)),
        ("energy into the resistor each bang", marked(str(quantity(f.surge_energy, "J")), "pencil")),
    )
    for label, text in rows:
        table.add_row(label, text)
    return table


def _bleeders(p: ProtectionResult) -> Table:
    table = sheet("Bleeders", "", "fitted", "at most", "made of", "time", "heat", right=(1, 2, 3, 4, 5))
    for b in p.bleeders:
        table.add_row(
            b.basis,
            "NONE" if b.fitted is None else str(quantity(b.fitted, "ohm")),
            str(quantity(b.largest, "ohm")),
            made_of(b),
            str(quantity(b.discharge_time, "s")),
            str(quantity(b.power, "W")),
        )
    return table


def _fuse(p: ProtectionResult) -> Table:
    table = sheet("Fuse and soft start", "", "", right=(1,))
    table.add_row("fuse in the project", f"{p.fuse.fitted or 'NONE'} {holding_words(p.fuse)}".strip())
    table.add_row("would do", p.fuse.advised or "none below the breaker")
    table.add_row(soft_start_label(p.fuse), estimated(p.fuse.soft_start))
    table.add_row("it takes each time, upper bound", estimated(p.fuse.soft_start_energy))
    return table


__all__ = [
    "HELD",
    "drain_words",
    "holding_words",
    "limit_words",
    "made_of",
    "print_protection",
    "soft_start_label",
]
