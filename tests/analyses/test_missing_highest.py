"""The highest that a tank can reach with its gap missing: the filter's capacitors, its tolerance, the parts' band."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import sqrt

import pytest

from analyses.gate_cases import base, known, supplied
from analyses.workshop import BARE, CHOKE, SITE, designed, joined, solved, tags, transformer, wire
from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.leg_ratings import NO_RATING, winding_limits
from coilwright.analyses.missing_scan import highest_missing, unsolved_band
from coilwright.analyses.shelf import shelf
from coilwright.analyses.stress import limits_of
from coilwright.analyses.supply import supply
from coilwright.analyses.tank_context import supply_side, winding_places
from coilwright.analyses.tank_stage import tank
from coilwright.analyses.topology import wired_with
from coilwright.model.known import Known
from coilwright.model.machine import Protection, SeriesFilter, Tank
from coilwright.supply.build import build, mains_circuit
from coilwright.supply.gap_missing import at

OVERVOLT = "tank-overvolt-gap-missing"


@lru_cache(maxsize=4)
def tanked(farads: float, low: float, high: float, filter_farads: float = 0.0):
    """Return the demonstration's project with that tank and filter, and its supply."""
    fitted = SeriesFilter(Known(150.0), Known(filter_farads)) if filter_farads else None
    tank = Tank(capacitance=Known(farads, low=low, high=high))
    design = replace(base(), tank=tank, protection=Protection(filter=fitted))
    return design, supply(design, shelf=known())


# ---- the filter ----------------------------------------------------------------------------------------------------


def test_two_filter_capacitors_to_earth_are_half_of_one_across_a_midpoint_supply():
    # two equal capacitors in series are half of one: a tank of 17 nF with 30 nF a leg is one of 32 nF without
    _, with_filter = tanked(17e-9, 17e-9, 17e-9, 30e-9)
    _, without = tanked(32e-9, 32e-9, 32e-9)
    _, bare = tanked(17e-9, 17e-9, 17e-9)
    own, whole, alone = (m.gap_missing.own.peak for m in (with_filter, without, bare))
    assert own == pytest.approx(whole, rel=1e-3)
    assert own > 1.1 * alone
    assert OVERVOLT in {t.id for t in with_filter.tags}
    assert any("30.0 nF from each leg" in n for n in with_filter.notes)
    assert not any("filter" in n for n in without.notes)


def test_on_a_supply_with_one_end_on_earth_one_capacitor_lies_across():
    design = base()
    circuits, mains = circuits_of(design.chosen(), design, known()), mains_circuit(design.site)
    single = replace(design.chosen(), output=("hot_a", "ground"))
    network = build(single, circuits, mains, filter_capacitance=30e-9)
    added = [c for c in network.capacitances if c.name.startswith("filter")]
    assert [(c.a, c.b, c.capacitance) for c in added] == [("hot_a", "ground", 30e-9)]
    pair = build(design.chosen(), circuits, mains, filter_capacitance=30e-9)
    assert sum(c.name.startswith("filter") for c in pair.capacitances) == 2
    assert not [c for c in build(single, circuits, mains).capacitances if c.name.startswith("filter")]
    one, _ = at(network, 17e-9)
    other, _ = at(build(single, circuits, mains), 47e-9)
    assert one.peak == pytest.approx(other.peak, rel=1e-3)


# ---- tolerance and band --------------------------------------------------------------------------------------------


def test_the_tolerance_of_a_tank_decides_with_the_band_of_the_parts():
    # the winding's 1.1 x 2100 V stand at 3.27 kV peak; 70 nF alone stay below it, 63 nF do not
    design, made = tanked(70e-9, 63e-9, 77e-9)
    found = highest_missing(design, made)
    low = next(p for p in made.gap_missing.points if p.capacitance == 63e-9)
    assert max(made.gap_missing.own.ends_peak.values()) < 1.1 * 2100 * sqrt(2) < max(low.ends_peak.values())
    assert found.peak >= low.peak_band[1] > low.peak
    assert found.capacitance == pytest.approx(63e-9)
    assert found.usual == made.gap_missing.own.peak
    [tag] = [t for t in made.tags if t.id == OVERVOLT and "T1.high" in t.where]
    assert "tank of 63.0 nF to 77.0 nF" in tag.value
    assert tag.number == pytest.approx(max(found.ends_peak.values()))
    exact, solved_exact = tanked(70e-9, 70e-9, 70e-9)
    assert highest_missing(exact, solved_exact).low == highest_missing(exact, solved_exact).high
    assert highest_missing(exact, solved_exact).peak < found.peak


