"""Slips: which apply, what each does, in which order, and that its telltale cannot be mistaken.

Figures of the demo in hand form: two 2100 V units behind an 8.2 A choke, midpoint earthed, 3.59 kV open. What a single
mistake does to it follows from the wiring: reversed, both ends keep their 1.8 kV and nothing is left between them; with
its core off, the tied end has lost its return and the core rises to the whole output. Resistances, bleeder and polarity
readings are those of the demo file.
"""

from __future__ import annotations

from dataclasses import replace
from math import log, sqrt

import pytest
from benchmarks.netlists import ngspice

from analyses.slip_benches import NAMES, Bench, bench
from coilwright.analyses import slips as module
from coilwright.analyses import telltales
from coilwright.analyses.slips import slips
from coilwright.analyses.slips_results import SlipRow
from coilwright.analyses.telltales import OPEN_READS
from coilwright.protection.body import LET_GO_CURRENT, TOUCH_LIMIT_RMS
from coilwright.report.console_slips import print_slips
from coilwright.report.json_slips import slips_document
from coilwright.report.spice import netlist
from coilwright.supply.build import build
from coilwright.supply.low_drive import plug_out
from coilwright.supply.network import EARTH, Branch, Source

EVERYWHERE = {"body-contact", "core-off", "earth-lost", "earth-lost-arc", "high-to-primary", "secondary-shorted"}
EVERYWHERE |= {"turns-shorted", "unit-dead"}


@pytest.fixture(scope="module")
def demo() -> Bench:
    return bench("demo")


# ---- which apply -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "more"),
    [
        (
            "demo",
            {
                "reversed",
                "midpoint-open",
                "plug-reversed",
                "ballast-bypassed",
                "pfc-behind-ballast",
                "pfc-no-bleeder",
                "safety-gap-missing",
                "tank-lead-open",
            },
        ),
        ("pair at 120 V", {"reversed", "midpoint-open", "plug-reversed", "ballast-bypassed"}),
        ("signs in parallel", {"reversed", "plug-reversed", "branch-open"}),
        ("one unit", {"ballast-bypassed", "branch-open"}),
    ],
)
def test_only_what_this_wiring_lets_one_do_is_listed(name: str, more: set[str]) -> None:
    rows = bench(name).result.rows
    assert {r.id for r in rows} == EVERYWHERE | more
    assert len({(r.id, r.subject) for r in rows}) == len(rows)


def test_every_part_has_its_row(demo: Bench) -> None:
    assert {r.subject for r in demo.rows("reversed")} == {"T1.high", "T2.high"}
    assert {r.subject for r in demo.rows("core-off")} == {"T1.core", "T2.core"}
    assert {r.subject for r in demo.rows("pfc-behind-ballast")} == {"C1", "C2", "C1, C2"}
    assert {r.subject for r in bench("pair at 120 V").rows("ballast-bypassed")} == {"L1", "L2", "L1, L2"}
    # two in parallel: bridging one bridges both, and opening one leaves the other
    assert {r.subject for r in bench("one unit").rows("ballast-bypassed")} == {"L1", "L2"}
    assert {r.subject for r in bench("one unit").rows("branch-open")} == {"L1", "L2"}


# ---- what each does --------------------------------------------------------------------------------------------------


def test_a_reversed_unit_looks_dead_and_is_not(demo: Bench) -> None:
    row = demo.row("reversed", "T2.high")
    assert row.open_voltage is not None and row.open_voltage < 30
    assert [row.ends[j] for j in ("hot_a", "hot_b")] == pytest.approx([1.8e3, 1.8e3], rel=0.02)
    assert row.mains_current == pytest.approx(1.7, rel=0.05)
    assert row.lethal and row.tag == "zero-is-not-off"
    assert row.sees.startswith("Looks dead") and "1.80 kV at hot_b" in row.sees
    assert 4 <= row.harm < 5


