"""The test by which a sense of the windings is given up."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2

from coilwright.measurement.senses import Expected, likelihood, possible


@pytest.mark.parametrize("off", [0.0, 0.5, 2.0, 5.0])
def test_likelihood_is_the_upper_tail_of_chi_squared(off: float) -> None:
    # scipy.stats.chi2.sf, a general-purpose library, on a covariance written down by hand.
    shape = Expected(np.array([10.0, 5.0]), np.array([[0.2, -0.1]]), np.array([0.0, 0.1]), np.array([10.0, 10.0]))
    meter = np.array([0.1, 0.1])
    m, r = shape.moves, shape.readings
    cov = m.T @ m + 0.3**2 * np.outer(r, r) + np.diag(meter**2 + 0.3**2 + np.array([0.0, 0.01]))
    read = r + np.array([off, -off])
    expected = chi2.sf((read - r) @ np.linalg.inv(cov) @ (read - r), 2)
    assert likelihood(read, shape, meter) == pytest.approx(expected, rel=1e-9)


def test_what_is_rarer_than_one_in_ten_thousand_is_given_up() -> None:
    one = Expected(np.array([20.0, 12.0]), np.zeros((1, 2)), np.zeros(2), np.array([12.0, 12.0]))
    other = Expected(np.array([2.0, 12.0]), np.zeros((1, 2)), np.zeros(2), np.array([12.0, 12.0]))
    meter = np.array([0.2, 0.2])
    assert possible(np.array([20.1, 12.0]), [one, other], meter) == [0]
    assert possible(np.array([2.1, 12.0]), [one, other], meter) == [1]
    assert possible(np.array([9.0, 12.0]), [one, other], meter) == []
