"""What an arrangement is made of, read off its joints: which windings are high, in parallel, in series."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import inf

from coilwright.model.design import Arrangement, Design
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.protection.body import TOUCH_LIMIT_RMS
from coilwright.supply.build import part_of
from coilwright.supply.circuits import PartCircuit, TransformerCircuit
from coilwright.supply.network import groups

MAINS_POLES = ("mains.line", "mains.neutral", "mains.line_2")

Part = Transformer | Choke | Capacitor | Resistor | Variable
Link = tuple[str, str]


@dataclass(frozen=True)
class Wired:
    """An arrangement with its parts at hand. ``joint_of`` maps each wired terminal to its joint.

    ``volts`` are what each transformer's second winding shows on this mains, by part: the larger of plate and ratio.
    """

    arrangement: Arrangement
    parts: Mapping[str, Part]  # by id
    joint_of: Mapping[str, str]
    tied: Mapping[str, str]  # transformer id -> start | finish | tap | none, as the circuit has it
    volts: Mapping[str, float] = field(default_factory=dict)  # by part id, V rms; absent: not known

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

    @property
    def earth(self) -> str:
        """Return the joint of the protective conductor, or its terminal's name where nothing is joined to it."""
        return self.node("mains.earth")

    @property
    def poles(self) -> frozenset[str]:
        """Return the joints that hold a mains pole."""
        return frozenset(self.joint_of[p] for p in MAINS_POLES if p in self.joint_of)

    def kept_tie(self, name: str) -> str:
        """Return which end of the high winding is on the core as wired: start, finish, tap or none."""
        return "none" if name in self.arrangement.lifted else self.tied.get(name, "none")

    def high_ends(self, name: str) -> tuple[str, str]:
        """Return the nodes of the start and finish of a high winding, a kept tie counted as its core."""
        core, kept = self.node(f"{name}.core"), self.kept_tie(name)
        start = core if kept == "start" else self.node(f"{name}.high_start")
        finish = core if kept == "finish" else self.node(f"{name}.high_finish")
        return start, finish

    def primary_ends(self, name: str) -> tuple[str, str]:
        """Return the nodes of the start and finish of a primary."""
        return self.node(f"{name}.primary_start"), self.node(f"{name}.primary_finish")

    def shorted(self, name: str) -> bool:
        """Return whether the high winding is short-circuited, so that the unit serves as a choke."""
        start, finish = self.high_ends(name)
        return start == finish

    def is_live(self, name: str) -> bool:
        """Return whether the second winding shows more than the touch limit: by its volts, whatever the kind of part.

        One of which nothing is known counts as live. A shorted winding does not.
        """
        part = self.part(name)
        if not isinstance(part, Transformer) or self.shorted(name):
            return False
        return self.volts.get(part.id, inf) > TOUCH_LIMIT_RMS

    def live_units(self) -> tuple[str, ...]:
        """Return the transformers whose second winding is above the touch limit, in use or hanging free."""
        return tuple(n for n in self.of(Transformer) if self.is_live(n))

    @cached_property
    def front_units(self) -> frozenset[str]:
        """Return the transformers that stand before the others: both ends of the second winding go to primaries.

        One that shares a joint with a mains pole there separates nothing and does not count.
        """
        root = groups(two_ended(self), self.arrangement.joints)
        poles = {root[p] for p in self.poles}
        found = set()
        for name in self.of(Transformer):
            ends = {root.get(e, e) for e in self.high_ends(name)}
            fed = {root.get(e, e) for n in self.of(Transformer) if n != name for e in self.primary_ends(n)}
            if self.earth not in ends and len(ends) > 1 and ends <= fed and not ends & poles:
                found.add(name)
        return frozenset(found)

    def is_high(self, name: str) -> bool:
        """Return whether the second winding is a high one in use: live, wired, and not feeding other primaries."""
        wired_end = any(f"{name}.high_{end}" in self.joint_of for end in ("start", "finish", "tap"))
        return wired_end and self.is_live(name) and name not in self.front_units

    def high_units(self) -> tuple[str, ...]:
        """Return the transformers whose high winding feeds the output."""
        return tuple(n for n in self.of(Transformer) if self.is_high(n))


def wired(
    arrangement: Arrangement, design: Design, tied: Mapping[str, str], ratios: Mapping[str, float] | None = None
) -> Wired:
    """Return the arrangement with the design's parts beside it. ``ratios`` are turns of the second winding over the
    first, by part, as fitted.
    """
    joint_of = {t: joint for joint, terminals in arrangement.joints.items() for t in terminals}
    volts = {}
    for t in design.transformers:
        found = [t.plate_secondary.value] if t.plate_secondary else []
        if ratios and t.id in ratios:
            found.append(ratios[t.id] * design.site.mains_voltage.value)
        if found:
            volts[t.id] = max(found)
    return Wired(arrangement, {p.id: p for p in design.shelf()}, joint_of, tied, volts)


def wired_with(arrangement: Arrangement, design: Design, circuits: Mapping[str, PartCircuit]) -> Wired:
    """Return the arrangement with the design's parts beside it, ties and ratios as the circuits have them."""
    found = {n: c for n, c in circuits.items() if isinstance(c, TransformerCircuit)}
    ties, ratios = {n: c.tied for n, c in found.items()}, {n: c.ratio for n, c in found.items()}
    return wired(arrangement, design, ties, ratios)


def two_ended(w: Wired) -> tuple[Link, ...]:
    """Return the pairs of joints that a two-ended part joins: choke, resistor, capacitor, the primary of a shorted
    unit, a variable transformer. Nothing is followed over the protective conductor.
    """
    links: list[Link] = []
    for name in w.instances:
        part = w.part(name)
        if isinstance(part, Variable):
            links += [(w.node(f"{name}.{t}"), w.node(f"{name}.common")) for t in ("line", "wiper")]
        elif not isinstance(part, Transformer):
            links.append((w.node(f"{name}.a"), w.node(f"{name}.b")))
        elif w.shorted(name):
            links.append(w.primary_ends(name))
    return tuple(link for link in links if w.earth not in link)


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
    """Return the centre-tapped units that share one end with another tapped unit without lying parallel to it.

    A choke, resistor or capacitor between the two ends parts nothing.
    """
    tapped = [n for n in w.high_units() if w.tied.get(n) == "tap"]
    root = groups(two_ended(w), w.arrangement.joints)
    found = set()
    for name in tapped:
        for other in tapped:
            plain = frozenset(w.high_ends(name)), frozenset(w.high_ends(other))
            through = [frozenset(root.get(e, e) for e in ends) for ends in plain]
            if other != name and any(a != b and a & b for a, b in (plain, through)):
                found.add(name)
    return tuple(n for n in tapped if n in found)


def is_earthed(w: Wired, name: str) -> bool:
    """Return whether a core is joined to the protective conductor."""
    return "mains.earth" in w.joint_of and w.node(f"{name}.core") == w.joint_of["mains.earth"]
