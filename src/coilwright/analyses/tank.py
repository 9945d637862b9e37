"""As much of the tank as the supply must know: its capacitance and the weakest rating that a missing gap would
reach.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

from coilwright.analyses.stress import Limits
from coilwright.analyses.topology import Wired
from coilwright.model.design import Design
from coilwright.model.known import Mark
from coilwright.model.parts import Capacitor

EPSILON_0 = 8.8541878128e-12
#: Relative permittivity of sheet dielectrics, middle of handbook ranges (from memory, general handbooks).
PERMITTIVITY = {
    "polyethylene": 2.28,
    "polypropylene": 2.25,
    "polystyrene": 2.55,
    "ptfe": 2.1,
    "glass": 7.0,
    "acrylic": 3.5,
    "polycarbonate": 2.95,
    "mica": 7.0,
    "air": 1.0,
}


def tank_unit(design: Design) -> Capacitor | None:
    """Return the capacitor of which the tank's strings are made, or None."""
    strings = design.tank.strings if design.tank else None
    return next((c for c in design.capacitors if strings and c.id == strings.part), None)


def tank_capacitance(design: Design) -> float | None:
    """Return the capacitance of the project's tank [F], or None where the project states none.

    Flat plates: n sheets between n + 1 foils in parallel, C = eps0 er A / d each, without edges.
    """
    tank = design.tank
    if tank is None:
        return None
    if tank.capacitance is not None:
        return tank.capacitance.value
    if tank.strings is not None:
        unit = tank_unit(design)
        return unit.value.value * tank.strings.parallel / tank.strings.series if unit else None
    if tank.plates is not None and tank.plates.dielectric in PERMITTIVITY:
        p = tank.plates
        return EPSILON_0 * PERMITTIVITY[p.dielectric] * p.area.value / p.thickness.value * p.count
    return None


def weakest_limit(w: Wired, limits: Mapping[str, Limits]) -> tuple[float, str, Mark]:
    """Return the lowest peak volts to earth that an output end may show: V, whose it is, how it is known.

    A winding end that its tie holds on the core does not count.
    """
    found: list[tuple[float, str, Mark]] = []
    for name in w.high_units():
        lim, kept = limits[name], w.kept_tie(name)
        for end, known in (("start", lim.start_to_core), ("finish", lim.finish_to_core)):
            if kept != end and known.value > 0:
                found.append((sqrt(2) * known.value, f"{name}.high {end} to core", known.mark))
    return min(found, default=(float("inf"), "", "pencil"))
