"""Checks of the arrangements: what their joints name, what they short-circuit, what is crossed or lifted."""

from __future__ import annotations

import re
from collections.abc import Mapping

from coilwright.project.checks import PART_SECTIONS, Data, Findings, section, sections, words
from coilwright.project.checks_feeding import check_fed
from coilwright.project.fields import nearest, one_of
from coilwright.project.network import TERMINALS, WINDINGS, Network, Unit, tied_to
from coilwright.units import quote


def check_arrangements(data: Data) -> Findings:
    """Return what is wrong in each arrangement of the file."""
    findings = Findings()
    units: dict[str, Unit] = {}
    for kind in PART_SECTIONS:
        for _, table in sections(data, kind):
            id_, count = table.get("id"), table.get("count", 1)
            if isinstance(id_, str):
                several = isinstance(count, int) and not isinstance(count, bool) and 1 < count <= 10_000
                names = [f"{id_}.{n}" for n in range(1, count + 1)] if several else [id_]
                units.update({name: Unit(name, kind, table) for name in names})
    split = section(data, "site").get("system") in {"split phase", "two phases"}
    others = {
        t["id"]: k
        for k in ("instrument", "wire", "former", "top")
        for _, t in sections(data, k)
        if isinstance(t.get("id"), str)
    }
    for where, table in sections(data, "arrangement"):
        joints = table.get("joint")
        if isinstance(joints, dict):
            a = Network(where, table, findings, units, split)
            before = len(findings.found)
            _collect(a, joints, others)
            named = len(findings.found) == before
            _outputs(a, joints)
            _crossings(a)
            _shorts(a)
            if named:  # with a terminal unknown, what it feeds is unknown too
                check_fed(a, joints)
    return findings


# ---- what the joints name --------------------------------------------------------------------------------------------


def _collect(a: Network, joints: Data, others: Mapping[str, str]) -> None:
    for name, listed in joints.items():
        path = f"{a.where}.joint.{name}"
        if not re.fullmatch(r"[^\W\d]\w*", name):
            a.findings.error(
                path, f"the joint {quote(name)} has no plain name", "Use letters, digits and _, a letter first."
            )
        if not isinstance(listed, list):
            continue
        if not listed:
            a.findings.error(
                path, f"the joint {name} is empty", "Name the terminals that meet there, or leave the joint out."
            )
        for index, terminal in enumerate(listed):
            if not isinstance(terminal, str):
                continue
            place = f"{path}[{index}]"
            if not _exists(a, terminal, place, others):
                continue
            if terminal in a.joint_of:
                first = a.joint_of[terminal][0]
                again = "twice in this joint" if first == name else f"in the joint {first} as well"
                hint = (
                    "Leave out one of the two."
                    if first == name
                    else f"One terminal is in one joint: join {first} and {name}, or take it out."
                )
                a.findings.error(place, f"{terminal} is {again}", hint)
            else:
                a.joint_of[terminal] = (name, place)


def _exists(a: Network, terminal: str, place: str, others: Mapping[str, str]) -> bool:
    head, _, tail = terminal.partition(".")
    if head == "mains":
        return _mains(a, tail, place)
    if not tail:
        bare = f"{head}.{TERMINALS[a.units[head].kind][0]}" if head in a.units else "T1.high_start"
        a.findings.error(
            place, f"{quote(terminal)} names no terminal", f'Write the part and its terminal, for example "{bare}".'
        )
        return False
    unit_name, _, end = terminal.rpartition(".")
    unit = a.units.get(unit_name)
    if unit is not None:
        return _end(a, unit, end, place)
    several = f"{head}.1" in a.units
    if several:
        count = a.units[f"{head}.1"].table["count"]
        which = "names none of its pieces" if "." in tail else "does not say which piece"
        last = tail.rpartition(".")[2] or TERMINALS[a.units[f"{head}.1"].kind][0]
        a.findings.error(
            place,
            f"{quote(terminal)} {which}: {head} has a count of {count}",
            f'Write "{head}.1.{last}" to "{head}.{count}.{last}".',
        )
    elif head in a.units:
        a.findings.error(
            place,
            f"{quote(terminal)} counts pieces, and {head} is one",
            f'Write "{head}.{tail.rpartition(".")[2] or "a"}", or give {head} a count.',
        )
    elif head in others:
        a.findings.error(
            place,
            f"{head} is in [[{others[head]}]], which has no terminals",
            f"Terminals are those of {one_of(PART_SECTIONS)}.",
        )
    else:
        ids = sorted({u.partition(".")[0] for u in a.units} | {"mains"})
        near = nearest(head, ids)
        hint = f'Did you mean "{near}{terminal[len(head) :]}"?' if near else f"There are: {', '.join(ids[:12])}."
        a.findings.error(place, f"{quote(terminal)} names no part of the shelf", hint)
    return False


