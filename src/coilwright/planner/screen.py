"""The quick estimate: stages and ballast forms as two-ports, every combination at once.

A stage is tabulated once, open against primary volts and shorted against primary amperes, saturation included. With a
ballast of impedance Z before it, open and short circuit follow by interpolation of ``|E| = |V (1 + Z Y)|`` and ``|E|
= I |Z + Z_in|``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilwright.planner.ballast import Catalogue
from coilwright.planner.inventory import Inventory
from coilwright.planner.score import Aim
from coilwright.planner.stages import Feed, Stage
from coilwright.planner.twoport import CURRENTS, Complex, Real, Units, at_current

#: Primary volts of the open tables, as shares of what the feed gives.
LEVELS: Real = np.array([0.30, 0.55, 0.70, 0.80, 0.87, 0.92, 0.96, 0.99, 1.02, 1.06])
#: Primary amperes of the short tables.
AMPERES: Real = np.geomspace(0.08, 300.0, 15)
Index = NDArray[np.int64]


@dataclass(frozen=True)
class Tables:
    """Stages side by side. Open: gain and input admittance at ``LEVELS``; short: gain and input impedance at
    ``AMPERES``.
    """

    open_gain: Complex  # (s, levels)
    open_admittance: Complex
    short_gain: Complex  # (s, amperes)
    short_impedance: Complex
    unit_load: Real  # (s, amperes) worst primary current over rated, shorted, per ampere of the stage
    circulating: Real  # (s,) worst circulating current over rated
    feed_volts: Real
    feed_impedance: Complex
    feed_ratio: Real

    def take(self, rows: Index) -> Tables:
        """Return the stages at those rows."""
        return Tables(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


def tabulate(stages: Sequence[Stage], inventory: Inventory, feeds: Sequence[Feed], omega: float) -> Tables:
    """Return the tables of every stage. Units share the current evenly, which is near enough for an estimate."""
    n = len(stages)
    members = [m[0] for m in inventory.unit_classes]
    units = Units.of([m.circuit for m in members], omega)
    rated = np.array([m.rated_current for m in members])
    n_open, n_short = (n, LEVELS.size), (n, AMPERES.size)
    tables = Tables(
        np.zeros(n_open, dtype=complex),
        np.zeros(n_open, dtype=complex),
        np.zeros(n_short, dtype=complex),
        np.zeros(n_short, dtype=complex),
        np.zeros(n_short),
        np.zeros(n),
        np.array([feeds[s.feed].volts for s in stages]),
        np.array([feeds[s.feed].impedance for s in stages], dtype=complex),
        np.array([feeds[s.feed].ratio for s in stages]),
    )
    together: dict[tuple[int, int, int], list[int]] = {}
    for row, stage in enumerate(stages):
        together.setdefault((stage.feed, stage.series, len(stage.high.classes)), []).append(row)
    opened: dict[tuple[int, int], Complex] = {}
    shorted: dict[float, Complex] = {}
    for (feed, series, count), rows in together.items():
        volts = LEVELS * feeds[feed].volts / series
        if (feed, series) not in opened:
            opened[feed, series] = units.open_chain(np.broadcast_to(volts, (len(members), volts.size)))
        share = series / count
        if share not in shorted:
            shorted[share] = units.short_chain(np.broadcast_to(AMPERES * share, (len(members), AMPERES.size)))
        at = np.array(rows)
        classes = np.array([stages[r].high.classes for r in rows])
        group = np.array([group_numbers(stages[r]) for r in rows])
        scale = np.array([[series, series], [1 / series, 1 / series]])
        ratio, limit = np.array([m.circuit.ratio for m in members])[classes], rated[classes]
        joined = join(opened[feed, series][classes] * scale, group)
        tables.open_gain[at], tables.open_admittance[at] = 1 / joined.a, joined.c / joined.a
        tables.circulating[at] = (
            (np.abs(joined.circulating())[..., -3] * ratio / limit).max(axis=1) * volts[-3] * series
        )
        joined = join(shorted[share][classes] * scale, group)
        tables.short_gain[at], tables.short_impedance[at] = 1 / joined.d, joined.b / joined.d
        primary = np.abs(joined.taken()) * series / np.abs(joined.d / joined.b)[:, None]
        tables.unit_load[at] = (primary / limit[..., None]).max(axis=1)
    return tables


def group_numbers(stage: Stage) -> tuple[int, ...]:
    """Return the series group of each unit; -1 for units across the whole output."""
    numbers = [g for g, group in enumerate(stage.high.groups) for _ in group]
    return (*numbers, *([-1] * len(stage.high.both)))


@dataclass(frozen=True)
class Joined:
    """Unit chains (s, units, m) joined to one chain (s, m); what is needed to read single units out is kept."""

    a: Complex
    b: Complex
    c: Complex
    d: Complex
    chains: Complex  # (s, units, m, 2, 2)
    inner: Complex  # (s, units, m) volts of the unit's group per volt at the input, output open
    inner_short: Complex  # the same with the output shorted

    def circulating(self) -> Complex:
        """Return each unit's secondary current per volt at the input with the output open: what circulates."""
        return np.asarray((1 - self.chains[..., 0, 0] * self.inner) / self.chains[..., 0, 1])

    def idle(self) -> Complex:
        """Return each unit's primary current per volt at the input with the output open."""
        return np.asarray((self.chains[..., 1, 1] - self.inner) / self.chains[..., 0, 1])

    def taken(self) -> Complex:
        """Return each unit's primary current per volt at the input with the output shorted."""
        return np.asarray((self.chains[..., 1, 1] - self.inner_short) / self.chains[..., 0, 1])


