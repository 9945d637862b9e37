"""Blocks to PDF. The template gets everything as data, so that nothing which a builder writes can be read as markup."""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Literal

import matplotlib as mpl
import typst

from coilwright.analyses.results import PlanResult, ShelfResult, SupplyResult
from coilwright.errors import InternalError
from coilwright.model.design import Design
from coilwright.protection.tag import Tag
from coilwright.report import blocks as b
from coilwright.report.book.compose import book_blocks
from coilwright.report.book.sheets import NO_SHEETS, Sheets
from coilwright.report.plots.style import FONTS, svg_of

Paper = Literal["A4", "letter"]
PAPERS: dict[Paper, tuple[str, float]] = {"A4": ("a4", 0.210), "letter": ("us-letter", 0.2159)}
#: Left and right margin, m, as in the template.
SIDES = 0.020 + 0.016
_LONG_WORD = re.compile(r"[^\s\u200b]{30}(?=[^\s\u200b])")
_KEY_PATH = re.compile(r"(?<=\w)([._/\[])(?=\w)")
_WIDE = 18  # letters; a longer word does not fit a narrow column
_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def write_book(
    design: Design,
    shelf: ShelfResult | None,
    plan: PlanResult | None,
    supply: SupplyResult | None,
    path: Path,
    *,
    paper: Paper = "A4",
    wiring_svg: str | None = None,
    stamp: date | None = None,
    tags: Iterable[Tag] = (),
    sheets: Sheets = NO_SHEETS,
) -> Path:
    """Write the book as one PDF and return its path. The file appears whole or not at all.

    Parameters
    ----------
    plan, supply
        None where nothing works: the book is made with what is there.
    wiring_svg
        The wiring drawing as SVG text; None where there is none.
    stamp
        The day printed on the cover; today if None. The same inputs and day give the same bytes.
    tags
        Hazards besides those that the results carry.
    sheets
        Polarity sheet, gates and slips, as far as they were computed.

    Raises
    ------
    OSError
        If the folder cannot be written to; what stood at ``path`` is then as it was.
    """
    today = stamp or date.today()  # noqa: DTZ011 - the day on the builder's own calendar
    blocks = book_blocks(design, shelf, plan, supply, wiring_svg=wiring_svg, stamp=today, tags=tags, sheets=sheets)
    return _replace(path, pdf_of(blocks, paper=paper, stamp=today))


def pdf_of(blocks: Sequence[b.Block], *, paper: Paper, stamp: date) -> bytes:
    """Return the blocks as PDF. A drawing that cannot be read says so on its own sheet; the others are still made."""
    try:
        return _compile(blocks, paper, stamp)
    except typst.TypstError as error:
        drawings = [block for block in blocks if isinstance(block, b.Drawing)]
        if not drawings:
            raise InternalError(f"the book's template failed: {error}") from error
    words = "This drawing could not be read, so that none is shown. Wire from the list of joints."
    rest = [b.Waiting(block.key, words) if isinstance(block, b.Drawing) else block for block in blocks]
    try:
        return _compile(rest, paper, stamp)
    except typst.TypstError as error:
        raise InternalError(f"the book's template failed: {error}") from error


def _compile(blocks: Sequence[b.Block], paper: Paper, stamp: date) -> bytes:
    size, width = PAPERS[paper]
    with tempfile.TemporaryDirectory(prefix="coilwright-book-") as folder:
        root = Path(folder)
        (root / "book.typ").write_bytes(files(__package__).joinpath("book.typ").read_bytes())
        data = {
            "paper": size,
            "year": stamp.year,
            "month": stamp.month,
            "day": stamp.day,
            "blocks": [_data(block, root, number, width - SIDES) for number, block in enumerate(blocks)],
        }
        (root / "book.json").write_text(json.dumps(cleaned(data), ensure_ascii=True), encoding="ascii")
        pdf = typst.compile(
            root / "book.typ",
            root=root,
            font_paths=[FONTS, Path(mpl.get_data_path()) / "fonts" / "ttf"],
            ignore_system_fonts=True,
        )
    if not isinstance(pdf, bytes):
        raise InternalError(f"the typesetter returned {type(pdf).__name__} instead of one document")
    return pdf


def _data(block: b.Block, root: Path, number: int, width: float) -> dict[str, object]:
    """Return the block as plain data; drawings and figures are laid beside it as files."""
    kind = type(block).__name__
    if isinstance(block, b.Figure | b.Drawing):
        svg = svg_of(block.draw, width, block.height) if isinstance(block, b.Figure) else block.svg
        name = f"{number}.svg"
        (root / name).write_text(svg, encoding="utf-8")
        return {"kind": kind, "file": name, "caption": block.caption, "alt": block.alt_text}
    if isinstance(block, b.Cover):
        block = replace(block, project=block.project or "unnamed")
    return {"kind": kind, **asdict(block)}


def cleaned(value: object) -> object:
    """Return the data with control and direction characters shown as a mark, and very long words given places to break.

    >>> cleaned(["a" + chr(7) + "b"]) == ["a" + chr(0xFFFD) + "b"]
    True
    """
    if isinstance(value, str):
        plain = _CONTROL.sub("\N{REPLACEMENT CHARACTER}", value)
        return " ".join(_breakable(word) if len(word) > _WIDE else word for word in plain.split(" "))
    if isinstance(value, dict):
        return {key: cleaned(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [cleaned(item) for item in value]
    return value


def _breakable(word: str) -> str:
    """Return the word with zero-width spaces where it may break: at the joints of a key path, else every so often."""
    return _LONG_WORD.sub("\\g<0>\u200b", _KEY_PATH.sub("\u200b\\1", word))


def _replace(path: Path, content: bytes) -> Path:
    """Write the file beside its place and move it there in one step."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o666 & ~_umask())
        Path(name).replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
    return path


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
