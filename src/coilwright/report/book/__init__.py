"""The build book: results in, one printable PDF out."""

from __future__ import annotations

from coilwright.report.book.compose import book_blocks
from coilwright.report.book.typeset import write_book

__all__ = ["book_blocks", "write_book"]
