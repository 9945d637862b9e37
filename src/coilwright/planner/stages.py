"""Every way of putting the transformers together, ballast apart, made by construction.

A stage is a supply without its ballast. Its high side is a set of series groups, counted from earth outwards on each
of two sides, each group one or more windings in parallel; centre-tapped units stand across both sides at once. From
these come the single unit, units in parallel, the pair with its midpoint earthed, pairs of groups, stacks, and tapped
units beside any of them. Classes of units are numbers here, so that twins by symmetry are never made twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, combinations, combinations_with_replacement
from typing import Literal, NamedTuple

from coilwright.planner.inventory import Inventory, Regulator, Unit

Cores = Literal["earthed", "lifted", "floating"]
#: How a winding may stand on another: its core with it, or its tied end lifted off an earthed core.
RAISED: tuple[Cores, ...] = ("floating", "lifted")
#: More stages than this are not drawn up; larger numbers of transformers are left out instead.
STAGES = 6000
#: Transformers in one supply at most.
MOST_UNITS = 8
#: Primaries in series at most.
MOST_IN_SERIES = 4
#: Levels of one stack at most, both sides together.
MOST_LEVELS = 4


@dataclass(frozen=True)
class Feed:
    """What stands before the ballast: ideal volts [V rms], series impedance [ohm], mains poles, and a front unit."""

    volts: float
    impedance: complex
    poles: tuple[str, str]
    front: Regulator | Unit | None = None
    words: str = ""
    ratio: float = 1.0  # mains amperes per ampere fed, magnetising left out
    mains_volts: float = 0.0  # between the two poles

    @property
    def parts(self) -> int:
        """Return how many parts it takes."""
        return 0 if self.front is None else 1


@dataclass(frozen=True)
class High:
    """The high side by unit classes: series groups from earth outwards, ``n_up`` of them on the up side, and tapped
    units.
    """

    groups: tuple[tuple[int, ...], ...]
    n_up: int
    both: tuple[int, ...]
    cores: Cores = "earthed"

    @cached_property
    def classes(self) -> tuple[int, ...]:
        """Return the class of every unit: groups in order, then the tapped ones."""
        return tuple(chain.from_iterable(self.groups)) + self.both

    @property
    def up(self) -> tuple[tuple[int, ...], ...]:
        """Return the groups of the up side, outwards."""
        return self.groups[: self.n_up]

    @property
    def down(self) -> tuple[tuple[int, ...], ...]:
        """Return the groups of the down side, outwards."""
        return self.groups[self.n_up :]

    @property
    def is_stack(self) -> bool:
        """Return whether some winding stands on another."""
        return self.n_up > 1 or len(self.groups) - self.n_up > 1

    @property
    def is_midpoint(self) -> bool:
        """Return whether both ends of the output are hot."""
        return bool(self.both) or 0 < self.n_up < len(self.groups)


class Stage(NamedTuple):
    """A high side with its primaries: ``series`` of them to a string, fed by feed number ``feed``."""

    high: High
    series: int
    feed: int


def multisets(classes: Sequence[int], counts: Sequence[int], size: int) -> Iterator[tuple[int, ...]]:
    """Yield the multisets of that size, no class oftener than the shelf holds it."""
    if all(counts[k] == 1 for k in classes):
        yield from combinations(classes, size)
        return
    for chosen in combinations_with_replacement(classes, size):
        if all(chosen.count(k) <= counts[k] for k in set(chosen)):
            yield chosen


def fits(classes: Sequence[int], counts: Sequence[int]) -> bool:
    """Return whether the shelf holds that many of each class."""
    return all(classes.count(k) <= counts[k] for k in set(classes))


def most_units(inventory: Inventory) -> int:
    """Return how many transformers a supply of this shelf may have."""
    return min(len(inventory.units), MOST_UNITS)


def plain(inventory: Inventory, size: int) -> Iterator[High]:
    """Yield the high sides of ``size`` units without a stack: groups, midpoint-earthed pairs of groups, tapped units
    beside them.
    """
    counts = [len(m) for m in inventory.unit_classes]
    tapped = [k for k, m in enumerate(inventory.unit_classes) if m[0].tied == "tap"]
    single = [k for k in range(len(counts)) if k not in tapped]
    for n_both in range(size + 1):
        for both in multisets(tapped, counts, n_both):
            yield from _sides(single, counts, size - n_both, both)


def _sides(single: Sequence[int], counts: Sequence[int], size: int, both: tuple[int, ...]) -> Iterator[High]:
    if size == 0:
        if both:
            yield High((), 0, both)
        return
    n_up = (size + 1) // 2
    if not both:
        for up in multisets(single, counts, size):
            yield High((up,), 1, ())
    if size < 2:
        return
    for up in multisets(single, counts, n_up):
        for down in multisets(single, counts, size - n_up):
            if (n_up > size - n_up or up <= down) and fits((*up, *down), counts):
                yield High((up, down), 1, both)


def stacks(inventory: Inventory) -> Iterator[High]:
    """Yield stacks of single windings, one-sided or about an earthed midpoint, with floating cores or with lifted ends.

    The order within a side is the one whose outer members have the best proved insulation, which is the one that
    stands the most.
    """
    counts = [len(m) for m in inventory.unit_classes]
    rank = {k: _proved(m[0]) for k, m in enumerate(inventory.unit_classes)}
    single = [k for k, m in enumerate(inventory.unit_classes) if m[0].tied != "tap"]
    most = _stack_levels(sum(counts[k] for k in single), any(rank[k] > 0 for k in single))
    for levels in range(2, min(sum(counts[k] for k in single), most) + 1):
        for members in multisets(single, counts, levels):
            ordered = tuple((k,) for k in sorted(members, key=lambda k: (rank[k], k)))
            for cores in RAISED:
                yield High(ordered, levels, (), cores)
        if levels < 3:
            continue
        n_up = (levels + 1) // 2
        for up in multisets(single, counts, n_up):
            for down in multisets(single, counts, levels - n_up):
                if (n_up == levels - n_up and up > down) or not fits((*up, *down), counts):
                    continue
                sides = [tuple((k,) for k in sorted(side, key=lambda k: (rank[k], k))) for side in (up, down)]
                for cores in RAISED:
                    yield High(sides[0] + sides[1], n_up, (), cores)


def _stack_levels(units: int, proved: bool) -> int:
    """Return how tall stacks are drawn up. Without a proof test every stack is refused: there a long shelf shows the
    low ones.
    """
    if proved or units <= 5:
        return MOST_LEVELS
    return MOST_LEVELS - 1 if units <= 6 else MOST_LEVELS - 2


def _proved(u: Unit) -> float:
    """Return the volts that a unit's core and inner end are proved for; 0 where nothing is."""
    insulation = u.insulation
    core = insulation.primary_to_core if insulation.proved("primary_to_core") else 0.0
    ends = [
        v
        for v, what in ((insulation.start_to_core, "start_to_core"), (insulation.finish_to_core, "finish_to_core"))
        if insulation.proved(what)
    ]
    return max(core, min(ends, default=0.0))


def usual_series(inventory: Inventory, classes: Sequence[int], volts: float, most_of_plate: float) -> int:
    """Return how many primaries in series bring every unit down to its plate; 1 where nothing does."""
    least = min(inventory.unit_classes[k][0].plate_primary for k in classes)
    return next((s for s in strings(len(classes)) if volts / s <= most_of_plate * least), 1)


def strings(units: int) -> Iterator[int]:
    """Yield how many primaries may stand in series when that many units share them out evenly."""
    yield from (s for s in range(1, min(units, MOST_IN_SERIES) + 1) if units % s == 0)
