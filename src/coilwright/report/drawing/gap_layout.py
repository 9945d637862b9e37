"""The spark gap to scale: electrodes in their row, every spacing, and one gap enlarged, with its dimensions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

from coilwright.analyses.tank_results import GapResult
from coilwright.report.drawing.document import largest_scale, named_scale, svg_document
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
    wrapped,
)
from coilwright.report.quantities import quantity

MARGIN = 6.0
#: Room for the row (wide, tall) and for the enlarged gap, of which so much height is drawn [mm]; and the scales of
#: drawings, ISO 5455 (from memory).
WIDE, TALL, DETAIL, FACE = 160.0, 60.0, 34.0, 26.0
SCALES = (20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
#: Assumed where the project states no diameter [m]; the drawing says so.
UNKNOWN_DIAMETER = 10e-3
#: Length drawn of a rod or plate, over its diameter; they are cut off there.
SHANK = {"rod": 1.5, "plate": 0.3, "point": 1.5}
ROUND = ("sphere", "tube")
HOW = {
    "sphere": "Spheres, on their shanks (not drawn)",
    "tube": "Tubes side by side, seen end on",
    "rod": "Rods end to end, cut off at their outer ends",
    "plate": "Plates with rounded edges, seen from the side",
    "point": "Points end to end",
}


@dataclass(frozen=True)
class _Row:
    """The row in metres: electrodes along x, each ``long`` in that direction and ``tall`` across it."""

    form: str
    count: int
    long: float
    tall: float
    spacing: float

    @property
    def length(self) -> float:
        return self.count * self.long + (self.count - 1) * self.spacing


def gap_layout(gap: GapResult) -> str:
    """Return the complete SVG, one user unit a millimetre on paper.

    The root carries ``data-scale`` (paper over gap) and ``data-spacing`` [m] of each gap; every electrode has the class
    ``electrode``.

    Raises
    ------
    ValueError
        If the spacing is not known.
    """
    if gap.spacing_each is None:
        raise ValueError("the gap's spacing is not known: state spacing or voltage")
    tall = gap.diameter if gap.diameter is not None else UNKNOWN_DIAMETER
    long = tall if gap.form in ROUND else SHANK[gap.form] * tall
    row = _Row(gap.form, gap.segments + 1, long, tall, gap.spacing_each.value)
    scale = min(largest_scale(row.length, WIDE, SCALES), largest_scale(row.tall, TALL, SCALES))
    words = _words(gap, scale)
    enlarged = largest_scale(3.0 * row.spacing, DETAIL, SCALES)
    head = MARGIN + HEADING + 9.0
    half = row.tall * 1e3 * scale / 2
    marks, texts = _row(row, scale, MARGIN, head + half)
    lower = head + 2 * half + 14.0
    more, said = _detail(row, enlarged, MARGIN, lower)
    marks, texts = [*marks, *more], [*texts, *said]
    y = lower + DETAIL + 8.0
    texts.append(words[0].moved(MARGIN, MARGIN + HEADING))
    for text in words[1:]:
        texts.append(text.moved(MARGIN, y))
        y += 1.5 * text.size
    width = max(row.length * 1e3 * scale, *(t.box.x1 - MARGIN for t in texts)) + 2 * MARGIN
    data = f'data-scale="{scale:g}" data-spacing="{row.spacing:.6g}"'
    return svg_document(f"Spark gap of {gap.segments} x {gap.form}", (width, y + MARGIN), marks, texts, data=data)


# ---- the row ---------------------------------------------------------------------------------------------------------


def _row(row: _Row, scale: float, x: float, y: float) -> tuple[list[str], list[Text]]:
    """Return every electrode of the row, its axis, and the dimensions of its whole length and its electrodes."""
    mm = 1e3 * scale
    marks = []
    at = x
    for k in range(row.count):
        marks.append(_electrode(row, k, at, y, mm))
        at += (row.long + row.spacing) * mm
    end = x + row.length * mm
    below = y + row.tall * mm / 2 + 4.0
    texts = [Text(f"diameter {quantity(row.tall, 'm')}", x, below + 4.2, SMALL)]
    if row.form in ROUND:
        marks += _dimension(x, x + row.long * mm, below)
    axis = f"M{number(x - 3)} {number(y)}H{number(end + 3)}"
    marks.append(f'<path d="{axis}" stroke-width="0.2" stroke-dasharray="4 1 1 1"/>')
    return marks, texts


def _electrode(row: _Row, k: int, x: float, y: float, mm: float) -> str:
    half, long = row.tall * mm / 2, row.long * mm
    if row.form in ROUND:
        return (
            f'<circle class="electrode" cx="{number(x + half)}" cy="{number(y)}" r="{number(half)}" '
            f'stroke-width="{number(MEDIUM)}"/>'
        )
    if row.form == "point":
        tips = [(x, k > 0), (x + long, k < row.count - 1)]
        left, right = (min(half, long / 2) if pointed else 0.0 for _, pointed in tips)
        outline = (
            f"M{number(x + left)} {number(y - half)}H{number(x + long - right)}L{number(x + long)} "
            f"{number(y if right else y - half)}L{number(x + long - right)} {number(y + half)}H{number(x + left)}"
            f"L{number(x)} {number(y if left else y + half)}Z"
        )
        return f'<path class="electrode" d="{outline}" stroke-width="{number(MEDIUM)}"/>'
    corner = 0.02 * row.tall * mm if row.form == "rod" else min(long, half) / 2
    return (
        f'<rect class="electrode" x="{number(x)}" y="{number(y - half)}" width="{number(long)}" '
        f'height="{number(2 * half)}" rx="{number(corner)}" stroke-width="{number(MEDIUM)}"/>'
    )


# ---- one gap enlarged ------------------------------------------------------------------------------------------------


def _detail(row: _Row, scale: float, x: float, y: float) -> tuple[list[str], list[Text]]:
    """Return the faces of one gap at a larger scale, with the spacing between them dimensioned."""
    mm = 1e3 * scale
    wide, middle = row.spacing * mm, x + DETAIL
    left, right = middle - wide / 2, middle + wide / 2
    at = y + FACE / 2
    marks = [_face(row, left, at, -1.0, mm), _face(row, right, at, 1.0, mm)]
    marks += _dimension(left, right, y + FACE + 3.0)
    label = Text(f"each gap {quantity(row.spacing, 'm')}", middle + wide / 2 + 4.0, y + FACE + 4.0, SMALL)
    note = Text(f"one gap, {named_scale(scale)}", middle + DETAIL + 2.0, at, SMALL)
    return marks, [label, note]


def _face(row: _Row, x: float, y: float, sign: float, mm: float) -> str:
    """Return the outline of one face near the gap, cut off away from it."""
    half, depth = FACE / 2, min(DETAIL / 2, row.tall * mm / 2)
    back = x + sign * depth
    if row.form in ROUND:
        radius = row.tall * mm / 2
        high = min(half, radius)
        back = x + sign * (radius - sqrt(radius**2 - high**2))
        start, end = f"{number(back)} {number(y - high)}", f"{number(back)} {number(y + high)}"
        return path(f"M{start}A{number(radius)} {number(radius)} 0 0 {1 if sign < 0 else 0} {end}", MEDIUM)
    if row.form == "point":
        start, end = f"{number(back)} {number(y - half)}", f"{number(back)} {number(y + half)}"
        return path(f"M{start}L{number(x)} {number(y)}L{end}", MEDIUM)
    high = min(half, row.tall * mm / 2)
    return path(f"M{number(back)} {number(y - high)}H{number(x)}V{number(y + high)}H{number(back)}", MEDIUM)


def _dimension(x0: float, x1: float, y: float) -> list[str]:
    """Return a dimension line with its ticks; arrows outside where there is no room between them."""
    ticks = [line(x, y - 1.5, x, y + 1.5) for x in (x0, x1)]
    outside = x1 - x0 < 6.0
    ends = [(x0, -1.6 if outside else 1.6), (x1, 1.6 if outside else -1.6)]
    arrows = [
        path(f"M{number(x + s)} {number(y - 0.7)}L{number(x)} {number(y)}L{number(x + s)} {number(y + 0.7)}")
        for x, s in ends
    ]
    reach = 4.0 if outside else 0.0
    return [*ticks, line(x0 - reach, y, x1 + reach, y, THIN), *arrows]


# ---- words -----------------------------------------------------------------------------------------------------------


def _words(gap: GapResult, scale: float) -> list[Text]:
    return [Text(f"Spark gap, {named_scale(scale)}", 0.0, 0.0, HEADING, bold=True)] + [
        Text(words, 0.0, 0.0, PLAIN) for sentence in _sentences(gap) for words in wrapped(sentence, PLAIN, WIDE)
    ]


def _sentences(gap: GapResult) -> Iterator[str]:
    yield f"{HOW[gap.form]}." + (" Diameter not stated: 10 mm drawn." if gap.diameter is None else "")
    each = gap.spacing_each
    if each is not None:
        made = f"{gap.segments} x {quantity(each.value, 'm')}" if gap.segments > 1 else str(quantity(each.value, "m"))
        yield f"Spacing {made}, {each.mark}; set by firing it, not by this drawing."
    if gap.breakdown_peak is not None:
        yield f"Breaks down at {quantity(gap.breakdown_peak.value, 'V')} peak across, cold, {gap.breakdown_peak.mark}."
    if gap.largest_setting is not None:
        yield f"Never set above {quantity(gap.largest_setting.value, 'V')} peak: {gap.limited_by}."
    yield "Tank discharged and shorted, plug pulled, before every adjustment."


__all__ = ["SCALES", "gap_layout"]
