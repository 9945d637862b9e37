"""The window of a safety gap: volts, millimetres, spread; one function for tags, gates and the tank stage."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.discharge.air import STANDARD_AIR, Air, air_at
from coilwright.protection.facts import Rating
from coilwright.protection.safety_gap import (
    air_of,
    firing_peak,
    spacing_in,
    spacing_of,
    weakest_rating,
    window,
)
from protection.bench import ids, tank

WINDING = Rating("T1.high", float("nan"), 3267.0, "pencil")
STRING = Rating("string", float("nan"), 5800.0, "ink", across=True)


def test_the_window_of_the_demonstration_by_hand():
    # open peak 2.64 kV an end: 2.77 kV; weakest rating 1.1 x 2100 V x 1.414 = 3.27 kV; about 0.6 mm (uniform field)
    w = window(2640.0, (WINDING,))
    assert w.low_peak == pytest.approx(2772.0)
    assert w.bound is not None and (w.bound.limit, w.bound.where, w.bound.mark) == (3267.0, "T1.high", "pencil")
    assert 2.75e3 < w.set_peak < 2.85e3 and not w.is_empty
    assert w.set_spacing == pytest.approx(1.08 * w.fires_spacing)
    assert 0.45e-3 < w.set_spacing < 0.65e-3
    assert w.low_spacing < w.set_spacing < (w.high_spacing or 0)


@pytest.mark.parametrize(
    ("volts", "millimetres"),
    # plates in air, table "Sparking voltage" of a handbook: 4.5 kV at 1 mm, 30 to 31 kV at 10 mm: Kuffel, Zaengl and
    # Kuffel, High Voltage Engineering Fundamentals, fig. 5.24, from memory
    [(4500.0, 1.0), (30500.0, 10.0)],
)
def test_spacing_of_known_uniform_gaps(volts, millimetres):
    assert spacing_in(volts) == pytest.approx(millimetres * 1e-3, rel=0.06)


@given(st.floats(700.0, 2e4), st.floats(0.7, 1.15))
def test_volts_and_spacing_are_inverse_and_thin_air_needs_more(peak, density):
    air = air_of(density)
    assert firing_peak(spacing_in(peak, air), air) == pytest.approx(peak, rel=1e-5)
    # Paschen: density times spacing decides
    assert spacing_of(peak, density) == pytest.approx(spacing_of(peak) / density, rel=1e-4)


@given(st.floats(700.0, 1e4), st.floats(1.01, 2.0))
def test_more_volts_need_more_spacing_and_move_the_whole_window(peak, factor):
    a, b = window(peak, ()), window(factor * peak, ())
    assert b.low_peak > a.low_peak and b.set_spacing > a.set_spacing and b.set_peak > a.set_peak
    assert a.set_peak > a.low_peak  # 8 % more spacing is more than 5 % more volts


@pytest.mark.parametrize(("limit", "empty"), [(2799.0, False), (2790.0, True), (2500.0, True)])
def test_a_window_without_room_for_the_margin_is_empty(limit, empty):
    w = window(2640.0, (Rating("T1.high", 0.0, limit, "ink"),))
    assert 2790.0 < w.set_peak < 2799.0
    assert w.is_empty is empty
    # the rule says the same: a gap inside the crossed bounds is a STOP all the same
    facts = tank(safety_gap=2785.0, ratings=(Rating("T1.high", 2640.0, limit, "ink"),))
    assert ("safety-gap-missing" in ids(facts)) is empty


def test_a_window_narrower_than_the_scatter_says_so():
    # 3 % sigma: +-5.9 % of 2.8 kV is 330 V wide
    assert window(2640.0, (Rating("T1.high", 0.0, 3060.0, "ink"),)).is_narrow
    wide = window(2640.0, (Rating("T1.high", 0.0, 3140.0, "ink"),))
    assert not wide.is_narrow and wide.is_too_narrow_for_feeler
    assert not window(2640.0, (Rating("T1.high", 0.0, 3800.0, "ink"),)).is_too_narrow_for_feeler


def test_what_is_rated_between_the_ends_is_shared_by_two_legs_only():
    assert weakest_rating((WINDING, STRING), 2).limit == pytest.approx(2900.0)
    assert "per leg" in weakest_rating((WINDING, STRING), 2).where
    assert weakest_rating((WINDING, STRING), 1).limit == pytest.approx(3267.0)
    assert weakest_rating((STRING,), 1).limit == pytest.approx(5800.0)
    assert weakest_rating((), 2) is None


def test_a_string_that_shares_unequally_lowers_window_and_rating():
    # 8 x 1.41 kV = 11.3 kV by its labels, 9.5 kV with its smallest unit 10 % low and the others 10 % high
    string = Rating("string", 10.8e3, 11.3e3, "ink", across=True, worst_limit=9.5e3)
    assert weakest_rating((string,), 2).limit == pytest.approx(4750.0)
    assert "tank-overvolt-gap-missing" in ids(tank(safety_gap=None, ratings=(string,)))
    assert "tank-overvolt-gap-missing" not in ids(tank(safety_gap=None, ratings=(replace(string, peak=9.4e3),)))
    over = (Rating("string", 11.4e3, 11.3e3, "ink", across=True, worst_limit=9.5e3),)
    # only a gap that holds the worst unit as well clears it
    assert "tank-overvolt-gap-missing" in ids(tank(safety_gap=4760.0, ratings=over))
    assert "tank-overvolt-gap-missing" not in ids(tank(safety_gap=4740.0, ratings=over))


def test_volts_at_which_no_air_breaks_down_have_no_spacing():
    # Paschen's minimum in air, 327 V
    w = window(100.0, ())
    assert (w.fires_spacing, w.set_spacing, w.set_peak) == (0.0, 0.0, 0.0)
    assert firing_peak(0.0) == 0.0 and firing_peak(1e-6) == pytest.approx(327.0, rel=0.01)


def test_moist_warm_and_thin_air_are_taken_together():
    # a summer day at 1500 m: density about 0.80, so 0.6 mm fires lower than at the sea
    site = air_at(303.15, 0.6, 1500.0)
    assert isinstance(site, Air) and 0.78 < site.density_ratio < 0.83
    assert 0.82 < firing_peak(0.6e-3, site) / firing_peak(0.6e-3, STANDARD_AIR) < 0.90
    assert window(2640.0, (), air=site).set_spacing > 1.15 * window(2640.0, ()).set_spacing


def test_impossible_volts_are_refused():
    with pytest.raises(ValueError, match="open peak must be a number from 0 up"):
        window(-1.0, ())
    with pytest.raises(ValueError, match="spacing must be a number"):
        firing_peak(-1e-3)
