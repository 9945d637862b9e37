"""Keys of the project file that decide a hazard: each present and absent."""

from __future__ import annotations

import pytest

from analyses.workshop import BARE, CHOKE, JOINTS, SITE, designed, joined, solved, tags, transformer, wire
from coilwright.analyses.gates import gates
from coilwright.analyses.shelf import shelf

OVEN = transformer()


def ids(text):
    return {t.id for t in shelf(designed(text)).tags}


def where(text, id):
    return [t.where for t in shelf(designed(text)).tags if t.id == id]


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("diode string and doubler to come", True),
        ("rectified by four diodes", True),
        ("DC-charged through a reactor", True),
        ("flyback driven by PWM", True),
        ("two in antiphase about the midpoint", False),
        ("direct earth from the rod", False),
    ],
)
def test_a_supply_outside_the_models_is_noted(word, told):
    assert ("not-modelled" in ids(SITE.replace('name = "workshop"', f'name = "w"\nnotes = "{word}"') + OVEN)) is told
    noted = SITE + transformer(notes=word)
    assert ("T1" in "".join(where(noted, "not-modelled"))) is told


@pytest.mark.parametrize(("said", "told"), [("none", False), ("ground fault", True), ("unknown", True), (None, True)])
def test_ground_fault_protection_of_a_sign_unit(said, told):
    text = SITE + transformer(kind="sign", plate_secondary="8000 V", core_end="tap", secondary_protection=said)
    assert ("ground-fault-unit" in ids(text)) is told


@pytest.mark.parametrize(
    ("volts", "ohms", "told"),
    [("500 V DC", "0.9 Mohm", True), ("500 V DC", "1.1 Mohm", False), ("250 V DC", "0.9 Mohm", False)],
)
def test_a_failed_insulation_test_stops_its_part(volts, ohms, told):
    test = f'insulation_test = [{{ between = ["primary", "core"], applied = "{volts}", resistance = "{ohms}" }}]\n'
    assert ("insulation-low" in ids(SITE + OVEN + test)) is told


def test_a_better_insulation_of_a_later_day_counts():
    tests = (
        'insulation_test = [{ between = ["primary", "core"], applied = "500 V DC", resistance = "0.2 Mohm", '
        'instrument = "insulation tester", date = 2026-01-01 }, { between = ["primary", "core"], applied = "500 V DC", '
        'resistance = "2 Gohm", instrument = "insulation tester", date = 2026-02-01 }]\n'
    )
    site = SITE + '[[instrument]]\nid = "insulation tester"\nrating = "1 kV"\naccuracy = { resistance = "10 %" }\n'
    assert "insulation-low" not in ids(site + OVEN + tests)
    assert "insulation-low" in ids(site + OVEN + tests.replace("2026-02-01", "2025-02-01"))


def test_what_is_going_to_be_wound_has_its_fumes():
    reel = '[[wire]]\nid = "W1"\ndiameter = "0.4 mm"\n'
    assert "fumes-varnish" not in ids(SITE + OVEN)
    assert where(SITE + OVEN + reel, "fumes-varnish") == ["W1"]


def resistor(**keys):
    said = "".join(f'{k} = "{v}"\n' for k, v in keys.items())
    return f'[[resistor]]\nid = "R1"\nresistance = "60 ohm"\n{said}'


def through(part):
    joints = {**BARE, "live": ["mains.line", "R1.a"], "fed": ["R1.b", "T1.primary_start"]}
    return SITE + OVEN + part + wire(joints)


def test_a_resistor_above_its_watts_or_volts_is_told():
    # 60 ohm straight before an oven unit's short takes most of 230 V: some 800 W, 220 V
    assert tags(through(resistor(power="2000 W", voltage="400 V")), "resistor-overload") == []
    (hot,) = tags(through(resistor(power="100 W")), "resistor-overload")
    assert hot.number > 500 and hot.bound == 100.0
    (stressed,) = tags(through(resistor(voltage="150 V")), "resistor-overload")
    assert 150 < stressed.number < 230
    assert tags(through(resistor()), "resistor-overload") == []  # no rating is stated, so nothing can be judged


def test_the_bleeder_of_the_output_is_judged_by_its_watts():
    # one end at about 2.1 kV: 2100^2 / 1 Mohm = 4.4 W
    text = SITE.replace("disconnections = 2", 'disconnections = 2\nbleeder = { resistance = "1 Mohm", power = "P" }')
    assert tags(text.replace('"P"', '"3 W"') + CHOKE + OVEN + wire(JOINTS), "resistor-overload")
    assert tags(text.replace('"P"', '"6 W"') + CHOKE + OVEN + wire(JOINTS), "resistor-overload") == []


def rows(text):
    return {r.id: r for g in gates(designed(text), supply=solved(text)).gates for r in g.rows}


def test_a_tt_place_has_its_earth_read():
    # IEC 60364-4-41, cl. 411.5.3: R_A x I_dn <= 50 V; 30 mA allow 1667 ohm (from memory)
    text = SITE + CHOKE + OVEN + wire(JOINTS)
    assert "electrode" not in rows(text)
    read = rows(text.replace('earthing = "TN"', 'earthing = "TT"'))["electrode"]
    assert read.high == pytest.approx(1667, rel=1e-3) and "electrician" in read.instrument


def test_what_nothing_is_known_of_keeps_its_gate_from_agreeing():
    text = (SITE + CHOKE + OVEN + wire(JOINTS)).replace('rcd = "30 mA"', 'rcd = "none"')
    verdicts = {}
    for earthing in ("TN", "TT"):
        own = text.replace('earthing = "TN"', f'earthing = "{earthing}"')
        verdicts[earthing] = {g.id: g.verdict for g in gates(designed(own), supply=solved(own)).gates}["bonds"]
    assert verdicts == {"TN": "agrees", "TT": "open"}


def test_a_choke_with_settings_is_read_at_the_one_in_use():
    text = SITE + CHOKE.replace('current = "4.6 A"', 'settings = ["2 A", "4.6 A"]\nresistance = "1.5 ohm"')
    assert "4.60 A" in rows(text + OVEN + wire(JOINTS))["B1"].what
    assert "setting" not in rows(SITE + CHOKE + OVEN + wire(JOINTS))["B1"].what


def test_the_variable_transformer_on_the_shelf_is_judged_by_its_brush():
    from coilwright.analyses.gates import gates as every

    def how(rated):
        part = f'[[variable]]\nid = "V1"\nvoltage = "230 V"\ncurrent = "{rated}"\n'
        text = SITE + CHOKE + OVEN + part + wire(JOINTS)
        return " ".join(
            next(g for g in every(designed(text), supply=solved(text)).gates if g.id == "reduced volts").how
        )

    assert "V1 is rated for that" in how("8 A")
    assert "V1 is not rated for that" in how("0.5 A")


def test_an_arrangement_with_a_rectifier_in_its_name_is_noted():
    named = wire(joined(JOINTS)).replace('name = "a"', 'name = "rectified"').replace('use = "a"', 'use = "rectified"')
    assert "rectified" in where(SITE + CHOKE + OVEN + named, "not-modelled")
