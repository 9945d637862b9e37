"""Quick answers: each against a project that says the same, and against figures of the trade."""

from __future__ import annotations

from math import exp, sqrt

import pytest

from analyses.workshop import CHOKE, JOINTS, SITE, capacitor, designed, joined, solved, transformer, wire
from coilwright.analyses.limiter import limiter
from coilwright.analyses.limiter_results import Wanted
from coilwright.analyses.polarity import polarity
from coilwright.analyses.quick import (
    bleeder_answer,
    charge_answer,
    correction_answer,
    limiter_answer,
    polarity_answer,
)
from coilwright.errors import InputError

WITH_CAPACITOR = joined(JOINTS, live=["C1.a"], back=["C1.b"])
#: A pair as the quick answer wires it, on paper alone.
PAIR = {
    "live": ["mains.line", "B1.a"],
    "return": ["mains.neutral", "T1.primary_finish", "T2.primary_start"],
    "ground": ["mains.earth", "T1.core", "T2.core"],
    "fed": ["B1.b", "T1.primary_start", "T2.primary_finish"],
    "hot_a": ["T1.high_start"],
    "hot_b": ["T2.high_start"],
}


def on_paper(ballast: bool = True) -> str:
    """Return a project that states what the quick answer is given, and no more."""
    units = "".join(
        f'[[transformer]]\nid = "T{k}"\nkind = "oven"\nplate_primary = "230 V"\nplate_secondary = "2100 V"\n'
        'plate_power = "1000 VA"\nplate_frequency = "50 Hz"\ncore_end = "finish"\n'
        for k in (1, 2)
    )
    joints = dict(PAIR)
    if not ballast:
        joints["live"] = ["mains.line", *joints.pop("fed")[1:]]
    choke = '[[choke]]\nid = "B1"\ncurrent = "8.2 A"\n' if ballast else ""
    head = 'format = 1\n[project]\nname = "paper"\n[site]\nmains = "230 V"\nfrequency = "50 Hz"\n'
    return head + units + choke + wire(joints, output=("hot_a", "hot_b"))


# ---- bleeder and charge ----------------------------------------------------------------------------------------------


def test_bleeder_of_the_handbook_rule() -> None:
    # R <= t / (C ln(V / V_left)), exponential discharge, any textbook: 60 uF from 325 V to 50 V in 60 s: 534 kohm, to
    # 34 V in 1 s: 7.4 kohm. The answer counts on 10 % more volts, which is put in here as 230 / 1.1.
    assert bleeder_answer(60e-6, 230.0 / 1.1).row.largest == pytest.approx(534e3, rel=2e-3)
    assert bleeder_answer(60e-6, 230.0 / 1.1, at_plug_pins=True).row.largest == pytest.approx(7.4e3, rel=5e-3)


def test_preferred_bleeder_drains_in_time_and_one_step_up_does_not() -> None:
    answer = bleeder_answer(60e-6, 230.0, at_plug_pins=True)
    assert answer.preferred == pytest.approx(6800.0)  # E12 series, IEC 60063: 6.8, then 8.2
    assert answer.drain is not None and answer.row.residual is not None and answer.row.allowed is not None
    left = answer.row.peak * exp(-answer.drain / (6800.0 * 60e-6))
    assert left == pytest.approx(34.0)
    assert answer.drain <= answer.row.allowed < 8200.0 / 6800.0 * answer.drain
    assert answer.power == pytest.approx((1.1 * 230.0) ** 2 / 6800.0)


def test_bleeder_agrees_with_the_tag_of_a_project() -> None:
    slow = solved(SITE + transformer() + CHOKE + capacitor(bleeder="1 Mohm") + wire(WITH_CAPACITOR))
    of_project = next(t for t in slow.tags if t.id == "bleeder-missing")
    answer = bleeder_answer(
        40e-6, solved_voltage(slow), at_plug_pins=True, fitted=1e6
    )  # the set of the workshop has a plug
    of_answer = next(t for t in answer.tags if t.id == "bleeder-missing")
    assert of_answer.number == pytest.approx(of_project.number, rel=1e-9)
    assert of_answer.bound == of_project.bound
    assert of_answer.blocks
    assert answer.drain == pytest.approx(of_project.number, rel=1e-9)


def solved_voltage(made) -> float:
    """Return the highest volts across the mains of a solved supply, as its capacitor saw them."""
    points = (made.open_circuit, made.best_power, made.short_circuit)
    return max(p.apparent_power / p.mains_current for p in points)


def test_a_bleeder_that_is_quick_enough_is_no_stop() -> None:
    assert not [t for t in bleeder_answer(60e-6, 230.0, fitted=470e3).tags if t.blocks]
    assert [t.id for t in bleeder_answer(60e-6, 230.0, fitted=560e3).tags if t.blocks] == ["bleeder-missing"]


def test_string_is_sized_by_the_unit() -> None:
    answer = bleeder_answer(0.2e-6, 4000.0, series=8)
    assert answer.row.peak == pytest.approx(sqrt(2) * 1.1 * 500.0)
    assert answer.row.rule == "NEC 460.6"
    assert "string-zero-is-not-dead" in [t.id for t in answer.tags]
    assert answer.thresholds[0].value == pytest.approx(0.2e-6 / 8 * sqrt(2) * 1.1 * 4000.0)  # coulombs, of the whole


