"""The polarity sheet as a JSON document."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.polarity_results import Blind, Decoded, FurtherReading, PolarityResult, PolarityRow
from coilwright.model.design import Design
from coilwright.model.known import Estimate
from coilwright.report.json_common import finished, head


def polarity_document(design: Design, result: PolarityResult) -> dict[str, Any]:
    """Return the sheet: what every pair reads for each sense of the windings, and what the readings say."""
    document = {
        **head("polarity"),
        "project": design.name,
        "path": design.path,
        "design": design.digest,
        "arrangement": result.arrangement,
        "drive": {"voltage": result.drive, "between": list(result.at)},
        "reachable": {
            "voltage": result.reachable,
            "between": list(result.reachable_between),
            "plug_voltage": result.reachable_plug,
            "body_current": result.body_current,
        },
        "expected": [_row(row) for row in result.rows],
        "verdict": result.verdict,
        "words": result.words,
        "decoded": [_decoded(d) for d in result.decoded],
        "next_reading": None if result.next_reading is None else _further(result.next_reading),
        "blind": [_blind(b) for b in result.blind],
        "mark": result.mark,
        "procedure": list(result.procedure),
        "notes": list(result.notes),
    }
    return finished(document, result.tags)


def _row(row: PolarityRow) -> dict[str, Any]:
    return {
        "between": list(row.between),
        "right": row.right.value,
        "right_band": _band(row.right),
        "reversed": {name: e.value for name, e in row.reversed.items()},
        "reversed_bands": {name: _band(e) for name, e in row.reversed.items()},
        "read": row.read,
    }


def _band(e: Estimate) -> list[float]:
    return [e.low, e.high]


def _decoded(d: Decoded) -> dict[str, Any]:
    return {"reversed": list(d.reversed), "remedy": d.remedy, "likelihood": d.likelihood}


def _blind(b: Blind) -> dict[str, Any]:
    return {
        "sets": [list(windings) for windings in b.senses],
        "words": b.words,
        "reading": None if b.reading is None else _further(b.reading),
    }


def _further(f: FurtherReading) -> dict[str, Any]:
    return {
        "between": list(f.between),
        "drive": {"voltage": f.volts, "between": list(f.at)},
        "expected": dict(f.expected),
        "singles_out": f.singles_out,
        "why": f.why,
    }
