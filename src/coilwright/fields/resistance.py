"""Alternating-current resistance of windings: skin effect, proximity of the neighbours, field of the whole coil.

Each turn is a straight wire in the field of all others. Its vector potential is expanded about the wire's axis in
multipoles f_m r^m; the wire answers with T_m a^2m f_m r^-m, T_m = J_(m+1)(ka) / J_(m-1)(ka), k = (1 - i)/skin depth,
and burns -(w pi m / mu_0) a^2m |f_m|^2 Im T_m per metre (amplitudes). Peak values throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import comb, pi

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from coilwright.fields.loops import Real, loop_field
from coilwright.fields.turns import Turns
from coilwright.model.constants import MU_0

Complex = NDArray[np.complex128]

#: Resistivity of annealed copper at 20 degC [ohm m] and its temperature coefficient there [1/K]: IEC 60028 (1925), from
#: memory.
COPPER = 1.7241e-8
COPPER_COEFFICIENT = 3.93e-3
#: Multipoles of a row of wires, and of the turns of a short coil.
ROW_ORDERS, COIL_ORDERS = 8, 3
#: Turns up to which a coil is solved turn by turn; how many at each end of a longer one, and the block in which they
#: are solved, which reaches further so that its inner edge does not count.
FEW_TURNS, END_TURNS, BLOCK = 60, 20, 28


def resistivity(temperature: float) -> float:
    """Return that of copper [ohm m] at a temperature [K]."""
    return COPPER * (1 + COPPER_COEFFICIENT * (temperature - 293.15))


def skin_depth(frequency: ArrayLike, rho: float = COPPER) -> Real:
    """Return sqrt(2 rho / w mu_0) [m]."""
    return np.asarray(np.sqrt(rho / (pi * np.asarray(frequency, float) * MU_0)))


def skin_factor(wire_radius: ArrayLike, depth: ArrayLike) -> Real:
    """Return the resistance of a lone round wire over its direct-current value: Re ka J0(ka) / 2 J1(ka), exact."""
    ka = (1 - 1j) * np.asarray(wire_radius, float) / np.asarray(depth, float)
    return np.asarray((ka * special.jve(0, ka) / (2 * special.jve(1, ka))).real)


def responses(wire_radius: float, depth: float, orders: int) -> Complex:
    """Return T_1 .. T_orders of a wire; -1 would be a perfect conductor."""
    ka = (1 - 1j) * wire_radius / depth
    m = np.arange(1, orders + 1)
    return np.asarray(special.jve(m + 1, ka) / special.jve(m - 1, ka))


@dataclass(frozen=True)
class RowFactors:
    """R / R_skin of a wire in a long row of equal ones = own + axial (p Hz / I)^2 + radial (p Hr / I)^2.

    ``pushed`` holds for the same three what the induced currents take from the inductance [H/m].
    """

    own: float
    axial: float
    radial: float
    pushed: tuple[float, float, float]


def row_factors(wire_radius: float, pitch: float, depth: float, orders: int = ROW_ORDERS) -> RowFactors:
    """Return how the neighbours in a row raise the resistance of a wire, for its own current and for a field along and
    across the row.

    Raises
    ------
    ValueError
        If the wires would overlap.
    """
    a, p = wire_radius, pitch
    if not 0 < 2 * a < p:
        raise ValueError("wires of a row must be thinner than their pitch")
    t = responses(a, depth, orders)
    m = np.arange(1, orders + 1)
    size = (a / p) ** m
    # amplitudes are counted as f_m a^m: then every number is of the order of one
    answer = np.eye(orders) - _row_sums(orders) * (size[:, None] * size[None, :]) * t[None, :]
    across = np.eye(orders) + _row_sums(orders) * (size[:, None] * size[None, :]) * t[None, :]
    even = m % 2 == 0
    own = np.zeros(orders)
    own[even] = MU_0 / (2 * pi) * 2 * special.zeta(m[even], 1.0) / m[even] * size[even]  # one ampere in each wire
    drive = np.zeros(orders)
    drive[0] = MU_0 * a / p  # a field of one ampere per pitch
    omega = 2 * COPPER / (MU_0 * depth**2)  # any resistivity: only the ratio to R_skin is kept
    skin = COPPER / (pi * a**2) * float(skin_factor(a, depth))

    def felt(matrix: Complex, source: Real) -> tuple[float, float]:
        f = np.linalg.solve(matrix, source)
        burnt = -(omega * pi / MU_0) * (m * np.abs(f) ** 2 * t.imag).sum() / (skin / 2)
        return float(burnt), float(2 * pi / MU_0 * (m * (t * f).real * source).sum())

    (by_own, pushed_own), (axial, pushed_axial), (radial, pushed_radial) = (
        felt(answer, own),
        felt(across, drive),
        felt(answer, drive),
    )
    return RowFactors(1 + by_own, axial, radial, (pushed_own, pushed_axial, pushed_radial))


@lru_cache(maxsize=8)
def _row_sums(orders: int) -> Real:
    """Return the potential of order l at a wire of unit multipoles of order m at all others of a row of pitch one."""
    m = np.arange(1, orders + 1)
    out = np.zeros((orders, orders))
    for i in m:
        for j in m:
            if (i + j) % 2 == 0:
                out[i - 1, j - 1] = (-1) ** j * comb(int(i + j - 1), int(i)) * 2 * special.zeta(i + j, 1.0)
    return out


def field_at_turns(turns: Turns, current: Real | None = None) -> tuple[Real, Real]:
    """Return axial and radial field at each turn of the currents (n,) of all others [A] and of its own curvature [A/m].

    Its own: I / 4 pi R (ln(8 R / a) - 1), of a hoop with its current on the surface. ``current`` None: one ampere in
    every turn.
    """
    r, z, a = turns.radius, turns.height, turns.wire_radius
    amps = turns.weight if current is None else current * turns.weight
    own = (np.log(8 * r / a) - 1) / (4 * pi * r) * amps
    n = r.size
    if n < 2:
        return own, np.zeros(n)
    if turns.is_uniform:
        br, bz = loop_field(r[0], np.full(n - 1, r[0]), np.abs(z[1:] - z[0]))
        sign = np.sign(z[1] - z[0])
        axial = _convolved(np.concatenate([[0.0], bz]), amps, 1.0)
        return own + axial / MU_0, sign * _convolved(np.concatenate([[0.0], br]), amps, -1.0) / MU_0
    with np.errstate(divide="ignore", invalid="ignore"):
        br, bz = loop_field(r[None, :], r[:, None], z[:, None] - z[None, :])
    np.fill_diagonal(br, 0.0)
    np.fill_diagonal(bz, 0.0)
    return own + bz @ amps / MU_0, br @ amps / MU_0


def _convolved(kernel: Real, amps: Real, parity: float) -> Real:
    """Return the sum over j of kernel[i - j] amps[j], the kernel at -k being ``parity`` times that at k."""
    n = amps.size
    size = 1 << (2 * n - 1).bit_length()
    whole = np.zeros(size)
    whole[:n] = kernel
    whole[size - n + 1 :] = parity * kernel[:0:-1]
    return np.asarray(np.fft.irfft(np.fft.rfft(whole) * np.fft.rfft(amps, size), size)[:n])


@dataclass(frozen=True)
class Losses:
    """Resistances [ohm] at one frequency, and what the currents pushed to the surface take from the inductance [H]."""

    direct: float
    alternating: float
    skin_only: float
    inductance_change: float


def winding_losses(turns: Turns, frequency: float, temperature: float = 293.15, current: Real | None = None) -> Losses:
    """Return the resistance of a winding to the current at its base.

    ``current`` (n,) is that of each turn over the one at the base, None: the same in every turn. Up to `FEW_TURNS`
    turns every turn is solved in the field of every other. In a longer uniform winding the inner turns count as those
    of a long row, each in the field at its place; towards the ends, where that field changes from turn to turn, as many
    turns are solved one by one.
    """
    rho = resistivity(temperature)
    depth = float(skin_depth(frequency, rho))
    amps = np.ones(turns.radius.size) if current is None else current
    around = 2 * pi * turns.radius * turns.weight
    direct = rho / (pi * turns.wire_radius**2)
    skin = direct * float(skin_factor(turns.wire_radius, depth))
    field = field_at_turns(turns, amps)
    if turns.radius.size <= FEW_TURNS or turns.pitch is None or not turns.is_uniform:
        each, change = _turn_by_turn(turns, field, amps, depth)
    else:
        each, change = _as_row(turns, field, amps, depth)
        first, last = _ends(turns, field, amps, depth)
        each[:END_TURNS], each[-END_TURNS:] = first, last
    return Losses(direct * float(around.sum()), skin * float(around @ each), skin * float(around @ amps**2), change)


def pushed_out(turns: Turns, frequency: float, temperature: float = 293.15) -> float:
    """Return what a uniform current's induced ones take from the inductance of a long winding, taken as a row [H]."""
    depth = float(skin_depth(frequency, resistivity(temperature)))
    amps = np.ones(turns.radius.size)
    return _as_row(turns, field_at_turns(turns, amps), amps, depth)[1]


