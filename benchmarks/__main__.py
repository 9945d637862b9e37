"""``./run accuracy`` and ``./run benchmark``: measure, and write docs/accuracy.md or docs/benchmark.md."""

from __future__ import annotations

import platform
import sys
from pathlib import Path
from types import ModuleType

import numpy as np

from benchmarks import arrangements, solver
from coilwright.project.load import load
from coilwright.supply.build import build, mains_circuit

DOCS = Path(__file__).parent.parent / "docs"


def _machine() -> str:
    return f"Python {platform.python_version()}, numpy {np.__version__}, {platform.system()} {platform.machine()}, one core."


def _identification(identification: ModuleType) -> list[str]:
    lines = [
        "Made-up transformers (ovens and signs) whose iron exponents, core splits, stray loss and temperature differ from what the",
        "fit assumes; meter errors 1 % V, 1.5 % A, 3 % W; three open and three short tests, the ratio both ways, two resistances.",
        "Targets: rms error of open volts 1.5 %, no-load current 6 %, short current 2 %; the 95 % band holds the truth in 90 to",
        "98 %; at most 1 of 200 clean sets raises a STOP or CAUTION.", "",
        "| short tests at | quantity | n | rms error | worst | band holds | median half band | false alarms |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]  # fmt: skip
    for shares in ((0.5, 0.8, 1.0), (0.1, 0.17, 0.4)):
        out = identification.run(200, 1, short_shares=shares)
        for t in out.tallies:
            lines.append(
                f"| {', '.join(f'{s:.0%}' for s in shares)} | {t.quantity.replace('_', ' ')} | {out.count} "
                f"| {t.rms_error:.2%} | {t.worst:.2%} | {t.coverage:.1%} | {t.band:.2%} | {out.false_alarms} |"
            )
    return lines


def _plan(planner: ModuleType) -> list[str]:
    lines = [
        "Least CPU seconds of five, one core, identification apart. Targets: 1 s for 12 parts, 3 s for 18.", "",
        "| shelf | parts | considered | ranked | CPU, s | target, s |", "| --- | --- | --- | --- | --- | --- |",
    ]  # fmt: skip
    for row in planner.speed():
        lines.append(
            f"| {row.shelf} | {row.parts} | {row.considered} | {row.ranked} | {row.cpu:.2f} | {row.target:g} |"
        )
    lines += [
        "", "## Plan against a search that solves every candidate", "", "Same score; target: within 0.02.", "",
        "| shelf | parts | best | unpruned | considered | CPU, s | unpruned, s |", "| --- | --- | --- | --- | --- | --- | --- |",
    ]  # fmt: skip
    for row in planner.pruning():
        lines.append(
            f"| {row.shelf} | {row.parts} | {row.best:.4f} | {row.unpruned:.4f} | {row.solved_unpruned} "
            f"| {row.cpu:.2f} | {row.cpu_unpruned:.1f} |"
        )
    return lines


def accuracy() -> None:
    """Compare arrangements with ngspice, and identification with made-up truths."""
    from benchmarks import identification

    cases = arrangements.compare()
    lines = [
        "# Accuracy", "",
        "Written by `./run accuracy`. " + _machine(), "",
        "## Network against ngspice", "",
        "Arrangements are the first ranked rows of the plans of `benchmarks/shelves`; the network is exported and stepped in time",
        "by ngspice (2000 steps a cycle, 160 cycles). This checks the solver, not the part models. Target: 0.1 % rms. The last two",
        "columns are the fundamental alone, as the planner's first screening sees it.", "",
        "| shelf | arrangement | load | harmonics | volts or amperes | mains A | output, % | mains, % | peak, % | fast output, % "
        "| fast mains, % |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]  # fmt: skip
    for c in cases:
        lines.append(
            f"| {c.shelf} | {c.name} | {c.load} | {c.harmonics} | {c.voltage:.4g} | {c.mains_current:.4g} "
            f"| {100 * c.voltage_error:.3f} | {100 * c.current_error:.3f} | {100 * c.peak_error:.3f} "
            f"| {100 * c.fast_voltage_error:.1f} | {100 * c.fast_current_error:.1f} |"
        )
    worst = max(max(c.voltage_error, c.current_error) for c in cases)
    lines += ["", f"Worst rms error {100 * worst:.3f} % over {len(cases)} cases.", "", "## Identification", ""]
    lines += _identification(identification)
    (DOCS / "accuracy.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    sys.stdout.write("\n".join(lines) + "\n")


def benchmark() -> None:
    """Time the solver against ngspice and the planner on whole shelves."""
    from benchmarks import planner

    design = load(str(Path(__file__).parent.parent / "src/coilwright/project/demo.coil.toml")).design
    from coilwright.analyses.shelf import circuits, shelf

    chosen = design.chosen()
    if chosen is None:
        raise RuntimeError("the demo project chooses no arrangement")
    network = build(chosen, circuits(shelf(design)), mains_circuit(design.site))
    lines = [
        "# Benchmark", "", "Written by `./run benchmark`. " + _machine(), "",
        "## One solve of the demo's pair behind its choke, against ngspice", "",
        "CPU seconds in one run on one machine; ngspice in batch mode with its start-up taken off. Both at the coarsest setting that",
        "gives 0.1 % of output and mains current. ngspice runs our own export, whose source is raised over the first cycles so that",
        "little is left of switching on; that is the fairest peer we know. A single solve includes building the equations; the batch",
        "is 200 loads at once, as the droop curve is solved.", "",
        "| load | ngspice needs | ngspice, ms | highest harmonic | single, ms | ratio | in a batch, ms | ratio |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]  # fmt: skip
    for r in solver.compare(network):
        lines.append(
            f"| {r.load} | {r.ngspice_setting} | {1e3 * r.ngspice_cpu:.1f} | {r.order} | {1e3 * r.single_cpu:.2f} "
            f"| {r.ngspice_cpu / r.single_cpu:.0f} | {1e3 * r.batch_cpu:.3f} | {r.ngspice_cpu / r.batch_cpu:.0f} |"
        )
    lines += ["", "## Plan", ""]
    lines += _plan(planner)
    (DOCS / "benchmark.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    sys.stdout.write("\n".join(lines) + "\n")


def main() -> int:
    """Run the report named on the command line."""
    reports = {"accuracy": accuracy, "benchmark": benchmark}
    if len(sys.argv) != 2 or sys.argv[1] not in reports:
        sys.stderr.write("usage: python -m benchmarks accuracy|benchmark\n")
        return 2
    reports[sys.argv[1]]()
    return 0


if __name__ == "__main__":
    sys.exit(main())
