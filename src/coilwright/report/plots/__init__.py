"""Figures. Each takes a frozen result and matplotlib axes, and computes nothing but the prefix of a unit."""

from __future__ import annotations

from coilwright.report.plots.droop import draw_droop
from coilwright.report.plots.gap_missing import draw_gap_missing
from coilwright.report.plots.stress import draw_stress_ladder
from coilwright.report.plots.style import svg_of

__all__ = ["draw_droop", "draw_gap_missing", "draw_stress_ladder", "svg_of"]
