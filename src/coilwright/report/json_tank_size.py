"""Size of the tank capacitor, as its JSON object."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import TankResult


def size_part(result: TankResult) -> dict[str, Any]:
    """Return ``tank``: what the project's tank does, and a row for each capacitance of the scan.

    Estimates stand as they are; `split_estimates` takes their bands and marks out.
    """
    size = result.size
    stored = [row for row in result.protection.stored if size.capacitance and row.capacitance == size.capacitance.value]
    return {
        "tank": {
            "capacitance": size.capacitance,
            "how": size.how,
            "resonant_capacitance": size.resonant_capacitance,
            "advised": size.advised,
            "gap_missing_peak": size.gap_missing_peak,
            "firing_peak": size.firing_peak,
            "firing_spread": size.firing_spread,
            "energy_per_bang": size.energy_per_bang,
            "charge": size.charge,
            "energy_missing": size.energy_missing,
            "charge_missing": size.charge_missing,
            "break_rate": size.break_rate,
            "power": size.power,
            "power_share": size.power_share,
            "supply_current": size.supply_current,
            "supply_loss": size.supply_loss,
            "discharge_time": stored[0].discharge_time if stored else None,
            "discharge_residual": stored[0].residual if stored else None,
            "ranges": [
                {
                    "low": r.low,
                    "high": r.high,
                    "low_is_scan_end": r.low_is_scan_end,
                    "high_is_scan_end": r.high_is_scan_end,
                }
                for r in size.ranges
            ],
            "scan": [
                {
                    "capacitance": r.capacitance,
                    "gap_missing_peak": r.missing_peak,
                    "ends_peak": dict(r.ends_missing_peak),
                    "within": r.within,
                    "over": list(r.over),
                    "energy_per_bang": r.energy_per_bang,
                    "break_rate": r.break_rate,
                    "power": r.power,
                }
                for r in size.rows
            ],
            "words": list(size.words),
            "limits": list(size.limits),
        }
    }


__all__ = ["size_part"]
