"""Fill the hazard rules' facts from the solved supply, and return the tags."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.stress import Limits
from coilwright.analyses.tank import tank_capacitance, tank_unit
from coilwright.analyses.topology import (
    Wired,
    behind_ballast,
    correction_capacitors,
    has_ballast,
    in_series,
    is_earthed,
    mains_in_series,
    parallel_groups,
    tapped_in_series,
)
from coilwright.analyses.what_ifs import loose_core, lost_conductor, touch
from coilwright.model.design import Design
from coilwright.model.known import Mark
from coilwright.model.parts import Capacitor, Resistor, Transformer, Variable
from coilwright.protection import facts as f
from coilwright.protection.clearance import uniform_breakdown
from coilwright.protection.rules import collect, site_tags, supply_tags, tank_tags
from coilwright.protection.tag import Tag
from coilwright.supply.characterise import Characteristics
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.steady import rms

#: A bond reading counts at this test current or more [A]. IEC 60364-6, from memory.
BOND_CURRENT = 0.2


def supply_tags_of(
    design: Design,
    w: Wired,
    result: Characteristics,
    made: SupplyResult,
    known: ShelfResult,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    limits: Mapping[str, Limits],
) -> tuple[Tag, ...]:
    """Return every tag of this supply: site, shelf, supply and tank, ranked, answers marked."""
    facts = supply_facts(design, w, result, made, circuits, mains, limits)
    tank = tank_facts(design, w, made, limits)
    return collect(
        site_tags(site_facts(design, made)),
        supply_tags(facts),
        known.tags,
        tank_tags(tank) if tank is not None else (),
        answers=design.answers,
    )


def site_facts(design: Design, made: SupplyResult | None = None) -> f.SiteFacts:
    """Return what the site rules look at; ``made`` adds the supply's peak where one is solved."""
    site, room, goal, coil = design.site, design.site.room, design.goal, design.coil
    wants_coil = bool(coil.secondary or coil.top_loads or goal.secondary_height or goal.spark_length)
    peak = max((j.to_earth_peak for j in made.joints.values()), default=None) if made else None
    if made and made.gap_missing and made.gap_missing.own and peak is not None:
        peak = max([peak, *made.gap_missing.own.ends_peak.values()])
    return f.SiteFacts(
        high_voltage=any(t.kind != "isolation" for t in design.transformers),
        coil=wants_coil,
        gap=design.gap is not None,
        gap_power=made.best_power.power if made else None,
        supply_peak=peak,
        top_peak=None,
        streamer_length=goal.spark_length.value if goal.spark_length else None,
        streamer_basis="the order's spark length" if goal.spark_length else "",
        wall_distance=room.wall_distance.value if room.wall_distance else None,
        ceiling=room.ceiling.value if room.ceiling else None,
        outdoors=room.outdoors,
        system=site.system.value,
        system_mark=site.system.mark,
        earthing=site.earthing.value,
        earthing_mark=site.earthing.mark,
        plug=site.plug.value,
        plug_mark=site.plug.mark,
        rcd=site.rcd.value,
        disconnections=design.protection.disconnections if design.protection else None,
    )


