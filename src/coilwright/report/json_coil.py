"""The document of `coil`."""

from __future__ import annotations

from typing import Any

from coilwright.analyses.coil_results import CoilResult, CouplingResult, PrimaryResult, TopLoadResult, TuningResult
from coilwright.model.design import Design
from coilwright.report.estimates import split_estimates
from coilwright.report.json_common import finished, head


def coil_document(design: Design, result: CoilResult) -> dict[str, Any]:
    """Return the document; bands and marks by key path."""
    s = result.secondary
    parts = {
        "secondary": {
            "turns": s.turns,
            "length": s.length,
            "inductance": s.inductance,
            "low_frequency_inductance": s.low_frequency_inductance,
            "dc_resistance": s.dc_resistance,
            "ac_resistance": s.ac_resistance,
            "ac_resistance_hot": s.ac_resistance_hot,
            "q": s.quality,
            "wire_length": s.wire_length,
            "wire_mass": s.wire_mass,
            "left_on_reel": s.on_reel,
            "temperature": s.temperature,
            "missing_losses": list(s.missing_losses),
        },
        "modes": [
            {
                "frequency": m.frequency,
                "mirrored_frequency": m.mirrored_frequency,
                "effective_capacitance": m.effective_capacitance,
                "effective_inductance": m.effective_inductance,
                "base_inductance": m.base_inductance,
            }
            for m in result.modes
        ],
        "profile": [
            {"height": p.height, "voltage": p.voltage, "current": p.current, "stress": p.stress} for p in result.profile
        ],
        "top_load": _top(result.top_load),
        "primary": _primary(result.primary),
        "coupling": _coupling(result.coupling),
        "tuning": _tuning(result.tuning),
        "detuning": [{"what": d.what, "shift": d.shift, "basis": d.basis} for d in result.detuning],
    }
    plain, bands, marks = split_estimates(parts)
    document = {
        **head("coil"),
        "project": design.name,
        "path": design.path,
        "design": design.digest,
        **plain,
        "missing": list(result.missing),
        "notes": list(result.notes),
        "marks": marks,
        "bands": bands,
    }
    return finished(document, result.tags)


def _top(t: TopLoadResult | None) -> dict[str, Any] | None:
    return None if t is None else {
        "capacitance": t.capacitance,
        "isolated_capacitance": t.isolated_capacitance,
        "peak_field_per_volt": t.peak_field_per_volt,
        "peak_field_at": list(t.peak_field_at),
        "breakout_voltage_peak": t.breakout_voltage_peak,
        "words": list(t.words),
    }  # fmt: skip


def _primary(p: PrimaryResult | None) -> dict[str, Any] | None:
    return None if p is None else {
        "tap": p.tap,
        "inductance": p.inductance,
        "low_frequency_inductance": p.low_frequency_inductance,
        "ac_resistance": p.resistance,
        "conductor_length": p.conductor_length,
        "taps": [
            {
                "turns": t.turns,
                "along": t.along,
                "angle": t.angle,
                "inductance": t.inductance,
                "low_frequency_inductance": t.low_frequency_inductance,
                "mutual_inductance": t.mutual_inductance,
                "coupling": t.coupling,
                "frequency": t.frequency,
            }
            for t in p.taps
        ],
    }  # fmt: skip


def _coupling(c: CouplingResult | None) -> dict[str, Any] | None:
    return None if c is None else {
        "mutual_inductance": c.mutual_inductance,
        "coefficient": c.coefficient,
        "by_height": [{"raised": h, "coefficient": k} for h, k in c.by_height],
    }  # fmt: skip


def _tuning(t: TuningResult | None) -> dict[str, Any] | None:
    return None if t is None else {
        "tank_capacitance": t.tank_capacitance,
        "tap_turns": t.tap_turns,
        "loaded_tap_turns": t.loaded_tap_turns,
        "streamer": t.streamer,
        "streamer_capacitance": t.streamer_capacitance,
        "loaded_frequency": t.loaded_frequency,
        "range": list(t.range),
        "words": list(t.words),
    }  # fmt: skip
