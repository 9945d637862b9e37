"""What a tag prints: with everything known, and with each thing that may not be known left out."""

from __future__ import annotations

from math import log

import pytest

from coilwright.model.site import Breaker
from coilwright.protection.facts import HeatFacts, TankUnit, VariableFacts
from protection.bench import core, correction, ids, part, reading, site, supply, tank

IDLE = {"idle_leading": True}
OVEN = {"kind": "oven", "dielectric": "polypropylene"}
HOT = HeatFacts("B1", 273.15 + 120, on_time=300.0, duty=0.57)
ENDS = (("hot_a", 1929.0), ("hot_b", 1930.0))
BURNT = {"heat": (HOT,)}
OPEN_PAIR = {"polarity_mark": "ink"}


@pytest.mark.parametrize(
    ("hazard", "tags", "value"),
    [
        ("mains-in-series", supply(mains_in_series=True, mains_gain=0.027), "gain 2.70 % of the open volts"),
        ("mains-in-series", supply(mains_in_series=True), None),
        ("zero-is-not-off", supply(**OPEN_PAIR), None),
        ("zero-is-not-off", supply(**OPEN_PAIR, ends=ENDS), "hot_a 1.93 kV rms to earth, hot_b 1.93 kV rms to earth"),
        ("pfc-overcorrected", supply(**IDLE, idle_power_factor=0.12), "power factor 0.12 leading at idle"),
        ("pfc-overcorrected", supply(**IDLE), None),
        ("heat-duty", supply(**BURNT), "120 degC, on at most 300 s from cold, duty 57.0 %"),
        ("heat-duty", supply(heat=(HeatFacts("B1", 273.15 + 120),)), "120 degC"),
        ("variable-not-isolating", supply(variables=(VariableFacts("V1", 8.0, 10.0),)), "brush 8.00 A, rated 10.0 A"),
        ("variable-not-isolating", supply(variables=(VariableFacts("V1"),)), "rating not stated"),
        ("pe-lost", supply(plug_in=True), None),
        (
            "pe-lost",
            supply(plug_in=True, pe_lost_voltage=2084.0, pe_lost_current=0.816),
            "2.08 kV rms, 816 mA through 1 kohm",
        ),
        ("core-not-bonded", core(bond_resistance=None), "no bond reading"),
        ("core-not-bonded", core(bond_current=None), "test current not stated"),
        ("core-not-bonded", core(bond_current=0.01), "tested with 10.0 mA only"),
        ("core-not-bonded", core(bond_mark="ink"), "bond reading without instrument and date"),
        ("floating-core", core(earthed=False, tied=False, primary_to_core=None), None),
        ("floating-core", core(earthed=False, primary_to_core=2093.0), "primary to core 2.09 kV rms"),
        ("bleeder-missing", correction(bleeder=None), "none on 40.0 uF at 358 V peak"),
        ("homebuilt-capacitor", tank(plates=True, field=10e6), "2.00 nF, 10 kV/mm"),
        ("homebuilt-capacitor", tank(plates=True), "2.00 nF"),
        ("contactor-weld", site(disconnections=None), "not stated"),
        ("contactor-weld", site(disconnections=1), "1 stated"),
        ("system-unknown", site(earthing="unknown"), "earthing unknown"),
        ("system-unknown", site(earthing_mark="pencil"), "earthing TN (assumed)"),
        ("system-unknown", site(plug="unknown"), "direction of the plug unknown"),
        ("system-unknown", site(plug="unknown", plug_mark="pencil"), "direction of the plug unknown (assumed)"),
        ("oven-capacitor", part("capacitor", **OVEN, capacitance=1e-6, rated_peak=3e3), "holds 4.50 J at 3.00 kV peak"),
        ("oven-capacitor", part("capacitor", **OVEN, capacitance=1e-6), None),
        ("oven-capacitor", part("capacitor", **OVEN, rated_peak=3e3), None),
        ("old-oil-pcb", part("capacitor"), "year not stated, dielectric not stated"),
        ("old-oil-pcb", part("capacitor", made=1970, dielectric="paper"), "made 1970, dielectric paper"),
        ("old-oil-pcb", part(filling="tar", made=1970), "made 1970, filled with tar"),
        ("test-above-meter", reading("open", volts=2100.0, rating=600.0), "2.10 kV rms"),
        ("test-above-meter", reading("open", volts=2100.0, rating=600.0, asked=True), "2.10 kV rms (asked for)"),
        ("proof-test", reading("proof", test_volts=5600.0), "5.60 kV"),
        ("proof-test", reading("proof"), None),
        ("rcd-blind", supply(rcd=None, residual=None), "residual not computed; no residual-current device"),
    ],
)
def test_value(hazard, tags, value):
    assert [t.value for t in tags if t.id == hazard] == [value]


