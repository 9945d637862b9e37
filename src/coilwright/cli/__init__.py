"""The command line: thin doors, each of which opens a project, calls one analysis and shows its result.

Only click and the standard library are imported here; everything heavy is imported inside the command that needs it, so
that ``coilwright --help`` answers at once.
"""

from __future__ import annotations

import os
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code: 0 done, 1 a STOP is open or nothing was found, 2 the input is wrong.

    ``arguments`` defaults to those of the process. Never raises and never prints a traceback, except under
    ``COILWRIGHT_DEBUG=1``.
    """
    # The matrices here are small: a threaded linear-algebra library spends more on waking its threads than on the sums.
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    from coilwright.cli.run import run

    return run(arguments)


__all__ = ["main"]
