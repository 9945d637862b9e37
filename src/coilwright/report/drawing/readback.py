"""Read a wiring drawing as a builder would: from where lines, dots and terminals are, not from what they are called.

The names come from the page too: a terminal's name belongs to its place, a joint's name to the level wire under it.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET  # our own output only
from dataclasses import dataclass, field
from itertools import pairwise

from coilwright.report.drawing.svg import Box, Text

_NEAR = 0.02  # places that count as one [mm]
_UNDER = 2.0  # a joint's name stands at most so far above its wire [mm]
_SVG = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]


@dataclass(frozen=True)
class LabelBox:
    """A text and the box in which it lies, by cautious font metrics [mm]."""

    content: str
    box: Box


@dataclass
class Sheet:
    """What is on the page. ``wires`` are polylines; ``terminals`` are places by name."""

    wires: list[list[Point]] = field(default_factory=list)
    dots: list[Point] = field(default_factory=list)
    terminals: dict[str, Point] = field(default_factory=dict)
    texts: list[Text] = field(default_factory=list)
    size: Point = (0.0, 0.0)


def read_sheet(svg: str) -> Sheet:
    """Return the places of all wires, junction dots, terminals and texts of a drawing made by ``wiring_svg``."""
    root = ET.fromstring(svg)  # noqa: S314  (our own output, never a file from elsewhere)
    sheet = Sheet(size=tuple(float(v) for v in root.get("viewBox", "0 0 0 0").split()[2:]))  # type: ignore[arg-type]
    for element in root.iter():
        kinds = element.get("class", "").split()
        if element.tag == f"{_SVG}polyline" and "wire" in kinds:
            pairs = (pair.split(",") for pair in element.get("points", "").split())
            sheet.wires.append([(float(x), float(y)) for x, y in pairs])
        elif element.tag == f"{_SVG}circle" and "junction" in kinds:
            sheet.dots.append(_centre(element))
        elif element.get("data-terminal") is not None:
            sheet.terminals[element.get("data-terminal", "")] = _centre(element)
        elif element.tag == f"{_SVG}text":
            sheet.texts.append(
                Text(
                    element.text or "",
                    float(element.get("x", 0)),
                    float(element.get("y", 0)),
                    float(element.get("font-size", 0)),
                    element.get("text-anchor", "start"),
                    element.get("font-weight") == "bold",
                    element.get("data-joint"),
                )
            )
    return sheet


def label_boxes(svg: str) -> list[LabelBox]:
    """Return the box of every text of the drawing."""
    return [LabelBox(text.content, text.box) for text in read_sheet(svg).texts]


def read_back(svg: str) -> dict[str, frozenset[str]]:
    """Return the netlist that the lines of the drawing make: the terminals of each joint.

    Wires connect where two ends touch, and wherever they meet or cross under a junction dot; wires that lie upon each
    other connect. A crossing without a dot does not connect, nor does an end upon another line, nor three ends that
    meet. A terminal is connected to the wire that ends at it or runs over it. A joint whose wires bear two names is
    called by both, joined by " + "; one without a name is called "?" and a number, so that neither can pass for the
    joint that was meant.
    """
    sheet = read_sheet(svg)
    group = _groups(sheet)
    members: dict[int, set[str]] = {g: set() for g in group}
    for name, place in sheet.terminals.items():
        for k, wire in enumerate(sheet.wires):
            if any(_on(place, a, b) for a, b in _pieces(wire)):
                members[group[k]].add(name)
    names: dict[int, set[str]] = {g: set() for g in group}
    for text in sheet.texts:
        wire_index = _wire_under(text, sheet) if text.joint is not None else None
        if text.joint is not None and wire_index is not None:
            names[group[wire_index]].add(text.joint)
    result: dict[str, frozenset[str]] = {}
    for count, g in enumerate(sorted(members)):
        result[" + ".join(sorted(names[g])) or f"?{count}"] = frozenset(members[g])
    return result


def _groups(sheet: Sheet) -> list[int]:
    """Return for every wire the number of the group of connected wires to which it belongs."""
    group = list(range(len(sheet.wires)))

    def root(k: int) -> int:
        while group[k] != k:
            k = group[k]
        return k

    pieces = [_pieces(wire) for wire in sheet.wires]
    for i in range(len(pieces)):
        for j in range(i):
            if any(_upon(p, q) for p in pieces[i] for q in pieces[j]):
                group[root(i)] = root(j)
    for i, wire in enumerate(sheet.wires):
        for end in (wire[0], wire[-1]):
            meet = [j for j, mine in enumerate(pieces) if any(_on(end, *piece) for piece in mine)]
            ends = [j for j in meet if _same(end, sheet.wires[j][0]) or _same(end, sheet.wires[j][-1])]
            if len(meet) == len(ends) == 2:
                group[root(i)] = root(ends[0] if ends[1] == i else ends[1])
    for dot in sheet.dots:
        under = [k for k, mine in enumerate(pieces) if any(_on(dot, *piece) for piece in mine)]
        for k in under[1:]:
            group[root(k)] = root(under[0])
    return [root(k) for k in range(len(group))]


def _upon(p: tuple[Point, Point], q: tuple[Point, Point]) -> bool:
    """Return whether the two pieces share a length of line."""
    for axis in (0, 1):
        level = p[0][axis]
        if all(abs(point[axis] - level) <= _NEAR for point in (p[1], *q)):
            (a, b), (c, d) = (sorted(point[1 - axis] for point in piece) for piece in (p, q))
            if min(b, d) - max(a, c) > _NEAR:
                return True
    return False


def _wire_under(text: Text, sheet: Sheet) -> int | None:
    """Return the wire whose level piece runs nearest below the middle of the text."""
    middle = (text.box.x0 + text.box.x1) / 2
    best: tuple[float, int] | None = None
    for k, wire in enumerate(sheet.wires):
        for a, b in _pieces(wire):
            under = a[1] - text.y
            if abs(a[1] - b[1]) <= _NEAR and 0 < under <= _UNDER and min(a[0], b[0]) <= middle <= max(a[0], b[0]):
                best = min(best or (under, k), (under, k))
    return None if best is None else best[1]


def _pieces(wire: list[Point]) -> list[tuple[Point, Point]]:
    return list(pairwise(wire))


def _centre(element: ET.Element) -> Point:
    return float(element.get("cx", 0)), float(element.get("cy", 0))


def _same(a: Point, b: Point) -> bool:
    return abs(a[0] - b[0]) <= _NEAR and abs(a[1] - b[1]) <= _NEAR


def _on(point: Point, a: Point, b: Point) -> bool:
    (x0, x1), (y0, y1) = sorted((a[0], b[0])), sorted((a[1], b[1]))
    return x0 - _NEAR <= point[0] <= x1 + _NEAR and y0 - _NEAR <= point[1] <= y1 + _NEAR


__all__ = ["LabelBox", "Sheet", "label_boxes", "read_back", "read_sheet"]
