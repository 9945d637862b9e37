"""How problems are shown: as a document on stdout with --json, else as one screen of lines on stderr."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import PurePath
from typing import Any

import click

from coilwright.errors import InputError, Problem

FAILED = 1
WRONG_INPUT = 2
CANCELLED = 130

#: Problems on one screen of 24 lines, at two to three lines each.
ONE_SCREEN = 7


class FileInputError(InputError):
    """Problems that belong to one file, so that each line can be named with it."""

    def __init__(self, path: str, problems: Sequence[Problem]) -> None:
        self.path = path
        super().__init__(problems)


@contextmanager
def concerning(path: str) -> Iterator[None]:
    """Name the file beside every problem that is found inside."""
    try:
        yield
    except FileInputError:
        raise
    except InputError as error:
        raise FileInputError(path, error.problems) from error


def problem_record(problem: Problem) -> dict[str, Any]:
    """Return a problem as its JSON object."""
    return {"where": problem.where, "line": problem.line, "message": problem.message, "hint": problem.hint}


def problems_text(problems: Sequence[Problem], path: str | None = None, limit: int | None = ONE_SCREEN) -> str:
    """Return the problems as lines ``file:line: where: message``, each with its hint below.

    ``path`` is the file they belong to, if any. At most ``limit`` problems are written out (None: all of them); the
    last line then says how many more there are and how to see them.
    """
    shown = list(problems if limit is None else problems[:limit])
    lines: list[str] = []
    for problem in shown:
        lines.extend(_wrapped(f"{_place(problem, path)}{_one_line(problem.message)}", indent="    "))
        if problem.hint:
            lines.extend(_wrapped(f"  -> {_one_line(problem.hint)}", indent="     "))
    if len(problems) > len(shown):
        lines.append(
            f"... and {len(problems) - len(shown)} more: `coilwright check {path or 'PROJECT'} --all` lists every one"
        )
    return "\n".join(lines)


def show_problems(
    problems: Sequence[Problem], *, as_json: bool, path: str | None = None, limit: int | None = ONE_SCREEN
) -> None:
    """Print problems where the reader looks for them."""
    if as_json:
        document = {"problems": [problem_record(p) for p in problems]}
        click.echo(json.dumps(document, indent=2, allow_nan=False))
        return
    if len(problems) > 1:
        click.echo(f"{path + ': ' if path else ''}{len(problems)} problems", err=True)
    click.echo(problems_text(problems, path, limit), err=True)


def _place(problem: Problem, path: str | None) -> str:
    if problem.where.startswith("--"):  # an option, not a place in the file
        return f"{problem.where}: "
    file, where = path or "", problem.where
    if path is not None and PurePath(where).name == PurePath(path).name:  # the file itself, by name or by whole path
        where = ""
    if problem.line is not None:
        file += f":{problem.line}" if file else f"line {problem.line}"
    parts = [_one_line(part, 160) for part in (file, where) if part]
    return ": ".join(parts) + ": " if parts else ""


def _one_line(text: str, longest: int = 400) -> str:
    printable = "".join(sign if sign.isprintable() else " " for sign in text)
    flat = " ".join(printable.split())
    return flat if len(flat) <= longest else flat[: longest - 4] + " ..."


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, width=100, subsequent_indent=indent, break_on_hyphens=False) or [text]
