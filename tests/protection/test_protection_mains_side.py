"""Mains filter, disconnections and the radio-frequency ground."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest

from coilwright.protection.mains_side import FACING, MEANS, STOP, filter_leakage, largest_leakage_capacitance
from coilwright.protection.rf_ground import SAFETY_EARTH, skin_depth, strap, strap_inductance, wire_inductance


def test_leakage_of_a_filter_by_ohms_law():
    # 4.7 nF at 253 V 50 Hz: 2 pi 50 x 4.7e-9 x 253 = 0.374 mA
    v = filter_leakage(230.0, 50.0, 4.7e-9, 0.03)
    assert v.current == pytest.approx(0.374e-3, rel=2e-3)
    assert not v.may_trip and "1.2 %" in v.words
    assert filter_leakage(230.0, 50.0, 4.7e-9, None).words == "no residual-current device"


@pytest.mark.parametrize(("factor", "trips"), [(0.999, False), (1.001, True)])
def test_a_filter_is_warned_of_from_what_is_left_of_half_the_trip_current(factor, trips):
    # IEC 61008-1 (from memory): no trip below half; 0.3 of it is left for standing leakage: 6 mA of 30 mA
    c = largest_leakage_capacitance(230.0, 50.0, 0.03)
    assert 2 * pi * 50 * c * 253 == pytest.approx(6e-3)
    assert filter_leakage(230.0, 50.0, factor * c, 0.03).may_trip is trips


def test_what_separates_and_what_only_controls():
    counts = {m.name: m.counts for m in MEANS}
    assert sum(counts.values()) == 3
    assert not counts["key switch"] and not counts["stop button"] and counts["plug pulled, in sight"]
    assert all(m.why for m in MEANS)
    assert any("LINE to the mains" in w for w in FACING) and any("opening contact" in w for w in STOP)


def test_a_strap_is_the_conductor_of_its_geometric_mean_distance():
    # Neumann's integral for two parallel filaments, averaged over the width of the strap by midpoint rule
    length, width, n = 2.0, 0.05, 800
    x = (np.arange(n) + 0.5) * width / n
    d = np.abs(x[:, None] - x[None, :])
    d[d == 0] = width / n * np.exp(-1.5)  # geometric mean distance of a line from itself
    pair = 2e-7 * (length * np.log((length + np.sqrt(length**2 + d**2)) / d) - np.sqrt(length**2 + d**2) + d)
    assert strap_inductance(length, width) == pytest.approx(pair.mean(), rel=0.01)


def test_a_round_wire_of_a_metre():
    # E. B. Rosa, Bulletin of the Bureau of Standards 4 (1908) 301, from memory: 1 m of 2 mm wire, 1.32 uH
    assert wire_inductance(1.0, 2e-3) == pytest.approx(1.32e-6, rel=0.01)
    assert strap_inductance(1.0, 0.1) < 0.6 * wire_inductance(1.0, 2e-3)


def test_the_safety_gap_does_not_end_on_the_coils_rod():
    assert "protective conductor" in SAFETY_EARTH and "not on the coil's radio-frequency rod" in SAFETY_EARTH
    assert "local code" in SAFETY_EARTH


def test_skin_depth_of_copper():
    # 66 um at 1 MHz: any handbook
    assert skin_depth(1e6) == pytest.approx(66e-6, rel=0.01)


def test_volts_on_the_strap_and_the_rod():
    s = strap(2.0, 0.05, 200e3)
    assert s.reactance == pytest.approx(2 * pi * 200e3 * s.inductance)
    assert s.resistance < 0.05 * s.reactance
    rod = strap(2.0, 0.05, 200e3, 15.0)
    assert rod.volts(3.0) == pytest.approx(3 * sqrt((15 + s.resistance) ** 2 + s.reactance**2))


def test_impossible_straps_are_refused():
    with pytest.raises(ValueError, match="is a plate"):
        strap_inductance(0.1, 0.06)
    with pytest.raises(ValueError, match="must be positive"):
        strap_inductance(0.0, 0.06)
    with pytest.raises(ValueError, match="must not be negative"):
        strap(1.0, 0.05, 1e5, -1.0)
    with pytest.raises(ValueError, match="capacitance from 0 up"):
        filter_leakage(230.0, 50.0, -1e-9, 0.03)
