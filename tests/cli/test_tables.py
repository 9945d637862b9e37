"""Tables for people: hazards first, each number with unit, band and mark, 80 columns, nothing said by colour alone."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from rich.console import Console

from cli.doors import CAUTION, KILLS, LOCAL, OPEN_STOP, plan_result, shelf_result, supply_result, tag
from coilwright.report.console import Lookup, counts_line, marked, shown
from coilwright.report.console_plan import print_plan
from coilwright.report.console_shelf import print_shelf
from coilwright.report.console_supply import print_supply

EVERY = (KILLS, CAUTION, LOCAL, OPEN_STOP)


def printed(show: Callable[[Console], None], width: int = 80) -> str:
    stream = io.StringIO()
    show(Console(file=stream, width=width, highlight=False, emoji=False, markup=False))
    return stream.getvalue()


def pages(width: int = 80) -> dict[str, str]:
    return {
        "shelf": printed(lambda c: print_shelf(c, shelf_result(stop=True, tags=EVERY)), width),
        "plan": printed(lambda c: print_plan(c, plan_result(tags=EVERY)), width),
        "plan, nothing": printed(lambda c: print_plan(c, plan_result(empty=True, tags=EVERY)), width),
        "supply": printed(lambda c: print_supply(c, supply_result(converged=False, tags=EVERY)), width),
    }


@pytest.mark.parametrize("width", [80, 100, 132])
def test_lines_fit_and_hold_no_escape(width: int) -> None:
    for name, text in pages(width).items():
        assert max(map(len, text.splitlines())) <= width, name
        assert "\x1b" not in text, name


@pytest.mark.parametrize("name", ["shelf", "plan", "plan, nothing", "supply"])
def test_hazards_come_first_and_whole(name: str) -> None:
    text = pages()[name]
    lines = text.splitlines()
    assert lines[0] == "NOTE local-code: What of local-code. Why of local-code. Way out of local-code."
    order = [
        text.index(word)
        for word in (
            "safety-gap-missing at hot_a (open)",
            "supply-kills (standing)",
            "wiring-current (open)",
            "open: 1 STOP, 1 CAUTION, 0 NOTE",
        )
    ]
    assert order == sorted(order)
    head = text[: order[-1]]
    for shown_tag in (OPEN_STOP, CAUTION, KILLS):
        for field in (shown_tag.what, shown_tag.why, shown_tag.do, shown_tag.source):
            assert field in head
    assert "value 405 mA; limit 5 mA rms" in head


def test_standing_tags_are_counted_apart() -> None:
    assert counts_line(EVERY) == "open: 1 STOP, 1 CAUTION, 0 NOTE   standing: 1 STOP, 0 CAUTION, 1 NOTE"


def test_an_answered_stop_says_that_it_stays_open() -> None:
    answered = replace(OPEN_STOP, answered="I measured it")
    text = printed(lambda c: print_supply(c, supply_result(tags=(LOCAL, answered))))
    assert "answered: I measured it (the STOP stays open)" in text


def test_marks_are_signs_with_a_legend() -> None:
    assert (marked("1 V", "pencil"), marked("1 V", "ink"), marked("1 V", "stamped")) == ("~1 V", "1 V", "[1 V]")
    text = pages()["shelf"]
    assert "[9.54]" in text and "90.5 ohm" in text and "~253 V" in text
    assert "9.46 to 9.62" in text
    for name, page in pages().items():
        if name != "plan, nothing":
            assert "~ pencil" in page and "[ ] stamped" in page.replace("\n", " "), name


def test_a_value_that_is_none_bears_no_mark_and_no_number() -> None:
    assert shown(None, "A", "pencil") == "not known"
    assert shown(float("nan"), "A", "stamped") == "not known"


def test_a_number_without_a_mark_of_its_own_is_shown_as_the_least_known() -> None:
    known = Lookup({"open_circuit": "stamped", "short_circuit.current": "ink"}, {})
    assert (known.mark("open_circuit.voltage"), known.mark("short_circuit.current"), known.mark("cores.T1")) == (
        "stamped",
        "ink",
        "ink",
    )
    assert Lookup({}, {}).mark("anything") == "pencil"


def test_supply_shows_the_numbers_with_units_and_band() -> None:
    text = pages()["supply"]
    assert re.search(r"output +\[3\.59 kV\]", text)
    assert re.search(r"3\.51 to 3\.6\d", text)
    assert "carry ~7.96 A" in text
    assert re.search(r"10\.[78] kV peak", text) and re.search(r"~3\.25 kV\s*peak", text)
    assert "not known, because the search did not converge: 20.0 nf" in " ".join(text.split()).lower()
    assert "T1.high finish (inner)" in text
    assert "The short current from the fundamental alone would be 3.1 % off" in text


def test_no_number_where_the_search_did_not_converge() -> None:
    result = supply_result()
    missing = result.gap_missing
    assert missing is not None and missing.own is not None
    unknown = replace(missing.own, exact=False)
    text = printed(
        lambda c: print_supply(
            c, replace(result, gap_missing=replace(missing, own=unknown, worst=None, points=(unknown,)))
        )
    )
    assert "10.8 kV" not in text and "5.40 kV" not in text
    assert "not known" in text


def test_gap_missing_that_was_not_computed_is_not_known() -> None:
    text = printed(lambda c: print_supply(c, replace(supply_result(), gap_missing=None)))
    assert "Tank attached, gap missing: not known (not computed)." in text


def test_plan_numbers_refused_rows_after_the_ranked() -> None:
    text = pages()["plan"]
    assert re.search(r"^ 1  T1 \+ T2 behind B4$", text, re.MULTILINE)
    assert re.search(r"^1 +0\.310 .*\[3\.59 kV\].*T1 \+ T2 behind B4", text, re.MULTILINE)
    assert re.search(r"^ 3  series A; series B\n    a mains pole is in the high-voltage circuit$", text, re.MULTILINE)
    assert "near twins: T3 + T1 behind B4" in text
    assert "CAUTION wiring-current" in text


def test_nothing_ranked_says_what_is_nearest() -> None:
    text = pages()["plan, nothing"]
    assert "Nothing could be ranked." in text
    assert "one choke of 12 ohm would do" in text


def test_bad_reading_is_named_with_its_way_out() -> None:
    text = pages()["shelf"]
    assert "transformer[3].short_test[1].power" in text
    assert "-> was it 15.9 W?" in text
    assert "T4 cannot be used: a reading is a STOP" in text


def test_short_pages_keep_every_finding() -> None:
    text = printed(lambda c: print_shelf(c, shelf_result(stop=True, tags=EVERY), short=True))
    assert "was it 15.9 W?" in text and "safety-gap-missing" in text and "short test at 115 V" in text
    assert "two low-voltage ratios" not in text
    text = printed(lambda c: print_supply(c, supply_result(tags=EVERY), short=True))
    assert "safety-gap-missing" in text and "gap missing" in text and "no hysteresis" in text


def test_colour_is_decoration_only() -> None:
    stream = io.StringIO()
    coloured = Console(
        file=stream, width=80, force_terminal=True, color_system="truecolor", highlight=False, emoji=False, markup=False
    )
    print_supply(coloured, supply_result(tags=EVERY))
    plain = printed(lambda c: print_supply(c, supply_result(tags=EVERY)))
    assert "\x1b[" in stream.getvalue()
    assert re.sub(r"\x1b\[[0-9;]*m", "", stream.getvalue()) == plain


def test_words_from_the_file_are_not_taken_for_markup() -> None:
    odd = tag("wiring-current", "CAUTION", where="[bold]T1[/bold]", what="[red]odd[/red] :fire:")
    text = printed(lambda c: print_supply(c, replace(supply_result(tags=(LOCAL, odd)), name="[link=x]pair[/link]")))
    assert "[bold]T1[/bold]" in text and "[red]odd[/red] :fire:" in text and "[link=x]pair[/link]" in text
