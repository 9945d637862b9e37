"""Peak volts with the gap missing against tank capacitance, the ratings, and where every one of them holds."""

from __future__ import annotations

from math import isfinite

from matplotlib.axes import Axes

from coilwright.analyses.tank_results import RatedPlace, SizeRow, TankResult
from coilwright.report.plots.gap_missing import capacitance_axis, labels_beside
from coilwright.report.plots.style import INK, SOFT, axis_scale, line_of, says, word_beside
from coilwright.report.quantities import quantity

UNKNOWN = "Range of the tank: not known.\nThe scan with the gap missing has no converged point."
_WIDEST = 30


def draw_tank_range(result: TankResult, axes: Axes) -> None:
    """Draw the peak across the output and of the higher end to earth, the weakest rating of each, and hatch the
    capacitances at which every rated place holds.
    """
    places = result.size.places
    rows = result.size.rows
    if not rows:
        says(axes, UNKNOWN)
        return
    volt, prefix = axis_scale(max(r.missing_peak for r in rows))
    tanks = [r.capacitance * 1e9 for r in rows]
    _hatch(result, axes)
    axes.plot(tanks, [r.missing_peak / volt for r in rows], color=INK, marker=".", markersize=3, gid="across")
    ends = [_end(r) / volt for r in rows]
    axes.plot(tanks, ends, color=SOFT, linestyle="-.", marker=".", markersize=3, gid="end")
    labels = [(rows[-1].missing_peak / volt, "across the output", INK), (ends[-1], "higher end to earth", SOFT)]
    for gid, weakest in _weakest(places):
        axes.axhline(
            weakest.limit_peak / volt, color=INK, linewidth=1.6, linestyle=line_of(weakest.mark), zorder=1, gid=gid
        )
        labels.append((weakest.limit_peak / volt, _rating(gid, weakest), INK))
    capacitance_axis(axes)
    highest = max([r.missing_peak for r in rows] + [w.limit_peak for _, w in _weakest(places)])
    axes.set_ylim(0.0, 1.08 * highest / volt)
    _marks(result, axes, tanks)
    labels_beside(axes, labels)
    axes.set_xlabel("tank capacitance, nF")
    axes.set_ylabel(f"gap missing, {prefix}V peak")
    axes.grid(visible=True)


def _hatch(result: TankResult, axes: Axes) -> None:
    """Hatch each range in which every rated place holds; one point alone is a line."""
    for r in result.size.ranges:
        low, high = r.low * 1e9, r.high * 1e9
        if high > low:
            axes.axvspan(
                low, high, facecolor="0.94", edgecolor="0.6", hatch="////", linewidth=0.4, zorder=0, gid="within"
            )
        else:
            axes.axvline(low, color="0.6", linewidth=2.5, zorder=0, gid="within")


def _end(row: SizeRow) -> float:
    return max(row.ends_missing_peak.values(), default=row.missing_peak)


def _weakest(places: tuple[RatedPlace, ...]) -> list[tuple[str, RatedPlace]]:
    """Return the weakest place that counts to earth and the weakest that counts across, as far as there are any."""
    kinds = (("rating to earth", False), ("rating across", True))
    found = [(gid, [p for p in places if p.across == across and isfinite(p.limit_peak)]) for gid, across in kinds]
    return [(gid, min(some, key=lambda p: p.limit_peak)) for gid, some in found if some]


def _rating(gid: str, place: RatedPlace) -> str:
    where = place.where if len(place.where) <= _WIDEST else f"{place.where[:_WIDEST]}…"
    return f"weakest {gid}\n{quantity(place.limit_peak, 'V')} peak, {place.mark}:\n{where}"


def _marks(result: TankResult, axes: Axes, tanks: list[float]) -> None:
    """Mark the resonant value and the own tank, where they lie within the scan."""
    lines = [(result.size.resonant_capacitance * 1e9, "resonant with the mains", ":", "resonant")]
    own = result.size.capacitance
    if own is not None:
        lines.append((own.value * 1e9, f"own tank {quantity(own.value, 'F')}", "-", "own tank"))
    for at, words, style, gid in lines:
        if not (isfinite(at) and min(tanks) <= at <= max(tanks)):
            continue
        axes.axvline(at, color=SOFT, linewidth=0.8, linestyle=style, zorder=2, gid=gid)
        word_beside(axes, at, words)
    missing = result.supply.own_missing
    if missing is not None:
        scale, _ = axis_scale(max(r.missing_peak for r in result.size.rows))
        axes.plot(
            [missing.capacitance * 1e9],
            [missing.peak / scale],
            marker="D",
            color=INK,
            linestyle="none",
            zorder=5,
            gid="own peak",
        )


__all__ = ["draw_tank_range"]
