"""What an arrangement is made of, read off its joints: which windings lie in parallel, in series, or on the mains."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from coilwright.model.design import Arrangement, Design
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.supply.build import part_of

MAINS_POLES = ("mains.line", "mains.neutral", "mains.line_2")
#: Kinds whose second winding is not a high-voltage one.
LOW_KINDS = ("isolation", "lamp autotransformer")

Part = Transformer | Choke | Capacitor | Resistor | Variable


@dataclass(frozen=True)
class Wired:
    """An arrangement with its parts at hand. ``joint_of`` maps each wired terminal to its joint."""

    arrangement: Arrangement
    parts: Mapping[str, Part]  # by id
    joint_of: Mapping[str, str]
    tied: Mapping[str, str]  # transformer id -> start | finish | tap | none, as the circuit has it

    @property
    def instances(self) -> tuple[str, ...]:
        """Return the wired instances in order of the joints, the mains left out."""
        return tuple(dict.fromkeys(part_of(t)[0] for t in self.joint_of if not t.startswith("mains.")))

    def part(self, instance: str) -> Part:
        """Return the part of an instance (``C3.1`` is an instance of ``C3``)."""
        return self.parts[instance] if instance in self.parts else self.parts[instance.rpartition(".")[0]]

    def of(self, kind: type) -> tuple[str, ...]:
        """Return the wired instances of one class of part."""
        return tuple(n for n in self.instances if isinstance(self.part(n), kind))

    def node(self, terminal: str) -> str:
        """Return the joint of a terminal, or its own name where it hangs free."""
        return self.joint_of.get(terminal, terminal)

    def kept_tie(self, name: str) -> str:
        """Return which end of the high winding is on the core as wired: start, finish, tap or none."""
        return "none" if name in self.arrangement.lifted else self.tied.get(name, "none")

    def high_ends(self, name: str) -> tuple[str, str]:
        """Return the nodes of the start and finish of a high winding, a kept tie counted as its core."""
        core, kept = self.node(f"{name}.core"), self.kept_tie(name)
        start = core if kept == "start" else self.node(f"{name}.high_start")
        finish = core if kept == "finish" else self.node(f"{name}.high_finish")
        return start, finish

    def is_high(self, name: str) -> bool:
        """Return whether the instance is a transformer with a high-voltage winding that is in use."""
        part = self.part(name)
        if not isinstance(part, Transformer) or part.kind in LOW_KINDS:
            return False
        return any(f"{name}.high_{end}" in self.joint_of for end in ("start", "finish", "tap")) and not self.shorted(
            name
        )

    def shorted(self, name: str) -> bool:
        """Return whether the high winding is short-circuited, so that the unit serves as a choke."""
        start, finish = self.high_ends(name)
        return start == finish

    def high_units(self) -> tuple[str, ...]:
        """Return the transformers whose high winding feeds the output."""
        return tuple(n for n in self.of(Transformer) if self.is_high(n))


def wired(arrangement: Arrangement, design: Design, tied: Mapping[str, str]) -> Wired:
    """Return the arrangement with the design's parts beside it."""
    joint_of = {t: joint for joint, terminals in arrangement.joints.items() for t in terminals}
    return Wired(arrangement, {p.id: p for p in design.shelf()}, joint_of, tied)


def groups(pairs: Iterable[tuple[str, str]], nodes: Iterable[str]) -> dict[str, str]:
    """Return a representative for each node after joining the pairs."""
    parent = {n: n for n in nodes}

    def root(n: str) -> str:
        parent.setdefault(n, n)
        while parent[n] != n:
            n = parent[n]
        return n

    for a, b in pairs:
        parent[root(a)] = root(b)
    return {n: root(n) for n in list(parent)}


def parallel_groups(w: Wired) -> tuple[tuple[str, ...], ...]:
    """Return the sets of two or more high windings that lie across the same two nodes."""
    by_ends: dict[frozenset[str], list[str]] = {}
    for name in w.high_units():
        by_ends.setdefault(frozenset(w.high_ends(name)), []).append(name)
    return tuple(tuple(names) for names in by_ends.values() if len(names) > 1)


def in_series(w: Wired) -> bool:
    """Return whether high windings stand in series or about a midpoint, so that their senses matter."""
    return len({frozenset(w.high_ends(n)) for n in w.high_units()}) > 1


def tapped_in_series(w: Wired) -> tuple[str, ...]:
    """Return the centre-tapped units that share one end with another tapped unit without lying parallel to it."""
    tapped = [n for n in w.high_units() if w.tied.get(n) == "tap"]
    found = []
    for name in tapped:
        ends = frozenset(w.high_ends(name))
        for other in tapped:
            ends_of_other = frozenset(w.high_ends(other))
            if other != name and ends != ends_of_other and ends & ends_of_other:
                found.append(name)
                break
    return tuple(found)


def mains_in_series(w: Wired) -> bool:
    """Return whether a mains pole lies in the high-voltage circuit.

    Joints are followed through high windings, kept ties and every two-ended part on the high side, not through
    primaries and not over the protective conductor.
    """
    high = w.high_units()
    links: list[tuple[str, str]] = []
    for name in high:
        start, finish = w.high_ends(name)
        links.append((start, finish))
        if w.kept_tie(name) == "tap":
            links.append((start, w.node(f"{name}.core")))
    root = groups(links, w.arrangement.joints)
    touched = {root[end] for name in high for end in w.high_ends(name) if end in root}
    poles = {root[w.joint_of[p]] for p in MAINS_POLES if p in w.joint_of}
    return bool(touched & poles)


def behind_ballast(w: Wired, instance: str) -> bool:
    """Return whether a capacitor lies on the load side of a ballast: one of its joints holds no mains pole."""
    with_poles = {w.joint_of[p] for p in MAINS_POLES if p in w.joint_of}
    front = {w.node(f"{v}.wiper") for v in w.of(Variable)} | {w.node(f"{v}.common") for v in w.of(Variable)}
    return any(w.node(f"{instance}.{end}") not in with_poles | front for end in ("a", "b"))


def has_ballast(w: Wired) -> bool:
    """Return whether anything limits the current: a choke, a resistor, a shorted transformer, or only self-limiting
    units.
    """
    if w.of(Choke) or w.of(Resistor):
        return True
    if any(w.shorted(n) for n in w.of(Transformer)):
        return True
    units = [w.part(n) for n in w.high_units()]
    return bool(units) and all(
        isinstance(u, Transformer) and u.kind in {"sign", "ignition"} and u.shunts != "removed" for u in units
    )


def correction_capacitors(w: Wired) -> frozenset[str]:
    """Return the instances of power-factor capacitors."""
    found = set()
    for name in w.of(Capacitor):
        part = w.part(name)
        if isinstance(part, Capacitor) and part.use == "power factor":
            found.add(name)
    return frozenset(found)


def is_earthed(w: Wired, name: str) -> bool:
    """Return whether a core is joined to the protective conductor."""
    return "mains.earth" in w.joint_of and w.node(f"{name}.core") == w.joint_of["mains.earth"]
