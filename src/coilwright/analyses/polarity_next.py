"""Which polarity reading comes next, and which mistakes the sheet as a whole cannot tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np

from coilwright.analyses.polarity_bench import (
    Bench,
    expected,
    joints_of,
    meter_default,
    meter_of,
    name_of,
    reach_of,
    usual_drive,
)
from coilwright.analyses.polarity_results import Blind, FurtherReading
from coilwright.measurement.senses import RAREST, likelihood, told_apart
from coilwright.model.machine import Drive as Driven
from coilwright.model.machine import Reading
from coilwright.protection.wording import volts_rms
from coilwright.supply.low_drive import Drive, Pair, Sense, solve_senses


def further_reading(
    bench: Bench, groups: Mapping[tuple[Pair, float], Sequence[Reading]], left: Sequence[tuple[str, ...]]
) -> FurtherReading | None:
    """Return the reading that singles out most of what is left: at a drive that was used, else the adapter moved."""
    best: FurtherReading | None = None
    for (place, volts), rows in reversed(list(groups.items())):
        best = _better(best, _best_at(bench, Drive(volts, place), rows, left, moved=not rows))
    if best is not None and best.singles_out == len(left):
        return best
    used = {frozenset(place) for place, _ in groups}
    ends = dict.fromkeys(e for u in bench.units for e in bench.wired.high_ends(u))
    for end in ends:
        place = (end, bench.ground)
        if end not in bench.arrangement.joints or end == bench.ground or frozenset(place) in used:
            continue
        drive = Drive(usual_drive(place, (), reach_of(bench, place)[0]), place)
        best = _better(best, _best_at(bench, drive, (), left, moved=True))
    return best


def _better(a: FurtherReading | None, b: FurtherReading | None) -> FurtherReading | None:
    if a is None or (b is not None and b.singles_out > a.singles_out):
        return b
    return a


def _best_at(
    bench: Bench, drive: Drive, rows: Sequence[Reading], left: Sequence[tuple[str, ...]], *, moved: bool
) -> FurtherReading | None:
    """Return the best further reading at one drive, where ``rows`` were read; None where none singles any out."""
    known = [p for r in rows if (p := joints_of(r)) is not None]
    read = np.array([r.value for r in rows])
    meter = [meter_of(r, bench.design) for r in rows]
    root, done = bench.copper, {frozenset(k) for k in (*known, drive.at)}
    joints = [j for j in bench.arrangement.joints if j in root]
    asked = [(a, b) for a, b in combinations(joints, 2) if root[a] == root[b] and frozenset((a, b)) not in done]
    asked.sort(key=lambda p: root[p[0]] != root.get(drive.at[0]))  # the circuit that is fed first
    if not asked:
        return None
    pairs = [*known, *asked]
    solved = solve_senses(bench.arrangement, bench.circuits, bench.mains, drive, bench.units, pairs, senses=left)
    whole = [expected(bench, drive.at, s, pairs) for s in solved]
    best: tuple[tuple[int, float, int], FurtherReading] | None = None
    for k, pair in enumerate(asked):
        senses = [e.pick([*range(len(known)), len(known) + k]) for e in whole]
        meters = np.array([[*meter, float(meter_default(e.readings[-1:])[0])] for e in senses])
        alone, worst = told_apart(read, senses, meters)
        rank = (-alone, worst, k)
        if alone and (best is None or rank < best[0]):
            shown = {name_of(s) or "as wired": float(e.readings[-1]) for s, e in zip(left, senses, strict=True)}
            why = f"Read {pair[0]} to {pair[1]}: it singles out {alone} of the {len(left)} that are left."
            if moved:
                why = f"Move the adapter to {drive.at[0]} and {drive.at[1]}, {volts_rms(drive.volts)}. {why}"
            best = (rank, FurtherReading(pair, drive.at, drive.volts, shown, alone, why))
    return best[1] if best else None


def blind_of(bench: Bench, fed: Drive, pairs: Sequence[Pair], sheet: Sequence[Sense]) -> tuple[Blind, ...]:
    """Return the sets that the sheet cannot tell from each other though every pair of it is read, with what tells them.

    Two sets are alike where what one of them shows is no rarer under the other than ``RAREST``.
    """
    shown = [expected(bench, fed.at, s, pairs) for s in sheet]
    meters = [meter_default(e.readings) for e in shown]
    alike = {
        (j, k)
        for j, k in combinations(range(len(sheet)), 2)
        if max(
            likelihood(shown[j].readings, shown[k], meters[j]), likelihood(shown[k].readings, shown[j], meters[k])
        ) >= RAREST
    }  # fmt: skip
    found, seen = [], set[int]()
    for first in range(len(sheet)):
        group, todo = [], [first]
        while todo:
            k = todo.pop()
            if k not in seen:
                seen.add(k)
                group.append(k)
                todo += [j for pair in alike if k in pair for j in pair]
        if len(group) > 1:
            found.append(_told_by(bench, fed, pairs, [sheet[k] for k in sorted(group)]))
    return tuple(found)


def _told_by(bench: Bench, fed: Drive, pairs: Sequence[Pair], group: Sequence[Sense]) -> Blind:
    senses = tuple(s.reversed for s in group)
    feed = Driven(fed.volts, fed.at)
    rows = [
        Reading("polarity", p, float(v), "V", drive=feed) for p, v in zip(pairs, group[0].readings, strict=True)
    ]  # as good as any of the group: that is why they are alike
    reading = further_reading(bench, {(fed.at, fed.volts): rows}, senses)
    names = "; ".join(name_of(s) or "as wired" for s in senses)
    words = f"This sheet does not tell these apart, whatever it reads: {names}."
    if reading is None:
        words += " No further reading of this wiring does: take one lead of each unit off and read the units alone."
    else:
        words += f" {reading.why} It shows " + ", ".join(
            f"{volts_rms(v)} if {name}" for name, v in reading.expected.items()
        )
        words += "." if reading.singles_out == len(senses) else "; what that leaves is told with the units read alone."
        words += " About 0 V counts only with the leads proved on the adapter before and after."
    return Blind(senses, words, reading)
