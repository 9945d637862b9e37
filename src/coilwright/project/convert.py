"""From the checked file to the Design: site, goal, supply and machine. A silent file becomes pencil here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from coilwright._dimensions import dimension
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Known
from coilwright.model.machine import (
    Answer,
    BleederResistor,
    Coil,
    Disc,
    Drive,
    Earth,
    Electrode,
    Gap,
    Primary,
    Protection,
    Reading,
    Secondary,
    SeriesFilter,
    Shield,
    Surrounding,
    Tank,
    TankPlates,
    TankStrings,
    TopLoad,
)
from coilwright.model.site import Air, Breaker, Goal, Room, Site
from coilwright.project.convert_shelf import Knowing, shelf_parts
from coilwright.project.fields import Number, Pair, Stamped, Unit
from coilwright.project.schema import FileSpec, GoalSpec, SiteSpec
from coilwright.project.schema_machine import READINGS, BuiltReadingSpec, GapSpec, ProtectionSpec, TopLoadSpec, TopSpec
from coilwright.units import Quantity, parse_with_tolerance

T = TypeVar("T")


def to_design(
    spec: FileSpec, *, path: str | None = None, digest: str = "", lines: Mapping[str, int] | None = None
) -> Design:
    """Return the Design that the checked file describes."""
    knowing = Knowing.of(spec)
    parts = shelf_parts(spec, knowing)
    tops = tuple(_top(t, i, knowing) for i, t in enumerate(spec.top))
    return Design(
        name=spec.project.name,
        notes=spec.project.notes,
        site=_site(spec.site, knowing),
        goal=_goal(spec.goal, knowing),
        instruments=parts.instruments,
        transformers=parts.transformers,
        chokes=parts.chokes,
        capacitors=parts.capacitors,
        resistors=parts.resistors,
        variables=parts.variables,
        wires=parts.wires,
        formers=parts.formers,
        tops=tops,
        arrangements=tuple(
            Arrangement(
                name=a.name,
                joints={name: tuple(terminals) for name, terminals in a.joint.items()},
                output=a.output,
                reversed=tuple(a.reversed),
                lifted=tuple(a.lifted),
                shorted=tuple(a.shorted),
                where=f"arrangement[{i}]",
            )
            for i, a in enumerate(spec.arrangement)
        ),
        use_arrangement=spec.supply.use,
        tank=_tank(spec, knowing),
        gap=None if spec.gap is None else _gap(spec.gap, knowing),
        coil=_coil(spec, tops, knowing),
        earth=_earth(spec, knowing),
        protection=None if spec.protection is None else _protection(spec.protection, knowing),
        answers=tuple(Answer(a.tag, a.reason, a.date) for a in spec.answer),
        readings=tuple(_reading(r, i) for i, r in enumerate(spec.reading)),
        path=path,
        digest=digest,
        lines=dict(lines or {}),
    )


def _pencil(value: T, basis: str) -> Known[T]:
    return Known(value, "pencil", basis=basis)


def _chosen(word: T | None, assumed: T, basis: str) -> Known[T]:
    return _pencil(assumed, basis) if word is None else Known(word, "ink", basis="in the file")


def _site(site: SiteSpec, k: Knowing) -> Site:
    """Fill what the file leaves out with assumptions that carry the mark pencil.

    230 V 50 Hz unless the file says otherwise, and below 180 V the 120 V 60 Hz practice; the loop resistances and the
    inductance are our assumptions for a socket a few tens of metres from its board. What protects people is never
    assumed.
    """
    silent = "the file is silent"

    def read(given: Stamped | None, assumed: float, basis: str, kind: str = "") -> Known[float]:
        return _pencil(assumed, basis) if given is None else k.stamped(given, kind)

    mains = read(site.mains, 230.0, f"{silent}: 230 V assumed", "voltage")
    low = mains.value < 180 or (site.system in {"split phase", "two phases"} and mains.value < 260)
    word = "60 Hz where the mains is 120 V or split" if low else "50 Hz"
    breaker = Breaker(15.0) if low else Breaker(16.0, "B")
    rcd: Known[float | None]
    if "rcd" not in site.model_fields_set:
        rcd = _pencil(None, f"{silent}: none assumed")
    else:
        rcd = Known(None if site.rcd is None else site.rcd.value, "ink", basis="in the file")
    air, room = site.air, site.room
    return Site(
        mains_voltage=mains,
        frequency=read(site.frequency, 60.0 if low else 50.0, f"{silent}: {word} assumed"),
        mains_resistance=read(site.mains_resistance, 0.2 if low else 0.35, f"{silent}: a usual socket (assumption)"),
        mains_inductance=read(site.mains_inductance, 0.2e-3, f"{silent}: a usual socket (assumption)"),
        breaker=_chosen(
            None if site.breaker is None else Breaker(*site.breaker), breaker, f"{silent}: a usual one assumed"
        ),
        rcd=rcd,
        system=_chosen(site.system, "line and neutral", f"{silent}: assumed"),
        earthing=_chosen(site.earthing, "unknown", silent),
        plug=_chosen(site.plug, "unknown", silent),
        altitude=_pencil(0.0, f"{silent}: sea level assumed") if site.altitude is None else k.ink(site.altitude),
        air=Air(
            temperature=read(air.temperature if air else None, 293.15, f"{silent}: 20 degC assumed"),
            pressure=k.maybe_stamped(air.pressure if air else None),
            humidity=_pencil(0.6, f"{silent}: 60 % assumed")
            if air is None or air.humidity is None
            else k.ink(air.humidity),
        ),
        room=Room()
        if room is None
        else Room(
            k.maybe_ink(room.ceiling),
            k.maybe_ink(room.wall_distance),
            k.maybe_ink(room.length),
            k.maybe_ink(room.width),
            room.outdoors,
        ),
    )


def _goal(goal: GoalSpec, k: Knowing) -> Goal:
    low, high = goal.voltage or (None, None)
    return Goal(
        power=k.maybe_ink(goal.power),
        voltage_low=k.maybe_ink(low),
        voltage_high=k.maybe_ink(high),
        secondary_height=k.maybe_ink(goal.secondary_height),
        spark_length=k.maybe_ink(goal.spark_length),
        mains_current=k.maybe_ink(goal.mains_current),
        budget=goal.budget,
        use=tuple(goal.use),
        avoid=tuple(goal.avoid),
        on_time=k.maybe_ink(goal.on_time),
    )


def _tank(spec: FileSpec, k: Knowing) -> Tank | None:
    tank = spec.tank
    if tank is None:
        return None
    return Tank(
        capacitance=k.maybe_ink(tank.capacitance),
        strings=None
        if (s := tank.strings) is None
        else TankStrings(s.part, s.series, s.parallel, k.maybe_stamped(s.bleeder)),
        plates=None
        if (p := tank.plates) is None
        else TankPlates(p.form, p.dielectric, k.ink(p.thickness), k.ink(p.area), p.count),
    )


def _gap(gap: GapSpec, k: Knowing) -> Gap:
    return Gap(
        kind=gap.kind,
        electrode=None if gap.electrode is None else Electrode(gap.electrode.form, k.ink(gap.electrode.diameter)),
        spacing=k.maybe_ink(gap.spacing),
        voltage=k.maybe_ink(gap.voltage),
        segments=gap.segments,
        speed=k.maybe_ink(gap.speed),
        presentations=gap.presentations,
        phase=k.maybe_ink(gap.phase),
        electrode_radius=k.maybe_ink(gap.electrode_radius),
        electrode_mass=k.maybe_ink(gap.electrode_mass),
        dwell=k.maybe_ink(gap.dwell),
        electrode_material=gap.electrode_material,
        disc=None
        if (d := gap.disc) is None
        else Disc(d.material, k.ink(d.diameter), k.ink(d.thickness), k.maybe_ink(d.bore)),
        bolt=k.maybe_ink(gap.bolt),
        shield=None if (s := gap.shield) is None else Shield(s.material, k.ink(s.thickness), s.all_round),
        motor_speed_max=k.maybe_ink(gap.motor_speed_max),
    )


def _top(top: TopSpec, index: int, k: Knowing) -> TopLoad:
    return TopLoad(
        form=top.form,
        id=top.id,
        ring_diameter=k.maybe_stamped(top.ring_diameter),
        tube_diameter=k.maybe_stamped(top.tube_diameter),
        diameter=k.maybe_stamped(top.diameter),
        price=top.price,
        notes=top.notes or "",
        where=f"top[{index}]",
    )


def _top_load(load: TopLoadSpec, index: int, tops: tuple[TopLoad, ...], k: Knowing) -> TopLoad:
    """Return a top load with its own measures, and where it names one on the shelf, that one's for the rest."""
    shelf = next((t for t in tops if t.id == load.top), TopLoad(form=load.form or ""))
    return TopLoad(
        form=load.form or shelf.form,
        id=load.top,
        ring_diameter=k.maybe_stamped(load.ring_diameter) or shelf.ring_diameter,
        tube_diameter=k.maybe_stamped(load.tube_diameter) or shelf.tube_diameter,
        diameter=k.maybe_stamped(load.diameter) or shelf.diameter,
        elevation=k.maybe_ink(load.elevation),
        where=f"top_load[{index}]",
    )


