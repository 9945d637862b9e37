"""What the commands share: opening the project, choosing an arrangement, printing, and the exit code."""

from __future__ import annotations

import difflib
import json
import os
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from rich.console import Console

    from coilwright.analyses.results import ShelfResult
    from coilwright.model.design import Arrangement, Design
    from coilwright.protection.tag import Tag

DONE = 0
OPEN_STOP = 1
SUFFIX = ".coil.toml"


def project_path(name: str) -> str:
    """Return the project file that ``name`` means: itself, or with ``.coil.toml`` added where only that is there."""
    path, inside = Path(name), list[Path]()
    try:
        if not path.exists() and Path(name + SUFFIX).is_file():
            return name + SUFFIX
        if path.is_dir():
            inside = sorted(path.glob("*" + SUFFIX))
    except (OSError, ValueError):  # a name that the system cannot even look up; loading it says so
        return name
    if len(inside) > 1:
        names = ", ".join(p.name for p in inside[:6]) + (", ..." if len(inside) > 6 else "")
        raise InputError([Problem(name, None, f"the folder holds {len(inside)} projects", f"name one: {names}")])
    return str(inside[0]) if inside else name


def hazards(design: Design, *groups: Iterable[Tag]) -> tuple[Tag, ...]:
    """Return the tags of the results together with those of site and machine, which stand in every output."""
    from coilwright.analyses.facts_of_supply import site_facts
    from coilwright.protection.rules import collect, site_tags

    return collect(*groups, site_tags(site_facts(design)), answers=design.answers)


def exit_code(tags: Iterable[Tag], *, failed: bool = False) -> int:
    """Return 1 while a STOP is open that is not a standing one, or where the command found nothing."""
    return OPEN_STOP if failed or any(tag.blocks for tag in tags) else DONE


def has_stopped_reading(result: ShelfResult) -> bool:
    """Return whether a reading on the shelf is a STOP: it is not used, and what rests on it is open."""
    return any(note.grade == "STOP" for part in result.parts.values() for note in part.readings)


def write_document(document: Mapping[str, Any]) -> None:
    """Print one JSON document on stdout."""
    plain = "utf" not in (getattr(sys.stdout, "encoding", None) or "").lower()
    click.echo(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=plain))


def console(*, error: bool = False) -> Console:
    """Return the console for results, or for messages: no colour and 80 columns where it is not a terminal."""
    from rich.console import Console

    stream = sys.stderr if error else sys.stdout
    width = None if stream.isatty() or os.environ.get("COLUMNS") else 80
    return Console(stderr=error, width=width, highlight=False, soft_wrap=False, emoji=False, markup=False)


def chosen_arrangement(design: Design, name: str | None) -> Arrangement:
    """Return the arrangement of that name, or the one in use where ``name`` is None.

    Raises
    ------
    InputError
        Where the project has none such; says which there are.
    """
    names = [arrangement.name for arrangement in design.arrangements]
    if name is not None:
        if name in names:
            return design.arrangements[names.index(name)]
        near = difflib.get_close_matches(name, names, n=1)
        hint = f'did you mean "{near[0]}"?' if near else _listed(names)
        raise InputError([Problem("--arrangement", None, f'the project has no arrangement "{name}"', hint)])
    chosen = design.chosen()
    if chosen is not None:
        return chosen
    if not names:
        message = "the project has no arrangement yet, so there is no supply to compute"
        hint = "`coilwright plan PROJECT --take 1` writes the best one that the shelf can make"
        raise InputError([Problem("arrangement", None, message, hint)])
    if design.use_arrangement is not None:
        message = f'the project uses the arrangement "{design.use_arrangement}" and has none of that name'
        raise InputError([Problem("supply.use", design.line_of("supply.use"), message, _listed(names))])
    message = "the project has several arrangements and uses none of them"
    hint = f'name one: [supply] use = "...", or --arrangement NAME. {_listed(names)}'
    raise InputError([Problem("supply.use", None, message, hint)])


def _listed(names: list[str]) -> str:
    return "arrangements here: " + ", ".join(f'"{name}"' for name in names[:6]) if names else "it has none at all"
