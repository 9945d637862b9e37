"""A home-made tank capacitor to scale: the stack, the roll or a bottle, with the pieces to cut beside it.

Each view has its own scale, printed with a bar. Thicknesses of sheet and foil are too small for paper: they are drawn
as lines, and the words say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from coilwright.analyses.tank_results import PlatesResult
from coilwright.report.drawing.document import FONT, circle, rectangle, scale_bar, svg_document
from coilwright.report.drawing.svg import (
    HEAVY,
    MEDIUM,
    PLAIN,
    SMALL,
    STRONG,
    THIN,
    Text,
    clean,
    line,
    number,
    path,
    wrapped,
)
from coilwright.report.quantities import quantity

WIDTH, MARGIN, VIEW, ROOM = 180.0, 8.0, 62.0, 14.0  # of the sheet, its margin, a view, and the room below a view [mm]
_SHOWN = 14  # sheets that are drawn in the section; the rest is a break


@dataclass(frozen=True)
class _View:
    """One view in its own square: art and texts in sheet millimetres, and its scale in mm on paper per m."""

    art: tuple[str, ...]
    texts: tuple[Text, ...]
    scale: float


def plates_svg(plates: PlatesResult, font: str = FONT) -> str:
    """Return the drawing of the capacitor as SVG text, to scale, with a scale bar under each view."""
    left, right = MARGIN, WIDTH / 2 + 2
    top = 16.0
    draw = {"flat": (_plan, _section), "rolled": (_unrolled, _end_on), "cylinder": (_bottle, _shelf)}[plates.form]
    views = [make(plates, x, top) for make, x in zip(draw, (left, right), strict=True)]
    title = Text(_title(plates), MARGIN, 9.0, STRONG, bold=True)
    art = [mark for v in views for mark in v.art]
    texts = [title, *(t for v in views for t in v.texts)]
    for v, x in zip(views, (left, right), strict=True):
        bar, words = scale_bar(v.scale / 1e3, x, top + VIEW + 6.0, VIEW / 2)
        art += bar
        texts.append(words)
    y = top + VIEW + ROOM + 2
    for note in _notes(plates):
        for words_line in wrapped(clean(note), PLAIN, WIDTH - 2 * MARGIN):
            y += 4.0
            texts.append(Text(words_line, MARGIN, y))
    return svg_document(_title(plates), (WIDTH, y + MARGIN), art, texts, font=font)


# ---- views -----------------------------------------------------------------------------------------------------------


def _plan(p: PlatesResult, x: float, y: float) -> _View:
    """Sheet with its foil and tab, seen from above; the next foil's tab leaves on the other side."""
    long, wide = p.stack[0], p.stack[1]
    tab = max(p.sheets[1].length - p.foil_length - p.margin, 0.0) if len(p.sheets) > 1 else 0.0
    scale = min((VIEW - 8) / (long + 2 * tab), (VIEW - 8) / wide)
    x0, y0 = x + tab * scale + 2, y + 4
    m, fl, fw = p.margin * scale, p.foil_length * scale, p.foil_width * scale
    art = [
        rectangle(x0, y0, long * scale, wide * scale),
        rectangle(x0 + m, y0 + m, fl, fw, MEDIUM),
        rectangle(x0 + long * scale - m, y0 + m + 0.15 * fw, m + tab * scale, 0.3 * fw, MEDIUM),
        rectangle(x0 - tab * scale, y0 + m + 0.55 * fw, m + tab * scale, 0.3 * fw, extra='stroke-dasharray="1.2 0.9"'),
    ]
    middle = x0 + m + fl / 2
    texts = [
        *_across(x0, x0 + long * scale, y0 - 1.5, f"sheet {quantity(long, 'm')}"),
        *_across(x0, x0 + long * scale, y0 + wide * scale + 3.6, f"margin {quantity(p.margin, 'm')} on every side"),
        Text(f"foil {quantity(p.foil_length, 'm')}", middle, y0 + m + fw / 2, SMALL, "middle"),
        Text(f"x {quantity(p.foil_width, 'm')}", middle, y0 + m + fw / 2 + 3.2, SMALL, "middle"),
    ]
    return _View(tuple(art), tuple(texts), scale)


