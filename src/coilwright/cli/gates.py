"""`gate`: the supply gates, judged as far as they were read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilwright.cli.common import chosen_arrangement, console, exit_code, hazards, project_path, write_document
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project
from coilwright.cli.progress import progress
from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from coilwright.model.machine import Reading

#: Dimension of a value typed in -> what kind of reading it is; the suffix is the row's own and names no place.
KINDS = {"resistance": "resistance", "current": "mains current", "power": "mains power", "voltage": "voltage"}


def gate(project: str, *, reads: tuple[str, ...], arrangement: str | None, as_json: bool) -> int:
    """Compute the gates of one arrangement and judge what was read."""
    from dataclasses import replace

    path = project_path(project)
    loaded = open_project(path)
    typed = tuple(reading(text) for text in reads)
    with concerning(path):
        chosen = chosen_arrangement(loaded.design, arrangement)
        from coilwright.analyses.gates import gates

        with progress("gate") as report:
            result = gates(loaded.design, arrangement=chosen, reads=typed, progress=report)
    result = replace(result, tags=hazards(loaded.design, result.tags))
    if as_json:
        from coilwright.report.json_gates import gate_document

        write_document(gate_document(loaded.design, result))
    else:
        from coilwright.report.console_gates import print_gates

        print_gates(console(), result)
    return exit_code(result.tags, failed=any(g.verdict == "fails" for g in result.gates))


def reading(text: str) -> Reading:
    """Return a typed reading, as in ``T1.primary=0.80 ohm``; the unit says what kind it is.

    Raises
    ------
    InputError
        Where it names no row, or its value has no unit that a gate reads.
    """
    from coilwright import units
    from coilwright.model.machine import Reading

    where, equals, value = (piece.strip() for piece in text.rpartition("="))
    if not equals or not where:
        message = f'found "{text}", expected a row and what was read there'
        raise InputError([Problem("--read", None, message, 'write for example --read "T1.primary=0.80 ohm"')])
    for dimension, what in KINDS.items():
        try:
            number, tolerance = units.parse_with_tolerance(value, dimension, "zero")
        except units.UnitError:
            continue
        suffix = {"mains current": " current", "mains power": " power"}.get(what, "")
        return Reading(what, where.removesuffix(suffix), number, _SI[dimension], tolerance)
    message = f'found "{value}", expected ohm, amperes, watts or volts with the unit'
    raise InputError([Problem("--read", None, message, 'write for example --read "T1.primary=0.80 ohm"')])


_SI = {"resistance": "ohm", "current": "A", "power": "W", "voltage": "V"}
