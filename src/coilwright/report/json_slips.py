"""The slips as a JSON document."""

from __future__ import annotations

from math import isfinite
from typing import Any

from coilwright.analyses.slips_results import Charge, SlipRow, SlipsResult, Telltale
from coilwright.analyses.what_ifs import Touch
from coilwright.model.design import Design
from coilwright.report.json_common import finished, head


def slips_document(design: Design, result: SlipsResult) -> dict[str, Any]:
    """Return every slip of one arrangement, the worst first, with what the supply shows without any."""
    right = result.right
    document = {
        **head("slips"),
        "project": design.name,
        "path": design.path,
        "design": design.digest,
        "arrangement": result.arrangement,
        "right": {
            "open_voltage": right.open_circuit.voltage,
            "short_current": right.short_circuit.current,
            "mains_current": right.open_circuit.mains_current_uncorrected,
            "mains_current_corrected": right.open_circuit.mains_current,
            "mains_current_worst": right.mains_current_uncorrected,
        },
        "slips": [_row(r) for r in result.rows],
        "notes": list(result.notes),
    }
    return finished(document, result.tags)


def _row(r: SlipRow) -> dict[str, Any]:
    return {
        "id": r.id,
        "subject": r.subject,
        "done": r.done,
        "harm": r.harm,
        "lethal": r.lethal,
        "sees": r.sees,
        "tag": r.tag,
        "open_voltage": r.open_voltage,
        "output_peak": r.peak,
        "ends": dict(r.ends),
        "short_current": r.short_current,
        "mains_current": r.mains_current,
        "mains_current_corrected": r.mains_current_corrected,
        "mains_current_worst": r.mains_current_worst,
        "residual_current": r.residual_current,
        "cores": dict(r.cores),
        "core_touches": {unit: _touch(t) for unit, t in r.core_touches.items()},
        "touches": [_touch(t) for t in r.touches],
        "charge": _charge(r.charge),
        "telltale": _telltale(r.telltale),
        "assumption": r.assumption or None,
        "mark": r.mark,
        "mains_mark": r.mains_mark,
        "bands": {key: list(band) for key, band in r.bands.items()},
        "unsolved": list(r.unsolved),
    }


def _touch(t: Touch) -> dict[str, Any]:
    return {
        "where": t.where,
        "voltage": t.voltage if isfinite(t.voltage) else None,
        "current_575": t.current_575,
        "current_1000": t.current_1000,
        "residual_current": t.residual,
        "load": t.load,
        "taken_for_earthed": t.metal,
    }


def _charge(c: Charge | None) -> dict[str, Any] | None:
    if c is None:
        return None
    return {
        "voltage_peak": c.peak,
        "energy": c.energy,
        "residual_voltage": c.residual,
        "drain_time": c.drain_time,
        "drain_time_right": c.drain_time_right,
    }


def _telltale(t: Telltale | None) -> dict[str, Any] | None:
    if t is None:
        return None
    return {
        "test": t.test,
        "between": list(t.between),
        "right": t.right,
        "wrong": t.wrong,
        "unit": t.unit,
        "half_width_right": t.half_right,
        "half_width_wrong": t.half_wrong,
        "separation": t.separation,
        "meter": t.meter,
        "drive": t.drive,
        "at": None if t.fed is None else list(t.fed),
        "output_shorted": t.output_shorted,
        "leads_off": list(t.leads_off),
        "how": t.how,
    }
