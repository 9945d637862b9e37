"""`demo`: the demo project from shelf to book, in one go."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from coilwright.cli.common import DONE, SUFFIX, console, hazards, write_document
from coilwright.cli.failure import concerning
from coilwright.cli.files import WRONG_ON_PURPOSE, open_project
from coilwright.cli.outputs import beside, part_of, proofs, require_book_parts, write_pages
from coilwright.cli.progress import progress
from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from coilwright.protection.tag import Tag

NAME = "demo" + SUFFIX


def demo(folder: str, *, as_json: bool) -> int:
    """Write the demo project, run every stage on it, and show what came out."""
    began = time.monotonic()
    require_book_parts()
    path, fresh = _project(Path(folder))
    book = beside(path, ".pdf")
    from coilwright.analyses.plan import plan
    from coilwright.analyses.shelf import shelf
    from coilwright.analyses.supply import supply

    with concerning(path), progress("demo") as report:
        report(0.0, "check")
        design = open_project(path).design
        report(0.02, "shelf")
        parts = shelf(design)
        ranked = plan(design, shelf=parts, progress=part_of(report, 0.1, 0.4))
        chosen = supply(design, shelf=parts, progress=part_of(report, 0.42, 0.85))
        report(0.85, "polarity, slips, gates, tank")
        sheets = proofs(design, parts, chosen)
        sheet = sheets.polarity
        # the supply's own tag of its polarity already carries what the sheet shows
        test = _of_the_test(sheet.tags) if sheet is not None else ()
        wrong = sheets.slips.tags if sheets.slips is not None else ()
        made = sheets.tank.tags if sheets.tank is not None else ()
        tags = hazards(design, chosen.tags, ranked.tags, parts.tags, made, test, wrong)
        report(0.95, "book")
        write_pages(design, parts, ranked, chosen, book, "a4", tags, sheets)
    if as_json:
        from coilwright.report.json_common import finished, head
        from coilwright.report.json_polarity import polarity_document
        from coilwright.report.json_results import plan_document, shelf_document, supply_document
        from coilwright.report.json_tank_short import tank_short

        document = {
            **head("demo"),
            "project": design.name,
            "path": path,
            "design": design.digest,
            "written": fresh,
            "book": str(book),
            "shelf": shelf_document(design, parts),
            "plan": plan_document(design, ranked),
            "polarity": polarity_document(design, sheet) if sheet is not None else None,
            "supply": supply_document(design, chosen),
            "tank": tank_short(sheets.tank) if sheets.tank is not None else None,
        }
        write_document(finished(document, tags))
        return DONE
    from coilwright.report.console import print_tags
    from coilwright.report.console_plan import print_plan
    from coilwright.report.console_polarity import print_polarity
    from coilwright.report.console_shelf import print_shelf
    from coilwright.report.console_supply import print_supply
    from coilwright.report.console_tank_short import print_tank_short

    screen = console()
    print_tags(screen, tags)
    click.echo(f'{path}: no problem found in "{design.name}"\n')
    print_shelf(screen, parts, tags=False, short=True)
    print_plan(screen, ranked, tags=False, rows=3)
    if sheet is not None:
        print_polarity(screen, sheet, tags=False)
    print_supply(screen, chosen, tags=False, short=True)
    if sheets.tank is not None:
        print_tank_short(screen, sheets.tank)
    click.echo(f"{'wrote' if fresh else 'used'} {path}")
    click.echo(f"wrote {book}")
    click.echo(f"{WRONG_ON_PURPOSE}\n{time.monotonic() - began:.1f} s")
    return DONE


def _of_the_test(tags: tuple[Tag, ...]) -> tuple[Tag, ...]:
    """Return the tags of the low-voltage test itself."""
    return tuple(tag for tag in tags if tag.id == "test-drive-live")


def _project(folder: Path) -> tuple[str, bool]:
    """Return the demo project's path in the folder, and whether it was written now; an unchanged one is used again.

    Raises
    ------
    InputError
        Where another file of its name is there: it is never overwritten.
    """
    from coilwright.project.start import demo_text, start

    path = folder / NAME
    if folder.exists() and not folder.is_dir():
        message = "found a file, expected a folder for the demo to write into"
        raise InputError([Problem(str(folder), None, message, "name a folder, or leave it out")])
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        return str(start(path, demo=True)), True
    if path.read_bytes() != demo_text().encode("utf-8"):
        raise InputError(
            [
                Problem(
                    str(path),
                    None,
                    "this file is not the demo project as it ships, and is not overwritten",
                    "run the stages on it by name, as in `coilwright supply PATH`, or give demo another folder",
                )
            ]
        )
    return str(path), False
