"""``./run accuracy`` and ``./run benchmark``: measure, and write docs/accuracy.md or docs/benchmark.md."""

from __future__ import annotations

import platform
import sys
from pathlib import Path

import numpy as np

from benchmarks import arrangements, identification, planner, solver, verdicts
from coilwright.analyses.shelf import circuits, shelf
from coilwright.project.load import load
from coilwright.supply.build import build, mains_circuit

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"

NETWORK = """# Accuracy

Written by `./run accuracy`. {machine}

## Network against ngspice

Arrangements are the first ranked rows of the plans of `benchmarks/shelves`; the network is exported and stepped in
time by ngspice (2000 steps a cycle, 160 cycles). This checks the solver, not the part models. Target: 0.1 % rms.
The "fast" columns are the fundamental alone, as a fast estimate uses it; "none" is where it has no answer. The last
column holds the errors of output and mains against the target.

| shelf | arrangement | load | harmonics | output | mains, A | output % | mains % | peak % | fast out % | fast mains % \
| target |
| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |
"""
IDENTIFICATION = """
Worst rms error {worst:.3f} % over {count} cases.

## Identification

Made-up transformers whose iron exponents, core splits, stray loss and temperature differ from what the fit assumes;
meter errors 1 % V, 1.5 % A, 3 % W; three open and three short tests, each ratio twice, two resistances. Targets:
rms error of open volts 1.5 %, no-load current 6 %, short current 2 %; the 95 % band holds the truth in 90 to 98 %;
at most 1 of 200 clean sets raises a STOP or CAUTION. The last column holds every row against them.

| case | quantity | n | rms error | worst | band holds | median half band | false alarms | targets |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |
"""
SOLVER = """# Benchmark

Written by `./run benchmark`. {machine}

## One solve of the demo's pair behind its choke, against ngspice

CPU seconds in one run on one machine; ngspice in batch mode with its start-up taken off. Both at the coarsest
setting (for ngspice: the fewest steps altogether) that gives 0.1 % of output and mains current, and still does one
refinement on. ngspice runs our own export, whose source is raised over the first cycles so that little is left of
switching on: the fairest peer we know. "First" is a network never seen before, "next" another load on a network
whose equations are known, as each further load of a session is, and "in a batch" the share of one of 200 loads from
half to twice the one named, solved at once as a droop curve is, equations included. Target: 500 times.

| load | ngspice needs | ngspice, ms | harmonics to | first, ms | ratio | next, ms | ratio | in a batch, ms | ratio \
| target |
| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |
"""
DROOP = """
The droop curve as the program solves it, {count} loads with all the harmonics that it takes by default, costs
{each:.3f} ms a load.
"""
PLAN = """
## Plan

Least CPU seconds of five, one core, identification apart. Targets: 1 s for 12 parts, 3 s for 18.

| shelf | parts | considered | ranked | CPU, s | target, s | target |
| --- | --- | --- | --- | --- | --- | --- |
"""
PRUNING = """
## Plan against a search that solves every candidate

The same score; target: within 0.02.

| shelf | parts | best | unpruned | considered | CPU, s | unpruned, s | target |
| --- | --- | --- | --- | --- | --- | --- | --- |
"""


def _machine() -> str:
    versions = f"Python {platform.python_version()}, numpy {np.__version__}"
    return f"{versions}, {platform.system()} {platform.machine()}, one core."


def _row(*cells: object) -> str:
    return "| " + " | ".join(str(c) for c in cells) + " |\n"


def _percent(share: float, digits: int = 1) -> str:
    return "none" if np.isnan(share) else f"{100 * share:.{digits}f}"


def accuracy() -> str:
    """Return the accuracy report: arrangements against ngspice, identification against made-up truths."""
    cases = arrangements.compare()
    text = NETWORK.format(machine=_machine())
    for c in cases:
        apart = (_percent(e, 3) for e in (c.voltage_error, c.current_error, c.peak_error))
        fast = (_percent(e) for e in (c.fast_voltage_error, c.fast_current_error))
        figures = (f"{c.voltage:.4g}", f"{c.mains_current:.4g}", *apart, *fast)
        verdict = verdicts.network(c.voltage_error, c.current_error)
        text += _row(c.shelf, c.name, c.load, c.harmonics, *figures, verdict)
    worst = 100 * max(max(c.voltage_error, c.current_error) for c in cases)
    text += IDENTIFICATION.format(worst=worst, count=len(cases))
    for case in identification.CASES:
        out = identification.run_case(case)
        for t in out.tallies:
            name, figures = t.quantity.replace("_", " "), (t.rms_error, t.worst, t.coverage, t.band)
            verdict = verdicts.identification(t.quantity, t.rms_error, t.coverage, out.false_alarms, out.count)
            text += _row(case.label, name, out.count, *(f"{x:.2%}" for x in figures), out.false_alarms, verdict)
    return text


def benchmark() -> str:
    """Return the benchmark report: the solver against ngspice, the planner on shelves and against a full search."""
    design = load(ROOT / "src/coilwright/project/demo.coil.toml").design
    chosen = design.chosen()
    if chosen is None:
        raise RuntimeError("the demo project chooses no arrangement")
    network = build(chosen, circuits(shelf(design)), mains_circuit(design.site))
    text = SOLVER.format(machine=_machine())
    for r in solver.compare(network):
        ours = (r.single_cpu, r.next_cpu, r.batch_cpu)
        cells = [cell for t in ours for cell in (f"{1e3 * t:.3f}", f"{r.ngspice_cpu / t:.0f}")]
        ratios = {n: r.ngspice_cpu / t for n, t in zip(("first", "next", "in a batch"), ours, strict=True)}
        text += _row(r.load, r.ngspice_setting, f"{1e3 * r.ngspice_cpu:.1f}", r.order, *cells, verdicts.speed(ratios))
    count, each = solver.droop(network)
    text += DROOP.format(count=count, each=1e3 * each)
    text += PLAN
    for s in planner.speed():
        verdict = verdicts.plan(s.cpu, s.target)
        text += _row(s.shelf, s.parts, s.considered, s.ranked, f"{s.cpu:.2f}", f"{s.target:g}", verdict)
    text += PRUNING
    for p in planner.pruning():
        scores = (f"{p.best:.4f}", f"{p.unpruned:.4f}")
        cpus = (f"{p.cpu:.2f}", f"{p.cpu_unpruned:.1f}")
        text += _row(p.shelf, p.parts, *scores, p.solved_unpruned, *cpus, verdicts.pruning(p.difference))
    return text


def main() -> int:
    """Write the report named on the command line."""
    reports = {"accuracy": accuracy, "benchmark": benchmark}
    if len(sys.argv) != 2 or sys.argv[1] not in reports:
        sys.stderr.write("usage: python -m benchmarks accuracy|benchmark\n")
        return 2
    text = reports[sys.argv[1]]()
    (DOCS / f"{sys.argv[1]}.md").write_text(text, encoding="utf-8")
    sys.stdout.write(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
