"""The catalogue of hazards: every rule once, the most telling first inside its group."""

from __future__ import annotations

from types import MappingProxyType

from coilwright.protection.catalogue_chain import CHAIN
from coilwright.protection.catalogue_gap import GAP
from coilwright.protection.catalogue_people import PEOPLE
from coilwright.protection.catalogue_shelf import SHELF
from coilwright.protection.catalogue_supply import SUPPLY
from coilwright.protection.catalogue_tank import TANK
from coilwright.protection.rule import Rule

RULES: tuple[Rule, ...] = (*PEOPLE, *TANK, *GAP, *CHAIN, *SUPPLY, *SHELF)
CATALOGUE: MappingProxyType[str, Rule] = MappingProxyType({rule.id: rule for rule in RULES})
#: Place of a rule in the catalogue, for ordering tags of one grade.
ORDER: MappingProxyType[str, int] = MappingProxyType({rule.id: place for place, rule in enumerate(RULES)})

__all__ = ["CATALOGUE", "ORDER", "RULES", "Rule"]
