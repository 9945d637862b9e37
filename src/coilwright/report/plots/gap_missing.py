"""Tank attached, gap missing: how high the output can ring, against tank capacitance."""

from __future__ import annotations

import math

from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from coilwright.analyses.results import GapMissing, GapMissingPoint, SupplyResult
from coilwright.report.plots.style import INK, SOFT, axis_scale, line_of, says, word_beside
from coilwright.report.quantities import quantity

_LINE = 0.07  # height of a line of words over that of the axes
_WIDEST = 26  # letters of a place's name beside the curve
UNKNOWN = "Peak with the tank attached and the gap missing: not known.\nIt has not been computed for this supply."


def draw_gap_missing(result: SupplyResult, axes: Axes) -> None:
    """Draw peak volts across the output and of the higher end to earth, the weakest rating to earth, and the own tank.

    Only converged answers are drawn as numbers; a capacitance without one has a cross on the axis.
    """
    scan = result.gap_missing
    if scan is None:
        says(axes, UNKNOWN)
        return
    known = sorted((p for p in scan.points if answered(p)), key=lambda p: p.capacitance)
    missing = [p for p in scan.points if not answered(p)]
    if not known:
        says(axes, "Peak with the tank attached and the gap missing: not known.\nThe search gave no converged answer.")
        return
    volt, prefix = axis_scale(max(p.peak for p in known))
    _limit(axes, scan, volt)
    capacitances = [p.capacitance * 1e9 for p in known]
    axes.plot(capacitances, [p.peak / volt for p in known], color=INK, marker=".", markersize=3, gid="across")
    axes.plot(
        capacitances, [_end(p) / volt for p in known], color=SOFT, linestyle="-.", marker=".", markersize=3, gid="end"
    )
    others = [(p.capacitance * 1e9, s / volt) for p in known for s in p.states if math.isfinite(s) and s < p.peak]
    axes.plot(
        [c for c, _ in others],
        [v for _, v in others],
        color=SOFT,
        marker="o",
        markerfacecolor="none",
        markersize=3,
        linestyle="none",
        gid="other states",
    )
    axes.plot(
        [p.capacitance * 1e9 for p in missing],
        [0.0] * len(missing),
        color=INK,
        marker="x",
        linestyle="none",
        clip_on=False,
        gid="no answer",
    )
    capacitance_axis(axes)
    highest = max(scan.limit_peak, scan.own.peak if answered(scan.own) and scan.own else 0.0, *(p.peak for p in known))
    axes.set_ylim(0.0, 1.08 * highest / volt)
    labels_beside(
        axes,
        [
            (known[-1].peak / volt, "across the output", INK),
            (_end(known[-1]) / volt, "higher end to earth", SOFT),
            (scan.limit_peak / volt, _limit_words(scan), INK),
        ],
    )
    _own(axes, scan, volt)
    at = scan.resonant_capacitance * 1e9
    axes.axvline(at, color=SOFT, linewidth=0.7, linestyle=":", zorder=0, gid="resonant with the mains")
    word_beside(axes, at, "resonant with the mains")
    axes.set_xlabel("tank capacitance, nF" + (" (a cross on the axis: no converged answer)" if missing else ""))
    axes.set_ylabel(f"gap missing, {prefix}V peak")
    axes.grid(visible=True)


def answered(point: GapMissingPoint | None) -> bool:
    """Return whether the point holds a converged answer, hence a number that may be printed."""
    return point is not None and point.exact and math.isfinite(point.peak)


def _end(point: GapMissingPoint) -> float:
    return max(point.ends_peak.values(), default=math.nan)


def _limit(axes: Axes, scan: GapMissing, volt: float) -> None:
    axes.axhline(
        scan.limit_peak / volt, color=INK, linewidth=1.6, linestyle=line_of(scan.limit_mark), gid="weakest rating"
    )


def _limit_words(scan: GapMissing) -> str:
    where = scan.limit_where if len(scan.limit_where) <= _WIDEST else f"{scan.limit_where[:_WIDEST]}…"
    return f"weakest rating to earth\n{quantity(scan.limit_peak, 'V')} peak, {scan.limit_mark}:\n{where}"


def _own(axes: Axes, scan: GapMissing, volt: float) -> None:
    own = scan.own
    if own is None:
        return
    words = f"own tank {quantity(own.capacitance, 'F')}"
    if answered(own):
        axes.plot(
            [own.capacitance * 1e9] * 2,
            [own.peak / volt, _end(own) / volt],
            marker="D",
            color=INK,
            linestyle="none",
            gid="own tank",
            zorder=5,
        )
        words += f": {quantity(own.peak, 'V')} peak"
    else:
        words += ": not known"
    axes.axvline(own.capacitance * 1e9, color=SOFT, linewidth=0.7, zorder=0, gid="own tank line")
    axes.annotate(
        words,
        (own.capacitance * 1e9, 1.0),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        xytext=(0, 3),
        fontsize=8,
        ha="center",
        va="bottom",
        parse_math=False,
    )


def capacitance_axis(axes: Axes) -> None:
    """Make the axis of tank capacitance logarithmic, with plain numbers at 1, 2, 5 of each decade."""
    axes.set_xscale("log")
    axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_formatter(NullFormatter())


def labels_beside(axes: Axes, labels: list[tuple[float, str, str]]) -> None:
    """Write the labels to the right of the axes, each at its height as far as the one below leaves room."""
    top = axes.get_ylim()[1]
    floor = 0.0
    for height, words, color in sorted(label for label in labels if math.isfinite(label[0])):
        tall = _LINE * (words.count("\n") + 1)
        middle = max(height / top, floor + tall / 2)
        floor = middle + tall / 2
        axes.annotate(
            words,
            (1.0, middle),
            xycoords="axes fraction",
            textcoords="offset points",
            xytext=(5, 0),
            fontsize=7.5,
            va="center",
            color=color,
            annotation_clip=False,
            parse_math=False,
        )
