"""What is wrong in a file is told all at once: where, line, found, expected, way out; in no library's own phrase."""

from __future__ import annotations

import re

import pytest

from coilwright.errors import InputError, Problem
from coilwright.project.load import read_text
from coilwright.project.start import demo_text

LIBRARY_TALK = re.compile(
    r"pydantic|validat|Input should|Extra inputs|Field required|valid (string|integer|number|dictionary|list)|NoneType|"
    r"<class|Traceback|Error\b|type=|loc=|__|must satisfy",
    re.IGNORECASE,
)


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        read_text(text, "demo.coil.toml")
    for problem in caught.value.problems:
        assert problem.message
        assert problem.hint, problem
        assert len(problem.message) < 300
        assert len(problem.hint) < 500
        assert not LIBRARY_TALK.search(problem.message + problem.hint), problem
    return caught.value.problems


def changed(*pairs: tuple[str, str]) -> str:
    text = demo_text()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def line_with(text: str, part: str) -> int:
    return next(n for n, line in enumerate(text.split("\n"), start=1) if part in line)


@pytest.mark.parametrize(
    ("old", "new", "where", "says", "hint"),
    [
        ('mains = "230 V"', "mains = 230", "site.mains", "expected a voltage with its unit", '"230 V"'),
        ('mains = "230 V"', 'mains = "230"', "site.mains", "expected a voltage with its unit", '"230 V"'),
        ('mains = "230 V"', 'mains = "-230 V"', "site.mains", "expected a voltage above zero", '"2.1 kV"'),
        ('mains = "230 V"', 'mains = "nan V"', "site.mains", "a finite number", '"2.1 kV"'),
        ('mains = "230 V"', "mains = nan", "site.mains", "found nan, expected a voltage", '"2.1 kV"'),
        ('mains = "230 V"', "mains = inf", "site.mains", "found inf, expected a voltage", '"2.1 kV"'),
        ('mains = "230 V"', 'mains = "230 kV"', "site.mains", "from 20 V up to 1 kV", "prefix"),
        ('mains = "230 V"', 'mains = "2 x 115 V"', "site.mains", "a product, expected a voltage", '"230 V" end to end'),
        ('kind = "sign"', 'kind = "variable"', "transformer[4].kind", 'found "variable"', "[[variable]]"),
        ('mains = "230 V"', 'mains = "230 v"', "site.mains", '"v" is not a unit of voltage', '"230 V"'),
        (
            'frequency = "50 Hz"',
            'frequency = "50 kg"',
            "site.frequency",
            "which is a mass; expected a frequency",
            '"50 Hz"',
        ),
        ('breaker = "B16"', 'breaker = "16"', "site.breaker", "expected a breaker", '"16 A"'),
        ('rcd = "30 mA"', 'rcd = "nine"', "site.rcd", 'or "none"', '"30 mA"'),
        ('humidity = "65 %"', 'humidity = "650 %"', "site.air.humidity", "at most 100%", '"60 %"'),
        (
            'pressure = "1002 hPa"',
            'pressure = "1002 kPa"',
            "site.air.pressure",
            "a pressure from 300 hPa up to 1200 hPa",
            "prefix",
        ),
        ("air = {", "air = 5 # {", "site.air", "found 5, expected a table of keys", "{ key = value, ... }"),
        ('voltage = ["3 kV", "9 kV"]', 'voltage = ["9 kV", "3 kV"]', "goal.voltage", "the lower one first", "Swap"),
        (
            'voltage = ["3 kV", "9 kV"]',
            'voltage = "9 kV"',
            "goal.voltage",
            "expected a list of two",
            '["4 kV", "12 kV"]',
        ),
        ('name = "Shed column"', "name = 5", "project.name", "found 5, expected text", "quotes"),
        ('id = "T1"', 'id = "T 1"', "transformer[0].id", "expected an id", "no space"),
        ('id = "T1"', 'id = "mains"', "transformer[0].id", "the name of the supply terminals", "no space"),
        ('kind = "oven"', 'kind = "owen"', "transformer[0].kind", "expected oven, sign", '"oven"'),
        ('kind = "oven"\n', "", "transformer[0].kind", "the key kind is missing", 'kind = "oven"'),
        (
            'plate_power = "1000 VA"',
            'plate_pwer = "1000 VA"',
            "transformer[0].plate_pwer",
            "is not known",
            "plate_power",
        ),
        ("[goal]", "[gaol]", "gaol", "the key gaol is not known", "Did you mean goal?"),
        (
            'current = "0.398 A"',
            'current = "0.398 a"',
            "transformer[0].open_test[0].current",
            '"a" is not a unit',
            '"0.398 A"',
        ),
        (
            'power = "12.4 W", instrument',
            'pwr = "12.4 W", instrument',
            "transformer[0].open_test[0].pwr",
            "is not known",
            "power",
        ),
        ("date = 2026-02-14", 'date = "today"', "transformer[0].bond_test[0].date", "expected a date", "2026-03-01"),
        (
            'low = "2.39 V"',
            'secondary = "2.39 V"',
            "transformer[0].low_voltage_test[0]",
            "expected one pair",
            "{ applied_high, low }",
        ),
        ("gap_ratio = 1.0", 'gap_ratio = "1.0"', "choke[0].gap_ratio", "expected a pure number", "without quotes"),
        ("gap_ratio = 1.0", "gap_ratio = nan", "choke[0].gap_ratio", "found nan, expected a number above 0", "Correct"),
        ("gap_ratio = 1.0", "gap_ratio = 0", "choke[0].gap_ratio", "expected a number above 0 to 100", "Correct"),
        ("count = 32", "count = 0", "capacitor[2].count", "expected a whole number from 1", "without quotes"),
        ("count = 32", "count = 1.5", "capacitor[2].count", "expected a whole number", "a point"),
        ('part = "C3"', 'part = "C4"', "tank.strings.part", '"C4" names no capacitor', "C3"),
        ("[tank]", '[tank]\ncapacitance = "3 nF"', "tank", "capacitance and strings are both given", "all but one"),
        ("strings = {", "# strings = {", "tank", "none of capacitance, strings or plates is given", "[tank]"),
        (
            'voltage = "4.0 kV"',
            'voltage = "4.0 kV"\nspacing = "1 mm"',
            "gap",
            "spacing and voltage are both given",
            "all but one",
        ),
        ('use = "pair,', 'use = "pear,', "supply.use", "names no arrangement", '"pair, midpoint earthed"'),
        (
            'value = "9.8 V"',
            'value = "9.8 A"',
            "reading[1].value",
            "which is a current; expected a voltage",
            '"2.1 kV"',
        ),
        (
            'where = ["hot_b", "ground"]',
            'where = "hot_b"',
            "reading[1].where",
            "expected the two joints",
            '["hot_b", "ground"]',
        ),
        (
            'where = ["hot_b", "ground"]',
            'where = ["hot_c", "ground"]',
            "reading[1].where[0]",
            "names no joint",
            '"hot_b"',
        ),
        (
            'where = ["hot_b", "ground"]',
            'where = ["hot_b", "hot_b"]',
            "reading[1].where",
            "both ends are the joint",
            "two different",
        ),
        (
            'between = ["hot_a", "ground"] }',
            'between = ["hot_a", "floor"] }',
            "reading[0].drive.between[1]",
            "names no joint",
            "There are",
        ),
        ('what = "polarity"\ndrive', 'what = "voltage"\ndrive', "reading[0].drive", "has no drive", "polarity"),
        (
            'instrument = "meter"\ndate',
            'instrument = "metre"\ndate',
            "reading[0].instrument",
            "names no instrument",
            '"meter"',
        ),
        ("room = {", "room = { outdoors = true, ", "site.room", "beside measures of a room", "one or the other"),
        ("[goal]", "[[goal]]", "goal", "expected one table [goal]", "one bracket"),
        ("format = 1", 'format = "1"', "format", "expected the format's number", "format = 1"),
        ("format = 1", "", "format", "format is missing", "format = 1"),
        ("format = 1", "format = 2", "format", "found format 2, this version reads up to 1", "newer version"),
    ],
)
def test_each_refusal(old: str, new: str, where: str, says: str, hint: str) -> None:
    text = changed((old, new))
    found = [p for p in problems(text) if p.where == where]
    assert found, problems(text)
    assert says in found[0].message
    assert hint in found[0].hint


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        (
            'applied = "180 V", current = "0.765 A"',
            'applied = "180 V", current = 0.765',
            "transformer[1].open_test[1].current",
        ),
        ('value = "0.2 uF"', 'value = "0.2 uf"', "capacitor[2].value"),
        ('hot_a  = ["T1.high_start"]', 'hot_a  = ["T1.hihg_start"]', "arrangement[0].joint.hot_a[0]"),
        ('electrode = { form = "rod"', 'electrode = { form = "rood"', "gap.electrode.form"),
    ],
)
def test_the_line_is_the_line(old: str, new: str, where: str) -> None:
    text = changed((old, new))
    (found,) = problems(text)
    assert found.where == where
    assert found.line == line_with(text, new)


