"""The linear part of a network: its equations at each odd harmonic, and what the iron ports see of it.

    A(h) x = b,      A(h) = G + j w h C + Gamma / (j w h)

x holds node potentials and the currents of branches, sources and windings (modified nodal analysis, Ho, Ruehli and
Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and Systems 22 (1975) 504, from
memory). The linear share lam / L0 of every iron path is part of Gamma; a port carries the saturating share only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import SolverError
from coilwright.supply.network import EARTH, Branch, Capacitance, Network, Source, Winding

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]


#: Impedance of an element [ohm] from which its current is eliminated before the equations are solved. Below it the
#: potentials of its ends would be told apart by too few digits.
LEAST_SERIES_IMPEDANCE = 0.1


@dataclass(frozen=True)
class Equations:
    """The matrices of one network. ``index`` maps node names and ``element:NAME`` current rows to places in x.

    ``stamps`` hold conductance, capacitance and inverse inductance of everything but ``element``, the one across the
    output by which this network differs from another; many networks share them. The last ``series`` rows of x are
    currents of elements with an impedance. ``memo`` keeps what was computed.
    """

    network: Network
    index: dict[str, int]
    stamps: tuple[Real, Real, Real]
    sources: Complex  # right side at the fundamental
    incidence: Real  # (x, ports): +1 at a, -1 at b
    series: int = 0
    element: Branch | Capacitance | None = None
    memo: dict[Any, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    @property
    def omega(self) -> float:
        """Return the angular frequency of the fundamental [rad/s]."""
        return 2 * pi * self.network.frequency

    @cached_property
    def iron(self) -> tuple[Real, Real, NDArray[np.int64]]:
        """Return knee fluxes, knee currents and exponents of the ports."""
        irons = [p.iron for p in self.network.ports]
        return (
            np.array([i.knee_flux for i in irons]),
            np.array([i.knee_current for i in irons]),
            np.array([i.exponent for i in irons], dtype=np.int64),
        )

    @cached_property
    def conductance(self) -> Real:
        """Return what stands in A by itself, shape (x, x); a branch across the output has the last row."""
        if not isinstance(self.element, Branch):
            return self.stamps[0]
        g = self.stamps[0].copy()
        g[-1, -1] = -self.element.resistance
        return g

    @cached_property
    def capacitance(self) -> Real:
        """Return what stands in A times s, shape (x, x)."""
        if self.element is None or (isinstance(self.element, Branch) and not self.element.inductance):
            return self.stamps[1]
        c = self.stamps[1].copy()
        if isinstance(self.element, Branch):
            c[-1, -1] = -self.element.inductance
            return c
        i, j = (self.index[n] for n in (self.element.a, self.element.b))
        for k, m, sign in ((i, i, 1), (j, j, 1), (i, j, -1), (j, i, -1)):
            if k >= 0 and m >= 0:
                c[k, m] += sign * self.element.capacitance
        return c

    @property
    def inverse_inductance(self) -> Real:
        """Return what stands in A over s, shape (x, x)."""
        return self.stamps[2]

    def matrix(self, harmonics: NDArray[np.int64]) -> Complex:
        """Return A at each harmonic, shape (h, x, x)."""
        s = 1j * self.omega * harmonics[:, None, None]
        return np.asarray(self.conductance + s * self.capacitance + self.inverse_inductance / s)


def assemble(network: Network) -> Equations:
    """Return the equations of a network; those of the same network object are made once.

    Raises
    ------
    SolverError
        If part of the network has no path to the reference, so that its potential is not determined.
    """
    known: Equations | None = network.memo.get("equations")
    if known is None:
        origin = network.origin
        known = _assembled(network) if origin is None else with_element(assemble(origin[0]), network, origin[1])
        network.memo["equations"] = known
    return known


class _Entries:
    """Entries of a square matrix with one row and column more than needed, which takes the stamps of the reference
    node.
    """

    def __init__(self, size: int) -> None:
        self.wide = size + 1
        self.places: list[int] = []
        self.values: list[float] = []

    def couple(self, i: int, j: int, k: int, value: float) -> None:
        """Let element k carry ``value`` times its current from node i to j, and see as much of their voltage."""
        n = self.wide
        self.places += (i * n + k, j * n + k, k * n + i, k * n + j)
        self.values += (value, -value, value, -value)

    def stamp(self, i: int, j: int, admittance: float) -> None:
        n = self.wide
        self.places += (i * n + i, j * n + j, i * n + j, j * n + i)
        self.values += (admittance, admittance, -admittance, -admittance)

    def diagonal(self, k: int, value: float) -> None:
        self.places.append(k * self.wide + k)
        self.values.append(value)

    def matrix(self) -> Real:
        n = self.wide
        if not self.places:
            return np.zeros((n - 1, n - 1))
        flat = np.bincount(self.places, self.values, n * n)
        return np.asarray(flat.reshape(n, n)[:-1, :-1], dtype=np.float64)


def _assembled(network: Network) -> Equations:
    islands = network.islands()
    if islands:
        raise SolverError(f"nothing fixes the potential of {', '.join(sorted(islands[0]))}")
    omega = 2 * pi * network.frequency
    index = {node: k for k, node in enumerate(network.nodes())}
    rows: list[Branch | Source | Winding] = [*network.branches, *network.sources, *network.windings]
    has_impedance = [abs(complex(r.resistance, omega * r.inductance)) >= LEAST_SERIES_IMPEDANCE for r in rows]
    rows = [
        *(r for r, much in zip(rows, has_impedance, strict=True) if not much),
        *(r for r, much in zip(rows, has_impedance, strict=True) if much),
    ]
    n_nodes = len(index)
    size = n_nodes + len(rows)
    index[EARTH] = -1
    place = {**index, EARTH: size}
    g, c, gamma = _Entries(size), _Entries(size), _Entries(size)
    b = np.zeros(size, dtype=complex)
    for k, element in enumerate(rows, start=n_nodes):
        index[f"element:{element.name}"] = k
        i, j = place[element.a], place[element.b]
        if isinstance(element, Source):  # its current counts out of a
            n = g.wide
            g.places += (i * n + k, j * n + k, k * n + i, k * n + j)
            g.values += (-1.0, 1.0, 1.0, -1.0)
            sign = 1.0
            b[k] = element.peak
        else:
            g.couple(i, j, k, 1.0)
            sign = -1.0
            if isinstance(element, Winding):
                g.couple(place[element.c], place[element.d], k, -element.ratio)
        g.diagonal(k, sign * element.resistance)
        c.diagonal(k, sign * element.inductance)
    for r in network.conductances:
        g.stamp(place[r.a], place[r.b], 1 / r.resistance)
    for cap in network.capacitances:
        c.stamp(place[cap.a], place[cap.b], cap.capacitance)
    incidence = np.zeros((size + 1, len(network.ports)))
    for p, port in enumerate(network.ports):
        i, j = place[port.a], place[port.b]
        gamma.stamp(i, j, 1 / port.iron.inductance)
        incidence[i, p] += 1
        incidence[j, p] -= 1
    stamps = g.matrix(), c.matrix(), gamma.matrix()
    return Equations(network, index, stamps, b, incidence[:-1], series=sum(has_impedance))


def with_element(equations: Equations, network: Network, element: Branch | Capacitance) -> Equations:
    """Return the equations of ``network``, which is that of ``equations`` but for one element across its output."""
    memo = equations.memo
    if isinstance(element, Capacitance):
        e = equations
        return Equations(network, e.index, e.stamps, e.sources, e.incidence, e.series, element)
    key = f"bordered:{element.name}"
    if key not in memo:
        size = equations.sources.size
        wider = np.zeros((3, size + 1, size + 1))
        wider[:, :-1, :-1] = equations.conductance, equations.capacitance, equations.inverse_inductance
        wider[0, :-1, -1] = wider[0, -1, :-1] = output_column(equations)[:, 0]
        incidence = np.zeros((size + 1, equations.incidence.shape[1]))
        incidence[:-1] = equations.incidence
        sources = np.zeros(size + 1, dtype=complex)
        sources[:-1] = equations.sources
        memo[key] = {**equations.index, f"element:{element.name}": size}, tuple(wider), sources, incidence
    index, stamps, sources, incidence = memo[key]
    series = equations.series + 1 if element.resistance >= LEAST_SERIES_IMPEDANCE else 0
    return Equations(network, index, stamps, sources, incidence, series, element)


@dataclass(frozen=True)
class Reduced:
    """What the ports see: V = open - impedance I, and how x follows from the port currents: x = rest - transfer I.

    Shapes: open (h, p), impedance (h, p, p), rest (h, x), transfer (h, x, p).
    """

    equations: Equations
    harmonics: NDArray[np.int64]
    open: Complex
    impedance: Complex
    rest: Complex
    transfer: Complex


@dataclass(frozen=True)
class Terminal:
    """The output seen as a further port: V_out = open - to_ports I - impedance I_out, and what I_out adds to x and to
    the ports.

    Shapes: open (h,), impedance (h,), to_ports (h, p), from_ports (h, p), x (h, x).
    """

    open: Complex
    impedance: Complex
    to_ports: Complex
    from_ports: Complex
    x: Complex

    @cached_property
    def through(self) -> Complex:
        """Return what the output couples between the ports, over its impedance, shape (h, p, p)."""
        return np.asarray(self.from_ports[:, :, None] * self.to_ports[:, None, :])


def reduce(equations: Equations, harmonics: NDArray[np.int64]) -> Reduced:
    """Return the ports' view of the linear network at the given odd harmonics."""
    origin = equations.network.origin
    if origin is not None:
        plain, output = reduce_with_output(assemble(origin[0]), harmonics)
        return loaded(plain, output, element_impedance(origin[1], equations.omega, harmonics), equations)
    if equations.network.output is not None:
        return reduce_with_output(equations, harmonics)[0]
    return _kept(equations, harmonics, equations.incidence)


