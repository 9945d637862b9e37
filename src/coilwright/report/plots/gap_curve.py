"""Cold breakdown of the spark gap against its spacing, with its band, its setting and what bounds it."""

from __future__ import annotations

from matplotlib.axes import Axes

from coilwright.analyses.tank_results import GapResult
from coilwright.model.known import Estimate
from coilwright.report.plots.gap_missing import labels_beside
from coilwright.report.plots.style import FAINT, INK, SOFT, axis_scale, line_of, says, word_beside
from coilwright.report.quantities import quantity

UNKNOWN = "Breakdown over spacing: not known.\nThe project states no spark gap."


def draw_gap_curve(gap: GapResult | None, axes: Axes) -> None:
    """Draw volts over the spacing of each segment, the 95 % band grey, the gap's own point, and the largest setting."""
    if gap is None or not gap.curve:
        says(axes, UNKNOWN)
        return
    points = sorted(gap.curve, key=lambda p: p.spacing)
    volt, prefix = axis_scale(points[-1].peak)
    length = [p.spacing * 1e3 for p in points]
    axes.fill_between(
        length, [p.low / volt for p in points], [p.high / volt for p in points], color=FAINT, linewidth=0, gid="band"
    )
    axes.plot(length, [p.peak / volt for p in points], color=INK, linestyle="--", gid="cold")
    labels = [(points[-1].peak / volt, "breaks down, cold\n(grey: 95 %)", INK)]
    largest = gap.largest_setting
    if largest is not None and largest.value <= points[-1].high:
        axes.axhline(largest.value / volt, color=INK, linewidth=1.6, linestyle=line_of(largest.mark), gid="largest")
        words = f"largest setting\n{quantity(largest.value, 'V')} peak, {largest.mark}"
        labels.append((largest.value / volt, words, INK))
    _own(gap, axes, volt)
    _widest(gap.widest_that_fires, gap.segments, axes, length[-1])
    axes.set_xlim(0.0, length[-1])
    axes.set_ylim(0.0, 1.05 * points[-1].high / volt)
    labels_beside(axes, labels)
    axes.set_xlabel("spacing, mm" if gap.segments == 1 else f"spacing of each of {gap.segments} gaps, mm")
    axes.set_ylabel(f"{prefix}V peak across")
    axes.grid(visible=True)


def _own(gap: GapResult, axes: Axes, volt: float) -> None:
    each, firing = gap.spacing_each, gap.breakdown_peak
    if each is None or firing is None:
        return
    half = [[(firing.value - firing.low) / volt], [(firing.high - firing.value) / volt]]
    container = axes.errorbar([each.value * 1e3], [firing.value / volt], yerr=half, color=INK, marker="D", capsize=2)
    container.lines[0].set_gid("own")


def _widest(widest: Estimate | None, segments: int, axes: Axes, last: float) -> None:
    """Mark the widest spacing that this supply fires."""
    at = None if widest is None else widest.value / segments * 1e3
    if at is None or at > last:
        return
    axes.axvline(at, color=SOFT, linewidth=0.8, linestyle=":", gid="widest")
    word_beside(axes, at, "widest that fires")


__all__ = ["draw_gap_curve"]
