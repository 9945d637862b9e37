"""Run ngspice on exported networks, with the CPU time that it took."""

from __future__ import annotations

import re
import resource
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

EMPTY = "* start-up only\nV1 a 0 SIN(0 1 50)\nR1 a 0 1\n.meas tran v RMS v(a) from=0 to=0.02\n.tran 1e-3 0.02\n.end\n"


@dataclass(frozen=True)
class Run:
    """Measurements by name, and the CPU seconds of the child process."""

    values: dict[str, float]
    cpu: float


def ngspice(text: str, timeout: float = 600.0) -> Run:
    """Run a netlist in batch mode."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "net.cir"
        path.write_text(text)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(
            ["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=timeout, check=False
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    found = re.findall(r"^(\w+)\s*=\s*([-+0-9.eE]+)", done.stdout, flags=re.MULTILINE)
    if not found:
        raise RuntimeError(f"ngspice gave no measurement: {done.stdout[-800:]} {done.stderr[-800:]}")
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Run({name.lower(): float(value) for name, value in found}, cpu)


def start_up(runs: int = 5) -> float:
    """Return the CPU seconds of starting ngspice on next to nothing: the least of some runs."""
    return min(ngspice(EMPTY).cpu for _ in range(runs))
