"""`polarity` as its user meets it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cli.doors import Done, assert_valid
from coilwright.project.start import demo_text

Run = Callable[..., Done]
pytestmark = pytest.mark.slow


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    path = tmp_path / "bench.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    return path


def test_sheet_of_the_demo(run: Run, bench: Path) -> None:
    done = run("polarity", bench, "--json")
    document = done.document
    assert_valid(document, "polarity")
    assert done.code == 1  # the sheet reads reversed, so its STOP is open
    assert document["verdict"] == "reversed"
    assert [d["reversed"] for d in document["decoded"]] == [["T2.high"]]
    across = next(e for e in document["expected"] if e["between"] == ["hot_a", "hot_b"])
    assert across["read"] == 2.2
    assert across["right"] > 15
    assert across["reversed"]["T2.high"] < 5
    text = run("polarity", bench).out
    assert text.startswith("NOTE local-code: ")
    assert "Mains plug out and in sight" in text and "Swap the two primary leads of T2" in " ".join(text.split())


def test_typed_readings_take_the_place_of_the_projects(run: Run, bench: Path) -> None:
    typed = ("--read", "hot_a,hot_b=21.7", "--read", "hot_b,ground=9.8 V", "--read", "hot_a,ground=12.0 V")
    document = run("polarity", bench, *typed, "--json").document
    assert (document["verdict"], document["mark"]) == ("as wired", "ink")
    assert "zero-is-not-off" in {t["id"] for t in document["tags"]}  # typed readings carry no date


def test_a_drive_above_the_limit_prints_its_numbers_with_a_stop(run: Run, bench: Path) -> None:
    done = run("polarity", bench, "--drive", "6 V", "--at", "fed,return", "--json")
    stop = next(t for t in done.document["tags"] if t["id"] == "test-drive-live")
    assert done.code == 1
    assert stop["grade"] == "STOP" and stop["number"] > 100  # two units, 57 V each, opposed
    assert done.document["expected"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--drive", "6"), "expected a voltage"),
        (("--drive", "-6 V"), "above zero"),
        (("--at", "hot_a"), "two joints"),
        (("--at", "hot_a,hot_q"), "no joint hot_q"),
        (("--at", "live,ground", "--drive", "200 V"), "no winding joins"),
        (("--read", "hot_a,foo=1 V"), "no joint foo"),
        (("--read", "hot_a,hot_b"), "what was read"),
        (("--read", "hot_a,hot_b=many"), "expected a voltage"),
        (("--arrangement", "none such"), "no arrangement"),
    ],
)
def test_bad_options_are_told(run: Run, bench: Path, words: tuple[str, ...], said: str) -> None:
    done = run("polarity", bench, *words)
    assert (done.code, done.out) == (2, "")
    assert said in done.said
