"""What the rules about capacitors look at: those on the mains side, those anywhere else, and the tank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from coilwright.analyses.charge import filter_bleeder
from coilwright.analyses.leg_ratings import leg_ratings
from coilwright.analyses.missing_scan import highest_missing, unsolved_band
from coilwright.analyses.results import SupplyResult
from coilwright.analyses.safety_gap import (
    fitted_peak,
    live_ends,
    missing_point,
    open_end_peaks,
    site_air,
)
from coilwright.analyses.sides import behind_ballast, correction_capacitors, high_capacitor
from coilwright.analyses.stress import Limits
from coilwright.analyses.tank import tank_capacitance, tank_unit
from coilwright.analyses.tank_gap import gap_alone
from coilwright.analyses.tank_plates import plate_places
from coilwright.analyses.topology import Wired
from coilwright.capacitors.dielectrics import find
from coilwright.capacitors.film import unit_of
from coilwright.errors import InputError
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.parts import Capacitor
from coilwright.protection import facts as f
from coilwright.supply.characterise import Characteristics
from coilwright.supply.steady import rms


def _capacitor(w: Wired, name: str) -> Capacitor:
    part = w.part(name)
    if not isinstance(part, Capacitor):
        raise TypeError(f"{name} is no capacitor")
    return part


def correction_facts(name: str, w: Wired, design: Design, result: Characteristics) -> f.CorrectionCapacitor:
    """Return one capacitor that stands on the mains side with both ends."""
    part = _capacitor(w, name)
    volts = max(rms(s.voltage(w.node(f"{name}.a"), w.node(f"{name}.b"))) for s in result.states.values())
    behind = behind_ballast(w, name)
    return f.CorrectionCapacitor(
        name,
        part.value.value,
        volts,
        part.rated.value if part.rated else None,
        part.rated_kind,
        part.kind,
        part.made,
        part.bleeder.value if part.bleeder else None,
        behind,
        design.site.plug.value != "fixed wiring" and not behind,
    )


def other_capacitors(w: Wired, result: Characteristics, made: SupplyResult) -> tuple[f.WiredCapacitor, ...]:
    """Return every wired capacitor that is not on the mains side, with the highest volts across it."""
    on_mains, out = correction_capacitors(w), []
    for name in w.of(Capacitor):
        part, a, b = _capacitor(w, name), w.node(f"{name}.a"), w.node(f"{name}.b")
        if name in on_mains or a == b:
            continue
        waves = [(s, s.voltage(a, b)) for s in result.states.values()]
        volts, peak = max(rms(v) for _, v in waves), max(s.peak(v) for s, v in waves)
        if {a, b} == set(w.arrangement.output):
            volts = max([volts, *(s.voltage for s in made.states)])
            peak = max([peak, *(s.voltage_peak for s in made.states)])
        out.append(
            f.WiredCapacitor(
                name,
                part.value.value,
                volts,
                peak,
                part.rated.value if part.rated else None,
                part.rated_kind,
                part.kind,
                part.made,
                part.bleeder.value if part.bleeder else None,
                high_capacitor(w, name),
            )
        )
    return tuple(out)


def tank_facts(design: Design, w: Wired, made: SupplyResult, limits: Mapping[str, Limits]) -> f.TankFacts | None:
    """Return what the tank rules look at, or None where the project states no tank."""
    capacitance = tank_capacitance(design)
    tank = design.tank
    if capacitance is None or tank is None:
        return None
    own, highest = missing_point(made), highest_missing(design, made)
    peak = own.peak if own is not None else None
    unit, strings = tank_unit(design), tank.strings
    units = [f.TankUnit("tank", capacitance, peak, _whole_bleeder(design))]
    unrated = [] if plate_places(design) else ["tank"]
    if unit is not None and strings is not None:
        share = None if peak is None else peak / strings.series
        bleeder = strings.bleeder or unit.bleeder
        fitted = bleeder.value if bleeder else None
        units = [f.TankUnit(f"{unit.id} in the tank", unit.value.value, share, fitted, strings.series)]
        string = f"tank string of {strings.series} x {unit.id}"
        unrated = [] if unit.rated else [string]
    protection, gap = design.protection, fitted_peak(design)
    if protection is not None and protection.filter is not None:
        end = None if own is None else max(own.ends_peak.values(), default=None)
        farads = protection.filter.capacitance.value
        units.append(f.TankUnit("filter capacitor", farads, end, filter_bleeder(design)))
    ends, whole = open_end_peaks(made, w.arrangement.output), made.open_circuit.voltage_peak
    legs = live_ends(made, w.arrangement.output)
    return f.TankFacts(
        capacitance,
        peak,
        max(ends.values(), default=None),
        gap.value if gap else None,
        leg_ratings(design, w, limits, highest),
        tuple(unrated),
        tuple(units),
        strings.series if strings else 1,
        tank.plates is not None,
        field=_field(design, peak),
        legs=len(legs),
        air=site_air(design),
        safety_gap_high=gap.high if gap else None,
        main_gap=_main_gap(design, earthed=len(legs) < 2),
        end_share=max(made.joints[j].to_earth_peak for j in legs) / whole if legs and whole > 0 else None,
        capacitance_band=(highest.low, highest.high) if highest else None,
        unfit=_unfit(design),
        states=own.states if own is not None else (),
        unconverged=unsolved_band(design, made),
    )


def _field(design: Design, peak: float | None) -> float | None:
    """Return the field in home-made plates with the gap missing [V/m], None where it is not known: several sheets lie
    side by side, so each of them has all of the volts across it.
    """
    plates = design.tank.plates if design.tank else None
    return None if plates is None or peak is None else peak / plates.thickness.value


def _main_gap(design: Design, *, earthed: bool) -> float | None:
    """Return the upper end of what the main gap fires at [V peak across], None where it is not known."""
    try:
        alone = gap_alone(design, earthed=earthed)
    except InputError:  # the tank stage tells of it
        return None
    return alone.breakdown_peak.high if alone is not None and alone.breakdown_peak is not None else None


def _unfit(design: Design) -> tuple[str, str] | None:
    """Return the capacitor of the tank's strings, or its plates, and why it is none for a tank."""
    unit, plates = tank_unit(design), design.tank.plates if design.tank else None
    if unit is not None:
        why = unit_of(unit).unfit if unit.rated else unit_of(replace(unit, rated=Known(1.0), rated_kind="AC")).unfit
        return (f"{unit.id} in the tank", "; ".join(why)) if why else None
    material = find(plates.dielectric) if plates is not None else None
    return ("tank plates", f"{material.name}: {material.unfit}") if material is not None and material.unfit else None


def _whole_bleeder(design: Design) -> float | None:
    """Return the bleeder of [protection] [ohm], which lies across the whole tank."""
    bleeder = design.protection.bleeder if design.protection else None
    return bleeder.resistance.value if bleeder else None
