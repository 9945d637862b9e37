"""The book's blocks: what is said, in which order, and that no number stands without its unit."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields, is_dataclass, replace
from datetime import date

import pytest

from coilwright.analyses.results import PlanResult
from coilwright.model.parts import Accuracy, Instrument
from coilwright.report import blocks as b
from coilwright.report.book import book_blocks
from coilwright.report.quantities import fixed, quantity
from report import invented_book as made

DAY = date(2026, 3, 1)


def book(**changes: object) -> tuple[b.Block, ...]:
    given: dict[str, object] = {
        "design": made.design(),
        "shelf": made.shelf(),
        "plan": made.plan(),
        "supply": made.supply(),
    } | changes
    return book_blocks(
        given["design"], given["shelf"], given["plan"], given["supply"], wiring_svg=made.WIRING, stamp=DAY
    )


def of(kind: type, blocks: Iterable[b.Block]) -> list:
    return [block for block in blocks if isinstance(block, kind)]


def by_key(blocks: Iterable[b.Block], key: str):
    found = [block for block in blocks if getattr(block, "key", None) == key]
    assert len(found) == 1, f"{len(found)} blocks are called {key}"
    return found[0]


def words(thing: object) -> list[str]:
    """Return every piece of text in a block, whatever its kind."""
    if isinstance(thing, str):
        return [thing]
    if is_dataclass(thing):
        return [w for f in fields(thing) for w in words(getattr(thing, f.name))]
    if isinstance(thing, list | tuple):
        return [w for item in thing for w in words(item)]
    return []


def test_hazards_come_first_in_their_order() -> None:
    blocks = book()
    tags = of(b.TagBlock, blocks)
    assert [t.section for t in tags] == sorted(
        (t.section for t in tags), key=["local code", "STOP open", "STOP standing", "CAUTION", "NOTE"].index
    )
    assert tags[0].tag.id == "local-code"
    places = [(t.tag.id, t.tag.where) for t in tags]
    assert {(t.id, t.where) for t in (*made.TAGS, *made.shelf().tags)} <= set(places)
    assert len(places) == len(set(places))
    first_sheet = next(block for block in blocks if not isinstance(block, b.TagBlock | b.Cover | b.Heading))
    assert max(blocks.index(t) for t in tags) < blocks.index(first_sheet)


def test_open_stops_are_counted_in_the_margin_answered_or_not() -> None:
    cover = of(b.Cover, book())[0]
    assert cover.margin == "NOT FOR BUILDING: 2 open"
    sections = [t.section for t in of(b.TagBlock, book())]
    assert dict(cover.counts) == {s: sections.count(s) for s in ("STOP open", "STOP standing", "CAUTION", "NOTE")}
    assert dict(cover.counts)["STOP open"] == 2
    standing = tuple(t for t in made.TAGS if not t.blocks)
    assert of(b.Cover, book(supply=made.supply(tags=standing)))[0].margin == ""


@pytest.mark.parametrize(
    ("notes", "demo"), [("Demonstration. Invented.", True), ("a demo", True), ("", False), ("demolished barn", False)]
)
def test_demo_is_marked_when_the_notes_say_so(notes: str, demo: bool) -> None:
    assert of(b.Cover, book(design=made.design(notes=notes)))[0].demo is demo


def test_every_row_has_a_unit_and_a_value() -> None:
    rows = [row for table in of(b.Table, book()) for row in table.rows]
    assert len(rows) > 40
    assert all(row.unit and row.value and row.mark for row in rows)
    for sheet in of(b.ReadingSheet, book()):
        assert all(row.unit and row.instrument for row in sheet.rows)


def test_every_column_of_numbers_has_a_unit() -> None:
    number = re.compile(r"[-<]? ?\d+(\.\d+)?")
    for grid in of(b.Grid, book()):
        for place, column in enumerate(grid.columns):
            texts = [row[place].text for row in grid.rows]
            if column.align == "right" and any(number.fullmatch(text) for text in texts) and column.title != "row":
                assert column.unit, (grid.key, column.title)
        assert all(len(row) == len(grid.columns) for row in grid.rows)


def test_the_glance_prints_the_result_with_band_and_mark() -> None:
    rows = {row.label: row for row in by_key(book(), "output").rows}
    assert rows["open-circuit voltage, rms"] == b.Row(
        "open-circuit voltage, rms", "3.48", "kV", "3.40 to 3.57", "stamped"
    )
    assert rows["short-circuit current, rms"] == b.Row(
        "short-circuit current, rms", "397", "mA", "381 to 414", "stamped"
    )
    assert rows["best power into a resistor"].mark == "pencil"  # no mark of its own: the weakest one of the result


def test_both_mains_currents_are_shown_and_the_rule_is_said() -> None:
    table = by_key(book(), "mains")
    assert table.note == "Breaker and wiring are judged on the uncorrected current."
    values = {row.label: (row.value, row.unit) for row in table.rows}
    assert values["mains current, open (idle)"] == ("2.61", "A")
    assert values["largest mains current, uncorrected"] == ("7.31", "A")
    assert values["idle power factor"] == ("0.130", "ratio")
    assert values["breaker upstream"] == ("16.0", "A")


def test_each_joint_has_peak_clearance_creepage_basis_and_factor() -> None:
    grid = by_key(book(), "joints")
    rows = {row[0].text: [cell.text for cell in row] for row in grid.rows}
    assert rows["hot_a"] == ["hot_a", "high", "1.74", "2.54", "4.93", "15.1", "55.2", "1.50", "a"]
    assert rows["live"][-2:] == ["1.00", "b"]
    assert grid.notes[0] == "a  rod to plane, first standard; factor 1.50"
    assert set(rows) == set(made.supply().joints)


def test_gap_missing_is_not_known_until_it_has_answered() -> None:
    unknown = [
        block for block in of(b.Paragraph, book(supply=made.supply(gap_missing=None))) if "not known" in block.text
    ]
    assert len(unknown) == 1
    scan = made.supply().gap_missing
    assert scan is not None
    assert scan.own is not None
    lost = replace(scan, own=replace(scan.own, exact=False))
    rows = by_key([x for x in book(supply=made.supply(gap_missing=lost)) if isinstance(x, b.Table)], "gap missing").rows
    assert rows[0].value == "not known"
    assert not any("9.72" in row.value for row in rows)


def test_mains_readings_stay_closed_while_a_stop_is_open() -> None:
    for key in ("idle", "shorted"):
        assert all(row.closed == "not yet: 2 STOP open" for row in by_key(book(), key).rows)
        cleared = book(supply=made.supply(tags=tuple(t for t in made.TAGS if not t.blocks)))
        assert all(row.closed == "" for row in by_key(cleared, key).rows)
    assert all(row.closed == "" for row in by_key(book(), "dead").rows)


def test_no_reading_is_asked_of_an_instrument_that_cannot_take_it() -> None:
    asked = [row.instrument for key in ("idle", "shorted") for row in by_key(book(), key).rows]
    assert set(asked) == {"socket meter"}
    small = Instrument("toy meter", {"current": Accuracy(0.02), "power": Accuracy(0.02)}, rating=120.0)
    unrated = Instrument("no plate", {"current": Accuracy(0.02), "power": Accuracy(0.02)})
    volts_only = Instrument("clip meter", {"voltage": Accuracy(0.01)}, rating=600.0)
    for instrument in (small, unrated, volts_only):
        rows = by_key(book(design=made.design(instruments=(instrument,))), "idle").rows
        assert all(instrument.id not in row.instrument and "none on the shelf" in row.instrument for row in rows)


def test_nothing_is_read_on_the_high_side_at_mains() -> None:
    for key in ("idle", "shorted"):
        assert all(row.what.startswith("mains ") for row in by_key(book(), key).rows)
    assert "5.08 kV peak stands there" in by_key(book(), "shorted").note


def test_a_bond_is_only_read_with_a_bond_tester() -> None:
    bonds = [row for row in by_key(book(), "dead").rows if row.what.startswith("core of")]
    assert len(bonds) == len(made.supply().cores)
    # the shelf's meter measures ohms, but no bond test was ever stamped with it
    assert all("clip meter" not in row.instrument for row in bonds)


def test_parts_in_use_come_first_and_bring_their_notes() -> None:
    tables = [t for t in of(b.Table, book()) if t.key.startswith("part ")]
    assert [t.key for t in tables] == ["part U1", "part U2", "part K1", "part P1", "part U3"]
    assert tables[1].note == "dent in the left limb"
    assert "its short test cannot be right" in tables[-1].note
    assert "2 of them" in tables[3].title
    ratio = tables[0].rows[0]
    assert (ratio.value, ratio.unit, ratio.band, ratio.mark) == ("9.51", "ratio", "9.41 to 9.61", "stamped")


def test_plan_shelf_and_refusals_are_told_in_words() -> None:
    text = "\n".join(words(list(book())))
    for said in (
        "A mains pole would be part of the high-voltage circuit.",
        "Was it 14.8 W?",
        "Bolt the high end to the core.",
        "near twins: the same with U2 first",
        "No proof test is stamped.",
        "mains side only",
    ):
        assert said in text


def test_the_check_sheet_holds_every_tag_but_the_local_code() -> None:
    items = by_key(book(), "check").items
    hazards = [t.tag.what for t in of(b.TagBlock, book()) if t.tag.id != "local-code"]
    assert len(hazards) > len(made.TAGS)
    assert sorted(i.what for i in items) == sorted(hazards)
    assert [i.grade for i in items] == sorted((i.grade for i in items), key=["STOP", "CAUTION", "NOTE"].index)


def test_a_shelf_of_which_nothing_can_be_made_still_gives_a_book() -> None:
    empty = PlanResult(
        (),
        made.plan().refused,
        (),
        considered=7,
        seconds=0.1,
        nearest="One choke of 30 ohm is missing.",
        tags=made.TAGS,
    )
    blocks = book_blocks(made.design(arrangements=()), made.shelf(), empty, None, stamp=DAY)
    assert "One choke of 30 ohm is missing." in by_key(blocks, "supply").text
    assert by_key(blocks, "wiring").text
    assert of(b.Cover, blocks)[0].margin == "NOT FOR BUILDING: 2 open"
    bare = book_blocks(made.design(arrangements=()), None, None, None, stamp=DAY)
    assert of(b.Cover, bare)[0].margin == "NOT FOR BUILDING: no supply worked out"
    standing = [t.tag for t in of(b.TagBlock, bare)]
    assert standing[0].id == "local-code"
    assert any(t.grade == "STOP" and t.standing for t in standing)


def test_nothing_in_the_book_claims_to_be_safe() -> None:
    for text in words(list(book())):
        assert not re.search(r"\bsafe(ly)?\b", text, re.IGNORECASE), text


def test_numbers_keep_one_unit_for_value_and_band_and_the_band_is_never_narrowed() -> None:
    shown = quantity(1999.6, "V", (1994.99, 2004.01))
    assert (shown.text, shown.unit) == ("2.00", "kV")
    low, high = map(float, shown.band.split(" to "))
    assert low * 1e3 <= 1994.99
    assert high * 1e3 >= 2004.01
    assert str(quantity(float("nan"), "V")) == "not known"
    assert quantity(0.25, "%", (0.2, 0.3)).band == "20.0 to 30.0"
    assert fixed(0.0002, 1.0) == "< 0.001"


def test_the_last_digit_of_a_float_does_not_widen_a_band() -> None:
    assert quantity(0.3, "A", (0.1 + 0.2, 0.7)).band == "300 to 700"
