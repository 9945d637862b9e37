"""`coil`: the radio-frequency side from its geometry: inductances, capacitances, modes, losses, taps, breakout."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import pi, sqrt

import numpy as np
from scipy import optimize

from coilwright.analyses.coil_geometry import Geometry, along_conductor, geometry
from coilwright.analyses.coil_results import (
    CoilResult,
    CouplingResult,
    Detuning,
    ModeResult,
    PrimaryResult,
    ProfilePoint,
    SecondaryResult,
    TapRow,
    TopLoadResult,
    TuningResult,
)
from coilwright.analyses.tank import tank_capacitance
from coilwright.fields.bodies import Body, Flat, Round, merged
from coilwright.fields.boundary import capacitance_matrix, ring_potential, solve_charges
from coilwright.fields.breakout import inception_field
from coilwright.fields.coil_set import TOP, WINDING, CoilSet, CoilSolution, PrimaryMatrices, primary_matrices, solve
from coilwright.fields.inductance import fluxes
from coilwright.fields.modes import Mode, profile
from coilwright.fields.outline import mesh, on_body
from coilwright.fields.resistance import winding_losses
from coilwright.fields.turns import Turns, conductor_length
from coilwright.fields.wire import wire_mass
from coilwright.model.constants import EPSILON_0
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Mark

#: Capacitance that an attached streamer adds per metre of it: common practice, no source.
STREAMER_CAPACITANCE = 3.3e-12
#: Length of streamer of the loaded case where the project names none: this many winding lengths (assumption).
STREAMER_SHARE = 1.0
#: 95 % band of the model's frequency: it misses measured coils by up to 1.9 % with the earth as an electric plane.
FREQUENCY_BAND = 0.025
#: 95 % band of an inductance summed over turns (pitch of the true helix, end leads), of a mutual inductance, and of a
#: capacitance of smooth bodies.
INDUCTANCE_BAND, MUTUAL_BAND, CAPACITANCE_BAND = 0.01, 0.02, 0.02
#: Rise of a hot winding for the second resistance [K].
HOT = 60.0
#: Heights by which the primary is raised for the coupling curve, in lengths of the winding.
RAISED = tuple(k / 40 for k in range(-2, 9))

MODEL_LIMITS = (
    "Turns are coaxial rings; a true helix differs by 1e-5 for a close winding, by 0.3 % for a primary of 25 mm pitch.",
    "The earth is an electric plane; as a magnetic mirror too the first mode is higher, as shown. Real earth: between.",
    "No measurement of coupling, of loaded top loads, or of Q with full geometry was found: nothing is claimed there.",
    "Q is an upper bound: ground, dielectric, corona and the streamer are not in it.",
)
MISSING_LOSSES = (
    "resistance of the ground",
    "dielectric loss of former, enamel and varnish",
    "corona and leakage over the surface",
    "eddy currents in everything metal nearby",
)


def coil(design: Design) -> CoilResult:
    """Return the radio-frequency side of a project.

    Raises
    ------
    InputError
        Where the secondary is missing or incomplete, or the geometry cannot be built.
    """
    g = geometry(design)
    s = g.coil
    found = solve(s)
    mirrored = found if s.mirror else solve(replace(s, mirror=True))
    primary = coupling = tuning = None
    if s.primary is not None:
        tank, matrices = tank_capacitance(design), primary_matrices(s, found.modes[0].frequency)
        tuning = _tuning(design, g, found, matrices, tank) if tank else None
        tap = _tap(design, s.primary, tuning)
        primary, coupling = _primary(s, found, matrices, tap, tank), _coupling(s, found, matrices, tap)
    return CoilResult(
        coil=s,
        secondary=_secondary(g, found),
        modes=tuple(_mode(a, b) for a, b in zip(found.modes, mirrored.modes, strict=True)),
        profile=tuple(_profile(s, found)),
        top_load=_top(s, found) if s.tops else None,
        primary=primary,
        coupling=coupling,
        tuning=tuning,
        detuning=tuple(_detuning(s, found)),
        missing=g.missing,
        notes=(*g.notes, *MODEL_LIMITS),
    )


def _about(value: float, share: float, mark: Mark, unit: str, basis: str) -> Estimate:
    return Estimate(value, value * (1 - share), value * (1 + share), mark, unit, basis)


def _secondary(g: Geometry, found: CoilSolution) -> SecondaryResult:
    w = g.coil.winding
    turns = w.rings()
    length = conductor_length(turns)
    hot = winding_losses(turns, found.modes[0].frequency, g.coil.temperature + HOT)
    cold = winding_losses(turns, found.modes[0].frequency, g.coil.temperature)
    mark: Mark = "ink" if g.pitch.mark != "pencil" else "pencil"
    reel = g.wire.length.value - length if g.wire is not None and g.wire.length is not None else None
    return SecondaryResult(
        w.turns,
        w.length,
        _about(found.inductance, INDUCTANCE_BAND, mark, "H", "sum over the turns, surface currents at the first mode"),
        _about(found.low_frequency_inductance, INDUCTANCE_BAND, mark, "H", "sum over the turns, uniform current"),
        _about(found.losses.direct, 0.03, mark, "ohm", "copper of IEC 60028, from memory"),
        _about(found.losses.alternating, 0.05, mark, "ohm", "skin effect and proximity, current as the mode has it"),
        found.losses.alternating * hot.alternating / cold.alternating,
        Estimate(found.quality, 0.0, found.quality * 1.05, mark, "1", "upper bound: winding alone"),
        length,
        wire_mass(g.wire_diameter.value, length),
        reel,
        g.coil.temperature,
        MISSING_LOSSES,
    )


def _mode(a: Mode, b: Mode) -> ModeResult:
    return ModeResult(
        _about(a.frequency, FREQUENCY_BAND, "pencil", "Hz", "distributed winding with everything around it"),
        b.frequency,
        a.effective_capacitance,
        a.effective_inductance,
        a.base_inductance,
    )


def _profile(s: CoilSet, found: CoilSolution, count: int = 41) -> Iterator[ProfilePoint]:
    x = np.linspace(-1.0, 1.0, count)
    volts, amps = profile(found.modes[0], x)
    slope = np.gradient(volts, (x + 1) / 2 * s.winding.turns)
    for k in range(count):
        yield ProfilePoint(
            float((x[k] + 1) / 2 * s.winding.length), float(volts[k]), float(amps[k]), float(abs(slope[k]))
        )


# ---- top load --------------------------------------------------------------------------------------------------------


def _top(s: CoilSet, found: CoilSolution) -> TopLoadResult:
    alone = capacitance_matrix(solve_charges(mesh(on_body(merged(s.tops), 0)), ground=False), 1)[0, 0]
    field, at = found.peak_field_per_volt or 0.0, found.peak_field_at
    curvature = curvatures(s.tops, at)
    words: list[str] = []
    breakout: Estimate | None
    if curvature is None:
        breakout = None
        words.append("The field is highest at a sharp edge: it glows at any volts worth having; round it or cover it.")
    else:
        start = inception_field(curvature)
        breakout = Estimate(
            start.field / field, 0.5 * start.low / field, start.high / field, "pencil", "V",
            "clean, smooth surface; dust and seams take up to half (assumption)",
        )  # fmt: skip
        words.append(
            "A breakout point, a seam, dust or a wet surface starts sparks far below this; a point aims them as well."
        )
    return TopLoadResult(
        _about(found.top_capacitance or 0.0, CAPACITANCE_BAND, "ink", "F", "in the set, winding at 0 V"),
        float(alone),
        field,
        at,
        breakout,
        tuple(words),
    )


def curvatures(tops: tuple[Body, ...], at: tuple[float, float]) -> tuple[float, float] | None:
    """Return the principal curvatures [1/m] of the body's surface at a place (radius, height), None at a sharp edge."""
    rho, z = at
    rounds = [b for b in tops if isinstance(b, Round)]
    if not rounds or not tops:
        return None
    nearest = min(tops, key=lambda b: abs(_off(b, rho, z)))
    if isinstance(nearest, Flat) or not isinstance(nearest, Round):
        return None
    outward = (rho - nearest.rho) / nearest.radius
    return 1 / nearest.radius, max(outward / rho, 0.0) if nearest.rho > 0 and rho > 0 else 1 / nearest.radius


