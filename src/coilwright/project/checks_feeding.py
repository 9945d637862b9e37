"""Checks of an arrangement: does the mains feed the outputs, and every primary?

An element carries current from a source only where both lie on one loop that passes no joint twice, that is in one
biconnected part of the network. The mains is the first source; every winding of a transformer that is fed becomes
another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from coilwright.project.checks import Data, words
from coilwright.project.network import POLES, TERMINALS, WINDINGS, Network, Unit, tied_to


@dataclass(frozen=True)
class _Edge:
    """Something that conducts between two nodes. Edges of one ``source`` name feed each other."""

    one: str
    other: str
    owner: str
    source: bool


def check_fed(a: Network, joints: Data) -> None:
    """Report outputs and primaries that nothing connects with the mains, and parts that carry no current."""
    poles = [p for p in POLES if p in a.joint_of]
    if len(poles) < 2:
        has = "no terminal of the mains"
        has = f"only {poles[0]}" if poles else f"{has} but earth" if "mains.earth" in a.joint_of else has
        other = "mains.line and mains.line_2" if a.split else "mains.line and mains.neutral"
        a.findings.error(
            f"{a.where}.joint",
            f"the network floats: the joints name {has}",
            f"Bring {other} into the joints that are fed.",
        )
        return
    names = {t.rpartition(".")[0] for t in a.joint_of}
    units = [u for name, u in a.units.items() if name in names]
    mains = [_Edge(a.joint_of[p][0], a.joint_of[q][0], "mains", source=True) for p, q in combinations(poles, 2)]
    edges = [*mains, *(e for u in units for e in _edges(a, u))]
    fed = _fed(edges, {"mains"})
    outputs = [(i, name) for i, name in words(a.table, "output") if name in joints]
    _outputs(a, outputs, edges, fed)
    for unit in units:
        if unit.kind == "transformer" and unit.name not in fed:
            _floating_primary(a, unit)
    if len(outputs) == 2:
        edges.append(_Edge(outputs[0][1], outputs[1][1], "output", source=False))
    carrying = _fed(edges, {"mains"})
    for unit in units:
        if unit.kind != "transformer" and unit.name not in carrying:
            _idle(a, unit)


def _outputs(a: Network, outputs: list[tuple[int, str]], edges: list[_Edge], fed: set[str]) -> None:
    if len(outputs) != 2 or outputs[0][1] == outputs[1][1]:
        return
    load = _Edge(outputs[0][1], outputs[1][1], "output", source=False)
    if "output" in _fed([*edges, load], fed):
        return
    reached = _connected(edges, {p[0] for t, p in a.joint_of.items() if t in POLES}, fed)
    hint = "Connect a winding, whose transformer is fed, between the two ends of the output."
    lost = [(i, name) for i, name in outputs if name not in reached]
    for index, name in lost:
        message = f"the output {name} floats: no path leads from it to anything that the mains feeds"
        a.findings.error(f"{a.where}.output[{index}]", message, hint)
    if not lost:
        names = " and ".join(name for _, name in outputs)
        message = f"the output floats: nothing that the mains feeds lies between {names}"
        a.findings.error(f"{a.where}.output", message, hint)


def _floating_primary(a: Network, unit: Unit) -> None:
    ends = [f"{unit.name}.primary_start", f"{unit.name}.primary_finish"]
    away = [e for e in ends if e not in a.joint_of]
    here = next(t for t in (*ends, *a.joint_of) if t in a.joint_of and t.rpartition(".")[0] == unit.name)
    why = (
        f"{' and '.join(away)} {'is' if len(away) == 1 else 'are'} in no joint"
        if away
        else "no loop leads through it and the mains"
    )
    a.findings.error(
        a.path(here),
        f"the primary of {unit.name} floats: {why}",
        "Put both ends of the primary into joints that the mains feeds, or leave the unit out.",
    )


def _idle(a: Network, unit: Unit) -> None:
    ends = [e for e in (f"{unit.name}.{t}" for t in TERMINALS[unit.kind]) if e in a.joint_of]
    why = f"only {ends[0]} is in a joint" if len(ends) == 1 else "no loop leads through it and a source"
    a.findings.warning(
        a.path(ends[0]), f"{unit.name} carries no current: {why}", "Connect its other end, or leave it out."
    )


def _edges(a: Network, unit: Unit) -> list[_Edge]:
    """Return what a piece conducts between. A terminal in no joint is a node of its own."""

    def node(end: str) -> str:
        terminal = f"{unit.name}.{end}"
        joint = a.joint(terminal)
        return terminal if joint is None else joint

    if unit.kind == "variable":
        return [
            _Edge(node("line"), node("common"), unit.name, source=True),
            _Edge(node("wiper"), node("common"), unit.name, source=True),
        ]
    if unit.kind != "transformer":
        return [_Edge(node("a"), node("b"), unit.name, source=False)]
    windings = [(f"{w}_start", f"{w}_finish") for w in WINDINGS if w != "high"]
    windings += [("high_start", "high_tap"), ("high_tap", "high_finish")]
    edges = [_Edge(node(s), node(f), unit.name, source=True) for s, f in windings]
    # a tied end is on the core; where the file does not say which end is, one that is in no joint is taken to be
    tied = tied_to(a, unit)
    silent = "core_end" not in unit.table
    on_core = [e for e in ("high_start", "high_finish") if f"{unit.name}.{e}" not in a.joint_of] if silent else []
    on_core += [tied.rpartition(".")[2]] if tied else []
    return edges + [_Edge(node(e), node("core"), f"{unit.name} tie", source=False) for e in on_core]


def _fed(edges: list[_Edge], sources: set[str]) -> set[str]:
    """Return the owners of what is on one loop with a source; a fed owner with windings is a source in its turn."""
    fed = set(sources)
    parts = _biconnected(edges)
    grown = True
    while grown:
        grown = False
        for part in parts:
            owners = {e.owner for e in part}
            if not owners <= fed and any(e.source and e.owner in fed for e in part):
                fed |= owners
                grown = True
    return fed


def _connected(edges: list[_Edge], start: set[str], fed: set[str]) -> set[str]:
    """Return the nodes that conductors connect with the start or with a fed winding."""
    reached = start | {n for e in edges if e.source and e.owner in fed for n in (e.one, e.other)}
    grown = True
    while grown:
        new = {n for e in edges if {e.one, e.other} & reached for n in (e.one, e.other)} - reached
        reached |= new
        grown = bool(new)
    return reached


def _biconnected(edges: Sequence[_Edge]) -> list[list[_Edge]]:
    """Return the biconnected parts of the network that hold a loop (J. Hopcroft and R. Tarjan, CACM 16 (1973) 372)."""
    at: dict[str, list[int]] = {}
    for number, edge in enumerate(edges):
        if edge.one != edge.other:
            at.setdefault(edge.one, []).append(number)
            at.setdefault(edge.other, []).append(number)
    depth: dict[str, int] = {}
    low: dict[str, int] = {}
    used: set[int] = set()
    pile: list[int] = []
    parts: list[list[_Edge]] = []
    for root, first in at.items():
        if root in depth:
            continue
        depth[root] = low[root] = 0
        walk = [(root, iter(first), -1)]
        while walk:
            node, numbers, entry = walk[-1]
            number = next(numbers, -1)
            if number < 0:
                walk.pop()
                if walk:
                    parent = walk[-1][0]
                    low[parent] = min(low[parent], low[node])
                    if low[node] >= depth[parent]:
                        cut = pile.index(entry)
                        part = pile[cut:]
                        del pile[cut:]
                        if len(part) > 1:
                            parts.append([edges[n] for n in part])
                continue
            if number in used:
                continue
            used.add(number)
            pile.append(number)
            other = edges[number].other if edges[number].one == node else edges[number].one
            if other in depth:
                low[node] = min(low[node], depth[other])
            else:
                depth[other] = low[other] = depth[node] + 1
                walk.append((other, iter(at[other]), number))
    return parts
