"""Volts against milliamperes, from open to short-circuited."""

from __future__ import annotations

import math

from matplotlib.axes import Axes

from coilwright.analyses.results import OperatingPoint, SupplyResult
from coilwright.report.plots.style import FAINT, INK, PAPER, SOFT, axis_scale
from coilwright.report.quantities import quantity

LOAD_LINES = 3
APART = 1.6  # ratio to the load of best power below which another line would lie on its label


def draw_droop(result: SupplyResult, axes: Axes) -> None:
    """Draw the droop curve, its two ends with their bands, the best-power point and load lines. Rms values."""
    ends = (result.open_circuit, result.short_circuit)
    inner = [p for p in result.droop if math.isfinite(p.voltage) and p not in ends]
    points = sorted((*inner, *ends), key=lambda p: (p.current, -p.voltage))
    volt, volt_prefix = axis_scale(max(p.voltage for p in points))
    for point in _loads(points, result.best_power):
        axes.plot(
            [0.0, point.current * 1e3],
            [0.0, point.voltage / volt],
            color=FAINT,
            linewidth=0.7,
            zorder=1,
            gid="load line",
        )
        axes.annotate(
            str(quantity(point.load_resistance, "ohm")),
            (point.current * 1e3, point.voltage / volt),
            textcoords="offset points",
            xytext=(5, 4),
            fontsize=7,
            color=SOFT,
            parse_math=False,
        )
    axes.plot([p.current * 1e3 for p in points], [p.voltage / volt for p in points], color=INK, gid="droop", zorder=3)
    _end(axes, result, "open_circuit.voltage", volt, upright=True)
    _end(axes, result, "short_circuit.current", 1e-3, upright=False)
    best = result.best_power
    axes.plot(
        [best.current * 1e3], [best.voltage / volt], marker="D", color=INK, linestyle="none", gid="best power", zorder=4
    )
    axes.annotate(
        f"best power {quantity(best.power, 'W')}",
        (best.current * 1e3, best.voltage / volt),
        fontsize=8,
        textcoords="offset points",
        xytext=(-8, -9),
        ha="right",
        va="top",
        bbox=PAPER,
        zorder=2,
        parse_math=False,
    )
    axes.set_xlabel("output current, mA rms")
    axes.set_ylabel(f"output voltage, {volt_prefix}V rms")
    axes.margins(0.16, 0.1)
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.grid(visible=True)


def _end(axes: Axes, result: SupplyResult, key: str, scale: float, *, upright: bool) -> None:
    """Draw one end of the curve as an open ring, with its band as a bar."""
    value = result.open_circuit.voltage if upright else result.short_circuit.current
    band = result.bands.get(key)
    if band is not None and all(math.isfinite(b) for b in band):
        low, high = (b / scale for b in band)
        across, along = ([0.0, 0.0], [low, high]) if upright else ([low, high], [0.0, 0.0])
        axes.plot(
            across, along, color=INK, linewidth=3.2, alpha=0.35, solid_capstyle="butt", clip_on=False, gid=f"band {key}"
        )
    here = (0.0, value / scale) if upright else (value / scale, 0.0)
    axes.plot(
        [here[0]],
        [here[1]],
        marker="o",
        markerfacecolor="white",
        color=INK,
        linestyle="none",
        clip_on=False,
        zorder=5,
        gid=key,
    )
    words = f"open {quantity(value, 'V')}" if upright else f"short {quantity(value, 'A')}"
    axes.annotate(
        words,
        here,
        textcoords="offset points",
        xytext=(7, 4) if upright else (8, 7),
        fontsize=8,
        annotation_clip=False,
        parse_math=False,
    )


def _loads(points: list[OperatingPoint], best: OperatingPoint) -> list[OperatingPoint]:
    """Choose the best-power point and a few points spread over the curve that have a load to name."""
    own = best.load_resistance
    named = [p for p in points if p.load_resistance and not (own and own / APART < p.load_resistance < own * APART)]
    step = max(len(named) // (LOAD_LINES + 1), 1)
    chosen = named[step::step][:LOAD_LINES]
    return [*chosen, best] if own else chosen
