"""What the rules about capacitors look at: those on the mains side, those anywhere else, and the tank."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

from coilwright.analyses.results import SupplyResult
from coilwright.analyses.sides import behind_ballast, correction_capacitors, high_capacitor
from coilwright.analyses.stress import Limits
from coilwright.analyses.tank import tank_capacitance, tank_unit
from coilwright.analyses.topology import Wired
from coilwright.model.design import Design
from coilwright.model.parts import Capacitor
from coilwright.protection import facts as f
from coilwright.protection.clearance import uniform_breakdown
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
    own = made.gap_missing.own if made.gap_missing else None
    known = own is not None and own.exact
    peak = own.peak if own is not None and known else None
    end = max(own.ends_peak.values()) if own is not None and known else None
    ratings = _winding_ratings(w, limits, end)
    unit, strings = tank_unit(design), tank.strings
    units = [f.TankUnit("tank", capacitance, peak)]
    unrated = ["tank"]
    if unit is not None and strings is not None:
        share = None if peak is None else peak / strings.series
        bleeder = strings.bleeder.value if strings.bleeder else None
        units = [f.TankUnit(f"{unit.id} in the tank", unit.value.value, share, bleeder)]
        string = f"tank string of {strings.series} x {unit.id}"
        unrated = [] if unit.rated else [string]
        if unit.rated is not None and peak is not None:
            rated = unit.rated.value * (sqrt(2) if unit.rated_kind == "AC" else 1.0) * strings.series
            ratings.append(f.Rating(string, peak, rated, unit.rated.mark, across=True))
    protection = design.protection
    gap = protection.safety_gap_voltage.value if protection and protection.safety_gap_voltage else None
    if gap is None and protection and protection.safety_gap_spacing:
        gap = uniform_breakdown(protection.safety_gap_spacing.value)
    return f.TankFacts(
        capacitance,
        peak,
        max(made.joints[j].to_earth_peak for j in w.arrangement.output),
        gap,
        tuple(ratings),
        tuple(unrated),
        tuple(units),
        strings.series if strings else 1,
        tank.plates is not None,
        states=own.states if own is not None and known else (),
        unconverged=_unsolved(made),
    )


def _winding_ratings(w: Wired, limits: Mapping[str, Limits], end: float | None) -> list[f.Rating]:
    """Return the ratings of the winding ends to their cores against the peak of an output end [V]."""
    if end is None:
        return []
    return [
        f.Rating(f"{name}.high {e} to core", end, sqrt(2) * k.value, k.mark)
        for name in w.high_units()
        for e, k in (("start", limits[name].start_to_core), ("finish", limits[name].finish_to_core))
        if w.kept_tie(name) != e and k.value > 0
    ]


def _unsolved(made: SupplyResult) -> tuple[str, ...]:
    """Return what the scan with the gap missing could not solve: the project's own tank."""
    missing = made.gap_missing
    if missing is None or (missing.own is not None and missing.own.exact):
        return ()
    return ("tank attached, gap missing",)
