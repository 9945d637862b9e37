"""Harmonic balance of the iron ports, many problems at once.

For each problem and odd harmonic h::

    F = j h w Lam - V_open + Z I(Lam) = 0,      i(t) = Ik (lam(t) / lk)^n

Lam are the complex flux amplitudes of the ports. I follows from lam(t) at ``samples`` instants of half a period
(everything is odd about half a period). Newton with the exact Jacobian, a limit on the flux step and backtracking;
all problems of a batch advance together, those that have converged drop out. (Harmonic balance: Nakhla and Vlach, "A
piecewise harmonic balance technique ...", IEEE Trans. Circuits and Systems 23 (1976) 85, from memory.)
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]
Bool = NDArray[np.bool_]


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
    """Return B (t, 2h), which makes time samples of [Re, Im] amplitudes, and its projection back (2h, t)."""
    angle = np.pi * np.arange(samples)[:, None] / samples * np.array(harmonics)
    b = np.concatenate([np.cos(angle), -np.sin(angle)], axis=1)
    return b, 2 / samples * b.T


def default_samples(harmonics: NDArray[np.int64]) -> int:
    """Return how many instants of half a period resolve i(t): four to the period of the highest harmonic, at least
    32.
    """
    return int(max(32, 4 * ((harmonics.max() + 1) // 2) + 8))


def _split(z: Complex) -> Real:
    """(b, h, p) complex -> (b, p, 2h) real, [Re, Im]."""
    t = z.transpose(0, 2, 1)
    return np.concatenate([t.real, t.imag], axis=2)


def _join(u: Real) -> Complex:
    h = u.shape[2] // 2
    return np.asarray((u[:, :, :h] + 1j * u[:, :, h:]).transpose(0, 2, 1))


def _currents(batch: Batch, u: Real, samples: int) -> tuple[Real, Real]:
    """Return port currents (b, p, 2h) and the slope di/dlam at every instant (b, p, t)."""
    basis, project = _basis(tuple(int(h) for h in batch.harmonics), samples)
    ratio = (u @ basis.T) / batch.knee_flux[:, :, None]
    n = batch.exponent[:, :, None]
    power = ratio ** (n - 1)
    slope = batch.knee_current[:, :, None] * n / batch.knee_flux[:, :, None] * power
    return (batch.knee_current[:, :, None] * power * ratio) @ project.T, slope


def _residual(batch: Batch, u: Real, samples: int) -> tuple[Complex, Real, Complex]:
    """Return F (b, h, p) scaled to flux over knee flux, the slopes, and the currents (b, h, p)."""
    i, slope = _currents(batch, u, samples)
    lam, cur = _join(u), _join(i)
    jw = 1j * batch.omega[:, None, None] * batch.harmonics[None, :, None]
    f = lam + (np.einsum("bhpq,bhq->bhp", batch.impedance, cur) - batch.open) / jw
    return f / batch.knee_flux[:, None, :], slope, cur


def _jacobian(batch: Batch, slope: Real, samples: int) -> Real:
    """Return dF/du of the scaled residual, (b, p 2h, p 2h)."""
    b, p = batch.knee_flux.shape
    h = batch.harmonics.size
    basis, project = _basis(tuple(int(k) for k in batch.harmonics), samples)
    g = project @ (slope[..., None] * basis)  # (b, q, 2h, 2h)
    jw = 1j * batch.omega[:, None, None, None] * batch.harmonics[None, :, None, None]
    y = (batch.impedance / jw / batch.knee_flux[:, None, :, None]).transpose(0, 2, 3, 1)  # (b, p, q, h)
    re, im = y.real[..., None], y.imag[..., None]
    top, bottom = g[:, None, :, :h, :], g[:, None, :, h:, :]
    out = np.empty((b, p, 2 * h, p, 2 * h))
    out[:, :, :h] = (re * top - im * bottom).transpose(0, 1, 3, 2, 4)
    out[:, :, h:] = (im * top + re * bottom).transpose(0, 1, 3, 2, 4)
    jacobian: Real = out.reshape(b, p * 2 * h, p * 2 * h)
    k = np.arange(p * 2 * h)
    jacobian[:, k, k] += np.repeat(1 / batch.knee_flux, 2 * h, axis=1)
    return jacobian


def solve(
    batch: Batch, start: Complex, *, samples: int | None = None, tolerance: float = 1e-10, max_iterations: int = 80
) -> Balance:
    """Solve every problem of the batch from the given flux amplitudes, shape (b, h, p).

    ``tolerance`` bounds the residual as flux over knee flux at every port and harmonic. A problem that does not get
    there is reported as not converged; its numbers must not be shown.
    """
    samples = samples or default_samples(batch.harmonics)
    count, n_h = batch.omega.size, batch.harmonics.size
    if batch.knee_flux.shape[1] == 0:
        empty = np.zeros((count, n_h, 0), dtype=complex)
        return Balance(empty, empty, np.ones(count, dtype=bool), np.zeros(count), 0)
    u = _split(start).copy()
    f, slope, current = _residual(batch, u, samples)
    merit = np.sqrt((np.abs(f) ** 2).sum(axis=(1, 2)))
    done = np.abs(f).max(axis=(1, 2)) < tolerance
    dead = ~np.isfinite(merit)
    steps = 0
    basis = _basis(tuple(int(h) for h in batch.harmonics), samples)[0]
    while steps < max_iterations:
        active = np.flatnonzero(~done & ~dead)
        if active.size == 0:
            break
        steps += 1
        sub = batch.take(active)
        try:
            du = np.linalg.solve(
                _jacobian(sub, slope[active], samples), -_split(f[active]).reshape(active.size, -1)[..., None]
            )[..., 0]
        except np.linalg.LinAlgError:
            dead[active] = True
            break
        du = du.reshape(u[active].shape)
        swing = np.abs(du @ basis.T / sub.knee_flux[:, :, None]).max(axis=(1, 2))
        scale = np.minimum(1.0, 1.0 / np.maximum(swing, 1e-30))
        waiting = np.arange(active.size)
        for attempt in range(12):
            part = sub.take(waiting)
            trial = u[active[waiting]] + scale[waiting, None, None] * du[waiting]
            tf, ts, tc = _residual(part, trial, samples)
            tm = np.sqrt((np.abs(tf) ** 2).sum(axis=(1, 2)))
            good = tm < merit[active[waiting]] * (1 - 1e-4 * scale[waiting])
            good |= np.abs(tf).max(axis=(1, 2)) < tolerance
            if attempt == 11:
                dead[active[waiting[~good]]] = True
            won = active[waiting[good]]
            u[won], f[won], slope[won], current[won], merit[won] = trial[good], tf[good], ts[good], tc[good], tm[good]
            waiting = waiting[~good]
            if waiting.size == 0:
                break
            scale[waiting] *= 0.5
        done = np.abs(f).max(axis=(1, 2)) < tolerance
    residual = np.abs(f).max(axis=(1, 2))
    return Balance(_join(u), current, done, residual, steps)


def determinant_sign(batch: Batch, flux: Complex, samples: int | None = None) -> Real:
    """Return the sign of det J at each solution: +1 on a branch that is reached without passing a fold, -1 between
    two folds.

    Between two folds lies the middle one of three states, which the time-domain circuit does not settle on.
    """
    samples = samples or default_samples(batch.harmonics)
    _, slope, _ = _residual(batch, _split(flux), samples)
    return np.asarray(np.linalg.slogdet(_jacobian(batch, slope, samples))[0])