def test_a_core_off_earth_rises_to_the_whole_output(demo: Bench) -> None:
    usual = demo.result.right.open_circuit.voltage
    for unit in ("T1", "T2"):
        row = demo.row("core-off", f"{unit}.core")
        assert row.cores[unit] == pytest.approx(3.57e3, rel=0.05) == pytest.approx(usual, rel=0.05)
        assert row.touch is not None and row.touch.where == f"{unit}.core" and row.touch.metal
        assert row.touch.current_1000 > 50 * LET_GO_CURRENT
        assert row.residual_current is not None and row.residual_current < 0.5 * 30e-3  # the device is blind to it
        assert 5 <= row.harm < 6


def test_a_body_at_one_end(demo: Bench) -> None:
    row = demo.row("body-contact", "hot_a")
    assert row.touch is not None
    assert row.touch.current_1000 == pytest.approx(0.565, rel=0.05)
    assert row.touch.current_575 == pytest.approx(0.594, rel=0.05)
    assert row.touch.residual < 1e-3
    assert row.ends["hot_a"] == pytest.approx(575 * row.touch.current_575, rel=1e-6)  # Ohm's law, output open
    assert row.harm == max(r.harm for r in demo.result.rows)


def test_a_lost_earth_with_an_arc_lifts_all_bonded_metal(demo: Bench) -> None:
    for slip, subject in (("earth-lost-arc", "hot_a"), ("midpoint-open", "ground")):
        row = demo.row(slip, subject)
        assert row.cores["T1"] == pytest.approx(row.cores["T2"]) == pytest.approx(1.8e3, rel=0.02)
        assert row.touch is not None and row.touch.metal and row.touch.current > 0.5
    afloat = demo.row("earth-lost", "mains.earth")
    assert TOUCH_LIMIT_RMS < afloat.cores["T1"] < 300  # stray capacitances alone
    assert afloat.lethal and afloat.touch is not None and afloat.touch.across  # from end to end


def test_what_limits_and_what_does_not(demo: Bench) -> None:
    right = demo.result.right
    bridged = demo.row("ballast-bypassed", "B4")
    assert bridged.mains_current_worst is not None and bridged.mains_current_worst > 2 * 16
    assert "a B16 breaker trips" in bridged.sees and bridged.tag == "no-current-limit"
    behind = demo.row("pfc-behind-ballast", "C1, C2")
    assert behind.open_voltage is not None and behind.open_voltage > 1.1 * right.open_circuit.voltage
    turns = demo.row("turns-shorted", "T1.high")
    assert turns.open_voltage is not None and turns.open_voltage < 0.9 * right.open_circuit.voltage
    assert turns.mains_current is not None and turns.mains_current > 2 * 1.7
    dead = demo.row("unit-dead", "T2")
    assert dead.ends["hot_b"] < 0.01 * dead.ends["hot_a"]


def test_a_reversed_plug_changes_no_volts_and_leaves_the_return_live(demo: Bench) -> None:
    row, usual = demo.row("plug-reversed", "mains"), demo.result.right.open_circuit.voltage
    assert row.open_voltage == pytest.approx(usual, rel=1e-3)
    assert "return is live, 230 V to earth" in row.sees


def test_a_breakdown_to_the_primary_trips_the_residual_device(demo: Bench) -> None:
    row = demo.row("high-to-primary", "T1")
    assert row.residual_current is not None and row.residual_current > 10 * 30e-3
    assert "the 30.0 mA device trips" in row.sees


def test_charge_is_that_of_the_crest(demo: Bench) -> None:
    charge = demo.row("pfc-no-bleeder", "C1").charge
    assert charge is not None
    crest = sqrt(2) * 230
    assert charge.peak == pytest.approx(crest, rel=0.01)
    assert charge.energy == pytest.approx(40e-6 * crest**2 / 2, rel=0.02)
    assert charge.drain_time is None
    assert charge.drain_time_right == pytest.approx(270e3 * 40e-6 * log(crest / 50), rel=0.01)  # fixed wiring: 50 V
    tank = demo.row("tank-lead-open", "hot_a").charge
    missing = demo.result.right.gap_missing
    assert tank is not None and missing is not None and missing.own is not None
    assert tank.energy == pytest.approx(50e-9 * missing.own.peak**2 / 2)
    # eight strings' units of 0.2 uF and 10 Mohm in series: each has the time of the whole
    assert tank.drain_time == pytest.approx(10e6 * 0.2e-6 * log(tank.peak / 60), rel=1e-6)


