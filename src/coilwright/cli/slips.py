"""`slips`: every single mistake of the wiring, solved."""

from __future__ import annotations

from dataclasses import replace

from coilwright.cli.common import chosen_arrangement, console, exit_code, hazards, project_path, write_document
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project
from coilwright.cli.progress import progress


def slips(project: str, *, arrangement: str | None, as_json: bool) -> int:
    """Solve every single mistake that one arrangement lets one make."""
    path = project_path(project)
    loaded = open_project(path)
    with concerning(path):
        chosen = chosen_arrangement(loaded.design, arrangement)
        from coilwright.analyses.slips import slips as solve

        with progress("slips") as report:
            result = solve(loaded.design, arrangement=chosen, progress=report)
    result = replace(result, tags=hazards(loaded.design, result.tags))
    if as_json:
        from coilwright.report.json_slips import slips_document

        write_document(slips_document(loaded.design, result))
    else:
        from coilwright.report.console_slips import print_slips

        print_slips(console(), result)
    return exit_code(result.tags)
