"""Fuse and soft start: what is written on a fuse, what it does, and the first peak behind a resistor."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import pi, sqrt

import numpy as np
import pytest

from analyses.gate_cases import base, known
from coilwright.analyses.circuits import circuits_of
from coilwright.model.site import Breaker
from coilwright.protection.breaker import inrush_verdict
from coilwright.protection.fuses import Fuse, advised_fuse, judge, longest_time, read_fuse, soft_start
from coilwright.supply.build import build, mains_circuit
from coilwright.supply.switching import switch_on

B16 = Breaker(16.0, "B")


@pytest.mark.parametrize(
    ("text", "amperes", "kind"),
    [
        ("6.3 A T", 6.3, "T"),
        ("500 mA F", 0.5, "F"),
        ("10 A", 10.0, None),
        ("16A gG", 16.0, "gG"),
        ("1 1/4 A T", 1.25, "T"),
    ],
)
def test_a_fuse_is_read_as_written(text, amperes, kind):
    assert read_fuse(text) == Fuse(amperes, kind)


@pytest.mark.parametrize("text", ["", "0 A", "A T", "1/0 A", "six amperes", "5 V T"])
def test_what_names_no_fuse_is_refused(text):
    with pytest.raises(ValueError, match="names no fuse"):
        read_fuse(text)


def test_a_time_lag_fuse_opens_within_two_minutes_at_2_1_times():
    # IEC 60127-2 sheet 3, type T: 2 minutes at most at 2.1 In; sheet 2, type F: 30 minutes (both from memory)
    assert longest_time(Fuse(6.3, "T"), 2.1 * 6.3) == 120.0
    assert longest_time(Fuse(6.3, "F"), 2.1 * 6.3) == 1800.0
    assert longest_time(Fuse(6.3, "T"), 2.09 * 6.3) is None
    # IEC 60269 (from memory): gG of 16 A and more, conventional fusing current 1.6 In in one hour
    assert longest_time(Fuse(16.0, "gG"), 1.61 * 16) == 3600.0
    assert longest_time(Fuse(10.0, "gG"), 1.61 * 10) is None


@pytest.mark.parametrize(("current", "holds"), [(6.29, True), (6.31, False)])
def test_a_fuse_holds_its_rated_current(current, holds):
    v = judge(Fuse(6.3, "T"), current, B16, None, 50.0)
    assert v.holds is holds and v.fits is holds


def test_a_fuse_above_the_breaker_protects_nothing():
    v = judge(Fuse(20.0, "T"), 8.0, B16, None, 50.0)
    assert v.above_breaker and not v.fits and any("protects nothing" in w for w in v.words)


def test_the_first_peak_of_iron_opens_a_quick_fuse_and_not_a_slow_one():
    # 100 A for half a 50 Hz sine: I^2 t = 100^2 x 5 ms = 50 A2s. 8 A F opens from (80 A)^2 x 1 ms = 6.4 A2s, 8 A T
    # not below (80 A)^2 x 20 ms = 128 A2s
    assert judge(Fuse(8.0, "F"), 7.0, B16, 100.0, 50.0).survives_inrush is False
    assert judge(Fuse(8.0, "T"), 7.0, B16, 100.0, 50.0).survives_inrush is True
    assert judge(Fuse(8.0, None), 7.0, B16, 100.0, 50.0).survives_inrush is None
    t = np.linspace(0, 0.01, 20001)
    assert np.trapezoid((100 * np.sin(100 * pi * t)) ** 2, t) == pytest.approx(100**2 / (4 * 50))


def test_every_verdict_says_that_a_fuse_does_not_see_a_body():
    assert any("a body on it" in w for w in judge(Fuse(8.0, "T"), 7.0, B16, None, 50.0).words)


def test_the_advised_fuse_is_the_next_that_is_sold():
    # IEC 60127 (from memory) sells 6.3, 8 and 10 A; a current of 6.27 A whose band reaches 6.87 A needs the 8 A
    assert advised_fuse(6.27, B16) == Fuse(6.3, "T") and advised_fuse(6.87, B16) == Fuse(8.0, "T")
    assert advised_fuse(7.96, B16) == Fuse(8.0, "T")
    assert advised_fuse(8.1, B16) == Fuse(10.0, "T")
    assert advised_fuse(17.0, B16) is None


# ---- soft start ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("curve", "multiple"), [("B", 3), ("C", 5), ("D", 10), (None, 3)])
def test_the_resistor_alone_keeps_the_peak_at_the_lower_edge_of_the_band(curve, multiple):
    # IEC 60898-1 (seen): B 3 to 5, C 5 to 10, D 10 to 20 times the rated current; Ohm's law at mains + 10 %
    breaker = Breaker(16.0, curve)
    s = soft_start(230.0, breaker, 8.0, 50.0)
    assert 1.1 * sqrt(2) * 230 / s.least == pytest.approx(sqrt(2) * multiple * 16)
    assert inrush_verdict(s.first_peak * 0.999, breaker).may_trip is False
    assert s.held == pytest.approx(64 * s.resistance)
    # what is sold: E12 (IEC 60063, from memory)
    assert s.resistance == {3: 5.6, 5: 3.3, 10: 1.8}[multiple] and s.least <= s.resistance < 1.25 * s.least


def test_the_energy_is_a_half_cycle_of_the_whole_mains_and_the_steady_current_after_it():
    # by hand: 358 V crest on 5.6 ohm for half a 50 Hz sine, and 8 A for 0.3 s
    s = soft_start(230.0, B16, 8.0, 50.0)
    t = np.linspace(0, 0.01, 20001)
    first = np.trapezoid((1.1 * sqrt(2) * 230 * np.sin(100 * pi * t)) ** 2 / 5.6, t)
    assert s.energy == pytest.approx(first + 64 * 5.6 * 0.3, rel=1e-6)


@lru_cache(maxsize=1)
def _unballasted():
    """The demonstration's pair straight on the mains, correction off: a first peak of more than 150 A."""
    design = base()
    chosen = design.chosen()
    joints = {j: tuple(t for t in ts if not t.startswith(("B4", "C1", "C2"))) for j, ts in chosen.joints.items()}
    joints["live"] = (*joints["live"], *joints.pop("fed"))
    arrangement = replace(chosen, joints=joints)
    return arrangement, circuits_of(arrangement, design, known()), mains_circuit(design.site)


def test_behind_the_resistor_the_stepped_first_peak_stays_below_the_band():
    arrangement, circuits, mains = _unballasted()
    s = soft_start(230.0, B16, 8.0, 50.0)
    bare = switch_on(build(arrangement, circuits, mains), 0.0).peak()
    soft = switch_on(
        build(arrangement, circuits, replace(mains, resistance=mains.resistance + s.resistance)), 0.0, cycles=4
    )
    assert inrush_verdict(bare, B16).may_trip is True
    assert inrush_verdict(soft.peak(), B16).may_trip is False
    current = soft.currents["mains.line"]
    assert s.resistance * np.trapezoid(current**2, soft.time) < s.energy
