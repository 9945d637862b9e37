"""Harmonic balance of the iron ports, many problems at once.

For each problem and odd harmonic h, with v the flux of a port over its knee flux::

    F = v + W c(v) - v_open = 0,      c(t) = v(t)^n,      W_pq = Z_pq Ik_q / (j h w lk_p)

v are complex amplitudes. c follows from v(t) at ``samples`` instants of half a period (everything is odd about half a
period). Newton with the exact Jacobian, a limit on the flux step and backtracking; all problems of a batch advance
together, those that have converged drop out. (Harmonic balance: Nakhla and Vlach, "A piecewise harmonic balance
technique ...", IEEE Trans. Circuits and Systems 23 (1976) 85, from memory.)

A port far below its knee answers to nothing: its columns of the Jacobian are those of the identity to within
``UNSATURATED``, and the linear equations are solved for the others alone. This changes the steps, never the answer,
which is judged by F of every port.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]
Bool = NDArray[np.bool_]

#: Change of F by the current of a port over the change of its flux, below which the port counts as unsaturated.
UNSATURATED = 1e-4
#: A step counts when the sum of squares of F falls to this share of what it was, or less.
_FALL = 1 - 1e-4
_HALVINGS = 12
#: Unknowns of a lone problem up to which it costs more to tell the unsaturated ports than to solve for all.
_FEW = 10


@dataclass(frozen=True)
class Batch:
    """Problems of one shape: b problems, p ports, h harmonics. ``omega`` (b,) [rad/s]."""

    omega: Real
    harmonics: NDArray[np.int64]  # (h,)
    open: Complex  # (b, h, p)
    impedance: Complex  # (b, h, p, p)
    knee_flux: Real  # (b, p)
    knee_current: Real  # (b, p)
    exponent: NDArray[np.int64]  # (b, p)

    def take(self, which: NDArray[np.int64]) -> Batch:
        """Return the problems at the given places (places may repeat)."""
        return Batch(
            self.omega[which],
            self.harmonics,
            self.open[which],
            self.impedance[which],
            self.knee_flux[which],
            self.knee_current[which],
            self.exponent[which],
        )

    def lowest(self, n: int) -> Batch:
        """Return the same problems with their first n harmonics alone."""
        return Batch(
            self.omega,
            self.harmonics[:n],
            self.open[:, :n],
            self.impedance[:, :n],
            self.knee_flux,
            self.knee_current,
            self.exponent,
        )


@dataclass(frozen=True)
class Balance:
    """Outcome: flux (b, h, p), port currents (b, h, p), which converged, the residual of each [relative], and steps
    taken.
    """

    flux: Complex
    current: Complex
    converged: Bool
    residual: Real
    iterations: int


@lru_cache(maxsize=64)
def _basis(harmonics: tuple[int, ...], samples: int) -> tuple[Real, Real]:
    """Return B (2h, t), which makes time samples of amplitudes as [Re, Im] pairs, and its projection back (t, 2h)."""
    angle = np.pi * np.arange(samples)[:, None] / samples * np.array(harmonics)
    b = np.stack([np.cos(angle), -np.sin(angle)], axis=2).reshape(samples, -1)
    return np.ascontiguousarray(b.T), 2 / samples * b


@lru_cache(maxsize=64)
def _slopes(harmonics: tuple[int, ...], samples: int) -> Real:
    """Return the matrix (t, 2h 2h) that makes dc_h / dv_k, at [k, h], of samples of dc/dv."""
    basis, project = _basis(harmonics, samples)
    return np.ascontiguousarray((basis.T[:, :, None] * project[:, None, :]).reshape(samples, -1))


def default_samples(harmonics: NDArray[np.int64], exponent: int = 99) -> int:
    """Return how many instants of half a period resolve c(t).

    Four to the period of the highest harmonic, at least 32; fewer where so many already leave no alias of v^n.
    """
    highest = int(harmonics[-1])
    return min(max(32, 4 * ((highest + 1) // 2) + 8), highest * (exponent + 1) // 2 + 2)


def _power(square: Real, exponent: int) -> Real | None:
    """Return square^exponent by squaring; None for the exponent 0."""
    out: Real | None = None
    while exponent:
        if exponent & 1:
            out = square if out is None else out * square
        exponent >>= 1
        if exponent:
            square = square * square
    return out


def _even_power(wave: Real, half: NDArray[np.int64], uniform: int | None) -> Real:
    """Return wave^(2 half) for waves (b, p, t) and half exponents (b, p), by squaring; ``uniform`` where all are
    alike.
    """
    square = wave * wave
    if uniform is not None:
        out = _power(square, uniform)
        return np.ones_like(wave) if out is None else out
    whole = np.ones_like(wave)
    while half.any():
        whole *= np.where((half & 1).astype(bool)[:, :, None], square, 1.0)
        half >>= 1
        square *= square
    return whole


class _Problem:
    """A batch in the form that Newton's method works on. Amplitudes are (b, p, h) here."""

    def __init__(self, batch: Batch, samples: int | None) -> None:
        n = int(batch.exponent.max())
        key = tuple(int(h) for h in batch.harmonics)
        count = samples or default_samples(batch.harmonics, n)
        self.basis, self.project = _basis(key, count)
        self.slopes = _slopes(key, count)
        jwk = 1j * batch.omega[:, None, None] * batch.harmonics[:, None] * batch.knee_flux[:, None, :]  # (b, h, p)
        self.knee_flux, self.knee_current = batch.knee_flux, batch.knee_current
        self.exponent = batch.exponent
        least = int(batch.exponent.min())
        self.uniform = (least - 1) >> 1 if least == n else None  # half the even power of v in the slope
        self.open = np.ascontiguousarray((batch.open / jwk).transpose(0, 2, 1))
        # W (b, h, p, q): from the current of port q to the flux of port p
        self.coupling = np.asarray(batch.impedance * (batch.knee_current[:, None, None, :] / jwk[..., None]))
        size = np.abs(self.coupling).max(axis=(1, 2))
        self.reach = np.asarray(size * batch.exponent)

    def keep(self, which: NDArray[np.int64] | Bool) -> None:
        """Go on with some of the problems."""
        self.knee_flux, self.knee_current = self.knee_flux[which], self.knee_current[which]
        self.exponent, self.reach = self.exponent[which], self.reach[which]
        self.open, self.coupling = self.open[which], self.coupling[which]

    def evaluate(
        self, v: Complex, wave: Real, which: NDArray[np.int64] | None = None
    ) -> tuple[Complex, Complex, Real, Real]:
        """Return F and c, dc/dv over n at every instant, and the sum of squares of F, of all or some problems."""
        exponent = self.exponent if which is None else self.exponent[which]
        coupling = self.coupling if which is None else self.coupling[which]
        opened = self.open if which is None else self.open[which]
        power = _even_power(wave, (exponent - 1) >> 1, self.uniform)
        c: Complex = ((power * wave) @ self.project).view(np.complex128)
        f = v - opened
        f += _drawn(coupling, c)
        flat = f.view(np.float64).reshape(len(f), -1)
        return f, c, power, np.einsum("bi,bi->b", flat, flat)

    def step(self, f: Complex, power: Real) -> Complex:
        """Return Newton's step. Raises LinAlgError where the equations are singular."""
        b, p, h = f.shape
        if b == 1 and p * h <= _FEW:
            matrix = _jacobian(self.gain(power, slice(None)), self.coupling)
            right = -f.view(np.float64).reshape(1, -1, 1)
            all_dv = np.linalg.solve(matrix.transpose(0, 2, 1), right).reshape(b, p, 2 * h)
            return np.asarray(all_dv.view(np.complex128))
        active = np.flatnonzero(((power.max(axis=2) * self.reach) > UNSATURATED).any(axis=0))
        if active.size == 0:
            return -f
        part = slice(None) if active.size == p else active
        gain = self.gain(power, part)
        coupling = self.coupling[..., part]
        matrix = _jacobian(gain, coupling[:, :, part])
        n = matrix.shape[1]
        right = -f[:, part].view(np.float64).reshape(b, n, 1)
        dv = np.linalg.solve(matrix.transpose(0, 2, 1), right).reshape(b, active.size, 2 * h)
        if active.size == p:
            return np.asarray(dv.view(np.complex128))
        dc = np.matmul(dv[:, :, None, :], gain)[:, :, 0].view(np.complex128)  # (b, q, h)
        out = -f
        out -= _drawn(coupling, dc)
        return out

    def gain(self, power: Real, part: slice | NDArray[np.int64]) -> Real:
        """Return dc/dv (b, q, 2h, 2h) of some ports: row the flux's, column the current's amplitude."""
        n = self.exponent[:, part]
        slope = power[:, part] * (n[:, :, None] if self.uniform is None else 2 * self.uniform + 1)
        h2 = self.basis.shape[0]
        return np.asarray((slope @ self.slopes).reshape(*n.shape, h2, h2))


