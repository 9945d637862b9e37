"""Strings of film capacitors, as tables: the project's own one, the best of the shelf, and what was refused."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from coilwright.analyses.tank_results import SizeResult, StringResult, TankResult
from coilwright.model.known import Estimate
from coilwright.report.console import estimated, marked, print_block, print_indented, sheet
from coilwright.report.quantities import NOT_KNOWN, quantity

#: Rows of the ranking that are printed.
SHOWN = 6
VERDICTS = {
    "within": "within its rating in every figure",
    "doubtful": "in doubt",
    "over": "OVER its rating",
    "not known": "not known in every figure",
}


def print_strings(console: Console, result: TankResult) -> None:
    """Print own string, ranking, refusals with their reasons, and the limits of the model."""
    strings = result.strings
    if strings.own is not None:
        print_block(console, _own(strings.own, firing_label(result.size)))
        print_indented(console, _words(strings.own), 0)
        console.print()
    if strings.ranked:
        print_block(console, _ranked(strings.ranked[:SHOWN]))
        print_indented(console, [f"aimed at {strings.wanted}; {strings.considered} banks considered."], 0)
        shared = shared_notes(strings.ranked[:SHOWN])
        for k, row in enumerate(strings.ranked[:SHOWN], start=1):
            own = "; ".join(n for n in row.notes if n not in shared)
            print_indented(console, [f"{k}. {name_of(row)}: {own}."], 2)
        print_indented(console, [f"All of them: {note}." for note in shared], 2)
    else:
        print_indented(console, [f"No string of the shelf will do: aimed at {strings.wanted}."], 0)
    console.print()
    if strings.refused:
        print_indented(console, ["Refused for the tank:"], 0)
        print_indented(console, [f"{row.part}: {'; '.join(row.reasons)}." for row in strings.refused], 2)
        console.print()
    print_indented(console, [f"- {line}" for line in strings.limits], 0)
    console.print()


def name_of(row: StringResult) -> str:
    """Return the bank in words: "8 x C3 in series, 2 in parallel"."""
    return f"{row.series} x {row.part} in series, {row.parallel} in parallel"


def shared_notes(rows: Sequence[StringResult]) -> tuple[str, ...]:
    """Return the notes that all of several rows have, to be said once; none for a single row."""
    if len(rows) < 2:
        return ()
    return tuple(n for n in rows[0].notes if all(n in r.notes for r in rows))


def firing_label(size: SizeResult) -> str:
    """Return what the volts while the gap fires are called."""
    return "volts while the gap runs, peak" if size.by_rotor else "volts at the gap's setting, peak"


def _own(row: StringResult, firing: str) -> Table:
    table = sheet(f"String of the project: {name_of(row)}", "of one unit", "", "it stands", right=(1, 2))
    rated = estimated(row.rated_each_peak)
    missing = marked(str(quantity(row.voltage_each_peak, "V")), row.missing_mark)
    table.add_row("volts, gap missing, peak", missing, rated)
    table.add_row(firing, marked(str(quantity(row.voltage_each_firing_peak, "V")), row.firing_mark), "")
    table.add_row("voltage slope", estimated(row.dv_dt), estimated(row.dv_dt_rated))
    table.add_row("ring current, peak", estimated(row.current_peak_each), "")
    table.add_row("current, rms", estimated(row.current_rms_each), "")
    table.add_row("of it at mains frequency", marked(str(quantity(row.mains_current_each, "A")), "pencil"), "")
    table.add_row("loss", estimated(row.loss_each), "")
    table.add_row("temperature rise", estimated(row.temperature_rise), limit_of(row, "temperature rise"))
    table.add_row("whole bank: capacitance", estimated(row.capacitance), "")
    table.add_row("whole bank: inductance", estimated(row.inductance), "")
    return table


def limit_of(row: StringResult, what: str) -> str:
    """Return the limit of one check as printed, "" where it was not made."""
    check = next((c for c in row.checks if c.what == what), None)
    return "" if check is None else marked(str(quantity(check.limit, check.unit)), check.mark)


def _words(row: StringResult) -> list[str]:
    lines = [f"Verdict: {VERDICTS[row.verdict]}. {row.rating_words}. Sharing: {row.sharing}."]
    lines += [f"NO: {reason}." for reason in row.reasons]
    lines += [f"{note}." for note in row.notes]
    lines += bleeder_words(row)
    if row.layout is not None:
        size = " x ".join(str(quantity(x, "m")) for x in (row.layout.length, row.layout.width, row.layout.height))
        lines.append(f"Laid out on {size}: {'; '.join(row.layout.words)}.")
    return lines


def bleeder_words(row: StringResult) -> list[str]:
    """Return the bleeder of each unit in words."""
    b = row.bleeder
    if b is None:
        return ["Bleeder: not known, for no peak is known. One belongs on every unit all the same."]
    left = f"{b.residual:g} V on the whole string in {b.time_allowed:g} s (our rule)"
    ohms = f"at most {quantity(b.largest, 'ohm')} each for {left}"
    if b.fitted is None:
        what = f"none stated: fit {b.resistors_in_series} x {quantity(b.resistor_each, 'ohm')} in series on every unit"
    else:
        what = (
            f"{quantity(b.fitted, 'ohm')} on every unit, as fitted; the like of it to buy: {b.resistors_in_series} x "
            f"{quantity(b.resistor_each, 'ohm')} in series ({quantity(b.voltage_each_peak, 'V')} peak on each)"
        )
    words = (
        f"Bleeder, {ohms}: {what}; {quantity(b.power, 'W')} per unit when running; {b.residual:g} V are left across "
        f"the whole string after {quantity(b.discharge_time, 's')}. It fails open unseen: drain and short every unit "
        "all the same."
    )
    return [words]


def _ranked(rows: tuple[StringResult, ...]) -> Table:
    title = "Best strings of the shelf (volts peak and worst unit, gap missing)"
    table = sheet(title, "", "string", "bank", "volts each", "it stands", "A rms", "rise", "", right=(2, 3, 4, 5, 6))
    for k, row in enumerate(rows, start=1):
        table.add_row(
            f"{k}",
            f"{row.series} x {row.part}, {row.parallel} par.",
            _short(row.capacitance),
            marked(str(quantity(row.voltage_each_peak, "V")), row.missing_mark),
            _short(row.rated_each_peak),
            _short(row.current_rms_each),
            _short(row.temperature_rise),
            "" if row.verdict == "within" else "doubt" if row.verdict == "doubtful" else "not known",
        )
    return table


def _short(found: Estimate | None) -> str:
    return NOT_KNOWN if found is None else marked(str(quantity(found.value, found.unit)), found.mark)


__all__ = ["SHOWN", "VERDICTS", "bleeder_words", "firing_label", "limit_of", "name_of", "print_strings", "shared_notes"]
