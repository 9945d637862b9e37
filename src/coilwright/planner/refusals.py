"""Refused supplies, gathered by reason so that twins of one reason are one row."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations_with_replacement

from coilwright.planner.candidate import Candidate, make, name_of
from coilwright.planner.inventory import Inventory
from coilwright.planner.refuse import MOST_OF_PLATE, WORDS, Reason, structural
from coilwright.planner.stages import Feed, High, Stage, multisets, usual_series

#: Names that one group of refusals spells out at most; the rest is counted.
NAMES = 60
#: Units of a one-sided supply whose variant with the mains in series is spelt out at most.
MAINS_UNITS = 3


@dataclass
class Group:
    """Refused supplies under one leading reason. ``bounds`` and ``details`` gather the numbers and words of each
    reason.
    """

    code: str
    names: list[tuple[float, str]] = field(default_factory=list)
    count: int = 0
    bounds: dict[str, tuple[float, float, str]] = field(default_factory=dict)
    codes: dict[str, int] = field(default_factory=dict)
    details: dict[str, set[str]] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)


class Refusals:
    """Collects refusals; ``groups`` in order of weight."""

    def __init__(self, inventory: Inventory, feeds: tuple[Feed, ...]) -> None:
        self.inventory = inventory
        self.feeds = feeds
        self._groups: dict[str, Group] = {}
        self._seen: set[tuple[str, str]] = set()
        self.count = 0
        for part in inventory.unusable:
            self.note(part.code, (part.id,), part.why)

    def note(self, code: str, ids: Sequence[str], why: str) -> None:
        """Note parts that take no place in any supply, with the reason in words."""
        group = self._groups.setdefault(code, Group(code))
        for part in ids:
            group.names.append((0.0, part))
            group.words.append(f"{part}: {why}")
            group.count += 1
            self.count += 1
        group.codes[code] = group.count

    def add(self, candidate: Candidate, reasons: Sequence[Reason], score: float = 0.0) -> None:
        """Note a refused candidate with everything that is held against it."""
        name = name_of(candidate)
        leading = _leading(reasons)
        if (leading, name) not in self._seen:
            self._seen.add((leading, name))
            self._count(leading, reasons).names.append((score, name))

    def add_lazily(self, candidate: Callable[[], Candidate], reasons: Sequence[Reason]) -> None:
        """Note a refused candidate that is only made if its group still spells out names."""
        leading = _leading(reasons)
        if leading not in self._groups or len(self._groups[leading].names) < NAMES:
            self.add(candidate(), reasons)
        else:
            self._count(leading, reasons)

    def add_bulk(self, code: str, unit: str, numbers: list[float], candidate: Callable[[int], Candidate]) -> None:
        """Note many refusals for one reason: ``candidate(k)`` is made as long as the group still spells out names."""
        spelt = self._groups[code].names if code in self._groups else []
        named = max(0, min(len(numbers), NAMES - len(spelt)))
        for k in range(named):
            self.add(candidate(k), [Reason(code, float(numbers[k]), unit)])
        rest = numbers[named:]
        if rest:
            self._count(code, [Reason(code, float(min(rest)), unit)])
            group = self._count(code, [Reason(code, float(max(rest)), unit)])
            group.count += len(rest) - 2
            group.codes[code] += len(rest) - 2
            self.count += len(rest) - 2

    def _count(self, leading: str, reasons: Sequence[Reason]) -> Group:
        group = self._groups.setdefault(leading, Group(leading))
        group.count += 1
        self.count += 1
        for code in {r.code for r in reasons}:
            group.codes[code] = group.codes.get(code, 0) + 1
        for r in reasons:
            if r.detail:
                group.details.setdefault(r.code, set()).add(r.detail)
            if r.number is not None:
                low, high, _ = group.bounds.get(r.code, (r.number, r.number, r.unit))
                group.bounds[r.code] = (min(low, r.number), max(high, r.number), r.unit)
        return group

    def add_structural(self) -> None:
        """Note what is refused always: mains in series with a one-sided supply, and tapped windings in series."""
        classes = self.inventory.unit_classes
        counts = [len(m) for m in classes]
        tapped = [k for k, m in enumerate(classes) if m[0].tied == "tap"]
        single = [k for k in range(len(counts)) if k not in tapped]
        for size in range(1, MAINS_UNITS + 1):
            for members in multisets(single, counts, size):
                highs = [High((members,), 1, ())]
                highs += [High(tuple((k,) for k in members), size, (), "floating")] if size > 1 else []
                for high in highs:
                    series = usual_series(self.inventory, high.classes, self.feeds[0].volts, MOST_OF_PLATE)
                    c = make(Stage(high, series, 0), None, self.inventory, self.feeds, mains_in_series=True)
                    self.add_lazily(lambda c=c: c, structural(c))  # type: ignore[misc]
        for pair in combinations_with_replacement(tapped, 2):
            if pair[0] != pair[1] or counts[pair[0]] > 1:
                units = [classes[k][0] for k in pair]
                share = self.feeds[0].volts / max(u.plate_primary for u in units)
                volts = sum(u.open_volts for u in units) * share
                c = make(
                    Stage(High(((pair[0],), (pair[1],)), 2, (), "floating"), 1, 0), None, self.inventory, self.feeds
                )
                self.add(c, [Reason("tapped-in-series", volts / 2, "V")])

    def groups(self) -> list[Group]:
        """Return the groups, weightiest reason first, names in order of merit and capped."""
        return sorted(self._groups.values(), key=lambda g: WORDS[g.code][0])


def _leading(reasons: Sequence[Reason]) -> str:
    return min((r.code for r in reasons), key=lambda code: WORDS[code][0])
