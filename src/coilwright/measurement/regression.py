"""Least squares of logarithms with priors, and what one reading left out would say.

    minimise  (y - f)' C^-1 (y - f) + sum ((theta - theta0) / sigma0)^2

C holds each reading's own error and, shared by the readings of one test, the error of its applied volts times the
slope of each prediction. The covariance of theta is the inverse of J' C^-1 J + priors (Gauss-Newton with Levenberg's
damping; Press et al., "Numerical Recipes", 3rd ed., section 15.5, from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: Steps after which a search ends without an answer.
ITERATIONS = 40
_LARGEST_STEP = 1.5
#: Squared distance to the minimum, in standard deviations, at which the search ends.
_SMALL = 4e-4
#: The same after ``_SETTLED`` steps: a tenth of a standard deviation is nothing to a band.
_ENOUGH = 1e-2
#: C moves with the slopes; after so many steps it is held, so that the search ends.
_SETTLED = 10


@dataclass(frozen=True)
class Point:
    """Linearisation at one theta: predictions (o,), Jacobian (o, f), slope with the applied volts (o,), and the
    fluxes.

    ``spread`` (o,) is a further standard deviation, where the meter's response is not known.
    """

    predicted: Real
    jacobian: Real
    slope: Real
    spread: Real
    flux: Complex
    converged: bool


@dataclass(frozen=True)
class Solved:
    """Outcome. ``deviation`` (o,): each reading against what all the others predict, over its standard deviation.

    ``left_out_variance`` (o,) is that variance; ``cost`` is twice the negative logarithm of the belief, up to a
    constant, and holds ``logdet``, the logarithm of the determinant of C. ``point`` is the linearisation at theta.
    """

    theta: Real
    covariance: Real
    cost: float
    logdet: float
    predicted: Real
    deviation: Real
    left_out: Real
    left_out_variance: Real
    converged: bool
    point: Point


def noise_covariance(point: Point, sigma: Real, tests: NDArray[np.int64], applied_sigma: Real) -> Real:
    """Return C (o, o) from each reading's own sigma and the sigma of the applied volts of each test."""
    c = np.diag(sigma**2 + point.spread**2)
    for k, applied in enumerate(applied_sigma):
        s = np.where(tests == k, point.slope, 0.0) * applied
        c += np.outer(s, s)
    return np.asarray(c)


def solve(
    linearise: Callable[[Real, Complex | None], Point],
    y: Real,
    noise_of: Callable[[Point], Real],
    centre: Real,
    sigma: Real,
    start: Real,
    *,
    begin: Point | None = None,
    most: int = ITERATIONS,
) -> Solved:
    """Return the least-squares solution from ``start``. Unknowns with sigma 0 stay at their centre.

    ``begin`` is the linearisation at ``start``, where it is known; the search ends after ``most`` steps.
    """
    free = np.flatnonzero(sigma > 1e-9)
    weight = 1 / sigma[free] ** 2
    theta, damping, ok = start.copy(), 1e-3, False
    point = linearise(theta, None) if begin is None else begin
    noise = noise_of(point)
    for iteration in range(most):
        inverse = np.linalg.inv(noise)
        r, d = y - point.predicted, theta[free] - centre[free]
        cost = float(r @ inverse @ r + d @ (weight * d))
        h = point.jacobian.T @ inverse @ point.jacobian + np.diag(weight)
        g = point.jacobian.T @ inverse @ r - weight * d
        decrement = float(g @ np.linalg.solve(h, g))
        ok = decrement < _SMALL or (iteration > _SETTLED and decrement < _ENOUGH)
        if ok:
            break
        step = np.clip(np.linalg.solve(h + damping * np.diag(np.diag(h)), g), -_LARGEST_STEP, _LARGEST_STEP)
        trial = theta.copy()
        trial[free] += step
        new = linearise(trial, point.flux)
        rn, dn = y - new.predicted, trial[free] - centre[free]
        fall = cost - float(rn @ inverse @ rn + dn @ (weight * dn)) if new.converged else -np.inf
        share = fall / float(2 * g @ step - step @ h @ step)
        if share > 0:
            theta, point = trial, new
            if iteration < _SETTLED:
                noise = noise_of(point)
        # Little of the promised fall means that the slope turns within the step: shorter ones, until it does not.
        if share > 0.75:
            damping = max(damping / 10, 1e-6)
        elif share < 0.25:
            damping = max(damping * 8, 0.05)
            if damping > 1e8:
                break
    return _finish(theta, point, noise, y, centre, weight, free, ok)


def _finish(
    theta: Real, point: Point, noise: Real, y: Real, centre: Real, weight: Real, free: NDArray[np.int64], ok: bool
) -> Solved:
    inverse = np.linalg.inv(noise)
    r, d = y - point.predicted, theta[free] - centre[free]
    small = np.linalg.inv(point.jacobian.T @ inverse @ point.jacobian + np.diag(weight))
    covariance = np.zeros((theta.size, theta.size))
    covariance[np.ix_(free, free)] = small
    cost = float(r @ inverse @ r + d @ (weight * d))
    logdet = float(np.linalg.slogdet(noise)[1]) if noise.size else 0.0
    cost += logdet
    # With M the precision of y seen through priors and unknowns, the residual of a reading left out is (C^-1 r)_k /
    # M_kk.
    m = inverse - inverse @ point.jacobian @ small @ point.jacobian.T @ inverse
    precision = np.maximum(np.diag(m), 1e-12)
    pull = inverse @ r
    return Solved(
        theta,
        covariance,
        cost,
        logdet,
        point.predicted,
        pull / np.sqrt(precision),
        pull / precision,
        1 / precision,
        ok and point.converged,
        point,
    )


def least_misfit(point: Point, noise: Real, y: Real, distance: Real, weight: Real) -> float:
    """Return the least sum of squares that the straight lines through a point promise.

    ``distance`` (f,) is the unknowns' distance to their priors' centres and ``weight`` (f,) the priors' precision, as
    the sum is to count them: both, and ``noise``, may be others than those that the point was found with.
    """
    inverse = np.linalg.inv(noise)
    r = y - point.predicted
    h = point.jacobian.T @ inverse @ point.jacobian + np.diag(weight)
    g = point.jacobian.T @ inverse @ r - weight * distance
    return float(r @ inverse @ r + distance @ (weight * distance) - g @ np.linalg.solve(h, g))