def _ends(turns: Turns, field: tuple[Real, Real], amps: Real, depth: float) -> tuple[Real, Real]:
    """Return what the turns at either end burn over R_skin. Seen from its own end the upper one is the lower one upside
    down: the radial field changes its sign.
    """
    part = Turns(turns.radius[:BLOCK], turns.height[:BLOCK], turns.weight[:BLOCK], turns.wire_radius)
    axial, radial = field
    both = np.stack([axial[:BLOCK], axial[: -BLOCK - 1 : -1]], axis=1)
    across = np.stack([radial[:BLOCK], -radial[: -BLOCK - 1 : -1]], axis=1)
    currents = np.stack([amps[:BLOCK], amps[: -BLOCK - 1 : -1]], axis=1)
    burnt = _solved_turns(part, (both, across), currents, depth)[0]
    return burnt[:END_TURNS, 0], burnt[:END_TURNS, 1][::-1]


def _as_row(turns: Turns, field: tuple[Real, Real], amps: Real, depth: float) -> tuple[Real, float]:
    """Return what each turn burns over R_skin, as one of a long row in the field at its place, and what they all take
    from the inductance [H].
    """
    pitch = turns.pitch or 0.0
    f = row_factors(turns.wire_radius, pitch, depth)
    squares = amps**2, (pitch * field[0]) ** 2, (pitch * field[1]) ** 2
    burnt = f.own * squares[0] + f.axial * squares[1] + f.radial * squares[2]
    pushed = sum(k * q for k, q in zip(f.pushed, squares, strict=True))
    return np.asarray(burnt), float((2 * pi * turns.radius * turns.weight) @ np.asarray(pushed))


