"""Checks across the file that no single value can answer: ids, references, alternatives, readings.

They look at the parsed TOML itself and step over what is malformed, so that they find their faults also in a file that
has others; the schema has told of the malformed value already.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from coilwright.project.checks_readings import proof_gap
from coilwright.project.checks_rotor import check_rotor
from coilwright.project.checks_tank import check_tank
from coilwright.project.convert import read_built
from coilwright.project.fields import RefusalError, nearest, one_of
from coilwright.project.schema_machine import READINGS
from coilwright.units import UnitError, parse, parse_with_tolerance, quote, show

Data = Mapping[str, Any]

#: Sections whose ids share one list of names.
ID_SECTIONS = ("instrument", "transformer", "choke", "capacitor", "resistor", "variable", "wire", "former", "top")
#: Least volts from line to line of any supply with two lines [V rms]: 200 V less a tenth (common practice, no source).
LEAST_BETWEEN_LINES = 180.0
#: Site with two lines: its usual volts, those of line to neutral over them, its name with an article.
TWO_LINES = {"split phase": ("240 V", 0.5, "a split-phase"), "two phases": ("208 V", 3**-0.5, "a two-phase")}
PART_SECTIONS = ("transformer", "choke", "capacitor", "resistor", "variable")


@dataclass(frozen=True)
class Finding:
    """Something found; ``warning`` is True where the file can be used all the same."""

    where: str
    message: str
    hint: str
    warning: bool = False


@dataclass
class Findings:
    """Collects what the checks find."""

    found: list[Finding] = field(default_factory=list)

    def error(self, where: str, message: str, hint: str) -> None:
        """Note a fault that keeps the file from being used."""
        self.found.append(Finding(where, message, hint))

    def warning(self, where: str, message: str, hint: str) -> None:
        """Note something that the builder should know."""
        self.found.append(Finding(where, message, hint, warning=True))


def sections(data: Data, name: str) -> Iterator[tuple[str, Data]]:
    """Yield (path, table) for each table of a repeated section, malformed ones left out."""
    yield from rows(data, name, "")


def rows(table: Data, key: str, where: str) -> Iterator[tuple[str, Data]]:
    """Yield (path, table) for each table in a list under a key."""
    listed = table.get(key)
    if isinstance(listed, list):
        for index, item in enumerate(listed):
            if isinstance(item, dict):
                yield f"{where}.{key}[{index}]".lstrip("."), item


def section(data: Data, name: str) -> Data:
    """Return a single section, empty where it is missing or malformed."""
    found = data.get(name)
    return found if isinstance(found, dict) else {}


def words(table: Data, key: str) -> Iterator[tuple[int, str]]:
    """Yield (index, text) for each text in a list under a key."""
    listed = table.get(key)
    if isinstance(listed, list):
        yield from ((i, w) for i, w in enumerate(listed) if isinstance(w, str))


def check_file(data: Data) -> Findings:
    """Return what is wrong across the sections, the arrangements left out."""
    findings = Findings()
    ids = _ids(data, findings)
    _references(data, ids, findings)
    _instruments(data, findings)
    _alternatives(data, findings)
    _goal(data, findings)
    _two_lines(data, findings)
    for found in (*check_rotor(section(data, "gap")), *check_tank(data)):
        findings.found.append(Finding(*found))
    _built_readings(data, findings)
    return findings


def _ids(data: Data, findings: Findings) -> dict[str, str]:
    """Return id -> section, and report what is there twice."""
    seen: dict[str, str] = {}
    for name in ID_SECTIONS:
        for where, table in sections(data, name):
            id_ = table.get("id")
            if not isinstance(id_, str):
                continue
            if id_ in seen:
                first = seen[id_]
                findings.error(
                    f"{where}.id",
                    f"the id {quote(id_)} is already taken by {first}",
                    "Give every part and instrument an id of its own.",
                )
            else:
                seen[id_] = where
    return seen


def _refer(findings: Findings, where: str, id_: object, known: list[str], what: str) -> bool:
    """Report an id that names none of the known ones."""
    if not isinstance(id_, str) or id_ in known:
        return isinstance(id_, str)
    near = nearest(id_, known)
    listed = f"There are: {', '.join(known[:8])}." if known else f"The file has no {what}."
    findings.error(where, f"{quote(id_)} names no {what}", f'Did you mean "{near}"?' if near else listed)
    return False


def _of(data: Data, *names: str) -> list[str]:
    return [t["id"] for name in names for _, t in sections(data, name) if isinstance(t.get("id"), str)]


def _references(data: Data, ids: Mapping[str, str], findings: Findings) -> None:
    goal = section(data, "goal")
    for key in ("use", "avoid"):
        for index, id_ in words(goal, key):
            _refer(
                findings,
                f"goal.{key}[{index}]",
                id_,
                [i for i, s in ids.items() if not s.startswith("instrument")],
                "part",
            )
    both = {w for _, w in words(goal, "use")} & {w for _, w in words(goal, "avoid")}
    for id_ in sorted(both):
        findings.error(
            "goal.avoid", f"{id_} is both to be used and to be avoided", "Take it out of one of the two lists."
        )
    strings = section(data, "tank").get("strings")
    if isinstance(strings, dict) and _refer(
        findings, "tank.strings.part", strings.get("part"), _of(data, "capacitor"), "capacitor"
    ):
        _enough(data, strings, findings)
    secondary = section(data, "secondary")
    for key in ("former", "wire"):
        if key in secondary:
            _refer(findings, f"secondary.{key}", secondary[key], _of(data, key), key)
    for where, load in sections(data, "top_load"):
        if "top" in load:
            _refer(findings, f"{where}.top", load["top"], _of(data, "top"), "top load of the shelf")
        elif "form" not in load:
            findings.error(
                where,
                "neither form nor top is given",
                'Add form = "toroid" with its measures, or top = "..." from the shelf.',
            )
    names = [a["name"] for _, a in sections(data, "arrangement") if isinstance(a.get("name"), str)]
    for where, table in sections(data, "arrangement"):
        name = table.get("name")
        if isinstance(name, str) and where != f"arrangement[{names.index(name)}]" and names.count(name) > 1:
            findings.error(
                f"{where}.name",
                f"the name {quote(name)} is already taken by another arrangement",
                "Rename one of them.",
            )
    if "use" in section(data, "supply"):
        _refer(findings, "supply.use", section(data, "supply")["use"], names, "arrangement")


def _enough(data: Data, strings: Data, findings: Findings) -> None:
    series, parallel = strings.get("series"), strings.get("parallel", 1)
    part = next(t for _, t in sections(data, "capacitor") if t.get("id") == strings["part"])
    count = part.get("count", 1)
    if (
        all(isinstance(n, int) and not isinstance(n, bool) for n in (series, parallel, count))
        and series * parallel > count
    ):
        findings.warning(
            "tank.strings",
            f"{series} in series times {parallel} in parallel are {series * parallel} pieces of "
            f"{part['id']}; the shelf has {count}",
            "Correct the count, or get the missing ones.",
        )


def _instruments(data: Data, findings: Findings) -> None:
    """Report readings that name an instrument which the file does not have."""
    known = _of(data, "instrument")

    def walk(table: Data, where: str, depth: int = 0) -> None:
        if depth > 6:  # no reading stands deeper; dotted keys may go on for ever
            return
        for key, value in table.items():
            path = f"{where}.{key}".lstrip(".")
            if key == "instrument" and isinstance(value, str):
                _refer(findings, path, value, known, "instrument")
            elif isinstance(value, dict):
                walk(value, path, depth + 1)
            elif isinstance(value, list):
                for index, item in enumerate(value):
                    if isinstance(item, dict):
                        walk(item, f"{path}[{index}]", depth + 1)

    walk({k: v for k, v in data.items() if k != "instrument"}, "")


def _alternatives(data: Data, findings: Findings) -> None:
    """Report keys that exclude each other, and choices that were not made."""
    _one(section(data, "tank"), "tank", ("capacitance", "strings", "plates"), findings, needed="tank" in data)
    _one(section(data, "gap"), "gap", ("spacing", "voltage"), findings)
    _one(section(data, "secondary"), "secondary", ("winding_diameter", "former"), findings)
    _one(section(data, "secondary"), "secondary", ("wire_diameter", "wire"), findings)
    room = section(data, "site").get("room")
    if isinstance(room, dict) and room.get("outdoors") is True and len(room) > 1:
        findings.error("site.room", "outdoors = true stands beside measures of a room", "Leave out one or the other.")
    for where, table in sections(data, "transformer"):
        for place, row in rows(table, "low_voltage_test", where):
            _low_voltage(row, place, findings)
        for key in ("proof_test", "insulation_test"):
            for place, row in rows(table, key, where):
                _between(row, place, findings)
        for place, row in rows(table, "proof_test", where):
            _proof(data, row, place, findings)
        for place, row in rows(table, "insulation_test", where):
            _insulation(table, row, place, findings)
    for where, table in sections(data, "capacitor"):
        rated = table.get("rated")
        if isinstance(rated, str) and rated.strip() and rated.strip()[-1] in "Vv":
            findings.warning(
                f"{where}.rated",
                f"found {quote(rated)}: neither AC nor DC is said; it counts for neither",
                f'Write "{rated.strip()} AC" or "{rated.strip()} DC", as the can says.',
            )


def _one(table: Data, where: str, keys: tuple[str, ...], findings: Findings, *, needed: bool = False) -> None:
    given = [k for k in keys if k in table]
    if len(given) > 1:
        findings.error(where, f"{' and '.join(given)} are both given, expected one of them", "Leave out all but one.")
    elif needed and not given:
        findings.error(
            where, f"none of {one_of(keys)} is given", f"Add one of them to [{where}], or leave the section out."
        )


def _low_voltage(row: Data, where: str, findings: Findings) -> None:
    fed_low, fed_high = {"applied", "secondary"} & row.keys(), {"applied_high", "low"} & row.keys()
    if len(fed_low) + len(fed_high) == 2 and not (fed_low and fed_high):
        return
    found = ", ".join(sorted(fed_low | fed_high)) or "neither pair"
    findings.error(
        where,
        f"found {found}, expected one pair of readings",
        "Write { applied, secondary } when the primary was fed, { applied_high, low } when the high winding was.",
    )


def _between(row: Data, where: str, findings: Findings) -> None:
    between = row.get("between")
    if isinstance(between, list) and len(between) == 2 and between[0] == between[1]:
        findings.error(
            f"{where}.between", f"both ends are {quote(between[0])}", 'Name two windings, or one and "core".'
        )


def _proof(data: Data, row: Data, where: str, findings: Findings) -> None:
    needed = ("duration", "method", "by", "instrument", "date")
    lacking = [k for k in needed if k not in row]
    if lacking:
        findings.warning(
            where,
            f"the proof test does not say {', '.join(lacking)}: it is ink and clears no STOP",
            "Add what is missing from the test's record; a withstand test is for a qualified person.",
        )
        return
    between, day = row.get("between"), row["date"]
    if row["method"] == "induced" and isinstance(between, list) and {"primary", "core"} == {str(b) for b in between}:
        findings.warning(
            f"{where}.method",
            "an induced test stresses the turns of a winding, not the primary against its core: it clears no STOP",
            "Only an applied test between primary and core does; a withstand test is for a qualified person.",
        )
    named = next((t for _, t in sections(data, "instrument") if t.get("id") == row["instrument"]), {})
    gap = proof_gap(1.0 if "rating" in named else None, day if isinstance(day, date) else None)
    if gap is not None:
        findings.warning(
            where,
            f"the proof test counts as ink and clears no STOP: {gap}",
            "State the tester's rating under [[instrument]], and the day of the test.",
        )


def _insulation(table: Data, row: Data, where: str, findings: Findings) -> None:
    tied, between = table.get("core_end"), row.get("between")
    if (
        tied in {"start", "finish", "tap"}
        and isinstance(between, list)
        and {"high", "core"} == {str(b) for b in between}
    ):
        findings.warning(
            f"{where}.between",
            f'the high winding is on the core (core_end = "{tied}"): this reads the tie',
            "It tells of the insulation only where no end is tied, or the end was lifted for the test.",
        )


def _goal(data: Data, findings: Findings) -> None:
    window = section(data, "goal").get("voltage")
    if isinstance(window, list) and len(window) == 2:
        try:
            low, high = (parse(v, "voltage") for v in window)
        except UnitError:
            return
        if low >= high:
            findings.error(
                "goal.voltage",
                f"found {quote(window[0])} to {quote(window[1])}, expected the lower one first",
                "Swap them, or widen the window.",
            )


def _two_lines(data: Data, findings: Findings) -> None:
    """Report a site of two lines whose mains are those of one socket: they count from line to line, and would be
    halved.
    """
    site = section(data, "site")
    system = site.get("system")
    if system not in TWO_LINES or "mains" not in site:
        return
    stated = site["mains"]
    try:
        volts, _ = parse_with_tolerance(stated.get("value") if isinstance(stated, dict) else stated, "voltage")
    except UnitError:
        return
    usual, share, lead = TWO_LINES[system]
    if volts < LEAST_BETWEEN_LINES:
        each = show(share * volts, "voltage")
        findings.error(
            "site.mains",
            f'found {quote(stated)} with system = "{system}": that is from line to line, {each} from line to neutral; '
            f"expected {show(LEAST_BETWEEN_LINES, 'voltage', trim=True)} or more",
            f'Write mains = "{usual}" for {lead} site, or system = "line and neutral" for a socket of '
            f"{show(volts, 'voltage', trim=True)}.",
        )


def _built_readings(data: Data, findings: Findings) -> None:
    for where, row in sections(data, "reading"):
        what = row.get("what")
        if what not in READINGS:
            continue
        if "value" in row:
            try:
                read_built(str(what), row["value"])
            except (UnitError, RefusalError) as error:
                findings.error(f"{where}.value", error.message, error.hint)
        if what != "polarity":
            if "drive" in row:
                findings.error(
                    f"{where}.drive", f"a reading of {what} has no drive", 'Leave it out, or write what = "polarity".'
                )
            continue
        if "drive" not in row:
            findings.error(
                where,
                "a polarity reading needs its drive",
                'Add drive = { voltage = "12 V", between = ["hot_a", "ground"] }.',
            )
        if not isinstance(row.get("where"), list):
            findings.error(
                f"{where}.where",
                f"found {quote(row.get('where', 'nothing'))}, expected the two joints that were read",
                'Write where = ["hot_b", "ground"].',
            )
        _polarity_joints(data, row, where, findings)


def _polarity_joints(data: Data, row: Data, where: str, findings: Findings) -> None:
    """Report joints that no arrangement has; a reading of an arrangement that is not in use is only set aside."""
    arrangements = [a for _, a in sections(data, "arrangement")]
    use = section(data, "supply").get("use")
    chosen = [a for a in arrangements if a.get("name") == use] or arrangements
    known, in_use = ([name for a in some for name in section(a, "joint")] for some in (arrangements, chosen))
    drive = section(row, "drive")
    away: list[str] = []
    for key, table, path in (("where", row, where), ("between", drive, f"{where}.drive")):
        named = list(words(table, key))
        for index, name in named:
            _refer(findings, f"{path}.{key}[{index}]", name, known, "joint of an arrangement")
        away += [name for _, name in named if name in known and name not in in_use]
        if len(named) == 2 and named[0][1] == named[1][1]:
            findings.error(
                f"{path}.{key}", f"both ends are the joint {quote(named[0][1])}", "Name two different joints."
            )
    if away:
        findings.warning(
            where,
            f"the reading names {one_of(dict.fromkeys(away))}, which the arrangement in use does not have",
            "It belongs to another arrangement; it is used again when that one is.",
        )
