"""Volts and currents of arrangements taken from plans of three shelves, against ngspice on the exported network."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from benchmarks.netlists import ngspice
from coilwright.analyses.plan import plan
from coilwright.analyses.shelf import circuits, shelf
from coilwright.analyses.sides import correction_capacitors
from coilwright.analyses.topology import wired_with
from coilwright.errors import SolverError
from coilwright.model.design import Arrangement
from coilwright.project.load import load
from coilwright.report.spice import netlist
from coilwright.supply.build import build, mains_circuit
from coilwright.supply.gap_missing import resonant_capacitance, scan
from coilwright.supply.network import Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, all_states, rms, solve_network

SHELVES = sorted((Path(__file__).parent / "shelves").glob("*.coil.toml"))
PER_SHELF = 3


@dataclass(frozen=True)
class Case:
    """One arrangement at one load, and how far the two programs and the fundamental alone lie apart (relative, rms)."""

    shelf: str
    name: str
    load: str
    harmonics: int
    voltage: float
    mains_current: float
    voltage_error: float
    current_error: float
    peak_error: float
    fast_voltage_error: float
    fast_current_error: float


def _apart(ours: float, theirs: float) -> float:
    return abs(ours / theirs - 1) if theirs else abs(ours)


def _case(shelf_name: str, name: str, load: str, network: Network, state: Steady, short: bool) -> Case:
    read = ngspice(
        netlist(network, cycles=160, ramp_cycles=60, steps_per_cycle=2000, measure=("load",) if short else ())
    )
    got = operating(state, 0.0 if short else None)
    source = max(state.mains_poles, key=lambda n: rms(state.current(n)))
    key = "i_" + source.replace(".", "_")
    output = network.output or ("", "")
    if short:
        ours, theirs, peaks = rms(state.current("load")), read.values["i_load"], 0.0
    else:
        ours, theirs = got.voltage, read.values["v_out"]
        peaks = _apart(got.voltage_peak, max(read.values["v_out_max"], -read.values["v_out_min"]))
    amps = rms(state.current(source))
    try:
        fast = solve_network(network, highest=1, limit=1)
        quick = rms(fast.current("load") if short else fast.voltage(*output)), rms(fast.current(source))
    except SolverError:  # the fundamental alone has no answer here: said as such in the report
        quick = float("nan"), float("nan")
    return Case(
        shelf_name, name, load, state.harmonics.size, ours, amps, _apart(ours, theirs), _apart(amps, read.values[key]),
        peaks, _apart(quick[0], theirs), _apart(quick[1], read.values[key]),
    )  # fmt: skip


def _chosen(path: Path) -> Iterator[tuple[str, Arrangement, Network]]:
    design = load(str(path)).design
    known = shelf(design)
    parts = circuits(known)
    result = plan(design, shelf=known)
    for row in result.ranked[:PER_SHELF]:
        arrangement = result.arrangements[row.arrangement_index]
        if isinstance(arrangement, Arrangement):
            w = wired_with(arrangement, design, parts)
            without = correction_capacitors(w)
            yield row.name, arrangement, build(arrangement, parts, mains_circuit(design.site), without=without)


def compare(limit: int | None = None) -> list[Case]:
    """Return every case: open, loaded, short for each arrangement, and for the first of each shelf its highest tank
    peak.
    """
    cases: list[Case] = []
    for path in SHELVES:
        for k, (name, _, network) in enumerate(_chosen(path)):
            opened = solve_network(network)
            short = solve_network(network.with_load(0.0))
            volts, amps = operating(opened, None).voltage, operating(short, 0.0).current
            middle = network.with_load(volts / amps)
            cases.append(_case(path.stem, name, "open", network, opened, short=False))
            cases.append(_case(path.stem, name, "loaded", middle, solve_network(middle), short=False))
            cases.append(_case(path.stem, name, "short", network.with_load(0.0), short, short=True))
            if k == 0:
                points = scan(network, resonant_capacitance(volts, amps, network.frequency))
                worst = max(points, key=lambda p: p.peak or 0.0)
                tank = network.with_capacitor(worst.capacitance)
                label = f"gap missing, {worst.capacitance * 1e9:.1f} nF"
                cases.append(_case(path.stem, name, label, tank, all_states(tank, starts=40)[0], short=False))
            if limit is not None and len(cases) >= limit:
                return cases
    return cases
