"""What a person or the house would meet: a body at a live place, a core off earth, a broken protective conductor, a
short that opens, a ballast bridged. Solved, not guessed, and always the worst of output open, best power and shorted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from coilwright.analyses.sides import ballast_elements
from coilwright.analyses.topology import Wired
from coilwright.errors import SolverError
from coilwright.model.design import Arrangement
from coilwright.protection.body import BODY_RESISTANCES
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.network import EARTH, Branch, Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, rms, solve_networks

BODY_LOW, BODY_USUAL = BODY_RESISTANCES
ARC_RESISTANCE = 10.0
#: What stands for a bolted joint across a part [ohm].
BRIDGE_RESISTANCE = 1e-3

Circuits = Mapping[str, PartCircuit]


@dataclass(frozen=True)
class Touch:
    """A body between one place and earth, or across the output (``across``) [A rms, V rms].

    ``voltage`` is what stands there before it is touched, NaN where that is not known. The currents are those of the
    worst load, ``load``. ``metal``: a core or the earth joint, which a hand takes for earthed.
    """

    where: str
    voltage: float
    current_575: float
    current_1000: float
    residual: float
    load: str
    across: bool = False
    metal: bool = False

    @property
    def current(self) -> float:
        """Return the larger of the two currents [A rms]."""
        return max(self.current_575, self.current_1000)


@dataclass(frozen=True)
class Worst:
    """The highest potential and the highest current through 1 kohm, each with the load at which it stands [V, A rms].

    ``unsolved`` names loads without a converged answer; the numbers are None where none converged.
    """

    voltage: float | None = None
    voltage_load: str = ""
    current: float | None = None
    current_load: str = ""
    unsolved: tuple[str, ...] = ()


def loaded(network: Network, best: float | None) -> dict[str, Network]:
    """Return the network with its output open, at best power [ohm] and shorted, by the words for it."""
    out = {"output open": network}
    if best:
        out["best power"] = network.with_load(best)
    return {**out, "output shorted": network.with_load(0.0)}


def solved(networks: Sequence[Network]) -> list[Steady | None]:
    """Return the steady state of each network, None where there is none."""
    try:
        return solve_networks(networks)
    except SolverError:
        return [None] * len(networks)


def _bridged(network: Network, a: str, b: str, resistance: float, name: str = "body") -> Network:
    return replace(network, branches=(*network.branches, Branch(name, a, b, resistance)))


def touches(
    network: Network,
    best: float | None,
    places: Mapping[str, float],
    across: Mapping[tuple[str, str], float] | None = None,
) -> tuple[tuple[Touch, ...], tuple[str, ...]]:
    """Return what flows through a body at each place, and the names of those without a converged answer.

    ``places`` are nodes with their volts to earth before anyone touches them [V rms]; ``across`` are pairs of nodes
    with the volts between them, for a body from hand to hand.
    """
    asked = [(node, node, EARTH, volts) for node, volts in places.items()]
    asked += [(f"{a} to {b}", a, b, volts) for (a, b), volts in (across or {}).items()]
    loads = loaded(network, best)
    bodies = [_bridged(n, a, b, r) for _, a, b, _ in asked for n in loads.values() for r in (BODY_LOW, BODY_USUAL)]
    states = iter(solved(bodies) if bodies else [])
    found, missing = [], []
    for where, _, b, volts in asked:
        good = []
        for load in loads:
            low, usual = next(states), next(states)
            if low is None or usual is None:
                missing.append(f"body at {where}, {load}")
                continue
            amps = rms(low.current("body")), rms(usual.current("body"))
            good.append(Touch(where, volts, *amps, operating(low, None).residual_current, load, b != EARTH))
        found += [max(good, key=lambda t: t.current)] if good else []
    return tuple(found), tuple(missing)


def _worst(network: Network, best: float | None, node: str, what: str, change: Callable[[Network], Network]) -> Worst:
    """Return the worst at a node over the loads, the node left alone and with a body on it."""
    loads = {load: change(n) for load, n in loaded(network, best).items()}
    free = solved(list(loads.values()))
    body = solved([_bridged(n, node, EARTH, BODY_USUAL) for n in loads.values()])
    volts = [(rms(s.potential(node)), load) for load, s in zip(loads, free, strict=True) if s is not None]
    amps = [(rms(s.current("body")), load) for load, s in zip(loads, body, strict=True) if s is not None]
    voltage, at = max(volts, default=(None, ""))
    current, by = max(amps, default=(None, ""))
    missing = [load for load, f, b in zip(loads, free, body, strict=True) if f is None or b is None]
    return Worst(voltage, at, current, by, tuple(f"{what}, {load}" for load in missing))


def loose_core(w: Wired, name: str, circuits: Circuits, mains: MainsCircuit, best: float | None) -> Worst:
    """Return what the core of one unit shows when its joint to the others comes off."""
    terminal, apart = f"{name}.core", "loose core"
    joints = {j: tuple(t for t in ts if t != terminal) for j, ts in w.arrangement.joints.items()}
    parted = replace(w.arrangement, joints={**{j: ts for j, ts in joints.items() if ts}, apart: (terminal,)})
    output = tuple(j if j in parted.joints else apart for j in w.arrangement.output)  # a core alone on an output joint
    parted = replace(parted, output=(output[0], output[1]))
    return _worst(build(parted, circuits, mains), best, apart, f"core of {name} off earth", lambda n: n)


def lost_conductor(
    arrangement: Arrangement, circuits: Circuits, mains: MainsCircuit, hot: Sequence[str], best: float | None
) -> Worst | None:
    """Return what all bonded metal shows with the protective conductor broken while an output end arcs to earth, the
    worst of the ends. None where there is no protective conductor or nothing is bonded to it.
    """
    earth = next((j for j, ts in arrangement.joints.items() if "mains.earth" in ts), None)
    if earth is None or not [j for j in hot if j != earth]:
        return None
    joints = {j: tuple(t for t in ts if t != "mains.earth") for j, ts in arrangement.joints.items()}
    if not joints[earth]:
        return None
    network = build(replace(arrangement, joints=joints), circuits, mains)
    found = [
        _worst(
            network,
            best,
            earth,
            f"protective conductor broken, {end} arcing to earth",
            lambda n, end=end: _bridged(n, end, EARTH, ARC_RESISTANCE, "arc"),  # type: ignore[misc]
        )
        for end in hot
        if end != earth
    ]
    return worst_of(found)


def worst_of(found: Sequence[Worst]) -> Worst:
    """Return the highest volts and the highest current of several, with everything that none of them could solve."""
    by_volts = max(found, key=lambda x: x.voltage or 0.0)
    by_amps = max(found, key=lambda x: x.current or 0.0)
    missing = tuple(dict.fromkeys(m for x in found for m in x.unsolved))
    return Worst(by_volts.voltage, by_volts.voltage_load, by_amps.current, by_amps.current_load, missing)


def opened_short(w: Wired, name: str, circuits: Circuits, mains: MainsCircuit, best: float | None) -> Worst:
    """Return what the shorted high winding of a unit that serves as a choke shows when the bolted short opens: the
    worst volts between one of its ends and the joint that it came off.
    """
    kept, found = w.kept_tie(name), []
    for end in ("start", "finish"):
        terminal, what = f"{name}.high_{end}", f"short of {name}.high opened at {end}"
        if end == kept:
            continue
        joint = w.node(terminal)
        joints = {j: tuple(t for t in ts if t != terminal) for j, ts in w.arrangement.joints.items()}
        network = build(replace(w.arrangement, joints=joints), circuits, mains)
        loads = loaded(network, best)
        states = list(zip(loads, solved(list(loads.values())), strict=True))
        rest = joint if joints.get(joint) else w.node(f"{name}.core")
        volts = [(rms(s.voltage(terminal, rest)), load) for load, s in states if s is not None and s.has(rest)]
        voltage, at = max(volts, default=(None, ""))
        found.append(Worst(voltage, at, None, "", tuple(f"{what}, {load}" for load, s in states if s is None)))
    return worst_of(found) if found else Worst()


def ballast_effect(
    w: Wired, network: Network, short: Steady, units: Sequence[str]
) -> tuple[float | None, tuple[str, ...]]:
    """Return by what factor the primaries' current into a shorted output grows when what may limit it is bridged.

    The largest of: everything bridged, and each part bridged alone. A part that is not in series with the units
    changes nothing, or takes their current away. None where nothing may limit; the second value names what was not
    solved.
    """
    elements = ballast_elements(w)
    if not elements or not units:
        return None, ()
    base = network.with_load(0.0)
    links = tuple(Branch(f"bridge {n}", a, b, BRIDGE_RESISTANCE) for n, a, b in elements)
    sets = [links] if len(links) == 1 else [links, *((link,) for link in links)]
    names = ["ballast"] if len(links) == 1 else ["whole ballast", *(n for n, _, _ in elements)]
    states = solved([replace(base, branches=(*base.branches, *more)) for more in sets])
    as_wired = _primary_current(short, units)
    grown = [_primary_current(s, units) / as_wired for s in states if s is not None] if as_wired > 0 else []
    missing = tuple(f"{n} bridged, output shorted" for n, s in zip(names, states, strict=True) if s is None)
    return max(grown, default=None), missing


def _primary_current(state: Steady, units: Sequence[str]) -> float:
    return sum(rms(state.current(f"{n}.primary")) for n in units)
