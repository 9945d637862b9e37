"""Results as JSON documents: SI numbers, rms unless the key ends in ``_peak``, null where nothing is known.

The keys are a promise to scripts: see the schemas beside this module, one per command.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coilwright.analyses.results import (
    CoreStress,
    GapMissing,
    GapMissingPoint,
    Heat,
    OperatingPoint,
    PartResult,
    PlanResult,
    ShelfResult,
    SupplyResult,
    WindingStress,
)
from coilwright.model.design import Design
from coilwright.model.known import Mark
from coilwright.report.json_common import finished, head, tag_record
from coilwright.report.json_limiter import limiter_record

#: The figures of a ranked row that rest on the output alone; the row's own mark is that of all others.
ROW_OUTPUT = ("open_voltage", "short_current", "apparent_power")


def shelf_document(design: Design, result: ShelfResult) -> dict[str, Any]:
    """Return what each part really is."""
    document = {
        **_project(design, "shelf"),
        "parts": {name: _part(part) for name, part in result.parts.items()},
        "next_reading": [
            {
                "part": r.part,
                "what": r.what,
                "instrument": r.instrument,
                "hazard": r.hazard,
                "hazard_words": r.hazard_words,
                "narrows": r.narrows,
                "band_before": list(r.band_before),
                "band_after": list(r.band_after),
                "unit": r.unit,
                "how": r.how,
            }
            for r in result.next_reading
        ],
    }
    return finished(document, result.tags)


def plan_document(design: Design, result: PlanResult, taken: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Return the ranked and the refused supplies; ``taken`` is what has been written into the project, if anything."""
    marks: dict[str, Mark] = {}
    for index, row in enumerate(result.ranked):
        marks[f"ranked[{index}]"] = row.mains_mark
        marks |= {f"ranked[{index}].{name}": row.output_mark for name in ROW_OUTPUT}
    document = {
        **_project(design, "plan"),
        "ranked": [
            {
                "number": number,
                "name": row.name,
                "score": row.score,
                "open_voltage": row.open_voltage,
                "short_current": row.short_current,
                "mains_current": row.mains_current,
                "mains_current_corrected": row.mains_current_corrected,
                "apparent_power": row.apparent_power,
                "power_factor": row.power_factor,
                "gap_missing": None,
                "parts": list(row.parts),
                "cores": {part: {"voltage_to_earth": volts} for part, volts in row.cores.items()},
                "why": list(row.why),
                "twins": list(row.twins),
                "tags": [tag_record(tag) for tag in row.tags],
            }
            for number, row in enumerate(result.ranked, start=1)
        ],
        "refused": [
            {
                "number": number,
                "name": row.name,
                "reasons": list(row.reasons),
                "names": list(row.names or (row.name,)),
                "tag": row.tag or None,
            }
            for number, row in enumerate(result.refused, start=len(result.ranked) + 1)
        ],
        "considered": result.considered,
        "seconds": result.seconds,
        "marks": marks,
        "bands": {},
        "nearest": result.nearest or None,
        "taken": dict(taken) if taken is not None else None,
    }
    return finished(document, result.tags)


def supply_document(design: Design, result: SupplyResult) -> dict[str, Any]:
    """Return everything that was computed of one arrangement."""
    missing = result.gap_missing
    document = {
        **_project(design, "supply"),
        "arrangement": result.name,
        "open_circuit": _point(result.open_circuit),
        "short_circuit": _point(result.short_circuit),
        "best_power": _point(result.best_power),
        "droop": [_point(point) for point in result.droop],
        "states": [
            {"voltage": s.voltage, "voltage_peak": s.voltage_peak, "mains_current": s.mains_current}
            for s in result.states
        ],
        "gap_missing": None if missing is None else _gap_points(missing),
        "gap_missing_limit": None if missing is None else _gap_limit(missing),
        "mains_current_uncorrected": result.mains_current_uncorrected,
        "cores": {part: _core(stress) for part, stress in result.cores.items()},
        "windings": _windings(result.windings),
        "joints": {
            name: {"voltage_to_earth": j.to_earth, "voltage_to_earth_peak": j.to_earth_peak, "high_voltage": j.high}
            for name, j in result.joints.items()
        },
        "heat": {part: _heat(heat) for part, heat in result.heat.items()},
        "correction": {
            "fitted": result.correction.fitted,
            "suggested": result.correction.suggested,
            "idle_current": result.correction.idle_current,
            "idle_power_factor": result.correction.idle_power_factor,
            "idle_leading": result.correction.idle_leading,
            "closing_peak": result.correction.closing_peak,
        },
        "inrush": None
        if result.inrush is None
        else {
            "first_peak": result.inrush.first_peak,
            "steady_peak": result.inrush.steady_peak,
            "magnetic_low": result.inrush.magnetic_low,
            "magnetic_high": result.inrush.magnetic_high,
            "may_trip": result.inrush.may_trip,
        },
        "clearances": [
            {
                "joint": c.joint,
                "voltage_peak": c.peak,
                "clearance": c.clearance,
                "creepage": c.creepage,
                "basis": c.basis,
                "factor": c.factor,
            }
            for c in result.clearances
        ],
        "limiter": None if result.limiter is None else limiter_record(result.limiter),
        "fast_error": result.fast_error,
        "bands": {path: list(band) for path, band in result.bands.items()},
        "marks": dict(result.marks),
        "notes": list(result.notes),
    }
    return finished(document, result.tags)