def _coil(spec: FileSpec, tops: tuple[TopLoad, ...], k: Knowing) -> Coil:
    primary, secondary = spec.primary, spec.secondary
    return Coil(
        primary=None
        if primary is None
        else Primary(
            form=primary.form,
            inner_diameter=k.maybe_ink(primary.inner_diameter),
            pitch=k.maybe_ink(primary.pitch),
            turns=primary.turns,
            conductor_diameter=k.maybe_ink(primary.conductor_diameter),
            elevation=k.maybe_ink(primary.elevation),
            cone_angle=k.maybe_ink(primary.cone_angle),
            tap=primary.tap,
        ),
        secondary=None
        if secondary is None
        else Secondary(
            winding_diameter=k.maybe_ink(secondary.winding_diameter),
            former=secondary.former,
            turns=secondary.turns,
            wire_diameter=k.maybe_ink(secondary.wire_diameter),
            wire=secondary.wire,
            pitch=k.maybe_ink(secondary.pitch),
            base_elevation=k.maybe_ink(secondary.base_elevation),
        ),
        top_loads=tuple(_top_load(load, i, tops, k) for i, load in enumerate(spec.top_load)),
        surroundings=tuple(
            Surrounding(
                form=s.form,
                ring_diameter=k.maybe_ink(s.ring_diameter),
                conductor_diameter=k.maybe_ink(s.conductor_diameter),
                diameter=k.maybe_ink(s.diameter),
                height=k.maybe_ink(s.height),
                elevation=k.maybe_ink(s.elevation),
                closed=s.closed,
            )
            for s in spec.surrounding
        ),
    )


