"""The supply of a quick answer solved once for each plate and tank, since one solve takes seconds: results are real."""

from __future__ import annotations

from typing import Any

import pytest

from coilwright.analyses.results import SupplyResult
from coilwright.analyses.supply import supply
from coilwright.analyses.tank import tank_capacitance
from coilwright.model.design import Design

_SOLVED: dict[tuple[object, ...], SupplyResult] = {}


def _once(design: Design, **options: Any) -> SupplyResult:
    unit, site = design.transformers[0], design.site
    key = (unit, site.mains_voltage, site.frequency, tank_capacitance(design))
    if key not in _SOLVED:
        _SOLVED[key] = supply(design, **options)
    return _SOLVED[key]


def solve_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let quick answers share solves; volts, amperes, mains and tank decide which is the same."""
    monkeypatch.setattr("coilwright.analyses.quick_tank.solve", _once)
