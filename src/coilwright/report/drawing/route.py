"""Wires for any netlist: an upright track per joint and channel; a level rail above or below where channels are joined.

Wires of different joints never share a piece of line nor touch with an end; they cross at right angles only. The levels
of the stubs are kept apart by ``place``; tracks and rails are kept apart here: what would overlap gets another place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from coilwright.report.drawing.place import Column, Placed

TRACK, EDGE, RAIL = 3.0, 3.0, 3.6  # pitch of tracks, distance to the column, pitch of rails [mm]
_CLEAR = 2.0  # between the ends of two joints on one track [mm]
Point = tuple[float, float]


@dataclass
class Run:
    """A joint in one channel: the levels of its pins at either side, and how far its track reaches."""

    joint: str
    channel: int
    left: list[float] = field(default_factory=list)  # levels of pins of the column to the left
    right: list[float] = field(default_factory=list)
    rail: float | None = None
    track: int = -1

    @property
    def span(self) -> tuple[float, float]:
        """Return the upper and the lower end of the track."""
        levels = [*self.left, *self.right, *([] if self.rail is None else [self.rail])]
        return min(levels), max(levels)

    @property
    def alone(self) -> bool:
        """Return whether the joint has one pin in the drawing."""
        return len(self.left) + len(self.right) == 1 and self.rail is None

    @property
    def straight(self) -> bool:
        """Return whether the joint needs no track: all its levels are one."""
        low, high = self.span
        return high - low < 1e-9


@dataclass(frozen=True)
class Routing:
    """The runs of all joints, and the number of tracks of every channel."""

    runs: tuple[Run, ...]
    tracks: Mapping[int, int]
    top: float
    bottom: float

    def widths(self, columns: int) -> dict[int, float]:
        """Return the width of every channel [mm]."""
        return {k: 2 * EDGE + TRACK * max(self.tracks.get(k, 0) - 1, 0) for k in range(columns - 1)}


def route(columns: Sequence[Column], below: Collection[str] = ()) -> Routing:
    """Return where every joint runs, for columns that have their levels but no place across the sheet yet.

    The rails of the joints ``below`` start at the foot of the drawing; each rail goes to the side with fewer crossings.
    """
    runs: dict[tuple[str, int], Run] = {}
    blocks = [item for column in columns for item in column.blocks]
    for k, column in enumerate(columns):
        for item in column.blocks:
            for pin in item.block.pins:
                if pin.joint is None:
                    continue
                channel = k if pin.side == "right" else k - 1
                run = runs.setdefault((pin.joint, channel), Run(pin.joint, channel))
                (run.left if pin.side == "right" else run.right).append(item.y + pin.y)
    top = min((item.y + item.block.top for item in blocks), default=0.0)
    bottom = max((item.y + item.block.bottom for item in blocks), default=0.0)
    every = list(runs.values())
    passed = {item.block.pins[0].joint for item in blocks if item.block.is_passage}
    wide = {run.joint for run in every if sum(other.joint == run.joint for other in every) > 1} - passed
    # The short rails next to the parts, the long ones outside them: fewer crossings.
    order = sorted(wide, key=lambda j: (len({run.channel for run in every if run.joint == j}), j))
    above = wide - set(below)
    _settled(every, order, above, top, bottom)
    least = _count(every)
    for change in [*order, *range(len(order) - 1), *order]:
        trial_order, trial_above = list(order), set(above)
        if isinstance(change, int):  # two neighbours change their rows
            trial_order[change], trial_order[change + 1] = order[change + 1], order[change]
        else:  # one goes to the other side
            trial_above ^= {change}
        _settled(every, trial_order, trial_above, top, bottom)
        if (now := _count(every)) < least:
            order, above, least = trial_order, trial_above, now
    rails, tracks = _settled(every, order, above, top, bottom)
    return Routing(tuple(every), tracks, min([top, *rails]), max([bottom, *rails]))


def _settled(
    runs: list[Run], order: list[str], above: set[str], top: float, bottom: float
) -> tuple[list[float], dict[int, int]]:
    """Give every run its rail and its track; return the levels of the rails and the number of tracks by channel."""
    rails = _rails(runs, order, above, top, bottom)
    channels = sorted({run.channel for run in runs})
    return rails, {c: _tracks([run for run in runs if run.channel == c and not run.straight]) for c in channels}


def _rails(runs: list[Run], order: list[str], above: set[str], top: float, bottom: float) -> list[float]:
    """Give a rail to every joint in ``order``, the first ones nearest to the parts; return the levels used."""
    taken: dict[tuple[bool, int], list[tuple[int, int]]] = {}
    levels = []
    for joint in order:
        mine = [run for run in runs if run.joint == joint]
        up, first, last = joint in above, min(run.channel for run in mine), max(run.channel for run in mine)
        row = 0
        while any(first <= b and a <= last for a, b in taken.get((up, row), [])):
            row += 1
        taken.setdefault((up, row), []).append((first, last))
        level = top - RAIL * (row + 1) if up else bottom + RAIL * (row + 1)
        levels.append(level)
        for run in mine:
            run.rail = level
    return levels


def _count(runs: Sequence[Run]) -> int:
    """Return the number of crossings of the whole drawing."""
    level: list[tuple[str, tuple[int, int], tuple[int, int], float]] = []  # joint, from, to (channel, track), y
    rails: dict[tuple[str, float], list[tuple[int, int]]] = {}
    for run in runs:
        at = (run.channel, run.track)
        stubs = [(y, (run.channel, -1), at) for y in run.left] + [(y, at, (run.channel, 10**6)) for y in run.right]
        if run.straight:
            stubs = [(run.span[0], (run.channel, -1), (run.channel, 10**6))]
        level += [(run.joint, a, b, y) for y, a, b in stubs]
        if run.rail is not None:
            rails.setdefault((run.joint, run.rail), []).append(at)
    level += [(joint, min(ends), max(ends), y) for (joint, y), ends in rails.items()]
    tracks = [(run.joint, (run.channel, run.track), run.span) for run in runs if not run.straight]
    return sum(
        1
        for joint, a, b, y in level
        for other, at, (low, high) in tracks
        if a < at < b and low < y < high and other != joint
    )


def _tracks(runs: list[Run]) -> int:
    """Give every run of one channel a track; return how many tracks there are."""
    order = _fewest_crossings(sorted(runs, key=lambda r: (bool(r.right) - bool(r.left), r.span, r.joint)))
    for k, run in enumerate(order):
        low, high = run.span
        # Only joints that keep well clear of each other share a track; the order of the others is kept.
        over = [o.track for o in order[:k] if o.span[0] < high + _CLEAR and low < o.span[1] + _CLEAR]
        run.track = max(over, default=-1) + 1
    return max((run.track for run in order), default=-1) + 1


def _fewest_crossings(runs: list[Run]) -> list[Run]:
    """Return the runs from left to right, each moved to its best place while that takes crossings away."""
    spans = [run.span for run in runs]
    cost = [[_crossings(a, spans[i], b, spans[j]) for j, b in enumerate(runs)] for i, a in enumerate(runs)]
    order = list(range(len(runs)))
    for _ in range(4):
        before = list(order)
        for one in before:
            at = order.index(one)
            rest = [other for other in order if other != one]
            price = sum(cost[one][other] for other in rest)  # at the far left, then one step right at a time
            prices = [price]
            for other in rest:
                price += cost[other][one] - cost[one][other]
                prices.append(price)
            best = min(range(len(prices)), key=prices.__getitem__)
            if prices[best] < prices[at]:
                order = [*rest[:best], one, *rest[best:]]
        if order == before:
            break
    return [runs[k] for k in order]


def _crossings(a: Run, a_span: Point, b: Run, b_span: Point) -> int:
    """Return how often the stubs of a and b cross the other's track when a's track is left of b's."""
    return sum(b_span[0] < y < b_span[1] for y in a.right) + sum(a_span[0] < y < a_span[1] for y in b.left)


