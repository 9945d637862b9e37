"""A whole coil set and its answers: secondary, top load, primary, rails and room, solved together.

Conductors are numbered: winding 0, top load 1, primary 2, rails 3, room 4. For the secondary's modes all but winding
and top load are at 0 V.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from coilwright.fields.bodies import Body, merged
from coilwright.fields.boundary import Charges, Rings, capacitance_matrix, peak_field, solve_charges
from coilwright.fields.inductance import fluxes, from_offsets, offsets, tap_weights, turn_matrix
from coilwright.fields.loops import Real, internal_share, mutual_inductance, ring_self_inductance
from coilwright.fields.modes import (
    FUNCTIONS,
    Mode,
    gradient_energy,
    legendre,
    modal_capacitance,
    modal_inductance,
    modes,
    places,
    profile,
    surface_offsets,
)
from coilwright.fields.outline import Curve, cylinder, line, mesh, on_body
from coilwright.fields.resistance import Losses, expulsion, pushed_out, resistivity, skin_depth, winding_losses
from coilwright.fields.turn_capacitance import turn_capacitance
from coilwright.fields.turns import Turns, solenoid
from coilwright.model.constants import EPSILON_0

WINDING, TOP, PRIMARY, RAILS, ROOM = range(5)
#: Gauss places along a winding for its image in a magnetic mirror.
_MIRROR_NODES = 48


@dataclass(frozen=True)
class Winding:
    """A single-layer secondary: m, whole turns; ``base`` is the lower end of the winding above the ground plane.

    ``enamel`` is the relative permittivity between the turns; ``former`` that of a thin tube under them of
    ``former_thickness``.
    """

    radius: float
    pitch: float
    turns: int
    wire_radius: float
    base: float
    enamel: float = 2.5
    former: float = 1.0
    former_thickness: float = 0.0

    @property
    def length(self) -> float:
        """Return the length of the winding [m]."""
        return self.pitch * self.turns

    @property
    def top(self) -> float:
        """Return the height of its upper end [m]."""
        return self.base + self.length

    def rings(self) -> Turns:
        """Return its turns."""
        return solenoid(self.radius, self.pitch, self.turns, self.wire_radius, base=self.base)


@dataclass(frozen=True)
class Rail:
    """A ring about the axis; ``closed`` ones are shorted turns."""

    radius: float
    height: float
    wire_radius: float
    closed: bool = False


@dataclass(frozen=True)
class Room:
    """Walls as a cylinder about the axis, and a ceiling; None where there is none [m]."""

    radius: float | None = None
    ceiling: float | None = None


@dataclass(frozen=True)
class CoilSet:
    """Everything that stands about the axis. ``ground``: the plane z = 0 is a conductor for the electric field;
    ``mirror``: for the magnetic field too. ``temperature`` [K] of the windings, ``top_extra`` [F] hangs on the top load
    (a streamer).
    """

    winding: Winding
    tops: tuple[Body, ...] = ()
    primary: Turns | None = None
    rails: tuple[Rail, ...] = ()
    room: Room = Room()
    ground: bool = True
    mirror: bool = False
    temperature: float = 293.15
    top_extra: float = 0.0


@dataclass(frozen=True)
class CoilSolution:
    """The answers. ``inductance`` is the surface-current value at the first mode with what is pushed out,
    ``low_frequency_inductance`` of a uniform current [H]; ``losses`` at the first mode to the current at the base.

    ``top_capacitance`` is the diagonal term in the set, None without a top load.
    """

    modes: tuple[Mode, ...]
    inductance: float
    low_frequency_inductance: float
    losses: Losses
    quality: float
    modal_inductance: Real
    modal_capacitance: Real
    charges: Charges
    top_capacitance: float | None
    capacitances: Real
    peak_field_per_volt: float | None
    peak_field_at: tuple[float, float]


def electrodes(s: CoilSet) -> Charges:
    """Return the conductors of a set with their potential matrix factored."""
    w = s.winding
    curves: list[Curve] = [cylinder(w.radius, w.base, w.top, panels=3)]
    curves += on_body(merged(s.tops), TOP)
    curves += on_body(_walls(s.room), ROOM)
    rho, z, thick, body = [np.empty(0)], [np.empty(0)], [np.empty(0)], [np.empty(0, dtype=np.int64)]
    if s.primary is not None:
        n = s.primary.radius.size
        rho.append(s.primary.radius)
        z.append(s.primary.height)
        thick.append(np.full(n, s.primary.wire_radius))
        body.append(np.full(n, PRIMARY))
    if s.rails:
        rho.append(np.array([r.radius for r in s.rails]))
        z.append(np.array([r.height for r in s.rails]))
        thick.append(np.array([r.wire_radius for r in s.rails]))
        body.append(np.full(len(s.rails), RAILS))
    rings = Rings(np.concatenate(rho), np.concatenate(z), np.concatenate(thick), np.concatenate(body))
    return solve_charges(mesh(curves), rings, ground=s.ground)


def _walls(room: Room) -> tuple[Curve, ...]:
    """Return wall and ceiling; a wall without a ceiling, or the other way round, has an open edge."""
    radius, ceiling = room.radius, room.ceiling
    if radius is not None and ceiling is not None:
        return (
            line((radius, 0.0), (radius, ceiling), panels=3),
            line((0.0, ceiling), (radius, ceiling), panels=3),
        )
    if radius is not None:
        return (line((radius, 0.0), (radius, 4 * radius), edges="end", panels=3),)
    if ceiling is not None:
        return (line((0.0, ceiling), (4 * ceiling, ceiling), edges="end", panels=3),)
    return ()


def solve(s: CoilSet, *, count: int = 3, functions: int = FUNCTIONS) -> CoilSolution:
    """Return the modes of the secondary with everything around it, its inductances and losses, and the top load's
    capacitance and field.

    The share of internal inductance and what the currents push out are taken at the first mode, which takes one
    correction.
    """
    charges = electrodes(s)
    top = TOP if s.tops else None
    found = modal_capacitance(charges, WINDING, top, functions)
    c = found.matrix + _added_capacitance(s, functions)
    turns = s.winding.rings()
    kernel = offsets(turns, 0.0)
    extra = _other_turns(s, turns, functions)
    first = modes(modal_inductance(turns, kernel, functions) + extra, c, 1)[0]
    depth = float(skin_depth(first.frequency, resistivity(s.temperature)))
    share = float(internal_share(s.winding.wire_radius, depth))
    kernel = surface_offsets(turns, kernel, share)
    inductance = modal_inductance(turns, kernel, functions) + extra
    pushed = pushed_out(turns, first.frequency, s.temperature)
    inductance = inductance * (
        1 + pushed / float(inductance[0, 0])
    )  # one share of every function: it is a local effect
    answer = modes(inductance, c, count)
    current = profile(answer[0], places(turns))[1] / answer[0].base_current
    losses = winding_losses(turns, answer[0].frequency, s.temperature, current)
    reactance = 2 * pi * answer[0].frequency * answer[0].base_inductance
    matrix = capacitance_matrix(charges, ROOM + 1)
    field, where = _top_field(charges, s)
    return CoilSolution(
        answer,
        float(inductance[0, 0]),
        from_offsets(surface_offsets(turns, kernel, 1.0)) + float(extra[0, 0]),
        losses,
        reactance / losses.alternating,
        inductance,
        c,
        charges,
        float(matrix[TOP, TOP]) if s.tops else None,
        matrix,
        field,
        where,
    )


def _added_capacitance(s: CoilSet, functions: int) -> Real:
    """Return what smooth sheets leave out: the gaps between the turns, the former, and what hangs on the top [F]."""
    w = s.winding
    ratio = min(2 * w.wire_radius / w.pitch, 0.98)
    gaps = 2 * turn_capacitance(w.radius, ratio, w.enamel) / w.turns
    former = EPSILON_0 * (w.former - 1) * 2 * pi * w.radius * w.former_thickness * 2 / w.length
    out = (gaps + former) * gradient_energy(functions)
    out[0, 0] += 4 * s.top_extra  # W_0 is 2 at the top
    return out


def _other_turns(s: CoilSet, turns: Turns, functions: int) -> Real:
    """Return what a magnetic mirror and closed rails take from the inductance in the winding's functions [H]."""
    out = np.zeros((functions, functions))
    if s.mirror:
        x, weight = np.polynomial.legendre.leggauss(_MIRROR_NODES)
        height = s.winding.base + s.winding.length * (x + 1) / 2
        m = mutual_inductance(s.winding.radius, s.winding.radius, height[:, None] + height[None, :])
        p = legendre(x, functions) * weight * s.winding.turns / 2
        out -= p @ m @ p.T
    shut = [r for r in s.rails if r.closed]
    if shut:
        p = legendre(places(turns), functions)
        own = rail_matrix(shut)
        seen = np.array([p @ fluxes_of_ring(r, turns) for r in shut])  # (rails, functions)
        out -= seen.T @ np.linalg.solve(own, seen)
    return out


