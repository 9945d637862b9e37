"""The reading back sees a drawing that is wrong: every fault is planted in a drawing that was right."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from coilwright.report.drawing import read_back, route, wiring_svg
from coilwright.report.drawing.readback import read_sheet
from coilwright.report.drawing.route import Wires
from report.invented_wiring import ARRANGEMENTS, PARTS

PAIR = ARRANGEMENTS["pair"]
NETLIST = {joint: frozenset(terminals) for joint, terminals in PAIR.joints.items()}


def sheet_of(*, wires: str = "", dots: str = "", terminals: str = "", texts: str = "") -> str:
    """Return a small drawing: polylines by ";", dots and terminals by " ", in the units of the page."""
    body = [f'<polyline class="wire" points="{points}"/>' for points in wires.split(";") if points]
    body += [f'<circle class="junction" cx="{d.split(",")[0]}" cy="{d.split(",")[1]}"/>' for d in dots.split()]
    for item in terminals.split():
        name, place = item.split("@")
        x, y = place.split(",")
        body.append(f'<circle data-terminal="{name}" cx="{x}" cy="{y}"/>')
    for item in texts.split():
        name, place = item.split("@")
        x, y = place.split(",")
        body.append(f'<text x="{x}" y="{y}" font-size="1" data-joint="{name}">{name}</text>')
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 90">{"".join(body)}</svg>'


CROSS = "0,10 20,10;10,0 10,20"
ENDS = "w@0,10 e@20,10 n@10,0 s@10,20"


@pytest.mark.parametrize(
    ("wires", "dots", "groups"),
    [
        (CROSS, "", ["ew", "ns"]),  # a bare crossing does not join
        (CROSS, "10,10", ["ensw"]),  # a dot does
        ("0,10 20,10;10,0 10,10", "", ["ew", "n"]),  # an end on a line, without a dot
        ("0,10 20,10;10,0 10,10", "10,10", ["enw"]),
        ("0,10 10,10;10,10 20,10", "", ["ew"]),  # ends that touch
        ("0,10 10,10;10,10 10,0", "", ["nw"]),
        ("0,10 15,10;5,10 20,10", "", ["ew"]),  # lines upon each other
        ("0,10 10,10;20,10 10,10;10,0 10,10", "", ["e", "n", "w"]),  # three ends, without a dot
        ("0,10 10,10;20,10 10,10;10,0 10,10", "10,10", ["enw"]),
        ("0,10 9,10;11,10 20,10", "", ["e", "w"]),  # a gap
    ],
)
def test_what_joins_and_what_does_not(wires, dots, groups):
    found = read_back(sheet_of(wires=wires, dots=dots, terminals=ENDS))
    assert sorted("".join(sorted(held)) for held in found.values()) == sorted(groups)


def test_names_belong_to_the_level_wire_below_them():
    svg = sheet_of(wires="0,10 20,10;0,30 20,30", terminals="w@0,10 e@20,30", texts="first@5,9 second@5,29")
    assert read_back(svg) == {"first": {"w"}, "second": {"e"}}
    both = sheet_of(wires="0,10 20,10", terminals="w@0,10", texts="first@5,9 second@12,9")
    assert read_back(both) == {"first + second": {"w"}}
    assert read_back(sheet_of(wires="0,10 20,10", terminals="w@0,10", texts="far@5,5")) == {"?0": {"w"}}


def test_each_junction_dot_counts():
    svg = wiring_svg(PAIR, PARTS)
    dots = re.findall(r'<circle class="junction"[^>]*/>', svg)
    assert len(dots) >= 5
    for dot in dots:
        assert read_back(svg.replace(dot, "", 1)) != NETLIST, dot


def test_each_wire_counts():
    svg = wiring_svg(PAIR, PARTS)
    wires = re.findall(r"<polyline[^>]*/>", svg)
    assert len(wires) == len(read_sheet(svg).wires)
    for wire in wires:
        assert read_back(svg.replace(wire, "", 1)) != NETLIST, wire


def test_a_dot_on_a_crossing_shorts_two_joints():
    svg = wiring_svg(PAIR, PARTS)
    crossings = [(x, y) for x, y, one, other in _crossings(svg) if one != other]
    assert crossings
    x, y = crossings[0]
    shorted = svg.replace("</svg>", f'<circle class="junction" cx="{x}" cy="{y}" r="1"/></svg>')
    assert len(read_back(shorted)) == len(NETLIST) - 1


def _crossings(svg: str) -> list[tuple[float, float, str, str]]:
    lines = [
        (name, [tuple(map(float, p.split(","))) for p in points.split()])
        for name, points in re.findall(r'data-net="([^"]*)" points="([^"]*)"', svg)
    ]
    pieces = [(name, a, b) for name, points in lines for a, b in pairwise(points)]
    return [
        (c[0], a[1], one, other)
        for one, a, b in pieces
        if a[1] == b[1]
        for other, c, d in pieces
        if c[0] == d[0] and min(a[0], b[0]) < c[0] < max(a[0], b[0]) and min(c[1], d[1]) < a[1] < max(c[1], d[1])
    ]


def test_a_broken_router_is_found_out(monkeypatch):
    """One track for all joints of a channel: the wires lie upon each other, and the reading back says so."""

    def one_track(runs):
        for run in runs:
            run.track = 0
        return 1

    monkeypatch.setattr(route, "_tracks", one_track)
    assert read_back(wiring_svg(PAIR, PARTS)) != NETLIST


def test_a_router_without_dots_is_found_out(monkeypatch):
    joined = route._joined

    def without_dots(*args):
        wires = joined(*args)
        return Wires(wires.joint, wires.lines, (), wires.free)

    monkeypatch.setattr(route, "_joined", without_dots)
    assert read_back(wiring_svg(PAIR, PARTS)) != NETLIST