def _off(body: Body, rho: float, z: float) -> float:
    """Return how far a place lies off the body's surface [m]."""
    if isinstance(body, Round):
        return float(np.hypot(rho - body.rho, z - body.z)) - body.radius
    if isinstance(body, Flat):
        return float(np.hypot(max(rho - body.radius, 0.0), z - body.z))
    return float(np.hypot(rho, z - body.z)) - body.radius


# ---- primary, coupling, tuning ---------------------------------------------------------------------------------------


def _tap(design: Design, p: Turns, tuning: TuningResult | None) -> float:
    """Return the tap in use: the one in the file, the one that tunes the loaded secondary, or the whole primary."""
    stated = design.coil.primary.tap if design.coil.primary else None
    if stated is not None:
        return min(stated, p.count)
    if tuning is not None:
        return tuning.loaded_tap_turns or tuning.tap_turns or p.count
    return p.count


def _primary(s: CoilSet, found: CoilSolution, m: PrimaryMatrices, tap: float, tank: float | None) -> PrimaryResult:
    p = m.turns
    taps = np.append(np.arange(1.0, np.floor(p.count) + 1), tap)
    high, low, mutual = m.at(taps)
    along, angle = along_conductor(p, taps)
    rows = tuple(
        TapRow(
            float(taps[k]),
            float(along[k]),
            float(angle[k]),
            float(high[k]),
            float(low[k]),
            float(mutual[k]),
            float(mutual[k] / sqrt(low[k] * found.low_frequency_inductance)),
            1 / (2 * pi * sqrt(high[k] * tank)) if tank else None,
        )
        for k in range(taps.size)
    )
    used = winding_losses(_part(p, tap), found.modes[0].frequency, s.temperature)
    return PrimaryResult(
        tap,
        _about(rows[-1].inductance, INDUCTANCE_BAND, "ink", "H", "sum over the turns, flux pushed out of the tube"),
        rows[-1].low_frequency_inductance,
        used.alternating,
        float(along[-1]),
        rows[:-1],
    )


