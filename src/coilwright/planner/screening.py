"""Every stage with every ballast, estimated in blocks of equally many units, and the few that are worth solving."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from coilwright.planner.ballast import Catalogue, Form
from coilwright.planner.candidate import Candidate, make, own_forms
from coilwright.planner.inventory import Inventory
from coilwright.planner.own import MOST_DEALS, MOST_STRINGS, Deals, Pairs, estimate_own
from coilwright.planner.refusals import Refusals
from coilwright.planner.refuse import CIRCULATING_CONDITION, MOST_CIRCULATING, MOST_LOAD, MOST_WITHOUT_BALLAST, Reason
from coilwright.planner.score import PART, Figures, score
from coilwright.planner.screen import Estimate, Tables, estimate, pick_forms, tabulate, wanted_reactance
from coilwright.planner.solve import Context
from coilwright.planner.stages import Feed, Stage

Index = NDArray[np.int64]
Bool = NDArray[np.bool_]
Real = NDArray[np.float64]
Progress = Callable[[float, str], None]

#: Added to the score of what the estimate finds clearly past a limit.
HELD = 100.0
#: Pairs that are estimated in one go.
LOT_SIZE = 8000
#: Pairs of each block whose ballast is also dealt out to the strings.
OWN_PAIRS = 700
#: Candidates past a limit that are solved all the same, so that the refusals carry numbers.
SOLVED_REFUSALS = 24


@dataclass(frozen=True)
class Effort:
    """How hard to look. ``pairs``: stage and ballast pairs estimated per block; ``solved``: solved at the fundamental;
    ``per_stage``: of one stage; ``rows``: shown; ``margin``: by which a block's best possible score may miss the best
    rows.
    """

    pairs: int = 18_000
    solved: int = 80
    per_stage: int = 8
    rows: int = 10
    margin: float = 0.05
    everything: bool = False  # solve every candidate at the fundamental: for checking the pruning


DEFAULT_EFFORT = Effort()


@dataclass(frozen=True)
class Wanted:
    """Which parts the goal asks for, by class, and how many of each; ``missing`` are asked for and unusable."""

    units: Index
    elements: Index
    fronts: frozenset[str]
    correctors: frozenset[str]
    missing: tuple[str, ...] = ()
    ids: tuple[str, ...] = ()

    @classmethod
    def of(cls, inventory: Inventory, ids: Iterable[str]) -> Wanted:
        """Return what is wanted; ids that take no place in a supply are left out."""
        ids = tuple(ids)
        units = np.array([len({u.id for u in m} & set(ids)) for m in inventory.unit_classes], dtype=np.int64)
        elements = np.array(
            [0 if m[0].kind == "spare" else len({e.id for e in m} & set(ids)) for m in inventory.element_classes],
            dtype=np.int64,
        )
        fronts = frozenset({r.id for r in inventory.regulators} | {u.id for u in inventory.separators}) & set(ids)
        correctors = frozenset(c.id for c in inventory.correctors if c.id in ids)
        return cls(
            units, elements, fronts, correctors, tuple(u.id for u in inventory.unusable if u.id in ids), tuple(ids)
        )


@dataclass(frozen=True)
class Shelf:
    """What every step of the search needs: parts, feeds, ballast forms, the aim, and which parts are asked for."""

    inventory: Inventory
    feeds: tuple[Feed, ...]
    forms: Catalogue
    context: Context
    wanted: Wanted
    effort: Effort

    def candidate(self, stage: Stage, form: Form | None = None, own: tuple[Form, ...] = ()) -> Candidate:
        """Return the candidate of a stage behind a form."""
        return make(stage, form, self.inventory, self.feeds, own=own)


@dataclass(frozen=True)
class Block:
    """Stages of equally many units, tabulated. ``allowed`` (s, f) says which forms can stand before which stage."""

    stages: list[Stage]
    tables: Tables
    bare: Estimate  # without any ballast
    allowed: Bool
    mains_volts: Real
    parts: Index


@dataclass(frozen=True)
class Lot:
    """Estimates: scores, stage rows of block ``home``, form rows, and numbers of the deals to the strings (-1: a
    common ballast).
    """

    scores: Real
    stages: Index
    forms: Index
    deals: Index
    home: int


@dataclass(frozen=True)
class Pick:
    """One candidate worth solving, with the circulating current of its stage and its estimated score."""

    candidate: Candidate
    circulating: float
    score: float


@dataclass(frozen=True)
class Screened:
    """What is left: picks, best first; how many pairs were considered; the tabulated stages."""

    picks: list[Pick]
    considered: int
    blocks: list[Block]


def screen(lots: Iterable[list[Stage]], shelf: Shelf, refusals: Refusals, say: Progress) -> Screened:
    """Return the candidates worth solving, of stages in lots by number of units.

    Once the parts alone cost more than the best rows with a margin, larger stages are not drawn up any more.
    """
    found: list[Lot] = []
    blocks: list[Block] = []
    deals = Deals(shelf.forms)
    considered = 0
    for lot in lots:
        count = len(lot[0].high.classes)
        say(0.1 + 0.3 * (1 - 0.7**count), f"estimating supplies of {count} transformer{'s' if count > 1 else ''}")
        block = _block(lot, shelf)
        _without_ballast(block, shelf, refusals)
        considered += int(block.allowed.sum())
        blocks.append(block)
        rows = _live(block, shelf, refusals)
        found += _estimates(rows, block, len(blocks) - 1, shelf, deals)
        if found and not shelf.effort.everything:
            reached = np.sort(np.concatenate([lot.scores for lot in found]))
            enough = reached[min(3 * shelf.effort.rows, reached.size) - 1]
            ballast = 0 if any(m[0].limits_itself for m in shelf.inventory.unit_classes) else 1
            if PART * (count + 1 + ballast) > enough + shelf.effort.margin:
                break
    return Screened(_pool(found, blocks, shelf, deals), considered, blocks)


def _block(stages: list[Stage], shelf: Shelf) -> Block:
    tables = tabulate(stages, shelf.inventory, shelf.feeds, shelf.context.omega)
    nothing = np.zeros((len(stages), shelf.forms.impedance.shape[1]))
    return Block(
        stages,
        tables,
        estimate(tables, nothing.astype(complex), nothing),
        _allowed(stages, shelf),
        np.array([shelf.feeds[s.feed].mains_volts for s in stages]),
        np.array([len(s.high.classes) + shelf.feeds[s.feed].parts for s in stages], dtype=np.int64),
    )


def _allowed(stages: list[Stage], shelf: Shelf) -> Bool:
    """Return which forms can stand before which stage: parts at hand, and the parts that the goal asks for."""
    forms, inventory, wanted = shelf.forms, shelf.inventory, shelf.wanted
    members = np.array([len(m) for m in inventory.element_classes], dtype=np.int64)
    out = np.zeros((len(stages), len(forms.forms)), dtype=bool)
    base = (forms.uses >= wanted.elements).all(axis=1)
    left: dict[tuple[int, int], Bool] = {}
    cache: dict[tuple[int, ...], Bool] = {}
    for row, stage in enumerate(stages):
        front = shelf.feeds[stage.feed].front
        if wanted.missing or wanted.fronts - ({front.id} if front is not None else set()):
            continue
        used = tuple(sorted(stage.high.classes))
        if used not in cache:
            conditions = [base]
            for k in set(used):
                key = (k, used.count(k))
                if key not in left:
                    column = inventory.spare_class[k]
                    left[key] = np.asarray(forms.uses[:, column] <= int(members[column]) - key[1])
                conditions.append(left[key])
            for k in map(int, np.flatnonzero(wanted.units)):
                lacking = int(wanted.units[k]) - used.count(k)
                conditions.append(np.asarray(forms.uses[:, inventory.spare_class[k]] >= lacking))
            good: Bool = np.logical_and.reduce(conditions)
            cache[used] = good
        out[row] = cache[used]
    return out


def _without_ballast(block: Block, shelf: Shelf, refusals: Refusals) -> None:
    """Refuse every stage that stands without ballast though nothing in it limits the current."""
    limited = [m[0].limits_itself for m in shelf.inventory.unit_classes]
    free = np.array([all(limited[k] for k in stage.high.classes) for stage in block.stages])
    bad = block.allowed[:, 0] & ~(free & (block.bare.load <= 1.15 * MOST_WITHOUT_BALLAST))
    block.allowed[bad, 0] = False
    _refuse(block, bad, Reason("no-current-limit", None, "A"), block.bare.mains_current, shelf, refusals)


def _live(block: Block, shelf: Shelf, refusals: Refusals) -> Index:
    """Return the rows that some ballast may make something of; refuse the others."""
    low = block.bare.open_voltage < 0.99 * shelf.context.aim.floor
    unlike = (block.tables.circulating > MOST_CIRCULATING) & ~low
    _refuse(block, low, Reason("too-low", None, "V"), block.bare.open_voltage, shelf, refusals)
    _refuse(block, unlike, Reason("parallel-mismatch", None, "ratio"), block.tables.circulating, shelf, refusals)
    return np.flatnonzero(~low & ~unlike & block.allowed.any(axis=1))


def _refuse(block: Block, bad: Bool, reason: Reason, numbers: Real, shelf: Shelf, refusals: Refusals) -> None:
    rows = np.flatnonzero(bad)
    refusals.add_bulk(
        reason.code, reason.unit, numbers[rows].tolist(), lambda k: shelf.candidate(block.stages[int(rows[k])])
    )


def _estimates(rows: Index, block: Block, home: int, shelf: Shelf, deals: Deals) -> Iterator[Lot]:
    """Yield what the estimate says of the stages with every ballast, in lots that fit the memory."""
    if rows.size == 0:
        return
    effort, aim = shelf.effort, shelf.context.aim
    if int(block.allowed[rows].sum()) > effort.pairs and not effort.everything:
        some = block.tables.take(rows)
        picked = pick_forms(
            some, wanted_reactance(some, aim), shelf.forms, block.allowed[rows], max(16, effort.pairs // rows.size)
        )
    else:
        picked = [np.flatnonzero(block.allowed[r]) for r in rows]
    at = np.repeat(rows, [p.size for p in picked])
    f = np.concatenate(picked)
    for first in range(0, at.size, LOT_SIZE):
        a, b = at[first : first + LOT_SIZE], f[first : first + LOT_SIZE]
        done = estimate(block.tables.take(a), shelf.forms.impedance[b], shelf.forms.overload[b])
        scores = score(_figures(done, a, b, block, shelf), aim) + HELD * _held(done, shelf)
        yield Lot(scores, a, b, np.full(a.size, -1), home)
        if not effort.everything:
            pairs = OWN_PAIRS * LOT_SIZE // max(at.size, LOT_SIZE)
            yield from _own(done, a, b, block, home, shelf, deals, pairs)


def _own(
    done: Estimate, a: Index, b: Index, block: Block, home: int, shelf: Shelf, deals: Deals, most: int
) -> Iterator[Lot]:
    """Yield the estimates of the same ballasts dealt out to the strings.

    Uneven branches give less than the same ones in parallel, so what gives far less than is wanted already is left out.
    """
    aim = shelf.context.aim
    off = np.log(done.open_voltage * done.short_current / aim.power)
    likely = PART * (block.parts[a] + shelf.forms.count[b]) + 0.5 * np.abs(off - 0.1)
    likely[(shelf.forms.count[b] < 2) | (off < min(-0.2, float(off.max()) - 0.4)) | (off > 1.1)] = np.inf
    alike: dict[tuple[int, int, int], list[tuple[int, int]]] = defaultdict(list)
    for k in np.argsort(likely, kind="stable")[:most]:
        if not np.isfinite(likely[k]):
            break
        stage = block.stages[a[k]]
        n_strings = len(stage.high.classes) // stage.series
        if 1 < n_strings <= MOST_STRINGS:
            key = (stage.feed, stage.series, len(stage.high.classes))
            alike[key] += [(int(k), deal) for deal in deals.of(int(b[k]), n_strings)]
    for (feed, _, _), items in alike.items():
        if not items:
            continue
        rows = np.array([k for k, _ in items])
        deal = np.array([d for _, d in items])
        pairs = Pairs(
            [block.stages[r] for r in a[rows]], np.array([deals.rows[d] for d in deal]), done.stage_current[rows]
        )
        made = estimate_own(pairs, shelf.forms, shelf.inventory, shelf.feeds[feed], shelf.context.omega)
        scores = score(_figures(made, a[rows], b[rows], block, shelf), aim) + HELD * _held(made, shelf)
        yield Lot(scores, a[rows], b[rows], deal, home)


def _figures(done: Estimate, a: Index, b: Index, block: Block, shelf: Shelf) -> Figures:
    volts = block.mains_volts[a]
    watts, var = volts * done.best_mains.real, -volts * done.best_mains.imag
    left = var - _correction(var, volts, shelf.context)
    factor = np.clip(watts / np.maximum(np.hypot(watts, left), 1e-9), 0.0, 1.0)
    conditions = (shelf.forms.resistors[b] > 0).astype(float) + (block.tables.circulating[a] > CIRCULATING_CONDITION)
    conditions += shelf.forms.spares[b] > 0
    return Figures(
        done.open_voltage,
        done.short_current,
        done.mains_current,
        done.load,
        factor,
        block.parts[a] + shelf.forms.count[b],
        np.zeros(a.size),
        conditions,
    )


def _correction(var: Real, volts: Real, context: Context) -> Real:
    """Return the correcting reactive power that the capacitors at hand come nearest with, elementwise [var]."""
    found = {0.0}
    for c in context.correctors:
        found |= {s + c.capacitance for s in found}
    sums = np.array(sorted(found))
    if sums.size == 1:
        return np.zeros_like(var)
    per = context.omega * volts**2
    k = np.clip(np.searchsorted(sums, var / per), 1, sums.size - 1)
    nearer = np.where(np.abs(sums[k] - var / per) < np.abs(sums[k - 1] - var / per), sums[k], sums[k - 1])
    return np.asarray(nearer * per)


def _held(done: Estimate, shelf: Shelf) -> Bool:
    """Return where the estimate is clearly past a limit; what lies within 5 % of one is left to the solution."""
    aim = shelf.context.aim
    over = (done.mains_current > 1.05 * aim.mains_limit) | (done.load > 1.05 * MOST_LOAD)
    return np.asarray(over | (done.open_voltage < 0.95 * aim.floor) | (done.open_voltage > 1.05 * aim.ceiling))


def _pool(found: list[Lot], blocks: list[Block], shelf: Shelf, deals: Deals) -> list[Pick]:
    """Return the best estimates, no stage taking more than its share."""
    if not found:
        return []
    scores, at, f, deal = (
        np.concatenate([getattr(lot, name) for lot in found]) for name in ("scores", "stages", "forms", "deals")
    )
    home = np.concatenate([np.full(lot.scores.size, lot.home) for lot in found])
    taken: dict[tuple[int, int], int] = defaultdict(int)
    picks: list[Pick] = []
    spare = 0
    effort = shelf.effort
    good = scores < HELD - 1
    n_stages = len(set(zip(home[good].tolist(), at[good].tolist(), strict=True)))
    share = max(effort.per_stage, effort.solved // max(n_stages, 1))
    for k in np.lexsort((deal, f, at, home, np.round(scores, 9))):
        place, form_row, held = (int(home[k]), int(at[k])), int(f[k]), bool(scores[k] > HELD - 1)
        if not effort.everything:
            spare += held
            if len(picks) >= effort.solved or (held and (spare > SOLVED_REFUSALS and len(picks) > SOLVED_REFUSALS)):
                break
            if taken[place] >= (2 if held else share):
                continue
        taken[place] += 1
        block = blocks[place[0]]
        stage, form = block.stages[place[1]], shelf.forms.forms[form_row]
        circulating = float(block.tables.circulating[place[1]])
        own = _forms(shelf, deals.rows[deal[k]]) if deal[k] >= 0 else ()
        picks.append(Pick(shelf.candidate(stage, form, own), circulating, float(scores[k])))
        n_strings = len(stage.high.classes) // stage.series
        if form is None or deal[k] >= 0 or n_strings < 2 or (n_strings <= MOST_STRINGS and not effort.everything):
            continue
        dealt = islice(own_forms(form, n_strings), 24 if effort.everything else MOST_DEALS)
        picks += [Pick(shelf.candidate(stage, form, forms), circulating, float(scores[k])) for forms in dealt]
    return picks


def _forms(shelf: Shelf, rows: tuple[int, ...]) -> tuple[Form, ...]:
    return tuple(form for row in rows if (form := shelf.forms.forms[row]) is not None)
