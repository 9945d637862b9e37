"""A part whose temperature is known to pass its class raises the heat tag; one that stays below does not."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest

from coilwright.analyses.shelf import shelf
from coilwright.analyses.supply import supply
from coilwright.model.known import Known
from coilwright.project.load import load


@pytest.mark.parametrize(("surface", "expected"), [(0.01, True), (2.0, False)])
def test_a_small_choke_cooks_and_a_large_one_does_not(surface, expected):
    # Physics: the rise is loss over h A; a hundredfold surface makes it a hundredth.
    design = load(str(files("coilwright.project") / "demo.coil.toml")).design
    hot = tuple(replace(c, mass=Known(3.0), surface=Known(surface)) if c.id == "B4" else c for c in design.chokes)
    changed = replace(design, chokes=hot, goal=replace(design.goal, on_time=None))
    result = supply(changed, shelf=shelf(changed), gap_missing=False)
    assert (result.heat["B4"].temperature_rise is not None) is True
    assert any(t.id == "heat-duty" and "B4" in t.where for t in result.tags) is expected
