"""`coil`: the radio-frequency side from its geometry."""

from __future__ import annotations

from dataclasses import replace

from coilwright.cli.common import console, exit_code, hazards, project_path, write_document
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project


def coil(project: str, *, as_json: bool) -> int:
    """Compute inductances, capacitances, modes, losses, taps and breakout volts."""
    path = project_path(project)
    loaded = open_project(path)
    from coilwright.analyses.coil import coil as compute

    with concerning(path):
        result = compute(loaded.design)
    result = replace(result, tags=hazards(loaded.design, result.tags))
    if as_json:
        from coilwright.report.json_coil import coil_document

        write_document(coil_document(loaded.design, result))
    else:
        from coilwright.report.console_coil import print_coil

        print_coil(console(), result)
    return exit_code(result.tags)
