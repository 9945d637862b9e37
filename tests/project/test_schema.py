"""The JSON Schema in the package is the present one, takes what the loader takes, and refuses what is plainly wrong."""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright._dimensions import DIMENSIONS
from coilwright.project.fields import Unit
from coilwright.project.schema import json_schema, shipped_json_schema
from coilwright.project.start import blank_text, demo_text
from coilwright.units import show

DATA = Path(__file__).parent / "data"
VALIDATOR = jsonschema.Draft202012Validator(shipped_json_schema())


def as_json(text: str) -> Any:
    """Return TOML as an editor's checker sees it: dates are strings."""

    def word(value: object) -> str:
        assert isinstance(value, dt.date)
        return value.isoformat()

    return json.loads(json.dumps(tomllib.loads(text), default=word))


def test_the_shipped_schema_is_the_present_one() -> None:
    assert shipped_json_schema() == json_schema(), "write it anew: python -m coilwright.project.schema"
    jsonschema.Draft202012Validator.check_schema(shipped_json_schema())


def test_it_is_in_the_package() -> None:
    assert files("coilwright.project").joinpath("schema.json").is_file()


@pytest.mark.parametrize(
    "text",
    [demo_text(), blank_text(), *(p.read_text(encoding="utf-8") for p in sorted(DATA.glob("[ae]*.coil.toml")))],
    ids=["demo", "blank", "alternatives", "every_key"],
)
def test_projects_that_load_are_accepted(text: str) -> None:
    assert [e.message for e in VALIDATOR.iter_errors(as_json(text))] == []


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ('mains = "230 V"', "mains = 230", ["site", "mains"]),
        ('mains = "230 V"', 'mains = "230 v"', ["site", "mains"]),
        ('mains = "230 V"', 'mains = "230"', ["site", "mains"]),
        ('kind = "oven"', 'kind = "owen"', ["transformer", 0, "kind"]),
        ("plate_power", "plate_pwer", ["transformer", 0]),
        ('breaker = "B16"', 'breaker = "Z16"', ["site", "breaker"]),
        ("count = 32", "count = 0", ["capacitor", 2, "count"]),
        ('fed    = ["B4.b"', 'fed    = [5, "B4.b"', ["arrangement", 0, "joint", "fed", 0]),
        ("format = 1", "format = 2", ["format"]),
    ],
)
def test_what_is_wrong_is_refused_at_its_place(old: str, new: str, path: list[str | int]) -> None:
    text = demo_text()
    assert old in text
    errors = list(VALIDATOR.iter_errors(as_json(text.replace(old, new, 1))))
    assert [list(e.absolute_path) for e in errors] == [path]


SHOWN = sorted(n for n in DIMENSIONS if n not in {"number", "rated voltage", "temperature"})


@given(st.sampled_from(SHOWN), st.floats(0, 1), st.booleans(), st.sampled_from(["", " ± 2 %", " +- 1 V"]))
def test_every_spelling_that_the_program_writes_is_accepted(name: str, where: float, pretty: bool, band: str) -> None:
    dim = DIMENSIONS[name]
    text = show(dim.smallest * 2 * (dim.largest / dim.smallest / 8) ** where, name, 4, pretty=pretty)
    assert jsonschema.Draft202012Validator(Unit(name).json()).is_valid(text + band)
    assert not jsonschema.Draft202012Validator(Unit(name).json()).is_valid(text.split()[0])


@pytest.mark.parametrize("name", SHOWN)
def test_every_unit_of_the_table_is_accepted(name: str) -> None:
    validator = jsonschema.Draft202012Validator(Unit(name).json())
    for unit in DIMENSIONS[name].units:
        assert validator.is_valid(f"12 {unit}")
        assert validator.is_valid(f"1.5e3{unit}")
        assert not validator.is_valid(f"12 {unit}x")
