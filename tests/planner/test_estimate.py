"""The quick estimate beside the solved fundamental, and the fundamental beside every harmonic."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from benchmarks.planner_shelves import Shelf as Bench
from benchmarks.planner_shelves import demonstration, goal, scattered

from coilwright.planner.ballast import catalogue
from coilwright.planner.candidate import own_forms
from coilwright.planner.intake import aim_of, feeds_of, take_in
from coilwright.planner.own import Deals, Pairs, estimate_own
from coilwright.planner.refusals import Refusals
from coilwright.planner.screen import estimate, tabulate, wanted_reactance
from coilwright.planner.screening import Effort, Shelf, Wanted, screen
from coilwright.planner.search import _stages
from coilwright.planner.solve import Context, solve_exact, solve_fundamental
from coilwright.planner.stages import High, Stage
from coilwright.supply.build import mains_circuit


def prepared(bench: Bench) -> Shelf:
    design = bench.design()
    inventory = take_in(design, bench.circuits, {})
    context = Context(aim_of(design), mains_circuit(design.site), inventory.circuits, inventory.correctors)
    forms = catalogue(inventory.element_classes, context.omega)
    return Shelf(inventory, feeds_of(design.site, inventory), forms, context, Wanted.of(inventory, ()), Effort())


AMERICAN = scattered(3, 3, 41, volts=120.0, frequency=60.0, power=900.0, breaker=20.0)
SIGNS = Bench(goal=goal(600.0, 3000.0, 15e3)).sign("S1", 39.3, 400.0).sign("S2", 36.0, 300.0).choke("B1", 60.0, 3.0)


@pytest.mark.parametrize("bench", [demonstration(), AMERICAN, SIGNS], ids=["demonstration", "american", "signs"])
def test_the_estimate_lies_within_a_few_per_cent_of_the_solution(bench: Bench) -> None:
    shelf = prepared(bench)
    refusals = Refusals(shelf.inventory, shelf.feeds)
    screened = screen(_stages(shelf, refusals), shelf, refusals, lambda _share, _words: None)
    picks = [p for p in screened.picks if not p.candidate.own][:40]
    stages = [p.candidate.stage for p in picks if p.candidate.stage is not None]
    rows = np.array([shelf.forms.forms.index(p.candidate.form) for p in picks])
    tables = tabulate(stages, shelf.inventory, shelf.feeds, shelf.context.omega)
    quick = estimate(tables, shelf.forms.impedance[rows], shelf.forms.overload[rows])
    solved = solve_fundamental([p.candidate for p in picks], shelf.context, [0.0] * len(picks))
    assert len(solved) > 5
    for k, s in enumerate(solved):
        assert s is not None
        # Classes stand for their first member, iron for a describing function, currents for a table: some per cent.
        assert quick.open_voltage[k] == pytest.approx(s.open_voltage, rel=0.03)
        assert quick.short_current[k] == pytest.approx(s.short_current, rel=0.05)
        assert quick.mains_current[k] == pytest.approx(s.mains_current, rel=0.05)
        # The load on top of it takes saturation at an even share of the current, which unlike units do not keep.
        assert quick.load[k] == pytest.approx(s.load, rel=0.15)


def pair_of(shelf: Shelf) -> Stage:
    """Return the pair T1 and T2."""
    place = {u.id: k for k, members in enumerate(shelf.inventory.unit_classes) for u in members}
    up, down = sorted((place["T1"], place["T2"]))
    return Stage(High(((up,), (down,)), 1, ()), 1, 0)


def test_ballasts_of_their_own_are_estimated_with_the_currents_that_each_takes() -> None:
    shelf = prepared(demonstration())
    stage = pair_of(shelf)
    deals = Deals(shelf.forms)
    tables = tabulate([stage], shelf.inventory, shelf.feeds, shelf.context.omega)
    checked = 0
    for row in np.flatnonzero((shelf.forms.spares == 0) & (shelf.forms.count <= 3)):
        form = shelf.forms.forms[row]
        common = estimate(tables, shelf.forms.impedance[[row]], shelf.forms.overload[[row]])
        for number, deal in zip(deals.of(int(row), 2), () if form is None else own_forms(form, 2), strict=True):
            pairs = Pairs([stage], np.array([deals.rows[number]]), common.stage_current)
            quick = estimate_own(pairs, shelf.forms, shelf.inventory, shelf.feeds[0], shelf.context.omega)
            s = solve_fundamental([shelf.candidate(stage, form, deal)], shelf.context, [0.0])[0]
            assert s is not None
            assert quick.short_current[0] == pytest.approx(s.short_current, rel=0.05)
            assert quick.open_voltage[0] == pytest.approx(s.open_voltage, rel=0.03)
            assert quick.load[0] == pytest.approx(s.load, rel=0.08)
            checked += 1
    assert checked >= 20


def test_the_wanted_reactance_gives_the_wanted_power() -> None:
    shelf = prepared(demonstration())
    tables = tabulate([pair_of(shelf)], shelf.inventory, shelf.feeds, shelf.context.omega)
    x = wanted_reactance(tables, shelf.context.aim)
    done = estimate(tables, np.full((1, 56), 1j * x[0]), np.zeros((1, 56)))
    assert done.open_voltage[0] * done.short_current[0] == pytest.approx(1500.0, rel=0.03)
    # Of the order of the choke that the demonstration's pair stands behind: 230 V / 8 A less the pair's own leakage.
    assert 10 < x[0] < 230 / 7


def test_every_harmonic_changes_what_the_fundamental_says_by_little_when_shorted() -> None:
    shelf = prepared(demonstration())
    refusals = Refusals(shelf.inventory, shelf.feeds)
    picks = screen(_stages(shelf, refusals), shelf, refusals, lambda _share, _words: None).picks[:6]
    quick = [s for s in solve_fundamental([p.candidate for p in picks], shelf.context, [0.0] * 6) if s is not None]
    for s, full in zip(quick, solve_exact(quick, shelf.context, [0.0] * len(quick)), strict=True):
        assert full is not None
        assert full.short_current == pytest.approx(s.short_current, rel=0.02)
        assert full.open_voltage == pytest.approx(s.open_voltage, rel=0.03)
        assert full.mains_corrected < full.mains_current
        assert full.stresses


def test_power_factor_follows_from_the_circle_of_the_load() -> None:
    # A pure inductance before an ideal 1:1 supply: at best power |R| = |X|, so the angle is 45 degrees
    # (common practice, no source).
    bench = Bench(goal=goal(1500.0, 1000.0, 9000.0)).sign("I1", 20.0, 400.0, tied="start", kind="ignition")
    shelf = prepared(bench)
    stage = Stage(High(((0,),), 1, ()), 1, 0)
    tables = tabulate([stage], shelf.inventory, shelf.feeds, 2 * pi * 50)
    heavy = np.full((1, 56), 5000j)
    done = estimate(tables, heavy, np.zeros((1, 56)))
    factor = done.best_mains[0].real / abs(done.best_mains[0])
    assert 0.0 < factor < 0.8
    assert abs(done.short_mains[0].real / abs(done.short_mains[0])) < 0.05
