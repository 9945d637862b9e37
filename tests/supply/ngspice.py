"""Run ngspice on a netlist and read its measurements: the independent time-domain route to the same numbers."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from pathlib import Path


def run(text: str, timeout: float = 110.0) -> dict[str, float]:
    """Return every ``.meas`` result of a batch run, by its name."""
    program = shutil.which("ngspice")
    if program is None:
        raise RuntimeError("these tests need ngspice; `./run test` installs it as root, else: apt-get install ngspice")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "net.cir"
        path.write_text(text)
        done = subprocess.run([program, "-b", str(path)], capture_output=True, text=True, timeout=timeout, check=False)
    found = re.findall(r"^(\w+)\s*=\s*([-+0-9.eE]+)", done.stdout, flags=re.MULTILINE)
    if not found:
        raise RuntimeError(f"ngspice gave no measurement: {done.stdout[-800:]} {done.stderr[-800:]}")
    return {name.lower(): float(value) for name, value in found}
