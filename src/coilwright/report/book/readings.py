"""The sheet of expected readings.

Nothing is asked for that the named instrument cannot take, and nothing on the high side while the set is on the mains.
"""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.model.design import Design
from coilwright.protection.rules_stress import BOND_LIMIT, BOND_TEST_CURRENT
from coilwright.report.blocks import Block, Heading, Paragraph, ReadingRow, ReadingSheet, SignOff
from coilwright.report.book.marks import mark_of
from coilwright.report.book.parts import used_parts
from coilwright.report.quantities import quantity

BOND_SOURCE = "IEC 60364-6, from memory"


def expected_blocks(
    design: Design, shelf: ShelfResult | None, supply: SupplyResult, stops: int, *, dead: bool = True
) -> Iterator[Block]:
    """Yield the readings of the dead set, then those on the mains side, which stay closed while a STOP is open.

    Without ``dead`` those of the dead set are left out: the gates have them.
    """
    yield Heading("Expected readings")
    yield Paragraph(
        "A reading outside its band means that this is not the machine in this book: stop, isolate, and find out why "
        "before going on. No meter goes on the high side while the set is on the mains, ever.",
        "warning",
    )
    apart = (*_bonds(design, supply), *_resistances(design, shelf)) if dead else ()
    if apart:
        yield ReadingSheet(
            "dead",
            "Dead: isolator locked off, plug in view, tank out, drained and shorted before a hand goes in",
            apart,
            f"Bonds: with {quantity(BOND_TEST_CURRENT, 'A')} or more ({BOND_SOURCE}). Windings: cold, that part's "
            "leads off their joints, the meter's own leads taken off the reading. An ohmmeter on a winding kicks when "
            "it lets go: short the other winding of that part while you read.",
        )
    closed = f"not yet: {stops} STOP open" if stops else ""
    yield ReadingSheet(
        "idle",
        "Mains side, output open and out of reach, tank out",
        _mains(design, supply, "open_circuit", closed),
        "Nobody within the keep-out ring. One person at the isolator, one watching.",
    )
    standing = quantity(supply.open_circuit.voltage_peak, "V")
    yield ReadingSheet(
        "shorted",
        f"Mains side, output bolted: {' and '.join(design_output(design))} to the earth joint",
        _mains(design, supply, "short_circuit", closed),
        f"Bolt the short with the isolator locked off, both ends and the core. If the short falls off, {standing} peak "
        "stands there. Seconds only; then isolate, drain, short.",
    )
    yield SignOff(("readings by", "second person", "instruments seen in date", "date"))


def design_output(design: Design) -> tuple[str, ...]:
    """Return the names of the output joints of the chosen arrangement."""
    chosen = design.chosen()
    return chosen.output if chosen is not None else ("one end of the output", "the other")


def mains_meter(design: Design) -> str | None:
    """Return the id of an instrument that reads amperes and watts between socket and set, at the mains voltage."""
    needed = design.site.mains_voltage.value
    return next(
        (
            i.id
            for i in design.instruments
            if {"current", "power"} <= set(i.accuracy) and i.rating is not None and i.rating >= needed
        ),
        None,
    )


def _mains(design: Design, supply: SupplyResult, key: str, closed: str) -> tuple[ReadingRow, ...]:
    point = supply.open_circuit if key == "open_circuit" else supply.short_circuit
    volts = design.site.mains_voltage
    bare = point.mains_current_uncorrected
    worst = quantity(max(c for c in (point.mains_current, bare) if c is not None), "A")
    instrument = (
        mains_meter(design)
        or f"a meter between socket and set, for {quantity(volts.value, 'V')} or more (none on the shelf)"
    )
    how = f"marked for {worst} or more"
    rows = []
    asked = [("mains current, correction as fitted", point.mains_current, "A", "mains_current")]
    if bare is not None and bare != point.mains_current:
        asked.append(("mains current, correction disconnected", bare, "A", "mains_current_uncorrected"))
    asked.append(("mains power", point.mains_power, "W", "power"))
    for what, value, unit, name in asked:
        shown = quantity(value, unit, supply.bands.get(f"{key}.{name}"))
        rows.append(
            ReadingRow(
                what,
                shown.text,
                shown.unit,
                shown.band,
                mark_of(supply, f"{key}.{name}", f"{key}.mains_current"),
                instrument,
                how,
                closed,
            )
        )
    return tuple(rows)


def _bonds(design: Design, supply: SupplyResult) -> Iterator[ReadingRow]:
    """Yield the bond of every core. Only a tester that drives the current can show a bond, so only such is named."""
    testers = {
        t.stamp.instrument for part in design.transformers for t in part.bond_test if t.current >= BOND_TEST_CURRENT
    }
    tester = next((i.id for i in design.instruments if i.id in testers), None)
    for core in supply.cores:
        yield ReadingRow(
            f"core of {core} to the earth joint",
            f"{BOND_LIMIT:g} or less",
            "ohm",
            f"0 to {BOND_LIMIT:g}",
            None,
            tester or f"a bond tester for {quantity(BOND_TEST_CURRENT, 'A')} or more",
        )


def _resistances(design: Design, shelf: ShelfResult | None) -> Iterator[ReadingRow]:
    testers = {t.stamp.instrument for part in design.transformers for t in part.bond_test}
    meter = next(
        (i.id for i in design.instruments if "resistance" in i.accuracy and i.id not in testers),
        "an ohmmeter (none on the shelf)",
    )
    used = used_parts(design.chosen())
    for part in shelf.parts.values() if shelf is not None else ():
        if part.id not in used:
            continue
        for key, words in (("primary_resistance", "primary"), ("secondary_resistance", "high winding, end to end")):
            value = part.values.get(key)
            if value is not None:
                shown = quantity(value.value, value.unit, (value.low, value.high))
                yield ReadingRow(f"{part.id} {words}", shown.text, shown.unit, shown.band, value.mark, meter)
