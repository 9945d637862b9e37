"""Where each capacitor of a bank lies, to scale: rows of boxes, leads, straps, bleeders, and the loop that they make.

Seen from above, x along the strings. Strings lie side by side, so that bodies beside each other are at the same volts;
a long bank is folded, and between two folds there is the clearance that their volts need.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import asinh, ceil, hypot, log, pi

from coilwright.capacitors.film import INDUCTANCE_PER_PITCH, FilmUnit
from coilwright.model.constants import MU_0
from coilwright.model.known import Estimate

#: Between the ends of two bodies for the solder joint, and between bodies side by side for air [m] (our choice).
JOINT_GAP, AIR_GAP = 6e-3, 5e-3
#: Width of the straps at the ends, of the wires between bodies, and free board around everything [m] (our choice).
STRAP, WIRE, MARGIN = 10e-3, 2e-3, 15e-3
#: Folds that are tried, at most.
MOST_FOLDS = 8
#: How far the loop's inductance may be off: one turn of flat conductor taken as a rectangle of round wire (assumption).
LOOP_SPREAD = 0.3

Point = tuple[float, float]
SpacingOf = Callable[[float], float]


@dataclass(frozen=True)
class Body:
    """One capacitor: corner of its box (smallest x, y), its leads, and the share of the string's volts at each lead."""

    string: int
    place: int
    x: float
    y: float
    length: float
    width: float
    start: Point
    finish: Point
    volts: tuple[float, float]


@dataclass(frozen=True)
class Strap:
    """A flat conductor along its points; ``volts`` is the share of the string's volts that it is at."""

    points: tuple[Point, ...]
    volts: float
    width: float = STRAP


@dataclass(frozen=True)
class BleederPlace:
    """Resistors in series across one body, on its top: from lead to lead."""

    start: Point
    finish: Point
    resistors: int


@dataclass(frozen=True)
class Layout:
    """The whole board: m, m2 and H. ``clearance`` lies between neighbouring folds, ``highest`` is the tallest thing."""

    bodies: tuple[Body, ...]
    straps: tuple[Strap, ...]
    bleeders: tuple[BleederPlace, ...]
    terminals: tuple[Point, Point]
    length: float
    width: float
    height: float
    folds: int
    clearance: float
    loop_area: float
    loop_inductance: Estimate
    inductance: Estimate
    words: tuple[str, ...]


def rectangle_inductance(a: float, b: float, radius: float) -> float:
    """Return the inductance [H] of a rectangular loop a x b [m] of round wire at high frequency.

    F. W. Grover, Inductance Calculations (1946), ch. 8, from memory, without the part inside the wire:
    mu0 / pi (-2 (a + b) + 2 d - a asinh(a/b) - b asinh(b/a) + a ln(2a/r) + b ln(2b/r)), d the diagonal. Known for r
    well below both sides.
    """
    if not (a > 0 and b > 0 and 0 < radius < min(a, b) / 2):
        raise ValueError(f"sides must be positive and the wire thinner than half the shorter: {a}, {b}, {radius} m")
    outer = -2 * (a + b) + 2 * hypot(a, b) - a * asinh(a / b) - b * asinh(b / a)
    return MU_0 / pi * (outer + a * log(2 * a / radius) + b * log(2 * b / radius))


def layout(
    unit: FilmUnit, series: int, parallel: int, peak: float, spacing_of: SpacingOf, *, resistors: int = 0
) -> Layout:
    """Return the bank laid out with the fewest metres corner to corner.

    Parameters
    ----------
    peak
        Highest peak across the whole string [V].
    spacing_of
        The clearance [m] that a peak [V] needs; must not fall with the volts.
    resistors
        In series in the bleeder of each unit, 0 for none.
    """
    if series < 1 or parallel < 1:
        raise ValueError(f"series and parallel count from one: {series} x {parallel}")
    made = [
        _folded(unit, series, parallel, peak, spacing_of, n, resistors) for n in range(1, min(series, MOST_FOLDS) + 1)
    ]
    return min(made, key=lambda m: (round(hypot(m.length, m.width), 9), m.folds))


