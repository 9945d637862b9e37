"""What limits the current and what is wired where: ballast that only looks like one, capacitors by their place."""

from __future__ import annotations

import pytest

from analyses.workshop import (
    BARE,
    CHOKE,
    JOINTS,
    SITE,
    bond,
    capacitor,
    joined,
    resistor,
    solved,
    tags,
    transformer,
    wire,
)
from coilwright.measurement.kinds import KINDS

SITE_63 = SITE.replace("B16", "D63")
NO_POWER = transformer(plate_power=None)
PLAIN = SITE + transformer() + CHOKE + wire(JOINTS)
SIGN = {"kind": "sign", "plate_secondary": "8000 V", "plate_power": None, "plate_current": "50 mA"}


def sign(**keys: str | None) -> str:
    unit = transformer("T1", **{**SIGN, "core_end": "tap", "core_end_liftable": "no", **keys})
    return SITE + unit + wire(joined(BARE, hot2=["T1.high_finish"]), ("hot", "hot2"))


ACROSS_MAINS = joined(BARE, live=["B1.a"], back=["B1.b"])
IN_FRONT = {**BARE, "live": ["mains.line", "R1.a"], "fed": ["R1.b", "T1.primary_start"]}
ACROSS_OUTPUT = joined(BARE, hot=["R1.a"], ground=["R1.b"])


@pytest.mark.parametrize(
    ("parts", "joints", "limited"),
    [
        ("", BARE, False),
        (resistor("10 Mohm"), ACROSS_OUTPUT, False),
        (CHOKE, ACROSS_MAINS, False),
        (resistor("0.001 ohm"), IN_FRONT, False),
        (resistor("40 ohm"), IN_FRONT, True),
        (CHOKE, JOINTS, True),
    ],
    ids=["nothing", "across the output", "across the mains", "1 milliohm", "40 ohm in series", "choke in series"],
)
def test_only_what_limits_counts_as_a_ballast(parts, joints, limited):
    # An oven unit at full mains gives about five times its rated current into a short: common practice, no source.
    # Its plate states no power: the usual one of its kind stands in, assumed.
    found = tags(SITE_63 + NO_POWER + parts + wire(joints), "no-current-limit")
    assert (found == []) is limited
    if not limited:
        [tag] = found
        assert (tag.where, tag.mark) == ("T1", "pencil")
        assert tag.bound == pytest.approx(1.5 * KINDS["oven"].power / 230.0)


def test_a_stated_power_judges_and_the_breaker_too():
    [unit] = tags(SITE_63 + transformer() + wire(BARE), "no-current-limit")
    assert unit.bound == pytest.approx(1.5 * 1000.0 / 230.0)
    both = tags(SITE + transformer() + wire(BARE), "no-current-limit")
    assert {t.where for t in both} == {"T1", "mains"}


def test_a_ballast_too_small_for_the_unit_does_not_clear_it():
    # 6 ohm before an oven unit of 4.3 A: it limits, by more than a fifth, and still lets more than twice through.
    small = tags(SITE_63 + transformer() + resistor("6 ohm") + wire(IN_FRONT), "no-current-limit")
    assert [t.bound for t in small] == [pytest.approx(2 * 1000.0 / 230.0)]


def test_own_shunts_count_only_as_built():
    assert not tags(sign(), "no-current-limit")
    [tag] = tags(sign(shunts="changed"), "no-current-limit")
    assert tag.where == "T1"
    assert "shunts no longer as built" in tag.value


# ---- the breaker --------------------------------------------------------------------------------------------------


def corrected(value: str, breaker: str = "B16", **keys: str) -> str:
    joints = joined(JOINTS, live=["C1.a"], back=["C1.b"])
    cap = capacitor(value=value, **{"use": "power factor", "bleeder": "8 kohm", **keys})
    return SITE.replace("B16", breaker) + transformer() + CHOKE + cap + wire(joints)


