"""The search: arrangements by construction, cut by structure, estimated, solved, ranked, and grouped."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from coilwright.planner.ballast import catalogue
from coilwright.planner.candidate import Candidate, make
from coilwright.planner.inventory import Inventory, Unit
from coilwright.planner.refusals import Refusals
from coilwright.planner.refuse import LEAD_DROP, LEAST_OF_PLATE, MOST_FLUX, MOST_OF_PLATE, Reason, structural
from coilwright.planner.screening import DEFAULT_EFFORT, Block, Effort, Pick, Shelf, Wanted, screen
from coilwright.planner.solve import Context, Solved, solve_exact, solve_fundamental
from coilwright.planner.stages import STAGES, Feed, High, Stage, most_units, plain, stacks, strings, usual_series

Progress = Callable[[float, str], None]
#: Near twins that one row names at most.
TWINS = 6
#: Twins: relative difference of open volts and short current, of one stage with another ballast, and of alike
#: structures.
SAME_STAGE, SAME_STRUCTURE = (0.03, 0.10), (0.015, 0.03)
#: Best candidates that are tried again with other members of their classes.
REFINED = 6


@dataclass(frozen=True)
class Row:
    """One ranked supply with its near twins."""

    best: Solved
    twins: tuple[Solved, ...] = ()


@dataclass
class Found:
    """What a search found. ``solved`` and ``blocks`` serve the search for what is nearest when nothing works."""

    rows: list[Row]
    refusals: Refusals
    considered: int
    shelf: Shelf
    solved: list[Solved] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)


def search(
    inventory: Inventory,
    context: Context,
    feeds: tuple[Feed, ...],
    wanted: Wanted,
    effort: Effort = DEFAULT_EFFORT,
    progress: Progress | None = None,
) -> Found:
    """Return the ranked supplies of a shelf and what was refused."""
    say = progress or (lambda _share, _words: None)
    say(0.0, "drawing up arrangements")
    refusals = Refusals(inventory, feeds)
    shelf = Shelf(inventory, feeds, catalogue(inventory.element_classes, context.omega), context, wanted, effort)
    refusals.add_structural()
    if wanted.missing:
        refusals.note("not-used", wanted.missing, "the goal asks to use it, but it cannot be used")
    screened = screen(_stages(shelf, refusals), shelf, refusals, say)
    say(0.4, f"solving {len(screened.picks)} of {screened.considered}")
    marks: dict[Stage, float] = {}
    for pick in screened.picks:
        if pick.candidate.stage is not None:
            marks[pick.candidate.stage] = pick.circulating
    solved = _solve(screened.picks, shelf)
    solved += _refine(solved, shelf, marks)
    good = sorted((s for s in solved if not s.reasons), key=_by_score)
    for s in solved:
        if s.reasons:
            refusals.add(s.candidate, s.reasons, s.score)
    say(0.7, "solving the best with every harmonic")
    rows = _finish(good, shelf, marks, refusals)
    return Found(rows, refusals, screened.considered + refusals.count, shelf, solved, screened.blocks)


def _by_score(s: Solved) -> tuple[float, float, float]:
    return (round(s.score, 9), round(s.open_voltage, 6), round(s.short_current, 9))


# ---- stages ----------------------------------------------------------------------------------------------------------


def _stages(shelf: Shelf, refusals: Refusals) -> Iterator[list[Stage]]:
    """Yield the stages whose structure nothing is held against, those of one unit, of two, and so on."""
    made = 0
    allowed: dict[tuple[int, int, int], list[Reason]] = {}
    tall = _stacks(shelf, refusals)
    bad = {k for k, m in enumerate(shelf.inventory.unit_classes) if _stands_nothing(m[0])}
    for k in bad:
        candidate = shelf.candidate(Stage(High(((k,),), 1, ()), 1, 0))
        refusals.add(candidate, structural(candidate) or [Reason("inner-end-unknown")])
    for size in range(1, most_units(shelf.inventory) + 1):
        lot: list[Stage] = []
        for high in (*plain(shelf.inventory, size), *(h for h in tall if len(h.classes) == size)):
            if not bad.isdisjoint(high.classes):
                continue
            wired, held = _wirings(high, shelf, allowed)
            lot += wired
            if not wired and held:
                refusals.add_lazily(lambda h=high: shelf.candidate(Stage(h, 1, 0)), held)  # type: ignore[misc]
            if made + len(lot) > STAGES:
                break
        made += len(lot)
        if lot:
            yield lot
        if made > STAGES:
            return


def _wirings(
    high: High, shelf: Shelf, allowed: dict[tuple[int, int, int], list[Reason]]
) -> tuple[list[Stage], list[Reason]]:
    """Return the stages of a high side, by feed and primaries in series, and what is held against the plainest of
    them.
    """
    out, held = [], list[Reason]()
    for f, feed in enumerate(shelf.feeds):
        for series in strings(len(high.classes)):
            reasons: list[Reason] = []
            for k in set(high.classes):
                if (k, f, series) not in allowed:
                    allowed[k, f, series] = _unit_reasons(shelf, k, feed.volts / series)
                reasons += allowed[k, f, series]
            if not reasons:
                out.append(Stage(high, series, f))
            elif f == 0 and series == 1:
                held = reasons
    return out, held


def _stacks(shelf: Shelf, refusals: Refusals) -> list[High]:
    """Return the stacks that nothing is held against, and refuse the others."""
    good = []
    for high in islice(stacks(shelf.inventory), STAGES):
        series = usual_series(shelf.inventory, high.classes, shelf.feeds[0].volts, MOST_OF_PLATE)
        candidate = shelf.candidate(Stage(high, series, 0))
        reasons = structural(candidate)
        if reasons:
            refusals.add_lazily(lambda c=candidate: c, reasons)  # type: ignore[misc]
        else:
            good.append(high)
    return good


def _stands_nothing(u: Unit) -> bool:
    """Return whether neither end of a high winding may stand off the core: nobody knows which is the inner one."""
    return u.tied != "tap" and max(u.insulation.start_to_core, u.insulation.finish_to_core) <= LEAD_DROP


def _unit_reasons(shelf: Shelf, k: int, volts: float) -> list[Reason]:
    u = shelf.inventory.unit_classes[k][0]
    share = volts / u.plate_primary
    if not LEAST_OF_PLATE <= share <= MOST_OF_PLATE:
        return [Reason("primary-volts", share, "ratio")]
    flux = share * u.plate_frequency / shelf.context.mains.frequency
    return [Reason("over-flux", flux, "ratio")] if flux > MOST_FLUX else []


# ---- solutions -------------------------------------------------------------------------------------------------------


def _solve(picks: list[Pick], shelf: Shelf) -> list[Solved]:
    """Return the picks solved at the fundamental, those that converged."""
    found: list[Solved] = []
    for first in range(0, len(picks), 400):
        lot = picks[first : first + 400]
        done = solve_fundamental([p.candidate for p in lot], shelf.context, [p.circulating for p in lot])
        found += [s for s in done if s is not None]
    return found


def _refine(solved: list[Solved], shelf: Shelf, marks: dict[Stage, float]) -> list[Solved]:
    """Return the best few again with other members of their classes: members differ by up to the width of a bin."""
    tried: list[Candidate] = []
    for s in sorted((s for s in solved if not s.reasons), key=_by_score)[:REFINED]:
        c = s.candidate
        if c.stage is not None and not c.own:
            tried += [
                make(c.stage, c.form, shelf.inventory, shelf.feeds, swaps=swaps) for swaps in _swaps(c, shelf.inventory)
            ]
    found = solve_fundamental(tried, shelf.context, [marks[c.stage] if c.stage is not None else 0.0 for c in tried])
    return [s for s in found if s is not None]


def _swaps(c: Candidate, inventory: Inventory) -> Iterator[dict[str, str]]:
    """Yield exchanges of one used member of a class for an unused one of the same price."""
    used = {u.instance for u in c.units} | {e.instance for e in c.elements}
    for units in inventory.unit_classes:
        yield from _exchanges([(u.instance, u.price) for u in units], used)
    for elements in inventory.element_classes:
        if elements[0].kind != "spare":
            yield from _exchanges([(e.instance, e.price) for e in elements], used)


def _exchanges(members: list[tuple[str, float]], used: set[str]) -> Iterator[dict[str, str]]:
    outside = [(name, price) for name, price in members if name not in used]
    for a, price in members:
        if a in used:
            yield from ({a: b, b: a} for b, other in outside[:3] if other == price)


def _finish(good: list[Solved], shelf: Shelf, marks: dict[Stage, float], refusals: Refusals) -> list[Row]:
    """Return the rows: near twins folded together, each row solved with every harmonic."""
    rows: list[Row] = []
    groups = _grouped(good)
    at, wanted = 0, shelf.effort.rows
    while at < len(groups) and len(rows) < wanted:
        lot = groups[at : at + wanted - len(rows)]
        at += len(lot)
        circulating = [marks[g[0].candidate.stage] if g[0].candidate.stage is not None else 0.0 for g in lot]
        for group, exact in zip(lot, solve_exact([g[0] for g in lot], shelf.context, circulating), strict=True):
            if exact is None:
                refusals.add(group[0].candidate, [Reason("not-converged")])
            elif exact.reasons:
                refusals.add(exact.candidate, exact.reasons, exact.score)
            else:
                rows.append(Row(exact, tuple(group[1 : TWINS + 1])))
    rows.sort(key=lambda r: _by_score(r.best))
    return rows


def _grouped(good: list[Solved]) -> list[list[Solved]]:
    """Fold near twins: the same kinds of part in the same structure with nearly the same volts and amperes, or the
    same stage with a ballast that gives nearly the same.
    """
    groups: list[list[Solved]] = []
    for s in good:
        home = next((g for g in groups if _are_twins(g[0], s)), None)
        if home is None:
            groups.append([s])
        else:
            home.append(s)
    return groups


def _are_twins(a: Solved, b: Solved) -> bool:
    same_stage = a.candidate.stage == b.candidate.stage
    volts, amps = SAME_STAGE if same_stage else SAME_STRUCTURE
    if abs(np.log(a.open_voltage / b.open_voltage)) > volts or abs(np.log(a.short_current / b.short_current)) > amps:
        return False
    return same_stage or _structure(a.candidate) == _structure(b.candidate)


def _structure(c: Candidate) -> tuple[object, ...]:
    sides = sorted(tuple(tuple(sorted(u.kind for u in g)) for g in side) for side in (c.up, c.down))
    front = None if c.front is None else type(c.front).__name__
    return (
        tuple(sides),
        tuple(sorted(u.kind for u in c.both)),
        c.cores,
        len(c.strings),
        front,
        bool(c.own),
        tuple(sorted({e.kind for e in c.elements})),
    )