def _drawn(coupling: Complex, c: Complex) -> Complex:
    """Return W c as (b, p, h) of currents (b, q, h)."""
    return np.asarray(np.matmul(coupling, c.transpose(0, 2, 1)[..., None])[..., 0].transpose(0, 2, 1))


def _jacobian(gain: Real, coupling: Complex) -> Real:
    """Return the transpose of dF/dv (b, p 2h, p 2h) of the ports whose gain and coupling are given."""
    b, q, h2, _ = gain.shape
    g = gain.view(np.complex128)[:, :, :, None, :]  # (b, q, 2h, 1, h)
    w = coupling.transpose(0, 3, 2, 1)[:, :, None]  # (b, q, 1, p, h)
    matrix = np.empty((b, q, h2, q, h2 // 2), dtype=np.complex128)
    if h2 <= q:  # numpy is slow along short last axes
        for h in range(h2 // 2):
            np.multiply(g[..., h], w[..., h], out=matrix[..., h])
    else:
        np.multiply(g, w, out=matrix)
    out: Real = matrix.view(np.float64).reshape(b, q * h2, q * h2)
    out.reshape(b, -1)[:, :: q * h2 + 1] += 1.0
    return out


def _try_step(problem: _Problem, f: Complex, power: Real) -> Complex:
    """Return Newton's step, not a number for the problems whose equations are singular."""
    try:
        return problem.step(f, power)
    except np.linalg.LinAlgError:
        out = np.full_like(f, np.nan)
        if len(f) == 1:
            return out
        for k in range(len(f)):
            alone = _part(problem, np.array([k]))
            out[k] = _try_step(alone, f[k : k + 1], power[k : k + 1])[0]
        return out


def _part(problem: _Problem, which: NDArray[np.int64]) -> _Problem:
    out = object.__new__(_Problem)
    out.__dict__.update(problem.__dict__)
    out.keep(which)
    return out


def solve(
    batch: Batch, start: Complex, *, samples: int | None = None, tolerance: float = 1e-10, max_iterations: int = 80
) -> Balance:
    """Solve every problem of the batch from the given flux amplitudes, shape (b, h, p).

    ``tolerance`` bounds the residual as flux over knee flux at every port and harmonic. A problem that does not get
    there is reported as not converged; its numbers must not be shown.
    """
    count, n_h = batch.omega.size, batch.harmonics.size
    if batch.knee_flux.shape[1] == 0 or count == 0:
        empty = np.zeros((count, n_h, batch.knee_flux.shape[1]), dtype=complex)
        return Balance(empty, empty.copy(), np.ones(count, dtype=bool), np.zeros(count), 0)
    problem = _Problem(batch, samples)
    v = np.ascontiguousarray((start / batch.knee_flux[:, None, :]).transpose(0, 2, 1), dtype=np.complex128)
    wave = v.view(np.float64) @ problem.basis
    f, c, power, merit = problem.evaluate(v, wave)
    ends = v.copy(), c.copy(), f.copy()
    place = np.arange(count)  # of the problems still at work
    enough, steps = tolerance * tolerance, 0
    working = ~(merit < enough) & np.isfinite(merit)
    while True:
        if steps >= max_iterations or not working.all():
            for end, now in zip(ends, (v, c, f), strict=True):
                end[place] = now
            here = np.flatnonzero(working)
            if steps >= max_iterations or here.size == 0:
                break
            place = place[here]
            problem.keep(here)
            v, wave, f, c, power, merit = v[here], wave[here], f[here], c[here], power[here], merit[here]
        steps += 1
        v, wave, f, c, power, merit, working = _advance(problem, v, wave, f, c, power, merit, enough)
    all_v, all_c, all_f = ends
    residual = np.abs(all_f).max(axis=(1, 2))
    flux = (all_v * batch.knee_flux[:, :, None]).transpose(0, 2, 1)
    current = (all_c * batch.knee_current[:, :, None]).transpose(0, 2, 1)
    return Balance(flux, current, residual < tolerance, residual, steps)


def _advance(
    problem: _Problem, v: Complex, wave: Real, f: Complex, c: Complex, power: Real, merit: Real, enough: float
) -> tuple[Complex, Real, Complex, Complex, Real, Real, Bool]:
    """Take one step of every problem, halved until F falls; the last value says which have neither arrived nor given
    up.
    """
    dv = _try_step(problem, f, power)
    dwave = dv.view(np.float64) @ problem.basis
    swing = np.abs(dwave).reshape(len(dwave), -1).max(axis=1)
    if not (swing <= 1.0).all():
        scale = (1.0 / np.maximum(1.0, swing))[:, None, None]
        dv, dwave = dv * scale, dwave * scale
    tv, tw = v + dv, wave + dwave
    tf, tc, tp, tm = problem.evaluate(tv, tw)
    arrived = tm < enough
    good = (tm < merit * _FALL) | arrived
    if good.all():
        return tv, tw, tf, tc, tp, tm, ~arrived
    waiting = np.flatnonzero(~good)
    share = 1.0
    for _ in range(_HALVINGS - 1):
        share *= 0.5
        hv, hw = v[waiting] + share * dv[waiting], wave[waiting] + share * dwave[waiting]
        hf, hc, hp, hm = problem.evaluate(hv, hw, waiting)
        fine = (hm < merit[waiting] * _FALL) | (hm < enough)
        won = waiting[fine]
        for kept, found in ((tv, hv), (tw, hw), (tf, hf), (tc, hc), (tp, hp), (tm, hm)):
            kept[won] = found[fine]
        waiting = waiting[~fine]
        if waiting.size == 0:
            break
    working = ~(tm < enough)
    if waiting.size:  # no shorter step helps: they stay where they are and give up
        tv[waiting], tf[waiting], tc[waiting] = v[waiting], f[waiting], c[waiting]
        working[waiting] = False
    return tv, tw, tf, tc, tp, tm, working


def determinant_sign(batch: Batch, flux: Complex, samples: int | None = None) -> Real:
    """Return the sign of det J at each solution: +1 on a branch that is reached without passing a fold, -1 between
    two folds.

    Between two folds lies the middle one of three states, which the time-domain circuit does not settle on.
    """
    problem = _Problem(batch, samples)
    v = np.ascontiguousarray((flux / batch.knee_flux[:, None, :]).transpose(0, 2, 1), dtype=np.complex128)
    power = problem.evaluate(v, v.view(np.float64) @ problem.basis)[2]
    every = slice(None)
    return np.asarray(np.linalg.slogdet(_jacobian(problem.gain(power, every), problem.coupling))[0])
