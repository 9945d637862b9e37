"""Every slip's altered network stepped in time by ngspice: a second route to its volts and its mains current.

It checks the solver and that the network shown is the one altered, not the part model. Required: 1 % rms.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from benchmarks.netlists import ngspice

from analyses.slip_benches import NAMES, bench
from coilwright.report.spice import netlist
from coilwright.supply.network import EARTH, Branch

pytestmark = [pytest.mark.tool("ngspice"), pytest.mark.slow, pytest.mark.timeout(300)]

RINGS = ("pfc-behind-ballast", "safety-gap-missing")


@pytest.mark.parametrize("name", NAMES)
def test_every_slip_with_the_output_open(name: str) -> None:
    done, solved = bench(name), {}
    for row in done.result.rows:
        network = done.network(row)
        # what rings with a capacitor takes longer to settle
        cycles, ramp = (80, 30) if row.id in RINGS else (26, 12)
        text = netlist(network, cycles=cycles, ramp_cycles=ramp, steps_per_cycle=200)
        same = solved.get(text)
        theirs = same if same is not None else ngspice(text).values
        solved[text] = theirs
        where = f"{row.id}, {row.subject}"
        # one of a windings-reversed parallel pair shorts the other: what is left of 8 kV is the solver's rest
        assert row.open_voltage == pytest.approx(theirs["v_out"], rel=0.01, abs=1e-4), where
        heaviest = max(amps for key, amps in theirs.items() if key.startswith("i_mains_"))
        assert row.mains_current_corrected == pytest.approx(heaviest, rel=0.01), where
        if row.peak is not None:
            assert row.peak == pytest.approx(max(theirs["v_out_max"], -theirs["v_out_min"]), rel=0.01), where
    assert len(solved) > len({r.id for r in done.result.rows}) // 2


@pytest.mark.parametrize(("name", "id", "subject"), [("demo", "core-off", "T1.core"), ("demo", "reversed", "T2.high")])
def test_what_stands_on_a_place_and_flows_through_a_body(name: str, id: str, subject: str) -> None:
    done = bench(name)
    row = done.row(id, subject)
    touch = row.touch
    assert touch is not None
    network = done.network(row).with_load(0.0) if touch.load == "output shorted" else done.network(row)
    if touch.load == "best power":
        network = network.with_load(done.result.right.best_power.load_resistance or 0.0)
    body = replace(network, branches=(*network.branches, Branch("body", touch.where, EARTH, 1000.0)))
    theirs = ngspice(netlist(body, cycles=26, ramp_cycles=12, steps_per_cycle=200, measure=("body",))).values
    assert touch.current_1000 == pytest.approx(theirs["i_body"], rel=0.01)
    there = replace(done.network(row), output=(touch.where, EARTH))
    volts = ngspice(netlist(there, cycles=26, ramp_cycles=12, steps_per_cycle=200)).values["v_out"]
    assert touch.voltage == pytest.approx(volts, rel=0.01)
