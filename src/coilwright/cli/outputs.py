"""`book` and `export`: files made of a project."""

from __future__ import annotations

import importlib.util
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from coilwright import __version__
from coilwright.cli.common import (
    SUFFIX,
    chosen_arrangement,
    console,
    exit_code,
    hazards,
    project_path,
    write_document,
)
from coilwright.cli.drawings import known_drawing, tank_drawing
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project
from coilwright.cli.progress import Report, progress
from coilwright.errors import InputError, Problem, SolverError

if TYPE_CHECKING:
    from coilwright.analyses.results import PlanResult, ShelfResult, SupplyResult
    from coilwright.model.design import Arrangement, Design
    from coilwright.protection.tag import Tag
    from coilwright.report.book.sheets import Sheets

KINDS = ("spice", "svg")


def book(project: str, *, out: str | None, paper: str, as_json: bool) -> int:
    """Compute everything and write the book."""
    path = project_path(project)
    loaded = open_project(path)
    design = loaded.design
    target = output_path(out, path) if out is not None else beside(path, ".pdf")
    require_book_parts()
    from coilwright.analyses.plan import plan
    from coilwright.analyses.shelf import shelf
    from coilwright.analyses.supply import supply
    from coilwright.report.json_common import finished, head

    with concerning(path), progress("book") as report:
        report(0.0, "shelf")
        parts = shelf(design)
        ranked = plan(design, shelf=parts, progress=part_of(report, 0.05, 0.4))
        chosen = (
            supply(design, shelf=parts, progress=part_of(report, 0.4, 0.9)) if design.chosen() is not None else None
        )
        sheets = proofs(design, parts, chosen)
        proved = [sheet.tags for sheet in (sheets.gates, sheets.slips, sheets.tank) if sheet is not None]
        tags = hazards(design, chosen.tags if chosen is not None else (), ranked.tags, parts.tags, *proved)
        report(0.9, "pages")
        write_pages(design, parts, ranked, chosen, target, paper, tags, sheets)
    if as_json:
        document = {
            **head("book"),
            "project": design.name,
            "path": path,
            "design": design.digest,
            "file": str(target),
            "paper": paper,
            "arrangement": chosen.name if chosen is not None else None,
        }
        write_document(finished(document, tags))
    else:
        from coilwright.report.console import print_tags

        print_tags(console(), tags)
        click.echo(f"wrote {target}")
    return exit_code(tags)


def require_book_parts() -> None:
    """Raise InputError where the optional parts that make the book are not installed, before anything is computed."""
    missing = [name for name in ("matplotlib", "typst") if importlib.util.find_spec(name) is None]
    if missing:
        message = f"the book needs {' and '.join(missing)}, not installed here"
        raise InputError([Problem("book", None, message, 'install the optional part: pip install "coilwright[book]"')])


def proofs(design: Design, parts: ShelfResult, chosen: SupplyResult | None) -> Sheets:
    """Return tank, gap and protection of the supply in use, and what proves its wiring; a sheet that cannot be computed
    is left out of the book.
    """
    from coilwright.analyses.gates import gates
    from coilwright.analyses.polarity import polarity
    from coilwright.analyses.slips import slips
    from coilwright.analyses.tank_stage import tank
    from coilwright.report.book.sheets import Sheets

    if chosen is None:
        return Sheets()
    sheets = Sheets()
    with suppress(InputError, SolverError):
        sheets = replace(sheets, polarity=polarity(design, shelf=parts))
    with suppress(InputError, SolverError):
        sheets = replace(sheets, gates=gates(design, shelf=parts, supply=chosen, polarity=sheets.polarity))
    with suppress(InputError, SolverError):
        sheets = replace(sheets, slips=slips(design, shelf=parts, right=chosen))
    with suppress(InputError, SolverError):
        sheets = replace(sheets, tank=tank(design, shelf=parts, supply=chosen))
    return sheets


def write_pages(
    design: Design,
    parts: ShelfResult,
    ranked: PlanResult,
    chosen: SupplyResult | None,
    target: Path,
    paper: str,
    tags: Iterable[Tag],
    sheets: Sheets,
) -> None:
    """Draw the wiring of the arrangement in use and write the book."""
    from coilwright.report.book import write_book

    arrangement = design.chosen()
    drawing = _drawing(design, arrangement, parts, tags) if arrangement is not None else None
    size: Literal["A4", "letter"] = "letter" if paper == "letter" else "A4"
    write_book(design, parts, ranked, chosen, target, paper=size, wiring_svg=drawing, tags=tags, sheets=sheets)