def test_without_a_safety_gap_the_peak_is_the_scans(demo: Bench) -> None:
    row, missing = demo.row("safety-gap-missing", "safety gap"), demo.result.right.gap_missing
    assert missing is not None and missing.own is not None
    assert row.peak == pytest.approx(missing.own.peak, rel=0.01)
    assert row.tag == "tank-overvolt-gap-missing" and row.short_current is None


def test_two_in_parallel_against_each_other_are_a_short() -> None:
    done = bench("signs in parallel")
    row = done.row("reversed", "S2.high")
    assert row.open_voltage == pytest.approx(0.0, abs=1e-3)
    assert row.tag == "parallel-mismatch"
    assert row.mains_current is not None
    assert row.mains_current > 4 * (done.result.right.open_circuit.mains_current_uncorrected or 0.0)
    assert row.lethal is False and "while it lasts" in row.sees


# ---- order -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_worst_comes_first_and_every_row_is_solved(name: str) -> None:
    rows = bench(name).result.rows
    assert [r.harm for r in rows] == sorted((r.harm for r in rows), reverse=True)
    for r in rows:
        assert not r.unsolved
        assert r.open_voltage is not None and r.mains_current is not None and r.lethal is not None
        assert r.lethal == any(t.current > LET_GO_CURRENT for t in r.touches)
        live = [t for t in r.touches if t.metal and t.current > LET_GO_CURRENT]
        assert (r.harm >= 5) == bool(live or r.id == "body-contact"), r.id


# ---- telltales -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_telltale_is_beyond_the_stated_meter_error(name: str) -> None:
    done = bench(name)
    without = {r.id for r in done.result.rows if r.telltale is None}
    dark = {"body-contact", "safety-gap-missing", *(["turns-shorted"] if "signs" in name else [])}
    if done.design.site.plug.value == "fixed wiring":
        dark.add("plug-reversed")  # the supply's own terminals stay live: nothing dead tells them apart
    assert without <= dark
    stated = {"V": (0.01, 0.03), "ohm": (0.05, 0.05), "A": (0.02, 1e-4)}
    for row in done.result.rows:
        t = row.telltale
        if t is None:
            continue
        relative, fixed = stated[t.unit]
        error = sum(relative * x + fixed for x in (t.right, t.wrong))
        assert abs(t.right - t.wrong) > t.half_right + t.half_wrong > error, (row.id, row.subject)
        assert t.half_right > relative * t.right and t.half_wrong > relative * t.wrong
        assert f"{100 * relative:g} %" in t.meter


@pytest.mark.parametrize("name", NAMES)
def test_what_nothing_exposes_raises_its_tag(name: str) -> None:
    result = bench(name).result
    told = {t.where for t in result.tags if t.id == "no-telltale"}
    dark = [r for r in result.rows if r.telltale is None or r.telltale.test == "limiter"]
    assert told == {f"{r.id}, {r.subject}" for r in dark if r.lethal}


def test_a_limiter_is_the_last_resort_and_clears_no_tag(monkeypatch: pytest.MonkeyPatch) -> None:
    done = bench("demo")
    monkeypatch.setattr(telltales, "_resistances", lambda *_: iter(()))
    monkeypatch.setattr(telltales, "_fed", lambda *_: iter(()))
    result = slips(done.design, right=done.result.right)
    row = next(r for r in result.rows if r.id == "turns-shorted")
    t = row.telltale
    assert t is not None and t.test == "limiter" and "still deadly" in t.how
    # shorted turns load the open set: more of the mains stands across what is in series with it
    assert t.right < t.wrong < 240 and t.separation > 1
    assert f"{row.id}, {row.subject}" in {tag.where for tag in result.tags if tag.id == "no-telltale"}
    # A unit of which nothing was read draws anything from little to much by itself: there the heater tells nothing.
    unread = bench("one unit")
    guessed = slips(unread.design, right=unread.result.right)
    assert next(r for r in guessed.rows if r.id == "turns-shorted").telltale is None
    assert "turns-shorted, T1.high" in {tag.where for tag in guessed.tags if tag.id == "no-telltale"}


