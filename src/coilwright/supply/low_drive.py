"""A wired supply driven at low volts with its plug out: what a meter shows for every sense of its windings.

The iron works at a hundredth of its usual flux, where its permeability is anything from a quarter of the usual one up
to all of it (low-flux permeability of transformer steel; the range is an assumption); the shunts' iron too is off. So
each unit's magnetising inductance and its leakage are unknowns of the sheet, the adapter's impedance another. The stray
capacitances stay in; correction capacitors, the tank and the mains are out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import SolverError
from coilwright.model.design import Arrangement
from coilwright.supply.build import build, circuit_of, part_of
from coilwright.supply.circuits import CapacitorCircuit, MainsCircuit, PartCircuit, TransformerCircuit
from coilwright.supply.network import EARTH, Branch, Network, Source, groups
from coilwright.supply.steady import Steady, rms, solve_networks

#: Magnetising inductance at low flux over the fitted one: the middle of its range, and one standard deviation of its
#: logarithm (0.25 to 1 lies within 1.5 of them; assumption).
IRON_FACTOR, IRON_SPREAD = 0.5, 0.46
#: One standard deviation of the logarithm of each unit's leakage at low flux (assumption).
LEAKAGE_SPREAD = 0.15
#: Impedance of a small adapter [ohm] and one standard deviation of its logarithm (assumption).
ADAPTER_RESISTANCE, ADAPTER_SPREAD = 0.6, 0.8
#: Half width of a 95 % band in standard deviations.
COVERAGE = 1.96
#: Contact that holds the drive's second joint to the reference, so that potentials have a zero [ohm].
REFERENCE = 1e-3
#: Units whose senses are all tried; each doubles the work.
MOST_UNITS = 8

Real = NDArray[np.float64]
Pair = tuple[str, str]


@dataclass(frozen=True)
class Drive:
    """A separated alternating source of ``volts`` rms between two nodes, the second one its return."""

    volts: float
    at: Pair


@dataclass(frozen=True)
class Sense:
    """One set of reversed high windings, with what each pair of nodes reads [V rms] and how that moves.

    ``readings`` has shape (pairs,); ``moves`` (unknowns, pairs) is the change by one standard deviation of each
    unknown: the iron and the leakage of each unit, then the adapter. ``bend`` (pairs,) is what a straight line leaves
    out of those changes, as a standard deviation. ``potentials`` maps every node to its phasor against the drive's
    return.
    """

    reversed: tuple[str, ...]
    readings: Real
    moves: Real
    bend: Real
    potentials: Mapping[str, complex]


def plug_out(arrangement: Arrangement) -> Arrangement:
    """Return the arrangement without the mains' own terminals: its joints stay, with the pins of the plug on them."""
    joints = {j: tuple(t for t in ts if not t.startswith("mains.")) for j, ts in arrangement.joints.items()}
    return replace(arrangement, joints={j: ts for j, ts in joints.items() if ts})


def toggled(arrangement: Arrangement, windings: Sequence[str]) -> Arrangement:
    """Return the arrangement with these windings the other way round than it has them."""
    now = set(arrangement.reversed) ^ set(windings)
    return replace(arrangement, reversed=tuple(sorted(now)))


def senses_of(units: Sequence[str]) -> list[tuple[str, ...]]:
    """Return every set of reversed high windings, the first unit kept as reference, fewest first.

    All windings reversed together show the same volts everywhere, so a set and its mirror are one. A mirror is named by
    the set of the two that leaves the first unit alone.
    """
    windings = [f"{u}.high" for u in units[1:]]
    return [chosen for size in range(len(windings) + 1) for chosen in combinations(windings, size)]


def solve_senses(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    drive: Drive,
    units: Sequence[str],
    pairs: Sequence[Pair],
    *,
    senses: Sequence[tuple[str, ...]] | None = None,
) -> list[Sense]:
    """Return what every pair reads for each sense of the windings.

    Parameters
    ----------
    arrangement
        As it is meant to be wired; ``units`` are its transformers with a high winding.
    drive, pairs
        Nodes are joints, or terminals that hang free.

    Raises
    ------
    SolverError
        If a network did not converge; no reading is shown then.
    """
    sets = list(senses if senses is not None else senses_of(units))
    trials = trials_of(circuits, units)
    networks = [
        driven(unplugged(toggled(arrangement, windings), parts, mains), drive, ohms)
        for windings in sets
        for parts, ohms in trials
    ]
    rows, step = _solved(networks), len(trials)
    found = []
    for k, windings in enumerate(sets):
        states = rows[k * step : (k + 1) * step]
        readings = np.array([[rms(s.voltage(a, b)) for a, b in pairs] for s in states])
        found.append(Sense(windings, readings[0], *moves_of(readings), _potentials(states[0])))
    return found


