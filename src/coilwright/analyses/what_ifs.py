"""What a person or the house would meet: a body at one end, a core off earth, a broken protective conductor. Solved,
not guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from coilwright.analyses.topology import Wired
from coilwright.errors import SolverError
from coilwright.model.design import Arrangement
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.network import EARTH, Branch, Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, rms, solve_network, solve_networks

#: Body resistance at kilovolts, hand to hand: the asymptote for large contact and the usual design figure [ohm]. IEC
#: TS 60479-1
#: Table 1, from memory.
BODY_LOW, BODY_USUAL = 575.0, 1000.0
ARC_RESISTANCE = 10.0


@dataclass(frozen=True)
class Touch:
    """A body between one joint and earth [A rms, V rms]."""

    joint: str
    voltage: float
    current_575: float
    current_1000: float
    residual: float


@dataclass(frozen=True)
class Loose:
    """A core that has lost its earth: its potential, and the current through 1 kohm [V, A rms]."""

    core: str
    voltage: float
    current: float


def _bridged(network: Network, a: str, b: str, resistance: float) -> Network:
    return replace(network, branches=(*network.branches, Branch("body", a, b, resistance)))


def touch(network: Network, joint: str) -> Touch | None:
    """Return what flows through a body between the joint and earth, the supply open; None where it does not
    converge.
    """
    bridged = [_bridged(network, joint, EARTH, r) for r in (BODY_LOW, BODY_USUAL)]
    low, usual = solve_networks(bridged)
    if low is None or usual is None:
        return None
    return Touch(
        joint,
        rms(usual.potential(joint)),
        rms(low.current("body")),
        rms(usual.current("body")),
        operating(low, None).residual_current,
    )


def loose_core(w: Wired, name: str, circuits: Mapping[str, PartCircuit], mains: MainsCircuit) -> Loose | None:
    """Return what the core of one unit shows when its joint to the others comes off; None where that does not
    converge.
    """
    terminal = f"{name}.core"
    joints = {j: tuple(t for t in ts if t != terminal) for j, ts in w.arrangement.joints.items()}
    apart = replace(w.arrangement, joints={**{j: ts for j, ts in joints.items() if ts}, "loose core": (terminal,)})
    try:
        network = build(apart, circuits, mains)
        free = solve_network(network)
        body = solve_network(_bridged(network, "loose core", EARTH, BODY_USUAL))
    except SolverError:
        return None
    return Loose(name, rms(free.potential("loose core")), rms(body.current("body")))


def lost_conductor(
    arrangement: Arrangement, circuits: Mapping[str, PartCircuit], mains: MainsCircuit, hot: str
) -> tuple[float, float] | None:
    """Return volts of all bonded metal to earth, and the current through a body on it, with the protective conductor
    broken.

    One output end arcs to earth meanwhile. None where there is no protective conductor or nothing converged.
    """
    earth = next((j for j, ts in arrangement.joints.items() if "mains.earth" in ts), None)
    if earth is None or earth == hot:
        return None
    joints = {j: tuple(t for t in ts if t != "mains.earth") for j, ts in arrangement.joints.items()}
    if not joints[earth]:
        return None
    network = build(replace(arrangement, joints=joints), circuits, mains)
    arcing = replace(network, branches=(*network.branches, Branch("arc", hot, EARTH, ARC_RESISTANCE)))
    states: list[Steady | None] = [None, None]
    try:
        states = [solve_network(arcing), solve_network(_bridged(arcing, earth, EARTH, BODY_USUAL))]
    except SolverError:
        return None
    free, body = states
    if free is None or body is None:
        return None
    return rms(free.potential(earth)), rms(body.current("body"))
