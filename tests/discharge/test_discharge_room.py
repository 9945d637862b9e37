"""Ozone, nitrogen dioxide and noise in the room: conversions and levels from published tables, balances by hand."""

from __future__ import annotations

from math import inf, log10

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from coilwright.discharge import room_air as air


@pytest.mark.parametrize(
    ("mass", "milligrams"), [(air.OZONE_MASS, 1.96), (air.DIOXIDE_MASS, 1.88), (air.OXIDE_MASS, 1.23)]
)
def test_parts_per_million_at_twenty_five_degrees(mass, milligrams):
    # NIOSH Pocket Guide to Chemical Hazards, conversions at 25 degC and 1 atm: ozone 1.96, NO2 1.88, NO 1.23 mg/m3
    assert air.mass_of_fraction(1e-6, mass, 101325.0, 298.15) * 1e6 == pytest.approx(milligrams, rel=5e-3)


def test_limits_are_those_of_the_table():
    # OSHA 29 CFR 1910.1000 Table Z-1 and NIOSH (seen): ozone 0.1 ppm; OSHA ceiling of NO2 5 ppm (seen)
    assert (air.OZONE_LIMIT, air.DIOXIDE_CEILING) == (0.1e-6, 5e-6)


@given(st.floats(1e-12, 1e-6), st.floats(5.0, 500.0), st.floats(1e-5, 1e-2), st.floats(1.0, 1e5))
def test_the_room_never_passes_its_steady_state_and_reaches_what_it_is_asked(source, volume, leaving, time):
    steady = air.steady_mass(source, volume, leaving)
    then = air.mass_after(time, source, volume, leaving)
    assert 0 <= then <= steady
    if then < 0.999 * steady:
        assert air.time_to(then, source, volume, leaving) == pytest.approx(time, rel=1e-6)
    assert air.time_to(1.01 * steady, source, volume, leaving) == inf


def test_mixing_solves_its_equation():
    # dC/dt = S/V - k C, integrated numerically
    source, volume, leaving = 1e-8, 52.0, 1.2e-3
    made = solve_ivp(lambda _, c: source / volume - leaving * c, (0, 900.0), [0.0], rtol=1e-10, atol=1e-18)
    assert air.mass_after(900.0, source, volume, leaving) == pytest.approx(made.y[0, -1], rel=1e-6)


def test_the_wanted_air_changes_hold_the_limit():
    source, volume, limit = 1e-8, 52.0, 1.96e-7
    changes = air.wanted_air_changes(limit, source, volume, 900.0)
    assert changes > 0
    assert air.steady_mass(source, volume, air.removal(changes, 900.0)) == pytest.approx(limit)
    assert air.wanted_air_changes(1.0, source, volume, 900.0) == 0.0


def test_hundred_watts_for_an_hour_make_a_fifth_of_a_gram_at_two_grams_a_kilowatt_hour():
    assert air.production(100.0, 2.0) * 3600 == pytest.approx(0.2e-3)


def test_a_watt_of_sound_is_a_hundred_and_nine_decibels_at_a_metre():
    # acoustics, any textbook: 1 W is 120 dB of sound power; a full sphere of 1 m takes 10 lg(4 pi) = 11 dB off;
    # twice the distance takes 6 dB
    assert air.sound_level(1.0, 1.0) == pytest.approx(120 - 10.99, abs=0.01)
    assert air.sound_level(1.0, 1.0) - air.sound_level(1.0, 2.0) == pytest.approx(6.02, abs=0.01)
    assert air.sound_level(0.1, air.distance_for(0.1, 85.0)) == pytest.approx(85.0)


def test_peak_of_a_bang_holds_its_energy():
    # energy of a plane wave front, integral p^2 / (rho c) over time and sphere, by quadrature of half a sine
    energy, pulse, distance = 1e-3, 100e-6, 1.0
    peak = 20e-6 * 10 ** (air.peak_level(energy, pulse, distance) / 20)
    t = np.linspace(0, pulse, 20001)
    flux = np.trapezoid((peak * np.sin(np.pi * t / pulse)) ** 2 / 413.0, t) * 4 * np.pi * distance**2
    assert flux == pytest.approx(energy, rel=1e-6)


@pytest.mark.parametrize(
    ("level", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15), (103, 7.5), (115, 28 / 60)]
)
def test_time_allowed_by_level(level, minutes):
    # NIOSH Publication 98-126 (1998), Table 1-1: combinations of level and duration; 115 dBA is 28 s
    assert air.allowed_time(level) / 60 == pytest.approx(minutes, rel=5e-3)


def test_spark_sound_of_a_hundred_watts_is_loud_in_the_whole_band():
    # common practice, no source: a gap of a hundred watts cannot be talked over at a metre (above 75 dB)
    levels = [air.sound_level(100.0 * share, 1.0) for share in air.SOUND_SHARE]
    assert min(levels) > 75
    assert max(levels) - min(levels) == pytest.approx(20 * log10(10))


@pytest.mark.parametrize("bad", [lambda: air.steady_mass(1e-9, 0.0, 1e-3), lambda: air.sound_level(0.0, 1.0)])
def test_no_room_and_no_sound_are_refused(bad):
    with pytest.raises(ValueError, match=r"room|positive"):
        bad()
