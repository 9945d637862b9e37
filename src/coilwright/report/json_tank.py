"""The document of `tank`."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import TankResult
from coilwright.model.design import Design
from coilwright.report.estimates import split_estimates
from coilwright.report.json_common import finished, head
from coilwright.report.json_tank_gap import gap_part
from coilwright.report.json_tank_plates import plates_part
from coilwright.report.json_tank_protection import protection_part
from coilwright.report.json_tank_rotary import rotary_part
from coilwright.report.json_tank_size import size_part
from coilwright.report.json_tank_strings import strings_part


def tank_document(design: Design, result: TankResult) -> dict[str, Any]:
    """Return the document: ``tank``, ``strings``, ``plates``, ``gap``, ``rotary``, ``electrodes``, ``room``,
    ``protection``; bands and marks by key path.
    """
    parts = {
        **size_part(result),
        **strings_part(result),
        **plates_part(result),
        **gap_part(result),
        **rotary_part(result),
        **protection_part(result),
    }
    plain, bands, marks = split_estimates(parts)
    document = {
        **head("tank"),
        "project": design.name,
        "path": design.path,
        "design": design.digest,
        "arrangement": result.name,
        **plain,
        "notes": list(result.notes),
        "marks": marks,
        "bands": bands,
    }
    return finished(document, result.tags)