def supply_facts(
    design: Design,
    w: Wired,
    result: Characteristics,
    made: SupplyResult,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    limits: Mapping[str, Limits],
) -> f.SupplyFacts:
    """Return what the supply rules look at, every volt and ampere of it solved."""
    site = design.site
    high = [j for j in w.arrangement.output if made.joints[j].to_earth > 30]
    touches = [t for t in (touch(result.network, j) for j in high) if t is not None]
    lost = lost_conductor(w.arrangement, circuits, mains, high[0]) if high else None
    series = mains_in_series(w)
    return f.SupplyFacts(
        name=made.name,
        breaker=site.breaker.value,
        mains_voltage=site.mains_voltage.value,
        high_voltage=bool(w.high_units()),
        short_current=made.short_circuit.current,
        mains_short=result.uncorrected["short"].mains_current,
        mains_uncorrected=made.mains_current_uncorrected,
        mains_corrected=max(o.mains_current for o in (result.open, result.best, result.short)),
        mains_mark=made.marks.get("mains_current_uncorrected", "pencil"),
        ballast=has_ballast(w),
        part_currents=_part_currents(w, result),
        mains_in_series=series,
        mains_gain=site.mains_voltage.value / made.open_circuit.voltage
        if series and made.open_circuit.voltage
        else None,
        cores=tuple(_core(n, w, made, circuits, mains, limits) for n in w.of(Transformer)),
        windings=tuple(e for n in w.high_units() for e in _ends(n, w, made, limits[n])),
        tapped_in_series=tapped_in_series(w),
        pair=in_series(w),
        polarity_mark="pencil",
        ends=tuple((j, made.joints[j].to_earth) for j in w.arrangement.output),
        parallel=_parallel(w, result),
        shocks=tuple(f.Shock(t.joint, t.current_575, t.current_1000, t.residual, t.voltage) for t in touches),
        residual=max((o.residual_current for o in (result.open, result.best, result.short)), default=None),
        rcd=site.rcd.value,
        plug_in=site.plug.value != "fixed wiring",
        second_protective_conductor=bool(design.protection and design.protection.second_protective_conductor),
        pe_lost_voltage=lost[0] if lost else None,
        pe_lost_current=lost[1] if lost else None,
        separating=tuple(n for n in w.of(Transformer) if _kind(w, n) == "isolation"),
        lamp_autotransformers=tuple(n for n in w.of(Transformer) if _kind(w, n) == "lamp autotransformer"),
        variables=tuple(_variable(n, w, result) for n in w.of(Variable)),
        series_resistors=w.of(Resistor),
        flux=_flux(w, result, mains),
        correction=tuple(_correction(n, w, design, result) for n in sorted(correction_capacitors(w))),
        idle_power_factor=made.correction.idle_power_factor if made.correction.fitted else None,
        idle_leading=made.correction.idle_leading and made.correction.fitted > 0,
        inrush_peak=made.inrush.first_peak if made.inrush else None,
        closing_peak=made.correction.closing_peak,
        states=tuple(s.voltage for s in made.states),
        heat=_heat(design, made),
        spacings=(),
        unconverged=() if made.states else ("several steady states",),
    )


def _kind(w: Wired, name: str) -> str:
    part = w.part(name)
    return part.kind if isinstance(part, Transformer) else ""


def _part_currents(w: Wired, result: Characteristics) -> tuple[f.PartCurrent, ...]:
    short = result.states["short"]
    out = []
    for name in w.high_units():
        part = w.part(name)
        if isinstance(part, Transformer) and part.plate_power and part.plate_primary:
            rated = part.plate_power.value / part.plate_primary.value
            out.append(f.PartCurrent(name, rms(short.current(f"{name}.primary")), rated, part.plate_power.mark))
    return tuple(out)


def _core(
    name: str,
    w: Wired,
    made: SupplyResult,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    limits: Mapping[str, Limits],
) -> f.CoreFacts:
    part, stress = w.part(name), made.cores[name]
    bonds = part.bond_test if isinstance(part, Transformer) else ()
    best = min(bonds, key=lambda b: b.resistance.value, default=None)
    mark: Mark = "pencil" if best is None else "stamped" if best.stamp.instrument and best.stamp.date else "ink"
    tied, earthed = w.kept_tie(name) != "none", is_earthed(w, name)
    loose = loose_core(w, name, circuits, mains) if tied and earthed and w.is_high(name) else None
    lim = limits[name]
    return f.CoreFacts(
        name,
        tied,
        earthed,
        best.resistance.value if best else None,
        best.current if best else None,
        mark,
        stress.primary_to_core,
        stress.limit_primary_to_core,
        stress.limit_mark,
        stress.high_to_primary if w.is_high(name) else None,
        lim.high_to_primary.value,
        lim.high_to_primary.mark,
        loose.voltage if loose else None,
        loose.current if loose else None,
    )


def _ends(name: str, w: Wired, made: SupplyResult, lim: Limits) -> tuple[f.WindingEnd, ...]:
    stress, kept = made.windings[f"{name}.high"], w.kept_tie(name)
    return tuple(
        f.WindingEnd(
            f"{name}.high {end}",
            s.to_core,
            s.to_core_peak,
            known.value,
            known.mark,
            inner=lim.inner_end in {end, "unknown"},
            joined=kept == end,
        )
        for end, s, known in (("start", stress.start, lim.start_to_core), ("finish", stress.finish, lim.finish_to_core))
    )


