"""The one place where a command's outcome, good or bad, becomes output and an exit code."""

from __future__ import annotations

import errno
import os
import sys
import traceback
from collections.abc import Sequence

import click

from coilwright.cli.failure import CANCELLED, FAILED, ONE_SCREEN, WRONG_INPUT, FileInputError, show_problems
from coilwright.errors import CoilwrightError, InputError, InternalError, ModelRangeError, Problem, SolverError

#: What a shell reports for a program that stopped because nobody was left to read its output (128 + SIGPIPE).
NOBODY_READS = 141
#: Our own mistake, kept apart from an open STOP (1) and from wrong input (2).
OUR_MISTAKE = 3


def run(arguments: Sequence[str] | None = None) -> int:
    """Run one command line and return the exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    as_json = "--json" in words
    _tolerant_streams()
    try:
        code = _run_command(words, as_json=as_json)
        sys.stdout.flush()
    except BrokenPipeError:
        _mute_stdout()
        return NOBODY_READS
    except OSError as error:  # the last flush of the result: the disk behind stdout is full
        _mute_stdout()
        show_problems([_of_system(error)], as_json=False)
        return WRONG_INPUT
    return code


def _run_command(words: list[str], *, as_json: bool) -> int:
    from coilwright.cli.app import program

    debug = os.environ.get("COILWRIGHT_DEBUG") == "1"
    try:
        with program.make_context("coilwright", words or ["--help"]) as context:
            outcome = program.invoke(context)
        return outcome if isinstance(outcome, int) else 0
    except click.exceptions.Exit as end:
        return end.exit_code
    except (KeyboardInterrupt, click.Abort):
        click.echo("cancelled", err=True)
        return CANCELLED
    except click.ClickException as error:
        show_problems([_of_usage(error)], as_json=as_json)
        return WRONG_INPUT
    except BrokenPipeError:
        raise
    except InputError as error:
        path = error.path if isinstance(error, FileInputError) else None
        show_problems(error.problems, as_json=as_json, path=path, limit=None if "--all" in words else ONE_SCREEN)
        return WRONG_INPUT
    except OSError as error:
        if debug:
            traceback.print_exc()
        show_problems([_of_system(error)], as_json=as_json)
        return WRONG_INPUT
    except (SolverError, ModelRangeError) as error:
        if debug:
            traceback.print_exc()
        show_problems([_of_model(error)], as_json=as_json)
        return FAILED
    except Exception as error:  # noqa: BLE001  # the door: whatever it is, the builder gets a message and not a traceback
        if debug:
            traceback.print_exc()
        show_problems([_of_mistake(error)], as_json=as_json)
        return OUR_MISTAKE


def _of_usage(error: click.ClickException) -> Problem:
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "coilwright"
    return Problem(path, None, error.format_message(), f"see `{path} --help`")


def _of_system(error: OSError) -> Problem:
    where = str(error.filename) if error.filename else "output"
    hints = {
        errno.ENOSPC: "make room on that disk, or write somewhere else with --out",
        errno.EACCES: "choose a place where you may write, or change the permissions",
        errno.EROFS: "choose a place that can be written",
        errno.ENOENT: "check the name; nothing of that name is there",
        errno.EISDIR: "name a file, not a folder",
        errno.EFBIG: "make room, or write somewhere else with --out",
    }
    message = error.strerror or str(error) or type(error).__name__
    hint = hints.get(error.errno or 0, "check that the file can be read and the folder can be written")
    return Problem(where, None, message, hint)


def _of_model(error: CoilwrightError) -> Problem:
    if isinstance(error, SolverError):
        return Problem(
            "solver",
            None,
            f"no converged answer, so no number is shown: {error}",
            "change the load or the arrangement, or check the readings of the parts it uses",
        )
    return Problem(
        "model",
        None,
        f"asked outside the range in which the formula is known: {error}",
        "check the values it names; no number is shown for it",
    )


def _of_mistake(error: Exception) -> Problem:
    kind = "a mistake in coilwright"
    if not isinstance(error, InternalError):
        kind += f" ({type(error).__name__})"
    text = str(error).splitlines()[0][:300] if str(error) else "no further message"
    return Problem(
        "coilwright",
        None,
        f"{kind}: {text}",
        "COILWRIGHT_DEBUG=1 shows where it happened; please report it together with the project file",
    )


def _tolerant_streams() -> None:
    """Let a stream that cannot show a sign replace it instead of failing in the middle of a table."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _mute_stdout() -> None:
    """Point stdout at nothing, so that the interpreter's own last flush cannot fail again."""
    try:
        descriptor = sys.stdout.fileno()
    except (OSError, ValueError):
        return
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, descriptor)
    os.close(null)
