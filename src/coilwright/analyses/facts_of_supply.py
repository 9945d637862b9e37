"""Fill the hazard rules' facts from the solved supply, and return the tags."""

from __future__ import annotations

from collections.abc import Mapping

from coilwright.analyses.facts_of_capacitors import correction_facts, other_capacitors, tank_facts
from coilwright.analyses.facts_of_chain import chain_facts
from coilwright.analyses.facts_of_people import core_facts, end_facts, shocks_of
from coilwright.analyses.polarity_results import Proof
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.sides import correction_capacitors, mains_in_series, touched_shunts
from coilwright.analyses.stress import Limits
from coilwright.analyses.topology import Wired, in_series, parallel_groups, tapped_in_series
from coilwright.analyses.what_ifs import ballast_effect, lost_conductor, opened_short
from coilwright.measurement.kinds import KINDS
from coilwright.model.design import Design
from coilwright.model.known import Mark, weakest
from coilwright.model.parts import Resistor, Transformer, Variable
from coilwright.protection import facts as f
from coilwright.protection.body import TOUCH_LIMIT_RMS
from coilwright.protection.rules import chain_tags, collect, site_tags, supply_tags, tank_tags
from coilwright.protection.tag import Tag
from coilwright.supply.characterise import Characteristics
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.steady import rms

#: By this factor the units' current into a short must grow when the ballast is bridged, or it counts as none
#: (assumption: less is within what is not known of salvaged parts).
LEAST_BALLAST_EFFECT = 1.2


def supply_tags_of(
    design: Design,
    w: Wired,
    result: Characteristics,
    made: SupplyResult,
    known: ShelfResult,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    limits: Mapping[str, Limits],
    proof: Proof,
) -> tuple[Tag, ...]:
    """Return every tag of this supply: site, shelf, supply and tank, ranked, answers marked."""
    facts = supply_facts(design, w, result, made, circuits, mains, limits, proof)
    tank = tank_facts(design, w, made, limits)
    return collect(
        site_tags(site_facts(design, made)),
        supply_tags(facts),
        _shelf_tags(known, w),
        tank_tags(tank) if tank is not None else (),
        chain_tags(chain_facts(design, made)),
        answers=design.answers,
    )


def _shelf_tags(known: ShelfResult, w: Wired) -> tuple[Tag, ...]:
    """Return the shelf's tags without what it says of a wired core's flux straight on the mains: that one is solved."""
    wired = {w.part(n).id for n in w.of(Transformer)}
    return tuple(t for t in known.tags if not (t.id == "frequency-mismatch" and t.where in wired))


def site_facts(design: Design, made: SupplyResult | None = None) -> f.SiteFacts:
    """Return what the site rules look at; ``made`` adds the supply's peak where one is solved."""
    site, room, goal, coil = design.site, design.site.room, design.goal, design.coil
    wants_coil = bool(coil.secondary or coil.top_loads or goal.secondary_height or goal.spark_length)
    peak = max((j.to_earth_peak for j in made.joints.values()), default=None) if made else None
    if made and made.gap_missing and made.gap_missing.own and peak is not None:
        peak = max([peak, *made.gap_missing.own.ends_peak.values()])
    return f.SiteFacts(
        high_voltage=any(_shows(t) > TOUCH_LIMIT_RMS for t in design.transformers),
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
        secondary=bool(coil.secondary or coil.top_loads),
        rod=design.earth.rod if design.earth else None,
    )


def _shows(part: Transformer) -> float:
    """Return the volts of a second winding by its plate, else the usual ones of its kind [V rms]."""
    return part.plate_secondary.value if part.plate_secondary else KINDS[part.kind].secondary_voltage


