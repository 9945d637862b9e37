"""Quick answers as JSON documents."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coilwright.analyses.limiter_results import LimiterResult
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.analyses.quick_results import Answered, ChargeAnswer, CorrectionAnswer
from coilwright.analyses.quick_tank_results import TankAnswered
from coilwright.report.estimates import split_estimates
from coilwright.report.json_ask_tank import OPTIONS as TANK_OPTIONS
from coilwright.report.json_ask_tank import tank_answers
from coilwright.report.json_common import finished, head
from coilwright.report.json_limiter import limiter_record

OPTIONS = (
    "capacitance",
    "voltage",
    "plug",
    "series",
    "bleeder",
    "power",
    "plate_power",
    "ballast",
    "units",
    "ratio",
    "drive",
    "mains",
    "frequency",
    "reactive",
    *TANK_OPTIONS,
)


def ask_document(question: str, options: Mapping[str, Any], result: Answered | TankAnswered) -> dict[str, Any]:
    """Return the answer under the name of its question; the others are null. ``bands`` and ``marks`` by key path."""
    document = {
        **head("ask"),
        "question": question,
        "given": {name: options.get(name) for name in OPTIONS},
        "bleeder": _charge(result) if isinstance(result, ChargeAnswer) and question == "bleeder" else None,
        "charge": _charge(result) if isinstance(result, ChargeAnswer) and question == "charge" else None,
        "correction": _correction(result) if isinstance(result, CorrectionAnswer) else None,
        "limiter": limiter_record(result) if isinstance(result, LimiterResult) else None,
        "polarity": _polarity(result) if isinstance(result, PolarityResult) else None,
        **tank_answers(question, result),
        "mark": "pencil",
        "notes": list(result.notes),
    }
    plain, bands, marks = split_estimates(document)
    return finished({**plain, "bands": bands, "marks": marks}, result.tags)


def _charge(a: ChargeAnswer) -> dict[str, Any]:
    row = a.row
    return {
        "capacitance": row.capacitance,
        "series": a.series,
        "string_voltage_peak": a.peak,
        "voltage_peak": row.peak,
        "energy": row.energy,
        "charge": row.charge,
        "residual_voltage": row.residual,
        "allowed_time": row.allowed,
        "rule": row.rule,
        "largest_bleeder": row.largest,
        "preferred_bleeder": a.preferred,
        "fitted_bleeder": row.fitted,
        "drain_time": a.drain,
        "bleeder_power": a.power,
        "pieces": row.pieces,
        "limits": [
            {"quantity": s.quantity, "value": s.value, "limit": s.limit, "exceeded": s.exceeded, "source": s.source}
            for s in a.thresholds
        ],
    }


def _correction(a: CorrectionAnswer) -> dict[str, Any]:
    return {
        "reactive_power": a.reactive_power,
        "mains_voltage": a.mains_voltage,
        "frequency": a.frequency,
        "capacitance": a.capacitance,
        "current": a.current,
        "rating": a.rating,
        "closing_peak": a.closing_peak,
        "bleeder": _charge(a.bleeder),
    }


def _polarity(a: PolarityResult) -> dict[str, Any]:
    return {
        "drive": a.drive,
        "at": list(a.at),
        "expected": [
            {
                "between": list(r.between),
                "right": r.right.value,
                "reversed": {name: e.value for name, e in r.reversed.items()},
            }
            for r in a.rows
        ],
        "reachable": a.reachable,
        "reachable_between": list(a.reachable_between),
        "reachable_plug": a.reachable_plug,
        "body_current": a.body_current,
        "procedure": list(a.procedure),
    }
