"""The protection of the demonstration's supply: every part's numbers against hand values and the gates'."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, pi, sqrt

import pytest

from analyses.gate_cases import base, gate, judged, supplied
from analyses.stage_cases import FIRING, SIZE, side, staged
from coilwright.analyses.tank_protection import protection_result
from coilwright.analyses.tank_results import BleederResult
from coilwright.analyses.tank_stored import stored_rows
from coilwright.analyses.tank_strings import strings_result
from coilwright.model.known import Known
from coilwright.model.machine import BleederResistor, Earth, Protection, SeriesFilter, Tank
from coilwright.model.parts import Capacitor
from coilwright.model.site import Breaker
from coilwright.protection.rf_ground import SAFETY_EARTH

FITTED = Protection(
    Known(0.6e-3), None, True, 2, SeriesFilter(Known(220.0), Known(2.2e-9)), BleederResistor(Known(50e6)), "8 A T", True
)


def test_the_safety_gap_is_the_gates_own():
    # one function: what gate 9 asks to be set is what the tank stage recommends, in volts and in millimetres
    _, stage = staged()
    own, windows = stage.protection.safety_gap, judged().windows
    assert own.legs == ("hot_a", "hot_b") and not own.empty and SAFETY_EARTH in own.words
    worst = max(windows, key=lambda w: w.open_peak)
    assert (own.low_peak, own.high_peak) == (pytest.approx(worst.low_peak), pytest.approx(worst.high_peak))
    assert own.setting_peak.value == pytest.approx(worst.set_peak)
    assert own.spacing.value == pytest.approx(worst.set_spacing)
    assert own.spacing_low == pytest.approx(worst.low_spacing)
    # demonstration: between 2.8 and 3.2 kV peak per leg, about 0.6 mm
    assert 2.75e3 < own.setting_peak.value < 3.2e3 and 0.5e-3 < own.spacing.value < 0.7e-3
    assert "mm" in gate(judged(), "safety gap").rows[0].note


def test_a_fitted_gap_is_shown_with_the_band_of_how_it_was_set():
    by_gauge = staged(FITTED)[1].protection.safety_gap
    by_firing = staged(Protection(safety_gap_voltage=Known(2.95e3)))[1].protection.safety_gap
    assert by_gauge.fitted_spacing == 0.6e-3 and by_gauge.fitted_peak.mark == "pencil"
    assert by_firing.fitted_peak.value == 2.95e3 and by_firing.fitted_spacing is None
    width = [g.fitted_peak.high - g.fitted_peak.low for g in (by_gauge, by_firing)]
    assert width[0] > width[1]
    outside = staged(Protection(safety_gap_voltage=Known(3.3e3)))[1].protection.safety_gap
    assert any("outside the window" in w for w in outside.words)


def test_an_empty_window_recommends_nothing():
    low = tuple(replace(p, limit_peak=2700.0) for p in side().windings)
    own = protection_result(base(), side(), SIZE, None, low, made=supplied()).safety_gap
    assert own.empty and own.setting_peak is None and own.spacing is None
    assert any(w.startswith("NO SETTING FITS") for w in own.words)


def test_the_filter_costs_and_holds_back_what_its_formulas_say():
    f = staged(FITTED)[1].protection.filter
    current = supplied().best_power.current
    assert f.fitted and (f.resistance, f.capacitance) == (220.0, 2.2e-9)
    assert f.drop == pytest.approx(220.0 * current / (supplied().open_circuit.voltage / 2), rel=0.02)
    ratio = f.attenuation**-2 - 1
    assert sqrt(ratio) == pytest.approx(side().ring_frequency.value / f.corner_frequency)
    # C V^2 / 2 at the leg's share of 4 kV, 100 times a second, beside I^2 R
    assert f.surge_energy == pytest.approx(2.2e-9 * 2000.0**2 / 2, rel=0.02)
    assert f.resistor_power.value == pytest.approx(220.0 * current**2 + 100 * f.surge_energy, rel=0.01)
    assert f.resistor_power.high > 220.0 * supplied().short_circuit.current ** 2
    assert f.resistor_voltage_peak == pytest.approx(2 * f.capacitor_peak)
    # twice the upper end of the heat; the peak is the one that the table of charges puts on that capacitor
    limits = " ".join(f.limits)
    assert f"at least {2 * f.resistor_power.high:.1f} W, twice the upper end" in limits
    held = next(r for r in staged(FITTED)[1].protection.stored if r.where == "filter capacitor, each leg")
    assert f.capacitor_peak == held.peak == max(supplied().gap_missing.own.ends_peak.values())
    assert f"{held.peak / 1e3:.2f} kV peak is the highest of a leg with the gap missing" in limits
    assert "The safety gap holds it below 3." in limits and "no rating counts on that" in limits
    # 2 x 5.42 kV over 220 ohm x 2.2 nF = 22.4 kV/us, by hand
    assert "22.4 kV/us" in limits and "e+" not in limits
    words = " ".join((*f.fails, *f.chokes, *f.limits))
    assert "Resistor open" in words and "Capacitor shorted" in words and "flashed over" in words


def test_without_a_safety_gap_the_filter_must_stand_the_missing_gap():
    f = staged()[1].protection.filter
    assert not f.fitted
    assert f.capacitor_peak == pytest.approx(max(supplied().gap_missing.own.ends_peak.values()))
    assert f.drop <= 0.03
    assert not any("The safety gap holds it" in w for w in f.limits)
    # what is to be bought is sold: E6 (IEC 60063, from memory)
    assert f.resistance in {100.0, 150.0, 220.0, 330.0} and round(f.capacitance * 1e9, 6) in {1.0, 1.5, 2.2, 3.3}


def test_without_a_solved_tank_the_open_peak_is_said_to_be_no_end():
    bare = replace(side(), own_missing=None)
    f = protection_result(base(), bare, SIZE, None, bare.windings, made=supplied()).filter
    assert f.capacitor_peak == max(bare.ends_open_peak.values())
    assert any("a tank may raise it" in w for w in f.limits)


def test_the_fuse_and_the_soft_start():
    fuse = staged(FITTED)[1].protection.fuse
    # 7.96 A and its band to 8.14 A: 8 A hold the one, the next that is sold (10 A, IEC 60127, from memory) the other
    high = side().mains_current.high
    assert side().mains_current.value < 8.0 < high < 10.0
    assert (fuse.fitted, fuse.rated_current, fuse.advised, fuse.holds) == ("8 A T", 8.0, "10 A T", True)
    assert fuse.holds_band is False and any("above the fuse in the project" in w for w in fuse.words)
    assert any(w.startswith(f"Counted for the fuse: {high:.2f} A, the upper end") for w in fuse.words)
    assert staged(Protection(fuse="6.3 A T"))[1].protection.fuse.holds is False
    assert staged(Protection(fuse="10 A T"))[1].protection.fuse.holds_band is True
    none = staged()[1].protection.fuse
    assert none.holds is None and any("a body on it" in w for w in none.words)
    # B16: 3 x 16 A r.m.s. as a peak; mains + 10 %: 5.27 ohm, sold as 5.6
    assert none.soft_start.low == pytest.approx(1.1 * 230 / 48) and none.soft_start.value == 5.6
    assert none.soft_start_energy.value == pytest.approx(5.6 * high**2 * 0.3 + (253 * sqrt(2)) ** 2 / 5.6 / 200)
    assert any("an upper bound" in w and "core saturated" in w and "output shorted" in w for w in none.words)
    small = staged(None, Breaker(6.0, "B"))[1].protection.fuse
    assert small.advised == "" and any("is not above the breaker" in w for w in small.words)
    # the breaker holds the value, and no fuse below it the upper end
    edge = staged(None, Breaker(8.0, "B"))[1].protection.fuse
    assert edge.advised == ""


@pytest.mark.parametrize(
    ("breaker", "peak", "needed", "said"),
    [
        (Breaker(16.0, "B"), 13.1, False, "a soft start is not needed for the breaker"),
        # 3 x 20 A as a peak is 84.9 A: below the quickest curve there is, so the unknown one holds too
        (Breaker(20.0, None), 22.8, False, "a soft start is not needed for the breaker"),
        (Breaker(16.0, "B"), 150.0, True, "a soft start is needed"),
        (Breaker(20.0, None), 150.0, None, "a soft start may be needed"),
        (Breaker(16.0, "B"), None, None, "a soft start may be needed"),
    ],
)
def test_a_soft_start_is_offered_by_what_the_first_peak_does_to_the_breaker(breaker, peak, needed, said):
    # IEC 60898-1 (seen second hand): B from 3, D to 20 times the rated current
    inrush = None if peak is None else replace(supplied().inrush, first_peak=peak, may_trip=None)
    design = replace(base(), site=replace(base().site, breaker=Known(breaker)))
    made = replace(supplied(), inrush=inrush)
    fuse = protection_result(design, side(), SIZE, None, side().windings, made=made).fuse
    assert fuse.soft_start_needed is needed
    words = " ".join(fuse.words)
    assert f"{said}." in words
    assert ("If the breaker trips all the same" in words) is (needed is False)


def test_everything_that_can_hold_a_charge_is_listed_with_the_limits_that_it_passes():
    rows = {r.where: r for r in staged(FITTED)[1].protection.stored}
    assert {
        "tank",
        "C3, each of 16 in the tank",
        "filter capacitor, each leg",
        "C1 (correction)",
        "C2 (correction)",
    } < set(rows)
    tank, peak = rows["tank"], supplied().gap_missing.own.peak
    assert (tank.energy, tank.charge) == (pytest.approx(50e-9 * peak**2 / 2), pytest.approx(50e-9 * peak))
    # IEC 60335-1 cl. 8.1.4 (seen): 45 uC up to 15 kV; DOE-HDBK-1092 (seen): 0.25 J startle, 10 J contact
    passed = {(s.quantity, s.limit) for s in tank.limits}
    assert passed == {("C", 45e-6), ("J", 0.25)}
    unit = rows["C3, each of 16 in the tank"]
    assert peak / 8 * exp(-unit.discharge_time / (10e6 * 0.2e-6)) == pytest.approx(50.0)
    # one rule: 50 V across the whole string, not 50 V on each of eight
    assert peak * exp(-tank.discharge_time / (10e6 * 0.2e-6)) == pytest.approx(50.0)
    assert {r.residual for r in rows.values() if r.discharge_time is not None} == {50.0}
    assert rows["filter capacitor, each leg"].limits == ()  # microcoulombs
    energies = [r.energy for r in staged(FITTED)[1].protection.stored]
    assert energies == sorted(energies, reverse=True)


def test_an_independent_tank_at_nine_kilovolts():
    # hand values: 12 nF at 9 kV rms: 0.972 J and 152.7 uC at the crest; bleeder to 50 V in 60 s: 902.6 Mohm
    crest = 9000.0 * sqrt(2)
    own = replace(side(), own_missing=replace(side().own_missing, capacitance=12e-9, peak=crest))
    design = replace(
        base(), tank=Tank(capacitance=Known(12e-9)), protection=Protection(bleeder=BleederResistor(Known(902.6e6)))
    )
    row = next(r for r in stored_rows(design, own, SIZE, None, None) if r.where == "tank")
    assert (row.energy, row.charge) == (pytest.approx(0.972, rel=1e-3), pytest.approx(152.7e-6, rel=1e-3))
    assert row.discharge_time == pytest.approx(60.0, rel=1e-3)
    assert 12e-9 * 75.2e6 * log(crest / 50) == pytest.approx(5.0, rel=1e-3)
    bare = replace(design, protection=None)
    assert next(r for r in stored_rows(bare, own, SIZE, None, None) if r.where == "tank").discharge_time is None


def test_an_oven_capacitor_on_the_shelf_counts_as_charged():
    shelf = (*base().capacitors, Capacitor("K1", Known(1e-6), kind="oven", rated=Known(2100.0), rated_kind="AC"))
    rows = stored_rows(replace(base(), capacitors=shelf), side(), SIZE, None, None)
    oven = next(r for r in rows if r.where.startswith("K1"))
    assert oven.energy == pytest.approx(1e-6 * 2100.0**2) and oven.discharge_time is None
    assert ("J", 0.25) in {(s.quantity, s.limit) for s in oven.limits}


def test_bleeders_of_tank_and_filter_discharge_in_time():
    # NEC 460.6 (seen): 50 V within 60 s; V(t) = V exp(-t / RC)
    own = Capacitor("F1", Known(2.2e-9), use="filter", bleeder=Known(50e6))
    design = replace(base(), tank=Tank(capacitance=Known(50e-9)), protection=FITTED)
    bare = protection_result(design, side(), SIZE, None, side().windings)
    # the one across the tank drains no capacitor from a leg to earth
    assert bare.bleeders[1].fitted is None
    assert next(r for r in bare.stored if r.where.startswith("filter")).discharge_time is None
    design = replace(design, capacitors=(*design.capacitors, own))
    made = protection_result(design, side(), SIZE, None, side().windings)
    tank, snubber = made.bleeders
    peak = supplied().gap_missing.own.peak
    assert peak * exp(-60.0 / (tank.largest * 50e-9)) == pytest.approx(50.0)
    assert tank.fitted == snubber.fitted == 50e6
    assert peak * exp(-tank.discharge_time / (50e6 * 50e-9)) == pytest.approx(50.0)
    assert tank.preferred <= tank.largest and tank.voltage_each_peak <= 350.0
    assert snubber.basis.startswith("each filter capacitor: 50 V left across it after 60 s")
    rows = {r.where: r for r in made.stored}
    assert rows["tank"].discharge_time == pytest.approx(tank.discharge_time)
    assert rows["filter capacitor, each leg"].discharge_time == pytest.approx(snubber.discharge_time)


def test_a_string_shows_the_bleeder_of_its_units():
    unit = BleederResult(1e8, 2e7, 4, 5e6, 340.0, 0.1, 6.0, 50.0, 60.0, 1e7, "as fitted")
    made = protection_result(base(), side(), SIZE, None, side().windings, unit_bleeder=unit)
    assert [b.basis for b in made.bleeders] == ["each C3 of the tank: as fitted"]
    assert protection_result(base(), side(), SIZE, None, side().windings).bleeders == ()


@pytest.mark.parametrize("protection", [None, FITTED, Protection(safety_gap_voltage=Known(2.95e3))])
def test_the_string_has_one_discharge_time_in_its_chapter_and_in_both_tables(protection):
    # V(t) = V exp(-t / RC): 10 Mohm on 0.2 uF, from the peak with the gap missing; a safety gap shortens no time
    design = replace(base(), protection=protection)
    own = strings_result(design, side(), SIZE, FIRING).own.bleeder
    made = protection_result(design, side(), SIZE, None, side().windings, unit_bleeder=own)
    tank = next(r for r in made.stored if r.where == "tank")
    assert tank.residual == own.residual == 50.0
    assert supplied().gap_missing.own.peak * exp(-tank.discharge_time / 2.0) == pytest.approx(50.0)
    assert made.bleeders[0].discharge_time == own.discharge_time == pytest.approx(tank.discharge_time)


def test_keep_out_is_the_tags_own_ring():
    # NFPA 70E Table 130.4 (seen): 3.05 m above 36 kV; the wall stands at 1.8 m
    keep = staged()[1].protection.keep_out
    assert keep.distance == 3.05 and any("wall at 1.80 m, nearer" in w for w in keep.words)
    tag = next(t for t in supplied().tags if t.id == "keep-out")
    assert tag.bound == keep.distance and tag.value == "; ".join(keep.words)


def test_ground_and_mains_side_say_what_the_code_decides_and_what_counts():
    p = staged()[1].protection
    ground = " ".join(p.ground)
    assert "decided by the local code" in ground and "never lifted" in ground
    rod = replace(base(), earth=Earth(rf_ground_resistance=Known(15.0)))
    with_rod = protection_result(rod, side(), SIZE, None, side().windings)
    assert any("15.0 ohm" in w for w in with_rod.ground)
    mains = " ".join(p.mains_side)
    assert "LINE to the mains" in mains and "2 wanted, not stated" in mains
    # 0.2 x 30 mA at 253 V 50 Hz: 75.5 nF
    assert 2 * pi * 50 * 75.5e-9 * 253 == pytest.approx(6e-3, rel=1e-3)
    assert "75.5 nF" in mains
