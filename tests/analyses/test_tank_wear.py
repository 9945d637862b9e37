"""Electrodes and room of a project: bands that hold their value, balances by hand, and the tags with their numbers."""

from __future__ import annotations

from dataclasses import fields, replace
from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyses.tank_benches import GAP, ROTOR, SIZE, STATIC, SUPPLY, ink, project, without
from coilwright.analyses.tank_results import ElectrodeResult, RoomResult
from coilwright.analyses.tank_wear import electrode_result, room_result, running_tags
from coilwright.model.known import Estimate

ROOM = ROTOR.partition("[gap]")[0]


def worn(text: str = STATIC, **size: object) -> ElectrodeResult:
    result = electrode_result(project(text), SUPPLY, replace(SIZE, **size), GAP)
    assert result is not None
    return result


def estimates(result: ElectrodeResult | RoomResult) -> dict[str, Estimate]:
    found = {f.name: getattr(result, f.name) for f in fields(result)}
    return {k: v for k, v in found.items() if isinstance(v, Estimate)}


@pytest.mark.parametrize("text", [STATIC, ROTOR])
def test_every_band_holds_its_value(text):
    for result in (worn(text), room_result(project(text), SIZE)):
        assert len(estimates(result)) >= 6
        for name, e in estimates(result).items():
            assert e.low <= e.value <= e.high, name
            assert e.basis, name


def test_charge_of_the_bang_by_hand():
    # C V coth(decrement / 4) with decrement pi / 15: 180 uC x 19.12 = 3.44 mC
    charge = worn().charge_per_bang
    assert charge is not None
    assert charge.value == pytest.approx(3.441e-3, rel=1e-3)


def test_the_electrodes_never_take_more_heat_than_the_bangs_bring():
    # energy: 0.81 J, 400 times a second, are 324 W for all electrodes of both gaps in series
    heat = worn(ROTOR).heat
    assert heat is not None
    assert 4 * heat.high <= 324.0 * (1 + 1e-9)
    hard = electrode_result(project(ROTOR), replace(SUPPLY, ring_quality=ink(1e5, "1")), SIZE, GAP)
    assert hard is not None
    assert hard.heat is not None
    assert 4 * hard.heat.high == pytest.approx(324.0)


def test_a_power_that_is_known_bounds_the_heat_where_the_corners_would_not():
    wide = Estimate(20e-9, 10e-9, 40e-9, "pencil", "F", "invented")
    hot = replace(SUPPLY, ring_quality=ink(1e5, "1"))
    heat = electrode_result(project(ROTOR), hot, replace(SIZE, capacitance=wide), GAP)
    assert heat is not None
    assert heat.heat is not None
    assert 4 * heat.heat.high == pytest.approx(324.0)


def test_bands_of_independent_factors_add_in_quadrature_of_logarithms():
    # statistics, any textbook: the logarithm of a product has the sum of the variances; sampled here. Half the band of
    # 95 % is 1.96 sigma.
    result = worn(STATIC + 'electrode_material = "copper"\n')
    charge, wear = result.charge_per_bang, result.wear
    assert charge is not None
    assert wear is not None
    draw = np.random.default_rng(1)
    up = [np.log(charge.high / charge.value) / 1.96, np.log(180 / 20) / 1.96]
    product = sum(s * draw.standard_normal(200_000) for s in up)
    expected = np.quantile(product, 0.975)
    assert np.log(wear.high / wear.value) == pytest.approx(expected, rel=0.02)


@given(st.floats(10.0, 1000.0))
def test_wear_and_heat_go_with_the_break_rate_and_the_time_against_it(rate):
    slow, fast = worn(break_rate=ink(100.0, "1/s")), worn(break_rate=ink(rate, "1/s"))
    for name, power in (("wear", 1), ("heat", 1), ("hours_to_drift", -1), ("charge_per_bang", 0)):
        a, b = getattr(slow, name), getattr(fast, name)
        assert b.value == pytest.approx(a.value * (rate / 100.0) ** power, rel=1e-9)


def test_drift_by_hand():
    # both electrodes of a rod gap lose their half each from a face of 50.27 mm2; 5 % of 1.5 mm are 75 um
    result = worn()
    assert result.wear is not None
    assert result.hours_to_drift is not None
    face = pi / 4 * 8e-3**2
    assert result.hours_to_drift.value == pytest.approx(75e-6 * face / (2 * result.wear.value), rel=1e-6)


