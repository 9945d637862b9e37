"""Bleeders of a string: hand values, resistors in series, watts."""

from __future__ import annotations

from math import exp, inf, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.capacitors.bleeders import (
    RESISTOR_LARGEST,
    RESISTOR_POWER,
    RESISTOR_VOLTAGE,
    bleeder_for,
    largest_bleeder,
    like_of,
    sharing_bleeder,
)
from coilwright.model.preferred import preferred_below


def test_largest_ohms_by_hand() -> None:
    # 12 nF at 9 kV rms: 12.728 kV at the crest, ln(12728 / 50) = 5.5394: 902.6 Mohm in 60 s, 75.2 Mohm in 5 s
    assert largest_bleeder(12e-9, 9e3 * sqrt(2)) == pytest.approx(902.6e6, rel=1e-4)
    assert largest_bleeder(12e-9, 9e3 * sqrt(2), time_allowed=5.0) == pytest.approx(75.2e6, rel=1e-3)
    # NEC art. 460.6 (1 minute, 50 V; seen): 40 uF at 325 V needs at most 0.80 Mohm
    assert largest_bleeder(40e-6, 325.0) == pytest.approx(0.80e6, rel=0.01)
    assert largest_bleeder(40e-6, 50.0) == inf


@given(st.floats(1e-9, 1e-5), st.floats(60.0, 3e4))
def test_the_largest_bleeder_ends_at_the_residual(capacitance: float, peak: float) -> None:
    ohms = largest_bleeder(capacitance, peak)
    assert peak * exp(-60.0 / (ohms * capacitance)) == pytest.approx(50.0, rel=1e-6)


@given(st.floats(1.0, 1e9))
def test_preferred_values_are_below_and_near(ohms: float) -> None:
    # IEC 60063: neighbours of the E12 series are at most 1.25 apart
    assert ohms / 1.26 <= preferred_below(ohms) <= ohms * (1 + 1e-9)


@given(st.floats(1e-8, 1e-6), st.integers(2, 30), st.floats(1e3, 20e3))
def test_every_bleeder_is_quick_enough_and_within_its_resistors(capacitance: float, series: int, peak: float) -> None:
    each = peak / series * 1.2
    found = bleeder_for(capacitance, series, peak, each, each / sqrt(2))
    assert found.discharge_time <= 60.0 * (1 + 1e-6) and found.total <= found.largest * (1 + 1e-9)
    assert found.total <= sharing_bleeder(capacitance) * (1 + 1e-9)
    assert found.voltage_each_peak <= RESISTOR_VOLTAGE * (1 + 1e-9) and found.each <= RESISTOR_LARGEST
    assert found.power == pytest.approx((each / sqrt(2)) ** 2 / found.total)
    hot = found.power_each > RESISTOR_POWER / 2 * (1 + 1e-9)
    assert hot == ("too hot" in found.words)


def test_a_fitted_bleeder_is_counted_as_it_is() -> None:
    found = bleeder_for(0.2e-6, 8, 10.8e3, 1605.0, 420.0, fitted=10e6)
    # at least 7 for their volts, and 7 x 1.43 Mohm is no value that is sold: 10 x 1 Mohm is
    assert found.total == 10e6 and (found.resistors, found.each) == (10, 1e6)
    assert found.voltage_each_peak == pytest.approx(160.5) and "of 7 such resistors or more" in found.words
    assert found.discharge_time == pytest.approx(10e6 * 0.2e-6 * 5.3753, rel=1e-4)  # ln(10800 / 50) = 5.3753
    assert found.power == pytest.approx(420**2 / 10e6)


# IEC 60063:2015, table 1, series E24 (from memory): every value that a shop sells at 5 %.
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)


def is_sold(ohms: float) -> bool:
    figures = f"{ohms:.1e}"
    return int(figures[:3].replace(".", "")) in E24 and float(figures) == pytest.approx(ohms)


@given(st.floats(1e5, 5e8), st.integers(1, 40))
def test_what_a_bleeder_is_made_of_can_be_bought(total: float, least: int) -> None:
    count, each = like_of(total, least)
    assert is_sold(each) and each <= RESISTOR_LARGEST and count >= least
    assert count * each == pytest.approx(total, rel=0.05)
    advised = bleeder_for(0.1e-6, 8, 10e3, 1500.0, 400.0)
    assert is_sold(advised.each) and advised.total == pytest.approx(advised.resistors * advised.each)


def test_a_hot_bleeder_gets_more_resistors() -> None:
    cool = bleeder_for(40e-6, 1, 325.0, 325.0, 230.0)
    assert cool.resistors >= 2 and cool.power_each <= RESISTOR_POWER / 2
    assert bleeder_for(2000e-6, 1, 600.0, 600.0, 420.0).resistors > cool.resistors


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="positive"):
        largest_bleeder(0.0, 1e3)
    with pytest.raises(ValueError, match="at least one"):
        bleeder_for(1e-7, 0, 1e3, 1e3, 1e3)
    with pytest.raises(ValueError, match="positive"):
        preferred_below(0.0)