def _section(p: PlatesResult, x: float, y: float) -> _View:
    """Side of the stack: its height to scale, foils that leave left and right in turn as lines."""
    long, height = p.stack[0], p.stack[2]
    scale = (VIEW - 8) / max(long, height)
    w, h = long * scale, height * scale
    x0, y0 = x + 4, y + 4 + max((VIEW - 8 - h) / 2, 0)
    foils = p.count + 1
    shown = min(foils, _SHOWN)
    art = [rectangle(x0, y0, w, h)]
    m = p.margin * scale
    for k in range(shown):
        at = y0 + h * (k + 1) / (shown + 1)
        out = -3.0 if k % 2 else 3.0
        a, b = (x0 + m + min(out, 0) - (m if out < 0 else 0), x0 + w - m + max(out, 0) + (m if out > 0 else 0))
        art.append(line(a, at, b, at))
    label = f"{foils} foils" + (f", {shown} drawn" if shown < foils else "")
    texts = [
        Text(f"{label}, left and right in turn", x0, y0 - 1.5, SMALL),
        Text(f"stack {quantity(height, 'm')} high", x0, y0 + h + 4, SMALL),
    ]
    return _View(tuple(art), tuple(texts), scale)


def _unrolled(p: PlatesResult, x: float, y: float) -> _View:
    """Foil on its sheet, unrolled; the second pair lies on it, shifted to the other side."""
    sheet = p.sheets[0]
    scale = min((VIEW - 8) / sheet.length, (VIEW - 8) / (2.5 * sheet.width))
    m, w, h = p.margin * scale, sheet.length * scale, sheet.width * scale
    tab = max(p.sheets[1].width - p.foil_width, 0.0) * scale
    x0, art, texts = x + 2, [], []
    for k, name in enumerate(
        ("first sheet, its foil out at this side", "second sheet, its foil out at the other side")
    ):
        y0 = y + 8 + k * (h + 12)
        foil = y0 + m - (0.0 if k else tab)
        art += [
            rectangle(x0, y0, w, h),
            rectangle(x0 + m, foil, p.foil_length * scale, p.foil_width * scale + tab, MEDIUM),
        ]
        texts.append(Text(name, x0, y0 - 2.5 - max(tab - m, 0.0) * (1 - k), SMALL))
    texts.append(Text(f"{quantity(sheet.length, 'm')} x {quantity(sheet.width, 'm')}", x0, y + 8 + 2 * h + 18, SMALL))
    return _View(tuple(art), tuple(texts), scale)


def _end_on(p: PlatesResult, x: float, y: float) -> _View:
    """End of the roll: a spiral of as many turns as it has (half a line for each foil)."""
    diameter, turns = p.diameter or p.stack[1], p.turns or 1.0
    scale = (VIEW - 10) / diameter
    cx, cy = x + VIEW / 2 + 4, y + VIEW / 2
    outer = diameter / 2 * scale
    core = min(p.sheets[-1].width / 2 * scale, outer * 0.9)
    points = []
    steps = max(48, int(turns * 48))
    for k in range(steps + 1):
        radius = core + (outer - core) * k / steps
        angle = 2 * pi * turns * k / steps
        points.append((cx + radius * cos(angle), cy + radius * sin(angle)))
    art = (
        circle(cx, cy, core),
        path("M" + "L".join(f"{number(a)} {number(b)}" for a, b in points), THIN),
        circle(cx, cy, outer),
    )
    texts = (
        Text(f"{turns:.1f} turns on {quantity(p.sheets[-1].width, 'm')}", x + 4, y + 1.5, SMALL),
        *_across(cx - outer, cx + outer, y + VIEW - 1.5, str(quantity(diameter, "m"))),
    )
    return _View(art, texts, scale)