def element_impedance(element: Branch | Capacitance, omega: float, harmonics: NDArray[np.int64]) -> Complex:
    """Return the impedance of an element at each harmonic [ohm]."""
    s = 1j * omega * harmonics
    if isinstance(element, Capacitance):
        return np.asarray(1 / (s * element.capacitance))
    return np.asarray(element.resistance + s * element.inductance)


def output_column(equations: Equations) -> Real:
    """Return +1 at the first node of the output and -1 at the second, shape (x, 1)."""
    output = equations.network.output
    if output is None:
        raise ValueError("this network names no output")
    column = np.zeros((equations.sources.size, 1))
    for node, sign in zip(output, (1.0, -1.0), strict=True):
        if node != EARTH:
            column[equations.index[node]] += sign
    return column


def reduce_with_output(equations: Equations, harmonics: NDArray[np.int64]) -> tuple[Reduced, Terminal]:
    """Return the ports' view and the output's, from which the view behind any load across the output follows."""
    memo, key = equations.memo, ("view", harmonics.tobytes())
    if key in memo:
        return memo[key]  # type: ignore[no-any-return]
    if "drawn" not in memo:
        memo["drawn"] = np.hstack([equations.incidence, output_column(equations)])
    n = equations.incidence.shape[1]
    both = _kept(equations, harmonics, memo["drawn"])
    plain = Reduced(
        equations, harmonics, both.open[:, :n], both.impedance[:, :n, :n], both.rest, both.transfer[:, :, :n]
    )
    output = Terminal(
        both.open[:, n],
        both.impedance[:, n, n],
        both.impedance[:, n, :n],
        both.impedance[:, :n, n],
        both.transfer[:, :, n],
    )
    memo[key] = plain, output
    return plain, output


