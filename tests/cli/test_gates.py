"""`gate` as its user meets it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from cli.claims import claims
from cli.doors import Done, assert_valid
from coilwright.cli.gates import reading
from coilwright.errors import InputError
from coilwright.project.start import demo_text
from coilwright.report.json_common import schema_text

Run = Callable[..., Done]
IDS = ["drained", "insulation", "bonds", "resistances", "polarity", "disconnections", "limiter", "reduced volts"]


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    path = tmp_path / "bench.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    return path


@pytest.mark.slow
def test_gates_of_the_demo(run: Run, bench: Path) -> None:
    done = run("gate", bench, "--read", "T1.primary=0.80 ohm", "--read", "open at 10 %=0.18 A", "--json")
    document = done.document
    assert_valid(document, "gate")
    assert done.code == 1  # polarity reads reversed and STOPs are open
    gates = {g["id"]: g for g in document["gates"]}
    assert list(gates) == [*IDS, "safety gap"]
    assert (gates["bonds"]["verdict"], gates["bonds"]["band"]) == ("agrees", [None, 0.1])
    assert (gates["polarity"]["verdict"], gates["reduced volts"]["verdict"]) == ("fails", "closed")
    rows = {r["id"]: r for g in document["gates"] for r in g["readings"]}
    assert (rows["T1.primary"]["read"], rows["T1.primary"]["verdict"]) == (0.80, "agrees")
    assert rows["T1.primary"]["read_mark"] == "ink"  # typed in: no instrument, no day
    assert rows["open at 10 % current"]["verdict"] == "agrees"
    lead = gates["polarity"]["lead"]
    assert gates["polarity"]["expected"] == rows[lead]["expected"]
    assert {c["where"] for c in document["charge"]} == {"C1", "C2", "C3 in the tank"}
    assert [w["joint"] for w in document["safety_gap"]] == ["hot_a", "hot_b"]


@pytest.mark.slow
def test_tables_hold_blanks_and_signatures_and_claim_nothing(run: Run, bench: Path) -> None:
    done = run("gate", bench)
    text = " ".join(done.out.split())
    assert done.out.startswith("NOTE local-code: ")
    assert text.count("read by ____") == 9
    assert "____" in text and "Unplug or lock off, plug in sight and key on you" in text
    assert "Gate 8: Open and shorted through the ballast, at reduced volts: CLOSED" in text
    assert max(map(len, done.out.splitlines())) <= 80
    assert claims(done.out) == []


@pytest.mark.slow
def test_a_resistance_in_the_project_counts(run: Run, bench: Path) -> None:
    stamped = '[[reading]]\nwhat = "resistance"\nwhere = "T2.high"\nvalue = "60 ohm"\ninstrument = "meter"\n'
    bench.write_text(demo_text() + stamped + "date = 2026-03-01\n", encoding="utf-8")
    document = run("gate", bench, "--json").document
    row = next(r for g in document["gates"] for r in g["readings"] if r["id"] == "T2.high")
    assert (row["read"], row["read_mark"], row["verdict"]) == (60.0, "stamped", "outside")


@pytest.mark.parametrize("text", ["T1.primary", "=0.8 ohm", "T1.primary=", "T1.primary=0.8", "T1.primary=3 kg"])
def test_a_reading_that_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(InputError) as refused:
        reading(text)
    assert "--read" in refused.value.problems[0].where
    assert refused.value.problems[0].hint


@pytest.mark.parametrize(
    ("text", "what", "where", "value"),
    [
        ("T1.primary=0.80 ohm", "resistance", "T1.primary", 0.80),
        ("stick = 22 kohm", "resistance", "stick", 22e3),
        ("open at 10 % current=180 mA", "mains current", "open at 10 %", 0.18),
        ("open at 30 %=7 W", "mains power", "open at 30 %", 7.0),
        ("limiter open=87 V", "voltage", "limiter open", 87.0),
    ],
)
def test_the_unit_says_what_was_read(text: str, what: str, where: str, value: float) -> None:
    read = reading(text)
    assert (read.what, read.where, read.value) == (what, where, pytest.approx(value))


@pytest.mark.slow
def test_a_row_that_is_not_there_is_named_with_those_that_are(run: Run, bench: Path) -> None:
    done = run("gate", bench, "--read", "T9.primary=1 ohm", "--json")
    assert done.code == 2
    problem = done.document["problems"][0]
    assert "T9.primary" in problem["message"] and "T1.primary" in problem["hint"]


def test_the_schema_knows_every_gate() -> None:
    schema = json.loads(schema_text("gate"))
    assert schema["$defs"]["gate"]["properties"]["id"]["enum"] == [*IDS, "safety gap"]