def test_a_rotor_spreads_half_of_the_wear_over_its_pins():
    same = STATIC.replace('"8 mm"', '"6 mm"') + 'electrode_material = "brass"\nsegments = 2\n'
    still, turning = worn(same), worn(ROTOR)
    assert still.hours_to_drift is not None
    assert turning.hours_to_drift is not None
    assert turning.hours_to_drift.value == pytest.approx(still.hours_to_drift.value * 2 / (1 + 1 / 8))


def test_a_metal_that_is_not_stated_is_said_to_be_assumed():
    assert "brass assumed" in " ".join(worn().words)
    assert "assumed" not in " ".join(worn(ROTOR).words)
    assert worn(ROTOR.replace('"brass"', '"tungsten"')).material == "tungsten"


def test_what_is_not_known_is_not_worked_out():
    nothing = worn(firing_peak=None)
    assert estimates(nothing) == {}
    assert "Not worked out" in nothing.words[0]
    still = worn(break_rate=None)
    assert set(estimates(still)) == {"charge_per_bang"}
    assert electrode_result(project(ROOM), SUPPLY, SIZE, GAP) is None
    bare = worn(without(STATIC, "electrode"))
    assert (bare.temperature_rise, bare.hours_to_drift, bare.air_flow) == (None, None, None)
    assert bare.heat is not None


def test_the_rotors_wind_is_no_wind_when_it_stalls():
    assert "not when it stalls" in " ".join(worn(ROTOR).words)
    assert "stalls" not in " ".join(worn().words)


# ---- room ------------------------------------------------------------------------------------------------------------


def test_room_by_hand():
    # 324 W at 2 g/kWh are 0.18 mg/s; 5 x 4 x 2.6 = 52 m3; 0.5 changes an hour and 15 min of half-life are 9.09e-4 1/s;
    # 3.81 mg/m3 at 20 degC, where 1 ppm is 1.995 mg/m3
    made = room_result(project(ROOM), SIZE)
    assert made.volume == pytest.approx(52.0)
    assert made.ozone is not None
    assert made.ozone.value == pytest.approx(1.8e-7 / (52.0 * 9.0905e-4) / 1.9954e-6 * 1e-6, rel=1e-3)
    assert made.noise is not None
    # 0.1 % of 324 W is 0.324 W of sound: 115.1 dB of power, 104.1 dB at 1 m
    assert made.noise.value == pytest.approx(104.1, abs=0.05)
    # NIOSH: 104.1 dB is 19.1 dB above 85: 8 h / 2^6.37 = 5.8 min
    assert made.ear_time is not None
    assert made.ear_time.value / 60 == pytest.approx(5.8, abs=0.05)


def test_a_room_that_is_not_stated_has_noise_and_no_ozone():
    made = room_result(project(ROOM.replace(', width = "4 m"', "")), SIZE)
    assert made.ozone is None
    assert made.noise is not None
    assert "not all stated" in " ".join(made.words)
    outdoors = room_result(
        project(ROOM.replace('{ ceiling = "2.6 m", length = "5 m", width = "4 m" }', "{ outdoors = true }")), SIZE
    )
    assert outdoors.ozone is None
    assert "Outdoors" in " ".join(outdoors.words)


def test_without_a_power_nothing_is_worked_out_and_ultraviolet_is_never():
    made = room_result(project(ROOM), replace(SIZE, power=None))
    assert estimates(made) == {}
    assert running_tags(made) == ()
    for result in (made, room_result(project(ROOM), SIZE)):
        assert "Ultraviolet: the yield is not known" in " ".join(result.words)


def test_ozone_and_noise_tags_carry_the_numbers():
    tags = {t.id: t for t in running_tags(room_result(project(ROOM), SIZE))}
    assert set(tags) == {"ozone-nox", "noise"}
    assert tags["ozone-nox"].number == pytest.approx(1.908e-6, rel=1e-3)
    assert tags["ozone-nox"].bound == pytest.approx(0.1e-6)
    assert tags["noise"].number == pytest.approx(104.1, abs=0.05)
    assert all(t.standing and t.mark == "pencil" for t in tags.values())


@given(st.floats(1.0, 5000.0))
def test_more_power_is_more_ozone_and_more_noise(watts):
    low, high = (room_result(project(ROOM), replace(SIZE, power=ink(p, "W"))) for p in (watts, 2 * watts))
    assert low.ozone is not None
    assert high.ozone is not None
    assert high.ozone.value == pytest.approx(2 * low.ozone.value)
    assert low.noise is not None
    assert high.noise is not None
    assert high.noise.value - low.noise.value == pytest.approx(3.0103, abs=1e-3)
