"""The gap on the console, in the document, in the book and drawn to scale."""

from __future__ import annotations

import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import pytest
from matplotlib.figure import Figure as Canvas
from rich.console import Console

from analyses.tank_benches import STATIC, SUPPLY, project
from coilwright.analyses.tank_gap import gap_result
from coilwright.analyses.tank_results import GapResult, RatedPlace
from coilwright.report.blocks import CheckSheet, Drawing, Figure, Grid, Paragraph, Table
from coilwright.report.book.tank_gap import gap_blocks
from coilwright.report.console_tank_gap import print_gap
from coilwright.report.drawing.gap_layout import gap_layout
from coilwright.report.estimates import split_estimates
from coilwright.report.json_tank_gap import gap_part
from coilwright.report.plots.gap_curve import draw_gap_curve

PLACES = (RatedPlace("T1.high finish to core", 6e3, "pencil", leg="hot"),)
TUBES = STATIC.replace('"static"', '"segmented"').replace('"rod", diameter = "8 mm"', '"tube", diameter = "16 mm"')


def made(text: str) -> GapResult:
    result = gap_result(project(text), SUPPLY, PLACES)
    assert result is not None
    return result


WIDE = made(STATIC + 'spacing = "4 mm"\n')
ROW = made(TUBES + 'spacing = "0.5 mm"\nsegments = 4\n')


def whole(gap: GapResult | None) -> SimpleNamespace:
    return SimpleNamespace(gap=gap)


def printed(gap: GapResult | None) -> str:
    out = io.StringIO()
    print_gap(Console(file=out, width=200), whole(gap))
    return " ".join(out.getvalue().split())


def test_console_says_what_fires_what_bounds_it_and_what_is_wrong():
    text = printed(WIDE)
    assert "Spark gap: static, rod of 8.00 mm, one gap" in text
    assert "Set too wide" in text and "T1.high finish to core" in text
    assert "does this supply fire it" in text and "fires again when hot, peak" in text
    for line in (*WIDE.words, *WIDE.limits):
        assert " ".join(line.split()) in text
    assert "write [gap]" in printed(None)


def test_console_names_all_together_and_each_of_a_row():
    text = printed(ROW)
    assert re.search(r"spacing, all together 2\.00 mm", text) and re.search(r"spacing of each 0\.500 mm", text)


def test_document_has_the_keys_and_its_estimates_split_off():
    plain, bands, marks = split_estimates(gap_part(whole(ROW)))
    gap = plain["gap"]
    assert ROW.breakdown_peak is not None and ROW.spacing is not None
    assert gap["breakdown_peak"] == ROW.breakdown_peak.value and gap["spacing"] == pytest.approx(2e-3)
    assert gap["largest_setting"] == pytest.approx(6e3 / (1 + 1.96 * 0.04)) and gap["spread"] == 0.04
    assert list(bands["gap.breakdown_peak"]) == [ROW.breakdown_peak.low, ROW.breakdown_peak.high]
    assert marks["gap.breakdown_peak"] == "pencil" and marks["gap.spacing_each"] == "ink"
    assert len(gap["curve"]) == len(ROW.curve) and gap["fires"] is True
    json.dumps(plain)  # nothing but plain values is left
    assert gap_part(whole(None)) == {"gap": None}


def test_book_has_figures_drawing_curve_warning_and_sheet():
    blocks = list(gap_blocks(whole(WIDE)))
    kinds = {type(b) for b in blocks}
    assert {Table, Drawing, Figure, Grid, CheckSheet, Paragraph} <= kinds
    warned = [b.text for b in blocks if isinstance(b, Paragraph) and b.tone == "warning"]
    assert any("Set too wide" in text for text in warned)
    table = next(b for b in blocks if isinstance(b, Table))
    assert all(row.mark for row in table.rows if any(c.isdigit() for c in row.value))
    assert list(gap_blocks(whole(None))) == []


def test_every_wrong_state_is_a_warning_in_the_book():
    for gap in (
        WIDE,
        made(STATIC + 'spacing = "60 mm"\n'),
        made(STATIC + 'voltage = "17.5 kV"\n'),
    ):
        wrong = [w for w in gap.words if "too wide" in w or "wider than the supply" in w or "may not fire" in w]
        assert wrong
        warned = [b.text for b in gap_blocks(whole(gap)) if isinstance(b, Paragraph) and b.tone == "warning"]
        assert set(wrong) <= set(warned)


def test_layout_is_to_scale():
    root = ET.fromstring(gap_layout(ROW))  # noqa: S314 (our own text)
    scale = float(root.attrib["data-scale"])
    name = "{http://www.w3.org/2000/svg}circle"
    circles = [c for c in root.iter(name) if c.attrib.get("class") == "electrode"]
    assert len(circles) == 5
    for c in circles:
        assert float(c.attrib["r"]) == pytest.approx(16.0 * scale / 2, abs=0.01)
    centres = [float(c.attrib["cx"]) for c in circles]
    for a, b in pairwise(centres):
        assert b - a == pytest.approx((16.0 + 0.5) * scale, abs=0.02)
    assert float(root.attrib["data-spacing"]) == pytest.approx(0.5e-3)


@pytest.mark.parametrize("form", ["rod", "sphere", "plate"])
def test_layout_of_every_form_names_spacing_and_largest_setting(form):
    gap = made(STATIC.replace('"rod"', f'"{form}"') + 'spacing = "1 mm"\n')
    svg = gap_layout(gap)
    root = ET.fromstring(svg)  # noqa: S314 (our own text)
    words = " ".join(t.text or "" for t in root.iter("{http://www.w3.org/2000/svg}text"))
    assert "each gap 1.00 mm" in words and "Never set above" in words and "before every adjustment" in words
    wide = float(root.attrib["viewBox"].split()[2])
    for t in root.iter("{http://www.w3.org/2000/svg}text"):
        assert 0 <= float(t.attrib["x"]) < wide
    assert svg.count('class="electrode"') == 2


def test_layout_of_a_gap_without_spacing_is_refused():
    with pytest.raises(ValueError, match="spacing is not known"):
        gap_layout(replace(WIDE, spacing_each=None))


def test_curve_draws_the_results_own_numbers():
    axes = Canvas().add_subplot()
    draw_gap_curve(WIDE, axes)
    by_id = {line.get_gid(): line for line in axes.get_lines()}
    points = sorted(WIDE.curve, key=lambda p: p.spacing)
    assert list(by_id["cold"].get_xdata()) == pytest.approx([p.spacing * 1e3 for p in points])
    assert list(by_id["cold"].get_ydata()) == pytest.approx([p.peak / 1e3 for p in points])
    assert WIDE.largest_setting is not None and WIDE.spacing_each is not None and WIDE.widest_that_fires is not None
    assert by_id["largest"].get_ydata()[0] == pytest.approx(WIDE.largest_setting.value / 1e3)
    assert by_id["own"].get_xdata()[0] == pytest.approx(WIDE.spacing_each.value * 1e3)
    assert by_id["widest"].get_xdata()[0] == pytest.approx(WIDE.widest_that_fires.value * 1e3)
    empty = Canvas().add_subplot()
    draw_gap_curve(None, empty)
    assert "not known" in empty.texts[0].get_text() and not empty.get_lines()
