"""One arrangement from open to short circuit: operating points, stresses, heat, all from solved networks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np

from coilwright.errors import SolverError
from coilwright.model.design import Arrangement
from coilwright.supply.build import build, circuit_of, part_of
from coilwright.supply.circuits import (
    CapacitorCircuit,
    ChokeCircuit,
    MainsCircuit,
    PartCircuit,
    ResistorCircuit,
    TransformerCircuit,
)
from coilwright.supply.linear import Complex
from coilwright.supply.loads import solve_loads
from coilwright.supply.network import Network
from coilwright.supply.operating import Operating, Potential, operating, potential
from coilwright.supply.steady import Steady, power, rms, solve_network

#: Loads of the droop curve as multiples of open volts over short amperes.
LOAD_STEPS = (30.0, 10.0, 5.0, 3.0, 2.0, 1.5, 1.2, 1.0, 0.8, 0.6, 0.4, 0.25, 0.12, 0.05)


@dataclass(frozen=True)
class TransformerStress:
    """What one transformer's insulation sees, the largest of open, best power and short [V rms]."""

    core_to_earth: float
    core_to_earth_peak: float
    primary_to_core: float
    high_to_primary: float
    start: Potential
    finish: Potential


@dataclass(frozen=True)
class Characteristics:
    """An arrangement from open to short. ``open_uncorrected`` and the like: every correction capacitor failed open."""

    arrangement: Arrangement
    network: Network
    open: Operating
    short: Operating
    best: Operating
    droop: tuple[Operating, ...]
    uncorrected: dict[str, Operating]  # "open" | "best" | "short"
    droop_uncorrected: tuple[float, ...]  # mains current of each droop point without correction
    stress: dict[str, TransformerStress]
    joints: dict[str, Potential]
    loss: dict[str, tuple[float, float]]  # instance -> W at best power and at short circuit
    states: dict[str, Steady]  # "open" | "best" | "short"

    @property
    def mains_current_uncorrected(self) -> float:
        """Return the largest mains current from open to short with every correction capacitor failed open [A]."""
        return max(o.mains_current for o in self.uncorrected.values())


def instances(arrangement: Arrangement, circuits: Mapping[str, PartCircuit], kind: type) -> tuple[str, ...]:
    """Return the wired instances whose circuit is of the given class, in order of the joints."""
    named = dict.fromkeys(part_of(t)[0] for ts in arrangement.joints.values() for t in ts if not t.startswith("mains."))
    return tuple(n for n in named if isinstance(circuit_of(n, circuits), kind))


def characterise(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    corrections: frozenset[str] = frozenset(),
    loads: Sequence[float] = (),
    *,
    droop: bool = True,
) -> Characteristics:
    """Solve the arrangement open, short-circuited, and over a range of loads.

    ``corrections`` are the instances of correction capacitors; ``loads`` are further load resistances [ohm]. With
    ``droop`` false only a few loads are solved, enough to find the best power within a few per cent.

    Raises
    ------
    SolverError
        If open or short circuit has no converged answer, or part of the network hangs free.
    """
    full = build(arrangement, circuits, mains)
    bare = build(arrangement, circuits, mains, without=corrections) if corrections else full
    steps = LOAD_STEPS if droop else LOAD_STEPS[2:12:2]
    open_state = solve_network(full)
    short_state = solve_network(full.with_load(0.0))
    short = operating(short_state, 0.0)
    opened = operating(open_state, None)
    load, best_state, best, points = best_power(full, opened, short, steps)
    if loads:
        more = zip(loads, solve_loads(full, loads), strict=True)
        points = [*points, *((r, operating(s, r)) for r, s in more if s is not None)]
        points = sorted(dict(points).items(), reverse=True)
    chosen = {"open": open_state, "best": best_state, "short": short_state}
    uncorrected, extra = _without(
        bare,
        full,
        {"open": None, "best": load, "short": 0.0},
        {"open": opened, "best": best, "short": short},
        [r for r, _ in points],
    )
    return Characteristics(
        arrangement,
        full,
        opened,
        short,
        best,
        tuple(o for _, o in points),
        uncorrected,
        extra or tuple(o.mains_current for _, o in points),
        {
            name: _stress(name, arrangement, list(chosen.values()))
            for name in instances(arrangement, circuits, TransformerCircuit)
        },
        {
            joint: potential(list(chosen.values()), joint, joint)
            for joint in arrangement.joints
            if open_state.has(joint)
        },
        {
            name: (_loss(name, circuits, best_state), _loss(name, circuits, short_state))
            for name in instances(arrangement, circuits, object)
        },
        chosen,
    )


def _without(
    bare: Network, full: Network, loads: dict[str, float | None], known: dict[str, Operating], droop: list[float]
) -> tuple[dict[str, Operating], tuple[float, ...]]:
    """Return the operating points with the correction capacitors gone, and the mains current of each droop point."""
    if bare is full:
        return known, ()
    wanted = [*loads.items(), *((f"droop {k}", r) for k, r in enumerate(droop))]
    out = {}
    opened = solve_network(bare)
    for (name, load), state in zip(
        [w for w in wanted if w[1] is not None],
        solve_loads(bare, [r for _, r in wanted if r is not None]),
        strict=True,
    ):
        if state is None:
            raise SolverError(f"no steady state without the correction capacitors at {load:.3g} ohm")
        out[name] = operating(state, load)
    out["open"] = operating(opened, None)
    return ({k: out[k] for k in loads}, tuple(out[f"droop {k}"].mains_current for k in range(len(droop))))


