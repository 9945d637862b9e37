"""Sheets of the chosen supply: what it gives, what it draws, what stands where."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.results import OperatingPoint, PlanResult, SupplyResult
from coilwright.model.design import Design
from coilwright.report.blocks import Block, Cell, Column, Grid, Heading, Paragraph, Row, Table
from coilwright.report.book.marks import mark_of
from coilwright.report.quantities import fixed, quantity

UNCORRECTED = "Breaker and wiring are judged on the uncorrected current."
ORDERS_SHOWN = 8
STATES = (("open (idle)", "open_circuit"), ("best power", "best_power"), ("short-circuited", "short_circuit"))


def row(result: SupplyResult, label: str, value: float | None, unit: str, key: str, source: str = "") -> Row:
    """Return the row of one number of the result, with the band and mark that its key path has."""
    shown = quantity(value, unit, result.bands.get(key))
    return Row(label, shown.text, shown.unit, shown.band, mark_of(result, key), source)


def glance_blocks(design: Design, result: SupplyResult, plan: PlanResult | None) -> Iterator[Block]:
    """Yield the first sheet of the supply: output, mains and what the model leaves out."""
    yield Heading("The supply at a glance")
    yield Paragraph(f"Arrangement: {result.name}")
    opened, shorted, best = result.open_circuit, result.short_circuit, result.best_power
    ranked = next((r for r in plan.ranked if r.name == result.name), None) if plan else None
    rows = [
        row(result, "open-circuit voltage, rms", opened.voltage, "V", "open_circuit.voltage"),
        row(result, "open-circuit voltage, peak", opened.voltage_peak, "V", "open_circuit.voltage_peak"),
        row(result, "short-circuit current, rms", shorted.current, "A", "short_circuit.current"),
        row(result, "best power into a resistor", best.power, "W", "best_power.load_power"),
        row(result, "  at that load", best.load_resistance, "ohm", "best_power.load_resistance"),
        row(result, "  voltage there, rms", best.voltage, "V", "best_power.voltage"),
        row(result, "  current there, rms", best.current, "A", "best_power.current"),
    ]
    if ranked is not None:
        rows.append(row(result, "open volts times short amperes", ranked.apparent_power, "VA", "apparent_power"))
    yield Table("output", "At the output", tuple(rows))
    yield _mains(design, result)
    yield _mains_grid(result)
    yield from harmonic_blocks(result)
    yield from _notes(result)


def _mains(design: Design, result: SupplyResult) -> Table:
    site, correction = design.site, result.correction
    breaker = site.breaker.value
    rows = []
    for words, key in STATES:
        point: OperatingPoint = getattr(result, key)
        rows.append(row(result, f"mains current, {words}", point.mains_current, "A", f"{key}.mains_current"))
        if point.mains_current_uncorrected is not None:
            bare = f"{key}.mains_current_uncorrected"
            rows.append(row(result, "  with the correction failed open", point.mains_current_uncorrected, "A", bare))
    rows += [
        row(
            result,
            "largest mains current, uncorrected",
            result.mains_current_uncorrected,
            "A",
            "mains_current_uncorrected",
            UNCORRECTED,
        ),
        Row(
            "breaker upstream",
            quantity(breaker.rated_current, "A").text,
            "A",
            "",
            site.breaker.mark,
            f"curve {breaker.curve}" if breaker.curve else "curve not known",
        ),
        row(result, "power factor, best power", result.best_power.power_factor, "1", "best_power.power_factor"),
        row(result, "idle current, as corrected", correction.idle_current, "A", "correction.idle_current"),
        row(
            result,
            "idle power factor",
            correction.idle_power_factor,
            "1",
            "correction.idle_power_factor",
            "leading" if correction.idle_leading else "lagging",
        ),
        row(result, "correction capacitance fitted", correction.fitted, "F", "correction.fitted"),
        row(
            result,
            "correction capacitance suggested",
            correction.suggested,
            "F",
            "correction.suggested",
            "for best power",
        ),
    ]
    if correction.closing_peak is not None:
        rows.append(
            row(
                result,
                "capacitor closed at the crest, peak",
                correction.closing_peak,
                "A",
                "correction.closing_peak",
            )
        )
    if result.inrush is not None:
        rows += _inrush(result)
    return Table("mains", "At the mains", tuple(rows), UNCORRECTED)


def _inrush(result: SupplyResult) -> list[Row]:
    inrush = result.inrush
    if inrush is None:
        return []
    trips = {
        True: "may trip the breaker",
        False: "below the breaker's magnetic band",
        None: "against the breaker: not known",
    }
    rows = [
        row(
            result,
            "switch-on, worst first peak",
            inrush.first_peak,
            "A",
            "inrush.first_peak",
            trips[inrush.may_trip],
        )
    ]
    if inrush.magnetic_low is not None and inrush.magnetic_high is not None:
        low, high = quantity(inrush.magnetic_low, "A"), quantity(inrush.magnetic_high, "A")
        rows.append(
            Row(
                "breaker trips at once from",
                low.text,
                low.unit,
                f"{low.text} to {high.text}",
                mark_of(result, "inrush.magnetic_low"),
                "its magnetic band",
            )
        )
    return rows


def _mains_grid(result: SupplyResult) -> Grid:
    columns = (
        Column("state", share=1),
        *(
            Column(t, u, "right")
            for t, u in (
                ("current", "A"),
                ("peak", "A"),
                ("real power", "W"),
                ("apparent", "VA"),
                ("reactive", "var"),
                ("power factor", "ratio"),
                ("RCD sees", "mA"),
            )
        ),
    )

    def cells(words: str, key: str) -> tuple[Cell, ...]:
        point: OperatingPoint = getattr(result, key)
        mark = mark_of(result, f"{key}.mains_current")
        numbers = (
            fixed(point.mains_current, 1),
            fixed(point.mains_current_peak, 1),
            fixed(point.mains_power, 1),
            fixed(point.apparent_power, 1),
            fixed(point.reactive_power, 1),
            fixed(point.power_factor, 1),
            fixed(point.residual_current, 1e-3),
        )
        return (Cell(words), *(Cell(n, mark) for n in numbers))

    return Grid(
        "mains states",
        "Mains side, correction as fitted",
        columns,
        tuple(cells(w, k) for w, k in STATES),
        (
            "Reactive power is of the fundamental, positive lagging.",
            "RCD sees: the current that does not come back. It does not grow when a person touches the high side.",
        ),
    )


def _notes(result: SupplyResult) -> Iterator[Block]:
    if len(result.states) > 1:
        mark = mark_of(result, "open_circuit.voltage")
        yield Grid(
            "states",
            "More than one steady state: design for the higher",
            (
                Column("state", share=1),
                Column("output", "kV rms", "right"),
                Column("output", "kV peak", "right"),
                Column("mains current", "A", "right"),
            ),
            tuple(
                (
                    Cell(str(i)),
                    Cell(fixed(s.voltage, 1e3), mark),
                    Cell(fixed(s.voltage_peak, 1e3), mark),
                    Cell(fixed(s.mains_current, 1), mark),
                )
                for i, s in enumerate(result.states, 1)
            ),
        )
    if result.notes or result.fast_error is not None:
        yield Heading("What the model leaves out", 2)
    for note in result.notes:
        yield Paragraph(note, "small")
    if result.fast_error is not None:
        yield Table(
            "fast",
            "",
            (
                Row(
                    "short current, fundamental-only estimate against the full solution",
                    quantity(result.fast_error, "%").text,
                    "%",
                    "",
                    mark_of(result, "short_circuit.current"),
                    "shown only as a check; no number here rests on it",
                ),
            ),
        )


def harmonic_blocks(result: SupplyResult) -> Iterator[Block]:
    """Yield the small table of mains-current harmonics."""
    found: dict[int, float] = {}
    for _, key in STATES:
        for order, current in getattr(result, key).mains_harmonics.items():
            found[order] = max(found.get(order, 0.0), current)
    orders = sorted(sorted(found, key=lambda order: -found[order])[:ORDERS_SHOWN])
    if not orders:
        return
    rest = max((current for order, current in found.items() if order not in orders), default=None)
    left_out = () if rest is None else (f"Orders that are left out carry {quantity(rest, 'A')} at most.",)
    rows = tuple(
        (
            Cell(words),
            *(
                Cell(fixed(getattr(result, key).mains_harmonics.get(order), 1), mark_of(result, f"{key}.mains_current"))
                for order in orders
            ),
        )
        for words, key in STATES
    )
    yield Grid(
        "harmonics",
        "Harmonics of the mains current, by order",
        (Column("state", share=1), *(Column(f"order {order}", "A rms", "right") for order in orders)),
        rows,
        left_out,
    )