@dataclass(frozen=True)
class Wires:
    """The drawn wires of one joint: polylines, junction dots, and the free end of a joint of one terminal."""

    joint: str
    lines: tuple[tuple[Point, ...], ...]
    dots: tuple[Point, ...]
    free: tuple[Point, int] | None = None  # and the direction in which it points


def draw(routing: Routing, columns: Sequence[Column]) -> list[Wires]:
    """Return the wires on the sheet; the columns have their places now, and ``routing`` is on the same levels."""
    segments: dict[str, list[tuple[Point, Point]]] = {}
    ends: dict[str, list[Point]] = {}
    free: dict[str, tuple[Point, int]] = {}
    reach: dict[str, list[Point]] = {}
    run_of = {(run.joint, run.channel): run for run in routing.runs}
    for k, column in enumerate(columns):
        for at, joint, pin in column.pins():
            run = run_of[joint, k if pin.side == "right" else k - 1]
            if run.alone:
                x = column.right if pin.side == "right" else column.left
                free[joint] = ((x, at[1]), 1 if pin.side == "right" else -1)
            else:
                x = _across(run, columns)
            if pin.terminal:
                ends.setdefault(joint, []).append(at)
            segments.setdefault(joint, []).append((at, (x, at[1])))
    for run in routing.runs:
        x = _across(run, columns)
        if not run.straight:
            segments[run.joint].append(((x, run.span[0]), (x, run.span[1])))
        if run.rail is not None:
            reach.setdefault(run.joint, []).append((x, run.rail))
    for joint, points in reach.items():
        segments[joint].append((min(points), max(points)))
    return [_joined(joint, pieces, ends.get(joint, []), free.get(joint)) for joint, pieces in segments.items()]


