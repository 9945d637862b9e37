"""Editing in place: what is asked for changes, and not a byte of the rest."""

from __future__ import annotations

import dataclasses
import datetime as dt
import difflib
import re
import tomllib

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.model.design import Arrangement
from coilwright.project.edit import edit, toml_value, with_arrangement
from coilwright.project.load import read_text
from coilwright.project.start import blank_text, demo_text

DEMO = demo_text()


def difference(old: str, new: str) -> list[str]:
    """Return the lines that went (-) and came (+)."""
    rows = difflib.unified_diff(old.split("\n"), new.split("\n"), n=0, lineterm="")
    return [r for r in rows if not r.startswith(("---", "+++", "@@"))]


def comments(text: str) -> list[str]:
    return re.findall(r"#[^\n\"]*$", text, re.MULTILINE)


@pytest.mark.parametrize(
    ("path", "value", "expected"),
    [
        ("site.breaker", "C20", ['-breaker = "B16"', '+breaker = "C20"']),
        (
            "transformer[2].core_end_liftable",
            "yes",
            ['-core_end_liftable = "no"        # welded lug', '+core_end_liftable = "yes"        # welded lug'],
        ),
        ("site.earthing", "TN", ['+earthing = "TN"']),
        ("goal.on_time", None, ['-on_time = "120 s"']),
        ("protection.safety_gap", "0.6 mm", ['+safety_gap = "0.6 mm"']),
        (
            "site.room.length",
            "5 m",
            [
                '-room = { ceiling = "2.7 m", wall_distance = "1.8 m" }',
                '+room = { ceiling = "2.7 m", wall_distance = "1.8 m", length = "5 m" }',
            ],
        ),
        (
            "arrangement[0].reversed[0]",
            "T2.primary",
            [
                "-reversed = []                   # wrong on purpose: the polarity readings below say T2",
                '+reversed = ["T2.primary"]                   # wrong on purpose: the polarity readings below say T2',
            ],
        ),
        ("choke[4]", {"id": "B9", "current": "4 A"}, ["+[[choke]]", '+id = "B9"', '+current = "4 A"', "+"]),
        ("earth", {"rod": "own"}, ["+", "+[earth]", '+rod = "own"']),
        ("earth.rod", "own", ["+", "+[earth]", '+rod = "own"']),
    ],
)
def test_one_change(path: str, value: object, expected: list[str]) -> None:
    new = edit(DEMO, {path: value})
    assert sorted(difference(DEMO, new)) == sorted(expected)
    assert comments(new) == comments(DEMO)
    read_text(new)


def test_one_number_in_a_list_of_readings_is_corrected() -> None:
    new = edit(DEMO, {"transformer[3].short_test[1].power": "15.9 W"})
    assert new == DEMO.replace('"159 W"', '"15.9 W"')


def test_a_reading_is_appended_to_a_list_over_several_lines() -> None:
    row = {"applied": "240 V", "current": "2.1 A", "date": dt.date(2026, 3, 1)}
    new = edit(DEMO, {"transformer[0].open_test[3]": row})
    assert new.count("\n") == DEMO.count("\n") + 1
    assert '  { applied = "240 V", current = "2.1 A", date = 2026-03-01 } ]' in new
    assert read_text(new)[0].transformers[0].open_test[3].current.value == 2.1


def test_an_item_of_a_list_is_removed() -> None:
    for index in range(3):
        new = edit(DEMO, {f"choke[0].test[{index}]": None})
        kept = [t for n, t in enumerate(tomllib.loads(DEMO)["choke"][0]["test"]) if n != index]
        assert tomllib.loads(new)["choke"][0]["test"] == kept


