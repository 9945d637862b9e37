"""What every JSON document has in common: its head, its tags, and no number where there is none."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from importlib import resources
from typing import Any

from coilwright import __version__
from coilwright.errors import InputError, Problem
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules import rank
from coilwright.protection.tag import GRADE_ORDER, Tag

#: Raised whenever a key is renamed or removed, or its meaning changes; new keys do not raise it.
FORMAT = 1

COMMANDS = (
    "about",
    "ask",
    "book",
    "check",
    "coil",
    "demo",
    "export",
    "gate",
    "plan",
    "polarity",
    "schema",
    "shelf",
    "slips",
    "start",
    "supply",
    "tank",
)
#: Documents that have a schema: one per command, and what bad input prints.
DOCUMENTS = (*COMMANDS, "problems")

NOT_CONVERGED = "not-converged"


def head(command: str) -> dict[str, Any]:
    """Return the fields with which every document begins."""
    return {"format": FORMAT, "version": __version__, "command": command}


def tag_record(tag: Tag) -> dict[str, Any]:
    """Return a tag as its JSON object."""
    return {
        "id": tag.id,
        "grade": tag.grade,
        "standing": tag.standing,
        "where": tag.where,
        "what": tag.what,
        "why": tag.why,
        "value": tag.value,
        "limit": tag.limit,
        "do": tag.do,
        "source": tag.source,
        "answered": tag.answered,
        "number": tag.number,
        "bound": tag.bound,
        "mark": tag.mark,
    }


def ordered_tags(tags: Iterable[Tag]) -> tuple[Tag, ...]:
    """Return the tags in the order in which they are shown, each once: the local code first, then the worst first."""
    return rank(dict.fromkeys(tags))


def tag_counts(tags: Iterable[Tag]) -> dict[str, dict[str, int]]:
    """Return how many tags of each grade there are, open and standing apart."""
    every = list(tags)
    return {
        kind: {grade: sum(t.grade == grade and t.standing == standing for t in every) for grade in GRADE_ORDER}
        for kind, standing in (("open", False), ("standing", True))
    }


def finished(document: Mapping[str, Any], tags: Iterable[Tag]) -> dict[str, Any]:
    """Return the document with its tags; what is no number becomes null.

    Not-a-number stands for an answer that did not converge, and is tagged so. An infinity stands for a limit that is
    not there (no rating to keep to): it is null by nature and raises nothing.
    """
    missing: list[str] = []
    clean = {key: _clean(value, key, missing) for key, value in document.items()}
    shown = ordered_tags(tags)
    if missing and all(tag.id != NOT_CONVERGED for tag in shown):
        shown = ordered_tags([*shown, raise_tag(NOT_CONVERGED)])
    clean["tags"] = [{key: _clean(value, key, missing) for key, value in tag_record(tag).items()} for tag in shown]
    clean["tag_counts"] = tag_counts(shown)
    return clean


def schema_text(name: str) -> str:
    """Return the JSON Schema (draft 2020-12) of a command's document, as shipped.

    Raises
    ------
    InputError
        If there is no document of that name.
    """
    if name not in DOCUMENTS:
        raise InputError(
            [Problem("NAME", None, f'there is no schema "{name}"', "names: " + ", ".join(sorted(DOCUMENTS)))]
        )
    return (resources.files("coilwright.report") / "schemas" / f"{name}.json").read_text(encoding="utf-8")


def _clean(value: Any, path: str, missing: list[str]) -> Any:
    if isinstance(value, float):
        if math.isfinite(value):
            return float(value)  # a numpy float is one too, and json wants the plain kind
        if math.isnan(value):
            missing.append(path)
        return None
    if isinstance(value, Mapping):
        return {str(key): _clean(item, f"{path}.{key}", missing) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_clean(item, f"{path}[{i}]", missing) for i, item in enumerate(value)]
    return value
