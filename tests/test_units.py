"""Unit strings against outside tables: NIST SP 811, ASTM B258, and the pint library."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright._dimensions import DIMENSIONS, awg_diameter, dimension
from coilwright.units import (
    UnitError,
    parse,
    parse_accuracy,
    parse_breaker,
    parse_rated,
    parse_with_tolerance,
    show,
    show_band,
)

PINT = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)

#: what pint calls the units that it spells otherwise, or gives another meaning
PINT_NAMES = {
    "in": "inch", "mil": "thou", "mm2": "mm**2", "cm2": "cm**2", "m2": "m**2", "in2": "inch**2", "%": "percent",
    "rev/s": "turn/second", "VA": "V*A", "mVA": "mV*A", "kVA": "kV*A", "MVA": "MV*A", "": "dimensionless",
    "rpm": "turn/minute", "min": "minute", "h": "hour", "t": "metric_ton", "inHg": "inch_Hg_32F",
}  # fmt: skip


@pytest.mark.parametrize(
    "name", [n for n in DIMENSIONS if n not in {"reactive power", "speed", "number", "temperature"}]
)
def test_every_factor_agrees_with_the_general_library(name: str) -> None:
    # pint (H. Grecco and others), its own table of units; the kinds left out are in the test below
    dim = DIMENSIONS[name]
    for unit in dim.units:
        if unit in {"awg", "inHg"} or unit.endswith("var"):
            continue
        theirs = PINT.Quantity(3.7, "delta_degC" if unit == "degC" else PINT_NAMES.get(unit, unit)).to_base_units()
        si = "dimensionless" if name == "ratio" else PINT_NAMES.get(dim.si.strip(), dim.si.strip())
        target = PINT.Quantity(1.0, si).to_base_units()
        assert parse(f"3.7 {unit}", name) == pytest.approx(theirs.magnitude / target.magnitude, rel=1e-6), unit


@pytest.mark.parametrize(
    ("text", "name", "si"),
    [
        # NIST SP 811 (2008), appendix B.8: inch 2.54 E-02 m (exact), foot 3.048 E-01 m, pound 4.535 924 E-01 kg,
        # ounce 2.834 952 E-02 kg, mil 2.54 E-05 m, mmHg 1.333 224 E+02 Pa, inHg 3.386 389 E+03 Pa (both conventional),
        # rpm 1.047 198 E-01 rad/s, degree 1.745 329 E-02 rad, minute 6.0 E+01 s, hour 3.6 E+03 s
        ("1 in", "length", 2.54e-2),
        ("1 ft", "length", 3.048e-1),
        ("1 mil", "length", 2.54e-5),
        ("1 lb", "mass", 4.535924e-1),
        ("1 oz", "mass", 2.834952e-2),
        ("1 mmHg", "pressure", 1.333224e2),
        ("1 inHg", "pressure", 3.386389e3),
        ("1 mbar", "pressure", 100.0),
        ("1 deg", "angle", 1.745329e-2),
        ("2 min", "time", 120.0),
        ("1 h", "time", 3600.0),
        ("1 rpm", "speed", 1.047198e-1 / (2 * math.pi)),
        # appendix B.8: T/K = t/degC + 273.15, T/K = (t/degF + 459.67)/1.8; 64.4 degF is 18 degC
        ("18 degC", "temperature", 291.15),
        ("64.4 degF", "temperature", 291.15),
        ("-40 degF", "temperature", 233.15),
        ("-40 °C", "temperature", 233.15),
    ],
)
def test_conversions_are_those_of_nist(text: str, name: str, si: float) -> None:
    assert parse(text, name) == pytest.approx(si, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    # ASTM B258, definition: 36 gauge 0.0050 in, 0000 gauge 0.4600 in. Printed rows of handbook wire tables rounded to
    # 0.1 mil (common practice): 10 gauge 101.9 mil, 20 gauge 32.0 mil, 22 gauge 25.3 mil, 30 gauge 10.0 mil
    [("36 awg", 0.127), ("0000 awg", 11.684), ("4/0 AWG", 11.684), ("10 awg", 2.588), ("20awg", 0.813),
    ("22 awg", 0.643),
     ("30 AWG", 0.254)],
)  # fmt: skip
def test_wire_gauges_are_those_of_astm_b258(text: str, millimetres: float) -> None:
    assert parse(text, "wire diameter") == pytest.approx(millimetres * 1e-3, abs=1.5e-6)


def test_thirty_nine_equal_ratios_lie_between_the_two_defined_gauges() -> None:
    # ASTM B258: the ratio of the two defining diameters is 92, in 39 steps
    ratios = [awg_diameter(n) / awg_diameter(n + 1) for n in range(-3, 36)]
    assert len(ratios) == 39
    assert ratios == pytest.approx([92 ** (1 / 39)] * 39, rel=1e-12)
    assert parse("0 awg", "wire diameter") > parse("1 awg", "wire diameter") > parse("2 awg", "wire diameter")
    assert parse("00 awg", "wire diameter") == pytest.approx(parse("0 awg", "wire diameter") * 92 ** (1 / 39))


@pytest.mark.parametrize(
    ("text", "name", "si"),
    [
        ("4.7 nF", "capacitance", 4.7e-9), ("2.1 kV", "voltage", 2100.0), ("0.35 mm", "length", 0.35e-3),
        ("30 mA", "current", 0.03), ("12.5 cm", "length", 0.125), ("3 in", "length", 0.0762),
        ("3/8 in", "length", 0.009525), ("1 1/2 in", "length", 0.0381), ("1½ in", "length", 0.0381),
        ("¼ in", "length", 0.00635), ("990 hPa", "pressure", 99000.0), ("60 %", "ratio", 0.6),
        ("3000 rpm", "speed", 50.0), ("1.5 kohm", "resistance", 1500.0), ("1.5 kΩ", "resistance", 1500.0),
        ("1.5 k\u2126", "resistance", 1500.0), ("2 Gohm", "resistance", 2e9), ("40 µF", "capacitance", 40e-6),
        ("40 μF", "capacitance", 40e-6), ("40uF", "capacitance", 40e-6), ("800 VA", "power", 800.0),
        ("12 cm2", "area", 12e-4), ("12 cm²", "area", 12e-4), ("5.1 kg", "mass", 5.1), ("45 K",
        "temperature rise", 45.0),
        ("45 degC", "temperature rise", 45.0), ("50 V/us", "voltage slope", 50e6), ("1e3 V", "voltage", 1000.0),
        (".5 mm", "length", 0.5e-3), ("\u22125 mm", "length", -5e-3), ("2\u00a0kV", "voltage", 2000.0),
    ],
)  # fmt: skip
def test_accepted_spellings(text: str, name: str, si: float) -> None:
    # the SI prefixes: BIPM, The International System of Units (9th edition, 2019), table 7
    assert parse(text, name) == pytest.approx(si, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "name", "hint"),
    [
        ("60 ma", "current", '"60 mA"'), ("2 mv", "voltage", '"2 mV" or "2 MV"'), ("2 KV", "voltage", '"2 kV"'),
        ("50 hz", "frequency", '"50 Hz"'), ("3 w", "power", '"3 W"'), ("5 Mohms", "resistance", '"5 Mohm"'),
        ("18 C", "temperature", '"18 degC"'), ("5 mfd", "capacitance", '"5 uF"'), ("41.8k",
        "resistance", '"41.8 kohm"'),
        ("230", "voltage", '"230 V"'), ("2.5 lbs", "mass", '"2.5 lb"'), ("3000 RPM", "speed", '"3000 rpm"'),
        ("0,35 mm", "length", '"0.35 mm"'), ("2,100 V", "voltage", '"2100 V" or "2.100 V"'),
        ("5 A", "voltage", '"2.1 kV"'), ("22 awg", "length", '"12.5 cm"'), ("10 volts", "voltage", '"10 V"'),
    ],
)  # fmt: skip
def test_refusals_offer_what_was_meant(text: str, name: str, hint: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, name)
    assert hint in caught.value.hint
    assert text in caught.value.message


@pytest.mark.parametrize(
    "text",
    ["nan V", "inf V", "-inf V", "NaN", "1e400 V", "1e999 V", "", " ", "V", "1..5 V", "10³ V", "1_000 V", "0x10 V",
    "1 2 V",
     "1/0 V", "5 V V", "two V", "1e-30 V", "1e12 V", "9" * 5000 + " V", "5 \x00V", "2 kV ± 2 % ± 3 %", "2 kV ±",
     "2 kV ± 200 %",
     "2 kV ± 2", "2 kV ± -3 V", "2 kV ± 0 V", "± 3 V"],
)  # fmt: skip
def test_texts_that_are_no_voltage(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_with_tolerance(text, "voltage")
    assert caught.value.message
    assert caught.value.hint
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize("found", [230, 2.5, True, None, [], {}, 10**30])
def test_what_is_no_text_is_told_which_unit_is_due(found: object) -> None:
    with pytest.raises(UnitError, match="expected a voltage with its unit"):
        parse(found, "voltage")


def test_a_bare_number_is_never_answered_with_a_kilo() -> None:
    with pytest.raises(UnitError) as caught:
        parse(230, "voltage")
    assert caught.value.hint.endswith('"230 V".')


def test_signs() -> None:
    assert parse("-5 V", "voltage") == -5
    assert parse("0 V", "voltage", "zero") == 0
    for sign, text in (("zero", "-5 V"), ("positive", "0 V"), ("positive", "-5 V")):
        with pytest.raises(UnitError, match="expected a voltage"):
            parse(text, "voltage", sign)  # type: ignore[arg-type]
    with pytest.raises(UnitError, match="absolute zero"):
        parse("-300 degC", "temperature")


def test_uncertainties() -> None:
    assert parse_with_tolerance("2.08 kV ± 2 %", "voltage") == (2080.0, pytest.approx(41.6))
    assert parse_with_tolerance("2.08 kV +- 40 V", "voltage") == (2080.0, 40.0)
    assert parse_with_tolerance("2.08 kV +/- 0.04 kV", "voltage") == (2080.0, 40.0)
    # an uncertainty of a temperature is a difference: no 273.15
    assert parse_with_tolerance("18 degC ± 2 degC", "temperature") == (291.15, 2.0)
    assert parse_with_tolerance("60 % ± 5 %", "ratio") == (0.6, 0.05)
    with pytest.raises(UnitError, match="as large as the value"):
        parse_with_tolerance("2 V ± 3 V", "voltage", "positive")
    with pytest.raises(UnitError, match="without an uncertainty"):
        parse("2 V ± 3 %", "voltage")


def test_accuracies() -> None:
    assert parse_accuracy("1.5 %", "current") == (0.015, 0.0)
    assert parse_accuracy("1 % + 30 mV", "voltage") == (0.01, 0.03)
    assert parse_accuracy("± 1 % + 30 mV", "voltage") == (0.01, 0.03)
    assert parse_accuracy("30 mV", "voltage") == (0.0, 0.03)
    for text in ("1 % + 3 digits", "0 %", "150 %", "1 % + 2 mA", "1", "1 % + 1 V + 1 V", "-1 %"):
        with pytest.raises(UnitError):
            parse_accuracy(text, "voltage")


def test_rated_voltages_and_breakers() -> None:
    assert parse_rated("450 V AC") == (450.0, "AC")
    assert parse_rated("1 kV dc") == (1000.0, "DC")
    assert parse_rated("450 V") == (450.0, None)
    assert parse_breaker("B16") == (16.0, "B")
    assert parse_breaker("C 20") == (20.0, "C")
    assert parse_breaker("15 A") == (15.0, None)
    for text in ("450 V XC", "450", "-450 V AC", "AC"):
        with pytest.raises(UnitError):
            parse_rated(text)
    for text in ("b16", "K16", "16", "B0", "B99999", "", 16, "16 V"):
        with pytest.raises(UnitError):
            parse_breaker(text)
    with pytest.raises(UnitError, match="B, C, D"):
        parse_breaker("Z16")


@pytest.mark.parametrize(
    ("value", "name", "digits", "shown"),
    [
        (4200, "voltage", 3, "4.20 kV"), (0.3996, "current", 3, "400 mA"), (999.6, "V", 3, "1.00 kV"),
        (999.4, "V", 3, "999 V"), (4.7e-9, "F", 2, "4.7 nF"), (0, "V", 3, "0 V"), (-4200, "V", 3, "-4.20 kV"),
        (1.2e-3, "F", 3, "1200 uF"), (0.00035, "m", 3, "0.350 mm"), (291.15, "temperature", 3, "18.0 degC"),
        (0.6, "%", 3, "60.0 %"), (50, "rev/s", 3, "3000 rpm"), (60, "s", 3, "60.0 s"), (3600, "s", 3, "60.0 min"),
        (1.0, "1", 3, "1.00"), (0.57, "number", 2, "0.57"), (float("nan"), "V", 3, "not known"),
        (None, "V", 3, "not known"), (math.inf, "V", 3, "not known"), (1e-20, "V", 3, "0.0000000000100 nV"),
        (5e9, "V", 3, "5000 MV"),
    ],
)  # fmt: skip
def test_show(value: float | None, name: str, digits: int, shown: str) -> None:
    assert show(value, name, digits) == shown


def test_show_for_print() -> None:
    assert show(1500, "ohm", pretty=True) == "1.50 kΩ"
    assert show(2e-6, "F", pretty=True) == "2.00 µF"
    assert show(291.15, "temperature", pretty=True) == "18.0 °C"
    assert show(12e-4, "area", pretty=True) == "12.0 cm²"
    assert show(0.03, "A", trim=True) == "30 mA"
    assert show(600, "V", trim=True) == "600 V"


def test_show_band() -> None:
    assert show_band(1.78, 2.31, "A") == "1.78 to 2.31 A"
    assert show_band(2051.7, 2112.2, "voltage") == "2.051 to 2.113 kV"
    assert show_band(-3, 5, "V") == "-3.0 to 5.0 V"
    assert show_band(2, 2, "V") == "2.000 V"
    assert show_band(None, 3, "V") == show_band(1, math.nan, "V") == "not known"


LINEAR = sorted(
    n for n, d in DIMENSIONS.items() if n not in {"number", "rated voltage", "temperature", "temperature rise"}
)


@given(st.sampled_from(LINEAR), st.floats(0, 1), st.integers(2, 6), st.booleans(), st.booleans())
def test_what_is_shown_reads_back(name: str, where: float, digits: int, negative: bool, pretty: bool) -> None:
    dim = dimension(name)
    value = dim.smallest * 2 * (dim.largest / dim.smallest / 8) ** where * (-1 if negative else 1)
    text = show(value, name, digits, pretty=pretty)
    assert "e" not in text.split()[0]
    # half of the last digit that was shown
    assert parse(text, name) == pytest.approx(value, rel=0.5000001 * 10 ** (1 - digits))


@given(st.floats(-80, 400), st.integers(2, 6))
def test_temperatures_read_back(celsius: float, digits: int) -> None:
    text = show(celsius + 273.15, "temperature", digits)
    assert parse(text, "temperature") - 273.15 == pytest.approx(celsius, rel=0.51 * 10 ** (1 - digits), abs=1e-9)


@given(st.floats(1e-6, 1e6), st.floats(1e-6, 1e6))
def test_a_band_is_never_shown_narrower_than_it_is(one: float, other: float) -> None:
    low, high = sorted((one, other))
    text = show_band(low, high, "V")
    if " to " not in text:
        assert low == high
        return
    first, rest = text.split(" to ")
    number, unit = rest.split()
    slack = 1 + 1e-12
    assert parse(f"{first} {unit}", "V") <= low * slack
    assert parse(f"{number} {unit}", "V") >= high / slack


@given(st.text(max_size=40), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_read_or_refused_in_words(text: str, name: str) -> None:
    refusal: UnitError | None = None
    value: float | None = None
    try:
        value, tolerance = parse_with_tolerance(text, name)
        assert tolerance is None or tolerance > 0
    except UnitError as error:
        refusal = error
    assert (value is not None and math.isfinite(value)) or (refusal is not None and refusal.message and refusal.hint)