def _earth(spec: FileSpec, k: Knowing) -> Earth | None:
    earth = spec.earth
    if earth is None:
        return None
    return Earth(k.maybe_stamped(earth.rf_ground_resistance), earth.rod, earth.ground_plane, earth.magnetic_plane)


def _protection(protection: ProtectionSpec, k: Knowing) -> Protection:
    spacing, voltage = protection.safety_gap or (None, None)
    snubber, bleeder = protection.filter, protection.bleeder
    return Protection(
        safety_gap_spacing=k.maybe_ink(spacing),
        safety_gap_voltage=k.maybe_ink(voltage),
        second_protective_conductor=protection.second_protective_conductor,
        disconnections=protection.disconnections,
        filter=None if snubber is None else SeriesFilter(k.stamped(snubber.resistance), k.ink(snubber.capacitance)),
        bleeder=None if bleeder is None else BleederResistor(k.stamped(bleeder.resistance), k.maybe_ink(bleeder.power)),
        fuse=protection.fuse,
        interlock=protection.interlock,
    )


def read_built(what: str, value: object) -> tuple[float, float | None, float | None]:
    """Return (value, tolerance, upper peak or None) of a reading of the built machine.

    Raises
    ------
    UnitError, RefusalError
        If the value does not suit what was read.
    """
    kind = READINGS[what]
    if kind == "number":
        return Number(0, 1e6, above=True).read(value), None, None
    if what == "split peaks":
        pair = Pair(Unit(kind), '["231 kHz", "257 kHz"]')
        lower, upper = sorted(pair.read(value), key=lambda q: q.value)
        both: tuple[Quantity, Quantity] = (lower, upper)
        return both[0].value, both[0].tolerance, both[1].value
    number, tolerance = parse_with_tolerance(value, kind, "any" if kind == "temperature" else "zero")
    return number, tolerance, None


def _reading(reading: BuiltReadingSpec, index: int) -> Reading:
    value, tolerance, upper = read_built(reading.what, reading.value)
    return Reading(
        what=reading.what,
        where=reading.where,
        value=value,
        unit=dimension(READINGS[reading.what]).si.strip(),
        tolerance=tolerance,
        drive=None if (d := reading.drive) is None else Drive(d.voltage.value, d.between),
        instrument=reading.instrument,
        date=reading.date,
        path=f"reading[{index}]",
        upper=upper,
        notes=reading.notes or "",
    )