@pytest.mark.parametrize(
    ("hazard", "tags", "limit"),
    [
        # IEC 60898-1 (seen): B trips magnetically between 3 and 5 times the rated current
        ("breaker-inrush", supply(inrush_peak=100.0), "67.9 A to 113 A peak (48.0 A to 80.0 A rms)"),
        (
            "breaker-inrush",
            supply(inrush_peak=100.0, breaker=Breaker(16.0)),
            "curve unknown: anything from 3 to 20 times the rated current (rms)",
        ),
        ("no-current-limit", supply(ballast=False, mains_short=20.0), "16.0 A breaker"),
        (
            "safety-gap-missing",
            tank(safety_gap=None),
            "per leg: above 2.77 kV peak (1.05 x open peak to earth), below 3.25 kV peak (weakest rating)",
        ),
        ("safety-gap-missing", tank(safety_gap=None, open_peak=None), "per leg: below 3.25 kV peak (weakest rating)"),
        (
            "safety-gap-missing",
            tank(safety_gap=None, ratings=()),
            "per leg: above 2.77 kV peak (1.05 x open peak to earth)",
        ),
        (
            "safety-gap-missing",
            tank(safety_gap=None, ratings=(), open_peak=None),
            "per leg: above 1.05 x open peak to earth, below the weakest rating",
        ),
        (
            "floating-core",
            core(earthed=False, tied=False, primary_limit=None),
            "primary to core: 1.1 x plate volts unless proof-tested and stamped",
        ),
        (
            "floating-core",
            core(earthed=False, tied=False, primary_mark="pencil"),
            "253 V rms primary to core, proof-tested and stamped",
        ),
        ("test-above-meter", reading("open", volts=700.0, rating=600.0), "600 V rms: rating of the instrument"),
        (
            "test-above-meter",
            reading("open", volts=700.0, rating=600.0, instrument="meter"),
            "600 V rms: rating of meter",
        ),
        ("test-above-meter", reading("open", refused=True, instrument="meter"), "not known: rating of meter"),
    ],
)
def test_limit(hazard, tags, limit):
    assert [t.limit for t in tags if t.id == hazard] == [limit]


@pytest.mark.parametrize("what", ["resistance", "capacitance"])
def test_a_reading_is_named_by_its_part_which_the_builder_knows(what):
    hazard = {"resistance": "dc-kick", "capacitance": "capacitance-meter"}[what]
    assert [t.where for t in reading(what) if t.id == hazard] == ["T1"]


def test_insulation_that_has_no_number_is_not_judged():
    for unknown in ({"high_to_primary": None}, {"high_to_primary_limit": None}):
        assert "high-to-primary" not in ids(core(**unknown))


def test_a_floating_core_on_assumed_insulation_also_stands_under_the_assumed_margins():
    floating = core(earthed=False, tied=False, primary_mark="pencil")
    assert [t.value for t in floating if t.id == "pencil-under-stop"] == [
        "floating-core: T1 at 230 V rms against 253 V rms (assumed)"
    ]
    assert "pencil-under-stop" not in ids(core(earthed=False, tied=False, primary_mark="pencil", primary_to_core=None))


@pytest.mark.parametrize(("rated_peak", "allowed"), [(840.0, 60.0), (855.0, 300.0)])
def test_above_600_volts_nominal_a_bleeder_has_five_minutes(rated_peak, allowed):
    # NEC 460.6 (seen): 60 s up to 600 V nominal, which is 849 V peak; NEC 460.28 (from memory): 300 s above
    for factor, fires in ((0.99, False), (1.01, True)):
        bleeder = factor * allowed / (1e-6 * log(rated_peak / 50.0))
        tags = tank(units=(TankUnit("C3.1", 1e-6, rated_peak, bleeder),))
        assert ("bleeder-missing" in ids(tags)) is fires


def test_the_ring_names_no_volts_where_none_are_known():
    (tag,) = (t for t in site() if t.id == "keep-out")
    assert tag.value == "ring of 1.52 m; distance of the wall not stated"
    (tag,) = (t for t in site(supply_peak=5e3, outdoors=True) if t.id == "keep-out")
    assert tag.value == "ring of 1.52 m; for 5.00 kV peak"
