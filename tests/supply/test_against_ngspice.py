"""The same network stepped in time by ngspice: a second, independent route to every rms and peak.

It checks the solver, not the part model: both integrate the same element equations. Tolerance 0.1 % rms, the
project's target; ngspice itself is good to about 0.02 % here (step 1/2000 of a cycle, what is left of the switch-on
offset).
"""

from __future__ import annotations

import pytest
from benchmarks.netlists import ngspice
from samples import MAINS, PARTS, pair

from coilwright.report.spice import netlist
from coilwright.supply.build import build
from coilwright.supply.operating import operating
from coilwright.supply.steady import all_states, rms, solve_network

pytestmark = [pytest.mark.tool("ngspice"), pytest.mark.slow]


@pytest.mark.parametrize("load", [None, 8e3, 1.0])
def test_pair_behind_a_choke(load):
    network = build(pair(correction=True), PARTS, MAINS)
    network = network if load is None else network.with_load(load)
    state = solve_network(network)
    measured = ngspice(netlist(network, measure=("B1",))).values
    got = operating(state, load)
    assert got.voltage == pytest.approx(measured["v_out"], rel=1e-3)
    assert got.mains_current == pytest.approx(measured["i_mains_line"], rel=1e-3)
    assert rms(state.current("B1")) == pytest.approx(measured["i_b1"], rel=1e-3)
    assert got.voltage_peak == pytest.approx(max(measured["v_out_max"], -measured["v_out_min"]), rel=1e-3)


def test_tank_at_the_third_harmonic_peak():
    # Far below mains resonance the pair rings with its tank on the third harmonic: more than twice the open peak.
    network = build(pair(), PARTS, MAINS)
    opened = solve_network(network)
    with_tank = network.with_capacitor(50e-9)
    state = all_states(with_tank, starts=24)[0]
    measured = ngspice(netlist(with_tank)).values
    peak = state.peak(state.voltage("hot_a", "hot_b"))
    assert peak > 1.8 * opened.peak(opened.voltage("hot_a", "hot_b"))
    assert rms(state.voltage("hot_a", "hot_b")) == pytest.approx(measured["v_out"], rel=1e-3)
    assert peak == pytest.approx(max(measured["v_out_max"], -measured["v_out_min"]), rel=1e-3)
