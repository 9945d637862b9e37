"""The chosen supply, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coilwright.analyses.results import GapMissing, GapMissingPoint, OperatingPoint, SupplyResult
from coilwright.model.known import Mark
from coilwright.report.console import (
    LEGEND,
    Lookup,
    estimated,
    marked,
    print_block,
    print_indented,
    print_tags,
    sheet,
    shown,
)
from coilwright.report.console_limiter import print_limiter
from coilwright.report.quantities import NOT_KNOWN, figures, quantity

#: The rows of the table of working points: label, field of the point, unit.
_ROWS = (
    ("output", "voltage", "V"),
    ("output peak", "voltage_peak", "V"),
    ("output current", "current", "A"),
    ("power in the load", "power", "W"),
    ("mains current", "mains_current", "A"),
    ("  uncorrected", "mains_current_uncorrected", "A"),
    ("mains power", "mains_power", "W"),
    ("power factor", "power_factor", "1"),
    ("residual current", "residual_current", "A"),
)


def print_supply(console: Console, result: SupplyResult, *, tags: bool = True, short: bool = False) -> None:
    """Print the supply. ``short`` keeps the working points, the tank without its gap, and every tag."""
    if tags:
        print_tags(console, result.tags)
    known = Lookup(result.marks, result.bands)
    console.print(Text(f'Supply "{result.name}"', style="bold"))
    console.print()
    print_block(console, _working_points(result, known), _mains_line(result, known))
    if len(result.states) > 1:
        print_block(console, _states(result, known))
    if result.limiter is not None:
        print_limiter(console, result.limiter)
    _print_gap_missing(console, result.gap_missing, known.mark("gap_missing"))
    if not short:
        print_block(console, _droop(result, known), _ends(result, known), _cores(result, known), _joints(result, known))
        print_block(console, _heat(result, known))
        _print_clearances(console, result, known)
        print_block(console, Text("\n".join(_mains_words(result, known))))
    notes = list(result.notes)
    if result.fast_error is not None:
        off = 100 * result.fast_error
        words = "less than 0.01" if abs(off) < 0.01 else figures(off, 2)
        notes.append(f"The short current from the fundamental alone would be {words} % off.")
    print_indented(console, [f"- {note}" for note in notes], 0)
    console.print()
    print_block(console, Text(LEGEND))


def _working_points(result: SupplyResult, known: Lookup) -> Table:
    points = {
        "open_circuit": result.open_circuit,
        "best_power": result.best_power,
        "short_circuit": result.short_circuit,
    }
    table = sheet("Working points (rms unless peak)", "", "open", "best power", "short", right=(1, 2, 3))
    load = quantity(result.best_power.load_resistance, "ohm")
    table.add_row("load", "none", str(load), "0 ohm")
    for label, name, unit in _ROWS:
        values = {key: getattr(point, name) for key, point in points.items()}
        if all(value is None for value in values.values()):
            continue
        cells = [known.show(_path(key, name), value, unit) for key, value in values.items()]
        table.add_row(label, *(cell.replace(" ratio", "") for cell in cells))
    return table


def _path(point: str, name: str) -> str:
    return f"{point}.{'load_power' if name == 'power' else 'power' if name == 'mains_power' else name}"


def _mains_line(result: SupplyResult, known: Lookup) -> Text:
    text = known.show("mains_current_uncorrected", result.mains_current_uncorrected, "A").replace("\n", ", 95 % band ")
    return Text(
        f"Breaker, plug, cable and contactor must carry {text}: the largest of all working points, with every "
        "correction capacitor failed open."
    )


def _states(result: SupplyResult, known: Lookup) -> Table:
    table = sheet(
        "More than one steady state: which one comes depends on the instant of switching on",
        "open output",
        "peak",
        "mains current",
        right=(0, 1, 2),
    )
    mark = known.mark("states")
    for state in result.states:
        table.add_row(
            shown(state.voltage, "V", mark), shown(state.voltage_peak, "V", mark), shown(state.mains_current, "A", mark)
        )
    return table


def _print_gap_missing(console: Console, missing: GapMissing | None, mark: Mark) -> None:
    if missing is None:
        print_block(console, Text("Tank attached, gap missing: not known (not computed)."))
        return
    table = sheet(
        "Tank attached, gap missing: highest steady state",
        "tank",
        "across output",
        "highest end to earth",
        "limit to earth",
        right=(0, 1, 2, 3),
    )
    limit = marked(f"{quantity(missing.limit_peak, 'V')} peak", missing.limit_mark)
    named = [("this project's tank", missing.own), ("the worst tank", missing.worst)]
    if missing.own is not None and missing.own == missing.worst:
        named = [("this project's tank, the worst of all", missing.own)]
    for label, point in named:
        if point is not None:
            tank = f"{label}\n{quantity(point.capacitance, 'F')}"
            table.add_row(tank, _peak(point, mark), _highest_end(point, mark), limit)
    # every point that nobody could compute, or that passes the limit, is worth a line
    passed = [p for p in missing.points if p.exact and max(p.ends_peak.values(), default=0.0) > missing.limit_peak]
    unknown = [p for p in missing.points if not p.exact]
    low, high = (quantity(end(p.capacitance for p in missing.points), "F") for end in (min, max))
    resonant = quantity(missing.resonant_capacitance, "F")
    scanned = f"{len(missing.points)} tanks from {low} to {high}, resonant with the mains at {resonant}"
    words = [f"{scanned}: {len(passed)} exceed the limit ({missing.limit_where})."]
    if missing.still_rising:
        words.append("At the largest tank the peak still rises: a larger one may be worse.")
    if passed:
        low, high = (quantity(end(p.capacitance for p in passed), "F") for end in (min, max))
        words.append(f"They lie between {low} and {high}.")
    if unknown:
        tanks = ", ".join(str(quantity(p.capacitance, "F")) for p in unknown)
        words.append(f"Not known, because the search did not converge: {tanks}.")
    print_block(console, table, Text(" ".join(words)))


def _peak(point: GapMissingPoint, mark: Mark) -> str:
    if not point.exact:
        return NOT_KNOWN
    shown = quantity(point.peak, "V", point.peak_band)
    return marked(f"{shown} peak", mark) + (f"\n{shown.band}" if shown.band else "")


def _highest_end(point: GapMissingPoint, mark: Mark) -> str:
    if not point.exact or not point.ends_peak:
        return NOT_KNOWN
    joint, volts = max(point.ends_peak.items(), key=lambda item: item[1])
    shown = quantity(volts, "V", point.ends_band.get(joint))
    return marked(f"{shown} peak", mark) + (f"\n{shown.band}" if shown.band else "") + f"\nat {joint}"


def _droop(result: SupplyResult, known: Lookup) -> Table:
    table = sheet("Droop", "load", "output", "current", "power", "mains", "PF", right=range(6))
    for index, point in enumerate(result.droop):
        mark = known.mark(f"droop[{index}]")
        table.add_row(
            _load(point),
            shown(point.voltage, "V", mark),
            shown(point.current, "A", mark),
            shown(point.power, "W", mark),
            shown(point.mains_current, "A", mark),
            marked(figures(point.power_factor, 2), mark),
        )
    return table


def _load(point: OperatingPoint) -> str:
    return "open" if point.load_resistance is None else str(quantity(point.load_resistance, "ohm"))


def _ends(result: SupplyResult, known: Lookup) -> Table:
    table = sheet(
        "High windings: ends to their core (largest of open, best power and short)",
        "end",
        "to core",
        "peak",
        "limit rms",
        "to earth",
        right=(1, 2, 3, 4),
    )
    for key, stress in result.windings.items():
        for side, end, limit in (
            ("start", stress.start, stress.start_limit),
            ("finish", stress.finish, stress.finish_limit),
        ):
            mark = known.mark(f"windings.{key}.{side}_to_core")
            inner = " (inner)" if stress.inner_end in {side, "unknown"} else ""
            table.add_row(
                f"{key} {side}{inner}",
                shown(end.to_core, "V", mark),
                shown(end.to_core_peak, "V", mark),
                shown(limit, "V", stress.limit_mark),
                shown(end.to_earth, "V", mark),
            )
    return table


def _cores(result: SupplyResult, known: Lookup) -> Table:
    table = sheet(
        "Cores", "core", "to earth", "peak", "primary to core", "limit", "high to primary", right=(1, 2, 3, 4, 5)
    )
    for part, core in result.cores.items():
        mark = known.mark(f"cores.{part}.voltage_to_earth")
        table.add_row(
            part,
            shown(core.voltage_to_earth, "V", mark),
            shown(core.voltage_to_earth_peak, "V", mark),
            shown(core.primary_to_core, "V", mark),
            shown(core.limit_primary_to_core, "V", core.limit_mark),
            shown(core.high_to_primary, "V", mark),
        )
    return table


def _joints(result: SupplyResult, known: Lookup) -> Table:
    table = sheet("Joints to earth", "joint", "rms", "peak", "class", right=(1, 2))
    for name, joint in result.joints.items():
        mark = known.mark(f"joints.{name}")
        table.add_row(
            name,
            shown(joint.to_earth, "V", mark),
            shown(joint.to_earth_peak, "V", mark),
            "HIGH VOLTAGE" if joint.high else "mains and below",
        )
    return table


def _heat(result: SupplyResult, known: Lookup) -> Table:
    table = sheet(
        "Heat at best power", "part", "loss", "in short", "rise", "time on, cold", "duty", right=(1, 2, 3, 4, 5)
    )
    for part, heat in result.heat.items():
        mark = known.mark(f"heat.{part}")
        rise, time = heat.temperature_rise, heat.on_time
        table.add_row(
            part,
            shown(heat.loss, "W", mark),
            shown(heat.loss_short, "W", mark),
            estimated(rise),
            estimated(time),
            NOT_KNOWN if heat.duty is None else marked(f"{figures(100 * heat.duty, 2)} %", mark),
        )
    return table


def _print_clearances(console: Console, result: SupplyResult, known: Lookup) -> None:
    title = "Spacing from each joint to earth"
    table = sheet(title, "joint", "peak", "through air", "along surfaces", "factor", "basis", right=(1, 2, 3, 4))
    bases = list(dict.fromkeys(c.basis for c in result.clearances))
    for c in result.clearances:
        mark = known.mark(f"joints.{c.joint}")
        volts, air, surface = shown(c.peak, "V", mark), shown(c.clearance, "m", mark), shown(c.creepage, "m", mark)
        table.add_row(c.joint, volts, air, surface, figures(c.factor, 2), f"({bases.index(c.basis) + 1})")
    print_block(console, table)
    print_indented(console, [f"({number}) {basis}" for number, basis in enumerate(bases, start=1)], 0)
    console.print()


def _mains_words(result: SupplyResult, known: Lookup) -> list[str]:
    correction, inrush = result.correction, result.inrush
    mark = known.mark("correction")
    leading = " leading" if correction.idle_leading else ""
    fitted = f"{shown(correction.fitted, 'F', mark)} fitted" if correction.fitted else "none fitted"
    suggested = shown(correction.suggested, "F", mark)
    idle = shown(correction.idle_current, "A", mark)
    factor = marked(figures(correction.idle_power_factor, 2), mark)
    words = [
        f"Power-factor correction: {fitted}, {suggested} would suit best power.",
        f"Idle, the set draws {idle} at power factor {factor}{leading}.",
    ]
    if correction.closing_peak is not None:
        words.append(f"Switching the capacitor on at the crest: {shown(correction.closing_peak, 'A', mark)} peak.")
    if inrush is None:
        words.append("Inrush: not known.")
        return words
    band = "the breaker's magnetic band is not known"
    if inrush.magnetic_low is not None and inrush.magnetic_high is not None:
        low, high = quantity(inrush.magnetic_low, "A"), quantity(inrush.magnetic_high, "A")
        band = f"the breaker trips at once somewhere from {low} to {high} rms"
    verdict = {True: "it may trip", False: "below that", None: "whether it trips is not known"}[inrush.may_trip]
    first, steady = (shown(value, "A", known.mark("inrush")) for value in (inrush.first_peak, inrush.steady_peak))
    words.append(f"Inrush: {first} first peak at the worst instant ({steady} peak when steady); {band}: {verdict}.")
    return words
