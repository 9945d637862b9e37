"""Which of several steady states a real circuit rests on, against the same circuit stepped in time by scipy."""

from __future__ import annotations

from math import pi

import numpy as np
from scipy.integrate import solve_ivp

from coilwright.magnetics.iron import Iron
from coilwright.supply.network import EARTH, Capacitance, Conductance, Network, Port, Source
from coilwright.supply.steady import Steady, all_states

OMEGA, PEAK, SERIES, FARADS, LEAK = 2 * pi * 50, 40.0, 20.0, 10e-6, 20e3
IRON = Iron(1.5, 0.9, 0.8, 5)


def ferroresonant() -> list[Steady]:
    network = Network(
        50, sources=(Source("s", "a", EARTH, complex(PEAK), SERIES, 0.0),),
        capacitances=(Capacitance("c", "a", "b", FARADS),), conductances=(Conductance("g", "b", EARTH, LEAK),),
        ports=(Port("p", "b", EARTH, IRON),), output=("b", EARTH),
    )  # fmt: skip
    return all_states(network, starts=24)


def flux_after(state: Steady, cycles: int, push: float) -> float:
    """Return how far the flux is from the state's own after whole cycles, over the knee, begun ``push`` beside it."""

    def slope(t: float, y: np.ndarray) -> list[float]:
        flux, charge = y
        iron = float(IRON.current(flux))
        across = (PEAK * np.cos(OMEGA * t) - SERIES * iron - charge / FARADS) / (1 + SERIES / LEAK)
        return [across, iron + across / LEAK]

    flux = float(state.flux[:, 0].real.sum())
    charge = FARADS * float(state.voltage("a", "b").real.sum())
    done = solve_ivp(slope, (0.0, cycles / 50), [flux + push * IRON.knee_flux, charge], "LSODA", rtol=1e-8, atol=1e-10)
    return abs(float(done.y[0, -1]) - flux) / IRON.knee_flux


def test_only_the_middle_one_of_three_ferroresonant_states_does_not_settle():
    # C. Hayashi, Nonlinear Oscillations in Physical Systems (1964), chapters on ferroresonance, from memory: of three
    # periodic states of a series circuit of capacitor and saturable coil the middle one is unstable. Checked here by
    # integrating that circuit in time with scipy, an independent route: pushed by 2 % of the knee flux, a state that
    # settles comes back, the other one leaves for good.
    states = ferroresonant()
    assert [s.settles for s in states] == [True, False, True]
    for state in states:
        left = flux_after(state, 60, 0.02)
        assert left < 1e-3 if state.settles else left > 0.2, (state.settles, left)


def test_where_there_is_one_state_it_settles():
    # Without capacitance the energy can only fall: one state, and it settles.
    network = Network(
        50, sources=(Source("s", "a", EARTH, complex(PEAK), SERIES, 0.0),), ports=(Port("p", "a", EARTH, IRON),),
        output=("a", EARTH),
    )  # fmt: skip
    assert [s.settles for s in all_states(network, starts=12)] == [True]
