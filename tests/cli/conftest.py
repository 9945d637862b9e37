"""Fixtures that run the program, in this process or as one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import coilwright.analyses.gates  # bound to the real analyses before a test puts stand-ins in their place
import coilwright.analyses.slips  # noqa: F401  # as the next one
from cli.doors import Done
from coilwright.cli import main
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.site import Air, Breaker, Room, Site


@pytest.fixture
def design() -> Design:
    """Return a design with nothing on the shelf."""
    air = Air(Known(290.0), None, Known(0.6))
    site = Site(
        Known(230.0),
        Known(50.0),
        Known(0.35),
        Known(2e-4),
        Known(Breaker(16.0, "B")),
        Known(0.03),
        Known("line and neutral"),
        Known("TN"),
        Known("fixed wiring"),
        Known(120.0),
        air,
        Room(),
    )
    return Design("made up", site, path="made-up.coil.toml", digest="0123abcd")


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    """Return a function that runs the program in this process."""

    def command(*words: object) -> Done:
        code = main([str(word) for word in words])
        captured = capfd.readouterr()
        return Done(code, captured.out, captured.err)

    return command


@pytest.fixture
def spawn(tmp_path: Path) -> Callable[..., Done]:
    """Return a function that runs the program as a process of its own, in an empty folder."""

    def command(*words: object, env: dict[str, str] | None = None, **options: Any) -> Done:
        arguments = [
            sys.executable,
            "-c",
            "import sys; from coilwright.cli import main; sys.exit(main())",
            *map(str, words),
        ]
        done = subprocess.run(
            arguments,
            capture_output=True,
            text=True,
            check=False,
            timeout=100,
            env={**os.environ, **(env or {})},
            **{"cwd": tmp_path, **options},
        )
        return Done(done.returncode, done.stdout, done.stderr)

    return command
