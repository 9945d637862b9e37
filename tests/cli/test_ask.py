"""`ask` and `supply --through` at the door: one screen, pencil, hazards first, every problem at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cli.claims import claims
from cli.doors import Done, assert_every_tag, assert_valid
from coilwright.cli.ask import QUESTIONS
from coilwright.cli.ask_tank import QUESTIONS as OF_THE_TANK
from coilwright.project.start import demo_text

Run = Callable[..., Done]
ASKED = {
    "bleeder": ("--capacitance", "60 uF", "--voltage", "230 V", "--plug"),
    "charge": ("--capacitance", "50 nF", "--voltage", "10 kV"),
    "correction": ("--mains", "230 V", "--frequency", "50 Hz", "--reactive", "1000 var"),
    "limiter": ("--power", "1 kW heater", "--plate-power", "1000 VA", "--ballast", "8.2 A"),
    "polarity": ("--ratio", "9.13", "--units", "2", "--drive", "12 V"),
}
#: Nobody named a bleeder, and a pair whose polarity nobody has read is a STOP.
CODES = {"polarity": 1, "bleeder": 1, "charge": 1, "correction": 1}


def test_every_question_is_asked_here() -> None:
    assert set(ASKED) == set(QUESTIONS) - set(OF_THE_TANK)


@pytest.mark.parametrize("question", sorted(ASKED))
def test_answer_is_one_screen_with_hazards_first(run: Run, question: str) -> None:
    done = run("ask", question, *ASKED[question])
    assert done.code == CODES.get(question, 0)
    assert done.err == ""
    lines = done.out.splitlines()
    assert lines[0].startswith("NOTE local-code: ")
    assert "isolate-drain-short (standing)" in done.out
    assert "~ is pencil" in done.out
    assert max(map(len, lines)) <= 80
    assert len([x for x in lines if x.strip()]) <= 64  # a tall terminal: hazards are never shortened for it
    assert claims(done.out) == []


@pytest.mark.parametrize(
    ("question", "more"),
    [
        *((q, ()) for q in sorted(ASKED)),
        ("limiter", ("--power", "60 W lamp", "--units", "4")),
        ("bleeder", ("--bleeder", "10 Mohm", "--series", "4", "--voltage", "4 kV")),
    ],
)
def test_every_tag_is_on_the_screen_and_what_stops_whole(
    run: Run, monkeypatch: pytest.MonkeyPatch, question: str, more: tuple[str, ...]
) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    text, document = (run("ask", question, *ASKED[question], *more, *end) for end in ((), ("--json",)))
    hazards, _ = text.out.split("more: --json", 1)
    assert len(text.out.splitlines()) <= 50  # the manual says so: 40 would not hold the hazards
    assert max(map(len, text.out.splitlines())) <= 100
    assert_every_tag(hazards, document.document["tags"])


@pytest.mark.parametrize("question", sorted(ASKED))
def test_document_follows_its_schema(run: Run, question: str) -> None:
    done = run("ask", question, *ASKED[question], "--json")
    assert done.code == CODES.get(question, 0)
    assert_valid(done.document, "ask")
    assert [q for q in ASKED if done.document[q] is not None] == [question]
    assert done.document["mark"] == "pencil"
    assert done.document["tags"][0]["id"] == "local-code"


def test_figures_on_the_screen(run: Run) -> None:
    # Q = w C V^2: 60.2 uF, and 184.2 uF on 120 V 60 Hz, which is what is meant below 180 V.
    assert "~60.2 uF" in run("ask", "correction", *ASKED["correction"]).out
    assert "~184 uF" in run("ask", "correction", "--reactive", "1000 var", "--mains", "120 V").out
    assert "~2.50 J, ~500 uC" in run("ask", "charge", *ASKED["charge"]).out
    text = run("ask", "limiter", *ASKED["limiter"]).out
    assert "STILL DEADLY" in text and "Tells open from shorted: yes." in text


def test_fitted_bleeder_that_is_too_slow_stops(run: Run) -> None:
    slow = run("ask", "bleeder", "--capacitance", "60 uF", "--voltage", "230 V", "--bleeder", "1 Mohm")
    assert slow.code == 1
    assert "open STOP: bleeder-missing" in slow.out
    assert run("ask", "bleeder", "--capacitance", "60 uF", "--voltage", "230 V", "--bleeder", "270 kohm").code == 0


@pytest.mark.parametrize("question", ["bleeder", "charge", "correction"])
def test_a_bleeder_that_nobody_named_is_missing(run: Run, question: str) -> None:
    done = run("ask", question, *ASKED[question])
    assert done.code == 1
    assert "open STOP: bleeder-missing" in done.out
    # 20 V peak are below the 60 V DC up to which EN 50191 (from memory) asks for nothing
    low = run("ask", "charge", "--capacitance", "50 uF", "--voltage", "20 V")
    assert low.code == 0 and "bleeder-missing" not in low.out


def test_every_problem_at_once(run: Run) -> None:
    done = run("ask", "charge", "--capacitance", "50 V", "--plug", "--drive", "6 V")
    assert (done.code, done.out) == (2, "")
    assert "`ask charge` needs it" in done.said
    assert "--plug: `ask charge` does not take it" in done.said
    assert "--drive: `ask charge` does not take it" in done.said
    assert "--capacitance: " in done.said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("tea",), "'tea' is not one of"),
        (("polarity", "--units", "9"), "1<=x<=4"),
        (("polarity", "--ratio", "-3"), "expected 0.01 to 1000"),
        (("polarity", "--ratio", "nan"), "expected 0.01 to 1000"),
        (("limiter", "--power", "none"), "name a lamp or a heater"),
        (("limiter", "--power", "60 V"), "expected a power"),
        (("limiter", "--power", "1 kW", "--mains", "99 kV"), "mains"),
        (("correction", "--reactive", "-5 var"), "--reactive"),
    ],
)
def test_what_makes_no_sense_is_said(run: Run, words: tuple[str, ...], said: str) -> None:
    done = run("ask", *words)
    assert done.code == 2
    assert said in done.said
    assert "Traceback" not in done.err


# ---- supply --through ------------------------------------------------------------------------------------------------


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """Return the demo bench without its tank, whose scan takes seconds and is no subject here."""
    path = tmp_path / "bench.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    return path


@pytest.fixture
def quick_supply(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put a made-up supply in the place of the solved one; the limiter stays real."""
    from cli.doors import supply_result

    monkeypatch.setattr("coilwright.analyses.supply.supply", lambda *_, **__: supply_result())


