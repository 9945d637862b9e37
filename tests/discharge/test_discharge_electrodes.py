"""Electrode charge, wear, heat and air: against the differential equations of the ring and of the rod, and balances."""

from __future__ import annotations

from math import inf, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from coilwright.discharge import electrodes as el


@pytest.mark.parametrize(("decrement", "half_cycles"), [(0.08, inf), (0.4, inf), (0.18, 6), (0.4, 1)])
def test_charge_is_the_integral_of_the_ringing_current(decrement, half_cycles):
    # the current of a damped ring, i = -C dv/dt with v = V exp(-a t)(cos wt + a/w sin wt), integrated step by step.
    # Decrements 0.08 and 0.40: M. F. Peters, G. F. Blackburn, P. T. Hannen, NBS J. Res. 19 (1937) RP1032 (seen)
    c, v, f = 10e-9, 12e3, 200e3
    a, w = decrement * f, 2 * pi * f
    n = 400 if half_cycles == inf else half_cycles
    t = np.linspace(0, n / (2 * f), 400 * n + 1)
    current = c * v * (w + a**2 / w) * np.exp(-a * t) * np.sin(w * t)
    assert el.moved_charge(c, v, decrement, half_cycles) == pytest.approx(np.trapezoid(abs(current), t), rel=2e-4)


def test_an_undamped_half_cycle_moves_twice_the_stored_charge():
    # C goes from +V to -V
    assert el.moved_charge(1e-9, 1e4, 1e-9, 1) == pytest.approx(2 * 1e-9 * 1e4)


@given(st.floats(1e-9, 1e-6), st.floats(1e3, 30e3), st.floats(0.01, 2.0), st.floats(20.0, 500.0))
def test_the_arc_never_takes_more_than_the_bang_holds(c, v, decrement, drop):
    charge = el.bang_charge(c, v, decrement, drop)
    assert charge * drop <= c * v**2 / 2 * (1 + 1e-12)
    assert charge <= el.moved_charge(c, v, decrement) * (1 + 1e-12)


def test_a_ring_stopped_by_a_constant_drop_alone_spends_all_its_energy_there():
    # Coulomb friction: each half-cycle loses 2 x drop; the sum of C (2 V_k - 2 drop) is C V^2 / (2 drop) for drop << V
    c, v, drop = 1e-9, 1e4, 10.0
    total, volts = 0.0, v
    while volts > drop:
        total += c * 2 * (volts - drop)
        volts -= 2 * drop
    assert el.bang_charge(c, v, 1e-6, drop) == pytest.approx(total, rel=2e-3)


def test_wear_of_two_rods_by_hand():
    # 100 ug/C of brass, 1 C/s, 8 mm rods: 100e-9 / 8500 m3/s over two faces of 50.27 mm2, both growing the same gap
    volume = 100e-9 / 8500.0
    rate = el.spacing_rate(volume, pi / 4 * 8e-3**2)
    assert rate == pytest.approx(volume / 50.265e-6, rel=1e-4)
    # 5 % of 1.5 mm at 0.234 um/s is 320 s
    assert el.drift_time(1.5e-3, rate) == pytest.approx(75e-6 / 2.3405e-7, rel=1e-3)
    assert el.spacing_rate(volume, 50e-6, 8) == pytest.approx(el.spacing_rate(volume, 50e-6) * (1 + 1 / 8) / 2)
    assert el.drift_time(1.5e-3, 0.0) == inf


def test_metals_keep_the_order_that_the_trade_knows():
    # common practice, no source: tungsten and its copper outlast copper, copper outlasts brass
    wear = {name: m.wear / m.density for name, m in el.MATERIALS.items()}
    assert wear["tungsten"] < wear["tungsten-copper"] < wear["copper"] < wear["brass"]
    for m in el.MATERIALS.values():
        assert m.wear_low < m.wear < m.wear_high
        assert m.wear_high / m.wear_low >= 10  # an order of magnitude at the least is not known


@pytest.mark.parametrize("metal", ["copper", "brass", "tungsten", "stainless"])
def test_conductivity_and_density_of_the_metals(metal):
    # CRC Handbook of Chemistry and Physics / makers' data, 20 degC: Cu 401 W/(m K), 8.96 g/cm3; W 173, 19.3; yellow
    # brass 116 to 121, 8.5; austenitic stainless steel 15 to 16.3, 7.9 to 8.0
    known = {"copper": (401, 8960), "brass": (118, 8500), "tungsten": (173, 19300), "stainless": (15.6, 7950)}[metal]
    found = el.MATERIALS[metal]
    assert (found.conductivity, found.density) == pytest.approx(known, rel=0.05)


