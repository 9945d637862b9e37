"""Candidates as joints, solved: trade facts, senses, stacks, series primaries, and the quick estimate beside the
solution.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from coilwright.magnetics.iron import Iron
from coilwright.planner.candidate import Candidate, arrangement_of, make, name_of
from coilwright.planner.inventory import Insulation, Inventory, Unit, make_inventory, unit_key
from coilwright.planner.refuse import structural
from coilwright.planner.stages import Cores, Feed, High, Stage, usual_series
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, TransformerCircuit
from coilwright.supply.steady import Steady, rms, solve_network

MAINS = MainsCircuit(50.0, {"line": (230.0, 0.0), "neutral": (0.0, 0.0)}, resistance=1e-3, inductance=1e-7)
FEED = Feed(230.0, complex(1e-3), ("line", "neutral"), mains_volts=230.0)
STIFF = Iron(1e4, 1.1, 1e-4)


def ideal(tied: str = "finish", volts: float = 2100.0, plate: float = 230.0) -> TransformerCircuit:
    """Return a transformer that is next to ideal: the trade's arithmetic counts turns and nothing else."""
    return TransformerCircuit(
        volts / plate,
        1e-3,
        0.1,
        replace(STIFF, knee_flux=1.1 * plate / 230),
        replace(STIFF, knee_flux=1.1 * plate / 230),
        1e7,
        1e-6,
        None,
        tapped=tied == "tap",
        tied=tied,
        high_to_core=1e-12,
        primary_to_core=1e-12,
        high_to_primary=1e-12,
    )


def unit(
    name: str,
    tied: str = "finish",
    volts: float = 2100.0,
    plate: float = 230.0,
    *,
    liftable: str = "unknown",
    proved: float | None = None,
) -> Unit:
    end = volts / 2 if tied == "tap" else volts
    marks = (
        {}
        if proved is None
        else dict.fromkeys(("primary_to_core", "start_to_core", "finish_to_core", "high_to_primary"), "stamped")
    )
    inner = proved or 0.0
    outer = proved or 1.1 * end
    ends = {"finish": (outer, inner), "start": (inner, outer), "tap": (outer, outer), "none": (inner, inner)}[tied]
    stands = Insulation(proved or 1.1 * plate, *ends, proved or 1.1 * (plate + end), marks)  # type: ignore[arg-type]
    made = Unit(name, name, "oven", ideal(tied, volts, plate), plate, 50.0, 4.3, stands, stands, liftable)
    return replace(made, key=unit_key(made, wanted=False))


def shelf(*units: Unit) -> Inventory:
    return make_inventory(units, [])


def solve(c: Candidate, inventory: Inventory, mains: MainsCircuit = MAINS) -> Steady:
    return solve_network(build(arrangement_of(c), inventory.circuits, mains))


def volts(state: Steady) -> float:
    output = state.equations.network.output
    assert output is not None
    return rms(state.voltage(*output))


def stack(
    levels: int, n_up: int, cores: Cores, *, mains_in_series: bool = False, **more: object
) -> tuple[Candidate, Inventory]:
    inventory = shelf(*(unit(f"T{k + 1}", **more) for k in range(levels)))  # type: ignore[arg-type]
    return (
        make(
            Stage(High(((0,),) * levels, n_up, (), cores), 1, 0),
            None,
            inventory,
            (FEED,),
            mains_in_series=mains_in_series,
        ),
        inventory,
    )


PAIR = Stage(High(((0,), (0,)), 1, ()), 1, 0)