def export(
    project: str, *, kind: str, out: str | None, arrangement: str | None, as_json: bool, drawing: str = "wiring"
) -> int:
    """Write the supply in another program's language, or a drawing."""
    if kind not in KINDS and project in KINDS:  # the format may stand first
        project, kind = kind, project
    if kind not in KINDS:
        raise InputError([Problem("export", None, f'there is no format "{kind}"', "formats: " + ", ".join(KINDS))])
    known_drawing(drawing)
    path = project_path(project)
    loaded = open_project(path)
    design = loaded.design
    target = output_path(out, path) if out is not None else None
    with concerning(path):
        chosen = chosen_arrangement(design, arrangement)
        from coilwright.analyses.shelf import shelf
        from coilwright.report.console import print_tags
        from coilwright.report.json_common import finished, head

        with progress("export") as report:
            report(0.0, "shelf")
            parts = shelf(design)
            if kind == "svg" and drawing != "wiring":
                from coilwright.analyses.tank_stage import tank

                made = tank(design, arrangement=chosen, shelf=parts, progress=part_of(report, 0.2, 1.0))
                tags, text = hazards(design, parts.tags, made.tags), tank_drawing(drawing, design, made)
            else:
                tags = hazards(design, parts.tags, _tags_of(design, chosen, parts, part_of(report, 0.2, 1.0)))
                draw = _netlist if kind == "spice" else _drawing
                text = draw(design, chosen, parts, tags)
    if target is not None:
        write_text(target, text)
    if as_json:
        document = {
            **head("export"),
            "project": design.name,
            "path": path,
            "design": design.digest,
            "kind": kind,
            "drawing": drawing if kind == "svg" else None,
            "arrangement": chosen.name,
            "file": str(target) if target is not None else None,
            "text": text if target is None else None,
        }
        write_document(finished(document, tags))
        return exit_code(tags)
    print_tags(console(error=True), tags)  # stdout holds nothing but the netlist or the drawing
    click.echo(text.rstrip("\n") if target is None else f"wrote {target}")
    return exit_code(tags)


def _tags_of(design: Design, arrangement: Arrangement, parts: ShelfResult, report: Report) -> tuple[Tag, ...]:
    """Return the tags of the supply that is exported, solved without its tank scan; one of them says so where it is not
    to be solved.
    """
    from coilwright.analyses.supply import supply
    from coilwright.errors import SolverError
    from coilwright.protection.raising import raise_tag

    try:
        return supply(design, arrangement=arrangement, shelf=parts, gap_missing=False, progress=report).tags
    except SolverError as error:
        return (raise_tag("not-converged", arrangement.name, value=str(error)),)


def open_stops(tags: Iterable[Tag]) -> tuple[str, ...]:
    """Return a line of the open STOPs for a drawing or netlist that leaves the book, none where none is open."""
    opened = list(dict.fromkeys(f"{t.id} at {t.where}" if t.where else t.id for t in tags if t.blocks))
    return (f"NOT FOR BUILDING, {len(opened)} STOP open: {'; '.join(opened)}.",) if opened else ()


def beside(path: str, suffix: str) -> Path:
    """Return the file of that suffix beside the project, with the project's name."""
    project = Path(path)
    name = project.name.removesuffix(SUFFIX) if project.name.endswith(SUFFIX) else project.stem
    return project.with_name(name + suffix)


def output_path(out: str, project: str) -> Path:
    """Return the file to write.

    Raises
    ------
    InputError
        Where it is a folder, or a project file, which is never overwritten by an output.
    """
    target = Path(out)
    if target.is_dir():
        raise InputError([Problem("--out", None, f"{out} is a folder", "name a file in it")])
    same = target.exists() and Path(project).exists() and target.samefile(project)
    if same or target.name.endswith(SUFFIX):
        raise InputError(
            [Problem("--out", None, f"{out} is a project file and would be overwritten", "name another file")]
        )
    if not target.parent.is_dir():
        raise InputError(
            [Problem("--out", None, f"there is no folder {target.parent}", "make it first, or name another file")]
        )
    return target


def write_text(target: Path, text: str) -> None:
    """Write a file whole or not at all: into a temporary file beside it, then renamed."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:60]}.", suffix=".tmp", dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        mask = os.umask(0)
        os.umask(mask)
        temporary.chmod(0o666 & ~mask)
        temporary.replace(target)
    finally:
        temporary.unlink(missing_ok=True)


def part_of(report: Report, start: float, end: float) -> Report:
    """Return a progress report that fills the share from ``start`` to ``end`` of another."""
    return lambda fraction, word: report(start + (end - start) * fraction, word)


def _netlist(design: Design, arrangement: Arrangement, parts: ShelfResult, tags: Iterable[Tag]) -> str:
    from coilwright.analyses.circuits import circuits_of
    from coilwright.report.spice import netlist
    from coilwright.supply.build import build, mains_circuit

    circuits = circuits_of(arrangement, design, parts)
    network = build(arrangement, circuits, mains_circuit(design.site))
    return netlist(network, title=f"{design.name}: {arrangement.name}", version=__version__, notes=open_stops(tags))


def _drawing(design: Design, arrangement: Arrangement, parts: ShelfResult, tags: Iterable[Tag]) -> str:
    from coilwright.report.drawing import front_note, wiring_parts, wiring_svg

    circuits = {name: part.circuit for name, part in parts.parts.items() if part.circuit is not None}
    return wiring_svg(arrangement, wiring_parts(design, circuits), notes=(front_note(design), *open_stops(tags)))
