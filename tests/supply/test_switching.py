"""Switch-on in time: exact circuits, order of convergence, and the harmonic-balance steady state that it settles
into.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from samples import MAINS, PARTS, pair

from coilwright.supply.build import build
from coilwright.supply.network import EARTH, Branch, Network, Source
from coilwright.supply.operating import operating
from coilwright.supply.steady import solve_network
from coilwright.supply.switching import closing_peak, switch_on


def test_inductor_switched_on_at_the_zero_crossing_peaks_at_twice():
    # Exact: a pure inductance at the zero crossing carries V/(w L) (1 - cos wt), twice the steady peak: flux doubling.
    ell = 0.1
    network = Network(
        50, sources=(Source("s", "a", EARTH, 100 + 0j, 1e-9, 0.0),), branches=(Branch("l", "a", EARTH, 0, ell),)
    )
    assert switch_on(network, 0.0).peak() == pytest.approx(2 * 100 / (2 * pi * 50 * ell), rel=1e-4)
    assert switch_on(network, pi / 2).peak() == pytest.approx(100 / (2 * pi * 50 * ell), rel=1e-4)


def test_error_falls_with_the_square_of_the_step():
    # The trapezoidal rule is of second order; R-L switched on at phase 0 has a textbook answer.
    r, ell, v = 2.0, 0.02, 100.0
    omega = 2 * pi * 50
    phi, z = np.arctan2(omega * ell, r), abs(r + 1j * omega * ell)
    network = Network(
        50, sources=(Source("s", "a", EARTH, v + 0j, r, 0.0),), branches=(Branch("l", "a", EARTH, 0, ell),)
    )
    errors = []
    for steps in (100, 200, 400):
        got = switch_on(network, 0.0, steps=steps)
        exact = v / z * (np.sin(omega * got.time - phi) + np.sin(phi) * np.exp(-r / ell * got.time))
        errors.append(np.abs(got.currents["s"] - exact).max())
    slopes = [np.log2(errors[k] / errors[k + 1]) for k in (0, 1)]
    assert slopes == pytest.approx([2, 2], abs=0.15)


def test_it_settles_into_the_harmonic_balance_state():
    network = build(pair(), PARTS, MAINS).with_load(8e3)
    steady = operating(solve_network(network), 8e3)
    last = switch_on(network, pi / 2, cycles=25, steps=300).currents["mains.line"][-300:]
    assert sqrt(float((last**2).mean())) == pytest.approx(steady.mains_current, rel=2e-3)


def test_closing_a_capacitor_matches_the_series_rlc_table():
    # Reference rows (closed form, computed to 34 digits): L 20 uH, C 10 nF, R 5 ohm: i_peak 0.0205 A/V class; here
    # the exact
    # expression is evaluated independently from the roots of the characteristic equation.
    ell, c, r = 20e-6, 10e-9, 5.0
    roots = np.roots([ell, r, 1 / c])
    t = np.linspace(0, 4 * sqrt(ell * c), 400001)
    current = (np.exp(roots[0] * t) - np.exp(roots[1] * t)) / (ell * (roots[0] - roots[1]))
    assert closing_peak(1.0, c, ell, r) == pytest.approx(current.real.max(), rel=1e-9)


def test_overdamped_closing_is_bounded_by_the_resistance():
    assert closing_peak(325.0, 1e-6, 1e-6, 10.0) == pytest.approx(32.5)
