"""The linear part of a network: its equations at each odd harmonic, and what the iron ports see of it.

    A(h) x = b,      A(h) = G + j w h C + Gamma / (j w h)

x holds node potentials and the currents of branches, sources and windings (modified nodal analysis, Ho, Ruehli and
Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and Systems 22 (1975) 504, from
memory). The linear share lam / L0 of every iron path is part of Gamma; a port carries the saturating share only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import pi

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import SolverError
from coilwright.supply.network import EARTH, Branch, Network, Source, Winding

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]


@dataclass(frozen=True)
class Equations:
    """The matrices of one network. ``index`` maps node names and ``element:NAME`` current rows to places in x."""

    network: Network
    index: dict[str, int]
    conductance: Real
    capacitance: Real
    inverse_inductance: Real
    sources: Complex  # right side at the fundamental
    incidence: Real  # (x, ports): +1 at a, -1 at b

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

    def matrix(self, harmonics: NDArray[np.int64]) -> Complex:
        """Return A at each harmonic, shape (h, x, x)."""
        s = 1j * self.omega * harmonics[:, None, None]
        return np.asarray(self.conductance + s * self.capacitance + self.inverse_inductance / s)


def assemble(network: Network) -> Equations:
    """Return the equations of a network.

    Raises
    ------
    SolverError
        If part of the network has no path to the reference, so that its potential is not determined.
    """
    islands = network.islands()
    if islands:
        raise SolverError(f"nothing fixes the potential of {', '.join(sorted(islands[0]))}")
    index = {node: k for k, node in enumerate(network.nodes())}
    index[EARTH] = -1
    rows: list[Branch | Source | Winding] = [*network.branches, *network.sources, *network.windings]
    for element in rows:
        index[f"element:{element.name}"] = len(index) - 1
    size = len(index) - 1
    # One row and column more than needed takes the stamps of the reference node and is cut off at the end.
    g, c, gamma = (np.zeros((size + 1, size + 1)) for _ in range(3))
    b = np.zeros(size + 1, dtype=complex)
    for branch in network.branches:
        i, j, k = index[branch.a], index[branch.b], index[f"element:{branch.name}"]
        g[i, k] += 1
        g[j, k] -= 1
        g[k, i] += 1
        g[k, j] -= 1
        g[k, k] -= branch.resistance
        c[k, k] -= branch.inductance
    for source in network.sources:
        i, j, k = index[source.a], index[source.b], index[f"element:{source.name}"]
        g[i, k] -= 1
        g[j, k] += 1
        g[k, i] += 1
        g[k, j] -= 1
        g[k, k] += source.resistance
        c[k, k] += source.inductance
        b[k] += source.peak
    for w in network.windings:
        i, j, m, n, k = index[w.a], index[w.b], index[w.c], index[w.d], index[f"element:{w.name}"]
        g[i, k] += 1
        g[j, k] -= 1
        g[m, k] -= w.ratio
        g[n, k] += w.ratio
        g[k, i] += 1
        g[k, j] -= 1
        g[k, m] -= w.ratio
        g[k, n] += w.ratio
        g[k, k] -= w.resistance
        c[k, k] -= w.inductance
    for r in network.conductances:
        _stamp(g, index[r.a], index[r.b], 1 / r.resistance)
    for cap in network.capacitances:
        _stamp(c, index[cap.a], index[cap.b], cap.capacitance)
    incidence = np.zeros((size + 1, len(network.ports)))
    for p, port in enumerate(network.ports):
        _stamp(gamma, index[port.a], index[port.b], 1 / port.iron.inductance)
        incidence[index[port.a], p] += 1
        incidence[index[port.b], p] -= 1
    return Equations(network, index, g[:-1, :-1], c[:-1, :-1], gamma[:-1, :-1], b[:-1], incidence[:-1])


def _stamp(matrix: Real, i: int, j: int, admittance: float) -> None:
    matrix[i, i] += admittance
    matrix[j, j] += admittance
    matrix[i, j] -= admittance
    matrix[j, i] -= admittance


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


def reduce(equations: Equations, harmonics: NDArray[np.int64]) -> Reduced:
    """Return the ports' view of the linear network at the given odd harmonics."""
    return _solved(equations, harmonics, equations.incidence)


def reduce_with_output(equations: Equations, harmonics: NDArray[np.int64]) -> tuple[Reduced, Terminal]:
    """Return the ports' view and the output's, from which the view behind any load across the output follows."""
    output = equations.network.output
    if output is None:
        raise ValueError("this network names no output")
    column = np.zeros((equations.sources.size, 1))
    for node, sign in zip(output, (1.0, -1.0), strict=True):
        if node != EARTH:
            column[equations.index[node]] += sign
    n = equations.incidence.shape[1]
    both = _solved(equations, harmonics, np.hstack([equations.incidence, column]))
    plain = Reduced(
        equations, harmonics, both.open[:, :n], both.impedance[:, :n, :n], both.rest, both.transfer[:, :, :n]
    )
    return plain, Terminal(
        both.open[:, n],
        both.impedance[:, n, n],
        both.impedance[:, n, :n],
        both.impedance[:, :n, n],
        both.transfer[:, :, n],
    )


def loaded(plain: Reduced, output: Terminal, load: Complex, equations: Equations) -> Reduced:
    """Return the ports' view with an impedance across the output [ohm at each harmonic]; its current is the last of x.

    ``equations`` are those of the loaded network, in name only: with a place for the load's current behind the others.
    """
    y = 1 / (output.impedance + load)
    opened = plain.open - output.from_ports * (y * output.open)[:, None]
    impedance = plain.impedance - output.from_ports[:, :, None] * (y[:, None] * output.to_ports)[:, None, :]
    rest = plain.rest - output.x * (y * output.open)[:, None]
    transfer = plain.transfer - output.x[:, :, None] * (y[:, None] * output.to_ports)[:, None, :]
    rest = np.concatenate([rest, (y * output.open)[:, None]], axis=1)
    transfer = np.concatenate([transfer, (y[:, None] * output.to_ports)[:, None, :]], axis=1)
    return Reduced(equations, plain.harmonics, opened, impedance, rest, transfer)


def _solved(equations: Equations, harmonics: NDArray[np.int64], drawn: Real) -> Reduced:
    """Solve for one ampere drawn through each column of ``drawn`` and for the sources."""
    n = drawn.shape[1]
    right = np.zeros((harmonics.size, equations.sources.size, n + 1), dtype=complex)
    right[:, :, :n] = drawn
    right[harmonics == 1, :, n] = equations.sources
    try:
        solution: Complex = np.asarray(np.linalg.solve(equations.matrix(harmonics), right), dtype=complex)
    except np.linalg.LinAlgError as err:
        raise SolverError("the network has a loop of ideal sources or a cut that nothing determines") from err
    transfer, rest = solution[:, :, :n], solution[:, :, n]
    impedance = np.matmul(drawn.T, transfer)
    return Reduced(equations, harmonics, np.asarray(rest @ drawn, dtype=complex), impedance, rest, transfer)
