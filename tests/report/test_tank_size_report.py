"""Tank size and plates in every medium: nothing without unit and mark, hazards first, drawn to scale."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from matplotlib.figure import Figure as Page
from rich.console import Console

from analyses.tank_size_bench import PEAKS, plated, side, staged, written
from coilwright.model.known import Known
from coilwright.model.machine import Gap, Protection
from coilwright.report.blocks import Drawing, Figure, Grid, Paragraph, Table
from coilwright.report.book.tank_size import plates_blocks, size_blocks
from coilwright.report.console_tank_plates import print_plates
from coilwright.report.console_tank_size import print_size
from coilwright.report.drawing.plates_layout import plates_svg
from coilwright.report.estimates import split_estimates
from coilwright.report.json_tank_plates import plates_part
from coilwright.report.json_tank_size import size_part
from coilwright.report.plots import svg_of
from coilwright.report.plots.tank_range import draw_tank_range

SVG = "{http://www.w3.org/2000/svg}"


def printed(show, result) -> str:
    out = io.StringIO()
    show(Console(file=out, width=80), result)
    return out.getvalue()


def drawn(result):
    axes = Page().add_subplot()
    draw_tank_range(result, axes)
    return axes


def line(axes, gid):
    (found,) = [item for item in axes.get_lines() if item.get_gid() == gid]
    return np.asarray(found.get_xydata(), dtype=float)


def test_console_prints_value_mark_band_and_limits():
    text = printed(print_size, staged(written(20e-9)))
    assert "20.0 nF" in text and " 31.8 nF" in text and "~19.2 kV" not in text and "19.2 kV" in text
    assert re.search(r"bangs per second +~\d+ 1/s", text)
    assert "NO: S1.high start to core" in text and "limit: Break rate and power" in text
    assert max(map(len, text.splitlines())) <= 80


def test_console_without_a_tank_says_so():
    text = printed(print_size, staged(None))
    assert "the project states no tank" in text and "to aim at" in text


def test_console_puts_what_speaks_against_the_plates_first():
    text = printed(print_plates, staged(plated(dielectric="PVC")))
    assert text.index("Against it: pvc is unfit") < text.index("What it stands and loses")
    assert "kV/mm" in text and "To cut" in text
    assert max(map(len, text.splitlines())) <= 80
    no_plates = staged(written(20e-9), firing=None, seen=side(own=None))
    no_plates.plates = None
    assert printed(print_plates, no_plates) == ""


def test_document_has_the_keys_with_bands_and_marks():
    result = staged(plated())
    plain, bands, marks = split_estimates({**size_part(result), **plates_part(result)})
    tank = plain["tank"]
    assert {
        "capacitance",
        "resonant_capacitance",
        "energy_per_bang",
        "charge",
        "gap_missing_peak",
        "discharge_time",
    } <= set(tank)
    assert tank["energy_per_bang"] == pytest.approx(tank["capacitance"] * 9e3**2 / 2)
    assert bands["tank.energy_per_bang"][0] < tank["energy_per_bang"] < bands["tank.energy_per_bang"][1]
    assert marks["plates.rated_peak"] == "pencil"
    assert [p["capacitance"] for p in tank["scan"]] == list(PEAKS)
    assert plain["plates"]["sheets"][0]["count"] == 35


@pytest.mark.parametrize("mark", ["ink", "pencil"])
def test_a_number_has_one_mark_in_every_medium(mark):
    seen = side()
    seen = replace(seen, mains_current=replace(seen.mains_current, mark=mark))
    result = staged(written(20e-9), seen=seen)
    text, sign = printed(print_size, result), "~" if mark == "pencil" else " "
    _, _, marks = split_estimates(size_part(result))
    (table,) = [b for b in size_blocks(result) if isinstance(b, Table)]
    (scan,) = [b for b in size_blocks(result) if isinstance(b, Grid)]
    paper = {row.label: row.mark for row in table.rows}
    assert re.search(rf"peak, gap missing +{sign}19\.2 kV", text)
    assert re.search(rf"mains-resonant +{sign}31\.8 nF", text)
    assert re.search(rf"energy then +{sign}3\.69 J", text)  # 20 nF x (19.2 kV)^2 / 2
    assert marks["tank.gap_missing_peak"] == paper["peak across, gap missing"] == mark
    assert marks["tank.resonant_capacitance"] == paper["mains-resonant"] == mark
    assert marks["tank.energy_missing"] == paper["energy then"] == mark
    # the linear charging model is pencil, on whatever supply
    assert re.search(r"power into the tank +~", text) and re.search(r"bangs per second +~", text)
    for key, label in (("power", "power into the tank"), ("break_rate", "bangs")):
        assert marks[f"tank.{key}"] == paper[label] == "pencil"
    for k, cells in enumerate(scan.rows):
        assert marks[f"tank.scan[{k}].gap_missing_peak"] == cells[1].mark == mark
        assert marks[f"tank.scan[{k}].power"] == cells[5].mark == "pencil"


def test_what_the_safety_gap_holds_stands_beside_the_peak():
    held = staged(written(20e-9), protection=Protection(safety_gap_voltage=Known(8e3)))
    text = " ".join(printed(print_size, held).split())
    assert re.search(r"held to at most ~1[67]\.\d kV by the project's safety gap", text)
    assert "at the peak not held" in text and "With the safety gap the windings hold at all of them" in text
    plain, _, _ = split_estimates(size_part(held))
    assert plain["tank"]["held_peak"] == held.size.held_peak and plain["tank"]["advised_held"] is None
    bare = staged(written(20e-9))
    both = " ".join(printed(print_size, bare).split())
    assert "with a safety gap ~47.7 nF" in both and "to aim at ~20.0 nF" in both
    plain, _, marks = split_estimates(size_part(bare))
    assert plain["tank"]["advised_held"] == pytest.approx(47.7e-9) and plain["tank"]["held_peak"] is None
    assert marks["tank.advised_held"] == "pencil"


def test_a_rotors_highest_volts_are_shown_in_every_medium():
    gap = Gap("asynchronous rotary", speed=Known(30.0), presentations=8)
    seen = side({c: 3 * v for c, v in PEAKS.items()})
    result = staged(written(20e-9), gap, firing=None, seen=seen)
    top = result.size.firing_highest.value
    text = printed(print_size, result)
    assert re.search(rf"at the highest +~{top / 1e3:.1f} kV", text)
    plain, _, _ = split_estimates(size_part(result))
    assert plain["tank"]["firing_highest"] == top > plain["tank"]["firing_peak"]
    assert all(r["highest_peak"] is None or r["highest_peak"] <= r["gap_missing_peak"] for r in plain["tank"]["scan"])
    (table,) = [b for b in size_blocks(result) if isinstance(b, Table)]
    assert f"{top / 1e3:.1f}" in [r.value for r in table.rows if r.label == "at the highest, peak"]


def test_no_plates_are_null():
    result = staged(None, firing=None, seen=side(own=None))
    assert plates_part(result) == {"plates": None}


def test_the_range_is_drawn_from_the_result():
    result = staged(written(20e-9))
    axes = drawn(result)
    across = [(c * 1e9, v / 1e3) for c, v in PEAKS.items()]
    assert line(axes, "across") == pytest.approx(np.array(across))
    assert line(axes, "end") == pytest.approx(np.array([(c, v / 2) for c, v in across]))
    assert line(axes, "rating to earth")[:, 1] == pytest.approx([10.0, 10.0])
    (hatched,) = [p for p in axes.patches if p.get_gid() == "within"]
    x = hatched.get_extents().transformed(axes.transData.inverted()).intervalx
    assert sorted(x) == pytest.approx([5.0, 20.0])
    assert hatched.get_hatch()
    assert line(axes, "own tank")[:, 0] == pytest.approx([20.0, 20.0])
    assert line(axes, "own peak")[0] == pytest.approx([20.0, 19.2])
    assert line(axes, "resonant")[0, 0] == pytest.approx(31.8)


def test_a_pencil_rating_is_dashed_and_nothing_unknown_is_drawn():
    axes = drawn(staged(written(20e-9)))
    (rating,) = [item for item in axes.get_lines() if item.get_gid() == "rating to earth"]
    assert rating.get_linestyle() == "--"
    empty = drawn(staged(written(20e-9), seen=side({}, None)))
    assert not empty.get_lines() and "not known" in empty.texts[0].get_text()


def test_the_figure_is_black_on_white_and_legible():
    text = svg_of(lambda axes: draw_tank_range(staged(written(20e-9)), axes), 0.17, 0.085)
    colours = {c.lower() for c in re.findall(r"#[0-9a-fA-F]{6}", text)}
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours)


@pytest.mark.parametrize(("form", "area"), [("flat", 0.09), ("rolled", 0.5), ("cylinder", 0.06)])
def test_the_drawing_is_to_scale(form, area):
    p = staged(plated(form, area=area)).plates
    root = ET.fromstring(plates_svg(p))  # noqa: S314
    words = [t.text or "" for t in root.iter(f"{SVG}text")]
    bars = [re.match(r"([\d.]+) (mm|m), scale 1 : ([\d.]+)", w) for w in words]
    scales = [float(b.group(3)) for b in bars if b]
    assert len(scales) == 2
    # The bar's own length on paper times its scale is what is written on it.
    heavy = [e for e in root.iter(f"{SVG}path") if e.get("stroke-width") == "1"]
    lengths = sorted(h for h in map(_horizontal, heavy) if h)
    said = sorted(float(b.group(1)) * (1.0 if b.group(2) == "mm" else 1000.0) / float(b.group(3)) for b in bars if b)
    assert lengths == pytest.approx(said, rel=0.02)
    boxes = [(float(r.get("width")), float(r.get("height"))) for r in root.iter(f"{SVG}rect")][1:]
    if form == "flat":
        # Sheet and foil: paper length x scale = real length (mm).
        assert boxes[0][0] * scales[0] == pytest.approx(1e3 * p.stack[0], rel=0.01)
        assert boxes[1][0] * scales[0] == pytest.approx(1e3 * p.foil_length, rel=0.01)
    if form == "cylinder":
        assert boxes[0][0] * scales[0] == pytest.approx(1e3 * p.diameter, rel=0.01)
        assert len(list(root.iter(f"{SVG}circle"))) == p.count
    if form == "rolled":
        radius = max(float(c.get("r")) for c in root.iter(f"{SVG}circle"))
        assert 2 * radius * scales[1] == pytest.approx(1e3 * p.diameter, rel=0.01)
    width, height = (float(v) for v in root.get("viewBox").split()[2:])
    for t in root.iter(f"{SVG}text"):
        assert 0 < float(t.get("x")) < width and 0 < float(t.get("y")) < height


def _horizontal(mark) -> float:
    m = re.fullmatch(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", mark.get("d") or "")
    return float(m.group(3)) - float(m.group(1)) if m and m.group(2) == m.group(4) else 0.0


def test_the_book_has_figures_drawing_and_warnings():
    result = staged(plated(dielectric="PVC"))
    size, plates = list(size_blocks(result)), list(plates_blocks(result))
    assert [f.key for f in size if isinstance(f, Figure)] == ["tank range"]
    assert any(isinstance(b, Grid) and b.key == "tank scan" for b in size)
    assert isinstance(plates[2], Paragraph) and plates[2].tone == "warning" and "unfit" in plates[2].text
    assert [d.key for d in plates if isinstance(d, Drawing)] == ["tank plates layout"]
    for table in (b for b in (*size, *plates) if isinstance(b, Table)):
        for row in table.rows:
            assert row.unit or row.value == "not known", row
            assert row.mark is not None, row


def test_no_output_says_that_anything_is_safe():
    result = staged(plated())
    text = printed(print_size, result) + printed(print_plates, result) + plates_svg(result.plates)
    assert not re.search(r"\bsafe\b", text.replace("safe margin", ""), re.IGNORECASE)
