"""Stress of every core and winding end against its limit, and the heat of the parts."""

from __future__ import annotations

from collections.abc import Mapping

from coilwright.analyses.results import CoreStress, EndStress, Heat, WindingStress
from coilwright.analyses.topology import Wired
from coilwright.measurement.heat import part_heat
from coilwright.measurement.insulation import InsulationLimits as Limits
from coilwright.measurement.insulation import insulation_limits
from coilwright.model.known import weakest
from coilwright.model.parts import Transformer
from coilwright.supply.characterise import Characteristics
from coilwright.supply.operating import Potential

__all__ = ["Limits", "core_stresses", "heats", "limits_of", "winding_stresses"]


def limits_of(w: Wired, mains_voltage: float | None = None) -> dict[str, Limits]:
    """Return what each wired transformer's insulation stands, by instance."""
    out = {}
    for name in w.of(Transformer):
        part = w.part(name)
        if isinstance(part, Transformer):
            out[name] = insulation_limits(part, mains_voltage, lifted=name in w.arrangement.lifted)
    return out


def core_stresses(result: Characteristics, limits: Mapping[str, Limits]) -> dict[str, CoreStress]:
    """Return each core's potential and what its primary's insulation sees."""
    return {
        name: CoreStress(
            s.core_to_earth,
            s.core_to_earth_peak,
            s.primary_to_core,
            s.high_to_primary,
            limits[name].primary_to_core.value,
            limits[name].primary_to_core.mark,
        )
        for name, s in result.stress.items()
    }


def winding_stresses(result: Characteristics, limits: Mapping[str, Limits]) -> dict[str, WindingStress]:
    """Return each high winding's ends against core and earth, keyed ``T1.high``."""
    out = {}
    for name, s in result.stress.items():
        lim = limits[name]
        out[f"{name}.high"] = WindingStress(
            _end(s.start),
            _end(s.finish),
            lim.start_to_core.value,
            lim.finish_to_core.value,
            weakest(lim.start_to_core.mark, lim.finish_to_core.mark),
            lim.inner_end,
        )
    return out


def _end(p: Potential) -> EndStress:
    return EndStress(p.to_earth, p.to_earth_peak, p.to_core, p.to_core_peak)


def heats(w: Wired, result: Characteristics, on_time: float | None) -> dict[str, Heat]:
    """Return the heat of each wired part at best power and at short circuit, with a temperature where one can be
    known.
    """
    out = {}
    for name, (best, short) in result.loss.items():
        h = part_heat(w.part(name), best, short, on_time)
        out[name] = Heat(h.loss, h.loss_short, h.temperature_rise, h.on_time, h.duty, h.basis)
    return out
