"""`tank`: tank capacitor, gap and protection for the chosen supply."""

from __future__ import annotations

from dataclasses import replace

from coilwright.cli.common import chosen_arrangement, console, exit_code, hazards, project_path, write_document
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project
from coilwright.cli.progress import progress


def tank(project: str, *, arrangement: str | None, as_json: bool) -> int:
    """Compute everything between supply and coil for one arrangement."""
    path = project_path(project)
    loaded = open_project(path)
    with concerning(path):
        chosen = chosen_arrangement(loaded.design, arrangement)
        from coilwright.analyses.tank_stage import tank as compute

        with progress("tank") as report:
            result = compute(loaded.design, arrangement=chosen, progress=report)
    result = replace(result, tags=hazards(loaded.design, result.tags))
    if as_json:
        from coilwright.report.json_tank import tank_document

        write_document(tank_document(loaded.design, result))
    else:
        from coilwright.report.console_tank import print_tank

        print_tank(console(), result)
    return exit_code(result.tags)