def loaded(plain: Reduced, output: Terminal, load: Complex, equations: Equations) -> Reduced:
    """Return the ports' view with an impedance across the output [ohm at each harmonic].

    ``equations`` are those of the loaded network: where they have a place for the load's current, that is the last
    of x.
    """
    y = 1 / (output.impedance + load)
    opened = plain.open - output.from_ports * (y * output.open)[:, None]
    impedance = plain.impedance - output.from_ports[:, :, None] * (y[:, None] * output.to_ports)[:, None, :]
    rest = plain.rest - output.x * (y * output.open)[:, None]
    transfer = plain.transfer - output.x[:, :, None] * (y[:, None] * output.to_ports)[:, None, :]
    if equations.sources.size > rest.shape[1]:
        rest = np.concatenate([rest, (y * output.open)[:, None]], axis=1)
        transfer = np.concatenate([transfer, (y[:, None] * output.to_ports)[:, None, :]], axis=1)
    return Reduced(equations, plain.harmonics, opened, impedance, rest, transfer)


def _kept(equations: Equations, harmonics: NDArray[np.int64], drawn: Real) -> Reduced:
    """Return the solution at the harmonics; each harmonic of a network is solved once."""
    known: Reduced | None = equations.memo.get("solved")
    n = harmonics.size
    if known is not None:
        m = known.harmonics.size
        if not np.array_equal(known.harmonics[:n], harmonics[:m]):
            return _solved(equations, harmonics, drawn)
        if m < n:
            more = _solved(equations, harmonics[m:], drawn)
            known = Reduced(
                equations,
                harmonics,
                np.concatenate([known.open, more.open]),
                np.concatenate([known.impedance, more.impedance]),
                np.concatenate([known.rest, more.rest]),
                np.concatenate([known.transfer, more.transfer]),
            )
            equations.memo["solved"] = known
        if m <= n:
            return known
        return Reduced(equations, harmonics, known.open[:n], known.impedance[:n], known.rest[:n], known.transfer[:n])
    known = _solved(equations, harmonics, drawn)
    equations.memo["solved"] = known
    return known