def fluxes_of_ring(rail: Rail, turns: Turns) -> Real:
    """Return the flux of one ampere in a ring through each turn [H]."""
    return mutual_inductance(rail.radius, turns.radius, turns.height - rail.height)


def rail_matrix(rails: Sequence[Rail]) -> Real:
    """Return the inductance matrix of closed rings, current on their surface [H]."""
    r, z = np.array([x.radius for x in rails]), np.array([x.height for x in rails])
    with np.errstate(divide="ignore"):
        m = mutual_inductance(r[:, None], r[None, :], z[:, None] - z[None, :])
    np.fill_diagonal(m, ring_self_inductance(r, np.array([x.wire_radius for x in rails]), 0.0))
    return m


def _top_field(charges: Charges, s: CoilSet) -> tuple[float | None, tuple[float, float]]:
    """Return the highest field on the top load for 1 V on it and on the winding's end as the first mode has it."""
    if not s.tops:
        return None, (0.0, 0.0)
    body = charges.body
    held = np.where(body == TOP, 1.0, 0.0)
    z = charges.mesh.z
    on = np.flatnonzero(charges.mesh.body == WINDING)
    held[on] = (z[on] - s.winding.base) / s.winding.length  # a straight rise: the mode differs little near the top
    field, rho, height = peak_field(charges, charges.of(held), TOP)
    return field, (rho, height)


