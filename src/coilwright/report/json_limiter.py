"""The test through a series limiter, as its JSON object."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.limiter_results import LimitedPoint, LimiterResult


def limiter_record(result: LimiterResult) -> dict[str, Any]:
    """Return the object ``limiter``; volts and amperes are those of the limiter unless the key says otherwise."""
    return {
        "kind": result.kind,
        "power": result.power,
        "rated_voltage": result.rated_voltage,
        "cold_resistance": result.cold_resistance,
        "hot_resistance": result.hot_resistance,
        "mains_voltage": result.mains_voltage,
        **_point("open", result.opened),
        **_point("short", result.shorted),
        "separates": result.separates,
        "words": result.words,
        "choices": [
            {
                "kind": c.kind,
                "power": c.power,
                "open_voltage": c.open_voltage,
                "short_voltage": c.short_voltage,
                "separates": c.separates,
            }
            for c in result.choices
        ],
        "slips": [
            {
                "id": s.id,
                "subject": s.subject,
                "done": s.done,
                "open_voltage": s.open_voltage,
                "short_voltage": s.short_voltage,
                "tells_open": s.tells_open,
                "tells_short": s.tells_short,
            }
            for s in result.slips
        ],
        "touch": [
            {
                "where": t.where,
                "voltage": t.voltage,
                "current_575_ohm": t.current_575,
                "current_1000_ohm": t.current_1000,
                "residual_current": t.residual,
            }
            for t in result.touches
        ],
        "deadly": result.deadly,
        "taken_off": list(result.taken_off),
        "unconverged": list(result.unconverged),
        "mark": result.mark,
        "notes": list(result.notes),
    }


def _point(name: str, at: LimitedPoint) -> dict[str, Any]:
    return {
        f"{name}_voltage": at.limiter_voltage,
        f"{name}_voltage_band": None if at.band is None else list(at.band),
        f"{name}_current": at.current,
        f"{name}_set_voltage": at.set_voltage,
        f"{name}_output_voltage": at.output_voltage,
        f"{name}_output_voltage_peak": at.output_peak,
        f"{name}_output_current": at.output_current,
        f"{name}_bands": {key: list(band) for key, band in at.bands.items()},
    }