def test_the_polarity_telltale_is_what_the_demo_was_read_at(demo: Bench) -> None:
    t = demo.row("reversed", "T2.high").telltale
    assert t is not None and t.test == "volts" and t.drive == 12.0
    assert {demo.wired.node(p) for p in t.between} == {"hot_a", "hot_b"}
    # the file's readings with T2 reversed: 12.0 and 9.8 V at the ends, 2.2 V across
    assert t.wrong == pytest.approx(2.2, abs=0.2)
    assert t.right == pytest.approx(12.0 + 9.8, abs=0.3)


def test_the_ohmmeter_reads_what_the_file_says(demo: Bench) -> None:
    def told(id: str, subject: str) -> tuple[float, float]:
        t = demo.row(id, subject).telltale
        assert t is not None and t.test == "resistance"
        return t.right, t.wrong

    assert told("ballast-bypassed", "B4") == (pytest.approx(0.803, rel=0.03), pytest.approx(0.0, abs=0.01))
    assert told("secondary-shorted", "T1.high") == (pytest.approx(88.8, rel=0.02), pytest.approx(0.0, abs=0.01))
    assert told("pfc-no-bleeder", "C1") == (pytest.approx(270e3), OPEN_READS)
    assert told("core-off", "T1.core") == (pytest.approx(0.0, abs=0.01), OPEN_READS)
    # through the arc to the high winding, and through that to the core
    assert told("high-to-primary", "T1") == (OPEN_READS, pytest.approx(100 + 88.8, rel=0.02))
    # behind fixed wiring the supply's own terminals stay live: no ohmmeter is put there
    assert demo.row("plug-reversed", "mains").telltale is None
    poles = ("mains.line", "mains.neutral", "mains.line_2")
    asked = [t.between for r in demo.result.rows if (t := r.telltale) is not None and t.test == "resistance"]
    assert asked and not [p for pair in asked for p in pair if p in poles]


@pytest.mark.tool("ngspice")
@pytest.mark.parametrize("name", ["pair at 120 V", "one unit"])
def test_a_feed_into_the_plug_stays_within_the_touch_limit(name: str) -> None:
    # Stepped up by the whole set; ngspice on the set with its plug out and the adapter in its place, output open.
    done = bench(name)
    drives = {r.telltale.drive for r in done.result.rows if r.telltale and r.telltale.fed == ("live", "return")}
    assert drives
    made = build(plug_out(done.wired.arrangement), done.circuits, done.mains)
    source = Source("drive", "live", "return", complex(sqrt(2) * max(d or 0.0 for d in drives)), 0.01, 0.0)
    extra = Branch("reference", "return", EARTH, 1e-3)
    fed = replace(made, sources=(source,), branches=(*made.branches, extra))
    volts = ngspice(netlist(fed, cycles=30, ramp_cycles=14, steps_per_cycle=300)).values["v_out"]
    assert 3 < volts < TOUCH_LIMIT_RMS


# ---- what was not solved ---------------------------------------------------------------------------------------------


def test_nothing_is_shown_of_what_did_not_converge(monkeypatch: pytest.MonkeyPatch) -> None:
    done = bench("one unit")
    solve = module.solved

    def none_with_a_dead_unit(networks: list) -> list:
        lost = all("T1.primary_start" in n.nodes() for n in networks)
        return [None] * len(networks) if lost else solve(networks)

    monkeypatch.setattr(module, "solved", none_with_a_dead_unit)
    result = slips(done.design, right=done.result.right)
    row: SlipRow = next(r for r in result.rows if r.id == "unit-dead")
    assert (row.open_voltage, row.short_current, row.mains_current, row.mains_current_worst, row.lethal) == (None,) * 5
    assert row.sees.startswith("Not known") and row.unsolved
    assert [t.where for t in result.tags if t.id == "not-converged"] == ["unit-dead, T1"]
    shown = next(s for s in slips_document(done.design, result)["slips"] if s["id"] == "unit-dead")
    assert shown["open_voltage"] is None and shown["ends"] == {} and shown["touches"] == []
    from io import StringIO

    from rich.console import Console

    out = StringIO()
    print_slips(Console(file=out, width=80), result)
    assert "not known whether a touch kills" in out.getvalue()
