"""The filter between supply and gap, and the choke in its place, against scipy.signal and energy balances."""

from __future__ import annotations

from math import log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, signal

from coilwright.model.preferred import E6, E12, R10, preferred_above, preferred_below
from coilwright.protection.surge_filter import (
    Leg,
    advise,
    attenuation,
    choke_ring,
    corner_frequency,
    drop,
    heat,
    needs,
    ring_energy,
    rise_time,
    surge,
)

LEG = Leg(1800.0, 0.3, 2000.0, 3000.0, 200.0, 300e-12, 50.0)


@pytest.mark.parametrize("frequency", [1e3, 30e3, 159.155e3, 400e3, 3e6])
def test_attenuation_is_that_of_a_first_order_filter(frequency):
    # scipy.signal: transfer function 1 / (1 + s R C)
    r, c = 1e3, 1e-9
    _, h = signal.freqs([1.0], [r * c, 1.0], worN=[2 * pi * frequency])
    assert attenuation(frequency, r, c) == pytest.approx(abs(h[0]), rel=1e-12)


def test_the_corner_is_where_half_the_power_is_left():
    # 1 kohm and 1 nF: 159.155 kHz, any text on circuits
    assert corner_frequency(1e3, 1e-9) == pytest.approx(159.155e3, rel=1e-5)
    assert attenuation(corner_frequency(470.0, 2e-9), 470.0, 2e-9) == pytest.approx(1 / sqrt(2))


def test_the_rise_from_a_step_is_scipys():
    r, c = 330.0, 2.2e-9
    time, out = signal.step(([1.0], [r * c, 1.0]), T=np.linspace(0, 8 * r * c, 20001))
    rise = np.interp(0.9, out, time) - np.interp(0.1, out, time)
    assert rise_time(r, c) == pytest.approx(rise, rel=1e-4)


def test_a_bang_leaves_the_whole_charge_of_the_capacitor_in_the_resistor():
    # energy of a charged capacitor C V^2 / 2, by integrating i^2 R of the exponential
    r, c, v = 470.0, 3.3e-9, 2500.0
    s = surge(r, c, v)
    left, _ = integrate.quad(lambda t: (v / r) ** 2 * np.exp(-2 * t / (r * c)) * r, 0, 40 * r * c)
    assert s.energy == pytest.approx(left, rel=1e-6)
    assert (s.current_peak, s.power_peak) == (pytest.approx(v / r), pytest.approx(v**2 / r))


def test_the_ring_of_a_tank_across_the_supply_by_stepping_the_filter():
    # a decaying cosine through R and C, scipy.signal.lsim; the closed form is for many periods in the decay
    r, c, v, f, q = 470.0, 5e-9, 2000.0, 200e3, 60.0
    tau = q / (pi * f)
    t = np.linspace(0, 6 * tau, 400001)
    drive = v * np.exp(-t / tau) * np.sin(2 * pi * f * t)
    _, current, _ = signal.lsim(([c, 0.0], [r * c, 1.0]), drive, t)
    assert ring_energy(r, c, v, f, q) == pytest.approx(np.trapezoid(current**2 * r, t), rel=0.03)


def test_heat_of_one_leg_by_hand():
    # 0.3 A through 220 ohm: 19.8 W; 2.2 nF at 2 kV, 200 times a second: 4.4 mJ x 200 = 0.88 W
    h = heat(LEG, 220.0, 2.2e-9)
    assert h.supply == pytest.approx(19.8)
    assert h.surge == pytest.approx(0.88)
    assert h.ring == 0.0 and h.resistor == pytest.approx(20.68)
    assert heat(LEG, 220.0, 2.2e-9, (200e3, 15.0)).ring > h.surge
    n = needs(LEG, 220.0, 2.2e-9, h)
    assert n.resistor_power == pytest.approx(2 * 20.68)
    assert (n.resistor_peak, n.pieces) == (6000.0, 12)
    assert n.capacitor_rms == pytest.approx(1980.0) and n.capacitor_peak == 3000.0


