"""A network of primitive elements between named nodes. It knows nothing of transformers: ``build`` makes it of parts.

Every nonlinear element is a port carrying the saturating part of one iron path; everything else is linear. The node
``EARTH`` is the reference. Windings are ideal couplings with a series impedance::

    V_a - V_b - (R + s L) I = ratio (V_c - V_d),      ratio I is injected at c and drawn from d
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

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
    """All elements; ``frequency`` in Hz. ``output`` is the pair of nodes that feed the tank, or None.

    ``memo`` keeps what was computed of the network. It is no part of the value: a copy made with
    ``dataclasses.replace`` begins with none.
    """

    frequency: float
    branches: tuple[Branch, ...] = ()
    conductances: tuple[Conductance, ...] = ()
    capacitances: tuple[Capacitance, ...] = ()
    sources: tuple[Source, ...] = ()
    windings: tuple[Winding, ...] = ()
    ports: tuple[Port, ...] = ()
    output: tuple[str, str] | None = None
    memo: dict[str, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

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
        known: list[str] | None = self.memo.get("nodes")
        if known is not None:
            return list(known)
        seen: dict[str, None] = {}
        for element in self.elements():
            seen[element.a] = seen[element.b] = None
            if isinstance(element, Winding):
                seen[element.c] = seen[element.d] = None
        seen.pop(EARTH, None)
        self.memo["nodes"] = known = list(seen)
        return list(known)

    @property
    def origin(self) -> tuple[Network, Branch | Capacitance] | None:
        """Return the network that this one is but for one element across its output, and that element, where known.

        What was computed of the one then serves the other.
        """
        return self.memo.get("origin")

    def with_load(self, resistance: float, name: str = "load") -> Network:
        """Return the network with a resistance across its output [ohm]; 0 is a short circuit."""
        load = Branch(name, *self._output("load"), resistance)
        return self._with(load, (*self.branches, load), self.capacitances)

    def with_capacitor(self, capacitance: float, name: str = "tank") -> Network:
        """Return the network with a capacitance across its output [F]."""
        tank = Capacitance(name, *self._output("tank"), capacitance)
        return self._with(tank, self.branches, (*self.capacitances, tank))

    def _with(
        self, element: Branch | Capacitance, branches: tuple[Branch, ...], capacitances: tuple[Capacitance, ...]
    ) -> Network:
        more = Network(
            self.frequency,
            branches,
            self.conductances,
            capacitances,
            self.sources,
            self.windings,
            self.ports,
            self.output,
        )
        more.memo["origin"] = self, element
        return more

    def _output(self, what: str) -> tuple[str, str]:
        if self.output is None:
            raise ValueError(f"this network names no output, so no {what} can be put across it")
        return self.output

    def islands(self) -> list[set[str]]:
        """Return the groups of nodes that nothing joins to the reference; their potential is not determined."""
        nodes = self.nodes()
        place = {node: k for k, node in enumerate(nodes)}
        place[EARTH] = len(nodes)
        parent = list(range(len(nodes) + 1))

        def join(a: str, b: str) -> None:
            i, j = place[a], place[b]
            while parent[i] != i:
                parent[i] = i = parent[parent[i]]
            while parent[j] != j:
                parent[j] = j = parent[parent[j]]
            if i < j:  # the reference, which has the highest place, stays the root of what it is joined to
                parent[i] = j
            else:
                parent[j] = i

        for element in self.elements():
            join(element.a, element.b)
            if isinstance(element, Winding):
                join(element.c, element.d)
        groups: dict[int, set[str]] = {}
        for k, node in enumerate(nodes):
            while parent[k] != k:
                k = parent[k]  # noqa: PLW2901 - climbs to the root
            groups.setdefault(k, set()).add(node)
        groups.pop(len(nodes), None)
        return list(groups.values())


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