def expulsion(turns: Turns, frequency: float, temperature: float = 293.15) -> Real:
    """Return what the currents that are pushed about in the turns take from their inductance matrix, (n, n) [H].

    The field of every turn's current acts on every other one; what it induces there acts back. Symmetric, negative.
    """
    depth = float(skin_depth(frequency, resistivity(temperature)))
    whole = Turns(turns.radius, turns.height, np.ones(turns.radius.size), turns.wire_radius, turns.pitch)
    return _solved_turns(whole, _fields_of_each(whole), np.eye(turns.radius.size), depth)[1]


def _fields_of_each(turns: Turns) -> tuple[Real, Real]:
    """Return axial and radial field at each turn (first index) of one ampere in each (second index) [A/m]."""
    r, z = turns.radius, turns.height
    with np.errstate(divide="ignore", invalid="ignore"):
        br, bz = loop_field(r[None, :], r[:, None], z[:, None] - z[None, :])
    axial, radial = bz / MU_0, br / MU_0
    np.fill_diagonal(axial, (np.log(8 * r / turns.wire_radius) - 1) / (4 * pi * r))
    np.fill_diagonal(radial, 0.0)
    return axial, radial


def _turn_by_turn(turns: Turns, field: tuple[Real, Real], amps: Real, depth: float) -> tuple[Real, float]:
    """Return what each turn burns itself over R_skin, and what is added to the inductance [H]."""
    columns = field[0][:, None], field[1][:, None]
    burnt, change = _solved_turns(turns, columns, amps[:, None], depth)
    return burnt[:, 0], float(change[0, 0])


