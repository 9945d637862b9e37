"""Peaks that a coarse search would miss: the worst switch-on, a sharp resonance, harmonics, the ends' own highest."""

from __future__ import annotations

from itertools import pairwise
from math import exp, pi, sqrt

import numpy as np
import pytest
from samples import MAINS, OMEGA, PARTS, pair

from coilwright.magnetics.iron import Iron
from coilwright.supply.build import build
from coilwright.supply.gap_missing import resonant_capacitance, scan
from coilwright.supply.network import EARTH, Branch, Network, Port, Source
from coilwright.supply.operating import operating
from coilwright.supply.steady import all_states, rms, solve_network
from coilwright.supply.switching import worst_first_peak


def coil(resistance: float, reactance: float, volts_peak: float = 325.0) -> Network:
    return Network(
        50, sources=(Source("s", "a", EARTH, complex(volts_peak), resistance, 0.0),),
        branches=(Branch("l", "a", EARTH, 0.0, reactance / OMEGA),),
    )  # fmt: skip


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3])
def test_the_worst_switch_on_of_a_linear_coil_is_at_the_zero_crossing(share):
    # IEC 60909-0:2016, 8.1, from memory: the peak factor of a short circuit at the worst instant is
    # kappa = 1.02 + 0.98 exp(-3 R/X), a fit to the closed form i = V/Z (sin(wt + a - phi) - sin(a - phi) exp(-t R/L))
    # at a = 0 (A. Greenwood, Electrical Transients in Power Systems, 2nd ed. (1991), chapter 3, from memory), which is
    # evaluated beside it. Switched on at the crest the factor is near 1.
    reactance, volts = 10.0, 325.0
    resistance = share * reactance
    got = worst_first_peak(coil(resistance, reactance)) * abs(complex(resistance, reactance)) / volts
    phi, turn = np.arctan2(reactance, resistance), np.linspace(0, 2 * pi, 20001)
    closed = float((np.sin(turn - phi) + np.sin(phi) * np.exp(-turn * share)).max())
    assert got == pytest.approx(closed, rel=2e-3)
    assert got == pytest.approx(1.02 + 0.98 * exp(-3 * share), rel=0.01)


def test_the_worst_switch_on_without_resistance_is_flux_doubling():
    # Exact: V/(w L) (1 - cos wt) reaches twice the steady peak.
    assert worst_first_peak(coil(1e-9, 10.0)) == pytest.approx(2 * 325.0 / 10.0, rel=1e-3)


@pytest.mark.parametrize("shift", [1.0, 0.955, 1.05, 1.1, 0.9])
def test_the_scan_finds_a_sharp_linear_resonance_between_its_points(shift):
    # Exact: behind R + jX the capacitor shows most where Xc = (R^2 + X^2) / X, and there V sqrt(1 + Q^2), Q = X / R
    # (any text on alternating currents). ``shift`` lays the resonance elsewhere between the points of the first grid,
    # which alone finds as little as two thirds of it: they stand 22 % apart, the half-power points 10 %.
    reactance, quality, volts = 20e3, 10.0, 5e3
    resistance = reactance / quality
    network = Network(
        50, sources=(Source("s", "a", EARTH, complex(volts * sqrt(2)), resistance, 0.0),),
        branches=(Branch("x", "a", "out", 0.0, reactance / OMEGA),), output=("out", EARTH),
        ports=(Port("idle", "a", EARTH, Iron(1e9, 1e6, 1e-9, 5)),),  # the search wants iron: this one carries nothing
    )  # fmt: skip
    impedance = abs(complex(resistance, reactance))
    points = scan(network, shift * resonant_capacitance(volts, volts / impedance, 50))
    highest = max(points, key=lambda p: p.peak or 0.0)
    assert highest.peak == pytest.approx(volts * sqrt(2) * sqrt(1 + quality**2), rel=0.05)
    assert highest.capacitance == pytest.approx(reactance / impedance**2 / OMEGA, rel=0.06)


@pytest.fixture(scope="module")
def supply() -> Network:
    return build(pair(), PARTS, MAINS)


def resonant(network: Network) -> float:
    opened = operating(solve_network(network), None)
    return resonant_capacitance(opened.voltage, operating(solve_network(network.with_load(0.0)), 0.0).current, 50)


def saturating() -> Network:
    """Return a source behind a reactance with saturating iron across its output: two states over a range of tanks."""
    return Network(
        50, sources=(Source("s", "a", EARTH, 300 + 0j, 10.0, 0.0),),
        branches=(Branch("x", "a", "out", 0.0, 200 / OMEGA),),
        ports=(Port("p", "out", EARTH, Iron(20.0, 1.4, 0.3, 9)),), output=("out", EARTH),
    )  # fmt: skip


@pytest.mark.slow
def test_an_end_of_the_scan_carries_its_highest_over_the_states():
    network, own = saturating(), 2.5e-6
    point = next(p for p in scan(network, 1 / OMEGA / 200, own) if p.capacitance == own)
    each = [s.peak(s.potential("out")) for s in all_states(network.with_capacitor(own), starts=60)]
    assert len(point.peaks) >= 2 and max(each) > 3 * min(each)
    assert point.ends["out"] == pytest.approx(max(each), rel=1e-3)
    assert point.peak == point.peaks[0] == pytest.approx(max(each), rel=1e-3)
    assert list(point.peaks) == sorted(point.peaks, reverse=True)


@pytest.mark.slow
def test_the_scan_is_closer_beside_its_highest_point(supply):
    points = scan(supply, resonant(supply))
    assert all(a.capacitance < b.capacitance for a, b in pairwise(points))
    k = int(np.argmax([p.peak or 0.0 for p in points]))
    widest = max(b.capacitance / a.capacitance for a, b in pairwise(points))
    beside = [b.capacitance / a.capacitance for a, b in pairwise(points[max(k - 1, 0) : k + 2])]
    assert max(beside) < sqrt(widest) * 1.001


@pytest.mark.parametrize(
    "case",
    ["open", "loaded", "short", "tank below resonance", "tank near resonance"],
)
def test_harmonics_left_out_by_default_do_not_matter(supply, case):
    # The same networks with every harmonic up to the 61st forced: what the default leaves out is below 1e-4.
    network = {
        "open": supply,
        "loaded": supply.with_load(8e3),
        "short": supply.with_load(0.0),
        "tank below resonance": supply.with_capacitor(50e-9),
        "tank near resonance": supply.with_capacitor(400e-9),
    }[case]
    usual, forced = solve_network(network), solve_network(network, highest=61, limit=61)
    assert usual.harmonics[-1] < 61
    assert rms(usual.current("mains.line")) == pytest.approx(rms(forced.current("mains.line")), rel=1e-4)
    if case != "short":
        a, b = (s.voltage("hot_a", "hot_b") for s in (usual, forced))
        assert rms(a) == pytest.approx(rms(b), rel=1e-4)
        assert usual.peak(a) == pytest.approx(forced.peak(b), rel=1e-4)
