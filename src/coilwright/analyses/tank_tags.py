"""The tags of the tank stage: those of the supply, which hold tank, filter and safety gap, and what only this stage can
judge: the rotor and the room.
"""

from __future__ import annotations

from dataclasses import replace

from coilwright.analyses.results import SupplyResult
from coilwright.analyses.tank_results import TankResult
from coilwright.analyses.tank_rotary import rotary_tags
from coilwright.analyses.tank_wear import running_tags
from coilwright.model.design import Design
from coilwright.protection.rules import collect


def tank_stage_tags(design: Design, made: SupplyResult, result: TankResult) -> TankResult:
    """Return the result with its tags, the worst first."""
    tags = collect(made.tags, rotary_tags(design, result.rotary), running_tags(result.room), answers=design.answers)
    return replace(result, tags=tags)


__all__ = ["tank_stage_tags"]