def test_current_of_the_capacitor_is_mains_and_bangs_in_squares():
    n = needs(LEG, 220.0, 2.2e-9, heat(LEG, 220.0, 2.2e-9))
    mains = 2 * pi * 50 * 2.2e-9 * 1800
    one, _ = integrate.quad(lambda t: (2000 / 220) ** 2 * np.exp(-2 * t / (220 * 2.2e-9)), 0, 20 * 220 * 2.2e-9)
    assert n.capacitor_current == pytest.approx(sqrt(mains**2 + 200 * one), rel=1e-6)


@given(st.floats(1.0, 1e4), st.floats(1e-11, 1e-7), st.floats(10.0, 1e4), st.floats(1.1, 10.0))
def test_heat_grows_with_the_rate_and_the_square_of_the_volts(r, c, v, factor):
    slow, fast = (Leg(100.0, 0.0, v, v, rate) for rate in (10.0, 10.0 * factor))
    assert heat(fast, r, c).surge == pytest.approx(factor * heat(slow, r, c).surge)
    high = Leg(100.0, 0.0, factor * v, factor * v, 10.0)
    assert heat(high, r, c).surge == pytest.approx(factor**2 * heat(slow, r, c).surge)


@pytest.mark.parametrize(
    ("open_rms", "current", "tank", "legs"),
    [(1795.0, 0.29, 50e-9, 2), (5000.0, 0.07, 20e-9, 2), (8000.0, 0.03, 5e-9, 1)],
)
def test_advice_keeps_both_shares(open_rms, current, tank, legs):
    a = advise(open_rms, current, tank, legs, 200e3)
    assert 0.6 * 0.03 < drop(a.resistance, current, open_rms) <= 0.03
    dumped, bang = legs * a.capacitance * open_rms**2 / 2, tank * (legs * open_rms) ** 2 / 2
    assert dumped / bang <= 0.03
    assert a.decided_by in {"energy", "attenuation"}
    if a.decided_by == "attenuation":
        assert 0.09 < attenuation(200e3, a.resistance, a.capacitance) < 0.16


def test_a_large_stray_capacitance_decides():
    a = advise(1795.0, 0.29, 5e-9, 2, 200e3, stray=1e-9)
    assert a.decided_by == "stray" and a.capacitance >= 5e-9


def test_a_bypass_choke_swings_like_scipys_second_order_step():
    # 5 mH, 500 pF, 300 ohm: rings at 100.7 kHz and swings the winding nearly twice as far as the gap falls
    own = choke_ring(5e-3, 500e-12, 300.0, 100e3)
    w0, q = 2 * pi * own.frequency, own.quality
    assert own.frequency == pytest.approx(100.66e3, rel=1e-3)
    system = signal.TransferFunction([w0**2], [1.0, w0 / q, w0**2])
    _, out = signal.step(system, T=np.linspace(0, 40 / w0, 40001))
    assert own.swing == pytest.approx(out.max(), rel=1e-4)
    assert 1.8 < own.swing < 2.0
    _, h = signal.freqs([w0**2], [1.0, w0 / q, w0**2], worN=[2 * pi * 100e3])
    assert own.gain == pytest.approx(abs(h[0]), rel=1e-9)
    assert own.gain > 5.0  # the choke raises what it was meant to hold back


def test_an_overdamped_choke_does_not_overshoot():
    assert choke_ring(1e-3, 1e-9, 4e3, 1e6).swing == 1.0


@pytest.mark.parametrize("series", [E6, E12, R10])
@given(value=st.floats(1e-12, 1e9))
def test_preferred_values_enclose(series, value):
    low, high = preferred_below(value, series), preferred_above(value, series)
    assert low <= value * (1 + 1e-9) and high >= value * (1 - 1e-9)
    assert high / low < 1.6


def test_impossible_values_are_refused_in_words():
    with pytest.raises(ValueError, match="capacitance must be a positive number: got 0"):
        corner_frequency(100.0, 0.0)
    with pytest.raises(ValueError, match="one or two ends"):
        advise(1000.0, 0.1, 1e-8, 3, 2e5)
    with pytest.raises(ValueError, match="a leg needs numbers"):
        Leg(float("nan"), 0.1, 1.0, 1.0, 1.0)
    assert log(9) * 1e3 * 1e-9 == pytest.approx(rise_time(1e3, 1e-9))