def _folded(
    unit: FilmUnit, series: int, parallel: int, peak: float, spacing_of: SpacingOf, folds: int, resistors: int
) -> Layout:
    m = ceil(series / folds)
    folds = ceil(series / m)  # fewer when the last fold would be empty
    step, row = unit.length + JOINT_GAP, unit.width + AIR_GAP
    block = parallel * row - AIR_GAP
    clearance = max(spacing_of(peak * min(2 * m / series, 1.0)), AIR_GAP) if folds > 1 else 0.0
    run = m * step - JOINT_GAP
    bodies, bleeders = [], []
    for string in range(parallel):
        for k in range(series):
            body = _body(unit, string, k, m, series, parallel, (step, row, block + clearance, run))
            bodies.append(body)
            if resistors:
                bleeders.append(BleederPlace(body.start, body.finish, resistors))
    straps = _straps(bodies, series, parallel, m)
    counts = [min(m, series - f * m) for f in range(folds)]
    lower = [f * (block + clearance) for f in range(folds)]
    back = _return(straps, lower[-1] + block, folds, counts[-1] / series, peak, spacing_of)
    first, last = straps[0].points[0], (back or straps[-1]).points[-1]
    if back:
        straps.append(back)
    area = abs(_shoelace(_centre_line(run, step, counts, lower, block, back)))
    loop = _loop_inductance(run, area, block)
    low, high = (x * unit.pitch * series / parallel for x in INDUCTANCE_PER_PITCH)
    total = Estimate(
        high + loop.value, low + loop.low, high + loop.high, "pencil", "H",
        "units at most 1 nH/mm of lead pitch, and the loop of the layout; leads to gap and primary not counted",
    )  # fmt: skip
    x0, y0, x1, y1 = _extent(bodies, straps)
    by = (MARGIN - x0, MARGIN - y0)
    return Layout(
        tuple(_moved_body(b, by) for b in bodies),
        tuple(replace(s, points=tuple(_moved(p, by) for p in s.points)) for s in straps),
        tuple(replace(b, start=_moved(b.start, by), finish=_moved(b.finish, by)) for b in bleeders),
        (_moved(first, by), _moved(last, by)),
        x1 - x0 + 2 * MARGIN, y1 - y0 + 2 * MARGIN, unit.height, folds, clearance, area, loop, total,
        _words(counts, parallel, clearance, back, series),
    )  # fmt: skip


def _body(
    unit: FilmUnit,
    string: int,
    k: int,
    m: int,
    series: int,
    parallel: int,
    grid: tuple[float, float, float, float],
) -> Body:
    step, row, fold_step, run = grid
    fold, column = divmod(k, m)
    forward = fold % 2 == 0
    x = column * step if forward else run - column * step - unit.length
    y = fold * fold_step + (string if forward else parallel - 1 - string) * row  # mirrored, so that no turn crosses
    inset = (unit.length - unit.pitch) / 2
    left, right = (x + inset, y + unit.width / 2), (x + unit.length - inset, y + unit.width / 2)
    start, finish = (left, right) if forward else (right, left)
    return Body(string, k, x, y, unit.length, unit.width, start, finish, (k / series, (k + 1) / series))


def _straps(bodies: Sequence[Body], series: int, parallel: int, m: int) -> list[Strap]:
    """Return the end strap, one between each two places in series (all strings tied there), and the other end strap.

    Strings are tied at their ends only, so that each string is a string of its own: a shorted unit does not take its
    neighbours with it.
    """
    at = {(b.string, b.place): b for b in bodies}
    ends = [at[s, 0].start for s in range(parallel)]
    straps = [Strap(tuple(ends) if parallel > 1 else (ends[0], ends[0]), 0.0)]
    for string in range(parallel):
        for k in range(series - 1):
            a, b = at[string, k], at[string, k + 1]
            if (k + 1) % m != 0:
                straps.append(Strap((a.finish, b.start), (k + 1) / series, WIRE))
            else:  # around the turn, the outermost string farthest out
                out = 1.0 if a.finish[0] > a.start[0] else -1.0
                edge = a.x + (a.length if out > 0 else 0.0)
                x = edge + out * (JOINT_GAP + 1.5 * WIRE * (parallel - 1 - string))
                points = (a.finish, (x, a.finish[1]), (x, b.start[1]), b.start)
                straps.append(Strap(points, (k + 1) / series, WIRE))
    ends = [at[s, series - 1].finish for s in range(parallel)]
    straps.append(Strap(tuple(ends) if parallel > 1 else (ends[0], ends[0]), 1.0))
    return straps


