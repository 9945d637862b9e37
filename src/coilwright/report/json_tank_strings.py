"""Strings of film capacitors, as JSON objects; an `Estimate` is split into value, band and mark by the document."""

from __future__ import annotations

from math import isfinite, sqrt
from typing import Any

from coilwright.analyses.tank_results import BleederResult, StringResult, TankResult
from coilwright.capacitors.layout import Layout
from coilwright.capacitors.strings import Check
from coilwright.model.known import Known


def strings_part(result: TankResult) -> dict[str, Any]:
    """Return ``strings`` (the project's own first, then the ranking), what was refused, what was aimed at, limits."""
    found = result.strings
    rows = ([found.own] if found.own else []) + list(found.ranked)
    return {
        "strings": [string_record(row) for row in rows],
        "strings_refused": [string_record(row) for row in found.refused],
        "strings_wanted": found.wanted,
        "strings_considered": found.considered,
        "strings_limits": list(found.limits),
    }


def string_record(row: StringResult) -> dict[str, Any]:
    """Return one bank. ``voltage_each`` is rms at the gap's setting, of the worst unit; keys with ``_each`` are of one
    unit.
    """
    firing, missing = row.voltage_each_firing_peak, row.voltage_each_peak
    return {
        "part": row.part,
        "series": row.series,
        "parallel": row.parallel,
        "available": row.available,
        "own": row.own,
        "score": row.score,
        "dielectric": row.dielectric,
        "unit_capacitance": row.unit_capacitance,
        "capacitance": row.capacitance,
        "voltage_each": None if firing is None else Known(firing / sqrt(2), row.firing_mark),
        "voltage_each_firing_peak": None if firing is None else Known(firing, row.firing_mark),
        "voltage_each_peak": None if missing is None else Known(missing, row.missing_mark),
        "rated_each_peak": row.rated_each_peak,
        "rating_words": row.rating_words,
        "current_peak": row.current_peak_each,
        "current_rms": row.current_rms_each,
        "mains_current": row.mains_current_each,
        "dv_dt": row.dv_dt,
        "dv_dt_rated": row.dv_dt_rated,
        "loss": row.loss_each,
        "temperature_rise": row.temperature_rise,
        "inductance": row.inductance,
        "bleeder": None if row.bleeder is None else bleeder_record(row.bleeder),
        "sharing": row.sharing,
        "verdict": row.verdict,
        "checks": [_check(c) for c in row.checks],
        "reasons": list(row.reasons),
        "notes": list(row.notes),
        "layout": None if row.layout is None else layout_record(row.layout),
    }


def bleeder_record(b: BleederResult) -> dict[str, Any]:
    """Return the bleeder of one unit; ``largest`` null where any resistance will do."""
    return {
        "largest": b.largest if isfinite(b.largest) else None,
        "preferred": b.preferred,
        "fitted": b.fitted,
        "resistors_in_series": b.resistors_in_series,
        "resistor_each": b.resistor_each,
        "voltage_each_peak": b.voltage_each_peak,
        "power": b.power,
        "discharge_time": b.discharge_time,
        "residual": b.residual,
        "time_allowed": b.time_allowed,
        "basis": b.basis,
    }


def _check(c: Check) -> dict[str, Any]:
    known = c.verdict != "not known"
    return {
        "what": c.what,
        "value": c.value if known else None,
        "limit": c.limit if known else None,
        "unit": c.unit,
        "verdict": c.verdict,
        "mark": c.mark,
        "words": c.words,
    }


def layout_record(made: Layout) -> dict[str, Any]:
    """Return the board in m: bodies by string and place, straps and bleeders by their points."""
    return {
        "length": made.length,
        "width": made.width,
        "height": made.height,
        "folds": made.folds,
        "clearance": made.clearance,
        "loop_area": made.loop_area,
        "loop_inductance": made.loop_inductance,
        "terminals": [list(p) for p in made.terminals],
        "bodies": [
            {
                "string": b.string + 1,
                "place": b.place + 1,
                "x": b.x,
                "y": b.y,
                "length": b.length,
                "width": b.width,
                "leads": [list(b.start), list(b.finish)],
                "voltage_shares": list(b.volts),
            }
            for b in made.bodies
        ],
        "straps": [
            {"points": [list(p) for p in s.points], "width": s.width, "voltage_share": s.volts} for s in made.straps
        ],
        "bleeders": [{"leads": [list(b.start), list(b.finish)], "resistors": b.resistors} for b in made.bleeders],
        "words": list(made.words),
    }


__all__ = ["bleeder_record", "layout_record", "string_record", "strings_part"]