def test_a_section_is_removed() -> None:
    new = edit(DEMO, {"transformer[4]": None})
    assert [t.id for t in read_text(new)[0].transformers] == ["T1", "T2", "T3", "T4"]
    assert "welded lug" in new


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("transformer[9].mass", "1 kg"),
        ("choke[9]", {"id": "B9"}),
        ("site", 5),
        ("nothing.at.all", None),
        ("goal.nothing", None),
        ("site.mains.volts", "230 V"),
        ("choke[0].core.inner.deep", "x"),
    ],
)
def test_a_path_that_leads_nowhere(path: str, value: object) -> None:
    with pytest.raises(KeyError):
        edit(DEMO, {path: value})


def test_files_with_carriage_returns_keep_them() -> None:
    text = DEMO.replace("\n", "\r\n")
    new = edit(text, {"site.earthing": "TN", "earth": {"rod": "own"}, "choke[4]": {"id": "B9"}})
    assert new.count("\n") == new.count("\r\n")
    assert tomllib.loads(new) == tomllib.loads(
        edit(DEMO, {"site.earthing": "TN", "earth": {"rod": "own"}, "choke[4]": {"id": "B9"}})
    )


def test_a_file_without_a_last_line_end() -> None:
    assert tomllib.loads(edit("format = 1", {"site": {"mains": "230 V"}})) == {"format": 1, "site": {"mains": "230 V"}}
    assert tomllib.loads(edit("format = 1\n[site]", {"site.mains": "230 V"})) == {
        "format": 1,
        "site": {"mains": "230 V"},
    }


words = st.text(alphabet=st.characters(exclude_categories=("Cs",)), max_size=20)


@settings(max_examples=40)
@given(words, words)
def test_any_words_survive_and_comments_stay(name: str, notes: str) -> None:
    new = edit(DEMO, {"project.name": name, "project.notes": notes})
    assert tomllib.loads(new)["project"] == {"name": name, "notes": notes}
    assert comments(new) == comments(DEMO)
    # the same bytes everywhere else
    assert new[new.index("[site]") :] == DEMO[DEMO.index("[site]") :]


KEYS = [
    ("site.mains_resistance", st.sampled_from(["0.2 ohm", "0.41 ohm ± 5 %"])),
    ("goal.power", st.sampled_from(["900 VA", "1.2 kVA"])),
    ("transformer[1].mass", st.sampled_from(["4 kg", "9 lb"])),
    ("choke[2].gap_ratio", st.floats(0.5, 3)),
    ("capacitor[0].made", st.integers(1950, 2020)),
    ("gap.electrode.diameter", st.sampled_from(["6 mm", "3/8 in"])),
    ("reading[1].value", st.sampled_from(["9.7 V", "10 V"])),
    ("protection.interlock", st.booleans()),
]


@settings(max_examples=20)
@given(st.lists(st.sampled_from(KEYS).flatmap(lambda k: st.tuples(st.just(k[0]), k[1])), min_size=1, max_size=5))
def test_edit_and_load_agree_with_another_editor(changes: list[tuple[str, object]]) -> None:
    # tomlkit, an independent round-trip editor, makes the same change to the same file: equal data
    document = tomlkit.parse(DEMO)
    for path, value in changes:
        holder: object = document
        *steps, last = re.findall(r"\w+", path)
        for step in steps:
            holder = holder[int(step) if step.isdigit() else step]  # type: ignore[index]
        holder[last] = value  # type: ignore[index]
    text = DEMO
    for path, value in changes:
        text = edit(text, {path: value})
    assert tomllib.loads(text) == tomllib.loads(tomlkit.dumps(document))
    assert comments(text) == comments(DEMO)
    read_text(text)


def test_values_of_every_kind() -> None:
    value = {"a": [1, 2.5, True, "x\ny", dt.date(2026, 3, 1)], "b c": {}, "d": 1e-9, "e": '\x7f"\\'}
    assert tomllib.loads(f"v = {toml_value(value)}")["v"] == value
    with pytest.raises(TypeError):
        toml_value(object())


# ---- arrangements ----------------------------------------------------------------------------------------------------


def arrangement(**changes: object) -> Arrangement:
    return dataclasses.replace(read_text(DEMO)[0].arrangements[0], **changes)  # type: ignore[arg-type]


