"""The tank while the gap fires: volts at firing, bangs and power of each capacitance, and what they say of a rotor's
setting.

A static gap fires at its breakdown, whatever the tank. A rotor fires when two electrodes meet, at whatever the tank
then stands at: those volts come from the charging model, differ with the tank and from bang to bang, and can be far
above what the gap would break down at in alignment.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log, pi, sqrt

from coilwright.analyses.tank_gap import largest_bound
from coilwright.analyses.tank_results import GapResult, Missing, RatedPlace, SizeResult, SizeRow, SupplySide
from coilwright.capacitors.charging import Charging, Source, rotary_gap, static_gap
from coilwright.errors import ModelRangeError
from coilwright.model.known import Estimate
from coilwright.model.machine import Gap
from coilwright.protection.wording import volts_peak

PHASES = 8  # of a locked rotor whose phase is not stated
NO_GAP = "no gap is stated, or not what it fires at"
NO_ROTOR = "speed or presentations of the rotor are not stated"


@dataclass(frozen=True)
class Running:
    """How the gap takes the tank's charge: the supply, the gap, and its cold breakdown (None: not known)."""

    source: Source
    gap: Gap | None
    firing: Estimate | None

    @property
    def rotary(self) -> bool:
        return self.gap is not None and self.gap.kind.endswith("rotary")

    @property
    def locked(self) -> bool:
        return self.gap is not None and self.gap.kind == "synchronous rotary"

    @property
    def rate(self) -> float | None:
        """Return the presentations per second of a rotor, None where the project does not say."""
        g = self.gap
        return None if g is None or g.speed is None or g.presentations is None else g.speed.value * g.presentations

    @property
    def least(self) -> float:
        """Return the volts below which the gap cannot fire [V peak]; 0 where they are not known."""
        return self.firing.value if self.firing is not None else 0.0

    def charged(self, tanks: Mapping[float, float]) -> tuple[dict[float, Charging], dict[float, str]]:
        """Return what each tank gives, and why there is nothing for the others.

        ``tanks`` maps capacitance to the highest volts that the supply reaches with it [F -> V peak]: a linear supply
        that goes above them does what the iron would not let happen, and nothing of it is shown.
        """
        reached = [c for c in sorted(tanks) if tanks[c] >= self.least]
        why = {c: f"the gap does not fire: this tank reaches {volts_peak(tanks[c])}" for c in tanks if c not in reached}
        if self.rotary:
            found, lack = self._rotating(reached, tanks), NO_ROTOR
        else:
            found, lack = self._static(reached), "the gap would burn on as an arc" if self.firing else NO_GAP
        good = {}
        for c in reached:
            x = found.get(c)
            if x is None:
                why[c] = lack
            elif not x.fires:
                why[c] = "the gap does not fire"
            elif x.highest_peak > tanks[c] * (1 + 1e-6):
                why[c] = f"the linear supply would reach {volts_peak(x.highest_peak)}, above {volts_peak(tanks[c])}"
            else:
                good[c] = x
        return good, why

    def _static(self, tanks: Sequence[float]) -> dict[float, Charging]:
        if not tanks or self.firing is None:
            return {}
        try:
            return dict(zip(tanks, static_gap(self.source, tanks, self.firing.value), strict=True))
        except ModelRangeError:  # the smallest of them burns on as an arc
            return self._static(tanks[1:])

    def _rotating(self, tanks: Sequence[float], highest: Mapping[float, float]) -> dict[float, Charging]:
        gap, rate = self.gap, self.rate
        if gap is None or rate is None or not tanks:
            return {}
        if not self.locked:
            return dict(zip(tanks, rotary_gap(self.source, tanks, rate, None, self.least), strict=True))
        phases = [gap.phase.value] if gap.phase else [pi * k / PHASES for k in range(PHASES)]
        runs = [rotary_gap(self.source, tanks, rate, p, self.least) for p in phases]
        return {
            c: max((r[k] for r in runs), key=lambda x: (x.highest_peak <= highest[x.capacitance], x.power))
            for k, c in enumerate(tanks)
        }


def with_running(row: SizeRow, found: Charging | None, why: str) -> SizeRow:
    """Return the row with its running figures, or with why it has none."""
    if found is None:
        return replace(row, why_none=why)
    return replace(
        row,
        energy_per_bang=found.energy_per_bang,
        break_rate=found.break_rate,
        power=found.power,
        firing_peak=found.firing_peak,
        firing_highest=found.firing_highest,
        highest_peak=found.highest_peak,
    )