def trials_of(circuits: Mapping[str, PartCircuit], units: Sequence[str]) -> list[tuple[dict[str, PartCircuit], float]]:
    """Return circuits at low flux with the adapter's impedance [ohm]: as expected, then with each unknown moved by one
    standard deviation up and down: the iron and the leakage of each unit, then the adapter.
    """
    own = {u: circuit_of(u, circuits) for u in units}
    usual: dict[str, PartCircuit] = {**circuits, **{u: at_low_flux(c, IRON_FACTOR) for u, c in own.items()}}
    trials = [(usual, ADAPTER_RESISTANCE)]
    for u in units:
        moved = [at_low_flux(own[u], IRON_FACTOR * exp(way * IRON_SPREAD)) for way in (1.0, -1.0)]
        moved += [with_leakage(usual[u], exp(way * LEAKAGE_SPREAD)) for way in (1.0, -1.0)]
        trials += [({**usual, u: one}, ADAPTER_RESISTANCE) for one in moved]
    return trials + [(usual, ADAPTER_RESISTANCE * exp(way * ADAPTER_SPREAD)) for way in (1.0, -1.0)]


def moves_of(readings: Real) -> tuple[Real, Real]:
    """Return what readings (trials, m), in the order of ``trials_of``, move by one standard deviation of each unknown,
    (unknowns, m), and what a straight line leaves out of that, (m,).
    """
    up, down = readings[1::2] - readings[0], readings[2::2] - readings[0]
    return (up - down) / 2, np.sqrt((((up + down) / 2) ** 2).sum(axis=0))


def alike_trials_of(
    circuits: Mapping[str, PartCircuit], units: Sequence[str]
) -> list[tuple[dict[str, PartCircuit], float]]:
    """Return circuits with every unit off in the same way, as units of one make are: the iron of all of them at the
    lower and the upper end of its 95 %, then the leakage of all; nothing for a single unit.
    """
    if len(units) < 2:
        return []
    own = {u: circuit_of(u, circuits) for u in units}
    found: list[tuple[dict[str, PartCircuit], float]] = []
    for way in (-COVERAGE, COVERAGE):
        moved = {u: at_low_flux(c, IRON_FACTOR * exp(way * IRON_SPREAD)) for u, c in own.items()}
        found.append(({**circuits, **moved}, ADAPTER_RESISTANCE))
    for way in (-COVERAGE, COVERAGE):
        moved = {u: with_leakage(at_low_flux(c, IRON_FACTOR), exp(way * LEAKAGE_SPREAD)) for u, c in own.items()}
        found.append(({**circuits, **moved}, ADAPTER_RESISTANCE))
    return found


def spread_of(single: Real, alike: Real) -> Real:
    """Return one standard deviation of readings (trials, m): ``single`` in the order of ``trials_of``, ``alike`` in
    that of ``alike_trials_of``.

    Iron and leakage are each taken as wide as the worse of two cases: every unit off by itself, and all of them off
    together, which is what units of one make do.
    """
    moves, bend = moves_of(single)
    iron, leakage = np.sqrt((moves[0:-1:2] ** 2).sum(axis=0)), np.sqrt((moves[1:-1:2] ** 2).sum(axis=0))
    if len(alike):
        together = np.abs(alike - single[0]) / COVERAGE
        iron, leakage = np.maximum(iron, together[:2].max(axis=0)), np.maximum(leakage, together[2:].max(axis=0))
    return np.asarray(np.sqrt(iron**2 + leakage**2 + moves[-1] ** 2 + bend**2))


def unplugged(arrangement: Arrangement, circuits: Mapping[str, PartCircuit], mains: MainsCircuit) -> Network:
    """Return the network with its plug out and every capacitor off."""
    bare = plug_out(arrangement)
    instances = dict.fromkeys(part_of(t)[0] for ts in bare.joints.values() for t in ts)
    off = frozenset(n for n in instances if isinstance(circuit_of(n, circuits), CapacitorCircuit))
    return build(bare, circuits, mains, without=off)