def _mains(a: Network, tail: str, place: str) -> bool:
    known = ("line", "neutral", "earth", "line_2") if a.split else ("line", "neutral", "earth")
    if tail in known:
        return True
    if tail == "line_2":
        hint = 'Write system = "split phase" or "two phases" in [site], or use mains.line and mains.neutral.'
        a.findings.error(place, "mains.line_2 does not exist: the site has one line and neutral", hint)
        return False
    near = nearest(tail, known)
    hint = f'Did you mean "mains.{near}"?' if near else f"There are: {', '.join('mains.' + k for k in known)}."
    a.findings.error(place, f"{quote('mains.' + tail)} is no terminal of the mains", hint)
    return False


def _end(a: Network, unit: Unit, end: str, place: str) -> bool:
    known = TERMINALS[unit.kind]
    if end not in known:
        near = nearest(end, known)
        hint = f'Did you mean "{unit.name}.{near}"?' if near else f"There are: {', '.join(known)}."
        a.findings.error(place, f"{quote(f'{unit.name}.{end}')}: a {unit.kind} has no terminal {quote(end)}", hint)
        return False
    if end == "high_tap" and not _tapped(unit.table):
        a.findings.error(
            place, f"{unit.name} has no tap", 'Write core_end = "tap", or give its secondary_resistance_halves.'
        )
        return False
    return True


def _tapped(table: Data) -> bool:
    return table.get("core_end") == "tap" or "secondary_resistance_halves" in table


def _outputs(a: Network, joints: Data) -> None:
    outputs = list(words(a.table, "output"))
    for index, name in outputs:
        if name not in joints:
            near = nearest(name, joints)
            hint = f'Did you mean "{near}"?' if near else f"There are: {', '.join(list(joints)[:12])}."
            a.findings.error(f"{a.where}.output[{index}]", f"the output {quote(name)} names no joint", hint)
    if len(outputs) == 2 and outputs[0][1] == outputs[1][1]:
        a.findings.error(
            f"{a.where}.output",
            f"both ends of the output are the joint {quote(outputs[0][1])}",
            "Name two different joints.",
        )


def _crossings(a: Network) -> None:
    """Check ``reversed``, ``lifted`` and ``shorted``."""
    transformers = sorted(n for n, u in a.units.items() if u.kind == "transformer")
    for key, allowed in (("reversed", WINDINGS), ("shorted", ("high",))):
        for index, name in words(a.table, key):
            unit, _, winding = name.rpartition(".")
            if unit in transformers and winding in allowed:
                continue
            known = [f"{t}.{w}" for t in transformers for w in allowed]
            near = f"{name}.high" if name in transformers else nearest(name, known)
            hint = (
                f'Did you mean "{near}"?'
                if near
                else f"Write a transformer and {one_of(allowed)}: {', '.join(known[:6])}."
            )
            a.findings.error(f"{a.where}.{key}[{index}]", f"{quote(name)} names no winding", hint)
    for index, name in words(a.table, "lifted"):
        place = f"{a.where}.lifted[{index}]"
        if name not in transformers:
            near = nearest(name, transformers)
            hint = f'Did you mean "{near}"?' if near else f"There are: {', '.join(transformers[:12])}."
            a.findings.error(place, f"{quote(name)} names no transformer", hint)
            continue
        table = a.units[name].table
        if table.get("core_end") == "none":
            a.findings.error(
                place,
                f'{name} has no end to lift: its core_end is "none"',
                "Take it out of lifted, or correct core_end.",
            )
        elif table.get("core_end_liftable") == "no":
            a.findings.error(
                place,
                f'the tied end of {name} cannot be lifted: its core_end_liftable is "no"',
                "Leave the end on the core and choose another arrangement.",
            )
    for key in ("reversed", "lifted", "shorted"):
        names = a.names(key)
        for name in sorted({n for n in names if names.count(n) > 1}):
            a.findings.error(
                f"{a.where}.{key}", f"{quote(name)} stands there twice", "Once is enough; twice does not undo it."
            )