@pytest.mark.parametrize("tied", ["finish", "start"])
def test_a_pair_with_its_midpoint_earthed_gives_twice_the_volts(tied: str) -> None:
    # Two 2.1 kV secondaries with earthed midpoint give 4.2 kV in opposite phase, about 0 V with one reversed (common
    # practice, no source). Whichever end is tied, the planner swaps the right primary.
    inventory = shelf(unit("T1", tied), unit("T2", tied))
    c = make(PAIR, None, inventory, (FEED,))
    state = solve(c, inventory)
    assert volts(state) == pytest.approx(4200.0, rel=2e-3)
    assert rms(state.potential("hot_a")) == pytest.approx(2100.0, rel=2e-3)
    wrong = replace(arrangement_of(c), reversed=("T2.primary",))
    dead = solve_network(build(wrong, inventory.circuits, MAINS))
    assert volts(dead) < 5.0
    assert rms(dead.potential("hot_b")) == pytest.approx(2100.0, rel=2e-3)


def test_a_pair_of_units_tied_at_unlike_ends_is_still_in_opposite_phase() -> None:
    inventory = shelf(unit("T1", "finish"), unit("T2", "start"))
    assert volts(
        solve(make(Stage(High(((0,), (1,)), 1, ()), 1, 0), None, inventory, (FEED,)), inventory)
    ) == pytest.approx(4200, rel=2e-3)


def test_cores_of_a_pair_stay_at_earth() -> None:
    inventory = shelf(unit("T1"), unit("T2"))
    c = make(PAIR, None, inventory, (FEED,))
    assert {"T1.core", "T2.core", "mains.earth"} == set(arrangement_of(c).joints["ground"])
    assert rms(solve(c, inventory).potential("ground")) < 1.0


def test_four_and_the_mains_in_series_give_8630_volts_and_are_refused() -> None:
    # Four plus 230 V mains in series give 8630 V (common practice, no source).
    c, inventory = stack(4, 4, "floating", mains_in_series=True)
    state = solve(c, inventory)
    assert volts(state) == pytest.approx(8630.0, rel=2e-3)
    reasons = {r.code: r for r in structural(c)}
    assert reasons["mains-in-series"].number == pytest.approx(230 / 8400, rel=1e-3)
    assert reasons["mains-in-series"].detail == "230 V"
    assert "floating-core" in reasons


def test_four_about_an_earthed_midpoint_stand_2100_and_4200_volts_off_their_cores() -> None:
    # The winding ends see 2100 / 4200 V (common practice, no source), with cores earthed and ties lifted.
    c, inventory = stack(4, 2, "lifted")
    state = solve(c, inventory)
    assert volts(state) == pytest.approx(8400.0, rel=2e-3)
    assert set(arrangement_of(c).lifted) == {"T2", "T4"}
    assert rms(state.potential("link_a_1")) == pytest.approx(2100.0, rel=2e-3)
    assert rms(state.potential("hot_b")) == pytest.approx(4200.0, rel=2e-3)
    numbers = {r.code: r.number for r in structural(c)}
    assert numbers["inner-end-lifted"] == pytest.approx(2100.0, rel=2e-3)
    assert numbers["winding-overvolt"] == pytest.approx(4200.0, rel=2e-3)
    assert "tie-not-liftable" in numbers


def test_floating_cores_of_a_stack_ride_on_the_lower_winding() -> None:
    c, inventory = stack(2, 2, "floating")
    state = solve(c, inventory)
    assert volts(state) == pytest.approx(4200.0, rel=2e-3)
    assert rms(state.potential("link_a_1")) == pytest.approx(2100.0, rel=2e-3)
    assert arrangement_of(c).joints["link_a_1"] == ("T1.high_start", "T2.core")
    assert [r.code for r in structural(c)] == ["floating-core", "high-to-primary"]