def _part(p: Turns, tap: float) -> Turns:
    """Return the primary up to a tap."""
    whole = int(np.ceil(tap - 1e-9))
    weight = p.weight[:whole].copy()
    weight[-1] = tap - (whole - 1)
    return Turns(p.radius[:whole], p.height[:whole], weight, p.wire_radius, p.pitch)


def _coupling(s: CoilSet, found: CoilSolution, matrices: PrimaryMatrices, tap: float) -> CouplingResult:
    _, low, mutual = matrices.at(np.array([tap]))
    part = _part(matrices.turns, tap)
    rings = s.winding.rings()
    heights = [k * s.winding.length for k in RAISED]
    raised = [
        (h, float(fluxes(rings, part.raised(h)) @ part.weight) / sqrt(float(low[0]) * found.low_frequency_inductance))
        for h in heights
        if float((part.height + h).min()) - part.wire_radius > 0
    ]
    m = float(mutual[0])
    k = m / sqrt(float(low[0]) * found.low_frequency_inductance)
    return CouplingResult(
        _about(m, MUTUAL_BAND, "ink", "H", "every turn with every turn, uniform current"),
        _about(k, MUTUAL_BAND, "ink", "1", "mutual inductance over the root of both, uniform current"),
        tuple(raised),
    )


def _tuning(design: Design, g: Geometry, found: CoilSolution, matrices: PrimaryMatrices, tank: float) -> TuningResult:
    s, p = g.coil, matrices.turns
    goal = design.goal.spark_length
    streamer = goal.value if goal is not None else STREAMER_SHARE * s.winding.length
    extra = STREAMER_CAPACITANCE * streamer
    loaded = solve(replace(s, top_extra=s.top_extra + extra), count=1).modes[0].frequency
    least = min(0.5, p.count)

    def frequency(tap: float) -> float:
        return 1 / (2 * pi * sqrt(float(matrices.at(np.array([tap]))[0][0]) * tank))

    highest, lowest = frequency(least), frequency(p.count)

    def tuned(goal: float) -> float | None:
        if not lowest <= goal <= highest:
            return None
        return float(optimize.brentq(lambda t: frequency(t) - goal, least, p.count, xtol=1e-4))

    first = found.modes[0].frequency
    bare, with_streamer = tuned(first), tuned(loaded)
    words = []
    for what, tap, goal_frequency in (("secondary", bare, first), ("loaded secondary", with_streamer, loaded)):
        if tap is None and goal_frequency < lowest:
            needed = p.count * lowest / goal_frequency
            words.append(
                f"The range runs out: the whole primary tunes to {lowest / 1e3:.4g} kHz, the {what} to "
                f"{goal_frequency / 1e3:.4g} kHz; about {needed:.1f} turns, or {(lowest / goal_frequency) ** 2:.3g} "
                "times the tank."
            )
        elif tap is None:
            words.append(
                f"The {what} at {goal_frequency / 1e3:.4g} kHz is above what {least:g} turns reach: a smaller tank."
            )
    if with_streamer is not None and p.count - with_streamer < 1:
        words.append("Less than one turn is left beyond the tap: a longer streamer has no tap any more.")
    return TuningResult(tank, bare, with_streamer, streamer, extra, loaded, (lowest, highest), tuple(words))


