"""Tank attached, gap missing."""

from __future__ import annotations

import numpy as np
import pytest
from samples import MAINS, OMEGA, PARTS, pair

from coilwright.supply.build import build
from coilwright.supply.gap_missing import at, resonant_capacitance, scan
from coilwright.supply.network import EARTH, Branch, Network, Source
from coilwright.supply.operating import operating
from coilwright.supply.steady import rms, solve_network


@pytest.mark.parametrize(
    ("volts", "milliamps", "hertz", "nanofarads"),
    [(15000, 60, 50, 12.73239544735163), (15000, 60, 60, 10.610329539459691), (15000, 30, 60, 5.305164769729845)],
)
def test_resonant_capacitance(volts, milliamps, hertz, nanofarads):
    # Exact, derived: C = I / (2 pi f V).
    assert resonant_capacitance(volts, milliamps / 1e3, hertz) * 1e9 == pytest.approx(nanofarads, rel=1e-12)


def test_resonant_capacitance_as_printed():
    # T. Fritz, "NSTva", note on an experiment, put on the web on 14 January 2003 (seen): 12 kV 30 mA 60 Hz, 6.63 nF.
    assert resonant_capacitance(12e3, 0.030, 60) == pytest.approx(6.63e-9, rel=1e-3)


def test_a_linear_supply_follows_the_divider():
    # Exact: behind a reactance X a capacitor of reactance Xc shows V Xc / (Xc - X); no iron, so nothing else can
    # happen.
    reactance, volts = 20e3, 5e3
    network = Network(
        50, sources=(Source("s", "a", EARTH, volts * 2**0.5 + 0j, 1.0, 0.0),),
        branches=(Branch("x", "a", "out", 0.0, reactance / OMEGA),), output=("out", EARTH),
    )  # fmt: skip
    for c in (5e-9, 20e-9, 60e-9):
        state = solve_network(network.with_capacitor(c))
        xc = 1 / (OMEGA * c)
        wanted = volts * abs(xc / (xc - reactance))
        assert rms(state.voltage("out")) == pytest.approx(wanted, rel=1e-4)


def test_the_scan_finds_the_third_harmonic_peak_far_below_mains_resonance():
    network = build(pair(), PARTS, MAINS)
    opened = operating(solve_network(network), None)
    short = operating(solve_network(network.with_load(0.0)), 0.0)
    resonant = resonant_capacitance(opened.voltage, short.current, 50)
    heard: list[float] = []
    points = scan(network, resonant, 50e-9, lambda f, _: heard.append(f))
    peaks = [p.peak or 0.0 for p in points]
    top = points[int(np.argmax(peaks))]
    assert top.capacitance < 0.25 * resonant
    assert max(peaks) > 1.8 * opened.voltage_peak
    assert any(p.capacitance == 50e-9 for p in points)
    assert heard == sorted(heard) and heard[-1] <= 1.0
    # The fundamental alone sees nothing of it: its peak at that capacitance stays near the open one.
    phasor = solve_network(network.with_capacitor(top.capacitance), highest=1, limit=1)
    assert phasor.peak(phasor.voltage("hot_a", "hot_b")) < 1.2 * opened.voltage_peak


def test_several_states_are_kept_and_the_highest_comes_first():
    network = build(pair(), PARTS, MAINS)
    got, states = at(network, 50e-9)
    assert list(got.peaks) == sorted(got.peaks, reverse=True)
    assert len(states) == len(got.peaks) >= 1
    assert got.peak == pytest.approx(states[0].peak(states[0].voltage("hot_a", "hot_b")))
