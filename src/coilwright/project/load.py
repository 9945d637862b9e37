"""Read a project file: every problem at once, or a Design."""

from __future__ import annotations

import hashlib
import os
import re
import stat
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from coilwright.errors import InputError, InternalError, Problem
from coilwright.model.design import Design
from coilwright.model.machine import RefusedReading
from coilwright.project.checks import Findings, check_file
from coilwright.project.checks_answers import check_answers
from coilwright.project.checks_network import check_arrangements
from coilwright.project.checks_readings import refuse_readings
from coilwright.project.convert import to_design
from coilwright.project.locate import line_of, lines, places
from coilwright.project.messages import problems_of
from coilwright.project.migrate import migrate
from coilwright.project.schema import FORMAT, FileSpec
from coilwright.units import quote

LARGEST: Final = 1_000_000
#: No hand writes a longer line; within it, no text that a parser may meet can keep it busy.
LONGEST_LINE: Final = 5_000


@dataclass(frozen=True)
class Loaded:
    """A project that was read.

    ``text`` is what the file says (in the present format, where ``migrated_from`` is an older one); ``digest`` and
    ``modified_ns`` are of the bytes on disk, for `save`. ``warnings`` are what the builder should know;
    ``refused_readings`` stand in the file and are not in the design.
    """

    design: Design
    text: str
    digest: str
    path: Path
    modified_ns: int
    size: int
    warnings: tuple[Problem, ...] = ()
    refused_readings: tuple[RefusedReading, ...] = ()
    migrated_from: int | None = None


def load(path: str | Path) -> Loaded:
    """Return the project in a file.

    Raises
    ------
    InputError
        With every problem found: where, line, what was found and expected, and what to do.
    """
    path = Path(path)
    raw, modified_ns = read_bytes(path)
    text = decode(raw, path)
    data = parse_toml(text, path.name)
    digest = hashlib.sha256(raw).hexdigest()
    old = data.get("format")
    migrated = isinstance(old, int) and not isinstance(old, bool) and old < FORMAT
    if migrated:
        text = migrate(text, path.name)
        data = parse_toml(text, path.name)
    design, warnings = _read(text, data, path.name, str(path), digest)
    if migrated:
        note = Problem(
            "format",
            design.line_of("format"),
            f"the file is in format {old}; it was read as format {FORMAT}",
            "Saving it writes the new format; the old file is kept beside it.",
        )
        warnings = (note, *warnings)
    return Loaded(
        design, text, digest, path, modified_ns, len(raw), warnings, design.refused_readings, old if migrated else None
    )


def read_text(
    text: str, name: str = "project", *, path: str | None = None, digest: str = ""
) -> tuple[Design, tuple[Problem, ...]]:
    """Return the Design in a text of the present format, and what the builder should know.

    Raises
    ------
    InputError
        With every problem found.
    """
    return _read(text, parse_toml(text, name), name, path, digest)


def _read(
    text: str, data: dict[str, Any], name: str, path: str | None, digest: str
) -> tuple[Design, tuple[Problem, ...]]:
    try:
        where_lines = lines(places(text))
    except RecursionError:
        raise _too_deep(name) from None
    spec: FileSpec | None = None
    problems: list[Problem] = []
    if isinstance(data.get("format"), int) and data["format"] > FORMAT:
        raise InputError(
            [
                Problem(
                    "format",
                    line_of(where_lines, "format"),
                    f"found format {data['format']}, this version reads up to {FORMAT}",
                    "Install a newer version of coilwright.",
                )
            ]
        )
    try:
        spec = FileSpec.model_validate(data)
    except ValidationError as error:
        problems += problems_of(error, where_lines)
    findings = Findings([*check_file(data).found, *check_arrangements(data).found, *check_answers(data).found])
    found = [(f, Problem(f.where, line_of(where_lines, f.where), f.message, f.hint)) for f in findings.found]
    problems += [p for f, p in found if not f.warning]
    warnings = [p for f, p in found if f.warning]
    if problems:
        raise InputError(sorted(problems, key=lambda p: (p.line or 0, p.where)))
    if spec is None:
        raise InternalError("the schema refused a file without naming a problem")
    design = to_design(spec, path=path, digest=digest, lines=where_lines)
    design, refused = refuse_readings(design)
    warnings += [Problem(r.where, line_of(where_lines, r.where), r.message, r.hint) for r in refused]
    return replace(design, refused_readings=refused), tuple(sorted(warnings, key=lambda p: (p.line or 0, p.where)))


# ---- from disk to a table --------------------------------------------------------------------------------------------