def _parallel(w: Wired, result: Characteristics) -> tuple[f.ParallelGroup, ...]:
    """Return the parallel windings with what circulates when the supply is open, against the least rated current."""
    state, out = result.states["open"], []
    for names in parallel_groups(w):
        parts = [p for p in (w.part(n) for n in names) if isinstance(p, Transformer)]
        winding = [
            max(rms(state.current(x.name)) for x in state.equations.network.windings if x.name.startswith(f"{n}.high"))
            for n in names
        ]
        rated = [amps for amps in map(_rated_current, parts) if amps is not None]
        plates = {
            (p.kind, p.plate_primary and p.plate_primary.value, p.plate_secondary and p.plate_secondary.value)
            for p in parts
        }
        if rated:
            out.append(f.ParallelGroup(" + ".join(names), len(plates) == 1, False, max(winding), min(rated)))
    return tuple(out)


def _heat(design: Design, made: SupplyResult) -> tuple[f.HeatFacts, ...]:
    """Return the hottest likely temperature of each part of which anything is known; the upper end of its band
    counts.
    """
    room = design.site.air.temperature.value
    return tuple(
        f.HeatFacts(
            name,
            room + h.temperature_rise.high,
            on_time=h.on_time.value if h.on_time else None,
            duty=h.duty,
            mark=h.temperature_rise.mark,
        )
        for name, h in made.heat.items()
        if h.temperature_rise is not None
    )


def _rated_current(part: Transformer) -> float | None:
    """Return what the plate lets the high winding carry [A], None where it does not say."""
    if part.plate_current is not None:
        return part.plate_current.value
    if part.plate_power is not None and part.plate_secondary is not None:
        return part.plate_power.value / part.plate_secondary.value
    return None


def _variable(name: str, w: Wired, result: Characteristics) -> f.VariableFacts:
    part = w.part(name)
    rated = part.current.value if isinstance(part, Variable) and part.current else None
    return f.VariableFacts(name, max(rms(s.current(name)) for s in result.states.values()), rated)


def _flux(w: Wired, result: Characteristics, mains: MainsCircuit) -> tuple[f.FluxFacts, ...]:
    """Return V/f on each primary when open, over V/f of its plate (a plate that is silent about frequency is taken at
    the site's).
    """
    state, out = result.states["open"], []
    for name in w.of(Transformer):
        part = w.part(name)
        if not isinstance(part, Transformer) or part.plate_primary is None:
            continue
        first, last = w.node(f"{name}.primary_start"), w.node(f"{name}.primary_finish")
        plate_f = part.plate_frequency.value if part.plate_frequency else mains.frequency
        ratio = (rms(state.voltage(first, last)) / mains.frequency) / (part.plate_primary.value / plate_f)
        mark: Mark = part.plate_frequency.mark if part.plate_frequency else "pencil"
        out.append(f.FluxFacts(name, ratio, mark))
    return tuple(out)


def _correction(name: str, w: Wired, design: Design, result: Characteristics) -> f.CorrectionCapacitor:
    part = w.part(name)
    if not isinstance(part, Capacitor):
        raise TypeError(f"{name} is no capacitor")
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
    ratings = []
    if end is not None:
        for name in w.high_units():
            lim, kept = limits[name], w.kept_tie(name)
            ratings += [
                f.Rating(f"{name}.high {e} to core", end, sqrt(2) * k.value, k.mark)
                for e, k in (("start", lim.start_to_core), ("finish", lim.finish_to_core))
                if kept != e and k.value > 0
            ]
    unit, strings, units = tank_unit(design), tank.strings, []
    if peak is not None and unit is not None and strings is not None:
        share = peak / strings.series
        units.append(
            f.TankUnit(
                f"{unit.id} in the tank", unit.value.value, share, strings.bleeder.value if strings.bleeder else None
            )
        )
        if unit.rated is not None:
            rated = unit.rated.value * (sqrt(2) if unit.rated_kind == "AC" else 1.0) * strings.series
            ratings.append(
                f.Rating(f"tank string of {strings.series} x {unit.id}", peak, rated, unit.rated.mark, across=True)
            )
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
        tuple(units),
        strings.series if strings else 1,
        tank.plates is not None,
        states=own.states if own is not None and known else (),
        unconverged=() if known or made.gap_missing is None else ("tank attached, gap missing",),
    )
