"""Steady states of a network: solved, checked, and read out as rms, peak and power."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import SolverError
from coilwright.supply.balance import Balance, Batch, determinant_sign
from coilwright.supply.balance import solve as balance
from coilwright.supply.linear import Complex, Equations, Real, Reduced, assemble, reduce
from coilwright.supply.network import EARTH, Network

#: Odd harmonics that the first solution carries; more are added while the highest still matters.
FIRST_ORDER = 13
HIGHEST_ORDER = 61
#: Share of a port's flux in the two highest harmonics above which more harmonics are taken.
TAIL = 1e-5
WAVE_SAMPLES = 1024


def odd(highest: int) -> NDArray[np.int64]:
    """Return the odd numbers from 1 to ``highest``."""
    return np.arange(1, highest + 1, 2)


@dataclass(frozen=True)
class Steady:
    """One periodic steady state. ``x`` (h, x): node potentials and element currents as complex amplitudes (peak)."""

    equations: Equations
    harmonics: NDArray[np.int64]
    x: Complex
    flux: Complex  # (h, p)
    residual: float
    settles: bool = True  # False: the middle one of three states, on which no real circuit rests

    def potential(self, node: str) -> Complex:
        """Return the amplitudes of a node's potential to earth [V peak]."""
        if node == EARTH:
            return np.zeros(self.harmonics.size, dtype=complex)
        return np.asarray(self.x[:, self.equations.index[node]])

    def has(self, node: str) -> bool:
        """Return whether the network has that node."""
        return node == EARTH or node in self.equations.index

    def voltage(self, a: str, b: str = EARTH) -> Complex:
        """Return the amplitudes of the voltage from a to b [V peak]."""
        return self.potential(a) - self.potential(b)

    def current(self, element: str) -> Complex:
        """Return the amplitudes of the current of a branch, source or winding [A peak]."""
        return np.asarray(self.x[:, self.equations.index[f"element:{element}"]])

    def peak(self, amplitudes: Complex) -> float:
        """Return the highest instantaneous magnitude of a waveform."""
        return peak(amplitudes, self.harmonics)

    @cached_property
    def mains_poles(self) -> tuple[str, ...]:
        """Return the names of the mains sources."""
        return tuple(s.name for s in self.equations.network.sources)


def rms(amplitudes: Complex) -> float:
    """Return the rms of a waveform given by the amplitudes of its harmonics."""
    return float(np.sqrt((np.abs(amplitudes) ** 2).sum() / 2))


def power(voltage: Complex, current: Complex) -> float:
    """Return the mean power of a voltage and a current [W]."""
    return float((voltage * current.conj()).real.sum() / 2)


def waveform(amplitudes: Complex, harmonics: NDArray[np.int64], samples: int = WAVE_SAMPLES) -> Real:
    """Return half a period of the waveform at equal steps (the other half is its negative)."""
    angle = np.pi * np.arange(samples)[:, None] / samples * harmonics
    return np.asarray((np.exp(1j * angle) @ amplitudes).real)


def peak(amplitudes: Complex, harmonics: NDArray[np.int64]) -> float:
    """Return the highest instantaneous magnitude of a waveform."""
    return float(np.abs(waveform(amplitudes, harmonics)).max())


def batch_of(reduced: Sequence[Reduced]) -> Batch:
    """Return the ports of several networks with the same number of ports as one batch."""
    irons = [r.equations.iron for r in reduced]
    return Batch(
        np.array([r.equations.omega for r in reduced]),
        reduced[0].harmonics,
        np.stack([r.open for r in reduced]),
        np.stack([r.impedance for r in reduced]),
        np.stack([i[0] for i in irons]),
        np.stack([i[1] for i in irons]),
        np.stack([i[2] for i in irons]),
    )


def linear_start(batch: Batch) -> Complex:
    """Return flux amplitudes to begin with: the flux of the unsaturated network, held to a little above the knee."""
    jw = 1j * batch.omega[:, None, None] * batch.harmonics[None, :, None]
    flux = batch.open / jw
    size = np.abs(flux[:, :1]) / batch.knee_flux[:, None, :]
    return np.asarray(flux / np.maximum(1.0, size / 1.1))