def _solved_turns(
    turns: Turns, field: tuple[Real, Real], amps: Real, depth: float, orders: int = COIL_ORDERS
) -> tuple[Real, Real]:
    """Return what each turn burns itself over R_skin (n, c), and what is taken from the inductance matrix of the sets
    of currents (c, c) [H].

    ``amps`` (n, c) are sets of currents, ``field`` (n, c) what they make at each turn, axial and radial [A/m], as true
    rings: it drives the first multipole. Neighbours act on each other as parallel wires.
    """
    n, a, sets = turns.radius.size, turns.wire_radius, amps.shape[1]
    t, m = responses(a, depth, orders), np.arange(1, orders + 1)
    source = _sources(turns, field, amps, orders)  # (n, orders, 2, c)
    f = np.linalg.solve(_response(turns, depth, orders), source.reshape(-1, sets)).reshape(source.shape)
    omega = 2 * COPPER / (MU_0 * depth**2)  # any resistivity: only the ratio to R_skin is kept
    skin = COPPER / (pi * a**2) * float(skin_factor(a, depth))
    loss = (m * t.imag)[:, None, None] * np.abs(f) ** 2
    burnt = -(omega * 2 * pi / MU_0) * loss.sum(axis=(1, 2))
    length = 2 * pi * turns.radius * turns.weight
    moments = (length[:, None] * (m * t))[:, :, None, None] * f
    change = (2 * pi / MU_0) * (source.reshape(-1, sets).T @ moments.reshape(2 * n * orders, sets)).real
    return amps**2 + burnt / skin, np.asarray((change + change.T) / 2)


def _apart(turns: Turns) -> tuple[Complex, NDArray[np.bool_]]:
    """Return the places of the turns from one another as complex numbers, and which pairs are two turns."""
    place = turns.radius + 1j * turns.height
    d = place[:, None] - place[None, :]
    np.fill_diagonal(d, 1.0)
    return d, ~np.eye(turns.radius.size, dtype=bool)


def _sources(turns: Turns, field: tuple[Real, Real], amps: Real, orders: int) -> Real:
    """Return the multipoles (n, orders, 2: cosine and sine, c) that act on each turn, counted as f_m a^m."""
    a = turns.wire_radius
    d, apart = _apart(turns)
    source = np.zeros((turns.radius.size, orders, 2, amps.shape[1]))
    source[:, 0, 0], source[:, 0, 1] = MU_0 * field[0] * a, -MU_0 * field[1] * a
    drawn = turns.weight[:, None] * amps
    for k in range(2, orders + 1):
        each = np.where(apart, MU_0 / (2 * pi) * (-1.0) ** k / k * (a / d) ** k, 0.0) @ drawn
        source[:, k - 1, 0], source[:, k - 1, 1] = each.real, -each.imag
    return source


def _response(turns: Turns, depth: float, orders: int) -> Complex:
    """Return the matrix of what the turns' answers do to one another, (2 n orders, 2 n orders)."""
    a, n = turns.wire_radius, turns.radius.size
    m = np.arange(1, orders + 1)
    d, apart = _apart(turns)
    ratio = np.where(apart, a / d, 0.0)
    powers = [ratio**k for k in range(2 * orders + 1)]
    block = np.zeros((n, orders, 2, n, orders, 2))
    for i in m:
        for j in m:
            k_ij = (-1.0) ** i * comb(int(i + j - 1), int(i)) * powers[i + j]
            block[:, i - 1, 0, :, j - 1, 0], block[:, i - 1, 0, :, j - 1, 1] = k_ij.real, -k_ij.imag
            block[:, i - 1, 1, :, j - 1, 0], block[:, i - 1, 1, :, j - 1, 1] = -k_ij.imag, -k_ij.real
    size = 2 * n * orders
    answer = np.repeat(np.tile(responses(a, depth, orders), n), 2)
    return np.asarray(np.eye(size) - block.reshape(size, size) * answer[None, :])


__all__ = [
    "COPPER",
    "Losses",
    "RowFactors",
    "expulsion",
    "field_at_turns",
    "pushed_out",
    "resistivity",
    "responses",
    "row_factors",
    "skin_depth",
    "skin_factor",
    "winding_losses",
]
