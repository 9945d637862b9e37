"""The supply gates as a JSON document."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.gates_results import ChargeRow, Gate, GateRow, GatesResult, SparkWindow
from coilwright.model.design import Design
from coilwright.report.json_common import finished, head


def gate_document(design: Design, result: GatesResult) -> dict[str, Any]:
    """Return the gates in order, what every capacitor may hold, and the safety gap's windows."""
    document = {
        **head("gate"),
        "project": design.name,
        "path": design.path,
        "design": design.digest,
        "arrangement": result.arrangement,
        "gates": [_gate(g) for g in result.gates],
        "charge": [_charge(c) for c in result.charge],
        "safety_gap": [_window(w) for w in result.windows],
        "notes": list(result.notes),
    }
    return finished(document, result.tags)


def _gate(g: Gate) -> dict[str, Any]:
    lead = g.lead
    return {
        "id": g.id,
        "number": g.number,
        "title": g.title,
        "expected": None if lead is None else lead.expected,
        "band": None if lead is None else [lead.low, lead.high],
        "unit": None if lead is None else lead.unit,
        "instrument": None if lead is None else lead.instrument,
        "lead": None if lead is None else lead.id,
        "verdict": g.verdict,
        "words": g.words,
        "closed": g.closed or None,
        "distance": g.distance,
        "distance_words": g.distance_words,
        "how": list(g.how),
        "wrong": list(g.wrong),
        "ticks": list(g.ticks),
        "source": g.source,
        "readings": [_row(r) for r in g.rows],
    }


def _row(r: GateRow) -> dict[str, Any]:
    return {
        "id": r.id,
        "what": r.what,
        "expected": r.expected,
        "band": [r.low, r.high],
        "unit": r.unit,
        "mark": r.mark,
        "basis": r.basis,
        "instrument": r.instrument,
        "read": r.read,
        "read_mark": r.read_mark,
        "verdict": r.verdict,
        "note": r.note,
    }


def _charge(c: ChargeRow) -> dict[str, Any]:
    return {
        "where": c.where,
        "place": c.place,
        "capacitance": c.capacitance,
        "units": c.units,
        "voltage_peak": c.peak,
        "energy": c.energy,
        "charge": c.charge,
        "residual": c.residual,
        "allowed_time": c.allowed,
        "rule": c.rule,
        "bleeder": c.fitted,
        "drain_time": c.drain,
        "largest_bleeder": c.largest,
        "bleeder_power": c.power,
        "resistors_in_series": c.pieces,
    }


def _window(w: SparkWindow) -> dict[str, Any]:
    return {
        "joint": w.joint,
        "open_peak": w.open_peak,
        "low_peak": w.low_peak,
        "high_peak": w.high_peak,
        "high_where": w.high_where,
        "high_mark": w.high_mark,
        "low_spacing": w.low_spacing,
        "high_spacing": w.high_spacing,
        "fires_spacing": w.fires_spacing,
        "set_spacing": w.set_spacing,
        "set_peak": w.set_peak,
        "empty": w.is_empty,
    }