def _solved(equations: Equations, harmonics: NDArray[np.int64], drawn: Real) -> Reduced:
    """Solve for one ampere drawn through each column of ``drawn`` and for the sources.

    The currents of elements with an impedance are eliminated first; they see nothing but their own nodes.
    """
    n, m = drawn.shape[1], equations.sources.size - equations.series
    g, c, gamma, b = equations.conductance, equations.capacitance, equations.inverse_inductance, equations.sources
    s = 1j * equations.omega * harmonics[:, None]
    first = harmonics == 1
    right = np.zeros((harmonics.size, m, n + 1), dtype=complex)
    right[:, :, :n] = drawn[:m]
    right[first, :, n] = b[:m]
    matrix = g[:m, :m] + s[:, :, None] * c[:m, :m] + gamma[:m, :m] / s[:, :, None]
    into, seen = g[:m, m:], g[m:, :m]
    y = 1 / (g.diagonal()[m:] + s * c.diagonal()[m:])  # (h, series)
    matrix -= (into * y[:, None, :]) @ seen
    right[first, :, n] -= (y[first] * b[m:]) @ into.T
    try:
        solution: Complex = np.linalg.solve(matrix, right)
    except np.linalg.LinAlgError as err:
        raise SolverError("the network has a loop of ideal sources or a cut that nothing determines") from err
    currents = -y[:, :, None] * (seen @ solution)
    currents[first, :, n] += y[first] * b[m:]
    whole = np.concatenate([solution, currents], axis=1)
    transfer, rest = whole[:, :, :n], whole[:, :, n]
    impedance = drawn[:m].T @ solution
    return Reduced(equations, harmonics, impedance[:, :, n], impedance[:, :, :n], rest, transfer)
