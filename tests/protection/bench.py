"""Facts of invented machines that raise nothing beyond what always stands, to be spoilt one thing at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from coilwright.model.site import Breaker
from coilwright.protection.facts import (
    CoreFacts,
    CorrectionCapacitor,
    PartFacts,
    Rating,
    ReadingFacts,
    ShelfFacts,
    Shock,
    SiteFacts,
    SupplyFacts,
    TankFacts,
    TankUnit,
    WindingEnd,
)
from coilwright.protection.facts_chain import ChainFacts
from coilwright.protection.facts_gap import RotorFacts
from coilwright.protection.rules import chain_tags, rotor_tags, shelf_tags, site_tags, supply_tags, tank_tags
from coilwright.protection.tag import Tag

SITE = SiteFacts(high_voltage=True, disconnections=2)
CORE = CoreFacts(
    "T1",
    tied=True,
    earthed=True,
    bond_resistance=0.04,
    bond_current=0.2,
    bond_mark="stamped",
    primary_to_core=230.0,
    primary_limit=253.0,
    primary_mark="stamped",
    high_to_primary=2000.0,
    high_to_primary_limit=2310.0,
    high_to_primary_mark="stamped",
)
OUTER = WindingEnd("T1.high start", 1930.0, 2640.0, 2310.0, "stamped")
INNER = WindingEnd("T1.high finish", 0.001, 0.002, 0.0, "pencil", inner=True, joined=True)
SUPPLY = SupplyFacts(
    "pair",
    Breaker(16.0, "B"),
    230.0,
    short_current=0.405,
    mains_short=7.96,
    mains_uncorrected=7.96,
    mains_corrected=7.96,
    ballast=True,
    cores=(CORE,),
    windings=(OUTER, INNER),
    pair=True,
    polarity_mark="stamped",
    rcd=0.03,
    residual=1e-4,
)
CAPACITOR = CorrectionCapacitor("C1", 40e-6, 230.0, rated=450.0, rated_kind="AC", bleeder=270e3, made=2015)
TANK = TankFacts(
    2e-9,
    peak=2000.0,
    open_peak=2640.0,
    safety_gap=3000.0,
    ratings=(Rating("T1.high", 2640.0, 3250.0, "stamped"),),
    units=(TankUnit("C3.1", 2e-9, 2000.0, 10e6),),
)

ROTOR = RotorFacts(
    "gap",
    speed=50.0,
    force=79.0,
    spin_test_force=114.0,
    disc_material="glass-epoxy",
    disc_factor=8.0,
    bolt_factor=12.0,
    tip_speed=35.0,
    tip_limit=80.0,
    shield=3e-3,
    shield_material="steel",
    shield_wanted=2e-3,
    shield_all_round=True,
    mark="ink",
)

CHAIN = ChainFacts(True, True, True, "8 A T", 8.0, 7.96, 16.0)


def chain(**changes: Any) -> tuple[Tag, ...]:
    return chain_tags(replace(CHAIN, **changes))


def rotor(**changes: Any) -> tuple[Tag, ...]:
    return rotor_tags(replace(ROTOR, **changes))


def site(**changes: Any) -> tuple[Tag, ...]:
    return site_tags(replace(SITE, **changes))


def part(section: str = "transformer", **keys: Any) -> tuple[Tag, ...]:
    return shelf_tags(ShelfFacts(parts=(PartFacts("P1", section, **keys),)))  # type: ignore[arg-type]


def reading(what: str, **keys: Any) -> tuple[Tag, ...]:
    return shelf_tags(ShelfFacts(readings=(ReadingFacts("transformer[0].test[0]", what, part="T1", **keys),)))  # type: ignore[arg-type]


def supply(**changes: Any) -> tuple[Tag, ...]:
    return supply_tags(replace(SUPPLY, **changes))


def core(**changes: Any) -> tuple[Tag, ...]:
    return supply(cores=(replace(CORE, **changes),))


def correction(**changes: Any) -> tuple[Tag, ...]:
    return supply(correction=(replace(CAPACITOR, **changes),))


def tank(**changes: Any) -> tuple[Tag, ...]:
    return tank_tags(replace(TANK, **changes))


def shock(current: float) -> tuple[Shock, ...]:
    return (Shock("hot_a", current, current * 0.9, residual=1e-4),)


def ids(tags: tuple[Tag, ...]) -> set[str]:
    return {t.id for t in tags}