# ---- at any capacitance ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class At:
    """What runs at one capacitance: V across at firing (highest, and root of the mean square), the highest while it
    runs, and bangs per second.
    """

    firing_highest: float
    firing_rms: float
    highest_peak: float
    break_rate: float


def running_at(size: SizeResult, capacitance: float) -> At | None:
    """Return what runs at a capacitance [F]: the higher of its two neighbours in the rows; None where either has
    nothing to show, and outside them.
    """
    found = [_at(r) for r in neighbours(size.rows, capacitance)]
    known = [a for a in found if a is not None]
    if not found or len(known) < len(found):
        return None
    return At(*(max(getattr(a, f) for a in known) for f in At.__dataclass_fields__))


def _at(row: SizeRow) -> At | None:
    if row.firing_highest is None or row.highest_peak is None or row.break_rate is None or row.energy_per_bang is None:
        return None
    return At(row.firing_highest, sqrt(2 * row.energy_per_bang / row.capacitance), row.highest_peak, row.break_rate)


def neighbours(rows: Sequence[SizeRow], capacitance: float) -> tuple[SizeRow, ...]:
    """Return the row of that capacitance [F], else the two about it; nothing outside the rows."""
    same = [r for r in rows if abs(r.capacitance / capacitance - 1) < 1e-3]
    if same:
        return (min(same, key=lambda r: abs(log(r.capacitance / capacitance))),)
    below = [r for r in rows if r.capacitance < capacitance]
    above = [r for r in rows if r.capacitance > capacitance]
    return (below[-1], above[0]) if below and above else ()


def missing_at(points: Sequence[Missing], own: Missing | None, capacitance: float) -> float | None:
    """Return the peak with the gap missing at a capacitance [F]: the higher of its two neighbours in the scan, which
    may hide a narrow resonance between them; None outside the scan.
    """
    if own is not None and abs(own.capacitance / capacitance - 1) < 1e-3:
        return own.peak
    below = [p for p in points if p.capacitance <= capacitance * (1 + 1e-9)]
    above = [p for p in points if p.capacitance >= capacitance * (1 - 1e-9)]
    return max(below[-1].peak, above[0].peak) if below and above else None


# ---- a rotor's setting against the ratings ---------------------------------------------------------------------------


def with_rotor_verdict(
    gap: GapResult | None, size: SizeResult, side: SupplySide, places: Sequence[RatedPlace]
) -> GapResult | None:
    """Return the gap with what its rotor's volts at firing say of every known rating; a static gap as it is."""
    if gap is None or not size.by_rotor:
        return gap
    bound = largest_bound(places, side)
    if bound is None:
        return gap  # its words say already that no rating is known
    rated = f"{volts_peak(bound.peak)} of {bound.where} ({bound.mark})"
    mean, highest = size.firing_peak, size.highest_peak
    if mean is None or size.firing_highest is None or highest is None:
        own = next((r.why_none for r in size.rows if size.capacitance and r.capacitance == size.capacitance.value), "")
        words = (
            f"What it fires at while it turns is not known here{f': {own}' if own else ''}. The cold breakdown in "
            f"alignment says nothing of it: hold the peak with the gap missing against {rated}."
        )
        return replace(gap, words=(*gap.words, words))
    top = size.firing_highest.value
    head = f"Turning, it fires at {volts_peak(mean.value)} in the mean and at up to {volts_peak(top)}"
    if highest > 1.005 * top:
        head += f"; between presentations the tank reaches {volts_peak(highest)}"
    head += " (charging model, pencil), not at its cold breakdown"
    if highest > bound.peak:
        tail = (
            f"ABOVE the {rated}. More presentations a second, a larger tank or fewer volts; the safety gap does not "
            "make up for it."
        )
    elif size.firing_highest.high > bound.peak:
        tail = f"within the {rated} in the middle of its band, not at its end."
    else:
        tail = f"within every known rating: {rated}."
    return replace(gap, words=(*gap.words, f"{head}: {tail}"))


__all__ = [
    "At", "Running", "missing_at", "neighbours", "running_at", "with_rotor_verdict", "with_running",
]  # fmt: skip
