"""What every capacitor of the set may hold when the plug is out, and the bleeder that each needs."""

from __future__ import annotations

from math import ceil, log, sqrt
from typing import Literal

from coilwright.analyses.gates_results import ChargeRow
from coilwright.analyses.results import SupplyResult
from coilwright.analyses.sides import behind_ballast, correction_capacitors
from coilwright.analyses.tank import tank_capacitance, tank_unit
from coilwright.analyses.topology import Wired
from coilwright.capacitors.bleeders import HALF_WATT_VOLTAGE
from coilwright.model.design import Design
from coilwright.model.parts import Capacitor
from coilwright.protection.energy import drain_time, stored_energy
from coilwright.protection.rules_capacitor import MAINS_TOLERANCE, discharge_rule

#: No further bleeder is asked for up to these volts [V DC]: the touch limit for direct volts, EN 50191, from memory.
TOUCH_DC = 60.0

Place = Literal["correction", "tank", "filter", "supply"]


def charge_row(
    where: str,
    capacitance: float,
    peak: float | None,
    *,
    place: Place = "tank",
    fitted: float | None = None,
    at_plug_pins: bool = False,
    alternating: bool = True,
    units: int = 1,
    series: int = 1,
) -> ChargeRow:
    """Return what a capacitor [F] at ``peak`` [V] holds, the code's discharge time and the bleeder that meets it.

    Parameters
    ----------
    peak
        Highest across this unit [V]; None: not known, and nothing that follows from it is.
    fitted
        Bleeder on it [ohm], None without one.
    at_plug_pins
        The capacitor lies across pins that a hand reaches: 34 V in 1 s (IEC 60335-1 cl. 22.5, from memory).
    series
        Units in a string, each with that bleeder: the whole of it must come down to the volts left.
    alternating
        Whether the volts are a sine of that peak, which is what the bleeder's heat is counted on.

    Notes
    -----
    V(t) = V exp(-t / RC), so R <= t / (C ln(V / V_left)). 50 V in 60 s: NEC 460.6; 50 V in 300 s above 600 V: NEC
    460.28, from memory.
    """
    if peak is None:
        nothing = (None, None, None, None)
        return ChargeRow(where, place, capacitance, None, None, None, None, None, "", fitted, *nothing, units)
    whole = series * peak
    residual, allowed, rule = discharge_rule(whole, at_plug_pins=at_plug_pins)
    largest = allowed / (capacitance * log(whole / residual)) if whole > residual else None
    volts = peak / sqrt(2) if alternating else peak
    counted = min(x for x in (largest, fitted) if x is not None) if largest or fitted else None
    return ChargeRow(
        where,
        place,
        capacitance,
        peak,
        stored_energy(capacitance, peak),
        capacitance * peak,
        residual,
        allowed,
        rule,
        fitted,
        None if fitted is None else drain_time(capacitance, fitted, whole, residual),
        largest,
        None if counted is None else volts**2 / counted,
        ceil(peak / HALF_WATT_VOLTAGE),
        units,
    )


def charge_rows(design: Design, w: Wired, made: SupplyResult) -> tuple[ChargeRow, ...]:
    """Return every capacitor that is wired or belongs to tank or filter, what holds most first."""
    rows = [*_wired(design, w, made), *_tank(design, made), *_filter(design, w, made)]
    return tuple(sorted(rows, key=lambda r: -(r.energy or float("inf"))))


def _wired(design: Design, w: Wired, made: SupplyResult) -> list[ChargeRow]:
    on_mains, rows = correction_capacitors(w), []
    mains_peak = sqrt(2) * MAINS_TOLERANCE * design.site.mains_voltage.value
    for name in w.of(Capacitor):
        part = w.part(name)
        if not isinstance(part, Capacitor):
            continue
        a, b = w.node(f"{name}.a"), w.node(f"{name}.b")
        behind = behind_ballast(w, name)
        peaks = [made.joints[j].to_earth_peak for j in (a, b) if j in made.joints]
        peak = mains_peak if name in on_mains and not behind else (sum(peaks) if peaks else None)
        rows.append(
            charge_row(
                name,
                part.value.value,
                peak,
                place="correction" if name in on_mains else "supply",
                fitted=part.bleeder.value if part.bleeder else None,
                at_plug_pins=name in on_mains and not behind and design.site.plug.value != "fixed wiring",
            )
        )
    return rows


def _tank(design: Design, made: SupplyResult) -> list[ChargeRow]:
    """Return one unit of the tank at its share of the peak with the gap missing."""
    whole, tank, unit = tank_capacitance(design), design.tank, tank_unit(design)
    if whole is None or tank is None:
        return []
    missing = made.gap_missing
    own = missing.own if missing else None
    peak = own.peak if own is not None and own.exact else None
    strings = tank.strings
    if unit is None or strings is None:
        across = design.protection.bleeder if design.protection else None
        return [charge_row("tank", whole, peak, fitted=across.resistance.value if across else None)]
    share = None if peak is None else peak / strings.series
    fitted = strings.bleeder or unit.bleeder
    return [
        charge_row(
            f"{unit.id} in the tank",
            unit.value.value,
            share,
            fitted=fitted.value if fitted else None,
            units=strings.series * strings.parallel,
            series=strings.series,
        )
    ]


def _filter(design: Design, w: Wired, made: SupplyResult) -> list[ChargeRow]:
    """Return the filter's capacitor, one from each output end to earth, at the highest peak of an end."""
    protection = design.protection
    if protection is None or protection.filter is None:
        return []
    missing = made.gap_missing
    ends = [made.joints[j].to_earth_peak for j in w.arrangement.output if j in made.joints]
    if missing and missing.own and missing.own.exact:
        ends += missing.own.ends_peak.values()
    farads = protection.filter.capacitance.value
    return [
        charge_row("filter capacitor", farads, max(ends, default=None), place="filter", fitted=filter_bleeder(design))
    ]


def filter_bleeder(design: Design) -> float | None:
    """Return the bleeder [ohm] that is fitted to each of the filter's capacitors, None without one: that of the shelf's
    capacitor for the filter.

    The bleeder of [protection] lies across the tank. It drains no capacitor from a leg to earth once a lead is off.
    """
    fitted = design.protection.filter if design.protection else None
    if fitted is None:
        return None
    alike = (
        c for c in design.capacitors if c.use == "filter" and abs(c.value.value / fitted.capacitance.value - 1) < 0.05
    )
    found = [c.bleeder.value if c.bleeder else None for c in alike]
    known = [b for b in found if b is not None]
    return max(known) if known and len(known) == len(found) else None


__all__ = ["TOUCH_DC", "charge_row", "charge_rows", "filter_bleeder"]
