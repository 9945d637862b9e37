"""Text and number helpers of the drawing: millimetres, one line per text, boxes from cautious font metrics."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from xml.sax.saxutils import escape, quoteattr

THIN, MEDIUM, HEAVY = 0.35, 0.7, 1.0  # line widths [mm]: outline, conductor, high-voltage conductor
SMALL, PLAIN, STRONG, HEADING = 2.4, 2.6, 3.2, 4.0  # type sizes [mm]
ASCENT, DESCENT = 0.80, 0.22  # [em] above and below the base line

# What XML 1.0 cannot carry, not even escaped.
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean(text: str) -> str:
    """Return the text with the characters that XML cannot carry replaced by the replacement character."""
    return _FORBIDDEN.sub("\ufffd", text)


def character_width(character: str) -> float:
    """Return a cautious width of the character in em: 0.62, more for the wide ones.

    Checked against a wide sans face (0.60 for most small letters, 0.65 for digits, 0.95 for W).
    """
    if unicodedata.combining(character):
        return 0.0
    if unicodedata.east_asian_width(character) in {"W", "F"}:
        return 1.05
    if character in "mwMW@%—…":
        return 0.97
    return 0.72 if character.isupper() or character.isdigit() or ord(character) > 0x2000 else 0.62


def text_width(text: str, size: float) -> float:
    """Return a cautious width of one line of text [mm]."""
    return size * sum(map(character_width, text))


def number(value: float) -> str:
    """Return the coordinate with at most two decimals.

    >>> number(3.0), number(2.5), number(-0.001)
    ('3', '2.5', '0')
    """
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


@dataclass(frozen=True)
class Box:
    """An upright rectangle [mm], y downwards."""

    x0: float
    y0: float
    x1: float
    y1: float

    def overlaps(self, other: Box) -> bool:
        """Return whether the two share an area (touching edges do not count)."""
        near = 1e-6
        return (
            self.x0 < other.x1 - near
            and other.x0 < self.x1 - near
            and self.y0 < other.y1 - near
            and other.y0 < self.y1 - near
        )


@dataclass(frozen=True)
class Text:
    """One line of text. ``anchor`` is start | middle | end; ``joint`` is the net whose wire runs under it, or None."""

    content: str
    x: float
    y: float  # base line
    size: float = PLAIN
    anchor: str = "start"
    bold: bool = False
    joint: str | None = None

    @property
    def width(self) -> float:
        """Return a cautious width [mm]."""
        return text_width(self.content, self.size)

    @property
    def box(self) -> Box:
        """Return the box that the text keeps inside."""
        left = self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        return Box(left, self.y - ASCENT * self.size, left + self.width, self.y + DESCENT * self.size)

    def moved(self, dx: float, dy: float) -> Text:
        """Return the text at another place."""
        return replace(self, x=self.x + dx, y=self.y + dy)

    def svg(self) -> str:
        """Return the element."""
        extra = "" if self.anchor == "start" else f' text-anchor="{self.anchor}"'
        extra += ' font-weight="bold"' if self.bold else ""
        extra += f" data-joint={quoteattr(clean(self.joint))}" if self.joint is not None else ""
        return (
            f'<text x="{number(self.x)}" y="{number(self.y)}" font-size="{number(self.size)}"{extra}>'
            f"{escape(clean(self.content))}</text>"
        )


def path(commands: str, width: float = THIN) -> str:
    """Return an open outline."""
    return f'<path d="{commands}" stroke-width="{number(width)}"/>'


def line(x0: float, y0: float, x1: float, y1: float, width: float = THIN) -> str:
    """Return a straight line of a symbol (a wire is a polyline of class wire)."""
    return path(f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}", width)


def ring(x: float, y: float, radius: float = 0.9, width: float = THIN) -> str:
    """Return an open ring: a free end."""
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="white" stroke-width="{number(width)}"/>'
    )


def spot(x: float, y: float, radius: float = 0.75, kind: str = "mark") -> str:
    """Return a filled dot. ``kind`` is "junction" on a wire; "mark" is a winding's dot or a tie on the core."""
    return (
        f'<circle class="{kind}" cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="currentColor" '
        'stroke="none"/>'
    )


def wrapped(text: str, size: float, width: float) -> list[str]:
    """Return the text in lines no wider than ``width`` [mm]; a word that is wider is cut."""
    lines: list[str] = []
    current = ""
    for word in text.split():
        rest = word
        joined = f"{current} {rest}" if current else rest
        if text_width(joined, size) <= width:
            current = joined
            continue
        if current:
            lines.append(current)
        while text_width(rest, size) > width and len(rest) > 1:
            keep = next(n for n in range(len(rest) - 1, 0, -1) if n == 1 or text_width(rest[:n], size) <= width)
            lines.append(rest[:keep])
            rest = rest[keep:]
        current = rest
    return [*lines, current] if current else lines


__all__ = [
    "Box",
    "Text",
    "clean",
    "line",
    "number",
    "path",
    "ring",
    "spot",
    "text_width",
    "wrapped",
    "ASCENT",
    "DESCENT",
    "HEADING",
    "HEAVY",
    "MEDIUM",
    "PLAIN",
    "SMALL",
    "STRONG",
    "THIN",
]
