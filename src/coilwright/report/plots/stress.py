"""The stress ladder: volts of every winding end to its own core, against what its insulation was built for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from matplotlib.axes import Axes

from coilwright.analyses.results import EndStress, SupplyResult
from coilwright.model.known import Mark
from coilwright.protection.rules_stress import ZERO_VOLTS
from coilwright.report.plots.style import INK, PAPER, SOFT, axis_scale, line_of, says
from coilwright.report.quantities import quantity


@dataclass(frozen=True)
class Rung:
    """One place on the ladder: volts rms to the core and the limit there (V)."""

    label: str
    volts: float
    limit: float
    mark: Mark
    above: bool


def rungs(result: SupplyResult) -> Iterator[Rung]:
    """Yield each end of every high winding and each primary, in the order of the result."""
    for key, winding in result.windings.items():
        for name, end, limit in (
            ("start", winding.start, winding.start_limit),
            ("finish", winding.finish, winding.finish_limit),
        ):
            inner = ", inner" if winding.inner_end == name else ""
            yield Rung(f"{key}\n{name}{inner}", end.to_core, limit, winding.limit_mark, _above(end, limit))
    for key, core in result.cores.items():
        yield Rung(
            f"{key}\nprimary",
            core.primary_to_core,
            core.limit_primary_to_core,
            core.limit_mark,
            core.primary_to_core > core.limit_primary_to_core,
        )


def _above(end: EndStress, limit: float) -> bool:
    """Judge as the tags do: by rms and by peak, and the volt that a lead drops counts as none."""
    return max(end.to_core, end.to_core_peak / math.sqrt(2)) > max(limit, ZERO_VOLTS)


def draw_stress_ladder(result: SupplyResult, axes: Axes) -> None:
    """Draw a bar at the volts of every rung and a bracket from zero to its limit, dashed where the limit is pencil."""
    ladder = [r for r in rungs(result) if math.isfinite(r.volts) and math.isfinite(r.limit)]
    if not ladder:
        says(axes, "No winding in this supply to draw a ladder for.")
        return
    volt, prefix = axis_scale(max(max(r.volts, r.limit) for r in ladder))
    for place, rung in enumerate(ladder):
        volts, limit, style = rung.volts / volt, rung.limit / volt, line_of(rung.mark)
        axes.plot(
            [place - 0.3, place - 0.36, place - 0.36, place - 0.3],
            [limit, limit, 0.0, 0.0],
            color=INK,
            linewidth=0.9,
            linestyle=style,
            clip_on=False,
            gid=f"limit {rung.label}",
        )
        axes.plot([place - 0.36, place + 0.3], [limit, limit], color=INK, linewidth=0.9, linestyle=style, clip_on=False)
        axes.plot(
            [place - 0.22, place + 0.28],
            [volts, volts],
            color=INK,
            linewidth=3.0,
            solid_capstyle="butt",
            clip_on=False,
            gid=f"volts {rung.label}",
            zorder=3,
        )
        axes.plot([place + 0.03] * 2, [0.0, volts], color=SOFT, linewidth=0.5, zorder=2)
        words = (str(quantity(rung.volts, "V")) if rung.volts >= ZERO_VOLTS else "< 1 V") + (
            ", ABOVE" if rung.above else ""
        )
        axes.annotate(
            words,
            (place + 0.03, volts),
            textcoords="offset points",
            xytext=(0, 4),
            ha="center",
            fontsize=7,
            weight="bold" if rung.above else "normal",
            bbox=PAPER,
            zorder=4,
            parse_math=False,
        )
    axes.set_xticks(range(len(ladder)))
    tilted = len(ladder) > 8
    axes.set_xticklabels([r.label for r in ladder], fontsize=7, parse_math=False, rotation=90 if tilted else 0)
    axes.tick_params(axis="x", length=0)
    axes.set_xlim(-0.6, len(ladder) - 0.4)
    axes.set_ylim(bottom=0.0)
    axes.margins(y=0.12)
    axes.set_ylabel(f"to its own core, {prefix}V rms")
    axes.grid(visible=True, axis="y")
