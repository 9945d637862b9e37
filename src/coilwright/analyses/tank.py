"""As much of the tank as the supply must know: its capacitance and the weakest rating that a missing gap would
reach.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt
from typing import cast

from coilwright.analyses.stress import Limits
from coilwright.analyses.topology import Wired
from coilwright.capacitors.dielectrics import find
from coilwright.capacitors.plates import Form, capacitance
from coilwright.errors import ModelRangeError
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Known, Mark, weakest
from coilwright.model.machine import TankPlates
from coilwright.model.parts import Capacitor

#: Tolerance of a capacitor whose value states none, as a share either way (common practice, no source).
TOLERANCE = 0.10


def tank_unit(design: Design) -> Capacitor | None:
    """Return the capacitor of which the tank's strings are made, or None."""
    strings = design.tank.strings if design.tank else None
    return next((c for c in design.capacitors if strings and c.id == strings.part), None)


def tank_capacitance(design: Design) -> float | None:
    """Return the capacitance of the project's tank [F], or None where the project states none that can be computed."""
    found = tank_estimate(design)
    return found.value if found is not None else None


def tank_estimate(design: Design) -> Estimate | None:
    """Return the capacitance of the project's tank [F] with its band, or None where the project states none that can be
    computed (an unknown dielectric, a sheet as thick as its foil is wide).
    """
    tank = design.tank
    if tank is None:
        return None
    if tank.capacitance is not None:
        return _estimate(tank.capacitance, tank.capacitance.value, tank.capacitance.basis or "as written")
    if tank.strings is not None:
        unit = tank_unit(design)
        if unit is None:
            return None
        s = tank.strings
        value = unit.value.value * s.parallel / s.series
        words = f"{s.series} in series, {s.parallel} in parallel"
        return _estimate(unit.value, value, words, unit.tolerance or TOLERANCE)
    return plates_estimate(tank.plates) if tank.plates is not None else None


def tank_words(design: Design) -> str:
    """Return how the project states its tank, "" where it does not."""
    tank = design.tank
    if tank is None:
        return ""
    if tank.strings is not None:
        s = tank.strings
        return f"{s.series} x {s.part} in series, {s.parallel} in parallel"
    if tank.plates is not None:
        p = tank.plates
        what = {"flat": "flat plates", "rolled": "rolls", "cylinder": "bottles or tubes"}[p.form]
        return f"{p.count} {what} of {p.dielectric}"
    return "as written"


def plates_estimate(plates: TankPlates) -> Estimate | None:
    """Return the capacitance of home-made plates [F], pencil: it rests on a handbook's permittivity."""
    material = find(plates.dielectric)
    if material is None:
        return None
    form = cast("Form", plates.form)
    try:
        c = capacitance(form, material, plates.thickness.value, plates.area.value, plates.count)
    except ModelRangeError:
        return None
    return Estimate(c.value, c.low, c.high, "pencil", "F", f"permittivity of {material.name}, {c.source}")


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


def _estimate(known: Known[float], value: float, basis: str, tolerance: float = TOLERANCE) -> Estimate:
    """Return ``value`` [F] with the relative band of ``known``, or the tolerance where it states none."""
    if known.low is None or known.high is None:
        return Estimate(value, value * (1 - tolerance), value * (1 + tolerance), known.mark, "F", basis)
    scale = value / known.value
    return Estimate(value, known.low * scale, known.high * scale, weakest(known.mark), "F", basis)
