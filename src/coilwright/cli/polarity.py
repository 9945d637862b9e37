"""`polarity`: the low-voltage sheet, and what readings typed in or in the project say of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilwright.cli.common import chosen_arrangement, console, exit_code, hazards, project_path, write_document
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project
from coilwright.cli.progress import progress
from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from coilwright.model.machine import Reading


def polarity(
    project: str, *, drive: str | None, at: str | None, reads: tuple[str, ...], arrangement: str | None, as_json: bool
) -> int:
    """Compute the sheet of one arrangement and decode what was read."""
    from dataclasses import replace

    path = project_path(project)
    loaded = open_project(path)
    volts = None if drive is None else _volts("--drive", drive)
    place = None if at is None else _pair("--at", at)
    with concerning(path):
        chosen = chosen_arrangement(loaded.design, arrangement)
        from coilwright.analyses.polarity import polarity as compute
        from coilwright.analyses.shelf import shelf as identify

        with progress("polarity") as report:
            report(0.0, "shelf")
            parts = identify(loaded.design)
            report(0.7, "every sense of the windings")
            first = compute(loaded.design, arrangement=chosen, drive=volts, at=place, shelf=parts)
            result = first
            if reads:
                typed = tuple(_reading(text, first.drive, first.at) for text in reads)
                result = compute(
                    loaded.design, arrangement=chosen, drive=first.drive, at=first.at, reads=typed, shelf=parts
                )
    result = replace(result, tags=hazards(loaded.design, result.tags, parts.tags))
    if as_json:
        from coilwright.report.json_polarity import polarity_document

        write_document(polarity_document(loaded.design, result))
    else:
        from coilwright.report.console_polarity import print_polarity

        print_polarity(console(), result)
    return exit_code(result.tags)


def _volts(where: str, text: str) -> float:
    from coilwright import units

    try:
        return units.parse(text, "voltage", "positive")
    except units.UnitError as error:
        raise InputError([Problem(where, None, error.message, error.hint)]) from error


def _pair(where: str, text: str) -> tuple[str, str]:
    names = [name.strip() for name in text.split(",")]
    if len(names) != 2 or not all(names):
        message = f'found "{text}", expected two joints with a comma between them'
        raise InputError([Problem(where, None, message, "write for example hot_a,ground")])
    return names[0], names[1]


def _reading(text: str, volts: float, at: tuple[str, str]) -> Reading:
    """Return a typed reading, as in ``hot_b,ground=9.8 V``; a bare number is volts."""
    from coilwright import units
    from coilwright.model.machine import Drive, Reading

    where, equals, value = text.partition("=")
    if not equals:
        message = f'found "{text}", expected two joints and what was read between them'
        raise InputError([Problem("--read", None, message, 'write for example --read "hot_b,ground=9.8 V"')])
    written = value.strip()
    bare = written.replace(".", "", 1).isdecimal()
    try:
        read, tolerance = units.parse_with_tolerance(f"{written} V" if bare else written, "voltage", "zero")
    except units.UnitError as error:
        raise InputError([Problem("--read", None, error.message, error.hint)]) from error
    return Reading("polarity", _pair("--read", where), read, "V", tolerance, Drive(volts, at))
