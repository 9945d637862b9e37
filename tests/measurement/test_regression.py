"""Least squares with priors: against the closed form of a straight-line problem."""

from __future__ import annotations

import numpy as np
import pytest

from coilwright.measurement.regression import ITERATIONS, Point, least_misfit, solve

SLOPES = np.array([[1.0, 0.5], [0.2, -1.0], [1.0, 1.0], [0.0, 2.0]])
READ = np.array([1.0, -0.4, 1.7, 0.9])
SIGMA = np.array([0.1, 0.2, 0.1, 0.3])
CENTRE, PRIOR = np.array([0.5, 0.2]), np.array([0.4, 0.6])


def _line(theta, flux):
    del flux
    return Point(SLOPES @ theta, SLOPES, np.zeros(4), np.zeros(4), np.zeros(0, dtype=complex), True)


def _noise(point):
    del point
    return np.diag(SIGMA**2)


def _closed_form(sigma, prior):
    """Generalised least squares: readings and priors as the rows of one overdetermined system."""
    rows = np.concatenate([SLOPES / sigma[:, None], np.diag(1 / prior)])
    right = np.concatenate([READ / sigma, CENTRE / prior])
    theta, (misfit,), *_ = np.linalg.lstsq(rows, right, rcond=None)
    return theta, misfit, np.linalg.inv(rows.T @ rows)


def _solved(**how):
    return solve(_line, READ, _noise, CENTRE, PRIOR, np.zeros(2), **how)


def test_straight_lines_follow_the_closed_form():
    # A least-squares solution by orthogonal factors (LAPACK through numpy) is the second route.
    found, (theta, misfit, covariance) = _solved(), _closed_form(SIGMA, PRIOR)
    assert found.converged
    assert found.theta == pytest.approx(theta, abs=5e-3)
    assert found.cost - found.logdet == pytest.approx(misfit, abs=1e-3)
    assert found.covariance == pytest.approx(covariance, rel=1e-9)


@pytest.mark.parametrize("loose", range(4))
def test_what_is_left_if_one_reading_were_anything(loose):
    # From a fit that still trusts it: the least misfit with that reading's sigma raised, and with a prior widened.
    point = _solved().point
    sigma = np.where(np.arange(4) == loose, 2.0, SIGMA)
    distance = _solved().theta - CENTRE
    for prior in (PRIOR, np.array([2.0, 0.6])):
        left = least_misfit(point, np.diag(sigma**2), READ, distance, 1 / prior**2)
        assert left == pytest.approx(_closed_form(sigma, prior)[1], rel=1e-9)


def test_a_known_beginning_and_a_limit_of_steps():
    calls = []

    def counted(theta, flux):
        calls.append(theta)
        return _line(theta, flux)

    begin = _line(np.zeros(2), None)
    solve(counted, READ, _noise, CENTRE, PRIOR, np.zeros(2), begin=begin, most=1)
    assert len(calls) == 1 < ITERATIONS
