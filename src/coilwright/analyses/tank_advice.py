"""Which tank capacitance to aim at: the usual multiple of the mains-resonant one, as far as the windings hold.

Strings and plates play no part in it: they can be changed, a winding cannot. With a safety gap that is fitted and lies
in its window the volts of the missing gap are those that it lets through; without one both are named, the value that
holds bare and the usual one that needs a safety gap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log, nan

from coilwright.analyses.safety_gap import fitted_peak, site_air
from coilwright.analyses.tank_results import RatedPlace, SizeRow, SupplySide
from coilwright.analyses.tank_running import Running, neighbours
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Known
from coilwright.protection.facts import Rating
from coilwright.protection.safety_gap import window
from coilwright.protection.wording import farads, volts_peak

#: Tank over mains-resonant value that stays clear of resonance: 1.5 for a static gap, 2 to 2.5 for one that is locked
#: to the mains (common practice, no source).
STATIC_FACTOR, SYNCHRONOUS_FACTOR = 1.5, 2.2
#: How near to the usual multiple a point of the scan counts as it (our choice), and the band of what is advised.
NEAR, BAND = 0.2, 0.1


@dataclass(frozen=True)
class Held:
    """A safety gap in its window: V peak of one leg and across the output, the most that it lets through across (upper
    end of its band), and whether the project has it.
    """

    each: float
    across: float
    most: float
    fitted: bool

    @property
    def setting(self) -> str:
        """Return its setting in words: "3.00 kV peak a leg, 6.00 kV peak across"."""
        if self.across == self.each:
            return volts_peak(self.each)
        return f"{volts_peak(self.each)} a leg, {volts_peak(self.across)} across"


@dataclass(frozen=True)
class Advice:
    """``to_aim_at`` counts what is fitted; ``with_gap`` is the usual value where that needs a safety gap first."""

    to_aim_at: Estimate | None
    with_gap: Estimate | None


def safety_hold(design: Design, side: SupplySide, places: Sequence[RatedPlace]) -> Held | None:
    """Return the safety gap that is fitted, or else the one that could be; None where it lies outside its window, or no
    setting fits that window, or no winding's rating is known. Strings and plates do not narrow it.
    """
    legs = max(len(side.legs), 1)
    ratings = [Rating(p.where, nan, p.limit_peak, p.mark, across=p.across) for p in windings(places)]
    highest = max(side.ends_open_peak.values(), default=side.open_peak.value / legs)
    w = window(highest, ratings, air=site_air(design), legs=legs)
    fitted = fitted_peak(design)
    if fitted is not None:
        inside = w.low_peak < fitted.value < (w.bound.limit if w.bound else inf)
        return Held(fitted.value, legs * fitted.value, legs * highest_of(fitted), fitted=True) if inside else None
    if w.is_empty or w.bound is None:
        return None
    return Held(w.set_peak, legs * w.set_peak, legs * w.set_band[1], fitted=False)


def highest_of(fitted: Known[float]) -> float:
    """Return the upper end of the volts at which a safety gap fires [V peak]."""
    return fitted.value if fitted.high is None else fitted.high


def windings(places: Sequence[RatedPlace]) -> tuple[RatedPlace, ...]:
    """Return the places that decide: what cannot be changed by buying another part."""
    return tuple(p for p in places if p.what == "winding")


def advise(rows: Sequence[SizeRow], resonant: float, running: Running, held: Held | None) -> Advice:
    """Return the capacitances to aim at [F]; rows and ``resonant`` of the scan, ``held`` from ``safety_hold``."""
    factor = SYNCHRONOUS_FACTOR if running.locked else STATIC_FACTOR
    usual = f"{factor:g} x the mains-resonant value is usual (common practice, no source)"
    target = factor * resonant
    fires = [r for r in rows if _fires(r, running)]
    bare = _bare([r for r in fires if r.windings_hold], target, usual)
    if held is None:
        return Advice(bare, None)
    with_gap = _held([r for r in fires if _below(r, running, held)], rows, target, usual, held)
    if held.fitted:
        return Advice(with_gap or bare, None)
    return Advice(bare or with_gap, with_gap if bare is not None else None)


def _fires(row: SizeRow, running: Running) -> bool:
    if running.rotary:  # its running figures may not be known where it fires all the same
        return row.missing_peak >= running.least
    return running.firing is None or row.break_rate is not None


def _below(row: SizeRow, running: Running, held: Held) -> bool:
    """Return whether the gap fires before the safety gap does."""
    return (row.highest_peak or running.least) < held.across


def _bare(rows: Sequence[SizeRow], target: float, usual: str) -> Estimate | None:
    if not rows:
        return None
    c = _nearest(rows, target)
    near = abs(log(c / target)) < NEAR
    basis = usual if near else f"nearest to {farads(target)} at which every winding holds with the gap missing; {usual}"
    return _aim(c, f"{basis}; no safety gap counted")


def _held(rows: Sequence[SizeRow], scan: Sequence[SizeRow], target: float, usual: str, held: Held) -> Estimate | None:
    if not rows:
        return None
    about = neighbours(scan, target)
    whole = bool(about) and all(r in rows for r in about)
    c = target if whole else _nearest(rows, target)
    basis = usual if whole or abs(log(c / target)) < NEAR else f"nearest to {farads(target)} that fires; {usual}"
    needs = "with the safety gap at" if held.fitted else "ONLY with a safety gap, none is fitted: at"
    return _aim(c, f"{basis}; {needs} {held.setting}")


def _nearest(rows: Sequence[SizeRow], target: float) -> float:
    return min(rows, key=lambda r: abs(log(r.capacitance / target))).capacitance


def _aim(c: float, basis: str) -> Estimate:
    return Estimate(c, (1 - BAND) * c, (1 + BAND) * c, "pencil", "F", basis)


__all__ = ["STATIC_FACTOR", "SYNCHRONOUS_FACTOR", "Advice", "Held", "advise", "highest_of", "safety_hold", "windings"]
