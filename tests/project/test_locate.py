"""Lines of key paths: against the lines on which markers stand, and against an independent TOML reader's data."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from coilwright.project.edit import toml_value
from coilwright.project.locate import line_of, lines, path_steps, path_text, places
from coilwright.project.start import demo_text

TRICKY = '''# comment with [brackets] = "and quotes"
top = 1 #L top
"quoted.key" = 'literal # not a comment' #L quoted.key
text = """
a = 1
[not.a.table]
"""
after = """x""" #L after
a.b.c = [1, 2, #L a.b.c[0]
  3, # comment ]
  [4, #L a.b.c[3]
   5]] #L a.b.c[3][1]
[[part]] #L part[0]
id = "x" #L part[0].id
rows = [{ x = "}" , y = [ "]" ] }, #L part[0].rows[0].y[0]

  { x = 2 }, ] #L part[0].rows[1].x
[part.inner] #L part[0].inner
k = 2026-03-01 07:32:00 #L part[0].inner.k
[[part.sub]] #L part[0].sub[0]
[[part.sub]] #L part[0].sub[1]
v = -1.5e3 #L part[0].sub[1].v
[[ part ]] #L part[1]
 id = \'\'\'it\'s\'\'\' #L part[1].id
[[part.sub]] #L part[1].sub[0]
'''


def test_lines_of_every_construct() -> None:
    data = tomllib.loads(TRICKY)
    assert data["part"][1]["id"] == "it's"
    found = lines(places(TRICKY))
    for number, line in enumerate(TRICKY.split("\n"), start=1):
        for path in re.findall(r"#L (\S+)", line):
            assert found[path] == number, path


def values(data: Any, path: tuple[str | int, ...] = ()) -> dict[tuple[str | int, ...], Any]:
    """Return every leaf of parsed TOML."""
    if isinstance(data, dict) and data:
        return {k: v for key, item in data.items() for k, v in values(item, (*path, key)).items()}
    if isinstance(data, list) and data:
        return {k: v for index, item in enumerate(data) for k, v in values(item, (*path, index)).items()}
    return {path: data}


def check_spans(text: str) -> None:
    """Every leaf that a TOML parser finds has a place, and the text of that place is the leaf."""
    leaves = values(tomllib.loads(text))
    spans = {p.path: p for p in places(text)}
    for path, leaf in leaves.items():
        place = spans[path]
        if place.kind in {"value", "item"}:
            assert tomllib.loads(f"v = {text[slice(*place.value)]}")["v"] == leaf


def test_spans_agree_with_the_parser() -> None:
    check_spans(TRICKY)
    check_spans(demo_text())


plain = st.one_of(
    st.text(max_size=12),
    st.integers(-(10**9), 10**9),
    st.booleans(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(),
)
nested = st.recursive(
    plain,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=4), inner, max_size=3)),
    max_leaves=8,
)


@given(st.dictionaries(st.text(max_size=6), nested, min_size=1, max_size=4))
def test_spans_of_any_values(table: dict[str, Any]) -> None:
    text = "[t]\n" + "".join(f"{toml_value({k: v})[2:-2]}\n" for k, v in table.items())
    assert tomllib.loads(text)["t"] == table
    check_spans(text)


def test_paths_read_back() -> None:
    path = ("transformer", 0, "open_test", 1, "current")
    assert path_steps(path_text(path)) == path


def test_a_key_without_a_line_has_the_one_around_it() -> None:
    assert line_of({"a[0]": 3, "a": 1}, "a[0].missing") == 3
    assert line_of({"a": 1}, "a[7].b.c") == 1
    assert line_of({"a": 1}, "b") is None
    assert line_of({}, "") is None
