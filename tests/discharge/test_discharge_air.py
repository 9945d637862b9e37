"""Density and moisture of the air against handbook values, and what is said of impossible ones."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.discharge.air import STANDARD_AIR, Air, absolute_humidity, air_at, air_density_ratio
from coilwright.errors import ModelRangeError

# Saturated air, g of water per m3: psychrometric tables as in ASHRAE Handbook Fundamentals, from memory; and the
# definition of 100 % at 20 degC as 17.3 g/m3, common knowledge of the trade. Tolerance: Magnus' formula is 0.3 % there.
SATURATED = [(0.0, 4.85), (10.0, 9.40), (20.0, 17.3), (30.0, 30.4)]


@pytest.mark.parametrize(("celsius", "grams"), SATURATED)
def test_saturated_air_holds_what_the_tables_say(celsius, grams):
    assert absolute_humidity(1.0, 273.15 + celsius) * 1e3 == pytest.approx(grams, rel=0.005)
    assert absolute_humidity(0.5, 273.15 + celsius) == pytest.approx(absolute_humidity(1.0, 273.15 + celsius) / 2)


def test_vapour_pressure_of_the_rod_gap_tables_condition():
    # AIEE rod-gap table: 27 degC and 15.5 mmHg vapour pressure (seen on a public page). By the gas law that is
    # 2066.5 Pa / (461.5 * 300.15) = 14.92 g/m3; the same from a relative humidity of 2066.5 Pa over saturation at
    # 27 degC, 3567 Pa (steam tables, from memory).
    assert absolute_humidity(2066.5 / 3567.0, 300.15) * 1e3 == pytest.approx(14.92, rel=0.005)


def test_humidity_factor_by_hand():
    # IEC 60052:2002 clause 5, k = 1 + 0.002 (h/delta - 8.5), from memory: 20 g/m3 at delta 0.8 gives 1.033
    assert Air(0.8, 20e-3).humidity_factor == pytest.approx(1.033)
    assert STANDARD_AIR.humidity_factor == 1.0


def test_site_air_joins_its_parts():
    # 1500 m in the standard atmosphere is 845.6 hPa (ICAO Doc 7488); at 30 degC the ratio is 0.8346 * 293.15/303.15
    air = air_at(303.15, 0.5, altitude=1500.0)
    assert air.density_ratio == pytest.approx(845.6 / 1013.25 * 293.15 / 303.15, rel=1e-3)
    assert air.humidity == pytest.approx(absolute_humidity(0.5, 303.15))
    assert air_at(303.15, 0.5, altitude=1500.0, pressure=101325.0).density_ratio == air_density_ratio(0.0, 303.15)


@given(humidity=st.floats(-1.0, -1e-6))
def test_negative_humidity_is_refused_in_words(humidity):
    with pytest.raises(ValueError, match="humidity must be a number from 0 up"):
        Air(1.0, humidity)
    with pytest.raises(ValueError, match="between 0 and 100 %"):
        absolute_humidity(humidity, 293.15)


def test_air_outside_the_laws_is_refused():
    with pytest.raises(ModelRangeError, match="density ratio 2"):
        Air(2.0)
    with pytest.raises(ModelRangeError, match="-45 to 60 degC"):
        absolute_humidity(0.5, 400.0)
    with pytest.raises(ValueError, match="between 0 and 100 %"):
        absolute_humidity(1.2, 293.15)
