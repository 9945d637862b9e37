"""Which supplies can be made of the shelf: ranked, the rest refused with the reason in words."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from coilwright.analyses.marks import mains_mark, output_mark
from coilwright.analyses.results import PlanResult, RankedRow, RefusedRow, ShelfResult
from coilwright.model.design import Arrangement, Design
from coilwright.planner.candidate import arrangement_of, name_of
from coilwright.planner.intake import aim_of, feeds_of, take_in
from coilwright.planner.nearest import nearest_words
from coilwright.planner.screening import DEFAULT_EFFORT, Effort, Wanted
from coilwright.planner.search import Found, Row, search
from coilwright.planner.solve import Context, settled
from coilwright.planner.tags import row_tags
from coilwright.planner.words import refused_words, why
from coilwright.supply.build import mains_circuit
from coilwright.supply.circuits import PartCircuit

Progress = Callable[[float, str], None]


def plan(
    design: Design,
    *,
    shelf: ShelfResult | None = None,
    progress: Progress | None = None,
    effort: Effort = DEFAULT_EFFORT,
) -> PlanResult:
    """Return the supplies that the shelf can make, best first, and the refused ones grouped by reason.

    Parameters
    ----------
    design
        The project: shelf, goal and site.
    shelf
        The shelf result, if it is at hand already; identified anew otherwise.
    progress
        Called with a fraction 0..1 and what is being done.
    effort
        How hard to look; the default suits a shelf of up to eighteen parts in a few seconds.
    """
    if shelf is None:
        from coilwright.analyses.shelf import shelf as identify

        shelf = identify(design)
    begin = time.perf_counter()
    circuits: dict[str, PartCircuit] = {
        k: p.circuit for k, p in shelf.parts.items() if p.circuit is not None and p.usable
    }
    why_not = {k: p.why_not or "its readings give no usable circuit" for k, p in shelf.parts.items() if not p.usable}
    found, context = run(design, circuits, why_not, effort, progress)
    ranked, arrangements = _ranked(found, context, shelf)
    nearest = "" if ranked else nearest_words(found, design.site.breaker.value)
    refused = tuple(
        RefusedRow(name, reasons, names, tag)
        for name, reasons, names, tag in refused_words(found.refusals, design.site.breaker.value)
    )
    return PlanResult(ranked, refused, arrangements, found.considered, time.perf_counter() - begin, nearest, shelf.tags)


def run(
    design: Design,
    circuits: dict[str, PartCircuit],
    why_not: dict[str, str],
    effort: Effort = DEFAULT_EFFORT,
    progress: Progress | None = None,
) -> tuple[Found, Context]:
    """Return what the planner finds with the given circuits, and the context it solved in."""
    inventory = take_in(design, circuits, why_not)
    wanted = Wanted.of(inventory, design.goal.use)
    context = Context(
        aim_of(design), mains_circuit(design.site), inventory.circuits, inventory.correctors, wanted.correctors
    )
    return search(inventory, context, feeds_of(design.site, inventory), wanted, effort, progress), context


def _ranked(
    found: Found, context: Context, shelf: ShelfResult
) -> tuple[tuple[RankedRow, ...], tuple[Arrangement, ...]]:
    rows = [replace(row, best=settled(row.best, context)) for row in found.rows]
    rows.sort(key=lambda row: row.best.score)
    arrangements = [arrangement_of(row.best.candidate) for row in rows]
    ranked = []
    for index, row in enumerate(rows):
        ranked.append(_row(row, index, context, shelf))
        arrangements += [arrangement_of(t.candidate) for t in row.twins]
    return tuple(ranked), tuple(arrangements)


def _row(row: Row, index: int, context: Context, shelf: ShelfResult) -> RankedRow:
    s = row.best
    cores = {k: v.core_to_earth for k, v in s.stresses.items()}
    return RankedRow(
        name_of(s.candidate),
        s.score,
        s.open_voltage,
        s.short_current,
        s.mains_current,
        s.mains_corrected,
        s.apparent_power,
        s.power_factor,
        s.candidate.part_ids,
        cores,
        why(s, context),
        tuple(name_of(t.candidate) for t in row.twins),
        index,
        row_tags(s),
        output_mark(shelf.parts, s.candidate.part_ids),
        mains_mark(shelf.parts, s.candidate.part_ids),
    )