def copper(network: Network) -> dict[str, str]:
    """Return a representative for each node: nodes with the same one are joined by copper, also through a choke.

    Between circuits that share no node a meter shows nothing but stray capacitance.
    """
    links = [(e.a, e.b) for e in network.branches]
    links += [(w.a, w.b) for w in network.windings] + [(p.a, p.b) for p in network.ports]
    links = [link for link in links if EARTH not in link]
    return {n: root for n, root in groups(links, network.nodes()).items() if ":" not in n}


def joined(arrangement: Arrangement, circuits: Mapping[str, PartCircuit], mains: MainsCircuit) -> dict[str, str]:
    """Return ``copper`` of the arrangement with its plug out and every capacitor off."""
    return copper(unplugged(arrangement, circuits, mains))


def _solved(networks: Sequence[Network]) -> list[Steady]:
    """Return the state of each network at the fundamental; the iron is nowhere near its knee.

    Raises
    ------
    SolverError
        If one of them did not converge.
    """
    states = [s for s in solve_networks(networks, highest=1, limit=1) if s is not None]
    if len(states) < len(networks):
        raise SolverError("the low-voltage network did not converge")
    return states


def at_low_flux(circuit: PartCircuit, factor: float) -> PartCircuit:
    """Return a transformer whose iron magnetises ``factor`` as well as at its usual flux."""
    if not isinstance(circuit, TransformerCircuit):
        return circuit
    p, s = circuit.primary_limb, circuit.secondary_limb
    return replace(
        circuit,
        primary_limb=replace(p, inductance=p.inductance * factor),
        secondary_limb=replace(s, inductance=s.inductance * factor),
    )


def with_leakage(circuit: PartCircuit, factor: float) -> PartCircuit:
    """Return a transformer with its leakage, in air and in its shunts, ``factor`` times as large."""
    if not isinstance(circuit, TransformerCircuit):
        return circuit
    shunt = circuit.shunt
    return replace(
        circuit,
        air_leakage=circuit.air_leakage * factor,
        shunt=None if shunt is None else replace(shunt, inductance=shunt.inductance * factor),
    )


def driven(network: Network, drive: Drive, ohms: float) -> Network:
    """Return an unplugged network fed by the adapter, whose own impedance is ``ohms``; its source is named drive."""
    a, b = drive.at
    source = Source("drive", a, b, complex(sqrt(2) * drive.volts), ohms, 0.0)
    reference = Branch("drive:reference", b, EARTH, REFERENCE)
    return replace(network, sources=(*network.sources, source), branches=(*network.branches, reference), output=None)


def _potentials(state: Steady) -> dict[str, complex]:
    inner = (":", "drive")
    return {
        n: complex(state.potential(n)[0]) / sqrt(2)
        for n in state.network.nodes()
        if not any(mark in n for mark in inner)
    }


def reach(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    drive: Drive,
    units: Sequence[str],
    roots: Mapping[str, str],
    pins: Sequence[str] = (),
) -> tuple[float, Pair, float | None]:
    """Return the highest voltage between two points that copper joins [V rms], the two points, and the highest between
    two of ``pins`` (None with fewer than two), over every sense of the windings.

    ``roots`` is what ``joined`` returns. The iron is taken at its usual permeability and the adapter without impedance,
    which is where the volts are highest.
    """
    wired = [unplugged(toggled(arrangement, s), circuits, mains) for s in senses_of(units)]
    # the adapter's own two leads are within reach too, before anything is joined to them
    worst, where, plug = drive.volts, drive.at, None
    for state in _solved([driven(network, drive, 0.0) for network in wired]):
        volts = {n: v for n, v in _potentials(state).items() if n in roots}
        for (a, va), (b, vb) in combinations(volts.items(), 2):
            if roots[a] == roots[b] and abs(va - vb) > worst * (1 + 1e-9):
                worst, where = abs(va - vb), (a, b)
        for a, b in combinations([p for p in pins if p in volts], 2):
            plug = max(plug or 0.0, abs(volts[a] - volts[b]))
    return worst, where, plug
