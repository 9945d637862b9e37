"""The computed sphere gap against the exact field of two spheres and against two sphere-gap tables.

Nothing in the model comes from these tables: it is calibrated on a law of uniform fields.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from coilwright.discharge.air import Air
from coilwright.discharge.gap import breakdown_peak
from coilwright.discharge.spheres import sphere_field, sphere_lines
from coilwright.discharge.uniform import uniform_breakdown, upper_uniform_breakdown

# Two equal spheres, exact image series of Maxwell, Treatise ch. XI, computed apart from this project: gap / diameter,
# Emax gap / V for +V/2 and -V/2, for V and 0 at the live sphere and at the other.
FIELD = [
    (0.02, 1.01336902751548, 1.01336902936248, 1.01336902566847),
    (0.1, 1.06757486675644, 1.06826906553552, 1.06688066797736),
    (0.3, 1.20871956903834, 1.25383413673952, 1.16360500133715),
    (0.5, 1.35899632802153, 1.51698007701254, 1.20101257903053),
    (1.0, 1.77028119465827, 2.33844176560288, 1.20212062371366),
    (2.0, 2.67770528732466, 4.20092312874400, 1.15448744590532),
]
# IEC 60052:2002 Table 2, kV peak, one sphere earthed, 20 degC, 101.3 kPa, from memory; the values 17.4, 32.0, 57.5 and
# 123 were also seen on a public page. Spacing cm: {diameter cm: kV}, from 0.05 to 0.5 diameters.
TABLE: dict[float, dict[float, float]] = {
    0.1: {2: 4.7},
    0.2: {2: 8.0},
    0.3: {2: 11.2, 5: 11.2},
    0.4: {2: 14.4, 5: 14.3, 6.25: 14.2},
    0.5: {2: 17.4, 5: 17.4, 6.25: 17.2, 10: 16.8},
    0.6: {2: 20.4, 5: 20.4, 6.25: 20.2, 10: 19.9},
    0.8: {2: 25.8, 5: 26.3, 6.25: 26.2, 10: 26.0, 12.5: 26.0, 15: 26.0},
    1.0: {2: 30.7, 5: 32.0, 6.25: 31.9, 10: 31.7, 12.5: 31.7, 15: 31.7},
    1.4: {5: 42.9, 6.25: 42.9, 10: 42.9, 12.5: 42.9, 15: 42.9, 25: 42.9},
    1.6: {5: 48.1, 6.25: 48.1, 10: 48.1, 12.5: 48.1, 15: 48.1, 25: 48.1},
    2.0: {5: 57.5, 6.25: 58.5, 10: 59.0, 12.5: 59.0, 15: 59.0, 25: 59.0},
    2.4: {5: 65.5, 6.25: 67.5, 10: 69.5, 12.5: 70.0, 15: 70.0, 25: 70.0},
    3.0: {6.25: 79.5, 10: 84.0, 12.5: 85.0, 15: 85.5, 25: 86.0},
    4.0: {10: 105, 12.5: 108, 15: 110, 25: 112},
    5.0: {10: 123, 12.5: 129, 15: 133, 25: 137},
}
# The same table's bracketed values, 0.5 to 1 diameter, "about 5 %".
BRACKETS = [
    (1.2, 2, 35.1),
    (1.4, 2, 38.5),
    (1.5, 2, 40.0),
    (2.6, 5, 69.0),
    (3.0, 5, 75.5),
    (3.5, 5, 82.5),
    (4.0, 5, 88.5),
    (3.5, 6.25, 87.5),
    (4.0, 6.25, 95.0),
    (4.5, 6.25, 101.0),
    (5.0, 6.25, 107.0),
]
# Seen on a public page as values of the standard: J. Lux, sphere gap breakdown tables (web page without year).
SEEN = [(0.5, 5, 17.4), (1.0, 5, 32.0), (2.0, 5, 57.5), (5.0, 10, 123.0)]
# American Institute of Electrical Engineers, about 1914 to 1925, in a seen reprint: spark-over at 25 degC, 760 mmHg, kV
# peak, spacing cm by sphere diameter cm; rows in which the spacing lies between 0.05 and 1 diameter.
AIEE = [
    (15, {2.5: 0.42, 5: 0.44}),
    (20, {2.5: 0.58, 5: 0.60, 10: 0.62}),
    (25, {5: 0.77, 10: 0.78}),
    (30, {2.5: 0.95, 5: 0.94, 10: 0.95}),
    (40, {2.5: 1.41, 5: 1.30, 10: 1.29, 25: 1.32}),
    (50, {2.5: 2.0, 5: 1.71, 10: 1.65, 25: 1.66}),
    (60, {5: 2.17, 10: 2.02, 25: 2.01}),
    (70, {5: 2.68, 10: 2.42, 25: 2.37}),
    (80, {5: 3.26, 10: 2.84, 25: 2.74}),
    (90, {5: 3.94, 10: 3.28, 25: 3.11}),
    (100, {5: 4.77, 10: 3.75, 25: 3.49}),
    (120, {10: 4.78, 25: 4.28}),
]


def kilovolts(spacing_cm: float, diameter_cm: float, air: Air | None = None) -> float:
    return breakdown_peak("sphere", diameter_cm / 100, spacing_cm / 100, air or Air()).peak / 1e3


@pytest.mark.parametrize(("ratio", "symmetric", "live", "other"), FIELD)
def test_field_of_two_spheres(ratio, symmetric, live, other):
    gap = 2 * ratio
    ends = np.array([0.0, gap])
    assert sphere_field(gap, 2.0, ends, 0.5, -0.5) * gap == pytest.approx([symmetric, symmetric], rel=1e-10)
    assert sphere_field(gap, 2.0, ends, 1.0, 0.0) * gap == pytest.approx([live, other], rel=1e-10)


@pytest.mark.parametrize("ratio", [0.002, 0.05, 0.5, 2.0])
@pytest.mark.parametrize("earthed", [True, False])
def test_field_adds_up_to_the_voltage(ratio, earthed):
    ((place, field),) = sphere_lines(0.01 * ratio, 0.01, earthed=earthed)
    assert np.trapezoid(field, place) == pytest.approx(1.0, rel=2e-3)  # the grid's own error at two diameters


@pytest.mark.parametrize(
    ("spacing", "diameter", "kv"), [(s, d, kv) for s, row in TABLE.items() for d, kv in row.items()]
)
def test_within_three_per_cent_of_the_standard(spacing, diameter, kv):
    assert kilovolts(spacing, diameter) == pytest.approx(kv, rel=0.03)


@pytest.mark.parametrize(("spacing", "diameter", "kv"), BRACKETS)
def test_within_five_per_cent_beyond_half_a_diameter(spacing, diameter, kv):
    assert kilovolts(spacing, diameter) == pytest.approx(kv, rel=0.05)


@pytest.mark.parametrize(("spacing", "diameter", "kv"), SEEN)
def test_within_three_per_cent_of_the_values_seen(spacing, diameter, kv):
    assert kilovolts(spacing, diameter) == pytest.approx(kv, rel=0.03)


@pytest.mark.parametrize(("kv", "spacing", "diameter"), [(kv, s, d) for kv, row in AIEE for d, s in row.items()])
def test_agrees_with_the_american_table(kv, spacing, diameter):
    # 3 % of the table and 3 % of the model to half a diameter, 5 % beyond, added as independent; 25 degC. The low
    # end of the table (15 and 20 kV) departs from the standard by 2 % more by itself.
    air = Air(293.15 / 298.15)
    model = 0.03 if spacing <= diameter / 2 else 0.05
    own = 0.03 if kv > 20 else 0.05
    assert kilovolts(spacing, diameter, air) == pytest.approx(kv, rel=(model**2 + own**2) ** 0.5)


def test_large_spheres_tend_to_the_uniform_law():
    # no electrode can hold more than a uniform field of the same spacing, and large spheres come near to it
    for spacing in (1.0, 2.0):
        law = upper_uniform_breakdown(spacing / 100) / 1e3
        assert 0.99 * law < kilovolts(spacing, 100.0) <= 1.0005 * law
        assert kilovolts(spacing, 100.0) == pytest.approx(uniform_breakdown(spacing / 100) / 1e3, rel=0.05)


@pytest.mark.parametrize(("density", "factor"), [(0.70, 0.72), (0.80, 0.82), (0.90, 0.91), (1.05, 1.05), (1.10, 1.09)])
def test_air_density_as_the_older_standard_has_it(density, factor):
    # kd of IEC 52:1960, from memory, one table for every sphere; printed to two digits. Similarity, not this table, is
    # in the model. Humidity kept at 8.5 g/m3 over density, so that it does not enter.
    air = Air(density, 8.5e-3 * density)
    for spacing, diameter in ((1.0, 5.0), (2.0, 10.0), (5.0, 12.5)):
        assert kilovolts(spacing, diameter, air) / kilovolts(spacing, diameter) == pytest.approx(factor, abs=0.012)


def test_peek_onset_on_spheres():
    # F. W. Peek, Dielectric Phenomena (3rd ed. 1929) ch. IV: 27.2 (1 + 0.54 / sqrt(r)) kV/cm at the surface of spheres,
    # r in cm, from memory; for gaps in the middle of the usual range. Physics 5 %.
    for diameter in (5.0, 10.0, 25.0):
        spacing = 0.2 * diameter
        onset = 27.2 * (1 + 0.54 / (diameter / 2) ** 0.5)
        volts = breakdown_peak("sphere", diameter / 100, spacing / 100, earthed=False).peak
        ((_, field),) = sphere_lines(spacing / 100, diameter / 100, earthed=False)
        assert volts * field.max() / 1e5 == pytest.approx(onset, rel=0.05)


def test_bruce_instead_would_have_been_too_low():
    # the one choice in the model: with the lower of the two uniform laws 1 cm of 25 cm spheres falls short of 31.7 kV
    assert uniform_breakdown(0.01) / 1e3 < 0.97 * 31.7
    assert upper_uniform_breakdown(0.01) / 1e3 == pytest.approx(31.7, rel=0.015)


def test_spacing_for_a_voltage_is_read_off_the_same_table():
    # 26.3 kV at 0.8 cm of 5 cm spheres: the spacing within 3 % in volts is within about 4 % in length
    spacing = brentq(lambda s: kilovolts(s, 5) - 26.3, 0.1, 2.0)
    assert spacing == pytest.approx(0.8, rel=0.04)
