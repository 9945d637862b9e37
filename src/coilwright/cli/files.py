"""`start` and `check`: the project file itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coilwright.cli.common import (
    DONE,
    console,
    exit_code,
    has_stopped_reading,
    hazards,
    project_path,
    write_document,
)
from coilwright.cli.failure import ONE_SCREEN, concerning, problem_record, problems_text
from coilwright.cli.progress import progress

if TYPE_CHECKING:
    from coilwright.project.load import Loaded

#: Said of the demo bench.
WRONG_ON_PURPOSE = """\
Three things are wrong on this bench on purpose: a reading that cannot be true (`shelf`), a winding that reads reversed
(`polarity`), and a missing safety gap (`supply`). The STOPs above name them, each with its way out."""


def open_project(name: str) -> Loaded:
    """Return the project of that name, read and checked; what the file warns of goes to stderr.

    Raises
    ------
    InputError
        With every problem of the file at once.
    """
    from coilwright.project.load import load

    path = project_path(name)
    with concerning(path):
        return load(path)


def start(path: str, *, from_demo: bool, as_json: bool) -> int:
    """Write a new project file and say where."""
    from coilwright.project.start import start as start_project
    from coilwright.report.json_common import head

    with concerning(path):
        written = str(start_project(path, demo=from_demo))
    if as_json:
        write_document({**head("start"), "path": written, "demo": from_demo})
        return DONE
    click.echo(f"wrote {written}")
    if from_demo:
        click.echo(WRONG_ON_PURPOSE)
    else:
        click.echo("The shelf in it is empty: write down the parts you have, then run")
    click.echo(f"  coilwright check {written}")
    return DONE


def check(project: str, *, show_all: bool, as_json: bool) -> int:
    """Check the project file and say what it holds."""
    path = project_path(project)
    loaded = open_project(path)
    design = loaded.design
    from coilwright.analyses.shelf import shelf
    from coilwright.report.console import print_tags
    from coilwright.report.json_common import finished, head

    with concerning(path), progress("check") as report:
        parts = shelf(design, progress=report)
    tags = hazards(design, parts.tags)
    stopped = has_stopped_reading(parts)
    counts = {
        "transformers": len(design.transformers),
        "chokes": len(design.chokes),
        "capacitors": len(design.capacitors),
        "resistors": len(design.resistors),
        "variables": len(design.variables),
        "instruments": len(design.instruments),
        "arrangements": len(design.arrangements),
        "readings": len(design.readings),
    }
    if as_json:
        document = {
            **head("check"),
            "project": design.name,
            "path": path,
            "design": design.digest,
            "counts": counts,
            "problems": [],
            "warnings": [problem_record(w) for w in loaded.warnings],
        }
        write_document(finished(document, tags))
        return exit_code(tags, failed=stopped)
    print_tags(console(), tags)
    if loaded.warnings:
        click.echo(problems_text(loaded.warnings, path, None if show_all else ONE_SCREEN), err=True)
    held = ", ".join(f"{count} {name if count != 1 else name[:-1]}" for name, count in counts.items() if count)
    written = "" if not stopped else " as a file; a reading in it is a STOP, see above"
    click.echo(f'{path}: no problem found in "{design.name}"{written}: {held or "the shelf is empty"}')
    return exit_code(tags, failed=stopped)