def test_an_arrangement_is_added_behind_the_others_and_used() -> None:
    new = arrangement(name='pair, "crossed"', reversed=("T2.primary",), where="")
    text = with_arrangement(DEMO, new)
    design = read_text(text)[0]
    assert [a.name for a in design.arrangements] == ["pair, midpoint earthed", 'pair, "crossed"']
    chosen = design.chosen()
    assert chosen is not None
    assert dataclasses.replace(chosen, where="") == new
    assert comments(text) == comments(DEMO)
    gone = [r for r in difference(DEMO, text) if r.startswith("-")]
    assert gone == ['-use = "pair, midpoint earthed"']


def test_an_arrangement_takes_the_place_of_the_one_of_its_name() -> None:
    text = with_arrangement(DEMO, arrangement(reversed=("T2.primary",)))
    design = read_text(text)[0]
    assert [a.reversed for a in design.arrangements] == [("T2.primary",)]
    kept = [c for c in comments(DEMO) if "polarity readings below" not in c]
    assert comments(text) == kept
    again = with_arrangement(text, arrangement(reversed=("T2.primary",)))
    assert again == text


def test_an_arrangement_in_a_file_that_has_none() -> None:
    bare = DEMO[: DEMO.index("# ---- the supply")] + "\n[supply]   # to be chosen\n\n[gap]\nkind = 'static'\n"
    for text in (bare, DEMO[: DEMO.index("# ---- the supply")]):
        design = read_text(with_arrangement(text, arrangement()))[0]
        assert design.use_arrangement == "pair, midpoint earthed"
        assert len(design.arrangements) == 1
    unused = read_text(with_arrangement(bare, arrangement(), use=False))[0]
    assert unused.use_arrangement is None


def test_arrangements_written_as_an_inline_list() -> None:
    data = tomllib.loads(DEMO)["arrangement"]
    start, stop = DEMO.index("[[arrangement]]"), DEMO.index("[supply]")
    text = DEMO.replace("format = 1\n", f"format = 1\narrangement = {toml_value(data)}\n").replace(DEMO[start:stop], "")
    new = with_arrangement(text, arrangement(reversed=("T2.primary",)))
    assert [a.reversed for a in read_text(new)[0].arrangements] == [("T2.primary",)]
    added = with_arrangement(text, arrangement(name="second"))
    assert read_text(added)[0].use_arrangement == "second"


def test_a_shorted_high_winding_is_written_as_meant() -> None:
    joints = {
        "live": ("mains.line", "T4.primary_start"),
        "fed": ("T4.primary_finish", "T1.primary_start"),
        "return": ("mains.neutral", "T1.primary_finish"),
        "ground": ("mains.earth", "T1.core", "T4.core"),
        "hot": ("T1.high_start",),
        "stub": ("T4.high_start", "T4.high_finish"),
    }
    text = with_arrangement(DEMO, Arrangement("choked by T4", joints, ("hot", "ground")))
    assert read_text(text)[0].arrangements[1].shorted == ("T4.high",)


def test_a_blank_project_takes_an_arrangement_of_its_own() -> None:
    parts = {
        "transformer[0]": {"id": "T1", "kind": "oven", "core_end": "finish"},
        "choke[0]": {"id": "B1", "lamp": "sodium 400 W"},
    }
    joints = {
        "live": ("mains.line", "B1.a"),
        "fed": ("B1.b", "T1.primary_start"),
        "return": ("mains.neutral", "T1.primary_finish"),
        "ground": ("mains.earth", "T1.core"),
        "hot": ("T1.high_start",),
    }
    text = with_arrangement(edit(blank_text("x"), parts), Arrangement("one", joints, ("hot", "ground")))
    chosen = read_text(text)[0].chosen()
    assert chosen is not None
    assert chosen.joints["fed"] == ("B1.b", "T1.primary_start")
    assert comments(blank_text("x")) == comments(text)
