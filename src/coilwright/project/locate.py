"""Where each key of a TOML text stands: lines for messages, and spans for editing without disturbing a byte elsewhere.

The text must already have been accepted by a TOML parser; this walk finds places, it does not judge.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

Path = tuple[str | int, ...]
Kind = Literal["table", "element", "value", "item"]

#: Places beyond this number are not recorded; a message about them names the enclosing table's line.
MOST_PLACES: Final = 200_000

_BLANK: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE: Final = re.compile(r"[ \t]*")
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}#\r\n]+")
_STRING: Final = re.compile(
    r"""
    "{3} (?: [^"\\] | \\. | "{1,2}(?!") )* "{3,5}    # basic, over several lines
    | '{3} (?: [^'] | '{1,2}(?!') )* '{3,5}          # literal, over several lines
    | " (?: [^"\\\n] | \\. )* "
    | ' [^'\n]* '
    """,
    re.DOTALL | re.VERBOSE,
)


@dataclass(frozen=True)
class Place:
    """One key, table header or array item. ``key`` and ``value`` are offsets (start, end) into the text.

    For a table header ``key`` spans the whole header and ``value`` is empty at its end. ``statement`` is True for a
    key written on a line of its own.
    """

    path: Path
    kind: Kind
    line: int
    key: tuple[int, int]
    value: tuple[int, int]
    statement: bool = False


def path_text(path: Path) -> str:
    """Return a path as messages write it.

    Examples
    --------
    >>> path_text(("transformer", 0, "open_test", 1, "current"))
    'transformer[0].open_test[1].current'
    """
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def path_steps(text: str) -> Path:
    """Return the path that `path_text` wrote.

    Examples
    --------
    >>> path_steps("transformer[0].open_test[1].current")
    ('transformer', 0, 'open_test', 1, 'current')
    """
    steps = re.findall(r"\[(\d+)\]|([^.\[\]]+)", text)
    return tuple(int(index) if index else name for index, name in steps)


@dataclass
class _Walk:
    text: str
    at: int = 0
    places: list[Place] = field(default_factory=list)
    counts: dict[Path, int] = field(default_factory=dict)
    starts: list[int] = field(default_factory=list)

    def run(self) -> list[Place]:
        self.starts = [0, *(m.end() for m in re.finditer("\n", self.text))]
        table: Path = ()
        self.skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table, statement=True)
            self.skip(_BLANK)
        return self.places

    def skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def note(
        self, path: Path, kind: Kind, key: tuple[int, int], value: tuple[int, int], *, statement: bool = False
    ) -> None:
        if len(self.places) < MOST_PLACES:
            self.places.append(Place(path, kind, bisect_right(self.starts, key[0]), key, value, statement))

    def header(self) -> Path:
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        parts = self.key_parts()
        self.at += 2 if double else 1
        path: Path = ()
        for number, part in enumerate(parts):
            path += (part,)
            if double and number == len(parts) - 1:
                self.counts[path] = self.counts.get(path, -1) + 1
            if path in self.counts:
                path += (self.counts[path],)
        self.note(path, "element" if double else "table", (start, self.at), (self.at, self.at))
        return path

    def key_parts(self) -> tuple[str, ...]:
        """Read a possibly dotted key; leaves ``at`` behind it and the space that follows."""
        parts: list[str] = []
        while True:
            self.skip(_SPACE)
            if self.text[self.at] in "\"'":
                match = _STRING.match(self.text, self.at)
                parts.append(str(tomllib.loads(f"k = {match[0]}")["k"]) if match else "")
            else:
                match = _BARE.match(self.text, self.at)
                parts.append(match[0] if match else "")
            if match is None:
                raise ValueError(f"no key at offset {self.at}")
            self.at = match.end()
            self.skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return tuple(parts)
            self.at += 1

    def pair(self, table: Path, *, statement: bool = False) -> None:
        start = self.at
        path = table + self.key_parts()
        end = start + len(self.text[start : self.at].rstrip(" \t"))
        self.at += 1  # the equals sign
        self.skip(_SPACE)
        number = len(self.places)
        self.note(path, "value", (start, end), (self.at, self.at), statement=statement)
        value_start = self.at
        self.value(path)
        if number < len(self.places):
            first = self.places[number]
            self.places[number] = Place(path, "value", first.line, first.key, (value_start, self.at), statement)

    def value(self, path: Path) -> None:
        first = self.text[self.at]
        if first in "\"'":
            self.skip(_STRING)
        elif first == "[":
            self.array(path)
        elif first == "{":
            self.inline_table(path)
        else:
            start = self.at
            self.skip(_SCALAR)
            self.at = start + len(self.text[start : self.at].rstrip())

    def array(self, path: Path) -> None:
        self.at += 1
        index = 0
        self.skip(_BLANK)
        while self.text[self.at] != "]":
            start, number = self.at, len(self.places)
            item: Path = (*path, index)
            self.note(item, "item", (start, start), (start, start))
            self.value(item)
            if number < len(self.places):
                self.places[number] = Place(item, "item", self.places[number].line, (start, start), (start, self.at))
            index += 1
            self.skip(_BLANK)
            if self.text[self.at] == ",":
                self.at += 1
                self.skip(_BLANK)
        self.at += 1

    def inline_table(self, path: Path) -> None:
        self.at += 1
        self.skip(_BLANK)
        while self.text[self.at] != "}":
            self.pair(path)
            self.skip(_BLANK)
            if self.text[self.at] == ",":
                self.at += 1
                self.skip(_BLANK)
        self.at += 1


def places(text: str) -> tuple[Place, ...]:
    """Return every key, header and array item of a valid TOML text, in the order in which they stand.

    Raises
    ------
    RecursionError
        If arrays or inline tables are nested beyond all use.
    """
    return tuple(_Walk(text).run())


def lines(found: tuple[Place, ...]) -> dict[str, int]:
    r"""Return the line of every key path; of a table that no header opens, the line of its first key.

    Examples
    --------
    >>> lines(places("[[choke]]\nid = 'B1'\ntest = [\n  { voltage = '90 V' } ]\n"))["choke[0].test[0].voltage"]
    4
    """
    found_lines: dict[str, int] = {}
    for place in found:
        for length in range(1, min(len(place.path), 12)):
            found_lines.setdefault(path_text(place.path[:length]), place.line)
        found_lines.setdefault(path_text(place.path[:12]), place.line)
    return found_lines


def line_of(known: Mapping[str, int], where: str) -> int | None:
    """Return the line of a key path, or of the nearest enclosing key that has one."""
    while where and where not in known:
        cut = max(where.rfind("."), where.rfind("["))
        where = where[:cut] if cut > 0 else ""
    return known.get(where)
