"""Tables for people on a terminal or in a pipe: hazards first, and no number without its unit, band and mark.

Nothing here depends on colour: a grade is a word, a mark is a sign. Every table fits 80 columns.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping

from rich.box import Box
from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from coilwright.model.known import Estimate, Mark, weakest
from coilwright.protection.rules import FIRST
from coilwright.protection.tag import GRADE_ORDER, Grade, Tag
from coilwright.report.estimate_words import measured
from coilwright.report.json_common import ordered_tags, tag_counts
from coilwright.report.quantities import NOT_KNOWN, quantity

#: Head lines over each column, nothing else: the columns do the rest.
SHEET = Box("    \n    \n ── \n    \n    \n    \n    \n    \n")

LEGEND = "marks: ~ pencil, assumed by the tool; plain: ink, from the file; [ ] stamped, from readings. Bands hold 95 %."

_STYLE: dict[Grade, str] = {"STOP": "bold red", "CAUTION": "yellow", "NOTE": "dim"}


def marked(text: str, mark: Mark | None) -> str:
    """Return a printed value with the sign of its mark.

    >>> marked("3.59 kV", "pencil"), marked("3.59 kV", "ink"), marked("3.59 kV", "stamped")
    ('~3.59 kV', '3.59 kV', '[3.59 kV]')
    """
    if text == NOT_KNOWN or mark is None or mark == "ink":
        return text
    return f"~{text}" if mark == "pencil" else f"[{text}]"


def shown(value: float | None, unit: str, mark: Mark | None, band: tuple[float, float] | None = None) -> str:
    """Return value, unit and mark on one line and, where there is a band, the band below it."""
    number = quantity(value, unit, band)
    text = marked(str(number), mark)
    return f"{text}\n{number.band}" if number.band else text


def estimated(estimate: Estimate | None) -> str:
    """Return an estimate with its mark on one line and its band below it; a band of no width is not printed.

    >>> estimated(Estimate(2.0, 1.0, 4.0, "pencil", "W")).splitlines()
    ['~2.00 W', '1.00 to 4.00']
    """
    _, text, band, _ = estimate_cells("", estimate)
    return f"{text}\n{band}" if band else text


def estimate_cells(label: str, estimate: Estimate | None, printed: str = "") -> tuple[str, str, str, str]:
    """Return the cells of a row: label, value with its mark, band, and where it comes from.

    ``printed`` is as in `estimate_words.measured`.
    """
    number = measured(estimate, printed)
    if estimate is None:
        return label, str(number), "", ""
    return label, marked(str(number), estimate.mark), number.band, estimate.basis


class Lookup:
    """Marks and bands of a result by key path; a number that has no entry of its own takes that of what encloses it."""

    def __init__(self, marks: Mapping[str, Mark], bands: Mapping[str, tuple[float, float]]) -> None:
        self._marks = marks
        self._bands = bands
        self._default: Mark = weakest(*marks.values()) if marks else "pencil"

    def mark(self, path: str) -> Mark:
        """Return the mark; the weakest one of the whole result where nothing on the path has one."""
        while path:
            if path in self._marks:
                return self._marks[path]
            path = path.rpartition(".")[0]
        return self._default

    def show(self, path: str, value: float | None, unit: str) -> str:
        """Return the printed number."""
        return shown(value, unit, self.mark(path), self._bands.get(path))


def sheet(title: str, *columns: str, right: Iterable[int] = ()) -> Table:
    """Return an empty table in the house look; ``right`` are the columns that hold numbers."""
    table = Table(
        title=Text(title, style="bold"),
        title_justify="left",
        box=SHEET,
        pad_edge=False,
        show_edge=False,
        padding=(0, 1, 0, 0),
        header_style="",
        collapse_padding=True,
    )
    numbers = set(right)
    for index, name in enumerate(columns):
        table.add_column(Text(name), justify="right" if index in numbers else "left", overflow="fold")
    return table


def print_block(console: Console, *parts: RenderableType) -> None:
    """Print the parts, each followed by an empty line."""
    for part in parts:
        if isinstance(part, Table) and part.title:  # a title of its own, so that a narrow table does not fold it
            console.print(part.title)
            part.title = None
        console.print(part)
        console.print()


def print_tags(console: Console, tags: Iterable[Tag]) -> None:
    """Print every tag whole: the local-code line is the very first, then the worst first; none is folded away."""
    every = ordered_tags(tags)
    for tag in every:
        if tag.id == FIRST:
            console.print(Text(f"{tag.grade} {tag.id}: {tag.what} {tag.why} {tag.do}"))
            console.print()
        else:
            _print_tag(console, tag)
    console.print()
    console.print(Text(counts_line(every)))
    opened = list(dict.fromkeys(tag.id for tag in every if tag.blocks))
    if opened:
        console.print(Text(f"open STOP: {', '.join(opened)}", style="bold"))
    console.print()


def counts_line(tags: Iterable[Tag]) -> str:
    """Return how many tags there are, open and standing apart."""
    counts = tag_counts(tags)
    words = {
        kind: ", ".join(f"{counts[kind][grade]} {grade}" for grade in GRADE_ORDER) for kind in ("open", "standing")
    }
    return f"open: {words['open']}   standing: {words['standing']}"


def print_indented(console: Console, lines: Iterable[str], indent: int) -> None:
    """Print lines, each folded to the console's width and set in by ``indent``."""
    room = max(console.width - indent, 20)
    for line in lines:
        for piece in textwrap.wrap(line, room, break_on_hyphens=False) or [""]:
            console.print(Text(" " * indent + piece))


def _print_tag(console: Console, tag: Tag) -> None:
    title = Text.assemble((f"{tag.grade:<7}", _STYLE[tag.grade]), " ", (tag.id, "bold"))
    if tag.where:
        title.append(f" at {tag.where}")
    title.append(" (standing)" if tag.standing else " (open)" if tag.answered is None or tag.blocks else " (answered)")
    lines = [f"{tag.what} {tag.why}".strip()]
    if tag.value is not None:
        lines.append(f"value {tag.value}; limit {tag.limit}" if tag.limit != "-" else f"value {tag.value}")
    elif tag.limit != "-":
        lines.append(f"limit {tag.limit}")
    lines.append(f"do: {tag.do}")
    lines.append(f"source: {tag.source}")
    if tag.answered is not None:
        lines.append(f"answered: {tag.answered}" + (" (the STOP stays open)" if tag.blocks else ""))
    console.print(title)
    print_indented(console, lines, 8)