def _pad(flux: Complex, n_harmonics: int) -> Complex:
    out = np.zeros((*flux.shape[:-2], n_harmonics, flux.shape[-1]), dtype=complex)
    out[..., : flux.shape[-2], :] = flux
    return out


def _ramped(batch: Batch, steps: int = 12) -> Balance:
    """Solve by raising the source in steps, each from the last; the safest road into deep saturation."""
    flux = np.zeros_like(batch.open)
    result = None
    for share in np.linspace(1 / steps, 1, steps):
        part = Batch(
            batch.omega,
            batch.harmonics,
            batch.open * share,
            batch.impedance,
            batch.knee_flux,
            batch.knee_current,
            batch.exponent,
        )
        result = balance(part, flux)
        flux = np.where(result.converged[:, None, None], result.flux, flux)
    if result is None:
        raise SolverError("no step was taken")
    return result


def solve_networks(
    networks: Sequence[Network], *, highest: int = FIRST_ORDER, limit: int = HIGHEST_ORDER, tail: float = TAIL
) -> list[Steady | None]:
    """Return the steady state of each network from its linear start, None where nothing converged.

    The networks must have the same number of ports. Harmonics are added until the two highest carry less than
    ``tail`` of the knee flux of every port, or ``limit`` is reached.
    """
    equations = [assemble(n) for n in networks]
    return solve_reduced([partial(reduce, e) for e in equations], highest=highest, limit=limit, tail=tail)


def solve_reduced(
    reducers: Sequence[Callable[[NDArray[np.int64]], Reduced]],
    *,
    highest: int = FIRST_ORDER,
    limit: int = HIGHEST_ORDER,
    tail: float = TAIL,
) -> list[Steady | None]:
    """Return the same as ``solve_networks`` for problems given by what their ports see at any set of harmonics."""
    out: list[Steady | None] = [None] * len(reducers)
    todo = list(range(len(reducers)))
    start: Complex | None = None
    while todo:
        harmonics = odd(highest)
        reduced = [reducers[k](harmonics) for k in todo]
        batch = batch_of(reduced)
        if start is None:
            first = balance(_harmonics_of(batch, 1), linear_start(batch)[:, :1])
            start = np.where(first.converged[:, None, None], first.flux, linear_start(batch)[:, :1])
        result = balance(batch, _pad(start, harmonics.size))
        lost = np.flatnonzero(~result.converged)
        if lost.size:
            again = _ramped(batch.take(lost))
            result.flux[lost], result.current[lost] = again.flux, again.current
            result.converged[lost], result.residual[lost] = again.converged, again.residual
        more = []
        for place, k in enumerate(todo):
            if not result.converged[place]:
                continue
            if highest < limit and _tail(result.flux[place], batch.knee_flux[place]) > tail:
                more.append(place)
                continue
            out[k] = _steady(reduced[place], result, place)
        if not more:
            break
        start = result.flux[more]
        todo = [todo[place] for place in more]
        highest = min(limit, 2 * highest + 1)
    return out


def _tail(flux: Complex, knee: Real) -> float:
    return float((np.abs(flux[-2:]).max(axis=0) / knee).max()) if flux.shape[1] else 0.0


def _steady(reduced: Reduced, result: Balance, place: int, settles: bool = True) -> Steady:
    x = reduced.rest - np.einsum("hxp,hp->hx", reduced.transfer, result.current[place])
    return Steady(reduced.equations, reduced.harmonics, x, result.flux[place], float(result.residual[place]), settles)


def solve_network(network: Network, *, highest: int = FIRST_ORDER, limit: int = HIGHEST_ORDER) -> Steady:
    """Return one steady state of the network.

    Raises
    ------
    SolverError
        If nothing converged. There is no number to show then.
    """
    state = solve_networks([network], highest=highest, limit=limit)[0]
    if state is None:
        raise SolverError("no steady state was found for this network")
    return state


