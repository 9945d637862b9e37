"""Home-made capacitors: what is said of them, and the one that is proposed."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from analyses.tank_size_bench import FIRING, PEAKS, bench, estimate, plated, side, staged, written
from coilwright.analyses.tank_plates import plate_places, plates_result, propose
from coilwright.analyses.tank_size import size_result
from coilwright.errors import InputError, ModelRangeError
from coilwright.model.known import Known
from coilwright.model.machine import Gap, Protection, Tank, TankStrings


def test_the_own_stack():
    p = staged(plated()).plates
    assert p.own and (p.form, p.dielectric, p.count) == ("flat", "polyethylene", 33)
    # By hand: 33 x 8.854e-12 x 2.28 x 0.09 / 3e-3 = 20.0 nF.
    assert p.capacitance.value == pytest.approx(20.0e-9, rel=0.02)
    assert p.capacitance.low < 20.0e-9 < p.capacitance.high
    (sheet, foil) = p.sheets
    assert (sheet.count, foil.count) == (35, 34)
    assert p.foil_length == pytest.approx(0.3)
    for e in (p.strength, p.rated_peak, p.corona_peak, p.corona_peak_oil, p.loss, p.temperature_rise):
        assert e.low < e.value < e.high and e.mark == "pencil"


def test_the_heat_is_the_rings_and_the_mains():
    result = staged(plated())
    size, p = result.size, result.plates
    # By hand from the parts: energy x bangs/s x quality x loss tangent, and w C V^2 tan(delta) at 50 Hz.
    ring = size.energy_per_bang.value * size.break_rate.value * 15.0 * p.loss_tangent.value
    mains = 2 * pi * 50 * p.capacitance.value * (9e3 / sqrt(2)) ** 2 * 2.236e-4
    assert p.loss.value == pytest.approx(ring + mains, rel=1e-3)


def test_what_speaks_against_it_is_said():
    # 3 mm of polyethylene at 9 kV: above its rated volts, and its edges glow in air.
    tank = plated()
    seen = side({5e-9: 15e3, tank_value(tank): 19.2e3}, tank_value(tank))
    reasons = " ".join(staged(tank, seen=seen).plates.reasons)
    assert "19.2 kV peak with the gap missing is above the rated" in reasons
    assert "9.00 kV peak at the gap's setting is above the rated" in reasons
    assert "glows in air" in reasons and "under oil" in reasons
    thick = " ".join(staged(plated(thickness=18e-3), seen=side(own=None)).plates.reasons)
    assert "above the rated" not in thick


def tank_value(tank):
    return size_result(bench(tank), side(), (), FIRING).capacitance.value


@pytest.mark.parametrize("name", ["PVC", "acrylic", "class 2 ceramic"])
def test_an_unfit_dielectric_is_named_first(name):
    reasons = staged(plated(dielectric=name)).plates.reasons
    assert "unfit for a tank" in reasons[0]


def test_glass_is_doubted_not_refused():
    reasons = staged(plated("cylinder", "glass", area=0.06)).plates.reasons
    assert any("shatters" in r for r in reasons) and not any("unfit" in r for r in reasons)


def test_an_unknown_dielectric_names_the_known_ones():
    design = bench(plated(dielectric="polyethilene"))
    size = size_result(design, side(), (), FIRING)
    with pytest.raises(InputError) as e:
        plates_result(design, side(), size, FIRING)
    (problem,) = e.value.problems
    assert problem.where == "tank.plates.dielectric" and "polypropylene" in problem.hint


@pytest.mark.parametrize(("changes", "words"), [({"thickness": 0.0}, "thickness"), ({"thickness": 0.1}, "not thin")])
def test_measures_that_make_no_capacitor_are_answered_in_words(changes, words):
    design = bench(plated(**changes))
    size = size_result(design, side(), (), FIRING)
    with pytest.raises(InputError, match=words) as e:
        plates_result(design, side(), size, FIRING)
    assert e.value.problems[0].where == "tank.plates"
    assert plate_places(design) == ()


def test_its_rating_is_a_place_across():
    (place,) = plate_places(bench(plated()))
    assert place.across and place.what == "plates"
    assert place.limit_peak == pytest.approx(staged(plated()).plates.rated_peak.value)
    assert plate_places(bench(written(1e-9))) == ()


@pytest.mark.parametrize(("farads", "peak"), [(5e-9, 5e3), (10e-9, 9e3), (20e-9, 4e3)])
def test_the_proposed_stack_has_the_value_and_carries_the_volts(farads, peak):
    p = propose(farads, peak)
    made = staged(Tank(plates=p), firing=None, seen=side(own=None)).plates
    assert made.capacitance.value == pytest.approx(farads, rel=0.05)
    assert made.rated_peak.value >= peak * 0.98
    assert p.count <= 200 and p.thickness.mark == "pencil"


def test_what_no_stack_can_do_is_not_proposed():
    assert propose(1e-6, 20e3) is None  # thousands of sheets
    assert propose(5e-9, 100e3) is None  # thicker than the law knows
    with pytest.raises(ModelRangeError, match="positive"):
        propose(0.0, 9e3)
    with pytest.raises(InputError, match="unobtainium"):
        propose(5e-9, 9e3, "unobtainium")


def test_a_tank_written_as_a_value_gets_a_proposal_and_a_string_none():
    proposed = staged(written(5e-9), seen=side(own=5e-9)).plates
    assert proposed is not None and not proposed.own
    assert proposed.rated_peak.value >= 0.98 * 15.1e3  # the scan's peak at 5 nF, not the gap's setting
    design = bench(Tank(strings=TankStrings("C3", 8, 2)))
    assert plates_result(design, side(), size_result(design, side(), (), FIRING), FIRING) is None


def test_a_safety_gap_holds_what_the_plates_see():
    tank = plated()
    seen = side({5e-9: 15e3, tank_value(tank): 19.2e3, 60e-9: 22.9e3}, tank_value(tank))
    held = staged(tank, seen=seen, protection=Protection(safety_gap_voltage=Known(8e3)))
    assert held.plates.field_peak == pytest.approx(held.size.held_peak / 3e-3)
    assert any("with the gap missing and held by the safety gap is above" in r for r in held.plates.reasons)


def test_a_rotors_plates_are_judged_at_its_highest_volts():
    gap = Gap("asynchronous rotary", speed=Known(30.0), presentations=8)
    tank = plated(thickness=18e-3, count=190)
    peaks = {5e-9: 60e3, tank_value(tank): 60e3, 60e-9: 60e3}
    result = staged(tank, gap, firing=estimate(4e3, "V"), seen=side(peaks, tank_value(tank)))
    top = result.size.firing_highest
    assert top.value > 2 * 4e3
    words = " ".join(result.plates.reasons)
    assert "glows in air" in words
    cold = staged(tank, firing=estimate(4e3, "V"), seen=side(peaks, tank_value(tank)))
    assert "glows in air" not in " ".join(cold.plates.reasons)


def test_what_is_proposed_bears_the_missing_gap_at_its_own_capacitance():
    peaks = {c: v / 4 for c, v in PEAKS.items()}
    none = staged(None, firing=estimate(2e3, "V"), seen=side(peaks, None))
    aim = none.size.advised.value
    assert not none.plates.own and peaks[aim] > 5e3
    assert none.plates.field_peak == pytest.approx(peaks[aim] / none.plates.thickness)
    assert none.plates.rated_peak.value >= peaks[aim]