def _return(
    straps: Sequence[Strap], top: float, folds: int, share: float, peak: float, spacing_of: SpacingOf
) -> Strap | None:
    """Return the strap that brings the far end back beside the first one, None where the folds do that.

    It runs outside the last fold, at the clearance of that fold's volts.
    """
    if folds % 2 == 0:
        return None
    y = top + max(spacing_of(peak * share), AIR_GAP) + STRAP / 2
    end = straps[-1].points[-1]
    return Strap((end, (end[0], y), (straps[0].points[0][0], y)), 1.0)


def _centre_line(run: float, step: float, counts: Sequence[int], lower: Sequence[float], block: float,
                 back: Strap | None) -> list[Point]:  # fmt: skip
    """Return the corners of the path that the current takes, fold by fold."""
    path: list[Point] = []
    for f, count in enumerate(counts):
        y, length = lower[f] + block / 2, count * step - JOINT_GAP
        path += [(0.0, y), (length, y)] if f % 2 == 0 else [(run, y), (run - length, y)]
    if back is not None:
        y = back.points[-1][1]
        path += [(path[-1][0], y), (0.0, y)]
    return path


def _shoelace(path: Sequence[Point]) -> float:
    """Return the signed area [m2] of the closed path."""
    closed = [*path, path[0]]
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(closed)) / 2


def _loop_inductance(run: float, area: float, block: float) -> Estimate:
    """Return the inductance of a rectangle of that length and area [m, m2], of flat conductor ``block`` wide.

    A flat strip of width w acts as a round wire of 0.2235 w (geometric mean distance, Grover, from memory).
    """
    across = area / run
    radius = min(0.2235 * max(block, STRAP), 0.45 * min(run, across))
    value = rectangle_inductance(run, across, radius)
    basis = "one rectangular turn of flat conductor, Grover, from memory"
    return Estimate(value, (1 - LOOP_SPREAD) * value, (1 + LOOP_SPREAD) * value, "pencil", "H", basis)


def _extent(bodies: Sequence[Body], straps: Sequence[Strap]) -> tuple[float, float, float, float]:
    xs = [x for b in bodies for x in (b.x, b.x + b.length)] + [p[0] + d for s in straps for p in s.points
                                                              for d in (-s.width / 2, s.width / 2)]  # fmt: skip
    ys = [y for b in bodies for y in (b.y, b.y + b.width)] + [p[1] + d for s in straps for p in s.points
                                                             for d in (-s.width / 2, s.width / 2)]  # fmt: skip
    return min(xs), min(ys), max(xs), max(ys)


def _words(counts: Sequence[int], parallel: int, clearance: float, back: Strap | None, series: int) -> tuple[str, ...]:
    folds = len(counts)
    shape = "one row" if folds == 1 else f"{folds} rows of up to {counts[0]}, folded"
    found = [f"each string in {shape}; {parallel} string{'s' if parallel > 1 else ''} side by side at the same volts"]
    if folds > 1:
        found.append(
            f"at least {clearance * 1e3:.0f} mm between rows, for the volts of up to {min(2 * counts[0], series)} units"
        )
    if back is not None:
        found.append("a strap brings the far end back along the last row, at the clearance of that row's volts")
    if parallel > 1:
        found.append("strings are tied at their ends only: a shorted unit then does not load the other strings' units")
    return tuple(found)


def _moved(p: Point, by: Point) -> Point:
    return p[0] + by[0], p[1] + by[1]


def _moved_body(b: Body, by: Point) -> Body:
    return replace(b, x=b.x + by[0], y=b.y + by[1], start=_moved(b.start, by), finish=_moved(b.finish, by))


__all__ = ["BleederPlace", "Body", "Layout", "Strap", "layout", "rectangle_inductance"]