def test_supply_behind_a_limiter(run: Run, bench: Path, quick_supply: None) -> None:
    text = run("supply", bench, "--through", "60 W lamp").out
    assert "In series with the line: a 60.0 W lamp" in text
    assert "It tells nothing: 217 V rms" in text
    assert "STILL DEADLY" in text
    assert "Taken off for this test: C1, C2." in text
    assert "output behind the 60 W lamp (standing)" in text
    assert claims(text) == []


def test_limiter_in_the_document(run: Run, bench: Path, quick_supply: None) -> None:
    document = run("supply", bench, "--through", "1 kW heater", "--json").document
    assert_valid(document, "supply")
    found = document["limiter"]
    assert (found["kind"], found["power"], found["separates"]) == ("heater", 1000.0, True)
    # Common practice, no source: 73 V open and 193 V shorted before an oven pair behind its ballast.
    assert [found["open_voltage"], found["short_voltage"]] == pytest.approx([73.0, 193.0], abs=0.6)
    assert found["slips"] and found["touch"]


@pytest.mark.parametrize("words", [(), ("--through", "none")])
def test_no_limiter_unless_asked_for(run: Run, bench: Path, quick_supply: None, words: tuple[str, ...]) -> None:
    assert run("supply", bench, *words, "--json").document["limiter"] is None
    assert "In series with the line" not in run("supply", bench, *words).out


@pytest.mark.parametrize("text", ["500", "5 kohm", "0 W", "lamp", "", "-60 W lamp"])
def test_limiter_that_is_none(run: Run, bench: Path, text: str) -> None:
    done = run("supply", bench, "--through", text)
    assert (done.code, done.out) == (2, "")
    assert "--through: " in done.said