def test_proof_tests_clear_a_stack() -> None:
    # Just above what the upper unit sees (2100 V below it, 4200 V on top of it, 230 V on its primary): nothing is held
    # against it. Just below: refused.
    kept, _ = stack(2, 2, "lifted", liftable="yes", proved=4440.0)
    assert structural(kept) == []
    low, _ = stack(2, 2, "lifted", liftable="yes", proved=4190.0)
    assert {r.code for r in structural(low)} == {"winding-overvolt", "high-to-primary"}
    # Between 4200 V (the winding's top) and 4430 V (the top against a primary that rides 230 V the other way) only
    # the insulation between the two windings falls short, with cores earthed as with cores floating.
    for proved in (4210.0, 4300.0, 4420.0):
        between, _ = stack(2, 2, "lifted", liftable="yes", proved=proved)
        assert [(r.code, r.number) for r in structural(between)] == [
            ("high-to-primary", pytest.approx(4430.0, rel=2e-3))
        ]
        floats, _ = stack(2, 2, "floating", proved=proved)
        assert [r.code for r in structural(floats)] == ["high-to-primary"]
    floating, _ = stack(2, 2, "floating", proved=4440.0)
    assert structural(floating) == []
    bare, _ = stack(2, 2, "floating", proved=2300.0)
    assert {r.code for r in structural(bare)} == {"floating-core", "high-to-primary"}


def test_a_tie_that_cannot_be_lifted_refuses_whatever_the_proof() -> None:
    for liftable in ("no", "unknown"):
        c, _ = stack(2, 2, "lifted", liftable=liftable, proved=9000.0)
        assert [(r.code, r.detail) for r in structural(c)] == [("tie-not-liftable", f"T2: {liftable}")]


def test_a_winding_of_which_no_end_is_known_stands_nothing() -> None:
    c = make(Stage(High(((0,),), 1, ()), 1, 0), None, shelf(unit("T1", "none")), (FEED,))
    assert [r.code for r in structural(c)] == ["inner-end-unknown"]


def test_two_tapped_units_in_parallel_double_the_current_not_the_volts() -> None:
    # Sign transformers in parallel: 10 kV 100 mA become 10 kV 200 mA (common practice, no source).
    inventory = shelf(unit("S1", "tap", 10e3), unit("S2", "tap", 10e3))
    one = make(Stage(High((), 0, (0,)), 1, 0), None, inventory, (FEED,))
    two = make(Stage(High((), 0, (0, 0)), 1, 0), None, inventory, (FEED,))
    assert volts(solve(one, inventory)) == pytest.approx(10e3, rel=2e-3)
    assert volts(solve(two, inventory)) == pytest.approx(10e3, rel=2e-3)
    mains = replace(MAINS, resistance=1e-9, inductance=0.0)
    loaded = [solve_network(build(arrangement_of(c), inventory.circuits, mains).with_load(0.0)) for c in (one, two)]
    assert rms(loaded[1].current("load")) == pytest.approx(2 * rms(loaded[0].current("load")), rel=1e-3)


def test_primaries_in_series_share_the_mains() -> None:
    inventory = shelf(unit("T1", plate=115.0), unit("T2", plate=115.0))
    assert usual_series(inventory, (0, 0), 230.0, 1.12) == 2
    c = make(Stage(High(((0,), (0,)), 1, ()), 2, 0), None, inventory, (FEED,))
    assert arrangement_of(c).joints["between_1"] == ("T1.primary_finish", "T2.primary_finish")
    assert volts(solve(c, inventory)) == pytest.approx(4200.0, rel=2e-3)


def test_names_say_what_is_wired() -> None:
    inventory = shelf(unit("T10"), unit("T2"))
    assert name_of(make(PAIR, None, inventory, (FEED,))) == "T2 + T10, midpoint earthed"
    assert name_of(make(Stage(High(((0, 0),), 1, ()), 1, 0), None, inventory, (FEED,))) == "T2, T10 in parallel"


def test_a_feed_between_two_lines_uses_both() -> None:
    inventory = shelf(unit("T1", plate=240.0), unit("T2", plate=240.0))
    feed = Feed(240.0, complex(1e-3), ("line", "line_2"), mains_volts=240.0)
    mains = MainsCircuit(60.0, {"line": (120.0, 0.0), "line_2": (120.0, pi), "neutral": (0.0, 0.0)}, 1e-3, 1e-7)
    c = make(PAIR, None, inventory, (feed,))
    assert "mains.line_2" in arrangement_of(c).joints["return"]
    assert volts(solve(c, inventory, mains)) == pytest.approx(4200.0, rel=2e-3)
