"""A home-made tank capacitor, as its JSON object."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.tank_results import PlatesResult, TankResult


def plates_part(result: TankResult) -> dict[str, Any]:
    """Return ``plates``: the home-made capacitor, null where there is none."""
    return {"plates": None if result.plates is None else plates_record(result.plates)}


def plates_record(p: PlatesResult) -> dict[str, Any]:
    """Return one home-made capacitor."""
    return {
        "own": p.own,
        "form": p.form,
        "dielectric": p.dielectric,
        "count": p.count,
        "thickness": p.thickness,
        "area": p.area,
        "capacitance": p.capacitance,
        "field_peak": p.field_peak,
        "edge_field_peak": p.edge_field_peak,
        "strength": p.strength,
        "rated_peak": p.rated_peak,
        "corona_peak": p.corona_peak,
        "corona_peak_oil": p.corona_peak_oil,
        "loss_tangent": p.loss_tangent,
        "loss": p.loss,
        "temperature_rise": p.temperature_rise,
        "oil_volume": p.oil_volume,
        "mass": p.mass,
        "margin": p.margin,
        "foil_length": p.foil_length,
        "foil_width": p.foil_width,
        "foil_thickness": p.foil_thickness,
        "stack": list(p.stack),
        "turns": p.turns,
        "diameter": p.diameter,
        "sheets": [
            {
                "what": c.what,
                "count": c.count,
                "length": c.length,
                "width": c.width,
                "thickness": c.thickness,
                "material": c.material,
            }
            for c in p.sheets
        ],
        "reasons": list(p.reasons),
        "limits": list(p.limits),
    }


__all__ = ["plates_part", "plates_record"]
