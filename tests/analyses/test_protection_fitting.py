"""Fitting a part clears exactly its own tag: the demonstration's supply on a plug, one key of [protection] each."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import log

import pytest

from analyses.protection_cases import ids, plugged, solved, tags
from coilwright.model.known import Known
from coilwright.model.machine import BleederResistor, Protection, SeriesFilter, Tank, TankPlates, TankStrings
from coilwright.model.parts import ProofTest, Stamp

FILTER = SeriesFilter(Known(150.0), Known(2.2e-9))
BLEEDER = BleederResistor(Known(50e6), Known(5.0))
PLAIN = Tank(capacitance=Known(50e-9))
BOTH_STOPS = {"safety-gap-missing", "tank-overvolt-gap-missing"}


def changed(protection, before=None, tank=None):
    """Return (ids cleared, ids added) by going from one protection to another."""
    old, new = ids(before, tank), ids(protection, tank)
    return {i for i, _ in old - new}, new - old


@pytest.mark.parametrize(
    ("protection", "clears"),
    [
        # between 2.8 and 3.2 kV peak per leg: the window of the demonstration
        (Protection(safety_gap_voltage=Known(2.8e3)), BOTH_STOPS),
        (Protection(safety_gap_voltage=Known(3.2e3)), BOTH_STOPS),
        (Protection(safety_gap_spacing=Known(0.6e-3)), BOTH_STOPS),
        (Protection(filter=FILTER, bleeder=BLEEDER), {"filter-missing"}),
        (Protection(fuse="8 A T"), {"fuse-missing"}),
        (Protection(interlock=True), {"interlock-missing"}),
        (Protection(second_protective_conductor=True), {"pe-lost"}),
        (Protection(disconnections=2), {"contactor-weld"}),
    ],
)
def test_a_part_clears_its_own_tag_and_nothing_else(protection, clears):
    cleared, added = changed(protection)
    assert cleared == clears
    assert added == set()


@pytest.mark.parametrize(
    "protection",
    [
        Protection(fuse="6.3 A T"),  # opens on the running set: 7.9 A
        Protection(fuse="20 A T"),  # above the breaker
        Protection(interlock=False),
        Protection(second_protective_conductor=False),
        Protection(disconnections=1),
        Protection(bleeder=BLEEDER),  # one across the tank drains no unit of a string
    ],
)
def test_what_does_not_do_clears_nothing(protection):
    assert changed(protection) == (set(), set())


@pytest.mark.parametrize(
    ("gap", "left"),
    [
        # 1.05 x 2.64 kV = 2.77 kV: below it fires on the open supply, but protects; above 3.27 kV it does not protect
        (2.7e3, {"safety-gap-missing"}),
        (3.3e3, BOTH_STOPS),
    ],
)
def test_a_gap_outside_its_window_leaves_what_it_does_not_hold(gap, left):
    found = {i for i, _ in ids(Protection(safety_gap_voltage=Known(gap)))}
    assert found & BOTH_STOPS == left


def test_a_filter_alone_brings_capacitors_that_need_a_bleeder():
    cleared, added = changed(Protection(filter=FILTER))
    assert cleared == {"filter-missing"}
    assert added == {("bleeder-missing", "filter capacitor")}


@pytest.mark.parametrize("tank", [PLAIN, Tank(plates=TankPlates("flat", "polyethylene", Known(1e-3), Known(0.09), 20))])
def test_a_bleeder_across_a_tank_that_is_no_string_counts(tank):
    assert ("bleeder-missing", "tank") in ids(None, tank)
    cleared, added = changed(Protection(bleeder=BLEEDER), tank=tank)
    assert cleared == {"bleeder-missing"} and added == set()


@pytest.mark.parametrize(("factor", "there"), [(0.999, False), (1.001, True)])
def test_a_bleeder_across_the_tank_is_judged_by_its_time(factor, there):
    # NEC 460.28 (from memory): 50 V within 300 s above 600 V; V(t) = V exp(-t / RC)
    peak = solved().gap_missing.own.peak
    bleeder = BleederResistor(Known(factor * 300.0 / (50e-9 * log(peak / 50.0))))
    assert (("bleeder-missing", "tank") in ids(Protection(bleeder=bleeder), PLAIN)) is there


def test_a_string_takes_the_bleeder_of_its_units_wherever_it_is_written():
    strings = TankStrings("C3", 8, 2)
    bare = Tank(strings=strings)
    assert ("bleeder-missing", "C3 in the tank") in ids(None, bare)
    assert ("bleeder-missing", "C3 in the tank") not in ids(None, Tank(strings=replace(strings, bleeder=Known(10e6))))


def test_a_stamped_proof_test_clears_the_overvoltage_only():
    # withstand of 2 V + 1 kV for a minute (UL 506, from memory): 9 kV rms count for 4 kV rms = 5.66 kV peak, above 5.42
    proof = ProofTest(("high", "core"), 9000.0, 60.0, "induced", Stamp("tester", date(2026, 3, 1), "a test house"))
    low = replace(proof, applied=8000.0)  # 3.5 kV rms = 4.95 kV peak
    assert {i for i, _ in ids(proof_test=proof)} & BOTH_STOPS == {"safety-gap-missing"}
    assert {i for i, _ in ids(proof_test=low)} & BOTH_STOPS == BOTH_STOPS


def test_everything_fitted_leaves_nothing_of_the_chain():
    own = Protection(Known(0.6e-3), None, True, 2, FILTER, BLEEDER, "8 A T", interlock=True)
    left = {i for i, _ in ids(own)}
    assert not left & {*BOTH_STOPS, "filter-missing", "fuse-missing", "interlock-missing", "pe-lost", "contactor-weld"}
    standing = {t.id for t in tags(own) if t.standing}
    assert standing == {t.id for t in tags() if t.standing}  # what always stands stands with every part fitted
    assert plugged().site.plug.value == "as marked"
