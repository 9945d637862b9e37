"""What everything near the tank can hold against the limits for people, and the bleeders that empty it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import sqrt

from coilwright.analyses.charge import charge_rows, filter_bleeder
from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.tank import tank_capacitance, tank_unit
from coilwright.analyses.tank_filter import highest_end, stray_of
from coilwright.analyses.tank_results import BleederResult, SizeResult, StoredRow, SupplySide
from coilwright.analyses.topology import wired_with
from coilwright.capacitors.bleeders import RESIDUAL, bleeder_for
from coilwright.model.design import Design
from coilwright.model.known import Mark
from coilwright.protection.energy import drain_time, people_limits, stored_energy

#: Peak that an oven capacitor without a stated rating may have been charged to [V]: 2100 V AC (assumption).
USUAL_OVEN_PEAK = 2100.0 * sqrt(2)
#: Resistance through which a winding drains its own stray capacitance [ohm] (assumption, long side).
WINDING = 1e4


def _row(
    where: str, farads: float, peak: float, mark: Mark, bleeder: float | None, *, residual: float = RESIDUAL
) -> StoredRow:
    """Return one thing [F] at its highest peak [V] with the limits that it passes and the time that its bleeder [ohm]
    takes until ``residual`` is left across the whole of it.
    """
    passed = tuple(limit for limit in people_limits(farads, peak) if limit.exceeded)
    time = None if bleeder is None else drain_time(farads, bleeder, peak, residual)
    return StoredRow(where, farads, peak, stored_energy(farads, peak), farads * peak, passed, time,
                     None if bleeder is None else residual, mark)  # fmt: skip


def stored_rows(
    design: Design, side: SupplySide, size: SizeResult, made: SupplyResult | None, shelf: ShelfResult | None
) -> tuple[StoredRow, ...]:
    """Return tank, units, filter, correction and whatever else is wired, oven capacitors on the shelf, the windings'
    stray capacitance: what holds most first.
    """
    rows = [
        *_tank(design, side, size),
        *_filter(design, side),
        *_wired(design, made, shelf),
        *_shelf(design),
        *_stray(design, side, made, shelf),
    ]
    return tuple(sorted(rows, key=lambda r: -r.energy))


def _highest(side: SupplySide) -> tuple[float, Mark]:
    """Return the highest peak across the tank: gap missing where it is known, else of the open supply (pencil)."""
    own = side.own_missing
    return (own.peak, side.open_peak.mark) if own else (side.open_peak.value, "pencil")


def _tank(design: Design, side: SupplySide, size: SizeResult) -> Iterator[StoredRow]:
    whole = tank_capacitance(design)
    if whole is None and size.capacitance is not None:
        whole = size.capacitance.value
    if whole is None:
        return
    peak, mark = _highest(side)
    unit, strings = tank_unit(design), design.tank.strings if design.tank else None
    p = design.protection
    across = p.bleeder.resistance.value if p and p.bleeder else None
    if unit is None or strings is None:
        yield _row("tank", whole, peak, mark, across)
        return
    fitted = strings.bleeder or unit.bleeder
    share = peak / strings.series
    # bleeders of the units in their string: the whole has the time constant of one unit, and farther to fall
    yield _row("tank", whole, peak, mark, fitted.value * strings.series / strings.parallel if fitted else None)
    yield _row(f"{unit.id}, each of {strings.series * strings.parallel} in the tank", unit.value.value, share, mark,
               fitted.value if fitted else None)  # fmt: skip


def _filter(design: Design, side: SupplySide) -> Iterator[StoredRow]:
    p = design.protection
    if p is None or p.filter is None:
        return
    yield _row("filter capacitor, each leg", p.filter.capacitance.value, highest_end(side), side.open_peak.mark,
               filter_bleeder(design))  # fmt: skip


def _wired(design: Design, made: SupplyResult | None, shelf: ShelfResult | None) -> Iterator[StoredRow]:
    """Yield every capacitor that the arrangement wires: the correction ones, and any other."""
    arrangement = next((a for a in design.arrangements if made and a.name == made.name), None)
    if arrangement is None or made is None or shelf is None:
        return
    w = wired_with(arrangement, design, circuits_of(arrangement, design, shelf))
    for r in charge_rows(design, w, made):
        if r.place in {"correction", "supply"} and r.peak is not None:
            yield _row(
                f"{r.where} ({r.place})", r.capacitance, r.peak, "ink", r.fitted, residual=r.residual or RESIDUAL
            )


def _shelf(design: Design) -> Iterator[StoredRow]:
    for c in design.capacitors:
        if c.kind != "oven":
            continue
        rated = None if c.rated is None else c.rated.value * (sqrt(2) if c.rated_kind == "AC" else 1.0)
        mark: Mark = c.rated.mark if c.rated else "pencil"
        yield _row(f"{c.id} on the shelf (oven)", c.value.value, rated or USUAL_OVEN_PEAK, mark,
                   c.bleeder.value if c.bleeder else None)  # fmt: skip


def _stray(
    design: Design, side: SupplySide, made: SupplyResult | None, shelf: ShelfResult | None
) -> Iterator[StoredRow]:
    where, stray = "winding end to core (drains through the winding)", stray_of(design, made, shelf)
    yield _row(where, stray, highest_end(side), "pencil", WINDING)


# ---- bleeders --------------------------------------------------------------------------------------------------------


def bleeder_results(design: Design, side: SupplySide, unit: BleederResult | None) -> tuple[BleederResult, ...]:
    """Return the bleeders: ``unit`` is that of each capacitor of a string; a tank that is no string has one across it,
    each capacitor of the filter its own.
    """
    p, own = design.protection, design.tank.strings if design.tank else None
    across = p.bleeder.resistance.value if p and p.bleeder else None
    whole, (peak, _) = tank_capacitance(design), _highest(side)
    out = []
    if own is not None:
        out += [] if unit is None else [replace(unit, basis=f"each {own.part} of the tank: {unit.basis}")]
    elif whole is not None:
        out.append(_bleeder("across the tank", whole, peak, side.open_voltage.value, across))
    if p is not None and p.filter is not None:
        share = max(side.ends_open_peak.values(), default=0.0) / side.open_peak.value
        rms = side.open_voltage.value * share
        own_one = filter_bleeder(design)
        out.append(_bleeder("each filter capacitor", p.filter.capacitance.value, highest_end(side), rms, own_one))
    return tuple(out)


def _bleeder(where: str, farads: float, peak: float, rms: float, fitted: float | None) -> BleederResult:
    advised = bleeder_for(farads, 1, peak, peak, rms)
    b = advised if fitted is None else bleeder_for(farads, 1, peak, peak, rms, fitted=fitted)
    how = b.words.partition("; ")[2]  # the rule itself is named here: this one is no string
    return BleederResult(
        largest=b.largest,
        preferred=advised.total,
        resistors_in_series=b.resistors,
        resistor_each=b.each,
        voltage_each_peak=b.voltage_each_peak,
        power=b.power,
        discharge_time=b.discharge_time,
        residual=b.residual,
        time_allowed=b.time_allowed,
        fitted=fitted,
        basis=f"{where}: {b.residual:g} V left across it after {b.time_allowed:g} s" + (f"; {how}" if how else ""),
    )


__all__ = ["bleeder_results", "stored_rows"]
