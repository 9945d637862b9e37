"""What goes wrong becomes one screen on stderr, or one document on stdout with --json, and the right exit code."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import pytest

import coilwright.project.load
from cli.doors import Done, assert_one_screen, assert_valid
from coilwright.cli.failure import problems_text
from coilwright.errors import InputError, InternalError, ModelRangeError, Problem, SolverError

Run = Callable[..., Done]
ONE = Problem("transformer[0].plate_power", 12, "found 1000, expected a power with its unit", 'Write "1000 VA".')

CASES = [
    (InputError([ONE]), 2, "transformer[0].plate_power"),
    (PermissionError(errno.EACCES, "Permission denied", "here.coil.toml"), 2, "Permission denied"),
    (OSError(errno.ENOSPC, "No space left on device", "book.pdf"), 2, "make room"),
    (SolverError("residual 1e-3 after 50 steps", 1e-3, 50), 1, "no number is shown"),
    (ModelRangeError("0.1 mm is below the table's 0.5 mm"), 1, "below the table's"),
    (InternalError("the fit returned nothing"), 3, "a mistake in coilwright: the fit returned nothing"),
    (ZeroDivisionError("division by zero\nsecond line"), 3, "ZeroDivisionError): division by zero"),
    (RecursionError(), 3, "RecursionError"),
]


@pytest.fixture
def raising(monkeypatch: pytest.MonkeyPatch) -> Callable[[BaseException], None]:
    """Return a function that makes the opening of any project raise."""

    def arrange(error: BaseException) -> None:
        def load(path: str) -> None:
            raise error

        monkeypatch.setattr(coilwright.project.load, "load", load)

    return arrange


@pytest.mark.parametrize(("error", "code", "words"), CASES, ids=lambda v: type(v).__name__)
def test_every_failure_has_its_code_and_one_screen(
    run: Run, raising: Callable[[BaseException], None], error: Exception, code: int, words: str
) -> None:
    raising(error)
    done = run("check", "here.coil.toml")
    assert (done.code, done.out) == (code, "")
    assert_one_screen(done.err)
    assert words in done.said
    assert "->" in done.err, "no way out is named"


@pytest.mark.parametrize(("error", "code", "words"), CASES, ids=lambda v: type(v).__name__)
def test_every_failure_is_a_document_with_json(
    run: Run, raising: Callable[[BaseException], None], error: Exception, code: int, words: str
) -> None:
    raising(error)
    done = run("supply", "here.coil.toml", "--json")
    assert (done.code, done.err) == (code, "")
    assert_valid(done.document, "problems")


def test_problem_keeps_its_fields_in_json(run: Run, raising: Callable[[BaseException], None]) -> None:
    raising(InputError([ONE]))
    assert run("plan", "x", "--json").document == {
        "problems": [{"where": ONE.where, "line": 12, "message": ONE.message, "hint": ONE.hint}]
    }


def test_line_is_named_with_the_file(run: Run, raising: Callable[[BaseException], None]) -> None:
    raising(InputError([ONE]))
    first = run("plan", "bench/my.coil.toml").err.splitlines()[0]
    assert first.startswith("bench/my.coil.toml:12: transformer[0].plate_power: found 1000")


def test_many_problems_stay_on_one_screen_and_all_shows_every_one(
    run: Run, raising: Callable[[BaseException], None]
) -> None:
    raising(
        InputError(
            [Problem(f"choke[{i}].resistance", i + 1, "found 1, expected a resistance", "Write it.") for i in range(60)]
        )
    )
    done = run("check", "x.coil.toml")
    assert_one_screen(done.err)
    assert done.err.startswith("x.coil.toml: 60 problems\n")
    assert "and 53 more" in done.err
    every = run("check", "x.coil.toml", "--all")
    assert every.code == 2
    assert all(f"choke[{i}].resistance" in every.err for i in range(60))
    assert len(run("check", "x.coil.toml", "--json").document["problems"]) == 60


def test_a_message_cannot_move_the_cursor_or_flood_the_screen() -> None:
    text = problems_text([Problem("a\x1b[2Jb", 1, "bell\x07 and\nlines\r" + "x" * 5000, "h")], "f\x1b.toml")
    assert_one_screen(text)
    assert "\x1b" not in text


def test_debug_shows_where_it_happened(
    run: Run, raising: Callable[[BaseException], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    raising(ZeroDivisionError("division by zero"))
    monkeypatch.setenv("COILWRIGHT_DEBUG", "1")
    done = run("check", "x")
    assert done.code == 3
    assert "Traceback" in done.err and "ZeroDivisionError" in done.err
    monkeypatch.setenv("COILWRIGHT_DEBUG", "0")
    assert "Traceback" not in run("check", "x").err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()], ids=["interrupt", "abort"])
def test_interrupted_says_cancelled(run: Run, raising: Callable[[BaseException], None], error: BaseException) -> None:
    raising(error)
    assert run("shelf", "x") == Done(130, "", "cancelled\n")


@pytest.mark.parametrize(
    "words",
    [("supply",), ("frobnicate",), ("supply", "x", "--frob"), ("book", "x", "--paper", "a5"), ("check", "x", "y")],
)
def test_wrong_usage_is_wrong_input(run: Run, words: tuple[str, ...]) -> None:
    done = run(*words)
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert "--help" in done.err
    as_json = run(*words, "--json")
    assert as_json.code == 2
    assert_valid(as_json.document, "problems")


@pytest.mark.parametrize("words", [("schema", "demo"), ("schema",)], ids=["much", "little"])
def test_a_reader_that_goes_away_is_no_error(tmp_path: Path, words: tuple[str, ...]) -> None:
    program = [sys.executable, "-c", "import sys; from coilwright.cli import main; sys.exit(main())", *words]
    started = subprocess.Popen(program, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=tmp_path)
    assert started.stdout is not None and started.stderr is not None
    started.stdout.close()
    assert started.wait(60) == 141
    assert started.stderr.read() == b""
    started.stderr.close()


def test_a_full_disk_behind_stdout_is_said(tmp_path: Path) -> None:
    program = [sys.executable, "-c", "import sys; from coilwright.cli import main; sys.exit(main())", "schema", "demo"]
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            program, stdout=full, stderr=subprocess.PIPE, text=True, check=False, cwd=tmp_path, timeout=60
        )
    assert done.returncode == 2
    assert_one_screen(done.stderr)
    assert "No space left on device" in done.stderr


def test_ctrl_c_in_a_real_process(tmp_path: Path) -> None:
    code = (
        "import sys, time, coilwright.project.load as l\n"
        "def load(path):\n    print('ready', flush=True)\n    time.sleep(60)\n"
        "l.load = load\n"
        "from coilwright.cli import main\nsys.exit(main(['shelf', 'x']))\n"
    )
    started = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path
    )
    assert started.stdout is not None
    assert started.stdout.readline() == "ready\n"
    started.send_signal(signal.SIGINT)
    _, err = started.communicate(timeout=60)
    assert (started.returncode, err) == (130, "cancelled\n")


def test_output_survives_a_terminal_without_the_signs(spawn: Run) -> None:
    done = spawn("schema", "supply", env={"PYTHONIOENCODING": "ascii"})
    assert done.code == 0
    assert "Traceback" not in done.err


def test_help_is_quick_and_light(tmp_path: Path) -> None:
    code = "import sys; from coilwright.cli import main; main(['--help']); print(sorted(sys.modules), file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path, timeout=60
    )
    loaded = {name.strip("'[] ").partition(".")[0] for name in done.stderr.split(",")}
    assert "click" in loaded
    assert loaded & {"numpy", "scipy", "pydantic", "rich", "matplotlib", "tomlkit", "typst", "jsonschema"} == set()
    # seconds of processor time, which a busy machine does not stretch; the best of five
    spent = []
    for _ in range(5):
        before = os.times()
        subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, cwd=tmp_path, timeout=60)
        after = os.times()
        spent.append(after.children_user + after.children_system - before.children_user - before.children_system)
    assert min(spent) < 0.3
