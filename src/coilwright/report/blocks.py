"""Frozen blocks of a document: what is printed, not how. One renderer per medium; tests look here.

Every printed number stands in a Row, a Cell or a Tag, so that unit, band and mark come with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from coilwright.model.known import Mark
from coilwright.protection.tag import Tag

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Tone = Literal["plain", "small", "warning"]
Align = Literal["left", "right"]
Section = Literal["local code", "STOP open", "STOP standing", "CAUTION", "NOTE"]


@dataclass(frozen=True)
class Cover:
    """The strip at the head of the first page, and what every page repeats.

    ``margin`` is printed in the margin of every page ("" for nothing); ``stamp`` is an ISO date; ``facts`` are labels
    and words.
    """

    project: str
    design: str
    version: str
    stamp: str
    demo: bool
    margin: str
    facts: tuple[tuple[str, str], ...] = ()
    counts: tuple[tuple[Section, int], ...] = ()


@dataclass(frozen=True)
class Heading:
    """Level 1 opens a sheet of its own (except the first one of the book), level 2 a part of a sheet.

    ``together``: what follows until the next heading stays on one page, if a page holds it.
    """

    text: str
    level: int = 1
    together: bool = False


@dataclass(frozen=True)
class Paragraph:
    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Row:
    """One number with its unit. ``band`` is the 95 % band in the same unit ("3.51 to 3.67"), "" where none is known."""

    label: str
    value: str
    unit: str
    band: str = ""
    mark: Mark | None = None
    source: str = ""


@dataclass(frozen=True)
class Table:
    key: str
    title: str
    rows: tuple[Row, ...]
    note: str = ""


@dataclass(frozen=True)
class Column:
    """A column of a Grid. ``unit`` is "" for words; ``share`` is its share of the spare width, 0 for a snug one."""

    title: str
    unit: str = ""
    align: Align = "left"
    share: float = 0.0


@dataclass(frozen=True)
class Cell:
    text: str
    mark: Mark | None = None
    strong: bool = False


@dataclass(frozen=True)
class Grid:
    """Numbers of one kind in columns, each column with its one unit. ``notes`` stand below, in order.

    ``details`` are lines of words below each row, over the whole width; empty, or one entry for each row.
    """

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()
    details: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Figure:
    """A plot. ``draw`` draws it on axes and computes nothing; ``height`` is in m on paper."""

    key: str
    caption: str
    alt_text: str
    draw: Callable[[Axes], None]
    height: float = 0.085


@dataclass(frozen=True)
class Drawing:
    """Line art, complete SVG text."""

    key: str
    caption: str
    alt_text: str
    svg: str


@dataclass(frozen=True)
class TagBlock:
    """One hazard, whole. ``section`` is the group in which it is printed."""

    tag: Tag
    section: Section


@dataclass(frozen=True)
class ReadingRow:
    """One reading to take: what is expected, in which band, with what. ``closed`` says why not yet ("" where now)."""

    what: str
    expected: str
    unit: str
    band: str
    mark: Mark | None
    instrument: str
    how: str = ""
    closed: str = ""
    read: str = ""  # what was read already, and whether it agrees


@dataclass(frozen=True)
class ReadingSheet:
    """Readings with a blank line each to write on, and places to sign."""

    key: str
    title: str
    rows: tuple[ReadingRow, ...]
    note: str = ""


@dataclass(frozen=True)
class CheckItem:
    grade: str
    what: str
    do: str
    where: str = ""


@dataclass(frozen=True)
class CheckSheet:
    """Things to tick off, each with a box."""

    key: str
    title: str
    items: tuple[CheckItem, ...]
    note: str = ""


@dataclass(frozen=True)
class SignOff:
    """Lines to sign: one label each."""

    labels: tuple[str, ...]


@dataclass(frozen=True)
class Placard:
    """A page for the door: the signal word, what it is about, rules as (word, sentence), and blanks to fill in."""

    key: str
    word: str
    head: str
    rules: tuple[tuple[str, str], ...]
    blanks: tuple[str, ...]


@dataclass(frozen=True)
class Waiting:
    """A sheet that cannot be made yet, and what it waits for."""

    key: str
    text: str


Block = (
    Cover
    | Heading
    | Paragraph
    | Table
    | Grid
    | Figure
    | Drawing
    | TagBlock
    | ReadingSheet
    | CheckSheet
    | SignOff
    | Placard
    | Waiting
)
