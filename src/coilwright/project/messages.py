"""From what the schema refused to Problems in plain words."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from coilwright.errors import Problem
from coilwright.project.fields import OURS, Field, unknown_key
from coilwright.project.locate import line_of, path_text
from coilwright.project.schema import table_at
from coilwright.project.schema_base import Table
from coilwright.units import quote


def problems_of(error: ValidationError, lines: Mapping[str, int]) -> list[Problem]:
    """Return one Problem for each thing that the schema refused."""
    return [_problem(dict(e), lines) for e in error.errors(include_url=False)]


def _problem(error: dict[str, Any], lines: Mapping[str, int]) -> Problem:
    steps: tuple[str | int, ...] = tuple(error["loc"])
    kind, found = error["type"], error.get("input")
    where = path_text(steps)
    if kind == OURS:
        context = error["ctx"]
        inner = f"{where}.{context['key']}" if context["key"] else where
        return Problem(inner, line_of(lines, inner), context["message"], context["hint"])
    if kind == "extra_forbidden":
        table = table_at(steps[:-1])
        refusal = unknown_key(str(steps[-1]), table.model_fields if table else ())
        return Problem(where, line_of(lines, where), refusal.message, refusal.hint)
    if kind == "missing":
        key = str(steps[-1])
        message = f"the key {key} is missing" if len(steps) > 1 else f"{key} is missing from the file"
        return Problem(where, line_of(lines, where), message, _example(table_at(steps[:-1]), key))
    return Problem(where, line_of(lines, where), *_wrong_container(kind, steps, found))


def _wrong_container(kind: str, steps: tuple[str | int, ...], found: object) -> tuple[str, str]:
    name = str(steps[-1]) if steps else "the file"
    if kind == "tuple_type":
        if len(steps) == 1 and isinstance(found, dict):
            return (
                f"found one table [{name}], expected a list of them",
                f"Write the header with two brackets: [[{name}]].",
            )
        if isinstance(found, dict):
            return "found a single table, expected a list", f"Put brackets around it: {name} = [{{ ... }}]."
        return f"found {quote(found)}, expected a list", f"Put brackets around it: {name} = [ ... ]."
    if isinstance(found, list) and len(steps) == 1:
        return f"found a list, expected one table [{name}]", f"Write the header with one bracket, once: [{name}]."
    hint = (
        f"Write it as [{name}], with its keys on the lines below."
        if len(steps) == 1
        else "Write it as { key = value, ... }."
    )
    return f"found {quote(found)}, expected a table of keys", hint


def _example(table: type[Table] | None, key: str) -> str:
    """Return how a missing key is written, from the examples of its field."""
    known = table.model_fields.get(key) if table else None
    for check in known.metadata if known else ():
        if isinstance(check, Field):
            schema = check.json()
            choices = schema.get("examples") or schema.get("enum")
            if choices:
                return f"Add {key} = {json.dumps(choices[0], ensure_ascii=False)}, or what it is."
    return "Add format = 1 at the top." if key == "format" else f"Add {key} = ... to this table."
