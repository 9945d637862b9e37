"""The shelf of the demo bench: what each part is, the reading that cannot be true, the next ones, and the tags."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest

from coilwright.analyses.shelf import circuits, shelf
from coilwright.model.known import Known
from coilwright.model.machine import RefusedReading
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.project.load import load
from coilwright.supply.circuits import CapacitorCircuit, ChokeCircuit, TransformerCircuit


@pytest.fixture(scope="module")
def design():
    return load(str(files("coilwright.project") / "demo.coil.toml")).design


@pytest.fixture(scope="module")
def result(design):
    return shelf(design)


def test_every_part_is_there(design, result):
    assert list(result.parts) == [p.id for p in design.shelf()]
    for part in result.parts.values():
        for name, e in part.values.items():
            assert e.low <= e.value <= e.high, (part.id, name)
            assert e.basis, (part.id, name)


@pytest.mark.parametrize(
    ("part", "ratio", "truth"), [("T1", 9.54, 9.55), ("T2", 9.62, 9.60), ("T3", 10.01, 10.02), ("S1", 39.2, 39.3)]
)
def test_turns_ratios(design, result, part, ratio, truth):
    # ``ratio`` is our own recomputation, kept as a regression figure; ``truth`` is what the invented bench was made of.
    # Reciprocity (any text on two-ports): the volts per volt fed low, times those fed high inverted, are n^2 for a
    # transformer whose limbs are alike, whatever its leakage; from the readings as they stand in the file.
    e = result.parts[part].values["ratio"]
    tests = next(t for t in design.transformers if t.id == part).low_voltage_test
    fed_low = next(t.read.value / t.applied.value for t in tests if t.fed == "low")
    fed_high = next(t.applied.value / t.read.value for t in tests if t.fed == "high")
    assert e.value == pytest.approx((fed_low * fed_high) ** 0.5, rel=0.01)
    assert e.value == pytest.approx(ratio, rel=0.01)
    assert e.low <= truth <= e.high and e.mark == "stamped"


def test_full_voltage_short_from_low_voltage_tests(result):
    e = result.parts["T1"].values["short_current"]
    assert e.low <= 1.96 <= e.high
    assert e.high / e.low > 1.3 and e.mark == "pencil"
    sign = result.parts["S1"].values["short_current"]
    assert sign.low <= 0.050 <= sign.high and sign.value == pytest.approx(0.050, rel=0.04)


def test_the_reading_that_cannot_be_true(result):
    part = result.parts["T4"]
    assert not part.usable and part.circuit is None and "short_test[1].power" in part.why_not
    stops = [n for n in part.readings if n.grade == "STOP"]
    assert [(n.code, n.where) for n in stops] == [("power-above-va", "transformer[3].short_test[1].power")]
    assert "159 W" in stops[0].message and "86.4 VA" in stops[0].message and "15.9 W" in stops[0].hint
    assert not [n for p in result.parts.values() for n in p.readings if n.grade != "NOTE" and p.id != "T4"]
    tag = next(t for t in result.tags if t.id == "reading-refused")
    assert tag.blocks and tag.where == "transformer[3].short_test[1].power" and "15.9 W" in tag.do


@pytest.mark.slow
def test_correcting_it_makes_the_part_usable(design):
    t4 = design.transformers[3]
    right = replace(t4.short_test[1], power=replace(t4.short_test[1].power, value=15.9))
    fixed = replace(t4, short_test=(t4.short_test[0], right))
    after = shelf(replace(design, transformers=(*design.transformers[:3], fixed, *design.transformers[4:])))
    assert after.parts["T4"].usable and not any(t.id == "reading-refused" for t in after.tags)


def test_next_readings(result):
    hazards = [n.hazard for n in result.next_reading]
    assert hazards == sorted(hazards)
    first = next(n for n in result.next_reading if n.part == "T1")
    assert first.what.startswith("short test at 60.0 V") and first.instrument == "wall meter"
    assert "falls off" in first.how and first.hazard_words
    for n in result.next_reading:
        assert n.band_after[1] - n.band_after[0] < n.band_before[1] - n.band_before[0]


def test_circuits_are_those_of_usable_parts(result):
    found = circuits(result)
    assert "T4" not in found
    assert isinstance(found["T1"], TransformerCircuit) and found["T1"].tied == "finish"
    assert found["S1"].tapped and isinstance(found["B4"], ChokeCircuit)
    assert isinstance(found["C1"], CapacitorCircuit) and found["C1"].bleeder == 270e3


def test_shelf_tags(result):
    ids = {t.id for t in result.tags}
    assert result.tags[0].id == "local-code"
    assert {"oven-scavenge", "beryllia", "short-test-opens", "dc-kick", "unpotting", "supply-kills"} <= ids
    assert "frequency-mismatch" not in ids


@pytest.mark.slow
def test_equal_parts_are_the_same_under_any_name(design, result):
    t1 = design.transformers[0]
    twin = replace(
        t1,
        id="T9",
        where="transformer[5]",
        open_test=tuple(replace(t, where=t.where.replace("[0]", "[5]", 1)) for t in t1.open_test),
        short_test=tuple(replace(t, where=t.where.replace("[0]", "[5]", 1)) for t in t1.short_test),
        low_voltage_test=tuple(replace(t, where=t.where.replace("[0]", "[5]", 1)) for t in t1.low_voltage_test),
    )
    both = shelf(replace(design, transformers=(*design.transformers, twin)))
    assert both.parts["T9"].values == both.parts["T1"].values == result.parts["T1"].values
    t4 = design.transformers[3]
    same = replace(
        t4,
        id="T8",
        where="transformer[5]",
        short_test=tuple(replace(t, where=t.where.replace("[3]", "[5]", 1)) for t in t4.short_test),
    )
    named = shelf(replace(design, transformers=(*design.transformers, same))).parts["T8"]
    assert [n.where for n in named.readings] == ["transformer[5].short_test[1].power"]
    assert "transformer[5]" in named.why_not and "transformer[3]" not in named.why_not


@pytest.mark.slow
def test_order_of_the_file_changes_nothing(design, result):
    turned = shelf(replace(design, transformers=design.transformers[::-1], chokes=design.chokes[::-1]))
    for name, part in result.parts.items():
        assert turned.parts[name].values == part.values


def test_other_parts_and_an_empty_shelf(design):
    bare = replace(
        design,
        transformers=(Transformer("E", "electronic", where="transformer[0]"),),
        chokes=(Choke("B", where="choke[0]"),),
        capacitors=(Capacitor("C", Known(1e-6), where="capacitor[0]"),),
        resistors=(Resistor("R", Known(50.0)),),
        variables=(Variable("V", voltage=Known(230.0), current=Known(8.0)),),
    )
    parts = shelf(bare).parts
    assert not parts["E"].usable and "high frequency" in parts["E"].why_not
    assert not parts["B"].usable and "reactance is not known" in parts["B"].why_not
    assert parts["R"].circuit.resistance == 50.0 and parts["V"].circuit.setting == 1.0
    assert parts["C"].circuit.bleeder is None
    empty = shelf(replace(bare, transformers=(), chokes=(), capacitors=(), resistors=(), variables=()))
    assert not empty.parts and not empty.next_reading


@pytest.mark.slow
def test_a_refused_reading_is_shown_at_its_part(design):
    refused = RefusedReading("transformer[0].open_test[0].secondary", "T1", "meter", 2100.0, 600.0, "too much", "hint")
    with_it = shelf(replace(design, refused_readings=(refused,)))
    note = with_it.parts["T1"].readings[0]
    assert (note.code, note.grade, note.where) == ("test-above-meter", "STOP", refused.where)
    assert with_it.parts["T1"].usable
    assert any(t.id == "test-above-meter" and t.where == refused.where for t in with_it.tags)


def test_frequency_of_the_plate_against_the_site(design):
    american = replace(design.transformers[0], plate_frequency=Known(60.0))
    tags = shelf(replace(design, transformers=(american,))).tags
    tag = next(t for t in tags if t.id == "frequency-mismatch")
    assert tag.number == pytest.approx(1.2) and tag.where == "T1"


def test_progress_is_told(design):
    heard: list[tuple[float, str]] = []
    shelf(replace(design, transformers=design.transformers[:1]), progress=lambda f, w: heard.append((f, w)))
    assert heard[0] == (0.0, "T1") and heard[-1][0] == 1.0
    assert [f for f, _ in heard] == sorted(f for f, _ in heard)
