"""The rotor of a rotary gap, to scale: disc, bore, moving and fixed electrodes, dwell angle; a view along the axle."""

from __future__ import annotations

from math import cos, pi, sin

from coilwright.analyses.tank_results import RotaryResult, RotorShape
from coilwright.report.drawing.document import circle, largest_scale, named_scale, svg_document
from coilwright.report.drawing.svg import (
    HEADING,
    MEDIUM,
    PLAIN,
    SMALL,
    THIN,
    Text,
    line,
    number,
    path,
    ring,
    spot,
    text_width,
    wrapped,
)
from coilwright.report.quantities import quantity

#: Room of the disc on the sheet, and the sheet's margin [mm].
SPACE, MARGIN = 120.0, 6.0
#: The scales of drawings, ISO 5455 (from memory): drawn size over true size.
SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)


def drawn_scale(outline: float) -> float:
    """Return the largest usual scale at which ``outline`` [m] keeps inside the room of the sheet."""
    return largest_scale(outline, SPACE, SCALES)


def rotor_layout(result: RotaryResult) -> str:
    """Return the complete SVG, one user unit a millimetre on paper.

    Raises
    ------
    ValueError
        If the rotor's shape is not known.
    """
    shape = result.shape
    if shape is None:
        raise ValueError("the rotor's shape is not known: state electrode and electrode_radius")
    outline = shape.disc_diameter or 2 * shape.aim_radius + 3 * shape.electrode_diameter
    scale = drawn_scale(outline)
    mm = 1e3 * scale
    words = _words(result, shape, scale)
    half = outline * mm / 2
    width = max(2 * half, *(text_width(w.content, w.size) for w in words)) + 2 * MARGIN
    across, down = width / 2, MARGIN + HEADING + 10.0 + half
    height = down + half + 10.0 + sum(w.size * 1.5 for w in words[1:]) + MARGIN
    marks, said = _dwell(shape, across, down, mm)
    marks = [*_disc(shape, across, down, mm), *_electrodes(shape, across, down, mm), *marks]
    texts = [said, words[0].moved(MARGIN, MARGIN + HEADING)]
    y = down + half + 10.0
    for text in words[1:]:
        texts.append(text.moved(MARGIN, y))
        y += text.size * 1.5
    return svg_document(f"Rotor of a rotary gap with {shape.presentations} electrodes", (width, height), marks, texts)


def _disc(shape: RotorShape, x: float, y: float, mm: float) -> list[str]:
    marks = []
    if shape.disc_diameter is not None:
        marks.append(circle(x, y, shape.disc_diameter / 2 * mm, MEDIUM, 'class="disc"'))
    if shape.bore is not None:
        marks.append(circle(x, y, shape.bore / 2 * mm, MEDIUM, 'class="bore"'))
    marks.append(circle(x, y, shape.aim_radius * mm, THIN, 'class="aim" stroke-dasharray="3 1 0.6 1"'))
    return [*marks, line(x - 3, y, x + 3, y), line(x, y - 3, x, y + 3)]


def _electrodes(shape: RotorShape, x: float, y: float, mm: float) -> list[str]:
    """Return the moving electrodes as rings, and the fixed one above the topmost, drawn beside it by its outline."""
    radius, aim = shape.electrode_diameter / 2 * mm, shape.aim_radius * mm
    marks = []
    for k in range(shape.presentations):
        angle = 2 * pi * k / shape.presentations - pi / 2
        marks.append(ring(x + aim * cos(angle), y + aim * sin(angle), radius, MEDIUM))
    fixed = circle(x, y - aim, radius * 1.25, THIN, 'class="fixed"')
    return [*marks, fixed, spot(x, y - aim, min(0.6, radius / 2), "fixed")]


def _dwell(shape: RotorShape, x: float, y: float, mm: float) -> tuple[list[str], Text]:
    """Return the angle through which one electrode overlaps the fixed one, as two rays and an arc, and its word."""
    aim, half = shape.aim_radius * mm, shape.dwell_angle / 2
    ends = [(x + aim * sin(s * half), y - aim * cos(half)) for s in (-1, 1)]
    rays = [line(x, y, *end) for end in ends]
    near = 0.55 * aim
    left, right = ((x + near * sin(s * half), y - near * cos(half)) for s in (-1, 1))
    start, end = (f"{number(px)} {number(py)}" for px, py in (left, right))
    arc = f"M{start}A{number(near)} {number(near)} 0 0 1 {end}"
    label = Text("dwell", right[0] + 1.5, right[1] + 1.0, SMALL)
    return [*rays, path(arc)], label


def _words(result: RotaryResult, shape: RotorShape, scale: float) -> list[Text]:
    circle = f"on a circle of {quantity(2 * shape.aim_radius, 'm')}, centre to centre through the axle"
    time = f", {quantity(result.dwell.value, 's')} at {quantity(result.speed, 'rev/s')}" if result.dwell else ""
    lines = [
        f"{shape.presentations} electrodes of {quantity(shape.electrode_diameter, 'm')} {circle}",
        _disc_words(shape),
        f"Dwell {shape.dwell_angle * 180 / pi:.3g} degrees{time}",
        "One fixed electrode stands on either side of the disc, opposite the double ring.",
    ]
    if shape.axial_gap is not None:
        lines.append(f"Axial gap {quantity(shape.axial_gap, 'm')} on each side of the disc")
    if result.shield_thickness is not None:
        lines.append("Not drawn: the shield. " + result.shield_words)
    texts = [Text(f"Rotor, {named_scale(scale)}", 0.0, 0.0, HEADING, bold=True)]
    return texts + [Text(w, 0.0, 0.0, PLAIN) for words in lines for w in wrapped(words, PLAIN, SPACE + 40.0)]


def _disc_words(shape: RotorShape) -> str:
    if shape.disc_diameter is None:
        return "Disc not stated: not drawn"
    words = f"Disc {quantity(shape.disc_diameter, 'm')}"
    words += f", {quantity(shape.thickness, 'm')} thick" if shape.thickness is not None else ""
    words += f", bore {quantity(shape.bore, 'm')}" if shape.bore is not None else ", bore not stated"
    return words + (f", bolts {quantity(shape.bolt, 'm')}" if shape.bolt is not None else ", bolts not stated")


__all__ = ["SCALES", "drawn_scale", "rotor_layout"]
