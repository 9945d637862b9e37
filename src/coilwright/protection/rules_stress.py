"""Tags of cores, bonds and winding insulation of one arrangement."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from math import sqrt
from typing import Literal

from coilwright.model.known import Mark
from coilwright.protection.facts import CoreFacts, SupplyFacts, WindingEnd
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, listed, ohms, volts_peak, volts_rms

BOND_LIMIT = 0.1  # ohm
BOND_TEST_CURRENT = 0.2  # A
ZERO_VOLTS = 1.0  # V rms: what a lead drops; counts as 0


@dataclass(frozen=True)
class Margin:
    """One judged comparison behind a STOP, whether it was overstepped or not.

    ``mark`` is that of ``doubted``: of the limit (insulation), or of the number itself (a current from plate values).
    """

    id: str
    where: str
    number: float
    bound: float
    mark: Mark
    shown: str
    shown_bound: str
    doubted: Literal["limit", "number"] = "limit"

    @property
    def overstepped(self) -> bool:
        return self.number > self.bound

    @property
    def words(self) -> tuple[str, str]:
        """Return number and limit as printed, the one that ``mark`` is about with that mark in words."""
        known = {"pencil": "assumed", "ink": "as written", "stamped": "stamped"}[self.mark]
        if self.doubted == "limit":
            return self.shown, f"{self.shown_bound} ({known})"
        assumed = " (from assumed values)" if self.mark == "pencil" else ""
        return self.shown + assumed, self.shown_bound

    def tag(self) -> Tag:
        value, limit = self.words
        return raise_tag(
            self.id, self.where, value=value, limit=limit, number=self.number, bound=self.bound, mark=self.mark
        )


def rms_margin(id: str, where: str, volts: float, limit: float, mark: Mark) -> Margin:
    return Margin(id, where, volts, limit, mark, volts_rms(volts), volts_rms(limit))


def peak_margin(id: str, where: str, peak: float, limit: float, mark: Mark) -> Margin:
    return Margin(id, where, peak, limit, mark, volts_peak(peak), volts_peak(limit))


def pencil_tags(margins: Iterable[Margin]) -> Iterator[Tag]:
    """Yield one tag per kind of STOP whose margin, overstepped or kept, rests on assumed values, with its narrowest in
    numbers.

    An inner end that is kept at 0 V rests on nothing assumed: no reading could make its limit lower.
    """
    judged = (m for m in margins if m.mark == "pencil" and (m.overstepped or m.id != "inner-end-lifted"))
    pencil = sorted(judged, key=lambda m: m.id)
    for kind, group in groupby(pencil, key=lambda m: m.id):
        members = list(group)
        narrowest = max(members, key=lambda m: (m.number - m.bound, m.where))
        value, limit = narrowest.words
        yield raise_tag(
            "pencil-under-stop",
            listed(m.where for m in members),
            mark="pencil",
            value=f"{kind}: {narrowest.where} at {value} against {limit}",
        )


def winding_margin(end: WindingEnd) -> Margin | None:
    """Return the comparison of one winding end with its insulation, None for an end that is joined to the core.

    The insulation answers to the peak: volts are the larger of rms and peak over sqrt(2). The limit of an inner end
    counts from the volt that a lead drops.
    """
    if end.joined:
        return None
    volts = max(end.to_core, end.to_core_peak / sqrt(2))
    if end.inner:
        return rms_margin("inner-end-lifted", end.where, volts, max(end.limit, ZERO_VOLTS), end.mark)
    return rms_margin("winding-overvolt", end.where, volts, end.limit, end.mark)


def insulation_margins(facts: SupplyFacts) -> tuple[Margin, ...]:
    """Return every comparison of a winding or core of the arrangement with its insulation."""
    margins = [m for end in facts.windings if (m := winding_margin(end)) is not None]
    for core in facts.cores:
        if not core.earthed and core.primary_to_core is not None and core.primary_limit is not None:
            margins.append(
                rms_margin("floating-core", core.id, core.primary_to_core, core.primary_limit, core.primary_mark)
            )
        if core.high_to_primary is not None and core.high_to_primary_limit is not None:
            margins.append(
                rms_margin(
                    "high-to-primary",
                    core.id,
                    core.high_to_primary,
                    core.high_to_primary_limit,
                    core.high_to_primary_mark,
                )
            )
    return tuple(margins)


def insulation_tags(facts: SupplyFacts) -> Iterator[Tag]:
    """Yield the tags of overstepped insulation, of floating cores, and of bonds that are not proved."""
    margins = insulation_margins(facts)
    yield from (m.tag() for m in margins if m.overstepped and m.id != "floating-core")
    for core in facts.cores:
        yield from _floating(core)
        yield from _bond(core)
    yield from _lost_conductor(facts)


def _floating(core: CoreFacts) -> Iterator[Tag]:
    """A floating core is refused unless a proof test stamped its primary insulation and the volts stay within it."""
    if core.earthed:
        return
    volts, limit = core.primary_to_core, core.primary_limit
    proved = core.primary_mark == "stamped" and volts is not None and limit is not None and volts <= limit
    if not proved:
        yield raise_tag(
            "floating-core",
            core.id,
            value=None if volts is None else f"primary to core {volts_rms(volts)}",
            limit=None if limit is None else f"{volts_rms(limit)} primary to core, proof-tested and stamped",
            number=volts,
            bound=limit,
            mark=core.primary_mark,
        )


def _bond(core: CoreFacts) -> Iterator[Tag]:
    if not core.tied:
        return
    faults = list(_bond_faults(core))
    if faults:
        volts_at, amps_at = (f" ({w})" if w else "" for w in (core.loose_voltage_load, core.loose_current_load))
        loose = [] if core.loose_voltage is None else [f"off earth {volts_rms(core.loose_voltage)}{volts_at}"]
        loose += [] if core.loose_current is None else [f"{amperes(core.loose_current)} through 1 kohm{amps_at}"]
        yield raise_tag(
            "core-not-bonded",
            core.id,
            value="; ".join([*faults, *loose]),
            number=core.bond_resistance,
            bound=BOND_LIMIT,
            mark=core.bond_mark,
        )


def _bond_faults(core: CoreFacts) -> Iterator[str]:
    if not core.earthed:
        yield "no joint to earth"
    if core.bond_resistance is None:
        yield "no bond reading"
        return
    if core.bond_mark != "stamped":
        yield "bond reading without instrument and date"
    if core.bond_resistance > BOND_LIMIT:
        yield f"bond {ohms(core.bond_resistance)}"
    if core.bond_current is None or core.bond_current < BOND_TEST_CURRENT:
        yield (
            "test current not stated" if core.bond_current is None else f"tested with {amperes(core.bond_current)} only"
        )


def _lost_conductor(facts: SupplyFacts) -> Iterator[Tag]:
    tied = [c.id for c in facts.cores if c.tied]
    if not (tied and facts.plug_in) or facts.second_protective_conductor:
        return
    words = [] if facts.pe_lost_voltage is None else [volts_rms(facts.pe_lost_voltage)]
    words += [] if facts.pe_lost_current is None else [f"{amperes(facts.pe_lost_current)} through 1 kohm"]
    yield raise_tag("pe-lost", listed(tied), value=", ".join(words) or None, number=facts.pe_lost_voltage)
