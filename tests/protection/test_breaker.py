"""Breaker bands against IEC 60898-1."""

from __future__ import annotations

from math import sqrt

import pytest

from coilwright.model.site import Breaker
from coilwright.protection.breaker import inrush_verdict, magnetic_band, verdict

# IEC 60898-1, seen second hand on a web page that quotes it (title not kept): B 3 to 5, C 5 to 10, D 10 to 20 times
# the rated current.
BANDS = [("B", 3, 5), ("C", 5, 10), ("D", 10, 20)]


@pytest.mark.parametrize(("curve", "low", "high"), BANDS)
@pytest.mark.parametrize("rated", [6.0, 16.0, 32.0])
def test_magnetic_band(curve, low, high, rated):
    assert magnetic_band(Breaker(rated, curve)) == (low * rated, high * rated)
    assert verdict(low * rated * 0.999, Breaker(rated, curve)).state == "trips within a minute"
    assert verdict(low * rated * 1.001, Breaker(rated, curve)).state == "may trip at once"
    assert verdict(high * rated * 1.001, Breaker(rated, curve)).state == "trips at once"


# IEC 60898-1, from memory: 1.13 In held for the conventional time, 1.45 In tripped within it, 2.55 In within a minute.
# That these lie in this order below the seen magnetic bands is the check that is not from memory.
@pytest.mark.parametrize(
    ("multiple", "state", "within"),
    [
        (0.5, "holds", True),
        (1.0, "holds", True),
        (1.13, "holds", False),
        (1.131, "may trip", False),
        (1.45, "may trip", False),
        (1.451, "trips within the hour", False),
        (2.55, "trips within the hour", False),
        (2.551, "trips within a minute", False),
    ],
)
def test_thermal_bands(multiple, state, within):
    said = verdict(16.0 * multiple, Breaker(16.0, "B"))
    assert (said.state, said.within_rating) == (state, within)


def test_conventional_time_and_thermal_test_depend_on_the_rating():
    # IEC 60898-1, from memory: one hour up to 63 A, two above; 60 s up to 32 A, 120 s above
    assert "an hour" in verdict(63.0, Breaker(63.0, "C")).words
    assert "two hours" in verdict(80.0, Breaker(80.0, "C")).words
    assert "1 to 60 s" in verdict(32.0 * 2.7, Breaker(32.0, "C")).words
    assert "1 to 120 s" in verdict(40.0 * 2.7, Breaker(40.0, "C")).words


@pytest.mark.parametrize(("curve", "low", "high"), BANDS)
def test_a_peak_may_trip_from_the_peak_of_the_lowest_tripping_sine(curve, low, high):
    breaker = Breaker(16.0, curve)
    assert inrush_verdict(sqrt(2) * low * 16.0 * 0.999, breaker).may_trip is False
    said = inrush_verdict(sqrt(2) * low * 16.0 * 1.001, breaker)
    assert said.may_trip is True
    assert (said.low, said.high) == (pytest.approx(sqrt(2) * low * 16.0), pytest.approx(sqrt(2) * high * 16.0))
    assert "may trip" in said.words
    assert "above" in inrush_verdict(sqrt(2) * high * 16.0 * 1.001, breaker).words


def test_an_unknown_curve_is_neither_taken_for_quick_nor_for_slow():
    fuse_box = Breaker(15.0, None)
    assert magnetic_band(fuse_box) is None
    assert inrush_verdict(sqrt(2) * 44.0, fuse_box).may_trip is False
    assert inrush_verdict(sqrt(2) * 46.0, fuse_box).may_trip is None
    assert inrush_verdict(sqrt(2) * 301.0, fuse_box).may_trip is True
    assert verdict(46.0, fuse_box).state == "may trip at once"


@pytest.mark.parametrize("current", [-1.0, float("nan"), float("inf")])
def test_a_current_that_is_none_is_refused(current):
    with pytest.raises(ValueError, match="from 0 up"):
        verdict(current, Breaker(16.0, "B"))
    with pytest.raises(ValueError, match="from 0 up"):
        inrush_verdict(current, Breaker(16.0, "B"))


def test_a_breaker_without_a_rating_is_refused():
    with pytest.raises(ValueError, match="must be positive"):
        verdict(1.0, Breaker(0.0, "B"))
