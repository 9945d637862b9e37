"""Run by the tests in a process of its own: saves, loads or starts a project as a user without privileges.

Usage: python child.py ACTION PATH [LIMIT]. Where the test runs as root, which no permission stops, the child first
becomes the user "nobody". LIMIT bounds the size of files that it may write, in bytes, as a full disk would.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
from pathlib import Path

from coilwright.errors import InputError
from coilwright.project.load import load, read_text
from coilwright.project.migrate import migrate_file
from coilwright.project.save import save
from coilwright.project.start import demo_text, start

NOBODY = 65534


def act(action: str, path: str) -> None:
    """Do what the test asks for."""
    if action == "load":
        load(path)
    elif action == "start":
        start(path, demo=True)
    elif action == "migrate":
        migrate_file(path)
    else:
        loaded = load(path)
        save(path, loaded.text + "# changed\n", loaded.digest)


if __name__ == "__main__":
    read_text(demo_text())  # what is imported late is imported now: "nobody" may not read every interpreter
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    if len(sys.argv) > 3:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), int(sys.argv[3])))
    try:
        act(sys.argv[1], sys.argv[2])
    except InputError as error:
        for problem in error.problems:
            sys.stdout.write(f"{Path(problem.where).name}: {problem.message} | {problem.hint}\n")
        sys.exit(2)
