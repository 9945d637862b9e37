"""The results besides shelf, plan and supply that have sheets of their own, as far as they were computed."""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.analyses.gates_results import GatesResult
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.analyses.slips_results import SlipsResult
from coilwright.analyses.tank_results import TankResult


@dataclass(frozen=True)
class Sheets:
    """Each None where it was not computed: its sheet is then left out."""

    polarity: PolarityResult | None = None
    gates: GatesResult | None = None
    slips: SlipsResult | None = None
    tank: TankResult | None = None


NO_SHEETS = Sheets()