def test_a_tank_whose_ends_are_not_solved_says_so():
    design, made = tanked(70e-9, 63e-9, 77e-9)
    assert unsolved_band(design, made) == ()
    lost = tuple(replace(p, exact=False) if p.capacitance == 63e-9 else p for p in made.gap_missing.points)
    broken = replace(made, gap_missing=replace(made.gap_missing, points=lost))
    assert len(unsolved_band(design, broken)) == 1
    no_own = replace(made, gap_missing=replace(made.gap_missing, own=None))
    assert highest_missing(design, no_own) is None
    assert unsolved_band(design, no_own) == ("tank attached, gap missing",)


def test_the_side_of_the_tank_stage_has_the_scan_at_both_ends():
    side = supply_side(base(), base().chosen(), supplied(), known())
    assert {45e-9, 50e-9, 55e-9} <= {round(m.capacitance, 12) for m in side.missing}


# ---- windings without a rating -------------------------------------------------------------------------------------

FREE = joined(BARE, hot2=["T1.high_finish"])
TANK = '[tank]\ncapacitance = "5 nF"\n'


def sign(**keys: str | None) -> str:
    unit = transformer("T1", **{"kind": "sign", "plate_secondary": "4000 V", "core_end_liftable": None, **keys})
    return SITE + unit + CHOKE + wire(FREE, ("hot", "hot2")) + TANK


@pytest.mark.parametrize(
    ("tie", "unrated"),
    [
        # neither end on the core and the inner one not known: nothing is counted on at either
        ({"core_end": "none"}, {"start", "finish"}),
        ({"core_end": "none", "inner_end": "finish"}, {"finish"}),
        # half of the plate to each end of a winding tapped on its core: rated
        ({"core_end": "tap"}, set()),
    ],
)
def test_a_winding_end_without_a_rating_is_named_and_raises_the_stop(tie, unrated):
    text = sign(**tie)
    found = [t for t in tags(text, OVERVOLT, gap_missing=True) if t.limit == "not known: no rating of it counts"]
    places = {w for t in found for w in t.where.split(", ")}
    assert places == {f"T1.high {end} to core {NO_RATING}" for end in unrated}
    assert all(t.grade == "STOP" for t in found)


def test_an_inner_end_on_the_core_stays_out():
    design = base()
    w = wired_with(design.chosen(), design, circuits_of(design.chosen(), design, known()))
    limits = limits_of(w, 230.0)
    assert [where for where, _, _ in winding_limits(w, limits)] == ["T1.high start to core", "T2.high start to core"]
    # joined to the core by a wire instead of its lug: at core potential all the same
    joints = {**design.chosen().joints, "ground": (*design.chosen().joints["ground"], "T1.high_finish")}
    lifted = replace(design.chosen(), joints=joints, lifted=("T1",))
    w = replace(w, arrangement=lifted, joint_of={**w.joint_of, "T1.high_finish": "ground"})
    assert not [where for where, _, _ in winding_limits(w, limits_of(w, 230.0)) if "T1.high finish" in where]


def test_an_end_without_a_rating_counts_as_nothing_in_the_tank_stage():
    text = sign(core_end="none")
    design = designed(text)
    w = wired_with(design.chosen(), design, circuits_of(design.chosen(), design, shelf(design)))
    places = winding_places(w, design, ("hot", "hot2"))
    assert {(p.leg, p.limit_peak) for p in places} == {("hot", sqrt(2)), ("hot2", sqrt(2))}
    assert all(NO_RATING in p.where for p in places)
    # the whole stage goes through with it, and no capacitance holds
    result = tank(designed(text), supply=solved(text, gap_missing=True))
    assert result.size.rows and not any(r.within for r in result.size.rows)
    assert result.protection.safety_gap.empty
