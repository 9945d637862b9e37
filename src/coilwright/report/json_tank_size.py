"""Size of the tank capacitor, as its JSON object."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from coilwright.analyses.tank_results import TankResult
from coilwright.model.known import Known, Mark


def size_part(result: TankResult) -> dict[str, Any]:
    """Return ``tank``: what the project's tank does, and a row for each capacitance of the scan.

    What carries a mark stands as it is; `split_estimates` takes bands and marks out.
    """
    size = result.size
    missing_mark = size.gap_missing_peak.mark if size.gap_missing_peak else "pencil"
    return {
        "tank": {
            "capacitance": size.capacitance,
            "how": size.how,
            "resonant_capacitance": _marked(size.resonant_capacitance, size.scan_mark),
            "advised": size.advised,
            "advised_held": size.advised_held,
            "held_peak": _marked(size.held_peak),
            "gap_missing_peak": size.gap_missing_peak,
            "firing_peak": size.firing_peak,
            "firing_highest": size.firing_highest,
            "highest_peak": _marked(size.highest_peak),
            "firing_spread": _marked(size.firing_spread),
            "energy_per_bang": size.energy_per_bang,
            "charge": size.charge,
            "energy_missing": _marked(size.energy_missing, missing_mark),
            "charge_missing": _marked(size.charge_missing, missing_mark),
            "break_rate": size.break_rate,
            "power": size.power,
            "power_share": _marked(size.power_share),
            "supply_current": _marked(size.supply_current),
            "supply_loss": _marked(size.supply_loss),
            "discharge_time": _marked(size.discharge_time),
            "discharge_residual": size.discharge_residual,
            "ranges": [asdict(r) for r in size.ranges],
            "holding": [asdict(r) for r in size.holding],
            "scan": [
                {
                    "capacitance": r.capacitance,
                    "gap_missing_peak": _marked(r.missing_peak, size.scan_mark),
                    "ends_peak": {k: _marked(v, size.scan_mark) for k, v in r.ends_missing_peak.items()},
                    "within": r.within,
                    "windings_hold": r.windings_hold,
                    "over": list(r.over),
                    "firing_peak": _marked(r.firing_peak),
                    "firing_highest": _marked(r.firing_highest),
                    "highest_peak": _marked(r.highest_peak),
                    "energy_per_bang": _marked(r.energy_per_bang),
                    "break_rate": _marked(r.break_rate),
                    "power": _marked(r.power),
                    "why_none": r.why_none,
                }
                for r in size.rows
            ],
            "words": list(size.words),
            "limits": list(size.limits),
        }
    }


def _marked(value: float | None, mark: Mark = "pencil") -> Known[float] | None:
    return None if value is None else Known(value, mark)


__all__ = ["size_part"]
