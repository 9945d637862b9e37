"""Figures: what is on the axes is what the result says, and nothing that is not known is drawn."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from coilwright.analyses.results import EndStress, GapMissingPoint, WindingStress
from coilwright.report.plots import draw_droop, draw_gap_missing, draw_stress_ladder, svg_of
from report.invented_book import point, supply


def axes() -> Axes:
    return Figure().add_subplot()


def line(drawn: Axes, gid: str) -> np.ndarray:
    """Return the points of the one line of that name, shape (n, 2)."""
    found = [item for item in drawn.get_lines() if item.get_gid() == gid]
    assert len(found) == 1, f"{len(found)} lines are called {gid}"
    return np.asarray(found[0].get_xydata(), dtype=float)


def near(points: list[tuple[float, float]]) -> object:
    return pytest.approx(np.array(points))


def gids(drawn: Axes) -> set[str | None]:
    return {item.get_gid() for item in drawn.get_lines()}


def words(drawn: Axes) -> str:
    return "\n".join(text.get_text() for text in drawn.texts)


def test_droop_shows_the_points_of_the_result() -> None:
    result, drawn = supply(), axes()
    draw_droop(result, drawn)
    expected = [(p.current * 1e3, p.voltage / 1e3) for p in result.droop]
    assert line(drawn, "droop") == near(expected)
    best = result.best_power
    assert line(drawn, "best power") == near([(best.current * 1e3, best.voltage / 1e3)])
    assert drawn.get_xlabel() == "output current, mA rms"
    assert drawn.get_ylabel() == "output voltage, kV rms"


def test_droop_draws_the_bands_of_both_ends() -> None:
    result, drawn = supply(), axes()
    draw_droop(result, drawn)
    low, high = result.bands["open_circuit.voltage"]
    assert line(drawn, "band open_circuit.voltage") == near([(0.0, low / 1e3), (0.0, high / 1e3)])
    low, high = result.bands["short_circuit.current"]
    assert line(drawn, "band short_circuit.current") == near([(low * 1e3, 0.0), (high * 1e3, 0.0)])
    bare = axes()
    draw_droop(replace(result, bands={}), bare)
    assert not any(str(gid).startswith("band") for gid in gids(bare))


def test_each_load_line_ends_on_the_curve_at_its_own_resistance() -> None:
    result, drawn = supply(), axes()
    draw_droop(result, drawn)
    ends = [item.get_xydata()[-1] for item in drawn.get_lines() if item.get_gid() == "load line"]
    assert len(ends) >= 2
    # Ohm's law: a point of the droop lies on the line of its own load. The invented points obey it within rounding.
    known = {round(p.current * 1e3, 6): p for p in result.droop}
    for milliamperes, kilovolts in ends:
        load = known[round(float(milliamperes), 6)].load_resistance
        assert kilovolts * 1e6 / milliamperes == pytest.approx(load, rel=0.01)


def test_droop_leaves_out_a_point_without_an_answer() -> None:
    result, drawn = supply(), axes()
    draw_droop(replace(result, droop=(*result.droop, point(1.0, float("nan"), float("nan"), 1.0))), drawn)
    assert len(line(drawn, "droop")) == len(result.droop)


def test_gap_missing_shows_converged_points_only() -> None:
    result, drawn = supply(), axes()
    scan = result.gap_missing
    assert scan is not None
    draw_gap_missing(result, drawn)
    good = [p for p in scan.points if p.exact]
    assert len(good) == len(scan.points) - 1
    assert line(drawn, "across") == near([(p.capacitance * 1e9, p.peak / 1e3) for p in good])
    assert line(drawn, "end") == near([(p.capacitance * 1e9, max(p.ends_peak.values()) / 1e3) for p in good])
    assert line(drawn, "no answer") == near([(p.capacitance * 1e9, 0.0) for p in scan.points if not p.exact])
    assert line(drawn, "other states") == near([(40.0, 9900.0 * 0.6 / 1e3)])


def test_gap_missing_marks_the_own_tank_and_the_weakest_rating() -> None:
    result, drawn = supply(), axes()
    scan = result.gap_missing
    assert scan is not None
    assert scan.own is not None
    draw_gap_missing(result, drawn)
    assert line(drawn, "own tank") == near([(50.0, 9.72), (50.0, 4.93)])
    assert [y for _, y in line(drawn, "weakest rating")] == pytest.approx([3.1, 3.1])
    assert "own tank 50.0 nF: 9.72 kV peak" in words(drawn)
    assert "weakest rating to earth\n3.10 kV peak, pencil:\nU1.high" in words(drawn)
    style = {item.get_gid(): item.get_linestyle() for item in drawn.get_lines()}
    assert style["weakest rating"] == "--"
    stamped = axes()
    draw_gap_missing(replace(result, gap_missing=replace(scan, limit_mark="stamped")), stamped)
    assert {item.get_gid(): item.get_linestyle() for item in stamped.get_lines()}["weakest rating"] == "-"


def test_an_own_tank_without_a_converged_answer_is_not_known() -> None:
    result, drawn = supply(), axes()
    scan = result.gap_missing
    assert scan is not None
    lost = GapMissingPoint(5e-8, 1234.0, {"hot_a": 600.0}, exact=False)
    draw_gap_missing(replace(result, gap_missing=replace(scan, own=lost)), drawn)
    assert "own tank 50.0 nF: not known" in words(drawn)
    assert "own tank" not in gids(drawn)
    assert "1.23" not in words(drawn)


def test_gap_missing_not_computed_is_said_in_words() -> None:
    result = supply()
    drawn = axes()
    draw_gap_missing(replace(result, gap_missing=None), drawn)
    assert "not known" in words(drawn)
    assert not drawn.get_lines()
    scan = result.gap_missing
    assert scan is not None
    none_answered = replace(scan, points=tuple(replace(p, exact=False) for p in scan.points))
    drawn = axes()
    draw_gap_missing(replace(result, gap_missing=none_answered), drawn)
    assert "not known" in words(drawn)
    assert not drawn.get_lines()


def test_every_rung_has_its_volts_and_its_limit() -> None:
    result, drawn = supply(), axes()
    draw_stress_ladder(result, drawn)
    for name, volts, limit in (
        ("U1.high\nstart", 1742.0, 2310.0),
        ("U2.high\nstart", 1742.0, 1600.0),
        ("U1.high\nfinish, inner", 0.2, 0.0),
        ("U2\nprimary", 230.5, 253.0),
    ):
        assert {float(y) for _, y in line(drawn, f"volts {name}")} == {volts / 1e3}
        assert max(y for _, y in line(drawn, f"limit {name}")) == limit / 1e3
    labels = [text.get_text() for text in drawn.get_xticklabels()]
    assert len(labels) == 2 * len(result.windings) + len(result.cores)


def test_pencil_limits_are_dashed_and_steps_over_a_limit_are_said() -> None:
    drawn = axes()
    draw_stress_ladder(supply(), drawn)
    style = {item.get_gid(): item.get_linestyle() for item in drawn.get_lines()}
    assert style["limit U1.high\nstart"] == "--"
    assert style["limit U2.high\nstart"] == "-"
    above = [text.get_text() for text in drawn.texts if "ABOVE" in text.get_text()]
    assert above == ["1.74 kV, ABOVE"]  # U2.high start, 1742 V at 1600 V; an inner end at 0.2 V is not above


def test_an_inner_end_off_the_core_is_above_its_limit_of_nothing() -> None:
    result, drawn = supply(), axes()
    lifted = EndStress(900.0, 1273.0, 900.0, 1273.0)
    draw_stress_ladder(
        replace(result, windings={"U1.high": WindingStress(lifted, lifted, 2310.0, 0.0, "pencil", "finish")}, cores={}),
        drawn,
    )
    assert [text.get_text() for text in drawn.texts] == ["900 V", "900 V, ABOVE"]


def test_a_supply_without_windings_has_words_for_a_ladder() -> None:
    drawn = axes()
    draw_stress_ladder(replace(supply(), windings={}, cores={}), drawn)
    assert "No winding" in words(drawn)


@pytest.mark.parametrize("draw", [draw_droop, draw_gap_missing, draw_stress_ladder])
def test_the_same_figure_has_the_same_bytes_and_no_colour(draw) -> None:
    result = supply()
    svg = svg_of(lambda drawn: draw(result, drawn), 0.17, 0.08)
    assert svg == svg_of(lambda drawn: draw(result, drawn), 0.17, 0.08)
    colours = set(re.findall(r"#[0-9a-f]{6}", svg))
    assert colours
    assert all(len({c[1:3], c[3:5], c[5:7]}) == 1 for c in colours)


def test_dollar_signs_and_underscores_in_names_are_drawn_as_they_are() -> None:
    result = supply()
    scan = result.gap_missing
    assert scan is not None
    name = "_$x^2$_ & <b>"
    named = replace(
        result, windings={f"{name}.high": result.windings["U1.high"]}, gap_missing=replace(scan, limit_where=name)
    )
    ladder = svg_of(lambda drawn: draw_stress_ladder(named, drawn), 0.17, 0.08)
    curve = svg_of(lambda drawn: draw_gap_missing(named, drawn), 0.17, 0.08)
    assert "_$x^2$_ &amp; &lt;b&gt;.high" in ladder
    assert "_$x^2$_ &amp; &lt;b&gt;" in curve
