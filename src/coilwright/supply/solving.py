"""Families of problems solved with as many harmonics as they need."""

from __future__ import annotations

from functools import lru_cache
from math import ceil, log

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import SolverError
from coilwright.supply.balance import Balance, Batch
from coilwright.supply.balance import solve as balance
from coilwright.supply.families import Family, Places
from coilwright.supply.linear import Complex, Real
from coilwright.supply.waves import Steady

#: Odd harmonics that the first solution carries; more are added while the highest still matters.
FIRST_ORDER = 13
HIGHEST_ORDER = 61
#: Share of a port's flux in the two highest harmonics above which more harmonics are taken.
TAIL = 1e-5
#: Residual of the fundamental from which the harmonics go on: it is a start, and no more.
_START_TOLERANCE = 1e-2


def odd(highest: int) -> NDArray[np.int64]:
    """Return the odd numbers from 1 to ``highest``."""
    return _odd(highest)


@lru_cache(maxsize=64)
def _odd(highest: int) -> NDArray[np.int64]:
    out = np.arange(1, highest + 1, 2)
    out.flags.writeable = False
    return out


def linear_start(batch: Batch) -> Complex:
    """Return flux amplitudes to begin with: the flux of the unsaturated network, held to a little above the knee."""
    jw = 1j * batch.omega[:, None, None] * batch.harmonics[None, :, None]
    flux = batch.open / jw
    size = np.abs(flux[:, :1]) / batch.knee_flux[:, None, :]
    return np.asarray(flux / np.maximum(1.0, size / 1.1))


def pad(flux: Complex, n_harmonics: int) -> Complex:
    """Return the flux with zeros for the harmonics that it lacks."""
    out = np.zeros((*flux.shape[:-2], n_harmonics, flux.shape[-1]), dtype=complex)
    out[..., : flux.shape[-2], :] = flux
    return out


def ramped(batch: Batch, steps: int = 12, max_iterations: int = 80) -> Balance:
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
        result = balance(part, flux, max_iterations=max_iterations)
        flux = np.where(result.converged[:, None, None], result.flux, flux)
    if result is None:
        raise SolverError("no step was taken")
    return result


def solve_family(
    family: Family, *, highest: int = FIRST_ORDER, limit: int = HIGHEST_ORDER, tail: float = TAIL
) -> list[Steady | None]:
    """Return the same as ``solve_networks`` for a family of problems."""
    out: list[Steady | None] = [None] * family.count
    todo: Places = np.arange(family.count)
    start: Complex | None = None
    while todo.size:
        harmonics = odd(highest)
        batch = family.batch(harmonics, todo)
        if start is None:
            start = linear_start(batch.lowest(1))
            if highest > 1:
                first = balance(batch.lowest(1), start, tolerance=_START_TOLERANCE)
                start = first.flux if first.converged.all() else _either(first, start)
        result = balance(batch, start if start.shape[1] == harmonics.size else pad(start, harmonics.size))
        if not result.converged.all():
            lost = np.flatnonzero(~result.converged)
            again = ramped(batch.take(lost))
            result.flux[lost], result.current[lost] = again.flux, again.current
            result.converged[lost], result.residual[lost] = again.converged, again.residual
        good = np.flatnonzero(result.converged)
        orders = np.full(good.size, highest)
        if highest < limit:
            orders[:] = [next_order(result.flux[k], batch.knee_flux[k], highest, limit, tail) for k in good.tolist()]
        ready = good[orders <= highest]
        if ready.size:
            states = family.steady(harmonics, todo[ready], result, ready)
            for k, state in zip(todo[ready].tolist(), states, strict=True):
                out[k] = state
        more = good[orders > highest]
        if more.size == 0:
            break
        start, todo = result.flux[more], todo[more]
        highest = int(orders.max())
    return out


def _either(first: Balance, start: Complex) -> Complex:
    return np.where(first.converged[:, None, None], first.flux, start)


def next_order(flux: Complex, knee: Real, highest: int, limit: int = HIGHEST_ORDER, tail: float = TAIL) -> int:
    """Return the highest harmonic that a state needs, judged by how fast its flux (h, p) falls off at the end.

    That is ``highest`` itself where its two highest harmonics carry less than ``tail`` of every port's knee flux.
    """
    if highest >= limit or not knee.size:
        return highest
    size = (np.abs(flux[-4:]) / knee).max(axis=1)
    last = float(size[-2:].max())
    if last <= tail:
        return highest
    before = float(size[:-2].max()) if size.size == 4 else last
    # two harmonics, four places, further on the flux is smaller by that much again
    pairs = ceil(log(last / tail) / log(before / last)) if before > 1.5 * last else 99
    return min(limit, 2 * highest + 1, highest + 4 * max(1, pairs))
