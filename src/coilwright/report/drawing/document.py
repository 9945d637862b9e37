"""What drawings to scale have in common: the document round the art, the scale and its bar, plain outlines."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from coilwright.report.drawing.svg import HEAVY, SMALL, THIN, Text, clean, line, number
from coilwright.report.quantities import quantity

FONT = "B612, DejaVu Sans, sans-serif"
#: Lengths of a scale bar [m].
BARS = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)


def svg_document(
    title: str,
    size: tuple[float, float],
    art: Sequence[str],
    texts: Sequence[Text],
    *,
    font: str = FONT,
    description: str = "",
    data: str = "",
) -> str:
    """Return the complete SVG, its unit the millimetre: black on white, the texts over the art.

    ``size`` is wide and high [mm], ``description`` what the drawing says for those who cannot see it, ``data`` further
    attributes of the root.
    """
    width, height = map(number, size)
    name = clean(title)
    root = f'role="img" aria-label={quoteattr(name)} width="{width}mm" height="{height}mm"'
    pens = 'color="black" fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {root} viewBox="0 0 {width} {height}"{data and " " + data} {pens}>',
        f"<title>{escape(name)}</title>",
        *([f"<desc>{escape(clean(description))}</desc>"] if description else []),
        f'<rect width="{width}" height="{height}" fill="white" stroke="none"/>',
        *art,
        f'<g fill="currentColor" stroke="none" font-family={quoteattr(font)}>',
        *(text.svg() for text in texts),
        "</g>",
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def largest_scale(length: float, room: float, scales: Sequence[float]) -> float:
    """Return the largest of the scales, drawn size over true size, at which ``length`` [m] keeps inside ``room`` [mm];
    the smallest where none does. ``scales`` fall.
    """
    return next((k for k in scales if length * 1e3 * k <= room), scales[-1])


def named_scale(scale: float) -> str:
    """Return the scale as drawings print it.

    >>> named_scale(5.0), named_scale(0.1)
    ('5 : 1', '1 : 10')
    """
    return f"{scale:g} : 1" if scale >= 1 else f"1 : {1 / scale:g}"


def scale_bar(scale: float, x: float, y: float, room: float) -> tuple[list[str], Text]:
    """Return a bar of a round length no longer than ``room`` [mm], with its ticks, and its words.

    ``scale`` is drawn size over true size.
    """
    length = max((n for n in BARS if n * 1e3 * scale <= room), default=BARS[0])
    end = x + length * 1e3 * scale
    bar = f'<path class="scale" d="M{number(x)} {number(y)}L{number(end)} {number(y)}" stroke-width="{number(HEAVY)}"/>'
    words = f"{quantity(length, 'm', digits=1)}, scale 1 : {1 / scale:.3g}"
    return [bar, line(x, y - 1.5, x, y + 1.5), line(end, y - 1.5, end, y + 1.5)], Text(words, end + 3.0, y + 1.0, SMALL)


def rectangle(x: float, y: float, w: float, h: float, width: float = THIN, extra: str = "") -> str:
    """Return an upright rectangle; ``extra`` are further attributes."""
    return (
        f'<rect{extra and " " + extra} x="{number(x)}" y="{number(y)}" width="{number(w)}" height="{number(h)}" '
        f'stroke-width="{number(width)}"/>'
    )


def circle(x: float, y: float, radius: float, width: float = THIN, extra: str = "") -> str:
    """Return an open circle; ``extra`` are further attributes."""
    return (
        f'<circle{extra and " " + extra} cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" '
        f'stroke-width="{number(width)}"/>'
    )


__all__ = ["BARS", "FONT", "circle", "largest_scale", "named_scale", "rectangle", "scale_bar", "svg_document"]
