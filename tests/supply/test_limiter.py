"""A lamp or heater in series with the line: the filament's curve, the fixed point, and where it is put."""

from __future__ import annotations

from itertools import pairwise
from math import log, sqrt

import pytest

from coilwright.magnetics.iron import Iron
from coilwright.supply.limiter import (
    LIMITER,
    LINE_SIDE,
    Limiter,
    filament_resistance,
    mains_volts,
    settle,
    through,
)
from coilwright.supply.network import EARTH, Branch, Network, Port, Source
from coilwright.supply.steady import rms, solve_network


def mains(*branches: Branch, ports: tuple[Port, ...] = (), volts: float = 230.0) -> Network:
    source = Source("mains.line", "live", EARTH, complex(sqrt(2) * volts), 0.0, 0.0)
    return Network(50.0, branches, sources=(source,), ports=ports)


def volts_across(state) -> float:
    return rms(state.voltage(LINE_SIDE, "live"))


def test_power_rises_with_the_volts_as_the_trade_has_it() -> None:
    # IES Lighting Handbook, lamp exponents: watts go as volts to the 1.54 (gas-filled) and 1.58 (vacuum); from memory.
    high, low = 1.05, 0.95
    power = log(high**2 / filament_resistance(high) / (low**2 / filament_resistance(low))) / log(high / low)
    assert 1.52 < power < 1.60


def test_cold_filament_is_a_twelfth_to_a_fifteenth_of_the_hot_one() -> None:
    # Common practice, no source: a cold lamp has about a fifteenth to a twelfth of its hot resistance.
    assert 12 < 1 / filament_resistance(0.0) < 15
    lamp = Limiter("lamp", 100.0, 230.0)
    assert lamp.resistance(230.0) == pytest.approx(529.0, rel=1e-3)  # V^2 / P
    assert 35 < lamp.resistance(0.0) < 44  # Ohmmeter on a cold 100 W 230 V lamp: about 40 ohm, common practice


def test_curve_rises_all_the_way_and_is_one_at_rated_volts() -> None:
    shares = [k / 50 for k in range(61)]
    curve = [filament_resistance(s) for s in shares]
    assert all(b > a for a, b in pairwise(curve))
    assert filament_resistance(1.0) == pytest.approx(1.0, abs=1e-3)


def test_two_alike_lamps_in_series_share_the_mains() -> None:
    # By symmetry each of two alike lamps takes half; the other stands here as the resistance it has at half the volts.
    lamp = Limiter("lamp", 60.0, 230.0)
    state = settle([(mains(Branch("other", "live", EARTH, lamp.resistance(115.0))), lamp)])[0]
    assert state is not None
    assert volts_across(state) == pytest.approx(115.0, rel=1e-5)


def test_lamp_before_a_choke_satisfies_its_own_curve() -> None:
    # V_lamp^2 + V_choke^2 = V^2 for a lossless choke; bisection on one unknown is a road of its own.
    lamp, reactance = Limiter("lamp", 500.0, 230.0), 60.0
    state = settle([(mains(Branch("choke", "live", EARTH, 0.0, reactance / 314.159265)), lamp)])[0]
    assert state is not None
    low, high = 1.0, 230.0
    for _ in range(80):
        middle = (low + high) / 2
        drawn = middle / lamp.resistance(middle)
        low, high = (middle, high) if middle**2 + (drawn * reactance) ** 2 < 230.0**2 else (low, middle)
    assert volts_across(state) == pytest.approx(low, rel=1e-5)
    assert rms(state.current(LIMITER)) == pytest.approx(low / lamp.resistance(low), rel=1e-5)


def test_heater_is_a_plain_resistance() -> None:
    heater = Limiter("heater", 1000.0, 230.0)
    state = settle([(mains(Branch("set", "live", EARTH, 52.9)), heater)])[0]
    assert state is not None
    assert volts_across(state) == pytest.approx(115.0, rel=1e-6)


def test_many_are_settled_at_once_as_each_alone() -> None:
    iron = Iron(0.5, 0.9, 0.3, 9)
    network = mains(Branch("copper", "live", "core", 1.0), ports=(Port("iron", "core", EARTH, iron),))
    cases = [(network, Limiter("lamp", p, 230.0)) for p in (25.0, 100.0, 500.0, 2000.0)]
    for case, state in zip(cases, settle(cases), strict=True):
        alone = settle([case])[0]
        assert state is not None and alone is not None
        assert volts_across(state) == pytest.approx(volts_across(alone), rel=1e-5)
        again = solve_network(through(network, case[1].resistance(volts_across(state))))
        assert volts_across(again) == pytest.approx(volts_across(state), rel=1e-4)


def test_one_that_cannot_be_solved_leaves_the_others() -> None:
    good = mains(Branch("set", "live", EARTH, 52.9))
    hanging = mains(Branch("set", "live", EARTH, 52.9), Branch("adrift", "x", "y", 1.0))
    states = settle([(good, Limiter("heater", 1000.0, 230.0)), (hanging, Limiter("heater", 1000.0, 230.0))])
    assert states[0] is not None
    assert states[1] is None


def test_limiter_stands_between_socket_and_set() -> None:
    network = mains(Branch("set", "live", EARTH, 52.9))
    with_it = through(network, 10.0)
    assert with_it.sources[0].a == LINE_SIDE
    assert with_it.branches[-1] == Branch(LIMITER, LINE_SIDE, "live", 10.0)
    with pytest.raises(ValueError, match="no mains source"):
        through(Network(50.0, network.branches), 10.0)


def test_volts_between_two_lines_count() -> None:
    lines = tuple(
        Source(f"mains.{n}", n, EARTH, complex(sign * sqrt(2) * 120.0), 0.1, 0.0)
        for n, sign in (("line", 1), ("line_2", -1))
    )
    assert mains_volts(Network(60.0, sources=lines)) == pytest.approx(240.0)
    assert mains_volts(Network(60.0, sources=lines[:1])) == pytest.approx(120.0)