@pytest.mark.parametrize("held", [True, False])
@pytest.mark.parametrize("metal", ["copper", "brass", "stainless"])
def test_rod_solves_the_equation_of_the_fin(metal, held):
    # fin: theta'' = 4 h theta / (k d), one watt into the end x = 0, the other cold (held) or insulated
    k, d, length, h = el.MATERIALS[metal].conductivity, 8e-3, 0.04, 14.0
    area = pi / 4 * d**2

    def slope(x, y):
        return np.vstack([y[1], 4 * h / (k * d) * y[0]])

    def ends(a, b):
        return np.array([a[1] + 1.0 / (k * area), b[0] if held else b[1]])

    x = np.linspace(0, length, 101)
    made = solve_bvp(slope, ends, x, np.zeros((2, x.size)), tol=1e-8)
    assert made.success
    assert el.rod_conductance(k, d, length, h, held=held) == pytest.approx(1 / made.sol(0.0)[0], rel=1e-5)


def test_rod_limits():
    # a short held rod only conducts: k A / L; a perfect conductor only hands over from its side: h pi d L
    assert el.rod_conductance(390.0, 8e-3, 0.02, 1e-6, held=True) == pytest.approx(390 * pi * 16e-6 / 0.02, rel=1e-6)
    assert el.rod_conductance(1e9, 8e-3, 0.02, 14.0, held=False) == pytest.approx(14 * pi * 8e-3 * 0.02, rel=1e-4)


def test_still_air_takes_what_a_short_upright_plate_gives():
    # S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, laminar form, 5 cm high at 40 K above
    # 25 degC, with grey radiation of 0.9: 7.33 + 6.60 W/(m2 K), worked here with k 0.0267, nu 1.79e-5, Pr 0.71
    nu, pr, k, length, rise, film = 1.79e-5, 0.71, 0.0267, 0.05, 40.0, 318.0
    ra = 9.81 / film * rise * length**3 / nu**2 * pr
    nusselt = 0.68 + 0.670 * ra**0.25 / (1 + (0.492 / pr) ** (9 / 16)) ** (4 / 9)
    radiation = 0.9 * 5.670374e-8 * (338.15**4 - 298.15**4) / rise
    value, low, high = el.STILL_AIR
    assert value == pytest.approx(nusselt * k / length + radiation, rel=0.05)
    assert low < value < high


def test_arc_drop_is_a_few_tens_of_volts():
    # Nature 212 (1966) "Cathode region of a vapour arc" (seen): normally a few tens of volts
    value, low, high = el.ARC_DROP
    assert 10 < low <= value <= high < 100


def test_a_kilowatt_at_ten_kelvin_needs_eighty_three_litres_a_second():
    # ventilation practice: 1 kW / (1.2 kg/m3 x 1.0 kJ/(kg K) x 10 K) = 83 l/s, any handbook of ventilation
    assert el.carrying_air(1000.0, 10.0) * 1e3 == pytest.approx(83.0, rel=0.01)


def test_sweeping_by_hand():
    # 8 mm in 5 ms is 1.6 m/s; through 8 mm x 8 mm that is 0.1024 l/s
    assert el.sweeping_speed(8e-3, 5e-3) == pytest.approx(1.6)
    assert el.sweeping_air(8e-3, 1.5e-3, 5e-3) * 1e3 == pytest.approx(0.1024)
    assert el.sweeping_air(8e-3, 16e-3, 5e-3) == pytest.approx(2 * el.sweeping_air(8e-3, 1.5e-3, 5e-3))


def test_decrement_and_quality_agree_with_the_ignition_spark():
    # NBS RP1032 (seen): decrement 0.40 to 0.08 is Q 8 to 39 by pi / decrement; charge grows with Q as 4 Q / pi
    for decrement, quality in ((0.40, 8), (0.08, 39)):
        ratio = el.moved_charge(1e-9, 1e4, decrement) / (1e-9 * 1e4)
        assert ratio == pytest.approx(4 * quality / pi, rel=0.03)


@pytest.mark.parametrize("bad", [(0.0, 1e4, 0.1), (1e-9, 1e4, 0.0)])
def test_zero_is_refused(bad):
    with pytest.raises(ValueError, match="positive"):
        el.moved_charge(*bad)