def _bottle(p: PlatesResult, x: float, y: float) -> _View:
    """One bottle or tube in section: wall, foil outside, foil or brine inside up to the same height."""
    diameter, height = p.diameter or p.stack[1], p.sheets[0].length
    scale = (VIEW - 10) / max(height, diameter)
    w, h = diameter * scale, height * scale
    wall = max(p.thickness * scale, 0.5)
    x0, y0 = x + (VIEW - w) / 2, y + 4
    foil = p.foil_width * scale
    art = (
        rectangle(x0, y0, w, h),
        path(f"M{number(x0 + wall)} {number(y0)}V{number(y0 + h - wall)}H{number(x0 + w - wall)}V{number(y0)}"),
        line(x0 - 0.6, y0 + h - foil, x0 - 0.6, y0 + h, HEAVY),
        line(x0 + w + 0.6, y0 + h - foil, x0 + w + 0.6, y0 + h, HEAVY),
        line(x0 + wall + 0.6, y0 + h - foil, x0 + wall + 0.6, y0 + h - wall, HEAVY),
        line(x0 + w - wall - 0.6, y0 + h - foil, x0 + w - wall - 0.6, y0 + h - wall, HEAVY),
    )
    texts = (
        *_across(x0, x0 + w, y0 - 1.5, str(quantity(diameter, "m"))),
        Text(f"foil {quantity(p.foil_width, 'm')} high", x0 + w + 3, y0 + h - foil / 2, SMALL),
        Text("bare neck", x0 + w + 3, y0 + 4, SMALL),
    )
    return _View(art, texts, scale)


def _shelf(p: PlatesResult, x: float, y: float) -> _View:
    """All bottles from above, outsides joined, insides joined."""
    long, wide = p.stack[0], p.stack[1]
    scale = (VIEW - 8) / max(long, wide)
    pitch = 1.1 * (p.diameter or wide)
    across = max(1, round(long / pitch))
    art = [rectangle(x + 4, y + 4, long * scale, wide * scale)]
    for k in range(p.count):
        row, column = divmod(k, across)
        art.append(
            circle(
                x + 4 + (column + 0.5) * pitch * scale,
                y + 4 + (row + 0.5) * pitch * scale,
                (p.diameter or wide) / 2 * scale,
            )
        )
    texts = (Text(f"{p.count} in parallel, {quantity(long, 'm')} x {quantity(wide, 'm')}", x + 4, y + 2.2, SMALL),)
    return _View(tuple(art), texts, scale)


# ---- pieces ----------------------------------------------------------------------------------------------------------


def _title(p: PlatesResult) -> str:
    what = {"flat": "Flat stack", "rolled": "Rolled foil", "cylinder": "Bottles or tubes"}[p.form]
    return f"{what}: {p.count} of {p.dielectric}, {quantity(p.capacitance.value, 'F')}"


def _notes(p: PlatesResult) -> Sequence[str]:
    pieces = "; ".join(
        f"{c.count} x {c.what} {quantity(c.length, 'm')} x {quantity(c.width, 'm')}"
        + (f" x {quantity(c.thickness, 'm')}" if c.thickness else "")
        for c in p.sheets
    )
    care = (
        "Round the foil's corners; no crumb, no fold, no air between foil and sheet. Short it with a wire when it is "
        "not in use."
    )
    return (
        f"To cut: {pieces}.",
        "Widths and lengths to scale; sheet and foil are drawn as lines, thicker than they are.",
        care,
    )


def _across(x0: float, x1: float, y: float, words: str) -> tuple[Text, ...]:
    return (Text(words, (x0 + x1) / 2, y, SMALL, "middle"),)


__all__ = ["plates_svg"]
