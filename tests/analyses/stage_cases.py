"""The demonstration's supply as the protection of the tank stage sees it, with any protection."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from analyses.gate_cases import base, known, supplied
from coilwright.analyses.tank_context import supply_side
from coilwright.analyses.tank_filter import filter_places
from coilwright.analyses.tank_protection import protection_result
from coilwright.analyses.tank_results import BleederResult, ProtectionResult, SizeResult, SupplySide
from coilwright.analyses.tank_strings import string_places
from coilwright.model.design import Design
from coilwright.model.known import Estimate

FIRING = Estimate(4000.0, 3600.0, 4400.0, "ink", "V")
SIZE = SizeResult(
    Estimate(50e-9, 45e-9, 55e-9, "ink", "F"), "8 x C3 in series, 2 in parallel", 340e-9, None, None, FIRING,
    None, None, None, None, Estimate(100.0, 50.0, 200.0, "pencil", "1/s"), None, None,
)  # fmt: skip


@dataclass(frozen=True)
class Stage:
    """As much of the stage's result as the protection's words and drawing look at."""

    name: str
    supply: SupplySide
    size: SizeResult
    protection: ProtectionResult


@lru_cache(maxsize=1)
def side() -> SupplySide:
    return supply_side(base(), base().chosen(), supplied(), known())


@lru_cache(maxsize=16)
def staged(protection=None, breaker=None) -> tuple[Design, Stage]:
    """Return project and stage with that protection."""
    design = replace(base(), protection=protection)
    if breaker is not None:
        design = replace(design, site=replace(design.site, breaker=replace(design.site.breaker, value=breaker)))
    places = (*side().windings, *string_places(design), *filter_places(design))
    unit = BleederResult(1e8, 2e7, 4, 5e6, 340.0, 0.1, 6.0, 50.0, 60.0, 1e7, "as fitted")
    made = protection_result(design, side(), SIZE, None, places, unit_bleeder=unit, made=supplied(), shelf=known())
    return design, Stage("pair, midpoint earthed", side(), SIZE, made)
