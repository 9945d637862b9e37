"""The netlist of an arrangement, checked; the voltage class of every net; the stage to which a part belongs.

The stage only decides where a part is drawn. A network that the rules below do not foresee is still drawn whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from coilwright.errors import InputError, Problem
from coilwright.model.design import Arrangement
from coilwright.report.drawing.records import HIGH, TWO_TERMINAL, WiringPart, piece

Voltage = Literal["mains", "earth", "high"]
MAINS = ("line", "line_2", "neutral", "earth")
_TRANSFORMER = ("primary_start", "primary_finish", *HIGH, "heater_start", "heater_finish", "core")
_VARIABLE = ("line", "common", "wiper")
_WAY = {"variable": ("line", "wiper"), **dict.fromkeys(TWO_TERMINAL, ("a", "b"))}  # where the current goes through
_UNREACHED = 10**6


@dataclass(frozen=True)
class Netlist:
    """``joints`` maps a net to its terminals; ``parts`` holds the parts that occur in one, in the order they occur."""

    joints: Mapping[str, tuple[str, ...]]
    parts: Mapping[str, WiringPart]
    output: tuple[str, ...]
    lifted: frozenset[str]
    reversed: frozenset[str]
    chokes: frozenset[str] = frozenset()  # transformers whose high winding is shorted: the primary is a choke

    @cached_property
    def joint_of(self) -> dict[str, str]:
        """Return the net of every terminal in use."""
        return {terminal: joint for joint, terminals in self.joints.items() for terminal in terminals}

    def used(self, terminal: str) -> bool:
        """Return whether the terminal is in a joint."""
        return terminal in self.joint_of

    @cached_property
    def back(self) -> frozenset[str]:
        """Return the joints of the mains return and of the earth, which are drawn at the foot."""
        foot = {"mains.neutral", "mains.earth"}
        return frozenset(joint for joint, terminals in self.joints.items() if foot & set(terminals))

    def holds_mains(self, joint: str, *, earth: bool = True) -> bool:
        """Return whether a mains terminal is in the joint; with ``earth`` false, one other than the earth."""
        return any(t.startswith("mains.") and (earth or t != "mains.earth") for t in self.joints[joint])


def read_netlist(arrangement: Arrangement, parts: Mapping[str, WiringPart]) -> Netlist:
    """Return the netlist of the arrangement.

    Raises
    ------
    InputError
        If a terminal names no part on hand or no terminal of that part, or stands in two joints.
    """
    problems: list[Problem] = []
    known: dict[str, WiringPart] = {}
    seen: dict[str, str] = {}
    for joint, terminals in arrangement.joints.items():
        for terminal in terminals:
            where = f"{arrangement.where or 'arrangement'}.joint.{joint}"
            if seen.get(terminal, joint) != joint:
                problems.append(
                    Problem(
                        where,
                        None,
                        f"{terminal} is in the joints {seen[terminal]} and {joint}",
                        "put it in one of the two, or make the two one joint",
                    )
                )
            seen[terminal] = joint
            owner, _, name = terminal.rpartition(".")
            part = piece(parts, owner)
            names = MAINS if owner == "mains" else terminals_of(part) if part else ()
            if name not in names:
                hint = f"write one of {', '.join(names)}" if names else "name a part on the shelf"
                problems.append(Problem(where, None, f"{terminal} names no terminal", hint))
            elif part:
                known[owner] = part
    if problems:
        raise InputError(problems)
    joints = {joint: tuple(dict.fromkeys(terminals)) for joint, terminals in arrangement.joints.items()}
    output = tuple(dict.fromkeys(joint for joint in arrangement.output if joint in joints))
    return Netlist(
        joints,
        known,
        output,
        frozenset(arrangement.lifted),
        frozenset(arrangement.reversed),
        frozenset(name.removesuffix(".high") for name in arrangement.shorted),
    )


def terminals_of(part: WiringPart) -> tuple[str, ...]:
    """Return the terminals that a joint may name."""
    if part.is_transformer:
        return _TRANSFORMER
    return _VARIABLE if part.kind == "variable" else ("a", "b")


def voltage_classes(net: Netlist) -> dict[str, Voltage]:
    """Return the class of every joint: high where a high winding, or a core with an end tied to it, can drive it.

    What lies behind a choke, capacitor or resistor of a high joint is high too, up to the joints of the mains. A joint
    with the mains earth is of class earth unless a high winding's terminal is in it.
    """
    high = {joint for joint, terminals in net.joints.items() if any(_drives(net, joint, t) for t in terminals)}
    frontier = set(high)
    while frontier:
        frontier = {
            b
            for a in frontier
            if not net.holds_mains(a)
            for b in _through(net, a, TWO_TERMINAL) | _along_windings(net, a)
        } - high
        frontier = {joint for joint in frontier if not net.holds_mains(joint)}
        high |= frontier
    earth = {joint for joint, terminals in net.joints.items() if "mains.earth" in terminals}
    return {joint: "high" if joint in high else "earth" if joint in earth else "mains" for joint in net.joints}


def _drives(net: Netlist, joint: str, terminal: str) -> bool:
    owner, _, name = terminal.rpartition(".")
    part = net.parts.get(owner)
    if part is None or not part.step_up:
        return False
    tied = name == "core" and part.tied != "none" and owner not in net.lifted
    return name in HIGH or (tied and not net.holds_mains(joint))


def _through(net: Netlist, joint: str, kinds: Iterable[str]) -> set[str]:
    """Return the joints at the other side of the parts of those kinds."""
    found: set[str] = set()
    for terminal in net.joints[joint]:
        owner, _, name = terminal.rpartition(".")
        part = net.parts.get(owner)
        if part is None or (part.kind not in kinds and not (owner in net.chokes and "choke" in kinds)):
            continue
        ends = _WAY.get(part.kind, ("primary_start", "primary_finish"))
        if name in ends:
            other = net.joint_of.get(f"{owner}.{ends[1 - ends.index(name)]}")
            found |= {other} if other is not None else set()
    return found


def _along_windings(net: Netlist, joint: str) -> set[str]:
    """Return the joints at the other ends of the windings of a low-voltage unit, and of its tied core."""
    found: set[str] = set()
    for terminal in net.joints[joint]:
        owner, _, name = terminal.rpartition(".")
        part = net.parts.get(owner)
        if part is None or part.step_up:
            continue
        names = (*HIGH, *(("core",) if part.tied != "none" and owner not in net.lifted else ()))
        if name in names:
            found |= {net.joint_of[f"{owner}.{n}"] for n in names if net.used(f"{owner}.{n}")}
    return found


@dataclass(frozen=True)
class Stages:
    """Columns of parts from the mains to the output, and the parts drawn upright between two joints of one side."""

    columns: tuple[tuple[str, ...], ...]
    upright: frozenset[str]
    swapped: frozenset[str]  # two-terminal parts whose b comes first (left, or on top)
    main: int  # the column of the transformers that make the high voltage


def stages(net: Netlist) -> Stages:
    """Return the columns: what lies between mains and transformers, the transformers, what lies behind them."""
    transformers = [key for key, part in net.parts.items() if part.is_transformer]
    front = {key for key in transformers if key not in net.chokes and _feeds_another(net, key)}
    if len(front | net.chokes) == len(transformers):
        front = set()
    hot = {
        net.joint_of[f"{key}.{name}"]
        for key in transformers
        if key not in front | net.chokes
        for name in HIGH
        if net.used(f"{key}.{name}")
    }
    hot = {joint for joint in hot if not net.holds_mains(joint)}
    seeds = {joint for joint in net.joints if net.holds_mains(joint, earth=False)}
    low = _distances(net, seeds, front, barred=hot)
    low.update({joint: 0 for joint in net.joints if joint not in low and net.holds_mains(joint)})
    behind = _distances(net, hot, set(), barred=set(low))
    before_columns: dict[int, list[str]] = {}
    after_columns: dict[int, list[str]] = {}
    upright: set[str] = set()
    swapped: set[str] = set()
    for key, part in net.parts.items():
        if part.is_transformer and key not in front | net.chokes:
            continue
        if part.kind not in TWO_TERMINAL and key not in net.chokes:
            before_columns.setdefault(_entry(net, key, low), []).append(key)
            continue
        ends = [net.joint_of.get(f"{key}.{end}") for end in _WAY.get(part.kind, ("primary_start", "primary_finish"))]
        after = any(joint in behind for joint in ends)
        level, stands, swap = _attitude(part, ends, behind if after else low, low if after else {})
        if stands:  # the return and the earth belong below
            swap = ends[0] in net.back and ends[1] not in net.back
        (after_columns if after else before_columns).setdefault(level, []).append(key)
        upright |= {key} if stands else set()
        swapped |= {key} if swap else set()
    before = [tuple(before_columns[k]) for k in sorted(before_columns)]
    after_ = [tuple(after_columns[k]) for k in sorted(after_columns)]
    last = tuple(key for key in transformers if key not in front | net.chokes)
    return Stages((*before, last, *after_), frozenset(upright), frozenset(swapped), len(before))


def _feeds_another(net: Netlist, key: str) -> bool:
    """Return whether the high winding feeds another unit's primary and the mains do not: a separating unit in front."""
    mains = set(_distances(net, {j for j in net.joints if net.holds_mains(j, earth=False)}, set(), barred=set()))
    start = {net.joint_of[f"{key}.{name}"] for name in HIGH if net.used(f"{key}.{name}")}
    reached = set(_distances(net, start - mains, set(), barred=mains))
    names = {".primary_start", ".primary_finish", ".line"}
    return any(
        t.startswith(f"{other}.") and t[len(other) :] in names
        for joint in reached
        for t in net.joints[joint]
        for other in net.parts
        if other != key
    )