def _across(run: Run, columns: Sequence[Column]) -> float:
    return columns[run.channel].right + EDGE + TRACK * max(run.track, 0)


def _joined(
    joint: str, segments: list[tuple[Point, Point]], ends: list[Point], free: tuple[Point, int] | None
) -> Wires:
    """Return the segments of a joint as polylines from end to end, with a dot wherever three or more of them meet."""
    points = {_rounded(p) for segment in segments for p in segment}
    near: dict[Point, set[Point]] = {p: set() for p in points}
    for raw in segments:
        a, b = sorted(map(_rounded, raw))
        on = sorted(p for p in points if a <= p <= b and (p[0] == a[0] == b[0] or p[1] == a[1] == b[1]))
        for p, q in pairwise(on):
            near[p].add(q)
            near[q].add(p)
    stops = {p for p, others in near.items() if len(others) != 2} | {_rounded(p) for p in ends}
    lines = []
    walked: set[tuple[Point, Point]] = set()
    for start in sorted(stops):
        for step in sorted(near[start]):
            if (start, step) in walked:
                continue
            way = [start, step]
            while way[-1] not in stops:
                way.append(next(p for p in near[way[-1]] if p != way[-2]))
            walked |= {*pairwise(way), *pairwise(way[::-1])}
            lines.append(tuple(_corners(way)))
    dots = tuple(sorted(p for p, others in near.items() if len(others) > 2))
    return Wires(joint, tuple(lines), dots, free)


def _rounded(p: Point) -> Point:
    return round(p[0], 2), round(p[1], 2)


def _corners(way: Sequence[Point]) -> Iterable[Point]:
    """Leave out the points at which the way goes straight on."""
    for k, p in enumerate(way):
        if 0 < k < len(way) - 1:
            a, b = way[k - 1], way[k + 1]
            if a[0] == p[0] == b[0] or a[1] == p[1] == b[1]:
                continue
        yield p


def blocks_of(columns: Sequence[Column]) -> list[Placed]:
    """Return every placed block."""
    return [item for column in columns for item in column.blocks]


__all__ = ["Point", "Routing", "Wires", "blocks_of", "draw", "route"]