def test_charge_against_the_limits_for_people() -> None:
    # IEC 60335-1 cl. 8.1.4 (seen): 45 uC up to 15 kV; 50 nF at 10 kV is 500 uC (Q = C V) and 2.5 J (C V^2 / 2).
    answer = charge_answer(50e-9, 10e3)
    assert (answer.row.energy, answer.row.charge) == pytest.approx((2.5, 500e-6))
    found = {(s.quantity, s.limit): s.exceeded for s in answer.thresholds}
    # 0.25 J startle, 10 J contact: DOE-HDBK-1092-98 fig. 10-1 (seen)
    assert found == {("C", 45e-6): True, ("J", 0.25): True, ("J", 10.0): False}
    assert charge_answer(50e-9, 40.0).thresholds == ()


def test_charge_agrees_with_the_tag_of_a_project() -> None:
    text = SITE + transformer() + CHOKE + wire(JOINTS) + '[tank]\ncapacitance = "50 nF"\n'
    made = solved(text, gap_missing=True)
    assert made.gap_missing is not None and made.gap_missing.own is not None
    of_project = next(t for t in made.tags if t.id == "stored-energy-tank" and t.where == "tank")
    answer = charge_answer(50e-9, made.gap_missing.own.peak)
    of_answer = next(t for t in answer.tags if t.id == "stored-energy-tank")
    assert (of_answer.number, of_answer.bound) == pytest.approx((of_project.number, of_project.bound))
    assert of_answer.value == of_project.value


# ---- correction ------------------------------------------------------------------------------------------------------


def test_correction_of_a_kilovar() -> None:
    # Q = w C V^2, any textbook: 1000 var at 230 V 50 Hz are 60.2 uF, at 120 V 60 Hz 184.2 uF.
    assert correction_answer(1000.0, 230.0, 50.0).capacitance == pytest.approx(60.2e-6, rel=1e-3)
    assert correction_answer(1000.0, 120.0, 60.0).capacitance == pytest.approx(184.2e-6, rel=1e-3)


def test_correction_agrees_with_a_project() -> None:
    made = solved(SITE + transformer() + CHOKE + wire(JOINTS))
    best = made.best_power
    volts = best.apparent_power / best.mains_current
    answer = correction_answer(best.reactive_power, volts, 50.0)
    assert answer.capacitance == pytest.approx(made.correction.suggested, rel=1e-9)


def test_closing_current_agrees_with_a_project() -> None:
    # the workshop's site is silent about the mains impedance, as the quick answer is
    made = solved(SITE + transformer() + CHOKE + capacitor(bleeder="270 kohm") + wire(WITH_CAPACITOR))
    volts = made.best_power.apparent_power / made.best_power.mains_current
    answer = correction_answer(40e-6 * 2 * 3.141592653589793 * 50.0 * volts**2, volts, 50.0)
    assert made.correction.closing_peak is not None
    assert answer.closing_peak == pytest.approx(made.correction.closing_peak, rel=0.01)


# ---- limiter and polarity --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ballast", [True, False])
def test_limiter_agrees_with_a_project(ballast: bool) -> None:
    wanted = Wanted("heater", 1000.0)
    of_project = limiter(designed(on_paper(ballast)), wanted)
    answer = limiter_answer(wanted, plate_power=1000.0, ratio=2100.0 / 230.0, ballast=8.2 if ballast else None)
    assert answer.opened.limiter_voltage == pytest.approx(of_project.opened.limiter_voltage, rel=1e-6)
    assert answer.shorted.limiter_voltage == pytest.approx(of_project.shorted.limiter_voltage, rel=1e-6)
    assert [c.separates for c in answer.choices] == [c.separates for c in of_project.choices]
    assert answer.touches[0].current == pytest.approx(of_project.touches[0].current, rel=1e-6)


def test_polarity_agrees_with_a_project() -> None:
    of_project = polarity(designed(on_paper(ballast=False)), drive=12.0)
    answer = polarity_answer(units=2, ratio=2100.0 / 230.0, drive=12.0)
    for a, b in zip(answer.rows, of_project.rows, strict=True):
        assert a.between == b.between
        assert a.right.value == pytest.approx(b.right.value, rel=1e-6)
        assert a.reversed["T2.high"].value == pytest.approx(b.reversed["T2.high"].value, rel=1e-6)


def test_polarity_of_a_pair_fed_on_the_high_side() -> None:
    # Common practice, no source: 12 V on one high winding of an alike pair reads about 22 V across if right, 2 V if
    # reversed.
    answer = polarity_answer(units=2, ratio=9.13, drive=12.0)
    across = next(r for r in answer.rows if set(r.between) == {"hot_a", "hot_b"})
    assert across.right.value == pytest.approx(22.0, abs=1.0)
    assert across.reversed["T2.high"].value == pytest.approx(2.0, abs=1.0)
    assert not [t for t in answer.tags if t.id == "test-drive-live"]


@pytest.mark.parametrize("units", [3, 4])
def test_drive_that_passes_the_touch_limit_is_a_stop_and_the_default_does_not(units: int) -> None:
    given = polarity_answer(units=units, drive=12.0)
    assert given.reachable > 30.0  # IEC 60335-1 cl. 8.1.4: 42.4 V peak
    assert [t.grade for t in given.tags if t.id == "test-drive-live"] == ["STOP"]
    assert polarity_answer(units=units).reachable <= 30.0


def test_one_unit_and_too_many() -> None:
    assert limiter_answer(Wanted("heater", 1000.0), units=1).touches[0].where == "hot_a"
    with pytest.raises(InputError, match="1 to 4"):
        polarity_answer(units=5)


def test_every_answer_begins_with_the_local_code() -> None:
    answers = (bleeder_answer(60e-6, 230.0), charge_answer(50e-9, 10e3), correction_answer(1e3, 230.0, 50.0))
    for answer in (*answers, limiter_answer(Wanted("lamp", 60.0)), polarity_answer()):
        assert answer.tags[0].id == "local-code"
        assert "isolate-drain-short" in [t.id for t in answer.tags]
