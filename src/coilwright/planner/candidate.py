"""A supply with its parts named: which instance stands where, what it is called, and its joints."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from coilwright.model.design import Arrangement
from coilwright.planner.ballast import Form, children, kind_of
from coilwright.planner.inventory import Corrector, Element, Inventory, Regulator, Unit, natural
from coilwright.planner.stages import Cores, Feed, Stage

#: A form with instances in the place of classes.
Wired = Element | tuple[object, ...]


@dataclass(frozen=True)
class Candidate:
    """One supply. ``up`` and ``down`` are series groups of parallel units from earth outwards; ``both`` are tapped
    units.

    ``strings`` are the primaries that stand in series; ``ballast`` is in the common line, or ``own`` has one for each
    string.
    """

    up: tuple[tuple[Unit, ...], ...]
    down: tuple[tuple[Unit, ...], ...]
    both: tuple[Unit, ...]
    cores: Cores
    strings: tuple[tuple[Unit, ...], ...]
    feed: Feed
    ballast: Wired | None = None
    own: tuple[Wired, ...] = ()
    correctors: tuple[Corrector, ...] = ()
    mains_in_series: bool = False
    stage: Stage | None = field(default=None, compare=False)
    form: Form | None = field(default=None, compare=False)

    @property
    def units(self) -> tuple[Unit, ...]:
        """Return every unit of the high side."""
        return tuple(u for side in (self.up, self.down) for group in side for u in group) + self.both

    @property
    def elements(self) -> tuple[Element, ...]:
        """Return every ballast element."""
        return tuple(e for w in ((self.ballast,) if self.ballast is not None else self.own) for e in wired_elements(w))

    @property
    def front(self) -> Regulator | Unit | None:
        """Return what stands between the mains and the ballast, if anything."""
        return self.feed.front

    @property
    def n_parts(self) -> int:
        """Return how many parts it takes, correction capacitors apart."""
        return len(self.units) + len(self.elements) + self.feed.parts

    @property
    def part_ids(self) -> tuple[str, ...]:
        """Return the ids of its parts, each once."""
        front = [self.front] if self.front is not None else []
        everything = [*self.units, *self.elements, *front, *self.correctors]
        return tuple(dict.fromkeys(p.id for p in everything))

    @property
    def price(self) -> float:
        """Return the sum of the prices of its parts, as far as they have one."""
        front = [self.front] if self.front is not None else []
        return sum(p.price for p in [*self.units, *self.elements, *front, *self.correctors])


def wired_elements(w: Wired) -> tuple[Element, ...]:
    """Return the elements of a ballast from left to right."""
    if isinstance(w, Element):
        return (w,)
    return tuple(e for child in w[1:] for e in wired_elements(child))  # type: ignore[arg-type]


# ---- from classes to instances ---------------------------------------------------------------------------------------


class _Hand:
    """Deals the members of each class, one after the other; ``swaps`` deals another member first."""

    def __init__(self, inventory: Inventory, swaps: Mapping[str, str]) -> None:
        self.inventory = inventory
        self.swaps = swaps
        self.used: set[str] = set()
        self.next_unit: dict[int, int] = defaultdict(int)
        self.next_element: dict[int, int] = defaultdict(int)

    def unit(self, k: int) -> Unit:
        members = self.inventory.unit_classes[k]
        member = members[self.next_unit[k]]
        self.next_unit[k] += 1
        wanted = self.swaps.get(member.instance, member.instance)
        chosen = next(m for m in members if m.instance == wanted)
        self.used.add(chosen.instance)
        return chosen

    def element(self, k: int) -> Element:
        members = self.inventory.element_classes[k]
        if members[0].kind == "spare":
            chosen = next(m for m in members if m.instance not in self.used)
        else:
            member = members[self.next_element[k]]
            self.next_element[k] += 1
            wanted = self.swaps.get(member.instance, member.instance)
            chosen = next(m for m in members if m.instance == wanted)
        self.used.add(chosen.instance)
        return chosen

    def form(self, form: Form) -> Wired:
        if isinstance(form, int):
            return self.element(form)
        return (kind_of(form), *(self.form(c) for c in children(form)))


Thing = TypeVar("Thing")


def strings_of(units: tuple[Thing, ...], n_up: int, series: int) -> tuple[tuple[Thing, ...], ...]:
    """Return the primaries string by string. Units of the two sides are mixed, so that a string holds as much of each
    as can be.
    """
    up, down = list(units[:n_up]), list(units[n_up:])
    mixed: list[Thing] = []
    while up or down:
        mixed += [side.pop(0) for side in (up, down) if side]
    return tuple(tuple(mixed[k : k + series]) for k in range(0, len(mixed), series))


def make(
    stage: Stage,
    form: Form | None,
    inventory: Inventory,
    feeds: tuple[Feed, ...],
    *,
    own: tuple[Form, ...] = (),
    swaps: Mapping[str, str] | None = None,
    mains_in_series: bool = False,
) -> Candidate:
    """Return the candidate of a stage behind a form, or with a form of its own for each string of primaries."""
    hand = _Hand(inventory, swaps or {})
    high = stage.high
    groups = tuple(tuple(hand.unit(k) for k in group) for group in high.groups)
    both = tuple(hand.unit(k) for k in high.both)
    up, down = groups[: high.n_up], groups[high.n_up :]
    flat = tuple(u for group in groups for u in group)
    n_up = sum(len(g) for g in up)
    return Candidate(
        up,
        down,
        both,
        high.cores,
        strings_of((*flat, *both), n_up, stage.series),
        feeds[stage.feed],
        hand.form(form) if form is not None and not own else None,
        tuple(hand.form(f) for f in own),
        mains_in_series=mains_in_series,
        stage=stage,
        form=form,
    )


def own_forms(form: Form, n_strings: int) -> Iterator[tuple[Form, ...]]:
    """Yield how the branches of a parallel form may be dealt out, one to each string of primaries."""
    if kind_of(form) != "parallel" or len(children(form)) != n_strings:
        return
    seen = set()
    for deal in _orders(children(form)):
        if deal not in seen:
            seen.add(deal)
            yield deal


def _orders(items: tuple[Form, ...]) -> Iterator[tuple[Form, ...]]:
    if len(items) <= 1:
        yield items
        return
    for k in range(len(items)):
        for rest in _orders(items[:k] + items[k + 1 :]):
            yield (items[k], *rest)


# ---- names -----------------------------------------------------------------------------------------------------------


def _listed(units: tuple[Unit, ...]) -> str:
    names = sorted((u.instance for u in units), key=natural)
    return names[0] if len(names) == 1 else f"{', '.join(names)} in parallel"


def _side(groups: tuple[tuple[Unit, ...], ...], bracket: bool) -> str:
    words = " on ".join(_listed(g) for g in reversed(groups))
    return f"({words})" if bracket and (len(groups) > 1 or len(groups[0]) > 1) else words


def high_name(c: Candidate) -> str:
    """Return the words for the high side."""
    parts: list[str] = []
    if c.up and c.down:
        sides = sorted((c.up, c.down), key=lambda side: natural(min(u.instance for g in side for u in g)))
        parts.append(f"{_side(sides[0], bracket=True)} + {_side(sides[1], bracket=True)}, midpoint earthed")
    elif c.up:
        parts.append(_side(c.up, bracket=False))
    if c.both:
        parts.append(_listed(c.both))
    words = ", beside ".join(parts)
    if len(c.up) > 1 or len(c.down) > 1:
        words += ", cores floating" if c.cores == "floating" else ", ties lifted"
    return words


def form_name(w: Wired, outer: str = "") -> str:
    """Return the words for a ballast."""
    if isinstance(w, Element):
        return f"{w.instance} as a choke" if w.kind == "spare" else w.instance
    names = sorted((form_name(child, str(w[0])) for child in w[1:]), key=natural)  # type: ignore[arg-type]
    words = f" {w[0]} ".join(names)
    return f"({words})" if outer else words


def name_of(c: Candidate) -> str:
    """Return a name that says everything which tells this supply from the others, correction capacitors apart."""
    words = [high_name(c)]
    if c.strings and len(c.strings[0]) > 1:
        words.append("primaries in series" if len(c.strings) == 1 else f"primaries in strings of {len(c.strings[0])}")
    if c.mains_in_series:
        words.append("mains in series")
    if c.feed.words:
        words.append(c.feed.words)
    if c.ballast is not None:
        words.append(f"behind {form_name(c.ballast)}")
    elif c.own:
        pairs = sorted(
            (" and ".join(sorted((u.instance for u in string), key=natural)), form_name(w))
            for string, w in zip(c.strings, c.own, strict=True)
        )
        words.append("each behind its own (" + "; ".join(f"{who}: {what}" for who, what in pairs) + ")")
    return ", ".join(words)


# ---- joints ----------------------------------------------------------------------------------------------------------


class _Joints:
    def __init__(self) -> None:
        self.of: dict[str, list[str]] = {}

    def add(self, joint: str, *terminals: str) -> None:
        self.of.setdefault(joint, []).extend(terminals)


def arrangement_of(c: Candidate) -> Arrangement:
    """Return the joints of a candidate, with senses by the dots so that both sides of a midpoint stand in opposite
    phase.
    """
    j = _Joints()
    line, back = c.feed.poles
    j.add("live", f"mains.{line}")
    j.add("return", f"mains.{back}")
    for cap in c.correctors:
        j.add("live", f"{cap.instance}.a")
        j.add("return", f"{cap.instance}.b")
    j.add("ground", "mains.earth")
    supply, back_joint = _front(c, j)
    fed = _common_ballast(c, j, supply)
    _primaries(c, j, supply, fed, back_joint)
    base = "live" if c.mains_in_series else "ground"
    for side, groups in (("a", c.up), ("b", c.down)):
        _stack(c, j, groups, side, base)
    hot = ("hot_a", "hot_b")
    for u in c.both:
        j.add("hot_a", f"{u.instance}.high_start")
        j.add("hot_b", f"{u.instance}.high_finish")
        j.add("ground", f"{u.instance}.core")
        if u.tied == "none":
            j.add("ground", f"{u.instance}.high_tap")
    output = hot if c.down or c.both else ("hot_a", "return" if c.mains_in_series else "ground")
    lifted = tuple(
        u.instance
        for side in (c.up, c.down)
        for g in side[1:]
        for u in g
        if c.cores == "lifted" and u.tied in {"start", "finish"}
    )
    shorted = tuple(f"{e.instance}.high" for e in c.elements if e.kind == "spare")
    return Arrangement(name_of(c), {k: tuple(v) for k, v in j.of.items()}, output, lifted=lifted, shorted=shorted)


def _front(c: Candidate, j: _Joints) -> tuple[str, str]:
    """Wire what stands between mains and ballast; return the joints that feed the rest."""
    front = c.front
    if isinstance(front, Regulator):
        j.add("live", f"{front.instance}.line")
        j.add("return", f"{front.instance}.common")
        j.add("regulated", f"{front.instance}.wiper")
        return "regulated", "return"
    if isinstance(front, Unit):
        j.add("live", f"{front.instance}.primary_start")
        j.add("return", f"{front.instance}.primary_finish")
        j.add("separated", f"{front.instance}.high_start")
        j.add("separated_return", f"{front.instance}.high_finish")
        j.add("ground", f"{front.instance}.core")
        return "separated", "separated_return"
    return "live", "return"


def _common_ballast(c: Candidate, j: _Joints, supply: str) -> str:
    if c.ballast is None:
        return supply
    _wire(c.ballast, j, supply, "fed", [0])
    return "fed"


def _wire(w: Wired, j: _Joints, a: str, b: str, counter: list[int]) -> None:
    """Wire a ballast between two joints."""
    if isinstance(w, Element):
        _element(w, j, a, b)
        return
    parts: tuple[Wired, ...] = w[1:]  # type: ignore[assignment]
    if w[0] == "parallel":
        for part in parts:
            _wire(part, j, a, b, counter)
        return
    at = a
    for k, part in enumerate(parts):
        if k < len(parts) - 1:
            counter[0] += 1
            after = f"ballast_{counter[0]}"
        else:
            after = b
        _wire(part, j, at, after, counter)
        at = after


def _element(e: Element, j: _Joints, a: str, b: str) -> None:
    if e.kind != "spare":
        j.add(a, f"{e.instance}.a")
        j.add(b, f"{e.instance}.b")
        return
    j.add(a, f"{e.instance}.primary_start")
    j.add(b, f"{e.instance}.primary_finish")
    j.add("ground", f"{e.instance}.core", *(f"{e.instance}.high_{end}" for end in ("start", "finish")))


def _is_swapped(u: Unit, down: bool) -> bool:
    """Return whether a primary is fed at its finish: so that the hot end of the up side moves with the line, the
    other against it.
    """
    return (u.earthed_end == "start") != down


def _primaries(c: Candidate, j: _Joints, supply: str, fed: str, back: str) -> None:
    down = {u.instance for g in c.down for u in g}
    tapped = {u.instance for u in c.both}
    several = len(c.strings) > 1
    for n, string in enumerate(c.strings, start=1):
        at = fed
        if c.own:
            at = f"fed_{n}" if several else "fed"
            _wire(c.own[n - 1], j, supply, at, [10 * n])
        for k, u in enumerate(string):
            first, last = f"{u.instance}.primary_start", f"{u.instance}.primary_finish"
            if u.instance not in tapped and _is_swapped(u, u.instance in down):
                first, last = last, first
            after = back if k == len(string) - 1 else f"between_{n}_{k + 1}" if several else f"between_{k + 1}"
            j.add(at, first)
            j.add(after, last)
            at = after


def _stack(c: Candidate, j: _Joints, groups: tuple[tuple[Unit, ...], ...], side: str, base: str) -> None:
    """Wire one side's windings from the base outwards."""
    below = base
    for level, group in enumerate(groups, start=1):
        above = f"hot_{side}" if level == len(groups) else f"link_{side}_{level}"
        for u in group:
            inner, outer = u.earthed_end, "finish" if u.earthed_end == "start" else "start"
            j.add(above, f"{u.instance}.high_{outer}")
            plain = level == 1 and base == "ground"
            on_core = u.tied == u.earthed_end and not (c.cores == "lifted" and level > 1)
            core_at = below if c.cores == "floating" or not (plain or c.cores == "lifted") else "ground"
            if c.mains_in_series and level == 1:
                core_at = below
            j.add(core_at, f"{u.instance}.core")
            if not on_core:
                j.add(below, f"{u.instance}.high_{inner}")
        below = above