@dataclass(frozen=True)
class PrimaryMatrices:
    """What every tap of a primary follows from: inductance matrix of its turns at the first mode with what the tube
    pushes out, that of a uniform current, and the flux of one ampere in the secondary through each turn [H].
    """

    turns: Turns
    high: Real  # (n, n)
    low: Real  # (n, n)
    mutual: Real  # (n,)

    def at(self, taps: Real) -> tuple[Real, Real, Real]:
        """Return both inductances and the mutual inductance to the secondary at each tap (turns from the inner end).

        Raises
        ------
        ValueError
            For a tap outside the primary.
        """
        w = tap_weights(self.turns, taps)
        return (
            np.asarray(((w @ self.high) * w).sum(axis=1)),
            np.asarray(((w @ self.low) * w).sum(axis=1)),
            np.asarray(w @ self.mutual),
        )


def primary_matrices(s: CoilSet, frequency: float) -> PrimaryMatrices:
    """Return the matrices of the primary's turns at a frequency [Hz], closed rails and a magnetic mirror included.

    Raises
    ------
    ValueError
        Without a primary.
    """
    if s.primary is None:
        raise ValueError("the set has no primary")
    p, secondary = s.primary, s.winding.rings()
    share = float(internal_share(p.wire_radius, float(skin_depth(frequency, resistivity(s.temperature)))))
    taken, mutual = np.zeros((p.radius.size, p.radius.size)), fluxes(secondary, p)
    shut = [r for r in s.rails if r.closed]
    if shut:
        seen = np.array([fluxes_of_ring(r, p) for r in shut])  # (rails, turns)
        answer = np.linalg.solve(rail_matrix(shut), seen)
        taken += seen.T @ answer
        mutual = mutual - np.array([fluxes_of_ring(r, secondary).sum() for r in shut]) @ answer
    if s.mirror:
        taken += mutual_inductance(p.radius[:, None], p.radius[None, :], p.height[:, None] + p.height[None, :])
        mutual = mutual - fluxes(replace(secondary, height=-secondary.height), p)
    low = turn_matrix(p, 1.0) - taken
    high = turn_matrix(p, share) - taken + expulsion(p, frequency, s.temperature)
    return PrimaryMatrices(p, high, low, mutual)
