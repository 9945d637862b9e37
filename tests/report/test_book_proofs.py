"""The book's pages that prove the wiring, the chapter before it, and the placard: what is said, and how it is set."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from analyses.gate_cases import as_wired, base, judged, known, supplied
from cli.claims import claims
from coilwright.analyses.missing_scan import highest_missing
from coilwright.analyses.results import ShelfResult
from coilwright.model.known import Known
from coilwright.model.machine import Gap
from coilwright.model.parts import Capacitor, Choke, Transformer
from coilwright.report import blocks as b
from coilwright.report.book import book_blocks, write_book
from coilwright.report.book.apart import TITLE, apart_blocks
from coilwright.report.book.compose import mains_words
from coilwright.report.book.gates import gate_blocks, polarity_blocks
from coilwright.report.book.placard import placard_blocks
from coilwright.report.book.sheets import Sheets
from coilwright.units import show
from report import invented_book as made

DAY = date(2026, 3, 1)


def chapter(**shelf):
    empty = {"transformers": (), "chokes": (), "capacitors": (), "gap": None, "tank": None}
    return list(apart_blocks(made.design(**{**empty, **shelf})))


def titles(blocks):
    return [x.title for x in blocks if isinstance(x, b.Grid | b.ReadingSheet)]


def words_of(thing):
    """Return every piece of text in a block, whatever its kind."""
    if isinstance(thing, str):
        return [thing]
    if is_dataclass(thing):
        return [w for f in fields(thing) for w in words_of(getattr(thing, f.name))]
    return [w for item in thing for w in words_of(item)] if isinstance(thing, list | tuple) else []


def text(blocks):
    return " ".join(w for x in blocks for w in words_of(x))


def test_the_chapter_comes_right_after_the_hazards():
    blocks = book_blocks(made.design(), made.shelf(), None, made.supply(), stamp=DAY)
    heads = [x.text for x in blocks if isinstance(x, b.Heading) and x.level == 1]
    assert heads[:2] == ["What can kill or hurt here", TITLE]


@pytest.mark.parametrize(
    ("shelf", "words"),
    [
        ({"transformers": (Transformer("T1", "oven"),)}, "Do not break, file, drill or heat magnetron ceramics."),
        ({"transformers": (Transformer("T1", "oven"),)}, "wait 5 min"),
        ({"transformers": (Transformer("S1", "sign"),)}, "Do not dig or melt out the tar."),
        ({"transformers": (Transformer("S1", "sign"),)}, "scrapes the enamel"),
        ({"chokes": (Choke("B1", lamp="mercury 250 W"),)}, "Take the lamps out first and whole"),
        ({"capacitors": (Capacitor("C1", Known(40e-6), made=1975),)}, "polychlorinated biphenyls"),
        ({"gap": Gap("static")}, "thoriated tungsten"),
    ],
)
def test_only_what_is_on_the_shelf_and_always_the_general(shelf, words):
    general = "Count every capacitor as charged"
    assert words in text(chapter(**shelf))
    assert words not in text(chapter())
    assert general in text(chapter(**shelf)) and general in text(chapter())


def test_the_heaviest_part_is_named():
    units = (Transformer("T1", "oven", mass=Known(5.1)), Transformer("S1", "sign", mass=Known(22.0)))
    said = text(chapter(transformers=units))
    assert "Heaviest here: S1, 22.0 kg" in said and "27.1 kg" in said


def test_the_charge_of_the_oven_capacitor_is_that_of_the_shelf():
    # C V^2 / 2: 0.9 uF at 2100 V AC x sqrt 2 is 3.97 J; a usual one, 1 uF at 3 kV, 4.5 J
    own = Capacitor("C9", Known(0.9e-6), kind="oven", rated=Known(2100.0), rated_kind="AC")
    assert "3.97 J for C9" in text(chapter(capacitors=(own,)))
    assert "4.50 J for a usual one" in text(chapter(transformers=(Transformer("T1", "oven"),)))


def test_shunts_are_read_before_and_after():
    sheet = next(x for x in apart_blocks(base()) if isinstance(x, b.ReadingSheet))
    row = next(r for r in sheet.rows if r.what.startswith("T1 no-load"))
    assert (row.expected, row.unit, row.instrument) == ("1.74", "A", "wall meter")
    low, high = (float(x) for x in row.band.split(" to "))
    assert (low, high) == pytest.approx((0.9 * 1.74, 1.1 * 1.74), abs=0.011)  # our 10 %
    assert sum("primary to core" in r.what for r in sheet.rows) == len(base().transformers)


# ---- polarity and gates ----------------------------------------------------------------------------------------------


def test_polarity_page_has_right_reversed_and_a_line_to_write_on():
    grid = next(x for x in polarity_blocks(as_wired()) if isinstance(x, b.Grid))
    heads = [c.title for c in grid.columns]
    assert heads == ["between", "as drawn", "95 % band", "T2.high reversed", "read", "write here"]
    across = next(r for r in grid.rows if r[0].text == "hot_a to hot_b")
    assert float(across[1].text) > 15 and float(across[3].text) < 5
    assert all("____" in r[-1].text for r in grid.rows)
    assert any(isinstance(x, b.SignOff) for x in polarity_blocks(as_wired()))


def test_every_gate_has_its_heading_and_its_signature():
    blocks = list(gate_blocks(judged()))
    heads = [x.text for x in blocks if isinstance(x, b.Heading) and x.text.startswith("Gate ")]
    assert len(heads) == 9 and heads[8] == "Gate 9: Safety gap"
    assert sum(isinstance(x, b.SignOff) for x in blocks) == 9
    sheets = {x.key: x for x in blocks if isinstance(x, b.ReadingSheet)}
    bond = sheets["gate bonds"].rows[0]
    assert (bond.expected, bond.unit, bond.band, bond.read) == ("100", "mohm", "or less", "40.0 mohm, agrees")
    assert all(r.instrument for s in sheets.values() for r in s.rows)
    assert {x.key for x in blocks if isinstance(x, b.Grid)} >= {"charge", "safety gap"}


def test_the_dead_readings_stand_once():
    with_gates = book_blocks(base(), known(), None, supplied(), stamp=DAY, sheets=Sheets(as_wired(), judged()))
    without = book_blocks(base(), known(), None, supplied(), stamp=DAY)
    keys = [[x.key for x in blocks if isinstance(x, b.ReadingSheet)] for blocks in (with_gates, without)]
    assert "dead" not in keys[0] and "gate bonds" in keys[0]
    assert "dead" in keys[1] and "gate bonds" not in keys[1]


def test_the_placard_has_the_signal_word_and_blanks():
    (card,) = [x for x in placard_blocks(made.supply(), made.TAGS) if isinstance(x, b.Placard)]
    # ANSI Z535.4: DANGER is the signal word for what will kill if it is not avoided (from memory)
    assert card.word == "DANGER"
    assert {name for name, _ in card.rules} >= {"who cuts the power", "implants", "children", "animals", "ears", "eyes"}
    assert any("emergency number" in x for x in card.blanks) and any("cuts the power" in x for x in card.blanks)
    assert isinstance(list(placard_blocks(None, ()))[-1], b.Placard)


def test_the_placard_tells_the_highest_peak_there_can_be_and_its_joules():
    blocks = book_blocks(base(), known(), None, supplied(), stamp=DAY)
    (card,) = [x for x in blocks if isinstance(x, b.Placard)]
    highest = highest_missing(base(), supplied())
    assert highest is not None and highest.peak > supplied().gap_missing.own.peak > supplied().open_circuit.voltage_peak
    # C V^2 / 2 of the largest tank of its tolerance at that peak
    assert f"{show(highest.peak, 'V')} peak across when the gap misses" in card.head
    assert f"up to {show(0.5 * 55e-9 * highest.peak**2, 'J')} after the plug is out" in card.head
    lost = replace(supplied(), gap_missing=None)
    (card,) = [x for x in placard_blocks(lost, (), base()) if isinstance(x, b.Placard)]
    assert "not known" in card.head
    (card,) = [x for x in placard_blocks(supplied(), (), replace(base(), tank=None)) if isinstance(x, b.Placard)]
    assert "gap misses" not in card.head


def test_the_mains_of_two_lines_are_shown_to_neutral_too():
    site = base().site
    # 240 V between the lines are 120 V to neutral; two of three phases with 208 V between them have 120 V each
    for system, volts, words in (("split phase", 240.0, "120 V line to neutral"), ("two phases", 208.0, "120 V line")):
        two = replace(site, system=Known(system), mains_voltage=Known(volts))
        assert words in mains_words(two)
    assert mains_words(site) == "230 V"


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("proofs")
    sheets = Sheets(as_wired(), judged())
    return [
        write_book(base(), known(), None, supplied(), folder / f"{p}.pdf", paper=p, stamp=DAY, sheets=sheets)
        for p in ("A4", "letter")
    ]


def page_texts(path: Path):
    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in document]
    finally:
        document.close()


@pytest.mark.slow
def test_no_gate_is_torn_from_its_signature(printed):
    for path in printed:
        pages = page_texts(path)
        for number in range(1, 10):
            (page,) = [t for t in pages if f"gate {number} read by" in t]
            assert f"Gate {number}: " in page, (path.name, number)
        assert "DANGER" in pages[-1]
        assert claims(" ".join(pages)) == []


@pytest.mark.slow
def test_no_page_holds_a_lone_signature(printed):
    for path in printed:
        for text_ in page_texts(path):
            body = re.sub(r"design \w+ · coilwright \S+ · \S+ page \d+ of \d+|NOT FOR BUILDING: \S+ \S+", "", text_)
            assert len(body) > 150, (path.name, text_)


def test_a_shelf_that_was_not_worked_out_still_has_its_chapter():
    blocks = book_blocks(made.design(arrangements=()), ShelfResult({}, ()), None, None, stamp=DAY)
    assert TITLE in [x.text for x in blocks if isinstance(x, b.Heading)]
