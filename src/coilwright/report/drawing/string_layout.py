"""The board of a string bank from above, to scale: own line art in millimetres, black on white, with a scale bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coilwright.analyses.tank_results import StringResult
from coilwright.capacitors.layout import BleederPlace, Body, Layout, Point, Strap
from coilwright.report.drawing.document import largest_scale, rectangle, scale_bar, svg_document
from coilwright.report.drawing.svg import (
    HEADING,
    HEAVY,
    MEDIUM,
    PLAIN,
    SMALL,
    THIN,
    Text,
    clean,
    line,
    number,
    ring,
    spot,
    text_width,
    wrapped,
)
from coilwright.report.quantities import quantity

MARGIN = 6.0
#: The widest and tallest that the board is drawn [mm], and the scales, as paper over board, that are taken.
WIDEST, TALLEST = 180.0, 190.0
SCALES = (1.0, 1 / 2, 1 / 2.5, 1 / 5, 1 / 10, 1 / 20, 1 / 50)
_LEAST_WIDTH = 130.0


def string_layout_svg(row: StringResult, *, font: str = "B612, sans-serif") -> str:
    """Return the board as an SVG document, its unit the millimetre, at the largest usual scale that fits a page.

    Every body is a ``rect`` with ``data-body`` "string.place"; the root carries ``data-scale`` (paper over board).

    Raises
    ------
    ValueError
        If the string was not laid out.
    """
    made = row.layout
    if made is None:
        raise ValueError(f"the string of {row.part} has no layout")
    scale = scale_of(made)
    name = f"{row.series} x {row.part} in series, {row.parallel} in parallel"
    width = max(made.length * 1e3 * scale + 2 * MARGIN + 10.0, _LEAST_WIDTH)
    head = wrapped(clean(f"String layout: {name}"), HEADING, width - 2 * MARGIN)
    texts = [Text(words, MARGIN, MARGIN + 4.0 + 6.0 * k, HEADING, bold=True) for k, words in enumerate(head)]
    top = MARGIN + 6.0 * len(head) + 10.0
    at = _Scaled(scale, MARGIN + 10.0, top)
    body = [*_board(made, at), *_bodies(made.bodies, at, texts), *_straps(made.straps, at)]
    body += [*_bleeders(made.bleeders, at), *_terminals(made.terminals, at)]
    body += _dimensions(made, at, texts)
    y = top + made.width * 1e3 * scale + 8.0
    bar, words_of_bar = scale_bar(scale, MARGIN, y, 60.0)
    body += bar
    texts.append(words_of_bar)
    y += 12.0
    for note in _notes(row, made, scale):
        for words in wrapped(clean(note), PLAIN, width - 2 * MARGIN):
            texts.append(Text(words, MARGIN, y, PLAIN))
            y += 4.0
    size = width, y + MARGIN - 2.0
    return svg_document(f"String layout: {name}", size, body, texts, font=font, data=f'data-scale="{scale:.6g}"')


def scale_of(made: Layout) -> float:
    """Return the largest usual scale at which the board fits a page."""
    return min(largest_scale(made.length, WIDEST, SCALES), largest_scale(made.width, TALLEST, SCALES))


class _Scaled:
    """From metres on the board to millimetres on paper."""

    def __init__(self, scale: float, x0: float, y0: float) -> None:
        self.scale, self._x0, self._y0 = scale * 1e3, x0, y0

    def __call__(self, p: Point) -> Point:
        return self._x0 + p[0] * self.scale, self._y0 + p[1] * self.scale


def _board(made: Layout, at: _Scaled) -> Iterator[str]:
    x, y = at((0.0, 0.0))
    yield rectangle(x, y, made.length * at.scale, made.width * at.scale, THIN, 'class="board" stroke-dasharray="3 1.5"')


def _bodies(bodies: Sequence[Body], at: _Scaled, texts: list[Text]) -> Iterator[str]:
    for b in bodies:
        x, y = at((b.x, b.y))
        w, h = b.length * at.scale, b.width * at.scale
        yield rectangle(x, y, w, h, THIN, f'class="body" data-body="{b.string + 1}.{b.place + 1}"')
        for lead in (b.start, b.finish):
            yield spot(*at(lead), radius=min(0.6, 0.2 * h), kind="lead")
        label = f"{b.string + 1}.{b.place + 1}"
        size = min(SMALL, 0.3 * h, SMALL * 0.6 * w / max(text_width(label, SMALL), 1e-9))
        if size >= 1.2:
            texts.append(Text(label, x + w / 2, y + h / 2 - 0.12 * h, size, "middle"))


def _straps(straps: Sequence[Strap], at: _Scaled) -> Iterator[str]:
    for s in straps:
        points = [at(p) for p in s.points]
        if len(set(points)) < 2:
            continue
        width = HEAVY if s.volts in {0.0, 1.0} else MEDIUM
        way = "L".join(f"{number(x)} {number(y)}" for x, y in points)
        yield f'<path class="strap" d="M{way}" stroke-width="{number(width)}"/>'


def _bleeders(places: Sequence[BleederPlace], at: _Scaled) -> Iterator[str]:
    """A bleeder is a thin line beside the leads' line, with one box for all its resistors."""
    for b in places:
        (x0, y0), (x1, y1) = sorted((at(b.start), at(b.finish)))
        off = 0.0018 * at.scale + 0.8
        middle, half = (x0 + x1) / 2, 0.3 * (x1 - x0)
        y = y0 + off
        yield (
            f'<path class="bleeder" d="M{number(x0)} {number(y0)}L{number(x0)} {number(y)}L{number(middle - half)} '
            f'{number(y)}M{number(middle + half)} {number(y)}L{number(x1)} {number(y)}L{number(x1)} {number(y1)}" '
            f'stroke-width="{number(THIN)}"/>'
        )
        yield rectangle(middle - half, y - 0.5, 2 * half, 1.0, THIN)


