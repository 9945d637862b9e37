"""The sheet of spacings and stress: each joint, core and winding end, with the volts that stand there."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.results import SupplyResult
from coilwright.report.blocks import Block, Cell, Column, Figure, Grid, Heading
from coilwright.report.book.marks import mark_of
from coilwright.report.plots.stress import draw_stress_ladder
from coilwright.report.quantities import figures, fixed


def spacing_blocks(result: SupplyResult) -> Iterator[Block]:
    """Yield the sheet of spacings: each joint, core and winding end, with the volts that stand there."""
    yield Heading("Spacings and stress")
    yield _joints(result)
    yield Figure(
        "stress ladder",
        "Stress ladder: volts of every winding end and primary to its own core (heavy bar) against its "
        "insulation limit (bracket; dashed where the limit is pencil). An inner end has no insulation to spend: its "
        "bracket is flat.",
        "Vertical scale of volts to core for every winding end, with its insulation limit as a bracket.",
        lambda axes: draw_stress_ladder(result, axes),
        0.078,
    )
    yield _windings(result)
    yield _cores(result)


def _joints(result: SupplyResult) -> Grid:
    clearances = {c.joint: c for c in result.clearances}
    names = list(dict.fromkeys([*result.joints, *clearances]))
    bases = list(dict.fromkeys(f"{c.basis}; factor {figures(c.factor)}" for c in result.clearances))
    rows = []
    for name in names:
        joint, space = result.joints.get(name), clearances.get(name)
        mark = mark_of(result, f"joints.{name}.to_earth_peak", f"joints.{name}.to_earth")
        peak = joint.to_earth_peak if joint else space.peak if space else None
        rows.append(
            (
                Cell(name, strong=bool(joint and joint.high)),
                Cell("high" if joint and joint.high else "low" if joint else "-"),
                Cell(fixed(joint.to_earth if joint else None, 1e3), mark),
                Cell(fixed(peak, 1e3), mark),
                Cell(fixed(space.peak, 1e3) if space else "-", mark),
                Cell(fixed(space.clearance, 1e-3) if space else "-", mark),
                Cell(fixed(space.creepage, 1e-3) if space else "-", mark),
                Cell(figures(space.factor) if space else "-"),
                Cell(
                    "abcdefghijklmnopqrstuvwxyz"[bases.index(f"{space.basis}; factor {figures(space.factor)}") % 26]
                    if space
                    else "-"
                ),
            )
        )
    columns = (
        Column("joint", share=1),
        Column("class"),
        Column("to earth", "kV rms", "right"),
        Column("to earth", "kV peak", "right"),
        Column("spaced for", "kV peak", "right"),
        Column("clearance", "mm", "right"),
        Column("creepage", "mm", "right"),
        Column("factor", "×", "right"),
        Column("basis"),
    )
    notes = tuple(f"{'abcdefghijklmnopqrstuvwxyz'[i % 26]}  {basis}" for i, basis in enumerate(bases))
    return Grid(
        "joints",
        "Every joint: volts, and the spacing that they need to earth",
        columns,
        tuple(rows),
        (
            *notes,
            "Volts are the largest of open, best power and short-circuited. Spacings are least distances, not targets.",
        ),
    )


def _windings(result: SupplyResult) -> Grid:
    columns = (
        Column("winding", share=1),
        Column("inner end"),
        Column("start", "kV rms", "right"),
        Column("start", "kV peak", "right"),
        Column("limit", "kV rms", "right"),
        Column("finish", "kV rms", "right"),
        Column("finish", "kV peak", "right"),
        Column("limit", "kV rms", "right"),
    )
    rows = []
    for key, w in result.windings.items():
        mark = mark_of(result, f"windings.{key}.start_to_core", f"windings.{key}")
        rows.append(
            (
                Cell(key),
                Cell(w.inner_end),
                Cell(fixed(w.start.to_core, 1e3), mark),
                Cell(fixed(w.start.to_core_peak, 1e3), mark),
                Cell(fixed(w.start_limit, 1e3), w.limit_mark),
                Cell(fixed(w.finish.to_core, 1e3), mark),
                Cell(fixed(w.finish.to_core_peak, 1e3), mark),
                Cell(fixed(w.finish_limit, 1e3), w.limit_mark),
            )
        )
    return Grid("windings", "High windings against their own core", columns, tuple(rows))


def _cores(result: SupplyResult) -> Grid:
    columns = (
        Column("core of", share=1),
        Column("to earth", "V rms", "right"),
        Column("to earth", "V peak", "right"),
        Column("primary to core", "V rms", "right"),
        Column("limit", "V rms", "right"),
        Column("high to primary", "V rms", "right"),
    )
    rows = []
    for key, c in result.cores.items():
        mark = mark_of(result, f"cores.{key}.voltage_to_earth", f"cores.{key}")
        rows.append(
            (
                Cell(key),
                Cell(fixed(c.voltage_to_earth, 1), mark),
                Cell(fixed(c.voltage_to_earth_peak, 1), mark),
                Cell(fixed(c.primary_to_core, 1), mark),
                Cell(fixed(c.limit_primary_to_core, 1), c.limit_mark),
                Cell(fixed(c.high_to_primary, 1), mark),
            )
        )
    return Grid("cores", "Cores", columns, tuple(rows))