def read_bytes(path: Path) -> tuple[bytes, int]:
    """Return the bytes of a regular file of at most a megabyte, and when it was last modified [ns].

    Raises
    ------
    InputError
        If there is no such file, it cannot be read, or it is too large.
    """

    def refuse(message: str, hint: str) -> InputError:
        return InputError([Problem(str(path), None, message, hint)])

    try:
        # a pipe without a writer would keep an ordinary open waiting for ever
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        near = path.with_name(path.name + ".coil.toml")
        hint = (
            f"Did you mean {near}?"
            if near.exists()
            else "Check the name, or make a project with: coilwright start NAME"
        )
        raise refuse("there is no such file", hint) from None
    except IsADirectoryError:
        raise refuse("found a folder, expected a project file", "Name a file in it that ends in .coil.toml.") from None
    except PermissionError:
        raise refuse("the file may not be read by this user", "Change its permissions, or run as its owner.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refuse(f"the file cannot be opened: {reason}", "Check the name and the disk.") from None
    try:
        info = os.fstat(handle)
        if stat.S_ISDIR(info.st_mode):
            raise refuse("found a folder, expected a project file", "Name a file in it that ends in .coil.toml.")
        if not stat.S_ISREG(info.st_mode):
            raise refuse("found a device or a pipe, expected a project file", "Name a file that ends in .coil.toml.")
        if info.st_size > LARGEST:
            raise refuse(
                f"too large: {info.st_size / 1e6:.1f} MB; limit 1 MB",
                "A project is a few kilobytes of text: is it this file?",
            )
        with os.fdopen(handle, "rb", closefd=False) as stream:
            raw = stream.read(LARGEST + 1)
    except OSError as error:
        raise refuse(f"the file cannot be read: {error.strerror}", "Check the disk.") from None
    finally:
        os.close(handle)
    if len(raw) > LARGEST:
        raise refuse("too large: it grew beyond 1 MB; limit 1 MB", "Is another program writing to it?")
    return raw, info.st_mtime_ns


def decode(raw: bytes, path: Path) -> str:
    """Return the text of the file's bytes; a byte-order mark is dropped.

    Raises
    ------
    InputError
        If the bytes are no UTF-8 text.
    """
    where = str(path)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(where, 1, "found UTF-16 text, expected UTF-8", "Save it as UTF-8 in the editor.")])
    if b"\0" in raw:
        line = raw[: raw.index(b"\0")].count(b"\n") + 1
        raise InputError(
            [
                Problem(
                    where,
                    line,
                    "found a NUL byte, expected text",
                    "This is not a project file, or it was damaged: take an earlier version from beside it.",
                )
            ]
        )
    try:
        return raw.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        byte = raw[error.start]
        raise InputError(
            [
                Problem(
                    where,
                    line,
                    f"found the byte 0x{byte:02x}, which is no UTF-8 text",
                    "Save it as UTF-8 in the editor, or take an earlier version from beside it.",
                )
            ]
        ) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Raises
    ------
    InputError
        If it is no TOML, with the line.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise InputError(
                [
                    Problem(
                        name,
                        number,
                        f"found a line of {len(line)} characters; limit {LONGEST_LINE}",
                        "Break it up, or check that this is the right file.",
                    )
                ]
            )
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _too_deep(name) from None
    except ValueError as error:
        raise InputError([_syntax(str(error), text, name)]) from None


def _too_deep(name: str) -> InputError:
    return InputError([Problem(name, None, "found brackets nested too deeply", "Check that this is the right file.")])


_SYNTAX: Final = (
    ("Cannot overwrite a value", "the same key is set twice in one table", "Leave out one of the two."),
    ("Duplicate inline table key", "the same key is set twice in one table", "Leave out one of the two."),
    ("Cannot declare", "the same table is opened twice", "Join the two, or write [[...]] if there are several."),
    (
        "Cannot redefine namespace",
        "the same table is opened twice",
        "Join the two, or write [[...]] if there are several.",
    ),
    ("Cannot mutate immutable namespace", "a key is added to a finished { } table", "Write it inside the braces."),
    (
        "Expected newline or end of document",
        "something follows the value",
        'A number with its unit is written in quotes: "230 V"; a comment begins with #.',
    ),
    ("Unclosed array", "a list is not closed", "Put a comma between its items and a ] at its end."),
    (
        "Unclosed inline table",
        "a { } table is not closed",
        "Put a comma between its keys and a } at its end, on the same line.",
    ),
    ("Unterminated string", "a text is not closed", "Put the closing quotation mark."),
    ("Expected \"'", "a text is not closed", "Put the closing quotation mark."),
    ("Found invalid character '\\n'", "a text is not closed on its line", "Put the closing quotation mark."),
    ("Found invalid character", "a character that has no place in text stands here", "Take it out."),
    ("Illegal character '\\n'", "a text is not closed on its line", "Put the closing quotation mark."),
    ("Illegal character", "a character that has no place in text stands here", "Take it out."),
    ("Unescaped '\\'", "a backslash stands in a text", "Write two backslashes, or use 'single quotes'."),
    (
        "Invalid statement",
        "this is neither a key nor a header",
        "Write key = value, [table], or begin the line with # if it is a comment.",
    ),
    (
        "Expected '=' after a key",
        "an equals sign is missing",
        "Write key = value, or begin the line with # if it is a comment.",
    ),
    ("Expected ']", "a header is not closed", "Write [table] or [[table]]."),
    ("Invalid initial character for a key part", "a key is missing", "Write key = value."),
    ("Invalid value", "the value cannot be read", 'Text, and a number with its unit, is written in quotes: "230 V".'),
    ("Invalid date or datetime", "this is not a date of the calendar", "Write it as 2026-03-01."),
    ("Exceeds the limit", "a number has too many digits", "Correct it."),
)


def _syntax(error: str, text: str, name: str) -> Problem:
    """Return a TOML fault in plain words, with the line and what stands there."""
    message, hint = next(
        ((m, h) for start, m, h in _SYNTAX if start in error), ("this is not TOML", "Check the line and the one above.")
    )
    match = re.search(r"at line (\d+)", error)
    all_lines = text.rstrip().split("\n")
    line = int(match[1]) if match else len(all_lines)
    stands = all_lines[min(line, len(all_lines)) - 1].strip()
    if stands.startswith("[") and "Cannot" in error:
        message, hint = (
            "this header clashes with an earlier header or key",
            "Several of one kind are all written [[...]]; else join them.",
        )
    shown = f": {quote(stands, 60)[1:-1]}" if stands else ""
    return Problem(name, line if match or "end of document" in error else None, f"{message}{shown}", hint)