def join(chains: Complex, group: Index) -> Joined:
    """Join unit chains (s, units, m, 2, 2): parallel within a group, groups in series at the output, group -1 across
    all of it.

    With every primary on the same input a group of parallel units has ``I1 = p11 V1 - p12 V2``, ``I2 = p12 V1 - p22
    V2``; groups in series add in ``V2 = r V1 - z I2``, ``I1 = y V1 + r I2``.
    """
    a, b, d = chains[..., 0, 0], chains[..., 0, 1], chains[..., 1, 1]
    shape = (chains.shape[0], chains.shape[2])
    y, z, r = (np.zeros(shape, dtype=complex) for _ in range(3))
    groups: list[tuple[NDArray[np.bool_], Complex, Complex]] = []
    for g in range(int(group.max()) + 1):
        inside = (group == g)[..., None]
        p11, p12, p22 = (np.where(inside, v, 0).sum(axis=1) for v in (d / b, 1 / b, a / b))
        safe = np.where(p22 != 0, p22, 1.0)
        r_g, z_g = p12 / safe, np.where(p22 != 0, 1 / safe, 0)
        y, z, r = y + np.where(p22 != 0, p11 - p12**2 / safe, 0), z + z_g, r + r_g
        groups.append((inside, r_g, z_g))
    across = (group == -1)[..., None]
    q11, q12, q22 = (np.where(across, v, 0).sum(axis=1) for v in (d / b, 1 / b, a / b))
    stacked = np.abs(z) > 0
    safe_z = np.where(stacked, z, 1.0)
    q11, q12 = q11 + np.where(stacked, y + r**2 / safe_z, 0), q12 + np.where(stacked, r / safe_z, 0)
    q22 = q22 + np.where(stacked, 1 / safe_z, 0)
    gain = q12 / q22  # output volts per input volt, open
    inner = np.broadcast_to(gain[:, None, :], b.shape).copy()
    inner_short = np.zeros(b.shape, dtype=complex)
    for inside, r_g, z_g in groups:
        through = np.where(stacked, (r - gain) / safe_z, 0)  # what a tapped unit beside it draws from the stack
        inner = np.where(inside, (r_g - z_g * through)[:, None, :], inner)
        inner_short = np.where(inside, (r_g - z_g * r / safe_z)[:, None, :], inner_short)
    return Joined(q22 / q12, 1 / q12, (q11 * q22 - q12**2) / q12, q11 / q12, chains, inner, inner_short)


@dataclass(frozen=True)
class Estimate:
    """Estimates of many supplies, arrays of one shape; amperes at the mains, complex against the mains volts."""

    open_voltage: Real
    short_current: Real
    open_mains: Complex
    short_mains: Complex
    best_mains: Complex  # at best power
    load: Real  # worst current over rating, shorted
    stage_current: Real  # primary amperes, shorted

    @property
    def mains_current(self) -> Real:
        """Return the largest of open, best power and short [A]."""
        return np.maximum(np.maximum(np.abs(self.open_mains), np.abs(self.short_mains)), np.abs(self.best_mains))