# ---- short circuits --------------------------------------------------------------------------------------------------


def _shorts(a: Network) -> None:
    shorted = {n.rpartition(".")[0] for n in a.names("shorted")}
    found: set[str] = set()
    for unit in a.units.values():
        if unit.kind == "transformer":
            for winding, ends in _short_windings(a, unit):
                _report_short(a, unit, winding, ends, shorted, found)
        elif unit.kind == "variable":
            if (joint := _same(a, f"{unit.name}.line", f"{unit.name}.common")) is not None:
                a.findings.error(
                    a.path(f"{unit.name}.common"),
                    f"the joint {joint} short-circuits {unit.name}: line and common meet there",
                    "Put them in different joints.",
                )
        elif (joint := _same(a, f"{unit.name}.a", f"{unit.name}.b")) is not None:
            a.findings.error(
                a.path(f"{unit.name}.b"),
                f"the joint {joint} short-circuits {unit.name}: both its ends are there",
                "Put the ends in different joints.",
            )
    for index, name in words(a.table, "shorted"):
        unit_name = name.rpartition(".")[0]
        if unit_name in a.units and a.units[unit_name].kind == "transformer" and unit_name not in found:
            a.findings.error(
                f"{a.where}.shorted[{index}]",
                f"{name} is not short-circuited by any joint",
                "Put both its ends into one joint, or take it out of shorted.",
            )
    for one, other in (
        ("line", "neutral"),
        ("line", "line_2"),
        ("neutral", "line_2"),
        ("line", "earth"),
        ("line_2", "earth"),
    ):
        if (joint := _same(a, f"mains.{one}", f"mains.{other}")) is not None:
            a.findings.error(
                a.path(f"mains.{other}"),
                f"the joint {joint} short-circuits the mains: {one} and {other} meet there",
                "Put them in different joints.",
            )
    if (joint := _same(a, "mains.neutral", "mains.earth")) is not None:
        a.findings.warning(
            a.path("mains.earth"),
            f"the joint {joint} ties neutral to earth inside the set",
            "That bond is the installation's; behind it an RCD trips, or sees nothing. Use two joints.",
        )


def _same(a: Network, one: str, other: str) -> str | None:
    joint = a.joint(one)
    return joint if joint is not None and joint == a.joint(other) else None


def _short_windings(a: Network, unit: Unit) -> list[tuple[str, tuple[str, str]]]:
    name = unit.name
    pairs = [(w, (f"{name}.{w}_start", f"{name}.{w}_finish")) for w in WINDINGS]
    found = [(winding, ends) for winding, ends in pairs if _same(a, *ends) is not None]
    tied, core = tied_to(a, unit), f"{name}.core"
    halves = ("high_start", "high_finish", "high_tap")
    for end in halves:
        terminal = f"{name}.{end}"
        if tied is not None and terminal != tied and _same(a, core, terminal) is not None:
            found.append(("high", (core, terminal)))
    tap = f"{name}.high_tap"
    to_tap = [("high", (tap, f"{name}.{end}")) for end in halves[:2] if _same(a, tap, f"{name}.{end}") is not None]
    return found + to_tap


def _report_short(
    a: Network, unit: Unit, winding: str, ends: tuple[str, str], shorted: set[str], found: set[str]
) -> None:
    if winding == "high":
        found.add(unit.name)
        if unit.name in shorted:
            return
    tied = f" ({ends[0]} is where the tied end is)" if ends[0].endswith(".core") else ""
    hint = (
        f'Put the ends in different joints; if {unit.name} is meant as a choke, write shorted = ["{unit.name}.high"].'
    )
    a.findings.error(
        a.path(ends[1]),
        f"the joint {a.joint(ends[1])} short-circuits {unit.name}.{winding}: {ends[0]} and {ends[1]} meet there{tied}",
        hint if winding == "high" else "Put the ends in different joints.",
    )
