"""Older formats of the project file, read and rewritten.

Format 0 (before the first release) differs from format 1 in names, and in that resistances were bare numbers in ohm:

======================================  ==================================
format 0                                format 1
======================================  ==================================
``[order]``                             ``[goal]``
``[[ballast]]``                         ``[[choke]]``
``[site] line_resistance``              ``mains_resistance``
``name`` of a transformer or ballast    ``id``
``primary_ohms = 0.82``                 ``primary_resistance = "0.82 ohm"``
``secondary_ohms = 90``                 ``secondary_resistance = "90 ohm"``
======================================  ==================================

Only names and these values are touched: comments, order and every line stay where they are.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coilwright.errors import InputError, Problem
from coilwright.project.locate import Place, places
from coilwright.project.schema import FORMAT

_SECTIONS: Final = {"order": "goal", "ballast": "choke"}
_KEYS: Final = {
    ("site", "line_resistance"): "mains_resistance",
    ("transformer", "name"): "id",
    ("transformer", "primary_ohms"): "primary_resistance",
    ("transformer", "secondary_ohms"): "secondary_resistance",
    ("ballast", "name"): "id",
    ("ballast", "ohms"): "resistance",
}
_OHMS: Final = {"primary_ohms", "secondary_ohms", "ohms"}


@dataclass(frozen=True)
class Migrated:
    """What a migration did: the file, the format it had, and where the old one is kept."""

    path: Path
    from_format: int
    backup: Path | None


def migrate(text: str, name: str = "project") -> str:
    """Return a text of an older format in the present one; a text of the present format as it is.

    Raises
    ------
    InputError
        If the format is none that this version knows.
    """
    found = tomllib.loads(text).get("format")
    if found == FORMAT:
        return text
    if found != 0:
        raise InputError(
            [
                Problem(
                    "format",
                    None,
                    f"{name} is in format {found}, which this version does not know",
                    f"Formats 0 to {FORMAT} can be read.",
                )
            ]
        )
    changes: list[tuple[int, int, str]] = []
    try:
        found_places = places(text)
    except RecursionError:
        problem = Problem(name, None, "found brackets nested too deeply", "Check that this is the right file.")
        raise InputError([problem]) from None
    for place in found_places:
        changes += _changes(place, text)
    for start, end, new in sorted(changes, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def _changes(place: Place, text: str) -> list[tuple[int, int, str]]:
    names = [s for s in place.path if isinstance(s, str)]
    if place.path == ("format",):
        return [(*place.value, str(FORMAT))]
    start, end = place.key
    if place.kind in {"table", "element"}:
        new = _SECTIONS.get(names[0])
        header = text[start:end]
        return [(start, end, header.replace(names[0], new, 1))] if new else []
    if place.kind != "value" or len(names) != 2 or tuple(names) not in _KEYS:
        return []
    changes = [(start, end, _KEYS[names[0], names[1]])]
    if names[1] in _OHMS:
        value = text[slice(*place.value)]
        if not value.startswith(('"', "'")):
            changes.append((*place.value, f'"{value} ohm"'))
    return changes


def migrate_file(path: str | Path) -> Migrated:
    """Rewrite a file of an older format in the present one and keep the old file beside it.

    Returns
    -------
    Migrated
        With ``backup`` None where the file was in the present format already, and nothing was written.

    Raises
    ------
    InputError
        If the file cannot be read, is no project even in the present format, or cannot be written; it keeps every byte.
    """
    from coilwright.project.load import load
    from coilwright.project.save import save

    loaded = load(path)
    if loaded.migrated_from is None:
        return Migrated(loaded.path, FORMAT, None)
    saved = save(loaded.path, loaded.text, loaded.digest)
    return Migrated(loaded.path, loaded.migrated_from, saved.backup)
