"""Rotor of a project: its numbers by hand, what is missing, what it says when it stalls, and its tag."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyses.tank_benches import GAP, ROTOR, STATIC, SUPPLY, ink, project, without
from coilwright.analyses.tank_results import Missing, RotaryResult
from coilwright.analyses.tank_rotary import rotary_result, rotary_tags, rotor_facts
from coilwright.analyses.tank_rotor_words import firing_peak, spin_test


def made(*changes: tuple[str, str], text: str = ROTOR) -> RotaryResult:
    result = rotary_result(project(text, *changes), SUPPLY, GAP)
    assert result is not None
    return result


def reasons(*changes: tuple[str, str], text: str = ROTOR) -> str:
    design = project(text, *changes)
    tags = rotary_tags(design, rotary_result(design, SUPPLY, GAP))
    return "; ".join(t.value or "" for t in tags if t.id == "rotor-burst")


@pytest.mark.parametrize(("rpm", "newtons"), [("3000 rpm", 79.0), ("6000 rpm", 316.0)])
def test_force_of_eight_grams_on_a_hundred_millimetres(rpm, newtons):
    # m r w^2, by hand: 8 g on 100 mm, 79 N at 3000 rpm and 316 N at 6000 rpm
    result = made(('"3000 rpm"', f'"{rpm}"'))
    assert result.electrode_force is not None
    assert result.electrode_force.value == pytest.approx(newtons, abs=0.5)
    assert result.spin_test_force is not None
    assert result.spin_test_force.value == pytest.approx(1.44 * result.electrode_force.value)
    assert result.spin_test_speed == pytest.approx(1.2 * result.speed)


def test_timing_by_hand():
    # 8 x 50 a second against 100 half-cycles; faces of 6 mm pass each other in 12 mm / 31.4 m/s; rim at 120 mm
    result = made()
    assert result.presentations_per_second == pytest.approx(400.0)
    assert result.presentations_per_half_cycle == pytest.approx(4.0)
    assert result.dwell is not None
    assert result.dwell.value == pytest.approx(12e-3 / (2 * pi * 0.1 * 50), rel=1e-3)
    assert result.tip_speed == pytest.approx(2 * pi * 0.12 * 50)
    assert result.missing == ()
    stated = made(text=ROTOR + 'dwell = "250 us"\n').dwell
    assert stated is not None
    assert stated.value == pytest.approx(250e-6)


def test_a_sound_rotor_raises_only_its_pencil_and_any_spoilt_one_a_stop():
    design = project()
    tags = rotary_tags(design, rotary_result(design, SUPPLY, GAP))
    assert [t.id for t in tags] == ["pencil-under-stop"]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"3000 rpm"', '"9000 rpm"', "tip speed 113 m/s"),
        ('"glass-epoxy"', '"acrylic"', "acrylic is not taken for a disc at any speed"),
        ('"glass-epoxy"', '"polycarbonate"', "tip speed 37.7 m/s"),
        ('bolt = "6 mm"', 'bolt = "2 mm"', "bolts only"),
        ('material = "steel"', 'material = "acrylic"', "no thickness of acrylic is known to hold"),
        ('thickness = "3 mm"', 'thickness = "0.5 mm"', "shield of 0.500 mm steel"),
        ("all_round = true", "all_round = false", "shield open on a side"),
        (", all_round = true", "", "shield not stated to be all round"),
        ("synchronous rotary", "asynchronous rotary", "motor_speed_max not stated"),
        ('"3000 rpm"', '"2900 rpm"', "motor_speed_max not stated"),
    ],
)
def test_what_is_outside_its_limit_is_named(old, new, said):
    assert said in reasons((old, new))


@pytest.mark.parametrize("key", ["electrode_radius", "electrode_mass", "disc", "bolt", "shield", "electrode"])
def test_what_is_not_stated_is_a_stop(key):
    assert reasons(text=without(ROTOR, key))


@pytest.mark.parametrize("key", ["speed", "presentations"])
def test_without_its_timing_nothing_is_worked_out_and_the_tag_stands(key):
    design = project(without(ROTOR, key))
    assert rotary_result(design, SUPPLY, GAP) is None
    (tag,) = rotary_tags(design, None)
    assert tag.blocks
    assert f"{key} not stated" in (tag.value or "")


def test_the_highest_speed_is_judged_and_not_the_running_one():
    text = ROTOR.replace("synchronous", "asynchronous") + 'motor_speed_max = "9000 rpm"\n'
    design = project(text)
    result = rotary_result(design, SUPPLY, GAP)
    facts = rotor_facts(design, result)
    assert result is not None
    assert facts is not None
    assert facts.force == pytest.approx(9 * 78.957, rel=1e-4)
    assert facts.disc_factor == pytest.approx((result.disc_factor or 0) / 9)
    assert facts.tip_speed == pytest.approx(3 * (result.tip_speed or 0))
    assert facts.spin_test_force == pytest.approx(1.44 * 9 * 78.957, rel=1e-4)
    assert "tip speed" in reasons(text=text)


def test_a_mass_that_is_not_stated_is_assumed_within_a_factor_of_two():
    # brass of 8.5 g/cm3, 6 mm thick and 40 mm long: 9.61 g by hand
    result = made(text=without(ROTOR, "electrode_mass"))
    force = result.electrode_force
    assert force is not None
    assert force.value == pytest.approx(9.613e-3 * 0.1 * (100 * pi) ** 2, rel=1e-3)
    assert (force.low, force.high, force.mark) == (
        pytest.approx(force.value / 2),
        pytest.approx(2 * force.value),
        "pencil",
    )


def test_a_bore_that_is_not_stated_counts_as_a_small_one():
    # Timoshenko and Goodier: any small bore doubles the hoop stress in the middle
    bored, silent = (made(*c) for c in ((), ((', bore = "12 mm"', ""),)))
    assert silent.disc_stress is not None
    assert bored.disc_stress is not None
    assert silent.disc_stress.value == pytest.approx(bored.disc_stress.value, rel=0.05)


@pytest.mark.slow
@given(st.floats(500.0, 12000.0))
def test_factors_fall_with_the_square_of_the_speed(rpm):
    slow, fast = made(), made(('"3000 rpm"', f'"{rpm} rpm"'))
    k = (rpm / 3000) ** 2
    assert fast.disc_factor == pytest.approx((slow.disc_factor or 0) / k, rel=1e-6)
    assert fast.bolt_factor == pytest.approx((slow.bolt_factor or 0) / k, rel=1e-6)
    assert slow.burst_speed is not None
    assert fast.burst_speed is not None
    assert fast.burst_speed.value == pytest.approx(slow.burst_speed.value)
    # the brittle end of the band is where strength over stress comes to one
    assert fast.burst_speed.low == pytest.approx(fast.speed * sqrt(fast.disc_factor or 0), rel=1e-6)


# ---- words -----------------------------------------------------------------------------------------------------------


def test_in_step_and_not():
    assert "A synchronous motor of 2 poles" in " ".join(made().words)
    slipping = " ".join(made(('"3000 rpm"', '"2880 rpm"')).words)
    assert "2880 rpm is no synchronous speed on 50 Hz (3000 rpm, 1500 rpm, 1000 rpm ...)" in slipping
    assert "slides through a whole presentation 16 times a second" in slipping
    loose = " ".join(made(("synchronous", "asynchronous")).words)
    assert "1 % of slip slides the presentations through one whole presentation 4 times a second" in loose


@pytest.mark.parametrize("count", [1, 3])
def test_odd_presentations_in_a_cycle_load_one_half_more(count):
    # 1 or 3 presentations in a whole cycle cannot be the same in both of its halves
    assert "puts direct current through its windings" in " ".join(
        made(("presentations = 8", f"presentations = {count}")).words
    )
    assert "direct current" not in " ".join(made(("presentations = 8", "presentations = 2")).words)


def test_phase_in_time_and_in_degrees_of_the_frame():
    # 20 degrees of a 50 Hz cycle are 1.11 ms; at 1500 rpm the frame turns half the electrical angle
    assert "Alignment stands 20 degrees (1.11 ms)" in " ".join(made().words)
    assert "by 10 degrees moves the firing by 10 degrees" in " ".join(made().words)
    slow = " ".join(made(('"3000 rpm"', '"1500 rpm"'), ('phase = "20 deg"\n', "")).words)
    assert "by 5 degrees moves the firing by 10 degrees" in slow
    assert "Phase not stated" in slow


def test_stalled_in_alignment_and_out_of_it():
    aligned, out = made().stalled
    assert "2 x 1.50 mm" in aligned
    assert "firing at about 9.00 kV peak" in aligned
    assert "up to 60.0 mA" in aligned
    # eight overlaps of 6.88 degrees in a turn: 15 %
    assert "15 % of all stops" in aligned
    assert "half a pitch out of alignment, 2 x 33.1 mm" in out
    assert "never fires" in out
    assert "18.0 kV peak" in out
    # fifty pins of 6 mm on 628 mm: 0.3 mm beyond the overlap at most, so that it still fires, at little more
    near = made(("presentations = 8", "presentations = 50")).stalled[1]
    assert "it fires only at 9.1" in near
    weak = replace(SUPPLY, own_missing=Missing(20e-9, 8.9e3, {"hot": 8.9e3}))
    too_wide = rotary_result(project(), weak, GAP)
    assert too_wide is not None
    assert "breaks down at 9.00 kV peak, above the peak with the gap missing, 8.90 kV peak" in too_wide.stalled[0]
    unknown = rotary_result(project(), replace(SUPPLY, own_missing=None), None)
    assert unknown is not None
    assert "may never fire" in unknown.stalled[1]
    assert "open peak (that with the tank is not known), 10.0 kV peak" in unknown.stalled[1]


def test_firing_volts_are_read_off_the_curve_and_not_beyond_it():
    # the invented gap fires at 6 kV for each millimetre
    assert firing_peak(GAP, 1.7e-3) == pytest.approx(10.2e3)
    assert firing_peak(GAP, 0.1e-3) is None
    assert firing_peak(GAP, 9e-3) is None
    assert firing_peak(None, 1e-3) is None


def test_spin_test_is_said_with_its_numbers_and_with_nobody_there():
    words = " ".join(spin_test(made()))
    assert (
        "3600 rpm (1.2 x the highest speed, every stress 1.44 x, 114 N on each electrode, 45.2 m/s at the rim)" in words
    )
    assert "nobody in the room" in words
    assert "disconnected and shorted" in words


def test_pins_that_do_not_fit_come_as_words_and_not_as_a_crash():
    # a spacing from the gap, and electrodes that overlap on their circle: the file's own check refuses that, a
    # caller's Design may still hold it
    design = project()
    assert design.gap is not None
    crowded = replace(design, gap=replace(design.gap, presentations=200))
    result = rotary_result(crowded, SUPPLY, GAP)
    assert result is not None
    assert any("do not fit" in m for m in result.missing)
    small = replace(design, gap=replace(design.gap, electrode_radius=replace(design.gap.electrode_radius, value=0.119)))
    assert any("disc cannot be judged" in m for m in (rotary_result(small, SUPPLY, GAP) or result).missing)


def test_a_static_gap_has_no_rotor():
    design = project(STATIC)
    assert rotary_result(design, SUPPLY, GAP) is None
    assert rotary_tags(design, None) == ()


def test_an_acrylic_shield_is_judged_as_none_that_holds():
    design = project(ROTOR, ('material = "steel"', 'material = "acrylic"'))
    result = rotary_result(design, SUPPLY, GAP)
    facts = rotor_facts(design, result)
    assert result is not None
    assert facts is not None
    assert facts.shield_wanted == inf
    assert result.shield_thickness is None
    assert "it shatters" in result.shield_words


def test_nothing_is_called_harmless():
    for result in (made(), made(text=without(ROTOR, "shield", "disc"))):
        words = " ".join((*result.words, *result.stalled, *result.limits, result.shield_words, *spin_test(result)))
        assert " is safe" not in words
        assert "nan" not in words.split()
    assert ink(1.0, "m").mark == "ink"