def test_the_breaker_answers_to_the_larger_of_corrected_and_uncorrected():
    # 230 V on 200 uF at 50 Hz: 14.5 A leading, whatever the unit draws (I = w C V).
    [over] = tags(corrected("200 uF", "B10"), "breaker-overload")
    assert "with the correction capacitors in place" in over.value
    assert over.number == pytest.approx(13.6, rel=0.05)
    assert not tags(corrected("40 uF", "B10"), "breaker-overload")
    [under] = tags(corrected("40 uF", "B2"), "breaker-overload")
    assert "with every correction capacitor failed open" in under.value


# ---- capacitors by their place ------------------------------------------------------------------------------------


@pytest.mark.parametrize("use", ["filter", "tank"])
def test_a_capacitor_across_the_mains_is_a_correction_capacitor_whatever_it_is_called(use):
    text = corrected("40 uF", use=use)
    bare = solved(PLAIN).mains_current_uncorrected
    assert solved(text).mains_current_uncorrected == pytest.approx(bare, rel=0.01)
    assert solved(text).correction.fitted == pytest.approx(40e-6)
    assert [t.where for t in tags(text, "wiring-current")] == ["C1"]
    assert tags(corrected("40 uF", use=use, rated="50 V DC"), "pfc-wrong-type")[0].where == "C1"
    assert not tags(text, "pfc-wrong-type")


def test_one_behind_the_choke_is_found_there_without_its_use():
    behind = joined(JOINTS, fed=["C1.a"], back=["C1.b"])
    text = SITE + transformer() + CHOKE + capacitor() + wire(behind)
    assert [t.where for t in tags(text, "pfc-behind-ballast")] == ["C1"]
    assert [t.where for t in tags(text, "bleeder-missing")] == ["C1"]
    assert not tags(corrected("40 uF"), "pfc-behind-ballast")


def test_a_capacitor_on_the_high_side_is_judged_on_rating_bleeder_and_what_it_stores():
    across = joined(JOINTS, hot=["C1.a"], ground=["C1.b"])

    def high(**keys: str) -> str:
        return SITE + transformer() + CHOKE + capacitor(**{"value": "20 nF", **keys}) + wire(across)

    poor = high(rated="1000 V AC", use="power factor")
    assert [t.where for t in tags(poor, "pfc-wrong-type")] == ["C1"]
    assert [t.where for t in tags(poor, "bleeder-missing")] == ["C1"]
    [stored] = tags(poor, "stored-energy-tank")
    assert stored.where == "C1"
    assert solved(poor).correction.fitted == 0.0
    # 45 uC from 450 V to 15 kV: IEC 60335-1 cl. 8.1.4; 1 nF at 2.7 kV peak holds 2.7 uC
    good = high(rated="4000 V AC", value="1 nF", bleeder="100 Mohm")
    assert not {"pfc-wrong-type", "bleeder-missing", "stored-energy-tank"} & {t.id for t in solved(good).tags}


def test_a_filter_capacitor_to_earth_is_judged_on_its_rating():
    to_earth = joined(JOINTS, live=["C1.a"], ground=["C1.b"])
    text = SITE + transformer() + CHOKE + capacitor(value="4.7 nF", rated="{}", bleeder="1 Mohm") + wire(to_earth)
    assert [t.where for t in tags(text.replace("{}", "100 V AC"), "pfc-wrong-type")] == ["C1"]
    assert not tags(text.replace("{}", "450 V AC"), "pfc-wrong-type")
    assert not tags(text.replace("{}", "450 V AC"), "wiring-current")