# ---- what shifts it --------------------------------------------------------------------------------------------------


def _detuning(s: CoilSet, found: CoilSolution) -> Iterator[Detuning]:
    """Yield how far a hand, a wall and a damp former move the first mode."""
    first = found.modes[0].frequency

    def shift(other: CoilSet) -> float:
        return solve(other, count=1).modes[0].frequency / first - 1

    hand = 4 * pi * EPSILON_0 * 0.1 * _potential_beside(s, found, 0.5) ** 2
    yield Detuning(
        "a hand half a metre from the top", shift(replace(s, top_extra=s.top_extra + hand)),
        "an earthed sphere of 0.1 m radius, by the potential at its place",
    )  # fmt: skip
    reach = max([s.winding.radius, *(b.rho + b.radius for b in s.tops if isinstance(b, Round))])
    if s.room.radius is None:
        yield Detuning("a wall a metre away all round", shift(replace(s, room=replace(s.room, radius=reach + 1.0))),
                       "an earthed cylinder")  # fmt: skip
    if s.winding.former_thickness:
        damp = replace(s.winding, former=2 * s.winding.former)
        yield Detuning("a damp former", shift(replace(s, winding=damp)), "twice its permittivity (assumption)")


def _potential_beside(s: CoilSet, found: CoilSolution, away: float) -> float:
    """Return the potential at a place beside the top load for 1 V on it."""
    charges = found.charges
    body = charges.body
    held = np.where(body == TOP, 1.0, 0.0)
    if not s.tops:
        held = np.where(body == WINDING, 1.0, 0.0)
    q = charges.of(held)
    rho = np.concatenate([charges.mesh.rho, charges.rings.rho])
    z = np.concatenate([charges.mesh.z, charges.rings.z])
    reach = max([s.winding.radius, *(b.rho + b.radius for b in s.tops if isinstance(b, Round))])
    height = max([s.winding.top, *(b.z for b in s.tops)])
    at_rho, at_z = np.array(reach + away), np.array(height)
    seen = ring_potential(at_rho, at_z, rho, z)
    if s.ground:
        seen = seen - ring_potential(at_rho, at_z, rho, -z)
    return float(seen @ q)


__all__ = ["MODEL_LIMITS", "coil", "curvatures"]
