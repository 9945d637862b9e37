"""The window of a safety gap, and the floor of the mains in thin air."""

from __future__ import annotations

from math import sqrt

import pytest

from coilwright.protection.clearance import required_spacing
from coilwright.protection.facts import Rating
from protection.bench import TANK, ids, tank


def window_top(ratings: tuple[Rating, ...]) -> float | None:
    found = [t for t in tank(safety_gap=None, ratings=ratings) if t.id == "safety-gap-missing"]
    assert len(found) == 1
    return found[0].bound


def test_between_the_ends_two_gaps_add_up_so_each_must_fire_at_half():
    # Kirchhoff's voltage law: a gap from each end to earth, both about to fire, leaves twice their volts across the
    # ends; what is rated across them is held only by gaps set below half of its rating.
    assert window_top((Rating("string", 2640.0, 5800.0, "ink", across=True),)) == pytest.approx(2900.0)
    assert window_top((Rating("T1.high", 2640.0, 5800.0, "ink"),)) == pytest.approx(5800.0)
    both = (Rating("T1.high", 2640.0, 3250.0, "stamped"), Rating("string", 2640.0, 5800.0, "ink", across=True))
    assert window_top(both) == pytest.approx(2900.0)


@pytest.mark.parametrize(("setting", "fires"), [(2890.0, False), (2900.0, True), (2910.0, True)])
def test_a_gap_that_does_not_hold_what_is_rated_across_the_ends_is_a_stop(setting, fires):
    assert TANK.open_peak is not None and 1.05 * TANK.open_peak < setting
    ratings = (Rating("string", 6000.0, 5800.0, "ink", across=True),)
    fired = ids(tank(safety_gap=setting, ratings=ratings))
    assert ("safety-gap-missing" in fired) == fires
    assert ("tank-overvolt-gap-missing" in fired) == fires


@pytest.mark.parametrize("density", [0.9, 0.8, 0.6])
def test_the_floor_of_the_mains_grows_in_thin_air(density):
    # Paschen's law: the breakdown of a gap depends on density times spacing, so a clearance is divided by the relative
    # density of the air; IEC 60664-1 Table A.2 (altitude correction of clearances, from memory) does so from 2000 m up.
    # 230 V mains; 3 mm is the floor in dense air, as test_clearance.py has it.
    wanted = 3e-3 / density
    assert required_spacing(230.0 * sqrt(2), density).clearance == pytest.approx(wanted)
    assert required_spacing(230.0 * sqrt(2), 1.1).clearance == pytest.approx(3e-3)


@pytest.mark.parametrize(("altitude", "factor"), [(3000, 1.14), (4000, 1.29), (5000, 1.48)])
def test_the_floor_of_the_mains_follows_the_altitude_table(altitude, factor):
    # IEC 60664-1 Table A.2, from memory: factors on clearances against 2000 m; the densities are those of the standard
    # atmosphere at one temperature (pressures 794.95, 701.09, 616.40, 540.20 hPa, ICAO Doc 7488, from memory).
    hectopascal = {2000: 794.95, 3000: 701.09, 4000: 616.40, 5000: 540.20}
    low, high = (required_spacing(230.0 * sqrt(2), hectopascal[h] / 1013.25) for h in (2000, altitude))
    assert high.clearance / low.clearance == pytest.approx(factor, rel=0.01)
