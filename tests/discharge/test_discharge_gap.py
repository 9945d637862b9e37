"""The doors of the gap laws: volts of a spacing, spacing of volts, segments, hot and fast gaps, and impossible asks."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.discharge.air import STANDARD_AIR, Air
from coilwright.discharge.gap import (
    FORMS,
    breakdown_peak,
    high_frequency_factor,
    hot_peak,
    series_peak,
    series_spacing_for,
    sharing,
    spacing_for,
)
from coilwright.discharge.uniform import uniform_breakdown
from coilwright.errors import ModelRangeError

forms = st.sampled_from(FORMS)
spacings = st.floats(1e-4, 0.05)
diameters = st.floats(3e-3, 0.1)
few = settings(max_examples=25, deadline=None)


@few
@given(form=forms, diameter=diameters, spacing=spacings, wider=st.floats(1.05, 3.0))
def test_volts_grow_with_the_spacing(form, diameter, spacing, wider):
    near, far = breakdown_peak(form, diameter, spacing), breakdown_peak(form, diameter, spacing * wider)
    assert far.peak > near.peak or far.peak == near.peak == 327.0  # the least at which air fires at all
    assert near.low < near.peak < near.high or near.peak < 400


@few
@given(form=forms, diameter=diameters, peak=st.floats(1e3, 60e3), density=st.floats(0.6, 1.2))
def test_spacing_is_the_inverse_of_volts(form, diameter, peak, density):
    air = Air(density)
    found = spacing_for(form, diameter, peak, air)
    assert breakdown_peak(form, diameter, found.spacing, air).peak == pytest.approx(peak, rel=2e-3)
    assert found.low < found.spacing < found.high


@few
@given(form=forms, diameter=diameters, peak=st.floats(1e3, 40e3), more=st.floats(1.05, 2.0))
def test_spacing_grows_with_the_volts_and_with_thin_air(form, diameter, peak, more):
    here = spacing_for(form, diameter, peak).spacing
    assert spacing_for(form, diameter, peak * more).spacing > here
    assert spacing_for(form, diameter, peak, Air(0.8)).spacing > here


@few
@given(form=st.sampled_from(("sphere", "tube", "rod")), diameter=diameters, density=st.floats(0.5, 1.0))
def test_similarity_law_of_the_air_density(form, diameter, density):
    # Paschen's law in its general form (J. S. Townsend): pressure times every length fixes the breakdown voltage.
    # Moisture in proportion keeps the humidity factor out; a gap of a fifth of the diameter keeps the floor out.
    thin = Air(density, STANDARD_AIR.humidity * density)
    spacing = diameter / 5
    ours = breakdown_peak(form, diameter / density, spacing / density, thin).peak
    assert ours == pytest.approx(breakdown_peak(form, diameter, spacing).peak, rel=1e-6)


def test_plates_follow_the_uniform_law_at_any_density():
    # F. M. Bruce, J. IEE 94 (1947) 138, as in Kuffel, Zaengl, Kuffel, from memory: 27.566 kV at 1 cm and delta 0.9
    air = Air(0.9, 8.5e-3 * 0.9)
    assert breakdown_peak("plate", None, 0.01, air).peak == pytest.approx(27565.9944521471, rel=1e-9)
    assert breakdown_peak("plate", None, 0.01).peak == pytest.approx(uniform_breakdown(0.01), rel=1e-12)


def test_humidity_raises_the_volts_as_the_standard_says():
    # IEC 60052:2002 clause 5, from memory: + 0.2 % per g/m3
    dry, wet = (breakdown_peak("sphere", 0.05, 0.01, Air(1.0, h)).peak for h in (8.5e-3, 18.5e-3))
    assert wet / dry == pytest.approx(1.02)


def test_no_form_fires_below_the_least_of_air():
    for form in FORMS:
        assert breakdown_peak(form, 0.008, 3e-5).low >= 300  # measured minimum 327 V, J. D. Cobine; public page, seen


def test_band_of_the_sphere_covers_the_standards_own_accuracy():
    # IEC 60052: 3 % to half a diameter (seen on a public page); the band must not be narrower than that
    one = breakdown_peak("sphere", 0.05, 0.01)
    assert one.low <= 0.97 * one.peak and one.high >= 1.03 * one.peak
    wide = breakdown_peak("sphere", 0.01, 0.02)
    assert (wide.high - wide.low) / wide.peak > (one.high - one.low) / one.peak
    assert any("2.0 diameters" in words for words in wide.limits)


# ---- segments --------------------------------------------------------------------------------------------------------


def test_sharing_of_two_gaps_by_hand():
    # one electrode between: live 1, other 0, stray k: level = 1 / (2 + k)
    assert sharing(2, 0.5) == pytest.approx([0.6, 0.4])
    assert sharing(2, 0.5, earthed=False) == pytest.approx([0.5, 0.5])


@pytest.mark.parametrize("ratio", [0.03, 0.1, 0.4])
def test_sharing_is_that_of_the_insulator_string(ratio):
    # string of suspension insulators, capacitance to earth m times that of one: V(x) = sinh(a x) / sinh(a n) with
    # 2 cosh a = 2 + m (exact ladder); textbook of transmission practice, e.g. W. D. Stevenson, from memory
    from math import acosh, sinh

    a, n = acosh(1 + ratio / 2), 7
    expected = [(sinh(a * k) - sinh(a * (k - 1))) / sinh(a * n) for k in range(n, 0, -1)]
    assert sharing(n, ratio) == pytest.approx(expected, rel=1e-12)


@given(n=st.integers(1, 12), ratio=st.floats(0, 2), earthed=st.booleans())
def test_shares_add_up_and_equal_sharing_is_the_best(n, ratio, earthed):
    shares = sharing(n, ratio, earthed=earthed)
    assert shares.sum() == pytest.approx(1.0)
    assert shares.max() >= 1 / n - 1e-12
    if n > 1:  # once the worst has fired the others take all of it: each of them then has more than before
        assert sharing(n - 1, ratio, earthed=earthed).max() >= shares.max() - 1e-12


def test_row_of_gaps_lies_between_one_gap_and_the_sum():
    one = breakdown_peak("tube", 0.016, 7e-4)
    for n in (2, 4, 7):
        row = series_peak(one, n)
        assert one.peak < row.peak < n * one.peak
        assert row.high == pytest.approx(n * one.high) and one.low < row.low < row.peak
    assert series_peak(one, 1) is one


def test_row_for_a_voltage_is_the_inverse():
    found = series_spacing_for("tube", 0.016, 12e3, 6)
    assert series_peak(breakdown_peak("tube", 0.016, found.spacing), 6).peak == pytest.approx(12e3, rel=1e-3)
    assert found.low < found.spacing < found.high


# ---- hot, and fast ---------------------------------------------------------------------------------------------------


def test_hot_gap_fires_well_below_the_cold_figure():
    # Paschen's law at 600 K against 293 K: the density falls to 0.489, so 1 mm of plates fires as 0.489 mm (Bruce):
    # 2528 V of 4345; common practice: hot gaps re-fire well below the tables
    middle, low, high = hot_peak("plate", None, 1e-3)
    assert middle == pytest.approx(uniform_breakdown(1e-3 * 293.15 / 600), rel=0.03)
    assert high == breakdown_peak("plate", None, 1e-3).peak
    assert low < 0.5 * high


# F. W. Peek, Dielectric Phenomena, quoted in a public posting of 1995, seen: cm, ratio of 40 kHz to 60 Hz; 5 %.
@pytest.mark.parametrize(("cm", "ratio"), [(0.1, 3.65 / 4.95), (1.0, 28.0 / 31.8)])
def test_fast_ring_lowers_the_volts(cm, ratio):
    middle, low, high = high_frequency_factor(cm / 100)
    assert middle == pytest.approx(ratio, rel=1e-2)
    assert low < middle < high <= 1
    assert 0.7 <= high_frequency_factor(0.004)[0] <= 0.9  # 10 to 25 % and more between, nothing beyond 1


# ---- refused in words ------------------------------------------------------------------------------------------------


def test_what_cannot_be_is_answered_in_words():
    with pytest.raises(ValueError, match="short circuit, not a gap"):
        breakdown_peak("sphere", 0.01, 0.0)
    with pytest.raises(ValueError, match="number above 0"):
        breakdown_peak("sphere", 0.01, -1e-3)
    with pytest.raises(ValueError, match='form "ball" is not known'):
        breakdown_peak("ball", 0.01, 1e-3)
    with pytest.raises(ValueError, match="needs the diameter"):
        breakdown_peak("rod", None, 1e-3)
    with pytest.raises(ModelRangeError, match=r"below 7\.5 um"):
        breakdown_peak("plate", None, 5e-6)
    with pytest.raises(ModelRangeError, match="below 327 V at any spacing"):
        spacing_for("sphere", 0.01, 200.0)
    with pytest.raises(ModelRangeError, match=r"more than the 2\.5 m"):
        spacing_for("point", None, 5e6)
    with pytest.raises(ValueError, match="segments must be 1 or more"):
        sharing(0, 0.1)
