"""The search for several steady states, against the roots of a polynomial; and how many harmonics a state is given."""

from __future__ import annotations

import numpy as np
import pytest
from samples import MAINS, OMEGA, PARTS, pair

from coilwright.magnetics.iron import Iron, mean_even_power
from coilwright.supply.build import build
from coilwright.supply.gap_missing import at, follow, scan
from coilwright.supply.network import EARTH, Branch, Capacitance, Network, Port, Source
from coilwright.supply.search import Search
from coilwright.supply.solving import next_order
from coilwright.supply.steady import all_states, family_of, output_peak, refined, rms, solve_network

IRON = Iron(2.0, 1.0, 0.3, 9)


def resonant_circuit(volts: float, ohm: float, farad: float) -> Network:
    """Return a source, a resistance, a capacitor and one iron path in series."""
    return Network(
        50, sources=(Source("s", "a", EARTH, volts + 0j, ohm, 0.0),), branches=(Branch("tie", "b", "c"),),
        capacitances=(Capacitance("c", "a", "b", farad),), ports=(Port("p", "c", EARTH, IRON),), output=("c", EARTH),
    )  # fmt: skip


def fluxes_by_polynomial(volts: float, ohm: float, farad: float) -> list[float]:
    """Return the flux peaks that satisfy (w x - I/(w C))^2 + (R I)^2 = V^2, I the fundamental of the iron's current.

    I(x) = x/L0 + 2 m(n+1) Ik (x/lk)^n is in phase with a sine flux of peak x (describing function; m by the Wallis
    integrals, Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 6.1.49), so this is a polynomial.
    """
    current = np.zeros(IRON.exponent + 1)
    current[-2] = 1 / IRON.inductance
    current[0] = 2 * mean_even_power(IRON.exponent + 1) * IRON.knee_current / IRON.knee_flux**IRON.exponent
    flux = np.zeros_like(current)
    flux[-2] = OMEGA
    reactive = flux - current / (OMEGA * farad)
    whole = np.polyadd(np.polymul(reactive, reactive), ohm**2 * np.polymul(current, current))
    whole[-1] -= volts**2
    return sorted(float(r.real) for r in np.roots(whole) if abs(r.imag) < 1e-7 and r.real > 0)


@pytest.mark.parametrize(
    ("volts", "microfarad", "count"), [(300.0, 8.0, 1), (120.0, 12.0, 3), (100.0, 20.0, 3), (20.0, 20.0, 1)]
)
def test_every_root_of_the_fundamental_is_found_and_the_middle_one_is_told(volts, microfarad, count):
    network = resonant_circuit(volts, 20.0, microfarad * 1e-6)
    search = Search(family_of([network]), highest=1, limit=1)
    search.from_many_starts(60)
    states = sorted(search.states(0), key=lambda s: abs(s.flux[0, 0]))
    wanted = fluxes_by_polynomial(volts, 20.0, microfarad * 1e-6)
    assert len(wanted) == count
    assert [float(abs(s.flux[0, 0])) for s in states] == pytest.approx(wanted, rel=1e-8)
    # The amplitude at which a resonant circuit jumps lies between the outer two; on the middle one it never rests.
    assert [s.settles for s in states] == ([True] if count == 1 else [True, False, True])


def test_a_state_is_followed_over_a_range_where_no_start_finds_it():
    # From the upper state at one capacitance alone, without a random start elsewhere.
    farads = np.linspace(8e-6, 14e-6, 7)
    networks = [resonant_circuit(120.0, 20.0, c) for c in farads]
    search = Search(family_of(networks), highest=1, limit=1)
    upper = all_states(networks[0], measure=lambda s: abs(s.flux[0, 0]), starts=40)[0]
    assert len(search.add([[upper.flux], *[[]] * 6])[0]) == 1
    follow(search, 7)
    for k, c in enumerate(farads):
        highest = max(abs(s.flux[0, 0]) for s in search.states(k))
        assert highest == pytest.approx(fluxes_by_polynomial(120.0, 20.0, c)[-1], rel=1e-8)


def test_the_states_given_out_have_converged_and_carry_the_harmonics_they_need():
    network = build(pair(), PARTS, MAINS).with_capacitor(50e-9)
    states = all_states(network, starts=24)
    for state in states:
        assert state.residual < 1e-10
        knee = state.equations.iron[0]
        assert (np.abs(state.flux[-2:]) / knee).max() < 1e-5 or state.harmonics[-1] == 61
        finer = refined(state, tail=1e-8)
        assert finer.harmonics.size > state.harmonics.size
        assert output_peak(finer) == pytest.approx(output_peak(state), rel=2e-4)
    assert [output_peak(s) for s in states] == sorted(map(output_peak, states), reverse=True)


@pytest.mark.slow
def test_the_scan_holds_every_state_that_a_search_at_one_capacitance_finds():
    network = build(pair(), PARTS, MAINS)
    points = scan(network, 350e-9)
    for point in points[::6]:
        alone, _ = at(network, point.capacitance)
        for peak in alone.peaks:
            assert min(abs(p / peak - 1) for p in point.peaks) < 1e-4
        for joint, volts in alone.ends.items():
            assert point.ends[joint] >= volts * (1 - 1e-4)


def test_harmonics_are_added_as_fast_as_the_flux_falls_off():
    def wave(ratio: float, n: int) -> np.ndarray:
        return (ratio ** np.arange(n))[:, None].astype(complex)

    knee = np.ones(1)
    assert next_order(wave(1e-2, 7), knee, 13) == 13  # 1e-10 at the 11th already
    for ratio in (0.3, 0.5, 0.6):
        first = next_order(wave(ratio, 7), knee, 13)
        assert 13 < first <= 27
        order = 13
        while (more := next_order(wave(ratio, (order + 1) // 2), knee, order)) > order:
            order = more
        assert ratio ** ((order + 1) // 2 - 2) <= 1e-5  # the second highest, the larger of the two that count
        assert ratio ** ((order + 1) // 2 - 2) > 1e-5 * ratio**4  # and not many more than that
    assert next_order(wave(1.0, 7), knee, 13) == 27  # no fall at all: twice as many
    assert next_order(wave(1.0, 31), knee, 61) == 61
    assert next_order(np.ones((1, 1), dtype=complex), knee, 1) == 3


def test_more_harmonics_change_a_solved_state_by_less_than_the_target():
    network = build(pair(), PARTS, MAINS).with_load(0.0)
    state, finer = solve_network(network), solve_network(network, highest=61)
    assert state.harmonics[-1] < 61 == finer.harmonics[-1]
    assert rms(state.current("load")) == pytest.approx(rms(finer.current("load")), rel=1e-6)
    assert rms(state.current("mains.line")) == pytest.approx(rms(finer.current("mains.line")), rel=1e-6)
