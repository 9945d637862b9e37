"""Tank, gap and protection in the document of the demo; `tank --json` has the whole."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import GapResult, SafetyGapResult, SizeResult, StringResult, TankResult
from coilwright.report.estimates import split_estimates


def tank_short(result: TankResult) -> dict[str, Any]:
    """Return size, own string, gap and safety gap; bands and marks by key path inside this part."""
    own = result.strings.own
    plain, bands, marks = split_estimates(
        {
            "arrangement": result.name,
            "size": _size(result.size),
            "string": None if own is None else _string(own),
            "gap": None if result.gap is None else _gap(result.gap),
            "safety_gap": _safety_gap(result.protection.safety_gap),
        }
    )
    return {**plain, "bands": bands, "marks": marks}


def _size(size: SizeResult) -> dict[str, Any]:
    return {
        "capacitance": size.capacitance,
        "how": size.how,
        "resonant_capacitance": size.resonant_capacitance,
        "advised": size.advised,
        "gap_missing_peak": size.gap_missing_peak,
        "firing_peak": size.firing_peak,
        "energy_per_bang": size.energy_per_bang,
        "charge": size.charge,
        "break_rate": size.break_rate,
        "power": size.power,
    }


def _string(own: StringResult) -> dict[str, Any]:
    return {
        "part": own.part,
        "series": own.series,
        "parallel": own.parallel,
        "voltage_each_peak": own.voltage_each_peak,
        "rated_each_peak": own.rated_each_peak,
        "verdict": own.verdict,
        "reasons": list(own.reasons),
        "notes": list(own.notes),
    }


def _gap(gap: GapResult) -> dict[str, Any]:
    return {
        "form": gap.form,
        "segments": gap.segments,
        "breakdown_peak": gap.breakdown_peak,
        "spacing": gap.spacing,
        "largest_setting": gap.largest_setting,
        "limited_by": gap.limited_by,
        "fires": gap.fires,
    }


def _safety_gap(gap: SafetyGapResult) -> dict[str, Any]:
    return {
        "legs": list(gap.legs),
        "low_peak": gap.low_peak,
        "high_peak": gap.high_peak,
        "limited_by": gap.limited_by,
        "setting_peak": gap.setting_peak,
        "spacing": gap.spacing,
        "fitted_peak": gap.fitted_peak,
        "empty": gap.empty,
    }


__all__ = ["tank_short"]
