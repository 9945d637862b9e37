"""`coil` at the door: tables, one document that its schema holds, and bad geometry in words."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from coilwright.cli import main
from coilwright.report.json_common import schema_text

PROJECT = """format = 1
[project]
name = "coil at the door"
[site]
mains = "230 V"
frequency = "50 Hz"
[tank]
capacitance = "12 nF"
[primary]
form = "flat spiral"
inner_diameter = "18 cm"
pitch = "12.5 mm"
turns = 12
conductor_diameter = "6 mm"
[secondary]
winding_diameter = "11 cm"
turns = 1000
wire_diameter = "0.4 mm"
base_elevation = "25 cm"
[[top_load]]
form = "toroid"
ring_diameter = "30 cm"
tube_diameter = "10 cm"
elevation = "10 cm"
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "bench.coil.toml"
    path.write_text(PROJECT, encoding="utf-8")
    return path


def test_document_is_what_its_schema_says(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["coil", str(project), "--json"]) in (0, 1)
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, json.loads(schema_text("coil")))
    assert document["secondary"]["q"] > 100
    assert document["bands"]["secondary.q"][0] == 0.0  # an upper bound
    assert document["marks"]["secondary.inductance"] == "pencil"  # no pitch is stated: close wound, as assumed
    assert document["tuning"]["tap_turns"] < document["tuning"]["loaded_tap_turns"]
    assert len(document["primary"]["taps"]) == 12
    assert [m["frequency"] for m in document["modes"]] == sorted(m["frequency"] for m in document["modes"])


def test_tables_say_what_is_assumed_and_what_is_not_known(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["coil", str(project)])
    said = " ".join(capsys.readouterr().out.split())
    for words in ("close wound", "upper bound", "Real earth: between", "local-code", "breaks out at", "Taps"):
        assert words in said, words
    assert "safe" not in said.replace("safety", "").lower()


def test_bad_geometry_has_its_line_and_the_way_out(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    project.write_text(PROJECT.replace('base_elevation = "25 cm"', 'base_elevation = "0 cm"'), encoding="utf-8")
    assert main(["coil", str(project)]) == 2
    said = capsys.readouterr().err
    assert "not above the ground plane" in said
    assert "bench.coil.toml:19" in said
