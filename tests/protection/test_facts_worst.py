"""Rules that look at more than one state or place: what is judged, what is said, what stays quiet."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan, sqrt

import pytest

from coilwright.protection.facts import OpenedShort, PartCurrent, Shock, WiredCapacitor
from coilwright.report.json_common import finished
from protection.bench import core, ids, supply, tank

HIGH = WiredCapacitor("C9", 1e-9, 2000.0, 2000.0 * sqrt(2), rated=4000.0, rated_kind="AC", bleeder=1e8, made=2015)


def wired(**changes: object) -> set[str]:
    return ids(supply(capacitors=(replace(HIGH, **changes),)))  # type: ignore[arg-type]


def test_behind_a_ballast_a_unit_is_held_to_twice_its_rating():
    # as the planner holds it; 1.5 times without one: common practice, no source
    def judged(amps: float, *, ballast: bool) -> bool:
        return "no-current-limit" in ids(supply(ballast=ballast, part_currents=(PartCurrent("T1", amps, 4.0),)))

    assert (judged(7.99, ballast=True), judged(8.01, ballast=True)) == (False, True)
    assert (judged(5.99, ballast=False), judged(6.01, ballast=False)) == (False, True)


def test_touched_shunts_are_told_once():
    tags = [t for t in supply(ballast=False, touched_shunts=("S1",)) if t.id == "no-current-limit"]
    assert [t.where for t in tags] == ["S1"]
    over = supply(ballast=False, touched_shunts=("S1",), part_currents=(PartCurrent("S1", 9.0, 4.0),))
    assert [t.where for t in over if t.id == "no-current-limit"] == ["S1"]


@pytest.mark.parametrize(
    ("uncorrected", "corrected", "said"),
    [(15.9, 15.9, None), (16.1, 3.7, "failed open"), (4.4, 16.1, "in place")],
)
def test_the_breaker_answers_to_the_larger_current(uncorrected, corrected, said):
    found = [
        t
        for t in supply(mains_uncorrected=uncorrected, mains_corrected=corrected, mains_short=4.0)
        if t.id == "breaker-overload"
    ]
    assert [said in (t.value or "") for t in found if said] == ([] if said is None else [True])
    assert bool(found) is (said is not None)


def test_a_capacitor_off_the_mains_is_judged_at_its_own_volts():
    # 1.1 x (highest volts + 10 %): 2420 V for 2000 V; 45 uC from 450 V: IEC 60335-1 cl. 8.1.4 (seen)
    assert not wired() & {"pfc-wrong-type", "bleeder-missing", "stored-energy-tank"}
    assert "pfc-wrong-type" not in wired(rated=2421.0)
    assert "pfc-wrong-type" in wired(rated=2419.0)
    assert "pfc-wrong-type" in wired(rated_kind="DC")
    assert "bleeder-missing" in wired(bleeder=None)
    charge = 45e-6 / HIGH.peak
    assert "stored-energy-tank" in wired(capacitance=1.01 * charge)
    assert "stored-energy-tank" not in wired(capacitance=0.99 * charge)
    assert "stored-energy-tank" not in wired(capacitance=1.01 * charge, high=False)


def test_an_opened_short_is_told_above_the_touch_limit():
    # 30 V rms: IEC 60335-1 cl. 8.1.4 (seen)
    assert "short-test-opens" not in ids(supply(opened_shorts=(OpenedShort("N1.high", 30.0),)))
    assert "short-test-opens" in ids(supply(opened_shorts=(OpenedShort("N1.high", 30.1),)))


def test_a_tank_without_a_stated_rating_is_a_stop_known_peak_or_not():
    assert "tank-overvolt-gap-missing" not in ids(tank())
    for peak in (2000.0, None):
        tags = [t for t in tank(unrated=("tank",), peak=peak) if t.id == "tank-overvolt-gap-missing"]
        assert [t.blocks for t in tags] == [True]


def test_what_the_residual_current_device_sees_is_said_as_it_is():
    # IEC 61008-1: does not trip below half of its rated residual current (from memory)
    def words(leaking: float) -> str:
        shock = Shock("hot", 0.4, 0.39, leaking, 1800.0, "output open")
        return next(t.value or "" for t in supply(shocks=(shock,), rcd=0.03) if t.id == "body-current")

    assert "sees none of it" in words(0.0149)
    assert "trips only once it flows" in words(0.0151)
    assert "1.80 kV rms to earth before it is touched" in words(0.0)


def test_a_loose_core_names_the_load_of_each_number():
    tags = core(
        bond_resistance=0.4,
        loose_voltage=3570.0,
        loose_current=0.32,
        loose_voltage_load="output open",
        loose_current_load="output shorted",
    )
    value = next(t.value for t in tags if t.id == "core-not-bonded")
    assert value == "bond 400 mohm; off earth 3.57 kV rms (output open); 320 mA through 1 kohm (output shorted)"


def test_a_limit_that_is_not_there_is_null_and_not_an_unsolved_answer():
    def tagged(value: float) -> bool:
        document = finished({"limit_peak": value}, ())
        assert document["limit_peak"] is None
        return "not-converged" in {t["id"] for t in document["tags"]}

    assert not tagged(inf)
    assert tagged(nan)
