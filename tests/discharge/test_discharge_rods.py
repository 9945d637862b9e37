"""Rods, tubes, wires and points against the tables and laws that others measured."""

from __future__ import annotations

from itertools import pairwise
from math import log, sqrt

import numpy as np
import pytest

from coilwright.discharge.air import Air
from coilwright.discharge.gap import breakdown_peak
from coilwright.discharge.rods import NEEDLE_GAP, ROUND_END, needle_breakdown, rod_lines, tube_field, tube_lines
from coilwright.discharge.spheres import sphere_lines
from coilwright.discharge.uniform import inception, upper_uniform_breakdown
from coilwright.errors import ModelRangeError

# 12.7 mm square rods, 50/60 Hz, kV peak, 27 degC, 760 mmHg, 15.5 mmHg of vapour: AIEE/NEMA table as reprinted in Kuffel
# and Zaengl, High Voltage Engineering (1984), from memory; 8 % scatter. cm, kV.
RODS = [(2, 26), (4, 47), (6, 62), (8, 72), (10, 81), (15, 102), (20, 124), (25, 147), (30, 172), (50, 278), (100, 537)]
# F. W. Peek, Dielectric Phenomena in High-Voltage Engineering (3rd ed. 1929) ch. IV, seen on public pages: visual
# corona between parallel wires, g = 30 (1 + 0.301 / sqrt(r)) kV/cm peak at the surface, e = g r ln(S/r) to neutral;
# S/r > 15. Diameter cm, with kV to neutral for S = 10 cm computed apart from this project.
PEEK = [
    (0.02, 8.31002960061551),
    (0.05, 13.0480219421192),
    (0.1, 18.6456762613881),
    (0.2, 26.9659431587468),
    (0.5, 44.3218866411789),
    (1.0, 64.0642566287121),
]
# Direct voltage, rod to rod: U = 2 + 0.534 d kV, d in mm, 250 to 2500 mm: IEC 60052:2002 clause 6, from memory.
LONG = [(0.25, 135.5), (0.5, 269.0), (1.0, 536.0), (2.0, 1070.0)]


@pytest.mark.parametrize(("cm", "kv"), RODS)
def test_within_fifteen_per_cent_of_the_rod_gap_table(cm, kv):
    # 15 %: 8 % of the table and the rounding of the ends, which the table does not state
    air = Air(293.15 / 300.15, 14.9e-3)
    assert breakdown_peak("rod", 12.7e-3, cm / 100, air).peak / 1e3 == pytest.approx(kv, rel=0.15)


@pytest.mark.parametrize(("metres", "kv"), LONG)
def test_long_rods_follow_the_standards_straight_line(metres, kv):
    assert needle_breakdown(metres) / 1e3 == pytest.approx(kv, rel=1e-9)


def test_needle_curve_is_a_floor_for_every_form():
    for volts, spacing in NEEDLE_GAP[1:]:
        at_25 = Air(293.15 / 298.15)
        for form in ("rod", "tube", "sphere"):
            assert breakdown_peak(form, 3e-3, spacing, at_25).peak >= volts * (1 - 1e-12)
        assert breakdown_peak("point", None, spacing, at_25).peak == pytest.approx(volts)


@pytest.mark.parametrize(("diameter", "onset"), PEEK)
def test_peek_onset_between_parallel_wires(diameter, onset):
    # the criterion, calibrated on uniform fields only, against corona on wires: 5 % of Peek's smooth wires
    spacing = (10 - diameter) / 100
    assert inception(tube_lines(spacing, diameter / 100)) / 2e3 == pytest.approx(onset, rel=0.05)


def test_exact_field_of_two_cylinders():
    # E = (V / 2) / (r ln(S/r)) at a thin wire far from the other, the textbook limit; and it adds up to 1 V
    spacing, diameter = 1.0, 1e-3
    surface = tube_field(spacing, diameter, np.array([0.0]))[0]
    assert surface == pytest.approx(0.5 / (5e-4 * log(1.001 / 5e-4)), rel=2e-3)
    for ratio in (0.01, 0.5, 3.0):
        place = np.linspace(0, 0.01 * ratio, 4001)
        assert np.trapezoid(tube_field(0.01 * ratio, 0.01, place), place) == pytest.approx(1.0, rel=1e-5)


def test_field_of_thick_cylinders_by_hand():
    # a = 1, centres 4 apart (gap 2): b = sqrt(4 - 1), V = 2 acosh 2 per unit; surface 2 b / ((b - 1)(b + 1)) over it
    b = sqrt(3.0)
    expected = 2 * b / ((b - 1) * (b + 1)) / (2 * np.arccosh(2.0))
    assert tube_field(2.0, 2.0, np.array([0.0, 2.0])) == pytest.approx([expected, expected], rel=1e-12)


@pytest.mark.parametrize("ratio", [0.01, 0.05, 0.2, 0.5])
def test_round_rod_ends_act_as_spheres_while_they_are_near(ratio):
    # the shank behind a hemisphere is far from the gap: the exact sphere pair is the limit; what is left at short gaps
    # is the charge simulation's own error
    ((_, rod),) = rod_lines(0.01 * ratio, 0.01, edge=ROUND_END, earthed=False)
    ((_, ball),) = sphere_lines(0.01 * ratio, 0.01, earthed=False)
    assert rod.max() == pytest.approx(ball.max(), rel=0.006)


@pytest.mark.parametrize("ratio", [1.0, 2.0, 4.0])
def test_shank_lowers_the_field_at_a_round_end(ratio):
    ((place, rod),) = rod_lines(0.01 * ratio, 0.01, edge=ROUND_END, earthed=False)
    ((_, ball),) = sphere_lines(0.01 * ratio, 0.01, earthed=False)
    assert rod.max() < ball.max()
    assert np.trapezoid(rod, place) == pytest.approx(1.0, rel=3e-3)


def test_sawn_end_is_uniform_in_the_middle_and_stronger_at_its_edge():
    rim, edge = rod_lines(0.002, 0.008, edge=0.02)
    assert rim[1].max() > 1.0 / 0.002 and edge[1].max() > rim[1].max()
    # the sharper the edge, the lower the volts; never above a uniform field
    volts = [inception(rod_lines(0.002, 0.008, edge=e)) for e in (0.02, 0.05, 0.1, 0.25)]
    assert all(a < b for a, b in pairwise(volts))
    assert volts[-1] <= upper_uniform_breakdown(0.002)


def test_edge_field_follows_the_corner_law():
    # near a right-angled corner of conducting sheet the field goes as distance^(-1/3) (J. D. Jackson, Classical
    # Electrodynamics, sect. 2.11), so the peak at a rounded edge grows as radius^(-1/3): 0.02 against 0.04 gives 1.26
    sharp, blunt = (rod_lines(0.008, 0.008, edge=e, earthed=False)[1][1].max() for e in (0.02, 0.04))
    assert sharp / blunt == pytest.approx(2 ** (1 / 3), rel=0.07)


def test_what_cannot_be_is_refused_in_words():
    with pytest.raises(ValueError, match="rounding of a rod's end"):
        rod_lines(0.001, 0.008, edge=0.7)
    with pytest.raises(ValueError, match="must be positive"):
        rod_lines(0.0, 0.008)
    with pytest.raises(ValueError, match="must be positive"):
        tube_lines(0.001, 0.0)
    with pytest.raises(ModelRangeError, match=r"outside 0 to 2\.5 m"):
        needle_breakdown(3.0)
