"""Protection on the terminal, in JSON, in the book and as a line drawing: nothing of it is left out or unmarked."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from io import StringIO
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest
from rich.console import Console

from analyses.stage_cases import staged
from coilwright.model.known import Known
from coilwright.model.machine import BleederResistor, Protection, SeriesFilter
from coilwright.report.blocks import Drawing, Grid, Heading, Paragraph, Table
from coilwright.report.book.tank_protection import protection_blocks
from coilwright.report.console_tank_protection import HELD, made_of, print_protection
from coilwright.report.drawing.protection_chain import NOTES, ChainView, Item, chain_svg, chain_view
from coilwright.report.drawing.svg import Box, text_width
from coilwright.report.estimates import split_estimates
from coilwright.report.json_tank_protection import protection_part

SVG = "{http://www.w3.org/2000/svg}"
FITTED = Protection(
    Known(0.6e-3), None, True, 2, SeriesFilter(Known(220.0), Known(2.2e-9)), BleederResistor(Known(50e6)), "8 A T", True
)


def printed(protection=None) -> str:
    out = StringIO()
    print_protection(Console(file=out, width=80, color_system=None), staged(protection)[1])
    return out.getvalue()


# ---- terminal --------------------------------------------------------------------------------------------------------


def test_what_can_be_held_comes_first_and_every_word_is_printed():
    text = printed(FITTED)
    assert text.startswith("What can be held when the plug is out")
    flat = re.sub(r"\s+", " ", text)
    assert flat.count(HELD) == flat.count("NEC 460.6") == 1
    p = staged(FITTED)[1].protection
    filtering = (*p.filter.limits, *p.filter.fails, *p.filter.chokes)
    for words in (
        *p.safety_gap.words,
        *filtering,
        *p.fuse.words,
        *p.mains_side,
        *p.ground,
        *p.keep_out.words,
        *p.limits,
    ):
        assert re.sub(r"\s+", " ", words) in flat
    assert all(len(line) <= 80 for line in text.splitlines())
    assert not re.search(r"\b(un)?safe\b", text)


def test_what_is_not_there_is_said():
    text = printed()
    assert re.search(r"in the project\s+NONE", text) and "NONE in the project; this would do" in text
    assert re.search(r"fuse in the project\s+NONE", text)
    design, stage = staged()
    dead = replace(stage.protection.stored[0], discharge_time=None, residual=None)
    stage = replace(stage, protection=replace(stage.protection, stored=(dead,)))
    out = StringIO()
    print_protection(Console(file=out, width=80, color_system=None), stage)
    assert "NEVER: no" in out.getvalue() and design.name


def test_a_bleeder_is_made_of_what_is_sold():
    # fitted: how many at least and their volts, for 10 Mohm over 4 is on no shelf; to be fitted: values of the series
    fitted = staged(FITTED)[1].protection.bleeders[0]
    assert made_of(fitted) == "4 or more, at least 340 V each"
    assert made_of(replace(fitted, fitted=None)) == "4 x 5.00 Mohm"
    assert "340 V each" in re.sub(r"\s+", " ", printed(FITTED)) and "4 x" not in printed(FITTED)


def test_a_fuse_that_holds_only_the_middle_of_the_band_is_not_said_to_hold():
    assert "NOT the upper end of its band" in re.sub(r"\s+", " ", printed(FITTED))
    blocks = [b for b in protection_blocks(*staged(FITTED)) if isinstance(b, Paragraph) and b.tone == "warning"]
    assert any("8 A T, holds the largest steady current, NOT the upper end" in b.text for b in blocks)
    whole = printed(Protection(fuse="10 A T"))
    assert "holds the largest steady current" in whole and "NOT the upper end" not in whole


@pytest.mark.parametrize(
    ("needed", "label"),
    [
        (True, "soft start, needed for the breaker"),
        (False, "soft start, only if the breaker trips all the same"),
        (None, "soft start, may be needed"),
    ],
)
def test_a_soft_start_is_offered_as_what_it_is(needed, label):
    design, stage = staged()
    fuse = replace(stage.protection.fuse, soft_start_needed=needed)
    stage = replace(stage, protection=replace(stage.protection, fuse=fuse))
    out = StringIO()
    print_protection(Console(file=out, width=80, color_system=None), stage)
    assert label in out.getvalue() and "upper bound" in out.getvalue()
    rows = [r.label for b in protection_blocks(design, stage) if isinstance(b, Table) for r in b.rows]
    assert label in rows
    svg = chain_svg(chain_view(design, stage))
    assert states(svg)["soft start"] == {"not needed" if needed is False else "fitted"}
    assert ("5.60 ohm" in svg) is (needed is not False)
    assert protection_part(stage)["protection"]["fuse"]["soft_start_needed"] is needed


def test_an_empty_window_stands_in_the_title():
    _, stage = staged()
    gap = replace(stage.protection.safety_gap, empty=True, setting_peak=None, spacing=None)
    out = StringIO()
    print_protection(
        Console(file=out, width=80, color_system=None),
        replace(stage, protection=replace(stage.protection, safety_gap=gap)),
    )
    assert "Safety gap of each leg to earth: NO SETTING FITS" in out.getvalue()
    assert re.search(r"set to\s+not known", out.getvalue())


# ---- json ------------------------------------------------------------------------------------------------------------


def test_the_object_has_its_keys_with_bands_and_marks():
    _, stage = staged(FITTED)
    plain, bands, marks = split_estimates(protection_part(stage))
    own = json.loads(json.dumps(plain))["protection"]
    assert set(own) >= {"safety_gap", "bleeder", "filter", "fuse", "stored", "keep_out"}
    gap = own["safety_gap"]
    assert gap["low_peak"] < gap["setting_peak"] < gap["high_peak"]
    assert gap["spacing_low"] < gap["spacing"] < gap["spacing_high"]
    low, high = bands["protection.safety_gap.spacing"]
    assert low < gap["spacing"] < high and marks["protection.safety_gap.spacing"] == "pencil"
    assert own["filter"]["resistance"] == 220.0 and own["fuse"]["fitted"] == "8 A T"
    assert own["stored"][0]["where"] == "tank" and own["stored"][0]["limits"]
    assert len(own["bleeder"]) == 2


# ---- book ------------------------------------------------------------------------------------------------------------


def test_the_sheet_holds_every_number_with_its_unit():
    design, stage = staged(FITTED)
    blocks = list(protection_blocks(design, stage))
    assert isinstance(blocks[0], Heading) and isinstance(blocks[1], Drawing)
    tables = {b.key: b for b in blocks if isinstance(b, (Table, Grid))}
    assert set(tables) == {"stored", "safety gap", "filter", "bleeders", "soft start"}
    for table in tables.values():
        if isinstance(table, Table):
            assert all(r.unit for r in table.rows)
    stored = tables["stored"]
    assert len(stored.rows) == len(stage.protection.stored) == len(stored.details)
    text = " ".join(b.text for b in blocks if isinstance(b, Paragraph))
    for words in (*stage.protection.mains_side, *stage.protection.ground, *stage.protection.fuse.words):
        assert words in text


def test_a_missing_gap_is_a_warning_on_paper():
    design, stage = staged()
    warnings = [b.text for b in protection_blocks(design, stage) if isinstance(b, Paragraph) and b.tone == "warning"]
    assert "The project has no safety gap." in warnings


# ---- drawing ---------------------------------------------------------------------------------------------------------


def root(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 (our own text)


def states(svg: str) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for group in root(svg).iter(f"{SVG}g"):
        if "data-part" in group.attrib:
            found.setdefault(group.attrib["data-part"], set()).add(group.attrib["data-state"])
    return found


CHAIN = ("mains", "disconnection 1", "disconnection 2", "mains filter", "fuse", "soft start", "supply", "capacitor",
         "resistor", "safety gap", "gap", "tank", "bleeder", "coil")  # fmt: skip


def test_the_chain_is_whole_and_what_is_missing_is_dashed():
    bare, full = (states(chain_svg(chain_view(*staged(p)))) for p in (None, FITTED))
    assert set(bare) == set(full) == set(CHAIN)
    missing = {"disconnection 1", "disconnection 2", "fuse", "capacitor", "resistor", "safety gap"}
    assert {k for k, s in bare.items() if s == {"missing"}} == missing
    assert full.pop("soft start") == {"not needed"}  # 13 A of first peak on a B16
    assert all(s == {"fitted"} for s in full.values())
    assert chain_svg(chain_view(*staged())).count(">MISSING<") == len(missing)


def test_one_disconnection_is_not_two():
    one = states(chain_svg(chain_view(*staged(Protection(disconnections=1)))))
    assert one["disconnection 1"] == {"fitted"} and one["disconnection 2"] == {"missing"}


def texts_of(svg: str) -> list[tuple[str, Box]]:
    out = []
    for t in root(svg).iter(f"{SVG}text"):
        x, y, size = (float(t.attrib[k]) for k in ("x", "y", "font-size"))
        width = text_width(t.text or "", size)
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[t.attrib.get("text-anchor", "start")] * width
        out.append((t.text or "", Box(left, y - 0.8 * size, left + width, y + 0.22 * size)))
    return out


@pytest.mark.parametrize("legs", [("hot_a", "hot_b"), ("a joint with a very long name",)])
@pytest.mark.parametrize("fitted", [True, False])
@pytest.mark.parametrize("trip", [0.03, None])
def test_no_text_leaves_the_paper_or_lies_on_another(legs, fitted, trip):
    design, stage = staged(FITTED if fitted else None)
    view = chain_view(replace(design, site=replace(design.site, rcd=Known(trip))), stage)
    svg = chain_svg(
        replace(view, legs=legs, name="an arrangement whose name is long enough to need a second line of the head")
    )
    width, height = (float(v) for v in root(svg).attrib["viewBox"].split()[2:])
    found = texts_of(svg)
    assert len(found) > 25
    for text, box in found:
        assert box.x0 >= 0 and box.x1 <= width and box.y0 >= 0 and box.y1 <= height, text
    for (a, first), (b, second) in combinations(found, 2):
        assert not first.overlaps(second), (a, b)


def test_one_leg_has_one_safety_gap_and_its_other_end_on_earth():
    view = chain_view(*staged(FITTED))
    counts = [chain_svg(replace(view, legs=legs)).count('data-part="safety gap"') for legs in (("hot",), ("a", "b"))]
    assert counts == [1, 2]


def test_the_drawing_says_which_earth_the_safety_gap_ends_on():
    words = [t for t, _ in texts_of(chain_svg(chain_view(*staged(FITTED))))]
    assert "to PE, each" in words and words.count("PE") == 2
    assert any("not on the coil's radio-frequency rod" in w for w in words)


def test_two_lines_are_named_and_each_gets_a_fuse():
    design, stage = staged(FITTED)
    split = replace(design, site=replace(design.site, system=Known("split phase")))
    words = [t for t, _ in texts_of(chain_svg(chain_view(split, stage)))]
    assert {"L1", "L2", "in each line"} <= set(words) and "N" not in words
    assert {"L", "N"} <= {t for t, _ in texts_of(chain_svg(chain_view(design, stage)))}


def test_words_that_xml_cannot_hold_are_escaped():
    items = tuple(Item(k, ("<&>", '"'), fitted=False) for k in CHAIN)
    svg = chain_svg(ChainView("a < b & c", ("<&",), items))
    assert root(svg).tag == f"{SVG}svg"
    assert all(note in svg for note in NOTES)
