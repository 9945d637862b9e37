"""A reading above the rating of its instrument stands in the file and is not used."""

from __future__ import annotations

import pytest

from coilwright.model.design import Design
from coilwright.project.load import read_text

METERS = """
[[instrument]]
id = "meter"
rating = "600 V"
[[instrument]]
id = "unrated"
[[instrument]]
id = "probe"
rating = "40 kV"
"""


def design(
    rows: str, plates: str = 'plate_primary = "230 V"\nplate_secondary = "2100 V"', kind: str = "oven"
) -> Design:
    unit = f'[[transformer]]\nid = "T1"\nkind = "{kind}"\n{plates}\n{rows}\n'
    loaded, warnings = read_text(f"format = 1\n{METERS}\n{unit}")
    # each refused reading is told of, with a line, and by the word that the tag uses
    told = [w for w in warnings if "is a STOP and is not used" in w.message]
    assert [w.where for w in told] == [r.where for r in loaded.refused_readings]
    for warning in told:
        assert warning.line is not None
        assert warning.hint
    return loaded


def row(kind: str, keys: str, instrument: str | None) -> str:
    named = "" if instrument is None else f', instrument = "{instrument}"'
    return f"{kind} = [{{ {keys}{named} }}]"


@pytest.mark.parametrize(("instrument", "used"), [("probe", True), ("meter", False), ("unrated", False), (None, False)])
def test_a_secondary_under_mains_is_used_only_from_an_instrument_rated_for_it(
    instrument: str | None, used: bool
) -> None:
    keys = 'applied = "230 V", current = "1.82 A", power = "51 W", secondary = "2.08 kV"'
    found = design(row("open_test", keys, instrument))
    (test,) = found.transformers[0].open_test
    assert (test.secondary is not None) is used
    assert test.current.value == 1.82
    assert len(found.refused_readings) == (not used)
    if not used:
        refused = found.refused_readings[0]
        assert (refused.where, refused.part, refused.value) == ("transformer[0].open_test[0].secondary", "T1", 2080.0)
        assert refused.rating == (600.0 if instrument == "meter" else None)


@pytest.mark.parametrize(
    ("applied", "rating_is_enough"),
    # the plate ratio is 9.13: a meter of 600 V stands up to 65.7 V of drive if its fuse opens
    [("65 V", True), ("66 V", False)],
)
def test_a_meter_in_the_short_stands_what_comes_when_its_fuse_opens(applied: str, rating_is_enough: bool) -> None:
    keys = f'applied = "{applied}", current = "4.3 A", secondary_current = "450 mA"'
    found = design(row("short_test", keys, "meter"))
    (test,) = found.transformers[0].short_test
    assert (test.secondary_current is not None) is rating_is_enough
    assert (found.refused_readings == ()) is rating_is_enough


def test_the_largest_ratio_that_the_file_speaks_for_counts() -> None:
    rows = 'short_test = [{ applied = "60 V", current = "4 A", secondary_current = "0.4 A", instrument = "meter" }]\n'
    assert design(rows).refused_readings == ()
    ratio = 'low_voltage_test = [{ applied_high = "24 V", low = "2.1 V" }]\n'
    (refused,) = design(rows + ratio).refused_readings
    assert refused.value == pytest.approx(60 * 24 / 2.1)
    # neither plate nor ratio: the largest that the kind is built with
    (refused,) = design(rows, plates="").refused_readings
    assert refused.value == pytest.approx(60 * 20)


@pytest.mark.parametrize(
    ("kind", "keys", "key", "length"),
    [
        ("open_test", 'applied = "601 V", current = "1 A"', "applied", 0),
        ("open_test", 'applied = "600 V", current = "1 A"', None, 1),
        ("short_test", 'applied = "601 V", current = "1 A"', "applied", 0),
        ("low_voltage_test", 'applied_high = "601 V", low = "60 V"', "applied_high", 0),
        ("low_voltage_test", 'applied = "70 V", secondary = "640 V"', "secondary", 0),
        ("low_voltage_test", 'applied = "3 V", secondary = "27 V"', None, 1),
        ("proof_test", 'between = ["high", "core"], applied = "601 V"', "applied", 0),
        (
            "insulation_test",
            'between = ["primary", "core"], applied = "1000 V DC", resistance = "2 Gohm"',
            "applied",
            0,
        ),
        ("insulation_test", 'between = ["primary", "core"], applied = "500 V DC", resistance = "2 Gohm"', None, 1),
    ],
)
def test_each_row_against_the_rating(kind: str, keys: str, key: str | None, length: int) -> None:
    found = design(row(kind, keys, "meter"))
    assert len(getattr(found.transformers[0], kind)) == length
    assert [r.where for r in found.refused_readings] == ([] if key is None else [f"transformer[0].{kind}[0].{key}"])


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('instrument = "meter", date = 2026-03-01', None),
        ('instrument = "unrated", date = 2026-03-01', "states no rating"),
        ('instrument = "meter", date = 2999-03-01', "still to come"),
    ],
)
def test_a_proof_test_needs_a_rated_tester_and_a_day_that_has_been(keys: str, said: str | None) -> None:
    record = f'duration = "60 s", method = "applied", by = "a test house", {keys}'
    loaded, warnings = read_text(f"""format = 1
{METERS}
[[transformer]]
id = "T1"
kind = "oven"
proof_test = [{{ between = ["high", "core"], applied = "500 V", {record} }}]
""")
    (test,) = loaded.transformers[0].proof_test
    assert (test.stamp.date is not None) is (said is None)
    told = [w.message for w in warnings if w.where == "transformer[0].proof_test[0]"]
    assert len(told) == (said is not None)
    assert said is None or said in told[0]


def test_other_readings_of_volts() -> None:
    text = f"""format = 1
{METERS}
[[choke]]
id = "B1"
test = [
  {{ voltage = "230 V", current = "5 A", instrument = "meter" }},
  {{ voltage = "700 V", current = "9 A", instrument = "meter" }}]
[[reading]]
what = "voltage"
where = "open"
value = "3.6 kV"
instrument = "meter"
[[reading]]
what = "voltage"
where = "open"
value = "3.6 kV"
instrument = "probe"
[[reading]]
what = "mains current"
value = "6 A"
instrument = "meter"
"""
    found, warnings = read_text(text)
    assert len(found.chokes[0].test) == 1
    assert [r.instrument for r in found.readings] == ["probe", "meter"]
    assert [w.where for w in warnings] == ["choke[0].test[1].voltage", "reading[0].value"]