def _project(design: Design, command: str) -> dict[str, Any]:
    return {**head(command), "project": design.name, "path": design.path, "design": design.digest}


def _part(part: PartResult) -> dict[str, Any]:
    return {
        "kind": part.kind,
        "usable": part.usable,
        "why_not": part.why_not or None,
        "values": {name: e.value for name, e in part.values.items()},
        "bands": {name: [e.low, e.high] for name, e in part.values.items()},
        "marks": {name: e.mark for name, e in part.values.items()},
        "units": {name: e.unit for name, e in part.values.items()},
        "basis": {name: e.basis for name, e in part.values.items()},
        "readings": [
            {"code": n.code, "grade": n.grade, "where": n.where, "message": n.message, "hint": n.hint}
            for n in part.readings
        ],
    }


def _point(point: OperatingPoint) -> dict[str, Any]:
    return {
        "load_resistance": point.load_resistance,
        "voltage": point.voltage,
        "voltage_peak": point.voltage_peak,
        "current": point.current,
        "load_power": point.power,
        "power": point.mains_power,
        "mains_current": point.mains_current,
        "mains_current_peak": point.mains_current_peak,
        "apparent_power": point.apparent_power,
        "power_factor": point.power_factor,
        "reactive_power": point.reactive_power,
        "mains_harmonics": {str(order): amperes for order, amperes in point.mains_harmonics.items()},
        "residual_current": point.residual_current,
        "mains_current_uncorrected": point.mains_current_uncorrected,
    }


def _gap_points(missing: GapMissing) -> list[dict[str, Any]]:
    points = list(missing.points)
    points += [p for p in (missing.own, missing.worst) if p is not None and p not in points]
    return [_gap_point(point, missing) for point in sorted(points, key=lambda p: p.capacitance)]


def _gap_point(point: GapMissingPoint, missing: GapMissing) -> dict[str, Any]:
    known = point.exact
    return {
        "capacitance": point.capacitance,
        "own": point == missing.own,
        "worst": point == missing.worst,
        "peak": point.peak if known else float("nan"),
        "ends": {f"{joint}_peak": volts if known else float("nan") for joint, volts in point.ends_peak.items()},
        "peak_band": list(point.peak_band) if known and point.peak_band else None,
        "ends_band": {f"{joint}_peak": list(band) for joint, band in point.ends_band.items()} if known else {},
        "states_peak": list(point.states) if known else [],
        "converged": known,
    }


def _gap_limit(missing: GapMissing) -> dict[str, Any]:
    return {
        "resonant_capacitance": missing.resonant_capacitance,
        "limit_peak": missing.limit_peak,
        "limit_where": missing.limit_where,
        "limit_mark": missing.limit_mark,
    }


def _core(stress: CoreStress) -> dict[str, Any]:
    return {
        "voltage_to_earth": stress.voltage_to_earth,
        "voltage_to_earth_peak": stress.voltage_to_earth_peak,
        "primary_to_core": stress.primary_to_core,
        "high_to_primary": stress.high_to_primary,
        "limit_primary_to_core": stress.limit_primary_to_core,
        "limit_mark": stress.limit_mark,
    }


def _windings(windings: Mapping[str, WindingStress]) -> dict[str, dict[str, Any]]:
    nested: dict[str, dict[str, Any]] = {}
    for key, stress in windings.items():
        part, _, winding = key.rpartition(".")
        nested.setdefault(part, {})[winding] = {
            "start_to_core": stress.start.to_core,
            "start_to_core_peak": stress.start.to_core_peak,
            "start_to_earth": stress.start.to_earth,
            "start_to_earth_peak": stress.start.to_earth_peak,
            "start_limit": stress.start_limit,
            "finish_to_core": stress.finish.to_core,
            "finish_to_core_peak": stress.finish.to_core_peak,
            "finish_to_earth": stress.finish.to_earth,
            "finish_to_earth_peak": stress.finish.to_earth_peak,
            "finish_limit": stress.finish_limit,
            "limit_mark": stress.limit_mark,
            "inner_end": stress.inner_end,
        }
    return nested


def _heat(heat: Heat) -> dict[str, Any]:
    rise, time = heat.temperature_rise, heat.on_time
    return {
        "loss": heat.loss,
        "loss_short": heat.loss_short,
        "temperature_rise": None if rise is None else rise.value,
        "temperature_rise_band": None if rise is None else [rise.low, rise.high],
        "on_time": None if time is None else time.value,
        "on_time_band": None if time is None else [time.low, time.high],
        "duty": heat.duty,
        "basis": heat.basis,
    }