def test_everything_is_told_at_once_in_the_order_of_the_file() -> None:
    text = changed(
        ('mains = "230 V"', "mains = 230"),
        ('plate_power = "1000 VA"', 'plate_pwer = "1000 VA"'),
        ('id = "T3"', 'id = "S1"'),
        ('output = ["hot_a", "hot_b"]', 'output = ["hot_a", "hot_c"]'),
        ('value = "9.8 V"', 'value = "9.8 A"'),
        ('part = "C3"', 'part = "C9"'),
    )
    found = problems(text)
    assert [p.where for p in found] == [
        "site.mains",
        "transformer[0].plate_pwer",
        "transformer[4].id",
        "arrangement[0].output[1]",
        "tank.strings.part",
        "reading[1].value",
    ]
    assert [p.line for p in found] == sorted(p.line or 0 for p in found)


@pytest.mark.parametrize(
    "section", ["instrument", "transformer", "choke", "capacitor", "resistor", "variable", "wire", "former", "top"]
)
def test_an_id_is_taken_over_all_sections(section: str) -> None:
    lines = ["format = 1", "[[choke]]", 'id = "X1"', f"[[{section}]]", 'id = "X1"', 'kind = "oven"']
    if section == "choke":
        lines[3] = "[[capacitor]]"
    found = [p for p in problems("\n".join(lines)) if "already taken" in p.message]
    assert len(found) == 1
    assert "X1" in found[0].message


