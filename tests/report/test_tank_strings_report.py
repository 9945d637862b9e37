"""Strings on the console, in JSON, in the book and as a drawing to scale."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest
from rich.console import Console

from coilwright.analyses.tank_results import StringResult, StringsResult, TankResult
from coilwright.analyses.tank_strings import LIMITS, best_strings, string_for
from coilwright.capacitors.strings import Duty
from coilwright.model.known import Estimate, Known
from coilwright.model.parts import Capacitor
from coilwright.report.blocks import Drawing, Grid, Paragraph, Table
from coilwright.report.book.tank_strings import string_blocks
from coilwright.report.console_tank_strings import print_strings
from coilwright.report.drawing.string_layout import SCALES, scale_of, string_layout_svg
from coilwright.report.estimates import split_estimates
from coilwright.report.json_tank_strings import strings_part

SVG = "{http://www.w3.org/2000/svg}"
UNIT = Capacitor(
    "C3", Known(0.2e-6), rated=Known(1000.0, "ink"), rated_kind="AC", dielectric="polypropylene", count=32,
    size=(Known(41.5e-3), Known(20e-3), Known(39.5e-3)), lead_pitch=Known(37.5e-3),
)  # fmt: skip
OVEN = Capacitor("O1", Known(1e-6), kind="oven", rated=Known(2100.0), rated_kind="AC", count=2)


def duty(missing: float | None = 10.8e3) -> Duty:
    ring, quality = Estimate(2e5, 8e4, 5e5, "pencil", "Hz"), Estimate(15.0, 8.0, 39.0, "pencil", "1")
    return Duty(ring, quality, 50.0, 4e3, missing, Estimate(200.0, 100.0, 400.0, "pencil", "1/s"), 2.8e3)


@pytest.fixture(scope="module")
def own() -> StringResult:
    return replace(string_for(UNIT, 8, 2, duty(), bleeder=10e6), own=True)


@pytest.fixture(scope="module")
def result(own: StringResult) -> TankResult:
    best = best_strings([UNIT, OVEN], 40e-9, duty(6e3))
    strings = StringsResult(own, best.ranked, best.refused, best.considered, best.wanted, LIMITS)
    return cast("TankResult", SimpleNamespace(strings=strings, size=SimpleNamespace(by_rotor=False)))


def printed(result: TankResult) -> str:
    console = Console(file=io.StringIO(), width=80)
    print_strings(console, result)
    return cast("io.StringIO", console.file).getvalue()


def test_console_shows_own_best_and_refused_within_80_columns(result: TankResult) -> None:
    text = printed(result)
    assert all(len(line) <= 80 for line in text.splitlines())
    for words in ("8 x C3 in series, 2 in parallel", "1.61 kV", "1.41 kV", "Best strings of the shelf", "O1: an oven",
                  "10.0 Mohm", "10 x 1.00 Mohm", "50 V are left across", "Verdict: in doubt"):  # fmt: skip
        assert words in text
    flat = " ".join(text.split())
    assert "A DC label is turned into AC volts by our rule" in flat and "It fails open unseen" in flat


def test_console_says_when_nothing_will_do(own: StringResult) -> None:
    none = cast(
        "TankResult",
        SimpleNamespace(strings=StringsResult(None, (), (), 0, "12 nF", LIMITS), size=SimpleNamespace(by_rotor=False)),
    )
    assert "No string of the shelf will do: aimed at 12 nF" in printed(none)
    blocks = list(string_blocks(none))
    assert any(isinstance(b, Paragraph) and b.tone == "warning" for b in blocks)


def test_json_has_the_keys_bands_and_marks(result: TankResult) -> None:
    plain, bands, marks = split_estimates(strings_part(result))
    json.dumps(plain, allow_nan=False)
    first = plain["strings"][0]
    assert {"series", "parallel", "part", "voltage_each", "current_rms", "temperature_rise", "bleeder"} <= first.keys()
    assert first["own"] and first["series"] == 8 and first["bleeder"]["fitted"] == 10e6
    assert first["voltage_each"] == pytest.approx(first["voltage_each_firing_peak"] / 2**0.5)
    low, high = bands["strings[0].current_rms"]
    assert low < first["current_rms"] < high and marks["strings[0].current_rms"] == "pencil"
    assert len(first["layout"]["bodies"]) == 16 and plain["strings_refused"][0]["part"] == "O1"
    assert [r["own"] for r in plain["strings"][1:]] == [False] * (len(plain["strings"]) - 1)


def test_book_blocks(result: TankResult) -> None:
    blocks = list(string_blocks(result))
    drawings = [b for b in blocks if isinstance(b, Drawing)]
    tables = [b for b in blocks if isinstance(b, Table)]
    grids = {b.key: b for b in blocks if isinstance(b, Grid)}
    assert len(drawings) == 2 and all("<svg" in d.svg and d.alt_text for d in drawings)
    assert len({d.key for d in drawings}) == 2 and len({t.key for t in tables}) == 2
    rows = {r.label: r for r in tables[0].rows}
    assert rows["volts, gap missing, peak"].value == "1.61" and rows["volts, gap missing, peak"].unit == "kV"
    assert rows["current, rms"].band and rows["current, rms"].mark == "pencil"
    assert "oven" in grids["strings refused"].rows[0][1].text
    assert len(grids["string ranking"].details) == len(grids["string ranking"].rows)


def numbers(element: ET.Element, *names: str) -> list[float]:
    return [float(element.attrib[n]) for n in names]


@pytest.mark.parametrize(("series", "parallel"), [(8, 2), (1, 1), (1, 4), (5, 1), (15, 2), (36, 5)])
def test_the_drawing_is_to_scale(series: int, parallel: int) -> None:
    row = string_for(replace(UNIT, count=300), series, parallel, duty(), bleeder=10e6)
    root = ET.fromstring(string_layout_svg(row))  # noqa: S314
    scale = float(root.attrib["data-scale"])
    made = row.layout
    assert made is not None and scale == pytest.approx(scale_of(made)) and scale in [pytest.approx(s) for s in SCALES]
    bodies = {e.attrib["data-body"]: e for e in root.iter(f"{SVG}rect") if "data-body" in e.attrib}
    assert len(bodies) == series * parallel
    for body in bodies.values():  # 41.5 mm x 20 mm, by the scale that the drawing states
        assert numbers(body, "width", "height") == pytest.approx([41.5 * scale, 20 * scale], abs=0.011)
    wide, high = (float(root.attrib[k].removesuffix("mm")) for k in ("width", "height"))
    for e in root.iter(f"{SVG}rect"):
        x, y, w, h = (float(e.attrib.get(k, 0)) for k in ("x", "y", "width", "height"))
        assert x >= 0 and y >= 0 and x + w <= wide + 0.01 and y + h <= high + 0.01
    bar = next(e for e in root.iter(f"{SVG}path") if e.attrib.get("class") == "scale")
    ends = [float(p.split()[0]) for p in bar.attrib["d"].lstrip("M").split("L")]
    label = next(t.text or "" for t in root.iter(f"{SVG}text") if "scale 1 :" in (t.text or ""))
    assert ends[1] - ends[0] == pytest.approx(float(label.split(" mm")[0]) * scale, abs=0.011)
    assert len([e for e in root.iter(f"{SVG}path") if e.attrib.get("class") == "bleeder"]) == series * parallel


def test_an_assumed_body_is_told_on_the_drawing() -> None:
    def words(unit: Capacitor) -> str:
        root = ET.fromstring(string_layout_svg(string_for(unit, 8, 2, duty())))  # noqa: S314
        return " ".join(t.text or "" for t in root.iter(f"{SVG}text"))

    stated, assumed = words(UNIT), words(replace(UNIT, size=None))
    assert "measure one before cutting" in assumed and "measure one" not in stated


def test_a_string_without_a_layout_cannot_be_drawn(own: StringResult) -> None:
    with pytest.raises(ValueError, match="no layout"):
        string_layout_svg(replace(own, layout=None))


def test_no_output_claims_to_be_harmless(result: TankResult) -> None:
    texts: list[Any] = [printed(result), json.dumps(split_estimates(strings_part(result))[0])]
    assert all("safe" not in t.replace("safety gap", "").lower() for t in texts)