def _distances(net: Netlist, seeds: set[str], front: set[str], barred: set[str]) -> dict[str, int]:
    """Return how many series parts lie between the seeds and each joint; capacitors count where nothing else leads."""
    distance = dict.fromkeys(sorted(seeds), 0)
    for kinds in ({"choke", "resistor", "variable"}, {"choke", "resistor", "variable", "capacitor"}):
        frontier = set(distance)
        while frontier:
            joint = min(frontier, key=lambda j: (distance[j], j))
            frontier.discard(joint)
            onward = _through(net, joint, kinds) | _across(net, joint, front)
            for other in sorted(onward - barred):
                if other not in distance:
                    distance[other] = distance[joint] + 1
                    frontier.add(other)
    return distance


def _across(net: Netlist, joint: str, front: set[str]) -> set[str]:
    """Return the joints of the high windings of the front units whose primary is at this joint."""
    fed = {key for key in front for name in ("primary_start", "primary_finish") if f"{key}.{name}" in net.joints[joint]}
    return {net.joint_of[f"{key}.{name}"] for key in fed for name in HIGH if net.used(f"{key}.{name}")}


def _entry(net: Netlist, key: str, low: Mapping[str, int]) -> int:
    names = ("line", "common") if net.parts[key].kind == "variable" else ("primary_start", "primary_finish")
    entries = [low.get(net.joint_of.get(f"{key}.{name}", ""), 0) for name in names]
    return max(entries)


def _attitude(
    part: WiringPart, ends: list[str | None], near: Mapping[str, int], far: Mapping[str, int]
) -> tuple[int, bool, bool]:
    """Return the column, whether the part stands upright, and whether its b comes first."""
    here = [near.get(joint, _UNREACHED) if joint is not None else _UNREACHED for joint in ends]
    elsewhere = [joint is not None and joint in far for joint in ends]
    reached = [d for d in here if d < _UNREACHED]
    if not reached:
        return 0, False, False
    if any(elsewhere) or (len(reached) == 2 and (here[0] == here[1] or part.kind == "capacitor")):
        return max(reached), True, False
    swap = here[1] < here[0]
    return (max(reached) - 1 if len(reached) == 2 else reached[0]), False, swap


__all__ = ["MAINS", "Netlist", "Stages", "Voltage", "read_netlist", "stages", "terminals_of", "voltage_classes"]