def best_power(
    network: Network, opened: Operating, short: Operating, steps: Sequence[float] = LOAD_STEPS
) -> tuple[float, Steady, Operating, list[tuple[float, Operating]]]:
    """Return the load of best power [ohm] with its state and working point, and the points from which it was found.

    ``steps`` are the loads tried, as multiples of open volts over short amperes.

    Raises
    ------
    SolverError
        If no loaded state converged.
    """
    scale = opened.voltage / short.current if short.current > 0 else 1e6
    resistances = sorted((scale * k for k in steps), reverse=True)
    found = zip(resistances, solve_loads(network, resistances), strict=True)
    states = [(r, s, operating(s, r)) for r, s in found if s is not None]
    if not states:
        raise SolverError("no loaded steady state was found")
    load = _best_load([o for _, _, o in states])
    state = solve_network(network.with_load(load))
    best = operating(state, load)
    if best.power < max(o.power for _, _, o in states):
        load, state, best = max(states, key=lambda p: p[2].power)
    return load, state, best, [(r, o) for r, _, o in states]


def _best_load(points: Sequence[Operating]) -> float:
    """Return the load at the top of the parabola through the best point and its neighbours, on a logarithmic scale
    [ohm].
    """
    k = int(np.argmax([p.power for p in points]))
    at = float(points[k].load_resistance or 0.0)
    if not 0 < k < len(points) - 1:
        return at
    three = points[k - 1 : k + 2]
    x = [log(float(p.load_resistance or 1.0)) for p in three]
    curve = np.polyfit(x, [p.power for p in three], 2)
    return float(np.exp(-curve[1] / (2 * curve[0]))) if curve[0] < 0 else at


def _stress(name: str, arrangement: Arrangement, states: list[Steady]) -> TransformerStress:
    joint_of = {t: joint for joint, terminals in arrangement.joints.items() for t in terminals}
    core, start, finish, first, last = (
        joint_of.get(t, t)
        for t in (
            f"{name}.core",
            f"{name}.high_start",
            f"{name}.high_finish",
            f"{name}.primary_start",
            f"{name}.primary_finish",
        )
    )
    at_core = potential(states, core, core)
    across = [rms(s.voltage(h, p)) for s in states for h in (start, finish) for p in (first, last)]
    return TransformerStress(
        at_core.to_earth,
        at_core.to_earth_peak,
        max(rms(s.voltage(p, core)) for s in states for p in (first, last)),
        max(across),
        potential(states, start, core),
        potential(states, finish, core),
    )


def _loss(name: str, circuits: Mapping[str, PartCircuit], state: Steady) -> float:
    """Return the heat in one part [W]: copper and core."""
    circuit = circuit_of(name, circuits)
    network = state.network
    if isinstance(circuit, TransformerCircuit):
        copper = sum(
            w.resistance * rms(state.current(w.name)) ** 2
            for w in network.windings
            if w.name.startswith((f"{name}.primary", f"{name}.high", f"{name}.heater"))
        )
        core = sum(
            rms(state.voltage(c.a, c.b)) ** 2 / c.resistance
            for c in network.conductances
            if c.name.startswith(f"{name}:") and c.name.endswith(" loss")
        )
        return copper + core
    if isinstance(circuit, ChokeCircuit):
        loss = circuit.resistance * rms(state.current(name)) ** 2
        return loss + sum(
            rms(state.voltage(c.a, c.b)) ** 2 / c.resistance for c in network.conductances if c.name == f"{name}:loss"
        )
    if isinstance(circuit, CapacitorCircuit):
        if state.equations.index.get(f"element:{name}") is None:
            return 0.0
        heat = circuit.series_resistance * rms(state.current(name)) ** 2
        return heat + sum(
            rms(state.voltage(c.a, c.b)) ** 2 / c.resistance
            for c in network.conductances
            if c.name == f"{name}:bleeder"
        )
    if isinstance(circuit, ResistorCircuit):
        return circuit.resistance * rms(state.current(name)) ** 2
    winding = next(w for w in network.windings if w.name == name)
    return winding.resistance * rms(state.current(name)) ** 2


def balance_error(state: Steady) -> float:
    """Return the mismatch of mean power, relative to what the sources give: their work against every resistance's
    heat.
    """
    network = state.network
    given = sum(power(_emf(state, s.name), state.current(s.name)) for s in network.sources)
    heat = sum(s.resistance * rms(state.current(s.name)) ** 2 for s in network.sources)
    heat += sum(b.resistance * rms(state.current(b.name)) ** 2 for b in network.branches)
    heat += sum(w.resistance * rms(state.current(w.name)) ** 2 for w in network.windings)
    heat += sum(rms(state.voltage(c.a, c.b)) ** 2 / c.resistance for c in network.conductances)
    return abs(given - heat) / max(abs(given), heat, 1e-12)


def _emf(state: Steady, name: str) -> Complex:
    source = next(s for s in state.network.sources if s.name == name)
    out = np.zeros(state.harmonics.size, dtype=complex)
    out[0] = source.peak
    return out