# ---- bonds --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tests", "said"),
    [
        ((bond("0.04 ohm", "2025-02-14"), bond("15 ohm", "2026-11-14")), "bond 15.0 ohm"),
        ((bond("15 ohm", "2025-02-14"), bond("0.04 ohm", "2026-11-14")), None),
        ((bond("0.04 ohm", "2026-11-14"), bond("15 ohm", "2026-11-14")), "bond 15.0 ohm"),
        (
            (bond("0.04 ohm", "2026-11-14"), bond("15 ohm", None)),
            "bond reading without instrument and date; bond 15.0 ohm",
        ),
        ((bond("0.04 ohm", "2026-11-14"), bond("0.03 ohm", None)), None),
    ],
    ids=["newer is worse", "newer is mended", "same day", "undated is worse", "undated is better"],
)
def test_a_bond_is_as_good_as_its_last_reading(tests, said):
    found = tags(SITE + transformer("T1", *tests) + CHOKE + wire(JOINTS), "core-not-bonded")
    assert [t.value.split("; off earth")[0] for t in found] == ([] if said is None else [said])


# ---- the tank -----------------------------------------------------------------------------------------------------


def tank(line: str, more: str = "") -> str:
    return PLAIN + more + f"[tank]\n{line}\n"


def strung(more: str = "", bleeder: str = "") -> str:
    unit = f'[[capacitor]]\nid = "C3"\nvalue = "0.2 uF"\ncount = 32\nuse = "tank"\n{more}'
    return tank(f'strings = {{ part = "C3", series = 8, parallel = 2{bleeder} }}', unit)


PLATES = 'plates = { form = "flat", dielectric = "polyethylene", thickness = "3 mm", area = "0.09 m2", count = 12 }'


@pytest.mark.parametrize("scanned", [True, False])
def test_a_tank_that_states_no_bleeder_and_no_rating_has_none(scanned):
    text = tank('capacitance = "50 nF"')
    assert [t.where for t in tags(text, "bleeder-missing", gap_missing=scanned)] == ["tank"]
    [tag] = [t for t in tags(text, "tank-overvolt-gap-missing", gap_missing=scanned) if t.where == "tank"]
    assert tag.limit.startswith("not known")
    assert ("not known" in tag.value) is not scanned


def test_plates_have_the_rating_of_their_sheets_and_no_bleeder():
    thin = PLATES.replace("3 mm", "0.2 mm")
    assert [t.where for t in tags(tank(PLATES), "bleeder-missing")] == ["tank"]
    assert not tags(tank(PLATES), "tank-overvolt-gap-missing", gap_missing=True)
    [tag] = tags(tank(thin), "tank-overvolt-gap-missing", gap_missing=True)
    assert "tank plates" in tag.where and tag.number > tag.bound


def test_the_field_in_home_made_plates_is_that_of_one_sheet():
    # sheets lie side by side, each with all of the volts: E = V / d
    [tag] = tags(tank(PLATES), "homebuilt-capacitor", gap_missing=True)
    own = solved(tank(PLATES), gap_missing=True).gap_missing.own
    assert tag.number == pytest.approx(own.peak / 3e-3)
    assert "kV/mm" in tag.value
    [unknown] = tags(tank(PLATES), "homebuilt-capacitor")
    assert unknown.number is None


@pytest.mark.parametrize(
    ("words", "unfit"), [("class 2 ceramic", True), ("electrolytic", True), ("class 1 ceramic", False), ("PP", False)]
)
def test_a_tank_of_capacitors_that_are_none_for_it_is_a_stop(words, unfit):
    # class 2 ceramic loses 30 to 80 % of its capacitance with the volts: maker's curves, from memory
    text = strung(f'rated = "2000 V AC"\ndielectric = "{words}"\n', ', bleeder = "10 Mohm"')
    assert [(t.grade, t.where) for t in tags(text, "tank-unfit-capacitor")] == [("STOP", "C3 in the tank")] * unfit


def test_a_string_without_rating_says_so_and_one_with_rating_is_judged():
    poor, good = strung(), strung('rated = "2000 V DC"\n', ', bleeder = "10 Mohm"')
    assert [t.where for t in tags(poor, "tank-overvolt-gap-missing")] == ["tank string of 8 x C3"]
    assert [t.where for t in tags(poor, "bleeder-missing")] == ["C3 in the tank"]
    assert not tags(good, "tank-overvolt-gap-missing")
    assert not tags(good, "bleeder-missing")
