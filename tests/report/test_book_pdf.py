"""The printed book: the PDF is opened and its words searched."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from coilwright.report.book import write_book
from report import invented_book as made

DAY = date(2026, 3, 1)
POINT = 25.4e-3 / 72


@contextmanager
def opened(path: Path) -> Iterator[pypdfium2.PdfDocument]:
    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        yield document
    finally:
        document.close()


def pages(path: Path) -> list[str]:
    """Return the text of each page, with single spaces."""
    texts = []
    with opened(path) as document:
        for page in document:
            text = page.get_textpage()
            texts.append(re.sub(r"\s+", " ", text.get_text_range().replace("\u200b", "")))
            text.close()
            page.close()
    return texts


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def assert_inside(path: Path) -> None:
    """Assert that every letter lies on its page."""
    with opened(path) as document:
        for page in document:
            text = page.get_textpage()
            width, height = page.get_size()
            for index in range(text.count_chars()):
                left, bottom, right, top = text.get_charbox(index)
                assert left >= 0
                assert right <= width
                assert bottom >= 0
                assert top <= height
            text.close()
            page.close()


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("book")
    return write_book(
        made.design(), made.shelf(), made.plan(), made.supply(), folder / "book.pdf", wiring_svg=made.WIRING, stamp=DAY
    )


def test_stop_stands_on_page_one_and_every_tag_is_whole(book: Path) -> None:
    texts = pages(book)
    assert "STOP" in texts[0]
    assert "tank-overvolt-gap-missing" in texts[0]
    everything = " ".join(texts)
    for tag in (*made.TAGS, *made.shelf().tags):
        for words in (
            tag.id,
            tag.what,
            tag.why,
            tag.do,
            tag.source,
            tag.value or "",
            tag.limit if tag.limit != "-" else "",
            tag.answered or "",
        ):
            assert squeezed(words) in squeezed(everything), (tag.id, words)


def test_not_for_building_is_on_every_page(book: Path) -> None:
    texts = pages(book)
    assert len(texts) > 5
    assert all("NOT FOR BUILDING: 2 open" in text for text in texts)


def test_without_an_open_stop_no_page_says_so(tmp_path: Path) -> None:
    quiet = made.supply(tags=tuple(t for t in made.TAGS if not t.blocks))
    path = write_book(
        made.design(), made.shelf(), None, quiet, tmp_path / "book.pdf", wiring_svg=made.WIRING, stamp=DAY
    )
    assert not any("NOT FOR BUILDING" in text for text in pages(path))


def test_every_page_carries_design_version_date_and_demo(book: Path) -> None:
    import coilwright

    for number, text in enumerate(pages(book), 1):
        for words in (
            "5f1c0a9be772",
            f"coilwright {coilwright.__version__}",
            "2026-03-01",
            f"page {number} of",
            "DEMO",
        ):
            assert words in text, (number, words)


def test_the_sheets_are_there_and_nothing_claims_to_be_safe(book: Path) -> None:
    everything = " ".join(pages(book))
    for words in (
        "Wiring",
        "Part list",
        "Spacings and stress",
        "Curves",
        "Expected readings",
        "What this shelf can make",
        "Check sheet",
        "Breaker and wiring are judged on the uncorrected current.",
        "hot_a",
        "rod to plane, first standard",
        "3.48 kV",
        "nearest to the wanted power",
        "weakest rating to earth",
        "output current, mA rms",
    ):
        assert words in everything, words
    assert not re.search(r"\b(is|are|be|makes?|now) safe\b|\bsafe to\b", everything, re.IGNORECASE)


def test_the_same_inputs_give_the_same_bytes(book: Path, tmp_path: Path) -> None:
    again = write_book(
        made.design(),
        made.shelf(),
        made.plan(),
        made.supply(),
        tmp_path / "again.pdf",
        wiring_svg=made.WIRING,
        stamp=DAY,
    )
    assert again.read_bytes() == book.read_bytes()


# ISO 216: A4 is 210 mm x 297 mm. ASME Y14.1, size A: 8.5 in x 11 in.
@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 0.210, 0.297), ("letter", 8.5 * 25.4e-3, 11 * 25.4e-3)])
def test_both_papers_have_their_size(tmp_path: Path, paper, width: float, height: float) -> None:
    path = write_book(
        made.design(), made.shelf(), made.plan(), made.supply(), tmp_path / "book.pdf", paper=paper, stamp=DAY
    )
    with opened(path) as document:
        assert len(document) > 5
        for number in range(len(document)):
            size = document.get_page_size(number)
            assert [side * POINT for side in size] == pytest.approx([width, height], abs=1e-4)


HOSTILE = '#set page(fill: red) $x^2$ *b* _i_ <tag> "q" \\u{41} `c` [x] // n @ref = #panic("no") ~ Ωмега'


def test_what_the_builder_writes_is_printed_as_it_is(tmp_path: Path) -> None:
    design = made.design(
        name=HOSTILE, notes=HOSTILE, transformers=tuple(replace(t, notes=HOSTILE) for t in made.design().transformers)
    )
    answered = tuple(replace(t, answered=HOSTILE, where=HOSTILE) for t in made.TAGS)
    path = write_book(
        design, made.shelf(), made.plan(), made.supply(name=HOSTILE, tags=answered), tmp_path / "book.pdf", stamp=DAY
    )
    texts = [squeezed(text) for text in pages(path)]
    assert texts[0].count(squeezed(HOSTILE)) >= 3
    assert sum(text.count(squeezed(HOSTILE)) for text in texts) >= 3 + len(made.TAGS)


def test_control_characters_and_endless_words_stay_on_the_page(tmp_path: Path) -> None:
    design = made.design(name="a\x00b\x1b[31m\u202ec" + "w" * 400)
    path = write_book(design, made.shelf(), None, made.supply(), tmp_path / "book.pdf", stamp=DAY)
    with opened(path) as document:
        page = document[0]
        text = page.get_textpage()
        width = page.get_width()
        boxes = [text.get_charbox(index) for index in range(text.count_chars())]
        words = squeezed(text.get_text_range())
        text.close()
        page.close()
    assert all(-1 <= left <= right <= width + 1 for left, _, right, _ in boxes)
    assert "w" * 400 in words.replace("\u200b", "")
    assert "\x1b" not in words


def test_a_plan_longer_than_its_page_runs_on_to_the_next_and_not_off_the_paper(tmp_path: Path) -> None:
    row = made.plan().ranked[0]
    many = tuple(
        replace(row, name=f"row {n}", why=(f"begin{n} " + "because of this and that, " * 60 + f"end{n}",))
        for n in range(12)
    )
    plan = replace(made.plan(), ranked=many)
    path = write_book(made.design(), made.shelf(), plan, made.supply(), tmp_path / "book.pdf", stamp=DAY)
    everything = " ".join(pages(path))
    assert all(f"begin{n} " in everything and f"end{n} " in everything for n in range(12))
    assert_inside(path)


def test_long_notes_do_not_push_the_hazards_off_page_one(tmp_path: Path) -> None:
    notes = "Found in the barn of my uncle. " * 400 + "The very last word."
    path = write_book(made.design(notes=notes), made.shelf(), None, made.supply(), tmp_path / "book.pdf", stamp=DAY)
    texts = pages(path)
    assert "tank-overvolt-gap-missing" in texts[0]
    assert any("The very last word." in text for text in texts)


def test_without_a_supply_the_book_says_what_it_waits_for(tmp_path: Path) -> None:
    path = write_book(made.design(arrangements=()), made.shelf(), None, None, tmp_path / "book.pdf", stamp=DAY)
    texts = pages(path)
    assert any("This sheet waits for a choice" in text for text in texts)
    assert all("NOT FOR BUILDING" in text for text in texts)


def test_a_drawing_that_cannot_be_read_does_not_take_the_book_with_it(tmp_path: Path) -> None:
    path = write_book(
        made.design(),
        made.shelf(),
        made.plan(),
        made.supply(),
        tmp_path / "book.pdf",
        wiring_svg="<svg this is none",
        stamp=DAY,
    )
    everything = " ".join(pages(path))
    assert "This drawing could not be read" in everything
    assert "Expected readings" in everything


def test_a_book_that_cannot_be_written_leaves_what_was_there(tmp_path: Path) -> None:
    place = tmp_path / "book.pdf"
    place.mkdir()
    (place / "kept").write_text("x")
    with pytest.raises(OSError):
        write_book(made.design(), made.shelf(), None, None, place, stamp=DAY)
    assert [p.name for p in tmp_path.iterdir()] == ["book.pdf"]
    assert (place / "kept").read_text() == "x"
    with pytest.raises(FileNotFoundError):
        write_book(made.design(), made.shelf(), None, None, tmp_path / "nowhere" / "book.pdf", stamp=DAY)


def test_words_keep_inside_every_page(book: Path) -> None:
    assert_inside(book)