def _cross(values: Real, target: Real) -> tuple[Index, Real]:
    """Return where rising rows (..., m) pass ``target`` (...): the place before it and the share beyond, held to the
    table.
    """
    k = np.clip((values < target[..., None]).sum(axis=-1) - 1, 0, values.shape[-1] - 2)
    low = np.take_along_axis(values, k[..., None], -1)[..., 0]
    high = np.take_along_axis(values, k[..., None] + 1, -1)[..., 0]
    return k, np.clip((target - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)


def _at(table: Complex | Real, k: Index, part: Real) -> Complex | Real:
    low = np.take_along_axis(table, k[..., None], -1)[..., 0]
    high = np.take_along_axis(table, k[..., None] + 1, -1)[..., 0]
    return np.asarray(low + (high - low) * part)


def estimate(tables: Tables, ballast: Complex, overload: Real) -> Estimate:
    """Return the estimate of each stage (rows of the tables) behind its ballast.

    ``ballast`` and ``overload`` (s, 56) stand over the currents of every ballast table.
    """
    e, z_feed = tables.feed_volts, tables.feed_impedance
    idle = np.abs(tables.open_admittance[:, -3]) * e
    z_open = np.asarray(at_current(ballast, 0.8 * idle[:, None]))[:, 0] + z_feed
    volts = LEVELS * e[:, None]
    k, part = _cross(np.abs(volts * (1 + z_open[:, None] * tables.open_admittance)), e)
    admittance, gain = _at(tables.open_admittance, k, part), _at(tables.open_gain, k, part)
    v_primary = e / (1 + z_open * admittance)
    v_open = v_primary * gain
    z_short = at_current(ballast, np.broadcast_to(AMPERES, (e.size, AMPERES.size)))
    z_total = z_short + z_feed[:, None] + tables.short_impedance
    k, part = _cross(np.log(np.abs(z_total) * AMPERES), np.log(e))
    turn = _at(z_total, k, part)
    current = AMPERES[k] * (AMPERES[1] / AMPERES[0]) ** part * np.conj(turn) / np.abs(turn)
    i_short = current * _at(tables.short_gain, k, part)
    i_open = v_primary * admittance
    behind = np.abs(v_open / i_short)  # the best load has the magnitude of the source's impedance
    z_out = v_open / i_short
    best = i_open + (current - i_open) * z_out / (z_out + behind)
    load = np.maximum(
        np.asarray(at_current(overload, np.abs(current)[:, None]))[:, 0],
        np.abs(current) * np.real(_at(tables.unit_load, k, part)),
    )
    ratio = tables.feed_ratio
    return Estimate(
        np.abs(v_open), np.abs(i_short), i_open * ratio, current * ratio, best * ratio, load, np.abs(current)
    )


def wanted_reactance(tables: Tables, aim: Aim) -> Real:
    """Return for each stage the reactance in its line that gives the wanted volt-amperes without passing the mains
    limit [ohm].

    0 where even no ballast at all gives less than wanted.
    """
    trial = np.geomspace(0.5, 1500.0, 13)
    power, amps = [], []
    n = tables.feed_volts.size
    for x in trial:
        done = estimate(tables, np.full((n, CURRENTS.size), 1j * x), np.zeros((n, CURRENTS.size)))
        power.append(done.open_voltage * done.short_current)
        amps.append(done.mains_current)
    by_power = _falls_to(np.log(power), np.log(aim.power), np.log(trial))
    by_mains = _falls_to(np.log(amps), np.log(0.85 * aim.mains_limit), np.log(trial))
    return np.maximum(by_power, by_mains)


def _falls_to(values: Real, target: float, log_x: Real) -> Real:
    """Return x at which each falling column of values (x, s) comes down to the target; 0 where it never was above."""
    above = values > target
    last = np.where(above.any(axis=0), above.shape[0] - 1 - above[::-1].argmax(axis=0), -1)
    k = np.clip(last, 0, values.shape[0] - 2)
    columns = np.arange(values.shape[1])
    first, second = values[k, columns], values[k + 1, columns]
    part = np.clip((first - target) / np.maximum(first - second, 1e-12), 0.0, 1.0)
    return np.where(last < 0, 0.0, np.exp(log_x[k] + part * (log_x[k + 1] - log_x[k])))


def pick_forms(
    tables: Tables, reactance: Real, catalogue: Catalogue, allowed: NDArray[np.bool_], keep: int
) -> list[Index]:
    """Return for each stage the rows of the catalogue that look best by one linear figure, at most ``keep`` of them.

    ``allowed`` (s, f) says which forms can be made beside which stage.
    """
    picked: list[Index] = []
    cost = 0.12 * catalogue.count
    for row in range(tables.feed_volts.size):
        rows = np.flatnonzero(allowed[row])
        if rows.size > keep:
            k = int(
                np.clip(
                    np.searchsorted(AMPERES, tables.feed_volts[row] / max(reactance[row], 3.0)), 0, AMPERES.size - 1
                )
            )
            z_stage = tables.short_impedance[row, k] + tables.feed_impedance[row]
            at_reactance = np.abs(z_stage + 1j * reactance[row])
            off = np.abs(np.log(np.abs(z_stage + catalogue.impedance[rows, 30]) / at_reactance))
            figure = 2.4 * off + cost[rows]
            rows = rows[np.argpartition(figure, keep)[:keep]]
        picked.append(rows)
    return picked
