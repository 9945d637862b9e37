"""The planner against its targets: CPU of a plan, and the best score against an unpruned search.

Shelves are made up (``planner_shelves``): circuits are given, so that identification is not in the figures.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from benchmarks.planner_shelves import Shelf, demonstration, scattered
from coilwright.analyses.plan import plan
from coilwright.planner.screening import Effort

#: Targets: CPU seconds of a plan of 12 and of 18 parts; difference of the best score from the unpruned search.
TWELVE_PARTS, EIGHTEEN_PARTS, SCORE = 1.0, 3.0, 0.02
#: Every candidate is estimated, and every one of them solved.
UNPRUNED = Effort(everything=True)


@dataclass(frozen=True)
class SpeedRow:
    """One shelf: parts, arrangements considered, rows ranked, least CPU seconds of the repeats, and the target."""

    shelf: str
    parts: int
    considered: int
    ranked: int
    cpu: float
    target: float


@dataclass(frozen=True)
class PruningRow:
    """One shelf: best score of the plan and of the unpruned search, what each solved, and the CPU of each [s]."""

    shelf: str
    parts: int
    best: float
    unpruned: float
    solved: int
    solved_unpruned: int
    cpu: float
    cpu_unpruned: float
    same: bool

    @property
    def difference(self) -> float:
        """Return by how much the plan's best score is worse."""
        return self.best - self.unpruned


def speed_shelves() -> dict[str, Shelf]:
    """Return the shelves whose plan is timed."""
    return {
        "demonstration, 10 parts": demonstration(),
        "4 oven, 2 sign, 4 choke, 2 capacitor": scattered(4, 4, 1, signs=2, capacitors=2),
        "6 oven, 6 choke, few classes": scattered(6, 6, 2, alike=True),
        "6 oven, 6 choke, all unlike": scattered(6, 6, 3),
        "4 oven, 8 choke, all unlike": scattered(4, 8, 4),
        "8 oven, 4 choke, all unlike": scattered(8, 4, 6),
        "2 oven, 10 choke, all unlike": scattered(2, 10, 5),
        "120 V 60 Hz: 5 oven, 2 sign, 5 choke": scattered(
            5, 5, 12, signs=2, volts=120.0, frequency=60.0, power=1000.0, breaker=20.0
        ),
        "8 oven, 10 choke, all unlike": scattered(8, 10, 7),
        "9 oven, 9 choke, all unlike": scattered(9, 9, 9),
        "18 oven, all unlike": scattered(18, 0, 8),
    }


def speed(repeats: int = 5) -> list[SpeedRow]:
    """Return the least CPU of each plan over some repeats, identification apart."""
    rows = []
    for name, shelf in speed_shelves().items():
        design, known = shelf.design(), shelf.result()
        parts = len(shelf.circuits)
        times = []
        for _ in range(repeats):
            begin = time.process_time()
            result = plan(design, shelf=known)
            times.append(time.process_time() - begin)
        target = TWELVE_PARTS if parts <= 12 else EIGHTEEN_PARTS
        rows.append(SpeedRow(name, parts, result.considered, len(result.ranked), min(times), target))
    return rows


def pruning_shelves(most: int = 9) -> dict[str, Shelf]:
    """Return shelves of five to ``most`` unlike parts."""
    kinds = (
        (2, 3, 0, 0), (2, 3, 0, 1), (3, 3, 0, 0), (2, 4, 0, 1), (2, 3, 1, 1), (3, 2, 1, 0), (4, 2, 0, 1), (2, 5, 0, 0),
        (3, 4, 0, 0), (1, 3, 3, 0), (3, 3, 1, 1), (2, 5, 0, 1), (4, 4, 0, 0), (3, 5, 0, 1),
    )  # fmt: skip
    out = {}
    for seed, (ovens, chokes, signs, capacitors) in enumerate(kinds, start=21):
        if ovens + chokes + signs + capacitors <= most:
            shelf = scattered(ovens, chokes, seed, signs=signs, capacitors=capacitors, power=900.0 + 60.0 * (seed % 12))
            out[f"{ovens} oven, {chokes} choke, {signs} sign, {capacitors} capacitor ({seed})"] = shelf
    return out


def pruning(most: int = 9) -> list[PruningRow]:
    """Return the best score of each shelf's plan beside that of a search that solves every candidate. Some minutes."""
    return [prune(name, shelf) for name, shelf in pruning_shelves(most).items()]


def prune(name: str, shelf: Shelf) -> PruningRow:
    """Compare the plan of one shelf with the search that solves every candidate.

    Raises
    ------
    ValueError
        If nothing can be ranked: such a shelf compares nothing.
    """
    design, known = shelf.design(), shelf.result()
    begin = time.process_time()
    quick = plan(design, shelf=known)
    middle = time.process_time()
    full = plan(design, shelf=known, effort=UNPRUNED)
    end = time.process_time()
    if not quick.ranked or not full.ranked:
        raise ValueError(f"nothing could be ranked of {name}")
    best, other = quick.ranked[0], full.ranked[0]
    return PruningRow(
        name, len(shelf.circuits), best.score, other.score, Effort().solved, full.considered, middle - begin,
        end - middle, best.name == other.name,
    )  # fmt: skip


def main() -> None:
    """Print both tables."""
    for row in speed():
        print(
            f"{row.shelf:40} {row.parts:3} parts {row.considered:9} considered {row.cpu:6.2f} s (target "
            f"{row.target:g} s)"
        )
    for pruned in pruning():
        print(
            f"{pruned.shelf:45} {pruned.best:.4f} unpruned {pruned.unpruned:.4f} "
            f"({pruned.solved_unpruned} considered, {pruned.cpu:.2f} and {pruned.cpu_unpruned:.1f} s)"
        )


if __name__ == "__main__":
    main()
