"""What the rules about capacitors look at: those on the mains side, those anywhere else, and the tank."""

from __future__ import annotations

from collections.abc import Mapping

from coilwright.analyses.leg_ratings import leg_ratings
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
from coilwright.analyses.tank_plates import plate_places
from coilwright.analyses.topology import Wired
from coilwright.model.design import Design
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
    own = missing_point(made)
    peak = own.peak if own is not None else None
    unit, strings, fitted = tank_unit(design), tank.strings, _whole_bleeder(design)
    units = [f.TankUnit("tank", capacitance, peak, fitted)]
    unrated = [] if plate_places(design) else ["tank"]
    if unit is not None and strings is not None:
        share = None if peak is None else peak / strings.series
        bleeder = strings.bleeder or unit.bleeder
        units = [f.TankUnit(f"{unit.id} in the tank", unit.value.value, share, bleeder.value if bleeder else None)]
        string = f"tank string of {strings.series} x {unit.id}"
        unrated = [] if unit.rated else [string]
    protection, gap = design.protection, fitted_peak(design)
    if protection is not None and protection.filter is not None:
        end = None if own is None else max(own.ends_peak.values(), default=None)
        units.append(f.TankUnit("filter capacitor", protection.filter.capacitance.value, end, fitted))
    return f.TankFacts(
        capacitance,
        peak,
        max(open_end_peaks(made, w.arrangement.output).values(), default=None),
        gap.value if gap else None,
        leg_ratings(design, w, limits, own),
        tuple(unrated),
        tuple(units),
        strings.series if strings else 1,
        tank.plates is not None,
        legs=len(live_ends(made, w.arrangement.output)),
        air=site_air(design),
        states=own.states if own is not None else (),
        unconverged=_unsolved(made),
    )


def _whole_bleeder(design: Design) -> float | None:
    """Return the bleeder of [protection] [ohm]: one across the whole tank, one like it on each filter capacitor."""
    bleeder = design.protection.bleeder if design.protection else None
    return bleeder.resistance.value if bleeder else None


def _unsolved(made: SupplyResult) -> tuple[str, ...]:
    """Return what the scan with the gap missing could not solve: the project's own tank."""
    missing = made.gap_missing
    if missing is None or (missing.own is not None and missing.own.exact):
        return ()
    return ("tank attached, gap missing",)
