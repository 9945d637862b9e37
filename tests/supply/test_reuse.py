"""What one network shares with another, and what is eliminated, against the same solved from nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from samples import MAINS, PARTS, pair

from coilwright.supply.build import build
from coilwright.supply.families import Networks, Variants
from coilwright.supply.linear import assemble, reduce
from coilwright.supply.loads import solve_loads
from coilwright.supply.network import Branch, Capacitance, Network
from coilwright.supply.steady import family_of, odd, refined, rms, solve_network, solve_networks


@pytest.fixture
def network() -> Network:
    return build(pair(correction=True), PARTS, MAINS)


def fresh(network: Network, *more: Branch | Capacitance) -> Network:
    """Return a network with further elements that knows nothing of where it comes from."""
    branches = tuple(e for e in more if isinstance(e, Branch))
    capacitances = tuple(e for e in more if isinstance(e, Capacitance))
    return replace(
        network, branches=(*network.branches, *branches), capacitances=(*network.capacitances, *capacitances)
    )


def test_currents_eliminated_are_those_of_the_whole_equations(network):
    # The whole matrix of modified nodal analysis, solved with numpy for one ampere through each port and the sources.
    harmonics = odd(13)
    equations = assemble(network)
    got = reduce(equations, harmonics)
    assert equations.series > 5
    a = equations.matrix(harmonics)
    for k, h in enumerate(harmonics):
        transfer = np.linalg.solve(a[k], equations.incidence.astype(complex))
        rest = np.linalg.solve(a[k], equations.sources * (h == 1))
        assert np.abs(got.transfer[k] - transfer).max() < 1e-9 * np.abs(transfer).max()
        assert np.abs(got.rest[k] - rest).max() <= 1e-9 * max(1.0, np.abs(rest).max())
        assert np.abs(got.impedance[k] - equations.incidence.T @ transfer).max() < 1e-9 * np.abs(got.impedance[k]).max()


def test_harmonics_added_later_are_those_computed_at_once(network):
    other = replace(network)
    reduce(assemble(network), odd(3))
    step = reduce(assemble(network), odd(13))
    once = reduce(assemble(other), odd(13))
    assert np.array_equal(step.harmonics, once.harmonics)
    for a, b in ((step.open, once.open), (step.impedance, once.impedance), (step.rest, once.rest)):
        assert a == pytest.approx(b, rel=1e-12)
    assert reduce(assemble(network), odd(5)).rest == pytest.approx(once.rest[:3], rel=1e-12)


@pytest.mark.parametrize("ohm", [0.0, 1.0, 8e3, 1e9])
def test_a_load_put_on_a_known_network_gives_what_a_fresh_one_gives(network, ohm):
    solve_network(network)
    reused = network.with_load(ohm)
    assert isinstance(family_of([reused]), Variants)
    other = fresh(network, Branch("load", *network.output, ohm))
    assert isinstance(family_of([other]), Networks)
    a, b = solve_network(reused), solve_network(other)
    assert rms(a.current("load")) == pytest.approx(rms(b.current("load")), rel=1e-9)
    for node in ("hot_a", "fed", "T1:secondary limb"):
        assert rms(a.potential(node)) == pytest.approx(rms(b.potential(node)), rel=1e-9)
    assert rms(a.current("mains.line")) == pytest.approx(rms(b.current("mains.line")), rel=1e-9)


def test_a_tank_put_on_a_known_network_gives_what_a_fresh_one_gives(network):
    a = solve_network(network.with_capacitor(20e-9))
    b = solve_network(fresh(network, Capacitance("tank", *network.output, 20e-9)))
    assert a.peak(a.voltage("hot_a", "hot_b")) == pytest.approx(b.peak(b.voltage("hot_a", "hot_b")), rel=1e-8)
    assert rms(a.current("mains.line")) == pytest.approx(rms(b.current("mains.line")), rel=1e-8)


def test_the_equations_of_a_reused_network_are_those_of_a_fresh_one(network):
    for element, made in (
        (Branch("load", *network.output, 300.0), network.with_load(300.0)),
        (Capacitance("tank", *network.output, 5e-9), network.with_capacitor(5e-9)),
    ):
        reused, other = assemble(made), assemble(fresh(network, element))
        assert reused.index.keys() == other.index.keys()
        names = [n for n in other.index if n != "0"]
        mine, theirs = ([e.index[n] for n in names] for e in (reused, other))
        harmonics = odd(3)
        a, b = reused.matrix(harmonics)[:, mine][:, :, mine], other.matrix(harmonics)[:, theirs][:, :, theirs]
        assert a == pytest.approx(b, rel=1e-14)
        assert (reused.sources[mine] == other.sources[theirs]).all()
        assert (reused.incidence[mine] == other.incidence[theirs]).all()


def test_a_changed_copy_remembers_nothing(network):
    loaded = network.with_load(8e3)
    before = rms(solve_network(loaded).current("load"))
    changed = replace(loaded, sources=tuple(replace(s, peak=s.peak / 2) for s in loaded.sources))
    assert changed.origin is None
    assert rms(solve_network(changed).current("load")) < 0.7 * before
    assert replace(loaded) == loaded and hash(replace(loaded)) == hash(loaded)


def test_a_load_on_a_network_with_a_tank(network):
    both = network.with_capacitor(2e-9).with_load(8e3)
    other = fresh(network, Capacitance("tank", *network.output, 2e-9), Branch("load", *network.output, 8e3))
    got, wanted = (rms(solve_network(n).current("load")) for n in (both, other))
    assert got == pytest.approx(wanted, rel=1e-8)


def test_many_loads_at_once_are_those_one_by_one(network):
    ohms = [1e7, 8e3, 500.0, 0.0]
    for ohm, state in zip(ohms, solve_loads(network, ohms), strict=True):
        alone = solve_network(fresh(network, Branch("load", *network.output, ohm)))
        assert state is not None
        assert rms(state.current("load")) == pytest.approx(rms(alone.current("load")), rel=1e-6)
        assert state.equations.network.branches[-1] == Branch("load", *network.output, ohm)
        assert rms(refined(state, tail=1e-7).current("load")) == pytest.approx(rms(alone.current("load")), rel=1e-6)
    assert solve_loads(network, []) == []


def test_unlike_networks_are_no_variants_of_one(network):
    other = build(pair(), PARTS, MAINS)
    with pytest.raises(ValueError, match="one network"):
        Variants([network.with_load(1.0), other.with_load(1.0)])
    states = solve_networks([network.with_load(1e4), other.with_load(1e4)])
    assert all(s is not None for s in states)
