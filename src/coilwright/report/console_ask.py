"""Quick answers on one screen: hazards, the answer, what it leaves open."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.table import Table

from coilwright.analyses.limiter_results import LimiterResult
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.analyses.quick_results import Answered, ChargeAnswer, CorrectionAnswer
from coilwright.analyses.quick_tank_results import TankAnswered
from coilwright.protection.energy import StoredLimit
from coilwright.protection.rules import FIRST
from coilwright.protection.tag import GRADE_ORDER, Tag
from coilwright.report.console import counts_line, print_block, print_indented, sheet, shown
from coilwright.report.console_ask_tank import print_tank_answer
from coilwright.report.console_limiter import print_limiter
from coilwright.report.json_common import ordered_tags
from coilwright.report.quantities import quantity

#: Tags that are printed whole although they stop nothing: what is done before a hand goes in.
WHOLE = ("isolate-drain-short",)
PENCIL_LINE = "~ is pencil: nothing here was read, and what was not given is assumed. A project file says more."


def print_answer(console: Console, question: str, result: Answered | TankAnswered) -> None:
    """Print one quick answer, its hazards first."""
    _print_tags(console, result.tags)
    if isinstance(result, ChargeAnswer):
        _print_charge(console, question, result)
    elif isinstance(result, CorrectionAnswer):
        _print_correction(console, result)
    elif isinstance(result, LimiterResult):
        print_limiter(console, result, short=True)
    elif isinstance(result, PolarityResult):
        _print_polarity(console, result)
    else:
        print_tank_answer(console, result, PENCIL_LINE)
        return
    print_indented(console, [PENCIL_LINE], 0)


def _print_tags(console: Console, tags: Iterable[Tag]) -> None:
    """Print every tag, none is left out. Of what stops, and of what is done before every touch: what it is, its value
    and limit, what to do. The others in a row, those that always stand in a paragraph of their grade. The document and
    a project's own screens say why, the way out, the source.
    """
    every = ordered_tags(tags)
    for tag in every:
        if tag.id == FIRST:
            print_indented(console, [f"{tag.grade} {tag.id}: {tag.what} {tag.why} {tag.do}"], 0)
    for grade in GRADE_ORDER:
        mine = [t for t in every if t.grade == grade and t.id != FIRST]
        short = [t for t in mine if not t.blocks and t.id not in WHOLE]
        for tag in mine:
            if tag not in short:
                print_indented(console, _whole(tag), 0)
        for tag in short:
            if not tag.standing:
                print_indented(console, [f"{grade} {tag.id}{_place(tag)} (open): {_value(tag) or tag.what}"], 0)
        rows = [_row(t, again=any(x.id == t.id for x in short[:k])) for k, t in enumerate(short) if t.standing]
        if rows:
            print_indented(console, [f"{grade} (standing): {' / '.join(rows)}"], 0)
    opened = list(dict.fromkeys(tag.id for tag in every if tag.blocks))
    lines = [f"{counts_line(every)}   more: --json"]
    print_indented(console, [*lines, *([f"open STOP: {', '.join(opened)}"] if opened else [])], 0)
    console.print()


def _place(tag: Tag) -> str:
    return f" at {tag.where}" if tag.where else ""


def _value(tag: Tag) -> str:
    """Return the value as a sentence, "" where it says no more than that something is not there."""
    told = tag.value if tag.value not in {None, "none", "not stated"} else None
    return "" if told is None else f"{told[:1].upper()}{told[1:]}."


def _whole(tag: Tag) -> list[str]:
    state = "standing" if tag.standing else "open" if tag.answered is None or tag.blocks else "answered"
    numbers = [f"value {tag.value}"] if tag.value is not None else []
    numbers += [f"limit {tag.limit}"] if tag.limit != "-" else []
    amount = f" {'; '.join(numbers)}." if numbers else ""
    lines = [f"{tag.grade} {tag.id}{_place(tag)} ({state}): {tag.what}{amount[:2].upper()}{amount[2:]} Do: {tag.do}"]
    if tag.answered is not None:
        lines.append(f"answered: {tag.answered}" + (" (the STOP stays open)" if tag.blocks else ""))
    return lines


def _row(tag: Tag, *, again: bool) -> str:
    """Return what always stands, with its numbers where they are of this design."""
    words = [] if again else [tag.what]
    words += [_value(tag)] if again or tag.number is not None or tag.bound is not None else []
    return f"{tag.id}{_place(tag)}: {' '.join(w for w in words if w)}"


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
    told = [words, *(b.words for b in a.blind), *(f"- {line}" for line in a.procedure)]
    print_indented(console, told, 0)


__all__ = ["print_answer"]
