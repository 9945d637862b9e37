"""Quick answers about tank, gap, string, plates and filter, as JSON; estimates are split off by the document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coilwright.analyses.quick_tank_results import (
    FilterAnswer,
    GapAnswer,
    PlatesAnswer,
    StringAnswer,
    TankAnswer,
    TankAnswered,
)
from coilwright.analyses.tank_results import SafetyGapResult, StringResult
from coilwright.protection.energy import StoredLimit
from coilwright.report.json_tank_plates import plates_record
from coilwright.report.json_tank_strings import bleeder_record

#: Options that only these questions take.
OPTIONS = (
    "current",
    "gap_voltage",
    "form",
    "diameter",
    "spacing",
    "segments",
    "earthed_end",
    "temperature",
    "pressure",
    "altitude",
    "humidity",
    "rated",
    "want",
    "count",
    "dielectric",
    "thickness",
    "area",
)
QUESTIONS = ("tank", "gap", "string", "plates", "filter")


def tank_answers(question: str, result: object) -> dict[str, Any]:
    """Return the answer under the name of its question, null under the others."""
    out: dict[str, Any] = dict.fromkeys(QUESTIONS)
    if isinstance(result, TankAnswered):
        out[question] = _record(result)
    return out


def _record(result: TankAnswered) -> dict[str, Any]:
    if isinstance(result, TankAnswer):
        return _tank(result)
    if isinstance(result, FilterAnswer):
        return _filter(result)
    if isinstance(result, GapAnswer):
        return _gap(result)
    if isinstance(result, StringAnswer):
        return _string(result)
    return _plates(result)


def _tank(a: TankAnswer) -> dict[str, Any]:
    size = a.size
    return {
        "open_voltage": a.side.open_voltage,
        "short_current": a.side.short_current,
        "mains_voltage": a.mains_voltage,
        "frequency": a.frequency,
        "resonant_capacitance": a.resonant,
        "advised": size.advised,
        "capacitance": size.capacitance,
        "stated": a.stated,
        "basis": size.capacitance.basis if size.capacitance else "",
        "gap_missing_peak": size.gap_missing_peak,
        "energy_missing": size.energy_missing,
        "charge_missing": size.charge_missing,
        "firing_peak": size.firing_peak,
        "gap_form": a.gap.form,
        "gap_spacing": a.gap.spacing,
        "fires": a.gap.fires,
        "energy_per_bang": size.energy_per_bang,
        "charge": size.charge,
        "break_rate": size.break_rate,
        "power": size.power,
        "power_share": size.power_share,
        "bleeder": None if a.bleeder is None else bleeder_record(a.bleeder),
        "safety_gap": _safety_gap(a.safety_gap),
        "people": _people(a.thresholds),
        "scan": [
            {
                "capacitance": r.capacitance,
                "gap_missing_peak": r.missing_peak,
                "within": r.within,
                "energy_per_bang": r.energy_per_bang,
                "break_rate": r.break_rate,
                "power": r.power,
            }
            for r in size.rows
        ],
        "words": list(size.words),
        "limits": list(size.limits),
    }


def _safety_gap(gap: SafetyGapResult) -> dict[str, Any]:
    return {
        "legs": len(gap.legs),
        "low_peak": gap.low_peak,
        "high_peak": gap.high_peak,
        "limited_by": gap.limited_by,
        "setting_peak": gap.setting_peak,
        "spacing": gap.spacing,
        "empty": gap.empty,
        "words": list(gap.words),
    }


def _people(limits: Sequence[StoredLimit]) -> list[dict[str, Any]]:
    return [
        {"quantity": s.quantity, "value": s.value, "limit": s.limit, "exceeded": s.exceeded, "source": s.source}
        for s in limits
    ]


def _filter(a: FilterAnswer) -> dict[str, Any]:
    f = a.filter
    return {
        "tank_capacitance": a.of.size.capacitance,
        "tank_stated": a.of.stated,
        "legs": len(a.of.side.legs),
        "resistance": f.resistance,
        "capacitance": f.capacitance,
        "corner_frequency": f.corner_frequency,
        "attenuation": f.attenuation,
        "drop": f.drop,
        "resistor_power": f.resistor_power,
        "resistor_voltage_peak": f.resistor_voltage_peak,
        "resistors_in_series": f.resistors_in_series,
        "capacitor_peak": f.capacitor_peak,
        "capacitor_current": f.capacitor_current,
        "surge_energy": f.surge_energy,
        "fails": list(f.fails),
        "chokes": list(f.chokes),
        "limits": list(f.limits),
    }


def _gap(a: GapAnswer) -> dict[str, Any]:
    gap = a.gap
    return {
        "form": gap.form,
        "diameter": gap.diameter,
        "segments": gap.segments,
        "earthed_end": a.earthed,
        "from_voltage": a.from_voltage,
        "temperature": a.temperature,
        "relative_humidity": a.humidity,
        "humidity": gap.humidity,
        "air_density_ratio": gap.air_density_ratio,
        "breakdown_peak": gap.breakdown_peak,
        "spacing": gap.spacing,
        "spacing_each": gap.spacing_each,
        "spread": gap.spread,
        "hot_peak": gap.hot_peak,
        "high_frequency_factor": gap.high_frequency_factor,
        "curve": [
            {"spacing_each": p.spacing, "peak": p.peak, "peak_low": p.low, "peak_high": p.high} for p in gap.curve
        ],
        "words": list(gap.words),
        "limits": list(gap.limits),
    }


def _string(a: StringAnswer) -> dict[str, Any]:
    return {
        "voltage": a.voltage,
        "firing_peak": a.firing,
        "missing_peak": a.missing_peak,
        "wanted": a.strings.wanted,
        "considered": a.strings.considered,
        "strings": [_bank(r) for r in a.strings.ranked],
        "refused": [_bank(r) for r in a.strings.refused],
        "limits": list(a.strings.limits),
    }


def _bank(row: StringResult) -> dict[str, Any]:
    return {
        "series": row.series,
        "parallel": row.parallel,
        "unit_capacitance": row.unit_capacitance,
        "capacitance": row.capacitance,
        "voltage_each_peak": row.voltage_each_peak,
        "voltage_each_firing_peak": row.voltage_each_firing_peak,
        "rated_each_peak": row.rated_each_peak,
        "rating_words": row.rating_words,
        "current_peak": row.current_peak_each,
        "current_rms": row.current_rms_each,
        "dv_dt": row.dv_dt,
        "dv_dt_rated": row.dv_dt_rated,
        "loss": row.loss_each,
        "temperature_rise": row.temperature_rise,
        "inductance": row.inductance,
        "bleeder": None if row.bleeder is None else bleeder_record(row.bleeder),
        "sharing": row.sharing,
        "verdict": row.verdict,
        "reasons": list(row.reasons),
        "notes": list(row.notes),
    }


def _plates(a: PlatesAnswer) -> dict[str, Any]:
    return {
        "voltage": a.voltage,
        "firing_peak": a.firing,
        "missing_peak": a.missing_peak,
        **plates_record(a.plates),
    }


__all__ = ["OPTIONS", "QUESTIONS", "tank_answers"]
