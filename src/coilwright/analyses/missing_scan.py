"""The scan of the tank with its gap missing, and the highest peak that the project's own tank can reach."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from coilwright.analyses.results import GapMissing, GapMissingPoint, PartResult, SupplyResult
from coilwright.analyses.stress import limits_of
from coilwright.analyses.tank import tank_estimate, weakest_limit
from coilwright.analyses.topology import Wired
from coilwright.analyses.uncertainty import gap_missing_spread
from coilwright.model.design import Design
from coilwright.protection.wording import farads as farads_words
from coilwright.supply.build import build
from coilwright.supply.characterise import Characteristics
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.gap_missing import Missing, resonant_capacitance, scan

Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class HighestMissing:
    """The highest that the project's own tank can reach with its gap missing [V peak]: across the output and of each
    end to earth, over the band ``low`` to ``high`` of its capacitance [F], upper ends of the 95 % bands of the parts.

    ``usual`` and ``ends_usual`` are those of the tank as it is stated, ``capacitance`` is where the highest stands.
    """

    peak: float
    ends_peak: Mapping[str, float]
    usual: float
    ends_usual: Mapping[str, float]
    capacitance: float
    low: float
    high: float


def filter_capacitance(design: Design) -> float:
    """Return the fitted filter's capacitor from each leg to earth [F], 0 without one."""
    fitted = design.protection.filter if design.protection else None
    return fitted.capacitance.value if fitted is not None else 0.0


def filter_notes(design: Design) -> tuple[str, ...]:
    """Return what the fitted filter is counted in, for the page."""
    farads = filter_capacitance(design)
    if farads <= 0:
        return ()
    words = f"With the gap missing the filter's {farads_words(farads)} from each leg to earth count, as written"
    return (f"{words}; open, loaded and shorted figures are without the filter.",)


def scanned(
    w: Wired,
    design: Design,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    result: Characteristics,
    parts: Mapping[str, PartResult],
    progress: Progress,
) -> GapMissing:
    """Return the scan, the fitted filter's capacitors in place, with the own tank at both ends of its band too."""
    tank, farads = tank_estimate(design), filter_capacitance(design)
    own = tank.value if tank else None
    resonant = resonant_capacitance(result.open.voltage, result.short.current, mains.frequency)
    named = () if tank is None else (tank.low, tank.value, tank.high)
    network = build(w.arrangement, circuits, mains, filter_capacitance=farads)
    limit, where, mark = weakest_limit(w, limits_of(w, design.site.mains_voltage.value))
    rows = {p.capacitance: _point(p) for p in scan(network, resonant, named, progress)}
    worst = max((r for r in rows.values() if r.exact), key=lambda r: r.peak, default=None)
    within = [r for r in rows.values() if tank is not None and r.exact and tank.low <= r.capacitance <= tank.high]
    tops = [rows.get(own) if own else None, worst, max(within, key=lambda r: r.peak, default=None)]
    for point in {p.capacitance: p for p in tops if p is not None and p.exact}.values():
        half = gap_missing_spread(w.arrangement, circuits, mains, parts, w.instances, point.capacitance, farads)
        rows[point.capacitance] = _banded(point, half)
    return GapMissing(
        resonant,
        tuple(rows.values()),
        rows.get(own) if own else None,
        limit,
        where,
        mark,
        rows[worst.capacitance] if worst else None,
    )


def highest_missing(design: Design, made: SupplyResult) -> HighestMissing | None:
    """Return the highest that the own tank can reach with its gap missing; None where that of the stated tank is not
    known. Every solved point of the scan within the band of the tank's capacitance counts.

    A point whose own band was not worked out takes the relative width of the stated tank's.
    """
    missing, tank = made.gap_missing, tank_estimate(design)
    own = missing.own if missing else None
    if missing is None or own is None or not own.exact:
        return None
    low, high = (tank.low, tank.high) if tank is not None else (own.capacitance, own.capacitance)
    points = [own, *(p for p in missing.points if p.exact and low <= p.capacitance <= high)]
    share = own.peak_band[1] / own.peak if own.peak_band and own.peak > 0 else 1.0
    ends: dict[str, float] = {}
    for p in points:
        for joint, peak in p.ends_peak.items():
            upper = p.ends_band[joint][1] if joint in p.ends_band else peak * share
            ends[joint] = max(ends.get(joint, 0.0), upper)
    across = [(p.peak_band[1] if p.peak_band else p.peak * share, p.capacitance) for p in points]
    peak, where = max(across)
    return HighestMissing(peak, ends, own.peak, own.ends_peak, where, low, high)


def unsolved_band(design: Design, made: SupplyResult) -> tuple[str, ...]:
    """Return what has no answer of the own tank with its gap missing: the stated tank, or an end of its band."""
    missing, tank = made.gap_missing, tank_estimate(design)
    if missing is None:
        return ()
    if missing.own is None or not missing.own.exact:
        return ("tank attached, gap missing",)
    ends = {} if tank is None else {tank.low: "smallest", tank.high: "largest"}
    lost = [words for p in missing.points if not p.exact for c, words in ends.items() if p.capacitance == c]
    return tuple(f"tank attached, gap missing, {words} tank of its tolerance" for words in lost)


def _banded(point: GapMissingPoint, half: Mapping[str, float]) -> GapMissingPoint:
    """Return the point with its 95 % bands, which end at nothing below zero."""

    def band(value: float, width: float) -> tuple[float, float]:
        return max(0.0, value - width), value + width

    ends = {j: band(v, half[j]) for j, v in point.ends_peak.items() if j in half}
    return replace(point, peak_band=band(point.peak, half[""]) if "" in half else None, ends_band=ends)


def _point(p: Missing) -> GapMissingPoint:
    if p.peak is None:
        return GapMissingPoint(p.capacitance, float("nan"), {}, (), exact=False)
    return GapMissingPoint(p.capacitance, p.peak, p.ends, p.peaks)


__all__ = ["HighestMissing", "filter_capacitance", "filter_notes", "highest_missing", "scanned", "unsolved_band"]
