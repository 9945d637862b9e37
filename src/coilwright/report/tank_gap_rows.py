"""What is said of the spark gap, once for every medium: labels, figures and their order."""

from __future__ import annotations

from coilwright.analyses.tank_results import GapCurvePoint, GapResult
from coilwright.model.known import Estimate
from coilwright.report.quantities import figures, quantity

GapRow = tuple[str, Estimate | None]
#: Points of the curve that are printed: every second.
STEP = 2


def gap_title(gap: GapResult) -> str:
    """Return the gap in one line."""
    across = "" if gap.diameter is None else f" of {quantity(gap.diameter, 'm')}"
    row = "one gap" if gap.segments == 1 else f"{gap.segments} gaps in series"
    return f"Spark gap: {gap.kind}, {gap.form}{across}, {row}"


def gap_rows(gap: GapResult) -> tuple[GapRow, ...]:
    """Return the estimates in the order in which they are printed."""
    rows: list[GapRow] = [
        ("breaks down at, peak across", gap.breakdown_peak),
        ("spacing" if gap.segments == 1 else "spacing, all together", gap.spacing),
    ]
    if gap.segments > 1:
        rows.append(("spacing of each", gap.spacing_each))
    return (
        *rows,
        ("largest setting, peak across", gap.largest_setting),
        ("spacing then", gap.largest_spacing),
        ("widest that fires", gap.widest_that_fires),
        ("fires again when hot, peak", gap.hot_peak),
        ("factor on a fast ring", gap.high_frequency_factor),
    )


def fires_words(gap: GapResult) -> str:
    """Return whether this supply fires the gap, in a word."""
    return {True: "yes", False: "NO", None: "not known"}[gap.fires]


def plain_rows(gap: GapResult) -> tuple[tuple[str, str, str], ...]:
    """Return label, text and what it is, of the numbers without a band."""
    return (
        ("scatter, one sigma", f"{figures(100 * gap.spread)} %", "clean and cold; a hot, dusty gap 10 % (assumed)"),
        ("air density ratio", f"{gap.air_density_ratio:.3f}", "over 20 degC, 101.3 kPa"),
        ("moisture", f"{figures(1e3 * gap.humidity)} g/m3", "absolute; 8.5 g/m3 is the reference"),
    )


def curve_rows(gap: GapResult) -> tuple[GapCurvePoint, ...]:
    """Return the points of the curve that are printed, from the shortest to the longest."""
    return tuple(sorted(gap.curve, key=lambda p: p.spacing)[::STEP])


__all__ = ["curve_rows", "fires_words", "gap_rows", "gap_title", "plain_rows"]
