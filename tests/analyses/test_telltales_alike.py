"""A telltale has to hold where units of one make are off together, not only where each is off by itself."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import exp

import numpy as np
import pytest

from analyses.slip_benches import Bench, bench
from coilwright.analyses.slip_networks import Slip, altered, parted
from coilwright.analyses.slips_results import Telltale
from coilwright.model.parts import Transformer
from coilwright.supply.build import circuit_of
from coilwright.supply.circuits import PartCircuit
from coilwright.supply.low_drive import (
    ADAPTER_RESISTANCE,
    IRON_FACTOR,
    IRON_SPREAD,
    LEAKAGE_SPREAD,
    Drive,
    alike_trials_of,
    at_low_flux,
    driven,
    plug_out,
    spread_of,
    trials_of,
    unplugged,
    with_leakage,
)
from coilwright.supply.network import Branch
from coilwright.supply.steady import rms, solve_network

TOLD = [(name, r.id, r.subject) for name in ("demo", "signs in parallel") for r in bench(name).result.rows
        if r.telltale is not None and r.telltale.test in {"volts", "feed current"}]  # fmt: skip


def _read(done: Bench, slip: Slip, t: Telltale, iron: float, leakage: float) -> float:
    """Return the reading of a telltale with every unit's iron and leakage moved by so many standard deviations."""
    units = done.wired.of(Transformer)
    moved: dict[str, PartCircuit] = {
        u: with_leakage(
            at_low_flux(circuit_of(u, done.circuits), IRON_FACTOR * exp(iron * IRON_SPREAD)),
            exp(leakage * LEAKAGE_SPREAD),
        )
        for u in units
    }
    bare = plug_out(parted(slip.arrangement, t.leads_off))
    network = altered(replace(slip, arrangement=bare), unplugged(bare, {**done.circuits, **moved}, done.mains))
    if t.output_shorted and network.output is not None:
        network = replace(network, branches=(*network.branches, Branch("short", *network.output, 1e-3)))
    joint_of = {x: j for j, xs in bare.joints.items() for x in xs}
    node = lambda p: joint_of.get(p, f"{p.partition('.')[0]}.core" if p not in network.nodes() else p)  # noqa: E731
    assert t.fed is not None and t.drive is not None
    a, b = (node(p) for p in t.fed)
    state = solve_network(driven(network, Drive(t.drive, (a, b)), ADAPTER_RESISTANCE), highest=1, limit=1)
    if t.test == "feed current":
        return rms(state.current("drive"))
    return rms(state.voltage(*(joint_of.get(node(p), node(p)) for p in t.between)))


@pytest.mark.slow
@pytest.mark.parametrize(("name", "id", "subject"), TOLD)
def test_right_and_wrong_stay_apart_whatever_all_units_share(name: str, id: str, subject: str) -> None:
    done = bench(name)
    t = done.row(id, subject).telltale
    assert t is not None
    slip, right = done.slips[id, subject], Slip("", "", "", done.wired.arrangement, "")
    ends = [x for x in product((-1.96, 0.0, 1.96), repeat=2) if 0.0 in x]
    shown = [[_read(done, s, t, *x) for x in ends] for s in (right, slip)]
    middle = ends.index((0.0, 0.0))
    assert [x[middle] for x in shown] == pytest.approx([t.right, t.wrong], rel=1e-6, abs=1e-9)
    for values, value, half in zip(shown, (t.right, t.wrong), (t.half_right, t.half_wrong), strict=True):
        assert max(abs(v - value) for v in values) <= half
    low, high = sorted(shown, key=min)
    assert max(low) < min(high)


def test_shorted_turns_are_read_with_their_unit_alone() -> None:
    # Two alike units whose primaries are joined: 12 V on either feeds the iron of both. With both low, right draws what
    # shorted turns draw with both high, within the meter, so the set left together may not give the telltale.
    done = bench("demo")
    for unit in ("T1", "T2"):
        t = done.row("turns-shorted", f"{unit}.high").telltale
        assert t is not None and t.separation > 1 and t.leads_off == (f"{unit}.primary_start",)
        assert f"{unit}.primary_start off" in t.how
        together = replace(t, leads_off=())
        right, slip = Slip("", "", "", done.wired.arrangement, ""), done.slips["turns-shorted", f"{unit}.high"]
        low, high = _read(done, right, together, -1.96, 0.0), _read(done, slip, together, 1.96, 0.0)
        assert low + 1.96 * (0.02 * low + 1e-4) > high - 1.96 * (0.02 * high + 1e-4)


def test_units_off_together_count_for_as_much_as_they_move() -> None:
    circuits, units = bench("demo").circuits, ("T1", "T2")
    single, alike = trials_of(circuits, units), alike_trials_of(circuits, units)
    # a reading that goes with the sum of both inductances, and one that goes with their difference
    henries = [[c[u].primary_limb.inductance for u in units] for c, _ in (*single, *alike)]  # type: ignore[union-attr]
    rows = np.array([[a + b, a - b] for a, b in henries])
    spread = spread_of(rows[: len(single)], rows[len(single) :])
    base = rows[0, 0]
    assert spread[0] >= base * (exp(1.96 * IRON_SPREAD) - 1) / 1.96 * (1 - 1e-9)
    assert spread[1] < base  # one up and one down; together they would cancel
    assert alike_trials_of(circuits, ("T1",)) == []
