"""The program as its user meets it: whole runs, nothing stood in for."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from cli.claims import claims, pdf_text
from cli.doors import Done, assert_valid

PROGRAM = [sys.executable, "-c", "import sys; from coilwright.cli import main; sys.exit(main())"]
#: A slow machine needs minutes for what takes a free one seconds; a hang still ends.
pytestmark = [pytest.mark.slow, pytest.mark.timeout(900)]

SIGN = """format = 1
[project]
name = "One sign transformer"       # nothing else on the shelf
[site]
mains = "120 V"
frequency = "60 Hz"
breaker = "15 A"
[goal]
voltage = ["3 kV", "12 kV"]
[[transformer]]                     # the plate says no more
id = "N1"
kind = "sign"
plate_primary = "120 V"
plate_secondary = "9000 V"
plate_current = "30 mA"
"""


def whole(folder: Path, *words: str) -> Done:
    done = subprocess.run(
        [*PROGRAM, *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=800,
        cwd=folder,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
    )
    return Done(done.returncode, done.stdout, done.stderr)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Done]:
    folder = tmp_path_factory.mktemp("demo")
    return folder, whole(folder, "demo", "--json")


def test_demo_runs_to_its_end(demo: tuple[Path, Done]) -> None:
    folder, done = demo
    assert done.code == 0, done.err
    assert_valid(done.document, "demo")
    for name in ("shelf", "plan", "supply"):
        assert_valid(done.document[name], name)
    book = folder / "coilwright-demo" / "demo.pdf"
    assert book.read_bytes().startswith(b"%PDF-")
    assert sorted(p.name for p in book.parent.iterdir()) == ["demo.coil.toml", "demo.pdf"]


def test_demo_names_the_reading_that_was_made_wrong(demo: tuple[Path, Done]) -> None:
    # The demo's short test of T4 says 159 W at 40.0 V and 2.16 A: above the volt-amperes, 40.0 x 2.16 = 86.4, and
    # power is never above those (the Cauchy-Schwarz inequality); it is ten times what was read.
    notes = demo[1].document["shelf"]["parts"]["T4"]["readings"]
    stops = [note for note in notes if note["grade"] == "STOP"]
    assert [note["where"] for note in stops] == ["transformer[3].short_test[1].power"]
    assert "86.4" in stops[0]["message"] and "15.9" in stops[0]["hint"]
    refused = " ".join(reason for row in demo[1].document["plan"]["refused"] for reason in row["reasons"])
    assert "transformer[3].short_test[1].power" in refused


def test_every_band_of_the_demo_holds_the_number_of_its_own_key(demo: tuple[Path, Done]) -> None:
    supply = demo[1].document["supply"]
    assert {"open_circuit.voltage_peak", "best_power.power", "best_power.load_power"} <= set(supply["bands"])
    for path, (low, high) in supply["bands"].items():
        value: Any = supply
        for key in path.split("."):
            value = value[key]
        assert low <= value <= high and low < high, path


def test_demo_keeps_its_stops_in_sight(demo: tuple[Path, Done]) -> None:
    document = demo[1].document
    opened = {tag["id"] for tag in document["tags"] if tag["grade"] == "STOP" and not tag["standing"]}
    assert {"safety-gap-missing", "tank-overvolt-gap-missing"} <= opened
    # What the program says of the three things that are wrong: two are named, the polarity keeps its STOP.
    assert {"reading-refused", "zero-is-not-off"} <= opened
    assert document["tags"][0]["id"] == "local-code"
    assert all(tag["source"] and tag["do"] and tag["limit"] for tag in document["tags"])


def test_demo_shows_tank_gap_and_safety_gap(demo: tuple[Path, Done]) -> None:
    tank = demo[1].document["tank"]
    assert (tank["string"]["part"], tank["string"]["series"], tank["string"]["parallel"]) == ("C3", 8, 2)
    assert tank["size"]["capacitance"] == pytest.approx(0.2e-6 * 2 / 8)  # two strings of eight, by hand
    assert tank["size"]["energy_per_bang"] == pytest.approx(50e-9 * 4e3**2 / 2)  # C V^2 / 2 at the gap's 4.0 kV
    assert tank["gap"]["breakdown_peak"] == 4000.0 and tank["safety_gap"]["fitted_peak"] is None
    low, high = tank["bands"]["size.gap_missing_peak"]
    assert low < tank["size"]["gap_missing_peak"] < high
    scan = [p for p in demo[1].document["supply"]["gap_missing"] if p["own"]]
    assert tank["size"]["gap_missing_peak"] == pytest.approx(scan[0]["peak"])


def test_demo_prints_tank_and_gap(demo: tuple[Path, Done]) -> None:
    text = whole(demo[0], "demo").out
    part = text[text.index("Tank, gap and protection") :]
    for words in ("50.0 nF", "8 in series", "gap fires at, peak", "safety gap of hot_a", "NONE", "String, "):
        assert words in part
    assert part.index("coilwright tank") < part.index("used ")
    assert len(part[: part.index("used ")].splitlines()) <= 36


def test_demo_claims_nothing_in_any_medium(demo: tuple[Path, Done]) -> None:
    folder, done = demo
    assert claims(done.out) == []
    book = pdf_text(folder / "coilwright-demo" / "demo.pdf")
    assert "safety-gap-missing" in book  # the text of the book was found at all
    assert claims(book) == []
    printed = whole(folder, "supply", "coilwright-demo")
    assert printed.code == 1, printed.err  # a STOP is open
    assert "safety-gap-missing" in printed.out
    assert claims(printed.out) == claims(printed.err) == []


@pytest.fixture(scope="module")
def sign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sign")
    (folder / "sign.coil.toml").write_text(SIGN, encoding="utf-8")
    return folder


def test_supply_repeats_the_numbers_of_the_row_taken(sign: Path) -> None:
    taken = whole(sign, "plan", "sign", "--take", "1", "--json")
    assert taken.code == 0, taken.err
    assert_valid(taken.document, "plan")
    row = taken.document["ranked"][0]
    assert taken.document["taken"]["name"] == row["name"]
    text = (sign / "sign.coil.toml").read_text(encoding="utf-8")
    assert "# nothing else on the shelf" in text and "# the plate says no more" in text
    done = whole(sign, "supply", "sign", "--load", "100 kohm", "--json")
    assert done.code in {0, 1}, done.err
    supply: dict[str, Any] = done.document
    assert_valid(supply, "supply")
    assert supply["arrangement"] == row["name"]
    # both solve the same network with every harmonic
    assert supply["open_circuit"]["voltage"] == pytest.approx(row["open_voltage"], rel=1e-6)
    assert supply["short_circuit"]["current"] == pytest.approx(row["short_current"], rel=1e-6)
    assert supply["mains_current_uncorrected"] == pytest.approx(row["mains_current"], rel=1e-6)
    loaded = [point for point in supply["droop"] if point["load_resistance"] == pytest.approx(100e3)]
    assert len(loaded) == 1
    # Ohm's law, and no more power in the load than from the mains
    assert loaded[0]["voltage"] == pytest.approx(loaded[0]["current"] * 100e3, rel=1e-6)
    assert loaded[0]["load_power"] < loaded[0]["power"]


def test_a_sign_plate_gives_its_own_numbers(sign: Path) -> None:
    # A sign transformer's plate carries open-circuit volts and short-circuit milliamperes (common practice, no source).
    done = whole(sign, "plan", "sign", "--json")
    row = done.document["ranked"][0]
    assert row["open_voltage"] == pytest.approx(9000.0, rel=0.05)
    assert row["short_current"] == pytest.approx(0.030, rel=0.05)


@pytest.mark.parametrize("command", ["check", "shelf", "plan"])
def test_tables_of_a_real_run(sign: Path, command: str) -> None:
    done = whole(sign, command, "sign")
    assert done.code in {0, 1}, done.err
    assert done.out.startswith("NOTE local-code: ")
    assert "Traceback" not in done.err
    assert claims(done.out) == claims(done.err) == []