def all_states(
    network: Network,
    *,
    starts: int = 60,
    seed: int = 0,
    highest: int = 25,
    seeds: Sequence[Complex] = (),
    measure: Callable[[Steady], float] | None = None,
) -> list[Steady]:
    """Return every steady state that a search from many starts finds, highest ``measure`` first (default: peak
    output).

    Starts are random fluxes up to twice the knee with some third and fifth harmonic, the linear start, the source
    ramp, and ``seeds``, fluxes (h, p) of solved neighbours. They are first solved with three harmonics; what is left
    after dropping equals goes on to ``highest`` and beyond while the tail matters. States that differ by less than
    1e-3 of the knee flux in every port are one. An empty list means that nothing converged.
    """
    equations = assemble(network)
    reduced = reduce(equations, odd(highest))
    single = batch_of([reduced])
    n, p = reduced.harmonics.size, single.knee_flux.shape[1]
    knee = single.knee_flux[0]
    rng = np.random.default_rng(seed)
    coarse = min(3, n)
    begin = [linear_start(single)[0]]
    fade = np.array([1.0, 0.4, 0.15])[:coarse, None]
    for _ in range(starts):
        size = rng.uniform(0.2, 2.0) * fade * rng.uniform(0.3, 1.0, (coarse, p))
        begin.append(_pad(size * np.exp(2j * np.pi * rng.uniform(0, 1, (coarse, p))) * knee, n))
    first = balance(
        _repeat(_harmonics_of(single, coarse), len(begin)),
        np.stack(begin)[:, :coarse],
        max_iterations=40,
        tolerance=1e-7,
    )
    distinct: list[Complex] = [_fit(s, n) for s in seeds]
    distinct += [_pad(f, n) for f in _distinct(first.flux[first.converged], knee)]
    distinct.append(_ramped(_harmonics_of(single, min(7, n))).flux[0])
    distinct = [_fit(f, n) for f in distinct]
    result = balance(_repeat(single, len(distinct)), np.stack(distinct), max_iterations=40)
    signs = determinant_sign(_repeat(single, len(distinct)), result.flux)
    found: list[Steady] = []
    for place in np.flatnonzero(result.converged):
        flux = result.flux[place]
        if all((np.abs(flux - other.flux) / knee).max() > 1e-3 for other in found):
            found.append(_steady(reduced, result, int(place), bool(signs[place] > 0)))
    found = [refined(state) for state in found]
    return sorted(found, key=measure or _output_peak, reverse=True)


def refined(state: Steady, *, limit: int = HIGHEST_ORDER, tail: float = TAIL) -> Steady:
    """Return the same steady state with as many harmonics as it needs (see ``solve_networks``); unchanged where that
    fails.
    """
    highest = int(state.harmonics[-1])
    knee = state.equations.iron[0]
    while highest < limit and _tail(state.flux, knee) > tail:
        highest = min(limit, 2 * highest + 1)
        reduced = reduce(state.equations, odd(highest))
        result = balance(batch_of([reduced]), _fit(state.flux, reduced.harmonics.size)[None])
        if not result.converged[0]:
            break
        state = _steady(reduced, result, 0, state.settles)
    return state


def _distinct(fluxes: Complex, knee: Real) -> list[Complex]:
    kept: list[Complex] = []
    for flux in fluxes:
        if all((np.abs(flux - other) / knee).max() > 1e-3 for other in kept):
            kept.append(flux)
    return kept


def _harmonics_of(batch: Batch, n: int) -> Batch:
    return Batch(
        batch.omega,
        batch.harmonics[:n],
        batch.open[:, :n],
        batch.impedance[:, :n],
        batch.knee_flux,
        batch.knee_current,
        batch.exponent,
    )


def _repeat(batch: Batch, times: int) -> Batch:
    return batch.take(np.zeros(times, dtype=np.int64))


def _fit(flux: Complex, n: int) -> Complex:
    return flux[:n] if flux.shape[0] >= n else _pad(flux, n)


def _output_peak(state: Steady) -> float:
    output = state.equations.network.output
    return state.peak(state.voltage(*output)) if output else 0.0
