"""Quick answers about tank, gap, string, plates and filter: a few lines below their hazards."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coilwright.analyses.quick_tank_results import (
    FilterAnswer,
    GapAnswer,
    PlatesAnswer,
    StringAnswer,
    TankAnswer,
    TankAnswered,
)
from coilwright.analyses.tank_plates import plates_words
from coilwright.analyses.tank_results import BleederResult, StringResult
from coilwright.model.known import Estimate
from coilwright.report.console import marked, print_indented, shown
from coilwright.report.estimate_words import measured
from coilwright.report.quantities import NOT_KNOWN, fixed, quantity

#: Strings that are printed; the document has them all.
STRINGS = 3
#: Columns of the terminal from which on the figures stand in two columns.
WIDE = 96

Facts = Sequence[tuple[str, str]]


def print_tank_answer(console: Console, result: TankAnswered, last: str) -> None:
    """Print one of these answers: its figures in pairs, then what they rest on as one paragraph that ends in
    ``last``.
    """
    if isinstance(result, TankAnswer):
        title, facts, words = _tank(result)
    elif isinstance(result, FilterAnswer):
        title, facts, words = _filter(result)
    elif isinstance(result, GapAnswer):
        title, facts, words = _gap(result)
    elif isinstance(result, StringAnswer):
        title, facts, words = _string(result)
    else:
        title, facts, words = _plates(result)
    console.print(Text(title, style="bold"))
    if facts:
        console.print(_pairs(facts, 2 if console.width >= WIDE else 1))
    print_indented(console, [" ".join([*words, *result.notes, last])], 0)


def _pairs(facts: Facts, columns: int) -> Table:
    """Return the facts as one or two columns of label and value, read downwards."""
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    for _ in range(2 * columns):
        table.add_column(overflow="fold")
    rows = -(-len(facts) // columns)
    for k in range(rows):
        table.add_row(*(Text(cell) for fact in facts[k::rows] for cell in fact))
    return table


def _inline(e: Estimate | None) -> str:
    """Return the estimate with its band behind it on the same line."""
    if e is None:
        return NOT_KNOWN
    found = measured(e)
    band = f", {found.band}" if found.band else ""
    return f"{marked(str(found), e.mark)}{band}"


def _pencil(value: float | None, unit: str) -> str:
    return shown(value, unit, "pencil")


def _rate(e: Estimate | None) -> str:
    return NOT_KNOWN if e is None else f"~{e.value:.0f} 1/s, {e.low:.0f} to {e.high:.0f}"


def _tank(a: TankAnswer) -> tuple[str, Facts, list[str]]:
    size, gap = a.size, a.safety_gap
    own = size.capacitance
    facts = [
        ("mains-resonant", _inline(a.resonant)),
        ("to aim at", "none holds" if size.advised is None else _inline(size.advised)),
        ("counted", NOT_KNOWN if own is None else _inline(own)),
        ("peak, gap missing", _inline(size.gap_missing_peak)),
        ("gap fires at, peak", _inline(size.firing_peak)),
        ("energy per bang", _inline(size.energy_per_bang)),
        ("charge per bang", _inline(size.charge)),
        ("bangs", _rate(size.break_rate)),
        ("power", _inline(size.power)),
        ("safety gap per leg, peak", "NO SETTING FITS" if gap.empty else _inline(gap.setting_peak)),
    ]
    words = [] if own is None or a.stated else [f"Counted: {own.basis}."]
    if a.bleeder is not None:
        words.append(_bleeder("Bleeder across it", a.bleeder))
    return "Tank", facts, words


def _bleeder(name: str, b: BleederResult) -> str:
    if not isfinite(b.largest):
        return f"{name}: none is asked for at these volts."
    return (
        f"{name}: at most {_pencil(b.largest, 'ohm')} for {b.residual:g} V in {b.time_allowed:g} s; "
        f"{b.resistors_in_series} x {_pencil(b.resistor_each, 'ohm')}: {_pencil(b.power, 'W')}, "
        f"{_pencil(b.discharge_time, 's')}."
    )


def _filter(a: FilterAnswer) -> tuple[str, Facts, list[str]]:
    f, size = a.filter, a.of.size
    facts = [
        ("resistor", _pencil(f.resistance, "ohm")),
        ("its heat", _inline(f.resistor_power)),
        ("volts peak on it", f"{_pencil(f.resistor_voltage_peak, 'V')}, {f.resistors_in_series} in series"),
        ("energy each bang", _pencil(f.surge_energy, "J")),
        ("open volts lost, at most", _pencil(f.drop, "%")),
        ("capacitor to earth", _pencil(f.capacitance, "F")),
        ("volts peak on it", _pencil(f.capacitor_peak, "V")),
        ("its current, rms", _inline(f.capacitor_current)),
        ("corner", _pencil(f.corner_frequency, "Hz")),
        ("left of the ring", _pencil(f.attenuation, "%")),
    ]
    tank = NOT_KNOWN if size.capacitance is None else _inline(size.capacitance)
    return f"Filter in each leg: capacitor to earth, resistor, safety gap, tank of {tank}", facts, list(f.fails)


def _gap(a: GapAnswer) -> tuple[str, Facts, list[str]]:
    g = a.gap
    what = f" of {quantity(g.diameter, 'm')}" if g.diameter is not None else ""
    each = NOT_KNOWN if g.spacing_each is None else _inline(g.spacing_each)
    facts = [
        ("breaks down at, peak", _inline(g.breakdown_peak)),
        ("spacing" if g.segments == 1 else f"spacing, each of {g.segments}", each),
        ("scatter, one sigma", f"~{100 * g.spread:.0f} %"),
        ("fires again hot, peak", _inline(g.hot_peak)),
        ("air density ratio", f"~{g.air_density_ratio:.3f}"),
        ("moisture", f"~{1e3 * g.humidity:.1f} g/m3"),
    ]
    asked = "spacing for the volts" if a.from_voltage else "volts of the spacing"
    return f"{g.form.capitalize()} gap{what}: {asked}", facts, []


def _string(a: StringAnswer) -> tuple[str, Facts, list[str]]:
    held = f"{_pencil(a.firing.value, 'V')} peak firing, {_pencil(a.missing_peak, 'V')} peak gap missing"
    ranked = a.strings.ranked
    if not ranked:
        reasons = [f"NO STRING WILL DO: {'; '.join(r.reasons)}." for r in a.strings.refused]
        return f"String at {held}", (), reasons or [f"NO STRING WILL DO: {a.strings.wanted}."]
    best = ranked[0]
    facts = [
        ("best", f"{best.series} in series, {best.parallel} in parallel"),
        ("capacitance", _inline(best.capacitance)),
        ("volts each, peak", f"{_pencil(best.voltage_each_peak, 'V')} of {_inline(best.rated_each_peak)}"),
        ("current each, rms", _inline(best.current_rms_each)),
        ("peak current", _inline(best.current_peak_each)),
        ("voltage slope", _inline(best.dv_dt)),
        ("assumed to stand", _inline(best.dv_dt_rated)),
        ("temperature rise", _inline(best.temperature_rise)),
    ]
    words = [f"{_verdict(best)} Next: {'; '.join(_short(r) for r in ranked[1:STRINGS]) or 'none'}."]
    if best.bleeder is not None:
        words.append(_bleeder("Bleeder on every unit", best.bleeder))
    return f"String at {held}", facts, words


def _verdict(r: StringResult) -> str:
    told = "; ".join(
        n.removeprefix("in doubt: ") for n in r.notes if n.startswith(("closest", "in doubt", "not known"))
    )
    return f"{'In doubt' if r.verdict != 'within' else 'Within its ratings'}: {told}."


def _short(r: StringResult) -> str:
    return f"{r.series} x {r.parallel} for {_pencil(r.capacitance.value, 'F')}"


def _plates(a: PlatesAnswer) -> tuple[str, Facts, list[str]]:
    p = a.plates
    s = p.strength  # the field itself stands in the tag of a home-made capacitor
    facts = [
        ("capacitance", _inline(p.capacitance)),
        ("rated, peak", _inline(p.rated_peak)),
        ("short-time strength", f"~{fixed(s.value, 1e6)} kV/mm, {fixed(s.low, 1e6)} to {fixed(s.high, 1e6)}"),
        ("edge glows in air, peak", _inline(p.corona_peak)),
        ("in oil, peak", _inline(p.corona_peak_oil)),
        ("temperature rise", _inline(p.temperature_rise)),
    ]
    cut = "; ".join(f"{c.count} {c.what} {fixed(c.length, 1e-3)} x {fixed(c.width, 1e-3)} mm" for c in p.sheets)
    words = [f"Cut: ~{cut}."]
    said = any(t.id == "tank-overvolt-gap-missing" for t in a.tags)  # with the numbers of these reasons
    against = [r for r in p.reasons if not (said and " is above the rated " in r)]
    if against:
        words.append(f"Against it: {'; '.join(against)}.")
    peaks = f"{_pencil(a.firing.value, 'V')} peak firing, {_pencil(a.missing_peak, 'V')} gap missing"
    return f"{plates_words(p)}: {peaks}", facts, words


__all__ = ["print_tank_answer"]
