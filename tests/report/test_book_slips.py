"""The chapter of the slips: what several telltales share is told once, every number has its band, no page of scraps."""

from __future__ import annotations

import re
from datetime import date

import pypdfium2
import pytest

from analyses.slip_benches import bench
from coilwright.report.blocks import Cover, Grid, Paragraph
from coilwright.report.book.slips import slip_blocks
from coilwright.report.book.typeset import pdf_of

DAY = date(2026, 3, 1)


@pytest.mark.slow
def test_the_last_page_holds_rows_and_notes_together() -> None:
    result = bench("demo").result
    cover = Cover("slips", "none", "0", DAY.isoformat(), False, "")
    pdf = pypdfium2.PdfDocument(pdf_of([cover, *slip_blocks(result)], paper="A4", stamp=DAY))
    pages = [" ".join(page.get_textpage().get_text_range().split()) for page in pdf][1:]
    assert len(pages) <= 3
    note = " ".join(result.notes[-1].split())
    assert note in pages[-1]
    assert result.rows[-1].done in pages[-1]
    assert len(re.findall(r"\bKILLS\b", pages[-1])) >= 3  # it is not there for the notes alone


def test_each_shared_method_is_told_once_and_every_telltale_has_one() -> None:
    result = bench("demo").result
    blocks = list(slip_blocks(result))
    methods = [b.text for b in blocks if isinstance(b, Paragraph) and b.text.startswith("Method ")]
    (grid,) = (b for b in blocks if isinstance(b, Grid))
    for row, lines in zip(result.rows, grid.details, strict=True):
        if row.telltale is None:
            continue
        words = " ".join(lines)
        named = re.search(r"Telltale: method ([A-F])\.", words)
        if named is None:
            assert row.telltale.how in words and row.telltale.meter in words
        else:
            (method,) = (m for m in methods if m.startswith(f"Method {named[1]},"))
            assert row.telltale.how in method and row.telltale.meter in method
    assert len(methods) == len(set(methods)) >= 2


def test_bands_stand_below_their_numbers() -> None:
    result = bench("demo").result
    (grid,) = (b for b in slip_blocks(result) if isinstance(b, Grid))
    for row, cells in zip(result.rows, grid.rows, strict=True):
        for cell, figure in ((cells[3], "open_voltage"), (cells[4], "body_current"), (cells[5], "mains_current")):
            value, _, band = cell.text.partition("\n")
            assert bool(band) == (figure in row.bands)
            if band:
                low, high = (float(x) for x in band.split("-"))
                assert low <= float(value) <= high
