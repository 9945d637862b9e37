"""The spark gap of the tank stage, as its JSON object; estimates are split off by the document."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import TankResult


def gap_part(result: TankResult) -> dict[str, Any]:
    """Return ``gap``, null where the project states none; volts are peak across the whole gap, lengths in m."""
    gap = result.gap
    if gap is None:
        return {"gap": None}
    return {
        "gap": {
            "kind": gap.kind,
            "form": gap.form,
            "diameter": gap.diameter,
            "segments": gap.segments,
            "air_density_ratio": gap.air_density_ratio,
            "humidity": gap.humidity,
            "breakdown_peak": gap.breakdown_peak,
            "spacing": gap.spacing,
            "spacing_each": gap.spacing_each,
            "spread": gap.spread,
            "hot_peak": gap.hot_peak,
            "high_frequency_factor": gap.high_frequency_factor,
            "largest_setting": gap.largest_setting,
            "largest_spacing": gap.largest_spacing,
            "limited_by": gap.limited_by,
            "widest_that_fires": gap.widest_that_fires,
            "fires": gap.fires,
            "curve": [
                {"spacing_each": p.spacing, "peak": p.peak, "peak_low": p.low, "peak_high": p.high} for p in gap.curve
            ],
            "words": list(gap.words),
            "limits": list(gap.limits),
        }
    }


__all__ = ["gap_part"]