def _terminals(ends: tuple[Point, Point], at: _Scaled) -> Iterator[str]:
    for end in ends:
        yield ring(*at(end), radius=1.2, width=MEDIUM)


def _dimensions(made: Layout, at: _Scaled, texts: list[Text]) -> list[str]:
    (x0, y0), (x1, y1) = at((0.0, 0.0)), at((made.length, made.width))
    texts.append(Text(f"{made.length * 1e3:.0f} mm", (x0 + x1) / 2, y0 - 4.5, SMALL, "middle"))
    label = Text(f"{made.width * 1e3:.0f}", x0 - 4.0, (y0 + y1) / 2, SMALL, "end")
    texts.append(label)
    return [
        line(x0, y0 - 3.0, x1, y0 - 3.0),
        line(x0, y0 - 4.5, x0, y0 - 1.5),
        line(x1, y0 - 4.5, x1, y0 - 1.5),
        line(x0 - 3.0, y0, x0 - 3.0, y1),
        line(x0 - 4.5, y0, x0 - 1.5, y0),
        line(x0 - 4.5, y1, x0 - 1.5, y1),
    ]


def _notes(row: StringResult, made: Layout, scale: float) -> Iterator[str]:
    each = made.bodies[0]
    assumed = any("size assumed" in n for n in row.notes)
    yield (
        f"From above. Body {each.length * 1e3:.1f} x {each.width * 1e3:.1f} x {made.height * 1e3:.1f} mm high"
        f"{' (assumed: measure one before cutting)' if assumed else ''}. Numbers: string.place. Rings: the two "
        "ends of the bank, at full volts to each other."
    )
    if made.bleeders:
        yield f"On every body a bleeder of {made.bleeders[0].resistors} resistors in series, drawn as one box."
    for words in made.words:
        yield f"{words[0].upper()}{words[1:]}."
    low, high = (quantity(x, "H") for x in (made.inductance.low, made.inductance.high))
    value = quantity(made.inductance.value, "H")
    yield f"Inductance of the bank {value} ({low} to {high}), leads to the gap not counted."
    if made.length * 1e3 * scale > WIDEST or made.width * 1e3 * scale > TALLEST:
        yield "Larger than a page at the smallest usual scale."


__all__ = ["scale_of", "string_layout_svg"]
