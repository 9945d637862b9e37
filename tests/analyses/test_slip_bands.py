"""The bands of the slips' numbers: the parts' spread on the altered network, tried against networks solved whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import pytest

from analyses.slip_benches import Bench, bench
from coilwright.analyses.shelf import shelf
from coilwright.analyses.sides import correction_capacitors
from coilwright.analyses.slip_bands import spreads_of
from coilwright.analyses.slip_networks import network_of
from coilwright.analyses.slips import slips
from coilwright.analyses.slips_results import SlipRow
from coilwright.supply.circuits import PartCircuit, TransformerCircuit
from coilwright.supply.network import EARTH, Branch
from coilwright.supply.operating import operating
from coilwright.supply.steady import rms, solve_network

TRIED = [
    ("demo", "unit-dead", "T2"),
    ("demo", "turns-shorted", "T1.high"),
    ("demo", "ballast-bypassed", "B4"),
    ("pair at 120 V", "secondary-shorted", "T1.high"),
    ("pair at 120 V", "core-off", "T2.core"),
]


def _figures(done: Bench, row: SlipRow, circuits: Mapping[str, PartCircuit]) -> dict[str, float]:
    """Return the figures of a row with other circuits, every network solved at its own order."""
    slip, touch = done.slips[row.id, row.subject], row.touch
    assert touch is not None
    wired = network_of(slip, circuits, done.mains)
    bare = network_of(slip, circuits, done.mains, without=frozenset(correction_capacitors(done.wired)))
    best = done.result.right.best_power.load_resistance
    load = {"output open": None, "output shorted": 0.0}.get(touch.load, best)
    at = wired if load is None else wired.with_load(load)
    a, _, b = touch.where.partition(" to ") if touch.across else (touch.where, "", EARTH)
    ohms = 575.0 if touch.current_575 >= touch.current_1000 else 1000.0
    body = solve_network(replace(at, branches=(*at.branches, Branch("body", a, b, ohms))))
    return {
        "open_voltage": operating(solve_network(wired), None).voltage,
        "mains_current": operating(solve_network(bare), None).mains_current,
        "body_current": rms(body.current("body")),
    }


@pytest.mark.slow
@pytest.mark.parametrize(("name", "id", "subject"), TRIED)
def test_bands_hold_parts_that_are_off_together(name: str, id: str, subject: str) -> None:
    # First order: one standard deviation of two independent axes at once moves a figure by at most sqrt(2) / 1.96 of
    # its half width, and by 1 / 1.96 of it where one axis is all that matters.
    done = bench(name)
    row = done.row(id, subject)
    parts = shelf(done.design).parts
    moving = [n for n in done.wired.instances if n in parts and parts[n].spread]
    assert len(moving) > 1
    usual = _figures(done, row, done.circuits)
    widest = dict.fromkeys(usual, 0.0)
    for one, other in pairwise(moving):
        for k in range(max(len(parts[one].spread), len(parts[other].spread))):
            a, b = (parts[n].spread[k % len(parts[n].spread)] for n in (one, other))
            there = _figures(done, row, {**done.circuits, one: a, other: b})
            for key, value in there.items():
                low, high = row.bands[key]
                assert low <= value <= high, (key, one, other, k)
                widest[key] = max(widest[key], abs(value - usual[key]) / (high - low))
    assert usual["open_voltage"] == pytest.approx(row.open_voltage, rel=1e-6)
    assert usual["body_current"] == pytest.approx(row.touch.current if row.touch else None, rel=1e-6)
    assert max(widest.values()) > 0.1  # of the whole band: it is not wide for nothing


@pytest.mark.parametrize("name", ["demo", "pair at 120 V"])
def test_every_number_that_is_known_has_its_band(name: str) -> None:
    for row in bench(name).result.rows:
        known = {"open_voltage": row.open_voltage, "mains_current": row.mains_current}
        known |= {"mains_current_corrected": row.mains_current_corrected}
        known |= {"body_current": row.touch.current if row.touch else None}
        assert set(row.bands) == {k for k, v in known.items() if v}, row.id
        for key, (low, high) in row.bands.items():
            assert 0 <= low < known[key] < high, (row.id, key)  # type: ignore[operator]


def test_the_highest_of_several_states_is_followed() -> None:
    # Without the safety gap the tank's volts hang on where the iron folds: a wider band than of the same set without.
    done = bench("demo")
    row, right = done.row("safety-gap-missing", "safety gap"), done.row("tank-lead-open", "hot_a")

    def relative(r: SlipRow, key: str, value: float | None) -> float:
        assert value
        return (r.bands[key][1] - r.bands[key][0]) / value

    for key in ("open_voltage", "mains_current"):
        assert relative(row, key, getattr(row, key)) > 2 * relative(right, key, getattr(right, key))


def test_stray_capacitances_are_in_it_where_something_floats() -> None:
    done = bench("demo")
    row = done.row("earth-lost", "mains.earth")
    spreads = spreads_of(done.wired, done.circuits, done.mains, shelf(done.design).parts)
    assert spreads is not None
    usual, moved = (c["T1"] for c in (spreads.moved[0], spreads.moved[-1]))
    assert isinstance(usual, TransformerCircuit) and isinstance(moved, TransformerCircuit)
    assert moved.high_to_core / usual.high_to_core == pytest.approx(2 ** (1 / 1.96))
    assert row.bands


def test_nothing_known_of_the_spread_is_no_band() -> None:
    done = bench("one unit")
    known = shelf(done.design)
    bare = replace(known, parts={n: replace(p, spread=()) for n, p in known.parts.items()})
    result = slips(done.design, right=done.result.right, shelf=bare)
    assert all(r.bands == {} for r in result.rows)
    assert any(r.bands for r in done.result.rows)
