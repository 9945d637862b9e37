"""The two sides of an arrangement: what belongs to the mains, what is joined to it that should not be, what limits."""

from __future__ import annotations

from collections.abc import Iterable

from coilwright.analyses.topology import Link, Wired, two_ended
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.supply.network import groups

#: Kinds whose own magnetic shunts limit the current, while these are as built.
SELF_LIMITING = ("sign", "ignition")


def _high_nodes(w: Wired) -> frozenset[str]:
    """Return the nodes on which a high winding ends and which are neither a mains pole nor a primary's."""
    ends = {e for n in w.high_units() for e in (*w.high_ends(n), w.node(f"{n}.core"), w.node(f"{n}.high_tap"))}
    primaries = {e for n in w.of(Transformer) for e in w.primary_ends(n)}
    return frozenset(ends - primaries - w.poles)


def _reached(w: Wired, seeds: Iterable[str], links: Iterable[Link]) -> frozenset[str]:
    """Return the nodes that the links join to the seeds, stopping at the high windings and at the protective
    conductor.
    """
    stops = _high_nodes(w) | {w.earth}
    open_links = [link for link in links if not stops & set(link)]
    seeds = set(seeds) - {w.earth}
    root = groups(open_links, seeds)
    return frozenset(n for n in root if root[n] in {root[s] for s in seeds})


def _primaries(w: Wired) -> list[Link]:
    return [w.primary_ends(n) for n in w.of(Transformer)]


def mains_side(w: Wired) -> frozenset[str]:
    """Return the joints that are the mains itself: galvanically joined to a pole, not through a high winding."""
    return _reached(w, w.poles, [*two_ended(w), *_primaries(w)])


def low_side(w: Wired) -> frozenset[str]:
    """Return the joints of the mains and of every primary, those behind a separating transformer counted in."""
    fronts = [w.high_ends(n) for n in sorted(w.front_units)]
    ends = {e for pair in _primaries(w) for e in pair}
    return _reached(w, w.poles | ends, [*two_ended(w), *_primaries(w), *fronts])


def mains_in_series(w: Wired) -> bool:
    """Return whether a mains pole lies in the high-voltage circuit.

    Joints are followed through high windings, kept ties and every two-ended part (choke, resistor, capacitor, variable
    transformer, shorted unit), not through the primaries of the high units and not over the protective conductor.
    """
    root = groups([*two_ended(w), *_high_links(w)], w.arrangement.joints)
    touched = {root[e] for n in w.high_units() for e in w.high_ends(n) if e in root and e != w.earth}
    return bool(touched & {root[p] for p in w.poles})


def _high_links(w: Wired) -> list[Link]:
    links = []
    for name in w.live_units():
        start, finish = w.high_ends(name)
        links.append((start, finish))
        if w.kept_tie(name) == "tap":
            links.append((start, w.node(f"{name}.core")))
        elif f"{name}.high_tap" in w.joint_of:
            links.append((start, w.node(f"{name}.high_tap")))
    return [link for link in links if w.earth not in link]


def floating_pairs(w: Wired) -> tuple[Link, ...]:
    """Return the pairs of places across which a body from hand to hand meets a winding that has no galvanic way to
    earth or to a mains pole: the output, and both ends of every live winding that is not on it.
    """
    links = [(w.node(f"{n}.a"), w.node(f"{n}.b")) for n in (*w.of(Choke), *w.of(Resistor))]
    for name in w.live_units():
        start, finish = w.high_ends(name)
        middle = w.node(f"{name}.core") if w.kept_tie(name) == "tap" else w.node(f"{name}.high_tap")
        links += [(start, finish), (start, middle)]
    root = groups(links, [*w.arrangement.joints, w.earth])
    held = {root[n] for n in (*w.poles, w.earth)}
    first, last = w.arrangement.output
    on_output = {root[first], root[last]}
    idle = [w.high_ends(n) for n in w.live_units() if n not in w.front_units]
    pairs = [] if on_output & held else [(first, last)]
    pairs += [ends for ends in idle if root[ends[0]] not in on_output | held]
    return tuple({frozenset(pair): pair for pair in pairs}.values())


def behind_ballast(w: Wired, instance: str) -> bool:
    """Return whether a capacitor lies on the load side of a ballast: one of its joints holds no mains pole."""
    front = {w.node(f"{v}.{t}") for v in w.of(Variable) for t in ("wiper", "common")}
    return any(w.node(f"{instance}.{end}") not in w.poles | front for end in ("a", "b"))


def correction_capacitors(w: Wired) -> frozenset[str]:
    """Return the capacitors that stand on the mains side with both ends, whatever use the file states for them."""
    low = low_side(w)
    found = set()
    for name in w.of(Capacitor):
        a, b = w.node(f"{name}.a"), w.node(f"{name}.b")
        if a != b and a in low and b in low:
            found.add(name)
    return frozenset(found)


def high_capacitor(w: Wired, instance: str) -> bool:
    """Return whether one end of a capacitor lies on a high winding."""
    return bool(_high_nodes(w) & {w.node(f"{instance}.a"), w.node(f"{instance}.b")} - {w.earth})


def ballast_elements(w: Wired) -> tuple[tuple[str, str, str], ...]:
    """Return what may limit the current as (instance, one end, other end): chokes, resistors, units with a shorted
    high winding.
    """
    out = [(n, w.node(f"{n}.a"), w.node(f"{n}.b")) for n in (*w.of(Choke), *w.of(Resistor))]
    out += [(n, *w.primary_ends(n)) for n in w.of(Transformer) if w.shorted(n)]
    return tuple(e for e in out if e[1] != e[2])


def self_limiting(w: Wired) -> bool:
    """Return whether every unit that feeds the output limits its own current, with its shunts as built."""
    units = [w.part(n) for n in w.high_units()]
    return bool(units) and all(
        isinstance(u, Transformer) and u.kind in SELF_LIMITING and u.shunts == "as built" for u in units
    )


def touched_shunts(w: Wired) -> tuple[str, ...]:
    """Return the units that feed the output with shunts that are no longer as built."""
    return tuple(n for n in w.high_units() if isinstance(p := w.part(n), Transformer) and p.shunts != "as built")
