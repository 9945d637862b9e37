"""Protection of the supply, as its JSON object; an `Estimate` is split into value, band and mark by the document."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import BleederResult, StoredRow, TankResult
from coilwright.report.json_tank_strings import bleeder_record


def protection_part(result: TankResult) -> dict[str, Any]:
    """Return ``protection``: safety gap, filter, bleeder, fuse, what is stored, keep-out, ground, mains side."""
    p = result.protection
    gap, snubber, fuse = p.safety_gap, p.filter, p.fuse
    return {
        "protection": {
            "safety_gap": {
                "legs": list(gap.legs),
                "low_peak": gap.low_peak,
                "high_peak": gap.high_peak,
                "limited_by": gap.limited_by,
                "setting_peak": gap.setting_peak,
                "spacing": gap.spacing,
                "spacing_low": gap.spacing_low,
                "spacing_high": gap.spacing_high,
                "fitted_peak": gap.fitted_peak,
                "fitted_spacing": gap.fitted_spacing,
                "empty": gap.empty,
                "words": list(gap.words),
            },
            "filter": {
                "fitted": snubber.fitted,
                "resistance": snubber.resistance,
                "capacitance": snubber.capacitance,
                "corner_frequency": snubber.corner_frequency,
                "attenuation": snubber.attenuation,
                "drop": snubber.drop,
                "resistor_power": snubber.resistor_power,
                "resistor_voltage_peak": snubber.resistor_voltage_peak,
                "resistors_in_series": snubber.resistors_in_series,
                "capacitor_peak": snubber.capacitor_peak,
                "capacitor_current": snubber.capacitor_current,
                "surge_energy": snubber.surge_energy,
                "fails": list(snubber.fails),
                "chokes": list(snubber.chokes),
                "limits": list(snubber.limits),
            },
            "bleeder": [_bleeder(b) for b in p.bleeders],
            "fuse": {
                "fitted": fuse.fitted,
                "rated_current": fuse.rated_current,
                "advised": fuse.advised or None,
                "holds": fuse.holds,
                "soft_start_needed": fuse.soft_start_needed,
                "soft_start": fuse.soft_start,
                "soft_start_energy": fuse.soft_start_energy,
                "words": list(fuse.words),
            },
            "stored": [_stored(row) for row in p.stored],
            "keep_out": {
                "distance": p.keep_out.distance,
                "basis": p.keep_out.basis,
                "words": list(p.keep_out.words),
            },
            "ground": list(p.ground),
            "mains_side": list(p.mains_side),
            "limits": list(p.limits),
        }
    }


def _bleeder(b: BleederResult) -> dict[str, Any]:
    record = bleeder_record(b)
    return {"where": record.pop("basis"), **record}


def _stored(row: StoredRow) -> dict[str, Any]:
    return {
        "where": row.where,
        "capacitance": row.capacitance,
        "peak": row.peak,
        "energy": row.energy,
        "charge": row.charge,
        "limits": [
            {"quantity": s.quantity, "value": s.value, "limit": s.limit, "source": s.source} for s in row.limits
        ],
        "discharge_time": row.discharge_time,
        "residual": row.residual,
        "mark": row.mark,
    }


__all__ = ["protection_part"]
