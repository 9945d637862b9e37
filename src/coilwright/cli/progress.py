"""Progress on stderr: a moving line on a terminal, now and then a plain line elsewhere."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

Report = Callable[[float, str], None]

#: Seconds of silence between two plain lines; nothing is said of work that is done sooner.
BETWEEN_LINES = 2.0


@contextmanager
def progress(title: str) -> Iterator[Report]:
    """Yield the callable ``report(fraction, word)`` for one piece of work; fraction runs from 0 to 1."""
    if sys.stderr.isatty():
        yield from _moving(title)
    else:
        yield from _sparse(title)


def _moving(title: str) -> Iterator[Report]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        TextColumn("{task.percentage:3.0f} %"),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=1.0)

        def report(fraction: float, word: str) -> None:
            bar.update(task, completed=min(max(fraction, 0.0), 1.0), description=f"{title}: {word}" if word else title)

        yield report


def _sparse(title: str) -> Iterator[Report]:
    last = time.monotonic()

    def report(fraction: float, word: str) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last >= BETWEEN_LINES:
            last = now
            click.echo(f"{title}: {100 * min(max(fraction, 0.0), 1.0):.0f} % {word}".rstrip(), err=True)

    yield report
