"""Order, answers and merging of tags, and the numbers that they carry."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import pytest

from coilwright.model.machine import Answer
from coilwright.model.site import Breaker
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.facts import (
    CoreFacts,
    PartFacts,
    Rating,
    ReadingFacts,
    RefusedReading,
    ShelfFacts,
    SupplyFacts,
    WindingEnd,
)
from coilwright.protection.raising import PENCIL_SENTENCE, raise_tag
from coilwright.protection.rules import (
    apply_answers,
    collect,
    is_open,
    rank,
    shelf_tags,
    site_tags,
    supply_tags,
    tally,
    tank_tags,
)
from coilwright.protection.tag import GRADE_ORDER, Tag
from protection.bench import CAPACITOR, SITE, SUPPLY, TANK, core, ids, part, reading, shock, site, supply, tank
from protection.cases import PRESENCE, SHARP

EVERYTHING = tuple(t for table in (SHARP, PRESENCE) for pairs in table.values() for _, above in pairs for t in above)


def one(id: str, tags: tuple[Tag, ...]) -> Tag:
    found = [t for t in tags if t.id == id]
    assert len(found) == 1, found
    return found[0]


def answers_to_all() -> tuple[Answer, ...]:
    return tuple(Answer(hazard, "looked at it", date(2026, 3, 1)) for hazard in CATALOGUE)


def test_ranking_drops_nothing_and_does_not_depend_on_the_order_it_is_given():
    shuffled = list(EVERYTHING)
    random.Random(7).shuffle(shuffled)
    ranked = rank(shuffled)
    assert len(ranked) == len(EVERYTHING)
    assert [(t.id, t.where) for t in ranked] == [(t.id, t.where) for t in rank(EVERYTHING)]


def test_local_code_leads_then_stop_caution_note_and_what_stands_comes_after_what_is_wrong():
    ranked = collect(EVERYTHING, site())
    assert ranked[0].id == "local-code"
    keys = [(GRADE_ORDER.index(t.grade), t.standing) for t in ranked[1:]]
    assert keys == sorted(keys)
    assert {k[1] for k in keys if k[0] == 0} == {False, True}


def test_local_code_is_the_first_line_even_of_nothing():
    assert [t.id for t in collect()] == ["local-code"]


def test_collect_merges_only_the_same_rule_at_the_same_place_and_keeps_the_numbers():
    tags = collect(site(), supply(short_current=0.405))
    assert one("supply-kills", tags).number == pytest.approx(0.405)
    assert "405 mA" in (one("supply-kills", tags).value or "")
    assert one("rcd-blind", tags).value == "sees 100 uA; trips at 30.0 mA"
    two = collect(part(mass=30.0), (raise_tag("lifting", "P2"),))
    assert [t.where for t in two if t.id == "lifting"] == ["P1", "P2"]


@pytest.mark.parametrize("answers", [(), answers_to_all()], ids=["none", "all answered"])
def test_no_answer_hides_a_tag_or_changes_its_grade(answers):
    ranked = rank((*EVERYTHING, *site(coil=True, gap=True)))
    after = apply_answers(ranked, answers)
    assert [replace(t, answered=None) for t in after] == list(ranked)
    assert len(collect(EVERYTHING, answers=answers)) == len(collect(EVERYTHING))


def test_standing_tags_of_a_running_machine_survive_every_answer():
    standing = {r.id for r in CATALOGUE.values() if r.standing}
    shelf = shelf_tags(ShelfFacts(parts=(PartFacts("T1", "transformer", "oven"),)))
    tags = collect(
        site(coil=True, gap=True),
        shelf,
        supply(shocks=shock(0.4)),
        tank(capacitance=50e-9, peak=10e3),
        answers=answers_to_all(),
    )
    assert {t.id for t in tags if t.standing} == standing
    assert not any(t.blocks for t in tags if t.standing)


def test_a_stop_stays_open_and_blocks_after_an_answer_and_a_caution_does_not():
    tags = apply_answers((*supply(mains_in_series=True), *part(shunts="removed")), answers_to_all())
    stop, caution = one("mains-in-series", tags), one("shunts-touched", tags)
    assert stop.answered == "looked at it (2026-03-01)"
    assert stop.blocks
    assert is_open(stop)
    assert not is_open(caution)
    assert tally(tags).stop == 1


def test_an_assumed_margin_is_not_settled_in_writing():
    over = supply(windings=(WindingEnd("T1.high start", 4187.0, 0.0, 2310.0, "pencil"),))
    answered = apply_answers(over, answers_to_all())
    assert PENCIL_SENTENCE in one("winding-overvolt", answered).do
    assert is_open(one("winding-overvolt", answered))
    assert is_open(one("pencil-under-stop", answered))
    measured = supply(windings=(WindingEnd("T1.high start", 4187.0, 0.0, 5600.0, "stamped"),))
    assert not ids(measured) & {"winding-overvolt", "pencil-under-stop"}


def test_a_kept_margin_on_an_assumed_value_is_named_with_its_narrowest():
    ends = tuple(WindingEnd(f"T{n}.high start", 1900.0 + n, 0.0, 2310.0, "pencil") for n in (1, 2))
    tag = one("pencil-under-stop", supply(windings=ends))
    assert tag.where == "T1.high start, T2.high start"
    assert tag.value == "winding-overvolt: T2.high start at 1.90 kV rms against 2.31 kV rms (assumed)"
    current = one("pencil-under-stop", supply(mains_mark="pencil"))
    assert "7.96 A with every correction capacitor failed open" in (current.value or "")
    assert "(from assumed values) against 16.0 A rated" in (current.value or "")


def test_the_tally_counts_standing_tags_apart():
    counts = tally(collect(site(disconnections=1, earthing="unknown"), supply(mains_in_series=True, inrush_peak=200.0)))
    assert (counts.stop, counts.caution, counts.note) == (1, 2, 1)
    assert counts.standing == sum(CATALOGUE[i].standing for i in ids(collect(site(), supply())))
    assert counts.answered == 0


# ---- what single tags say ------------------------------------------------------------------------------------------


def test_a_room_nearer_than_the_ring_is_shown_on_the_keep_out_tag():
    # NFPA 70E Table 130.4 (seen): 3.05 m above 36 kV; a wall at 1.8 m is inside that
    tag = one("keep-out", site(coil=True, wall_distance=1.8, ceiling=2.7))
    assert tag.standing
    assert tag.value is not None
    assert "wall at 1.80 m, nearer than the ring" in tag.value
    assert "ceiling at 2.70 m, nearer than the ring" in tag.value
    assert (tag.number, tag.bound) == (1.8, 3.05)
    far = one("keep-out", site(coil=True, wall_distance=3.1)).value or ""
    assert "outside the ring" in far
    long = one("keep-out", site(coil=True, wall_distance=3.1, streamer_length=1.6, streamer_basis="the order's"))
    assert long.bound == pytest.approx(3.2)
    assert "nearer than the ring" in (long.value or "")


def test_supply_alone_has_the_ring_of_its_own_volts():
    # NFPA 70E Table 130.4 (seen): 1.52 m to 15 kV, 1.83 m to 36 kV
    assert one("keep-out", site(supply_peak=15e3)).bound == 1.52
    assert one("keep-out", site(supply_peak=15.1e3)).bound == 1.83
    assert one("keep-out", site(supply_peak=36.1e3)).bound == 3.05


def test_a_reading_that_cannot_be_true_carries_its_place_and_the_likely_way_out():
    refused = RefusedReading("transformer[3].short_test[1].power", "159 W is more than 86.4 VA", "15.9 W?")
    tag = one("reading-refused", shelf_tags(ShelfFacts(refused=(refused,))))
    assert (tag.where, tag.value) == ("transformer[3].short_test[1].power", "159 W is more than 86.4 VA")
    assert tag.do.endswith("15.9 W?")
    assert tag.blocks


def test_short_tests_come_as_one_tag_with_the_worst_in_numbers():
    tests = tuple(
        ReadingFacts(f"{p}.short_test[0]", "short", p, drive=40.0, open_volts=v)
        for p, v in (("T1", 370.0), ("S1", 1500.0))
    )
    tag = one("short-test-opens", shelf_tags(ShelfFacts(readings=tests)))
    assert (tag.where, tag.value, tag.number) == ("T1, S1", "S1: 1.50 kV rms at 40.0 V rms drive", 1500.0)
    assert "short-test-opens" in ids(reading("short"))  # open volts not known: not taken for touchable


def test_an_unbonded_core_shows_what_it_would_reach():
    tag = one("core-not-bonded", core(bond_resistance=0.4, loose_voltage=3570.0, loose_current=0.32))
    assert tag.value == "bond 400 mohm; off earth 3.57 kV rms; 320 mA through 1 kohm"


def test_one_overvolted_tank_tag_names_every_place_and_the_worst_ratio():
    ratings = (
        Rating("T1.high", 5400.0, 3250.0, "pencil"),
        Rating("T2.high", 5300.0, 3250.0, "pencil"),
        Rating("string", 10.8e3, 11.3e3, "ink", across=True),
    )
    tag = one("tank-overvolt-gap-missing", tank(safety_gap=None, ratings=ratings))
    assert (tag.where, tag.value, tag.limit) == ("T1.high, T2.high", "5.40 kV peak", "3.25 kV peak (assumed)")
    # a gap per leg at 3.0 kV holds all three: two legs in series make 6.0 kV across the string
    assert not ids(tank(safety_gap=3000.0, ratings=ratings)) & {"tank-overvolt-gap-missing", "safety-gap-missing"}


def test_a_window_that_no_safety_gap_fits_says_so():
    assert "no setting fits" in one("safety-gap-missing", tank(safety_gap=None, open_peak=3200.0)).limit


def test_an_unconverged_peak_is_neither_shown_nor_judged():
    tags = tank(peak=None, ratings=(Rating("T1.high", float("nan"), 3250.0, "pencil"),), unconverged=("gap missing",))
    assert ids(tags) == {"not-converged", "stored-energy-tank"}
    # what a tank may hold does not vanish with its peak: the standing tag stays, without a number
    stored = one("stored-energy-tank", tags)
    assert stored.standing and stored.number is None and "not known" in (stored.value or "")


def test_a_peak_over_a_tolerance_says_so_and_the_highest_is_judged():
    rating = Rating("T1.high", 4170.0, 3270.0, "pencil", usual=3040.0)
    tag = one("tank-overvolt-gap-missing", tank(safety_gap=None, ratings=(rating,), capacitance_band=(63e-9, 77e-9)))
    assert tag.number == 4170.0
    assert "3.04 kV peak, up to 4.17 kV peak (tank of 63.0 nF to 77.0 nF" in (tag.value or "")
    alone = replace(rating, usual=4170.0)
    assert "up to" not in (one("tank-overvolt-gap-missing", tank(safety_gap=None, ratings=(alone,))).value or "")


def test_a_winding_end_of_no_known_rating_is_a_stop_that_no_safety_gap_clears():
    unknown = Rating("T2.high start to core (no rating known)", 10.0, 0.0, "pencil")
    tags = tank(ratings=(*TANK.ratings, unknown))
    tag = one("tank-overvolt-gap-missing", tags)
    assert (tag.where, tag.bound, tag.number) == (unknown.where, None, 10.0) and tag.limit.startswith("not known")
    assert "safety-gap-missing" not in ids(tags)  # its window is that of the ratings that are known
    unsolved = one("tank-overvolt-gap-missing", tank(ratings=(replace(unknown, peak=float("nan")),)))
    assert unsolved.number is None and "not known" in (unsolved.value or "")


def test_a_gap_whose_band_reaches_the_rating_says_its_band():
    tag = one("safety-gap-missing", tank(safety_gap=3200.0, safety_gap_high=3400.0))
    assert "3.20 kV peak, up to 3.40 kV peak with its band" in (tag.value or "") and tag.number == 3400.0


def test_what_fires_in_place_of_a_wide_main_gap_is_named():
    held, free = tank(main_gap=7000.0), tank(main_gap=7000.0, safety_gap=None)
    assert "6.00 kV peak across" in (one("main-gap-too-wide", held).value or "")
    assert "no safety gap fires before it" in (one("main-gap-too-wide", free).value or "")


def test_tt_and_it_say_what_trips():
    # IEC 60364-4-41 cl. 411.5.3 (from memory): R_A x I_dn at most 50 V, so 30 mA go with 1.67 kohm
    assert "1.67 kohm" in (one("earthing-tt-it", site(earthing="TT", rcd=0.03)).value or "")
    assert "nothing trips" in (one("earthing-tt-it", site(earthing="TT")).value or "")
    assert "first fault trips nothing" in (one("earthing-tt-it", site(earthing="IT", rcd=0.03)).value or "")


def test_both_mains_currents_stand_on_the_wiring_tag():
    tag = one("wiring-current", supply(correction=(CAPACITOR,), mains_corrected=3.7))
    assert tag.value == "7.96 A without, 3.70 A with"


def test_unknown_breaker_curve_still_warns_between_the_quickest_and_the_slowest():
    # IEC 60898-1 (seen): no curve trips magnetically below 3, every one does above 20 times the rated current
    tags = supply(inrush_peak=100.0, breaker=Breaker(15.0, None))
    assert "curve unknown" in one("breaker-inrush", tags).limit


def test_the_quiet_bench_is_quiet():
    tags = (*site_tags(SITE), *supply_tags(SUPPLY), *tank_tags(TANK), *shelf_tags(ShelfFacts()))
    assert {t.id for t in tags if not t.standing} == set()


def test_the_demonstration_pair_behind_a_ballast():
    # the numbers of an invented pair of oven units, taken with the rules' own limits
    facts = SupplyFacts(
        "pair, midpoint earthed",
        Breaker(16.0, "B"),
        230.0,
        short_current=0.405,
        mains_short=7.96,
        mains_uncorrected=7.96,
        mains_corrected=3.7,
        ballast=True,
        pair=True,
        polarity_mark="ink",
        ends=(("hot_a", 1795.0), ("hot_b", 1795.0)),
        cores=(CoreFacts("T1", True, True, 0.04, 0.2, "stamped", 230.0, 253.0, "pencil"),),
        windings=(WindingEnd("T1.high start", 1795.0, 2640.0, 2310.0, "pencil"),),
        shocks=shock(0.594),
        correction=(CAPACITOR, replace(CAPACITOR, id="C2", capacitance=20e-6, bleeder=470e3)),
        idle_leading=True,
        idle_power_factor=0.12,
        closing_peak=150.0,
    )
    fired = supply_tags(facts)
    assert {t.id for t in fired if t.blocks} == {"zero-is-not-off"}
    assert {t.id for t in fired if not t.blocks} == {
        "supply-kills",
        "rcd-blind",
        "body-current",
        "wiring-current",
        "pfc-overcorrected",
        "breaker-inrush",
        "pencil-under-stop",
    }
    shown = "594 mA through 575 ohm, 535 mA through 1 kohm; residual 100 uA"
    assert one("body-current", fired).value == shown