def test_a_name_of_an_arrangement_is_taken_once() -> None:
    text = demo_text()
    start, stop = text.index("[[arrangement]]"), text.index("[supply]")
    found = problems(text[:stop] + text[start:stop] + text[stop:])
    assert [(p.where, p.line) for p in found] == [("arrangement[1].name", line_with(text, "[supply]") + 1)]


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("format = 1\n[site]\nmains = 230 V\n", 3, "something follows the value: mains = 230 V"),
        ('format = 1\n[site]\nmains = "230 V\n', 3, "a text is not closed on its line"),
        ("format = 1\n[site]\n[site]\n", 3, "clashes with an earlier header"),
        ("format = 1\n[[choke]]\nid='a'\n[choke]\n", 4, "clashes with an earlier header"),
        ("format = 1\nformat = 1\n", 2, "the same key is set twice"),
        ("format = 1\n[site]\nmains\n", 3, "an equals sign is missing"),
        ("format = 1\n[site\n", 2, "a header is not closed"),
        ("format = 1\n[goal]\nuse = ['T1'\n[tank]\n", 4, "a list is not closed"),
        ("format = 1\n[site]\nair = { a = 1\n}\n", 3, "table is not closed"),
        ("format = 1\n[project]\nname = 'a\n", 3, "a text is not closed"),
        ('format = 1\n[project]\nname = "C:\\pylon"\n', 3, "a backslash stands in a text"),
        ("format = 1\n[answer]\ndate = 2026-02-30\n", 3, "not a date of the calendar"),
        ("format = 1\n= 5\n", 2, "neither a key nor a header"),
        ("format = 1\nx = \n", 2, "the value cannot be read"),
        ('format = 1\nx = """abc', 2, "a text is not closed"),
    ],
)
def test_faults_of_the_language_have_a_line_and_plain_words(text: str, line: int, says: str) -> None:
    (found,) = problems(text)
    assert says in found.message
    assert found.line == line


def test_a_section_that_should_be_a_list() -> None:
    (found,) = problems('format = 1\n[transformer]\nid = "T1"\nkind = "oven"\n')
    assert found.where == "transformer"
    assert found.hint == "Write the header with two brackets: [[transformer]]."
    (found,) = problems('format = 1\n[[choke]]\nid = "B1"\ntest = { voltage = "90 V", current = "1 A" }\n')
    assert found.hint == "Put brackets around it: test = [{ ... }]."


def test_what_is_only_worth_knowing_does_not_refuse_the_file() -> None:
    text = changed(('rated = "1000 V AC"', 'rated = "1000 V"'), ("series = 8", "series = 80"))
    design, warnings = read_text(text)
    assert [w.where for w in warnings] == ["capacitor[2].rated", "tank.strings"]
    assert design.capacitors[2].rated_kind is None
    assert "160 pieces" in warnings[1].message


def test_a_proof_test_without_its_record_is_told_to_clear_nothing() -> None:
    row = 'proof_test = [{ between = ["high", "core"], applied = "5.6 kV", method = "induced" }]\nmass = "5.1 kg"'
    _, warnings = read_text(changed(('mass = "5.1 kg"', row)))
    assert [w.where for w in warnings] == ["transformer[0].proof_test[0]"]
    assert "duration, by, instrument, date" in warnings[0].message
    assert "clears no STOP" in warnings[0].message


def test_an_insulation_test_across_a_tie_reads_the_tie() -> None:
    row = '{ between = ["high", "core"], applied = "500 V DC", resistance = "2 Gohm" }'
    _, warnings = read_text(changed(('mass = "5.1 kg"', f'insulation_test = [{row}]\nmass = "5.1 kg"')))
    assert [w.where for w in warnings] == ["transformer[0].insulation_test[0].between"]


def test_a_polarity_sheet_of_another_arrangement_is_set_aside_not_refused() -> None:
    start, stop = demo_text().index("[[arrangement]]"), demo_text().index("[supply]")
    block = demo_text()[start:stop].replace("pair, midpoint earthed", "other").replace("hot_b", "hot_2")
    text = changed(("[supply]", f"{block}\n[supply]"), ('use = "pair, midpoint earthed"', 'use = "other"'))
    design, warnings = read_text(text)
    assert len(design.readings) == 3
    assert [w.where for w in warnings] == ["reading[1]", "reading[2]"]
    assert "hot_b" in warnings[0].message
