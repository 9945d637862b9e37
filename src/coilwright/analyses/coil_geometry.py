"""From the project to the coil set that is solved; whatever cannot be is said in the builder's own quantity."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi

import numpy as np

from coilwright.errors import InputError, InternalError, Problem
from coilwright.fields.bodies import Body, Dome, Flat, Round, toroid
from coilwright.fields.coil_set import CoilSet, Rail, Room, Winding
from coilwright.fields.turns import Turns, cone, solenoid
from coilwright.fields.wire import overall_diameter
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.machine import Primary, Secondary, Surrounding, TopLoad
from coilwright.model.parts import Former, Wire

#: Turns beyond which a secondary is not solved, and sizes beyond which it is a slip of the unit [m].
MOST_TURNS, LARGEST, SMALLEST = 20_000, 50.0, 1e-5
#: Relative permittivity of what lies between close enamelled turns (assumption: enamel and air).
ENAMEL_PERMITTIVITY = 2.5
#: Relative permittivity of tubes that coils are wound on (from memory of handbooks); another material is taken as 3.
FORMER_PERMITTIVITY = {
    "pvc": 3.3, "polyethylene": 2.3, "polypropylene": 2.25, "acrylic": 3.5, "polycarbonate": 2.95, "cardboard": 2.5,
    "glass": 6.5, "abs": 2.9,
}  # fmt: skip


@dataclass(frozen=True)
class Geometry:
    """The set, and what was assumed on the way: ``missing`` names what the project does not state."""

    coil: CoilSet
    secondary: Secondary
    wire: Wire | None
    former: Former | None
    wire_diameter: Known[float]
    pitch: Known[float]
    missing: tuple[str, ...]
    notes: tuple[str, ...]


def geometry(design: Design) -> Geometry:
    """Return the coil set of a project.

    Raises
    ------
    InputError
        Where the secondary is missing or incomplete, or the geometry cannot be built; every problem at once.
    """
    problems = list(_secondary_problems(design))
    if problems:
        raise InputError(problems)
    s = design.coil.secondary
    if s is None:
        raise InternalError("a secondary that was checked is not there")
    wire, former = _wire(design, s), _former(design, s)
    diameter = s.wire_diameter or (wire.diameter if wire else None)
    if diameter is None:
        raise InternalError("a wire that was checked is not there")
    grade = wire.grade if wire is not None and wire.grade else 1
    pitch = s.pitch or Known(overall_diameter(diameter.value, grade)[0], "pencil", basis=f"enamel of grade {grade}")
    winding = _winding(s, former, diameter.value, pitch.value)
    tops = tuple(body for load in design.coil.top_loads for body in _top(load, winding.top))
    primary = _primary(design.coil.primary, winding) if design.coil.primary else None
    coil = CoilSet(
        winding,
        tops,
        primary,
        tuple(r for r in (_rail(x, winding) for x in design.coil.surroundings) if r is not None),
        _room(design),
        design.earth.ground_plane if design.earth else True,
        design.earth.magnetic_plane if design.earth else False,
    )
    problems = list(_clashes(design, coil))
    if problems:
        raise InputError(problems)
    return Geometry(coil, s, wire, former, diameter, pitch, tuple(_missing(design)), tuple(_notes(design, s, pitch)))


def _missing(design: Design) -> Iterator[str]:
    if design.coil.primary is None:
        yield "[primary]: no tap table, coupling or tuning"
    if not design.coil.top_loads:
        yield "[[top_load]]: the winding ends free; no breakout volts"
    if design.tank is None:
        yield "[tank]: no tuning to a tank"
    if design.earth is None:
        yield "[earth]: ground taken as an electric plane, its resistance as not known"


def _notes(design: Design, s: Secondary, pitch: Known[float]) -> Iterator[str]:
    if pitch.mark == "pencil":
        yield f"Pitch not stated: close wound, {pitch.basis}, {pitch.value * 1e3:.3f} mm from turn to turn."
    if s.turns is not None and s.turns != round(s.turns):
        yield f"{s.turns:g} turns are solved as {round(s.turns)} whole ones."
    if any(x.form == "strike rail" and x.closed for x in design.coil.surroundings):
        yield "A closed rail is a shorted turn: it heats, and takes inductance and coupling. Open the loop with a gap."
    if any(x.form == "sheet" for x in design.coil.surroundings):
        yield "A metal sheet counts as an earthed disc for the electric field; its shorted currents are not solved."


def _problem(design: Design, where: str, message: str, hint: str) -> Problem:
    return Problem(where, design.line_of(where), message, hint)


def _secondary_problems(design: Design) -> Iterator[Problem]:
    s = design.coil.secondary
    if s is None:
        yield _problem(design, "secondary", "the project has no [secondary]", "Write its diameter, turns and wire.")
        return
    if s.winding_diameter is None and _former(design, s) is None:
        yield _problem(
            design, "secondary.winding_diameter", "neither winding_diameter nor a former is given",
            'Write winding_diameter = "11 cm", or former = the id of a [[former]].',
        )  # fmt: skip
    wire = s.wire_diameter or (w.diameter if (w := _wire(design, s)) else None)
    if wire is None:
        yield _problem(
            design, "secondary.wire_diameter", "neither wire_diameter nor a wire is given",
            'Write wire_diameter = "0.4 mm", or wire = the id of a [[wire]].',
        )  # fmt: skip
    if s.turns is None:
        yield _problem(design, "secondary.turns", "the number of turns is not given", "Write turns = 1000.")
    elif not 2 <= round(s.turns) <= MOST_TURNS:
        yield _problem(
            design, "secondary.turns", f"{s.turns:g} turns cannot be solved",
            f"From 2 to {MOST_TURNS} turns; a hobby secondary has 500 to 2000.",
        )  # fmt: skip
    if wire is not None and s.pitch is not None and s.pitch.value < wire.value:
        yield _problem(
            design, "secondary.pitch",
            f"the pitch of {s.pitch.value * 1e3:.3g} mm is less than the wire's {wire.value * 1e3:.3g} mm: "
            "turns overlap",
            "The pitch is from the middle of one turn to that of the next, enamel included.",
        )  # fmt: skip
    for key, known in (
        ("winding_diameter", s.winding_diameter),
        ("wire_diameter", s.wire_diameter),
        ("pitch", s.pitch),
    ):
        if known is not None and not SMALLEST <= known.value <= LARGEST:
            yield _problem(
                design,
                f"secondary.{key}",
                f"{known.value:g} m is no size of a coil",
                "Check the unit behind the number.",
            )


def _wire(design: Design, s: Secondary) -> Wire | None:
    return next((w for w in design.wires if w.id == s.wire), None)


def _former(design: Design, s: Secondary) -> Former | None:
    return next((f for f in design.formers if f.id == s.former), None)


def _winding(s: Secondary, former: Former | None, wire: float, pitch: float) -> Winding:
    outside = former.outside_diameter.value if former is not None else 0.0
    radius = s.winding_diameter.value / 2 if s.winding_diameter is not None else (outside + pitch) / 2
    wall = former.wall.value if former is not None and former.wall is not None else 0.0
    material = (former.material or "").lower() if former is not None else ""
    return Winding(
        radius,
        pitch,
        round(s.turns or 0),
        wire / 2,
        s.base_elevation.value if s.base_elevation is not None else radius,
        ENAMEL_PERMITTIVITY,
        FORMER_PERMITTIVITY.get(material, 3.0) if wall else 1.0,
        wall,
    )


def _top(load: TopLoad, above: float) -> tuple[Body, ...]:
    lift = load.elevation.value if load.elevation is not None else 0.0
    z = above + lift
    if load.form == "toroid" and load.ring_diameter is not None and load.tube_diameter is not None:
        return (toroid(load.ring_diameter.value, load.tube_diameter.value, z),)
    if load.diameter is None:
        return ()
    radius = load.diameter.value / 2
    return (
        Round(0.0, z, radius) if load.form == "sphere" else Dome(radius, z) if load.form == "dome" else Flat(radius, z),
    )


def _primary(p: Primary, w: Winding) -> Turns | None:
    if p.turns is None or p.inner_diameter is None or p.conductor_diameter is None:
        return None
    pitch = p.pitch.value if p.pitch is not None else 2 * p.conductor_diameter.value
    base = w.base + (p.elevation.value if p.elevation is not None else 0.0)
    a, inner = p.conductor_diameter.value / 2, p.inner_diameter.value / 2
    if p.form == "helix":
        return solenoid(inner, pitch, p.turns, a, base=base)
    angle = p.cone_angle.value if p.form == "cone" and p.cone_angle is not None else 0.0
    return cone(inner, pitch, p.turns, a, angle=angle, base=base)


def _rail(x: Surrounding, w: Winding) -> Rail | None:
    if x.form != "strike rail" or x.ring_diameter is None:
        return None
    thick = x.conductor_diameter.value / 2 if x.conductor_diameter is not None else 3e-3
    return Rail(
        x.ring_diameter.value / 2, w.base + (x.elevation.value if x.elevation is not None else 0.0), thick,
        bool(x.closed),
    )  # fmt: skip


def _room(design: Design) -> Room:
    room = design.site.room
    cylinder = next((x for x in design.coil.surroundings if x.form == "earthed cylinder" and x.diameter), None)
    wall = cylinder.diameter.value / 2 if cylinder is not None and cylinder.diameter is not None else None
    if wall is None and room.wall_distance is not None and not room.outdoors:
        wall = room.wall_distance.value
    return Room(wall, room.ceiling.value if room.ceiling is not None and not room.outdoors else None)


def _clashes(design: Design, c: CoilSet) -> Iterator[Problem]:
    w = c.winding
    if c.ground and w.base <= 0:
        yield _problem(
            design, "secondary.base_elevation", f"the winding's lower end, {w.base:g} m, is not above the ground plane",
            "base_elevation is from the ground plane to the lower end of the winding.",
        )  # fmt: skip
    along = np.linspace(w.base, w.top, 41)
    for k, body in enumerate(c.tops):
        if any(body.holds(w.radius, float(z)) for z in along[:-1]) or _through(body, w):
            yield _problem(
                design, f"top_load[{k}].elevation", "the top load reaches into the winding",
                "elevation is from the top of the winding to the middle of the body: raise it.",
            )  # fmt: skip
    if c.primary is not None:
        yield from _primary_clashes(design, c, c.primary)
    reach = max([w.radius, *(c.primary.radius if c.primary is not None else ())])
    if c.room.radius is not None and c.room.radius <= reach:
        yield _problem(design, "site.room.wall_distance", "the wall stands inside the coil", "Move coil or wall.")
    highest = max([w.top, *(b.z + (b.radius if not isinstance(b, Flat) else 0.0) for b in c.tops)])
    if c.room.ceiling is not None and c.room.ceiling <= highest:
        yield _problem(
            design, "site.room.ceiling", f"the coil is {highest:.3g} m high, the ceiling {c.room.ceiling:.3g} m",
            "A lower coil, or another room.",
        )  # fmt: skip


def _through(body: Body, w: Winding) -> bool:
    return isinstance(body, Flat) and body.z < w.top and body.radius > w.radius


def _primary_clashes(design: Design, c: CoilSet, p: Turns) -> Iterator[Problem]:
    w, a = c.winding, p.wire_radius
    if p.pitch is not None and p.pitch <= 2 * a:
        yield _problem(
            design, "primary.pitch",
            f"the pitch of {p.pitch * 1e3:.3g} mm is not more than the conductor's {2e3 * a:.3g} mm: turns touch",
            "The pitch is from the middle of one turn to that of the next.",
        )  # fmt: skip
    beside = (p.height > w.base - a) & (p.height < w.top + a)
    if bool((beside & (p.radius < w.radius + a + w.wire_radius)).any()):
        yield _problem(
            design, "primary.inner_diameter", "the primary goes through the secondary's winding",
            f"Its inner diameter must be well above the winding's {2 * w.radius:.3g} m.",
        )  # fmt: skip
    if c.ground and float(p.height.min()) - a <= 0:
        yield _problem(
            design, "primary.elevation", "the primary reaches below the ground plane",
            "elevation counts from the lower end of the secondary's winding, upwards.",
        )  # fmt: skip


def along_conductor(p: Turns, taps: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return how far along the conductor each tap lies [m] and at which angle from its inner end [rad]."""
    before = np.concatenate([[0.0], np.cumsum(2 * pi * p.radius * p.weight)])
    whole = np.minimum(np.floor(taps).astype(int), p.radius.size - 1)
    done = np.concatenate([[0.0], np.cumsum(p.weight)])
    return before[whole] + (taps - done[whole]) * 2 * pi * p.radius[whole], 2 * pi * (taps % 1.0)


__all__ = ["Geometry", "along_conductor", "geometry"]
