"""The search for every steady state of a family of problems, from many starts at once.

Starts are random fluxes up to twice the knee with some third and fifth harmonic, the linear start, and the source
ramp. They are solved with three harmonics; what is left after dropping equals goes on to ``MIDDLE``, where equals are
dropped again, and each state that is new to ``highest`` and beyond while the tail matters. A start that does not
converge at one stage is not lost: it goes on to the next as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from coilwright.supply.balance import Bool, determinant_sign
from coilwright.supply.balance import solve as balance
from coilwright.supply.families import Family, Networks
from coilwright.supply.linear import Complex, Real, reduce
from coilwright.supply.solving import HIGHEST_ORDER, TAIL, linear_start, next_order, odd, pad, ramped
from coilwright.supply.waves import Steady

#: Highest harmonic of the coarse starts, and of the stage at which most equals are told.
COARSE, MIDDLE = 5, 13
#: States that differ by less than this share of the knee flux in every port and harmonic are one.
SAME = 1e-3
#: Newton steps after which a start is given up; few of those still at work then would arrive.
_STEPS = 30


@dataclass(frozen=True)
class _Start:
    """A flux to start from (h, p), for one problem of the family."""

    problem: int
    flux: Complex


class Search:
    """The states found so far of every problem of a family."""

    def __init__(self, family: Family, *, highest: int = 25, limit: int = HIGHEST_ORDER, tail: float = TAIL) -> None:
        self.family = family
        self.highest, self.limit, self.tail = highest, limit, tail
        self.knee = family.batch(odd(1), np.arange(family.count)).knee_flux
        self._middle: list[list[Complex]] = [[] for _ in range(family.count)]
        self._found: list[list[Steady]] = [[] for _ in range(family.count)]

    def states(self, problem: int) -> list[Steady]:
        """Return the states found of one problem."""
        return list(self._found[problem])

    def from_many_starts(self, starts: int, seed: int = 0) -> None:
        """Start from ``starts`` random fluxes for each problem, from the linear flux and up the source ramp."""
        order = min(COARSE, self.highest)
        harmonics = odd(order)
        n, count = harmonics.size, self.family.count
        batch = self.family.batch(harmonics, np.arange(count))
        begin = np.concatenate([linear_start(batch)[None], self._random(starts, seed, n)])  # (s, k, h, p)
        every = np.tile(np.arange(count), len(begin))
        first = balance(batch.take(every), begin.reshape(-1, *begin.shape[2:]), max_iterations=_STEPS, tolerance=1e-7)
        kept: list[_Start] = []
        for k in range(count):
            here = first.flux[k::count][first.converged[k::count]]
            kept += [_Start(k, flux) for flux in _distinct(here, self.knee[k])]
        kept += [_Start(k, flux) for k, flux in enumerate(ramped(batch, max_iterations=_STEPS).flux)]
        self._go_on(kept)

    def add(self, seeds: Sequence[Sequence[Complex]]) -> list[list[Steady]]:
        """Start from fluxes (h, p) given for each problem, and return the states that are new."""
        return self._go_on([_Start(k, flux) for k, fluxes in enumerate(seeds) for flux in fluxes])

    def _random(self, starts: int, seed: int, n: int) -> Complex:
        """Return random fluxes (starts, problems, n, p); every problem gets the same ones over its knee."""
        rng = np.random.default_rng(seed)
        p = self.knee.shape[1]
        fade = np.array([1.0, 0.4, 0.15])[:n, None]
        out = np.empty((starts, n, p), dtype=complex)
        for k in range(starts):
            size = rng.uniform(0.2, 2.0) * fade * rng.uniform(0.3, 1.0, (n, p))
            out[k] = size * np.exp(2j * np.pi * rng.uniform(0, 1, (n, p)))
        return np.asarray(out[:, None] * self.knee[:, None, :])

    def _go_on(self, starts: list[_Start]) -> list[list[Steady]]:
        """Take starts to the middle stage and what is new there to the end; return the new states of each problem."""
        new: list[list[Steady]] = [[] for _ in range(self.family.count)]
        order = min(MIDDLE, self.highest)
        fluxes, converged = self._solved(starts, order)
        onward: list[_Start] = []
        for start, flux, good in zip(starts, fluxes, converged, strict=True):
            if not good:
                onward.append(start)
            elif _is_new(flux, self._middle[start.problem], self.knee[start.problem]):
                self._middle[start.problem].append(flux)
                onward.append(_Start(start.problem, flux))
        for start, state in zip(onward, self._finished(onward), strict=True):
            known = [s.flux for s in self._found[start.problem]]
            if state is not None and _is_new(state.flux, known, self.knee[start.problem]):
                self._found[start.problem].append(state)
                new[start.problem].append(state)
        return new

    def _solved(self, starts: list[_Start], order: int) -> tuple[Complex, Bool]:
        harmonics = odd(order)
        if not starts:
            return np.zeros((0, harmonics.size, self.knee.shape[1]), dtype=complex), np.zeros(0, dtype=bool)
        batch = self.family.batch(harmonics, np.array([s.problem for s in starts]))
        result = balance(batch, np.stack([fit(s.flux, harmonics.size) for s in starts]), max_iterations=_STEPS)
        return result.flux, result.converged

    def _finished(self, starts: list[_Start]) -> list[Steady | None]:
        """Return the state that each start leads to with as many harmonics as it needs, None where it does not
        converge.
        """
        out: list[Steady | None] = [None] * len(starts)
        waiting = {self.highest: list(range(len(starts)))}
        flux = [s.flux for s in starts]
        while waiting:
            order = min(waiting)
            rows = waiting.pop(order)
            if not rows:
                continue
            harmonics = odd(order)
            problems = np.array([starts[r].problem for r in rows])
            batch = self.family.batch(harmonics, problems)
            result = balance(batch, np.stack([fit(flux[r], harmonics.size) for r in rows]), max_iterations=_STEPS)
            good = np.flatnonzero(result.converged)
            if not good.size:
                continue
            signs = determinant_sign(batch.take(good), result.flux[good])
            for place, state, sign in zip(
                good.tolist(), self.family.steady(harmonics, problems[good], result, good), signs, strict=True
            ):
                r = rows[place]
                before = out[r]
                settles = bool(sign > 0) if before is None else before.settles
                out[r] = replace(state, settles=settles)
                flux[r] = state.flux
                more = next_order(state.flux, self.knee[starts[r].problem], order, self.limit, self.tail)
                if more > order:
                    waiting.setdefault(more, []).append(r)
        return out


def refined(state: Steady, *, limit: int = HIGHEST_ORDER, tail: float = TAIL) -> Steady:
    """Return the same steady state with as many harmonics as it needs; unchanged where that fails."""
    highest = int(state.harmonics[-1])
    knee = state.equations.iron[0]
    family = Networks([lambda harmonics: reduce(state.equations, harmonics)])
    only = np.zeros(1, dtype=np.int64)
    while (more := next_order(state.flux, knee, highest, limit, tail)) > highest:
        highest = more
        harmonics = odd(highest)
        result = balance(family.batch(harmonics, only), fit(state.flux, harmonics.size)[None])
        if not result.converged[0]:
            break
        state = replace(family.steady(harmonics, only, result, only)[0], settles=state.settles)
    return state


def fit(flux: Complex, n: int) -> Complex:
    """Return the flux (h, p) cut or filled up to n harmonics."""
    return flux[:n] if flux.shape[0] >= n else pad(flux, n)


def _is_new(flux: Complex, known: Sequence[Complex], knee: Real) -> bool:
    """Return whether a flux differs from each of the known ones; harmonics that one of the two lacks are 0."""
    for other in known:
        n = max(flux.shape[0], other.shape[0])
        if (np.abs(fit(flux, n) - fit(other, n)) / knee).max(initial=0.0) <= SAME:
            return False
    return True


def _distinct(fluxes: Complex, knee: Real) -> list[Complex]:
    kept: list[Complex] = []
    for flux in fluxes:
        if _is_new(flux, kept, knee):
            kept.append(flux)
    return kept