def supply_facts(
    design: Design,
    w: Wired,
    result: Characteristics,
    made: SupplyResult,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    limits: Mapping[str, Limits],
    proof: Proof,
) -> f.SupplyFacts:
    """Return what the supply rules look at, every volt and ampere of it solved."""
    site, best = design.site, result.best.load_resistance
    shocks = shocks_of(w, result, site.mains_voltage.value)
    cores = [core_facts(n, w, made, circuits, mains, limits, best) for n in w.of(Transformer)]
    high = [j for j in w.arrangement.output if made.joints[j].to_earth > TOUCH_LIMIT_RMS]
    lost = lost_conductor(w.arrangement, circuits, mains, high, best)
    opened = [(n, opened_short(w, n, circuits, mains, best)) for n in w.of(Transformer) if w.shorted(n)]
    effect, unbridged = ballast_effect(w, result.network, result.states["short"], w.high_units())
    limited = effect is not None and effect > LEAST_BALLAST_EFFECT
    residual = max((o.residual_current for o in (result.open, result.best, result.short)), default=None)
    series = mains_in_series(w) or shocks.returns
    return f.SupplyFacts(
        name=made.name,
        breaker=site.breaker.value,
        mains_voltage=site.mains_voltage.value,
        high_voltage=bool(w.high_units() or shocks.told),
        short_current=made.short_circuit.current,
        mains_short=result.uncorrected["short"].mains_current,
        mains_uncorrected=made.mains_current_uncorrected,
        mains_corrected=max(o.mains_current for o in (result.open, result.best, result.short)),
        mains_mark=made.marks.get("mains_current_uncorrected", "pencil"),
        ballast=limited,
        touched_shunts=() if limited else touched_shunts(w),
        part_currents=_part_currents(w, result, site.mains_voltage.value),
        mains_in_series=series,
        mains_gain=site.mains_voltage.value / made.open_circuit.voltage
        if series and made.open_circuit.voltage
        else None,
        cores=tuple(c for c, _ in cores),
        windings=tuple(e for n in w.live_units() for e in end_facts(n, w, made, limits[n])),
        tapped_in_series=tapped_in_series(w),
        pair=in_series(w),
        polarity_mark=proof.mark,
        polarity_words=proof.words,
        ends=tuple((j, made.joints[j].to_earth) for j in w.arrangement.output),
        parallel=_parallel(w, result, proved=proof.mark == "stamped"),
        shocks=shocks.told,
        residual=residual,
        rcd=site.rcd.value,
        plug_in=site.plug.value != "fixed wiring",
        second_protective_conductor=bool(design.protection and design.protection.second_protective_conductor),
        pe_lost_voltage=lost.voltage if lost else None,
        pe_lost_current=lost.current if lost else None,
        separating=tuple(n for n in w.of(Transformer) if n in w.front_units),
        lamp_autotransformers=tuple(n for n in w.of(Transformer) if _kind(w, n) == "lamp autotransformer"),
        variables=tuple(_variable(n, w, result) for n in w.of(Variable)),
        series_resistors=w.of(Resistor),
        flux=_flux(w, result, mains),
        correction=tuple(correction_facts(n, w, design, result) for n in sorted(correction_capacitors(w))),
        capacitors=other_capacitors(w, result, made),
        opened_shorts=tuple(
            f.OpenedShort(f"{n}.high", x.voltage, x.voltage_load) for n, x in opened if x.voltage is not None
        ),
        idle_power_factor=made.correction.idle_power_factor if made.correction.fitted else None,
        idle_leading=made.correction.idle_leading and made.correction.fitted > 0,
        inrush_peak=made.inrush.first_peak if made.inrush else None,
        closing_peak=made.correction.closing_peak,
        states=tuple(s.voltage for s in made.states),
        heat=_heat(design, made),
        resistors=(*(_resistor(n, w, result, made) for n in w.of(Resistor)), *_bleeder(design, made)),
        spacings=(),
        unconverged=(
            *(() if made.states else ("several steady states",)),
            *(() if made.inrush else ("switch-on",)),
            *_unsolved_scan(made),
            *shocks.unsolved,
            *(name for _, names in cores for name in names),
            *(lost.unsolved if lost else ()),
            *(name for _, x in opened for name in x.unsolved),
            *unbridged,
        ),
    )


def _unsolved_scan(made: SupplyResult) -> tuple[str, ...]:
    """Return how many points of the scan with the gap missing have no answer, in words."""
    points = made.gap_missing.points if made.gap_missing else ()
    lost = sum(not p.exact for p in points)
    return (f"tank capacitance, gap missing: {lost} of {len(points)} values",) if lost else ()


def _kind(w: Wired, name: str) -> str:
    part = w.part(name)
    return part.kind if isinstance(part, Transformer) else ""


def _part_currents(w: Wired, result: Characteristics, mains_voltage: float) -> tuple[f.PartCurrent, ...]:
    """Return each high unit's primary current into the short against its rating: the plate's power, the plate's
    second winding (volts times amperes), else the usual power of its kind (pencil).
    """
    short, out = result.states["short"], []
    for name in w.high_units():
        part = w.part(name)
        if not isinstance(part, Transformer):
            continue
        mark: Mark = "pencil"
        power = KINDS[part.kind].power
        if part.plate_power:
            power, mark = part.plate_power.value, part.plate_power.mark
        elif part.plate_current and part.plate_secondary:
            power = part.plate_current.value * part.plate_secondary.value
            mark = weakest(part.plate_current.mark, part.plate_secondary.mark)
        volts = part.plate_primary.value if part.plate_primary else mains_voltage
        out.append(f.PartCurrent(name, rms(short.current(f"{name}.primary")), power / volts, mark))
    return tuple(out)


def _parallel(w: Wired, result: Characteristics, *, proved: bool) -> tuple[f.ParallelGroup, ...]:
    """Return the parallel windings with what circulates when the supply is open, against the least rated current."""
    state, out = result.states["open"], []
    for names in parallel_groups(w):
        parts = [p for p in (w.part(n) for n in names) if isinstance(p, Transformer)]
        winding = [
            max(rms(state.current(x.name)) for x in state.network.windings if x.name.startswith(f"{n}.high"))
            for n in names
        ]
        rated = [amps for amps in map(_rated_current, parts) if amps is not None]
        plates = {
            (p.kind, p.plate_primary and p.plate_primary.value, p.plate_secondary and p.plate_secondary.value)
            for p in parts
        }
        if rated:
            out.append(f.ParallelGroup(" + ".join(names), len(plates) == 1, proved, max(winding), min(rated)))
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


def _resistor(name: str, w: Wired, result: Characteristics, made: SupplyResult) -> f.ResistorFacts:
    part, heat = w.part(name), made.heat[name]
    if not isinstance(part, Resistor):
        raise TypeError(f"{name} is no resistor")
    a, b = w.node(f"{name}.a"), w.node(f"{name}.b")
    return f.ResistorFacts(
        name,
        max(heat.loss, heat.loss_short),
        part.power.value if part.power else None,
        max(rms(s.voltage(a, b)) for s in result.states.values()),
        part.voltage.value if part.voltage else None,
    )


def _bleeder(design: Design, made: SupplyResult) -> tuple[f.ResistorFacts, ...]:
    """Return the bleeder of [protection], one across the whole tank, at the open volts across the output."""
    bleeder = design.protection.bleeder if design.protection else None
    if bleeder is None:
        return ()
    volts = made.open_circuit.voltage
    power = volts**2 / bleeder.resistance.value
    return (f.ResistorFacts("protection.bleeder", power, bleeder.power.value if bleeder.power else None, volts),)


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
