"""Quick answers on one screen: hazards, the answer, what it leaves open."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from coilwright.analyses.limiter_results import LimiterResult
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.analyses.quick_results import Answered, ChargeAnswer, CorrectionAnswer
from coilwright.protection.energy import StoredLimit
from coilwright.report.console import print_block, print_indented, print_tags, sheet, shown
from coilwright.report.console_limiter import print_limiter
from coilwright.report.quantities import quantity

PENCIL_LINE = "~ is pencil: nothing here was read, and what was not given is assumed. A project file says more."


def print_answer(console: Console, question: str, result: Answered) -> None:
    """Print one quick answer, its hazards first."""
    print_tags(console, result.tags)
    if isinstance(result, ChargeAnswer):
        _print_charge(console, question, result)
    elif isinstance(result, CorrectionAnswer):
        _print_correction(console, result)
    elif isinstance(result, LimiterResult):
        print_limiter(console, result, short=True)
    else:
        _print_polarity(console, result)
    print_indented(console, [PENCIL_LINE], 0)


def _pencil(value: float | None, unit: str) -> str:
    return shown(value, unit, "pencil")


def _print_charge(console: Console, question: str, a: ChargeAnswer) -> None:
    row, table = a.row, sheet("Charge and bleeder", "what", "value", right=(1,))
    if a.series > 1:
        table.add_row(f"units in series, {quantity(a.peak, 'V')} peak across all", str(a.series))
    table.add_row(f"{row.where}, charged to", f"{_pencil(row.peak, 'V')} peak")
    table.add_row("  holds", f"{_pencil(row.energy, 'J')}, {_pencil(row.charge, 'C')}")
    if row.largest is not None:
        goal = f"{quantity(row.residual, 'V')} in {quantity(row.allowed, 's')} ({row.rule})"
        table.add_row(f"largest bleeder, to {goal}", _pencil(row.largest, "ohm"))
    counted = row.fitted if row.fitted is not None else a.preferred
    if counted is not None:
        name = "bleeder fitted" if row.fitted is not None else "next value sold"
        table.add_row(name, shown(counted, "ohm", "ink" if row.fitted is not None else "pencil"))
        table.add_row("  drains in", _pencil(a.drain, "s"))
        table.add_row("  burns while the volts are on", _pencil(a.power, "W"))
        table.add_row("  in pieces of 350 V", str(row.pieces))
    print_block(console, table)
    if question == "charge":
        print_block(console, _limits(a.thresholds))
    print_indented(console, [f"- {note}" for note in a.notes], 0)


def _limits(limits: tuple[StoredLimit, ...]) -> Table:
    table = sheet("Against the limits for people", "limit", "is", "allows", "verdict", right=(1, 2))
    for s in limits:
        factor = f"exceeded {s.value / s.limit:.1f} x" if s.exceeded else "not exceeded, no leave to touch"
        table.add_row(s.source, _pencil(s.value, s.quantity), str(quantity(s.limit, s.quantity)), factor)
    if not limits:
        table.add_row("none applies up to 42.4 V peak", "", "", "drain and short it all the same")
    return table


def _print_correction(console: Console, a: CorrectionAnswer) -> None:
    table = sheet("Power-factor capacitor", "what", "value", right=(1,))
    mains = f"{quantity(a.mains_voltage, 'V')} {quantity(a.frequency, 'Hz')}"
    table.add_row(f"for {quantity(a.reactive_power, 'reactive power')} at {mains}", _pencil(a.capacitance, "F"))
    table.add_row("its own current, also with the set idle", _pencil(a.current, "A"))
    table.add_row("rated at least, AC", _pencil(a.rating, "V"))
    table.add_row("switched on at the crest", f"{_pencil(a.closing_peak, 'A')} peak")
    print_block(console, table)
    print_indented(console, [f"- {note}" for note in a.notes], 0)
    console.print()
    _print_charge(console, "correction", a.bleeder)


def _print_polarity(console: Console, a: PolarityResult) -> None:
    heads = list(a.rows[0].reversed) if a.rows else []
    title = f"Adapter of {quantity(a.drive, 'V')} rms between {a.at[0]} and {a.at[1]}: V rms read"
    table = sheet(title, "reversed", *(f"{x} to {y}" for x, y in (r.between for r in a.rows)), right=range(1, 9))
    table.add_row("none", *(_pencil(r.right.value, "V") for r in a.rows))
    for name in heads:
        table.add_row(name, *(_pencil(r.reversed[name].value, "V") for r in a.rows))
    print_block(console, table)
    x, y = a.reachable_between
    words = (
        f"Within reach at this drive: up to {_pencil(a.reachable, 'V')} rms, between {x} and {y}, "
        f"{_pencil(a.body_current, 'A')} through 1 kohm; the limit is 30 V rms."
    )
    print_indented(console, [words, *(f"- {line}" for line in a.procedure)], 0)


__all__ = ["print_answer"]
