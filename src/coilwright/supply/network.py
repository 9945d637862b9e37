"""A network of primitive elements between named nodes. It knows nothing of transformers: ``build`` makes it of parts.

Every nonlinear element is a port carrying the saturating part of one iron path; everything else is linear. The node
``EARTH`` is the reference. Windings are ideal couplings with a series impedance::

    V_a - V_b - (R + s L) I = ratio (V_c - V_d),      ratio I is injected at c and drawn from d
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from coilwright.magnetics.iron import Iron

EARTH = "0"


@dataclass(frozen=True)
class Branch:
    """A series resistance and inductance from ``a`` to ``b`` [ohm, H]; its current counts from a to b. Both may be
    0.
    """

    name: str
    a: str
    b: str
    resistance: float = 0.0
    inductance: float = 0.0


@dataclass(frozen=True)
class Conductance:
    """A resistance between two nodes whose current nobody asks for [ohm]."""

    name: str
    a: str
    b: str
    resistance: float


@dataclass(frozen=True)
class Capacitance:
    """A capacitance between two nodes [F]."""

    name: str
    a: str
    b: str
    capacitance: float


@dataclass(frozen=True)
class Source:
    """An ideal sine source, ``a`` positive, with a series impedance; ``peak`` is its complex amplitude [V].

    Its current counts out of ``a`` into the network.
    """

    name: str
    a: str
    b: str
    peak: complex
    resistance: float
    inductance: float


@dataclass(frozen=True)
class Winding:
    """An ideal coupling with series impedance; see the module text. Its current counts from a through the winding to
    b.
    """

    name: str
    a: str
    b: str
    c: str
    d: str
    ratio: float
    resistance: float
    inductance: float = 0.0


@dataclass(frozen=True)
class Port:
    """An iron path between two nodes; the current through it is ``iron.current(flux linkage)``."""

    name: str
    a: str
    b: str
    iron: Iron


@dataclass(frozen=True)
class Network:
    """All elements; ``frequency`` in Hz. ``output`` is the pair of nodes that feed the tank, or None."""

    frequency: float
    branches: tuple[Branch, ...] = ()
    conductances: tuple[Conductance, ...] = ()
    capacitances: tuple[Capacitance, ...] = ()
    sources: tuple[Source, ...] = ()
    windings: tuple[Winding, ...] = ()
    ports: tuple[Port, ...] = ()
    output: tuple[str, str] | None = None

    def elements(self) -> Iterable[Branch | Conductance | Capacitance | Source | Winding | Port]:
        """Yield every element."""
        yield from self.branches
        yield from self.conductances
        yield from self.capacitances
        yield from self.sources
        yield from self.windings
        yield from self.ports

    def nodes(self) -> list[str]:
        """Return every node but the reference, in order of first mention."""
        seen: dict[str, None] = {}
        for element in self.elements():
            seen.setdefault(element.a)
            seen.setdefault(element.b)
            if isinstance(element, Winding):
                seen.setdefault(element.c)
                seen.setdefault(element.d)
        seen.pop(EARTH, None)
        return list(seen)

    def with_load(self, resistance: float, name: str = "load") -> Network:
        """Return the network with a resistance across its output [ohm]; 0 is a short circuit."""
        if self.output is None:
            raise ValueError("this network names no output, so no load can be put across it")
        a, b = self.output
        return replace(self, branches=(*self.branches, Branch(name, a, b, resistance)))

    def with_capacitor(self, capacitance: float, name: str = "tank") -> Network:
        """Return the network with a capacitance across its output [F]."""
        if self.output is None:
            raise ValueError("this network names no output, so no tank can be put across it")
        a, b = self.output
        return replace(self, capacitances=(*self.capacitances, Capacitance(name, a, b, capacitance)))

    def islands(self) -> list[set[str]]:
        """Return the groups of nodes that nothing joins to the reference; their potential is not determined."""
        parent: dict[str, str] = {EARTH: EARTH}

        def root(node: str) -> str:
            parent.setdefault(node, node)
            while parent[node] != node:
                parent[node] = parent[parent[node]]
                node = parent[node]
            return node

        for element in self.elements():
            parent[root(element.a)] = root(element.b)
            if isinstance(element, Winding):
                parent[root(element.c)] = root(element.d)
        groups: dict[str, set[str]] = {}
        for node in self.nodes():
            groups.setdefault(root(node), set()).add(node)
        groups.pop(root(EARTH), None)
        return list(groups.values())
