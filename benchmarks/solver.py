"""CPU per solve of a choke-fed pair against ngspice on the same network, both at the coarsest setting that gives 0.1
%.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from benchmarks.netlists import ngspice, start_up
from coilwright.report.spice import netlist
from coilwright.supply.loads import solve_loads
from coilwright.supply.network import Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, solve_network

TARGET = 1e-3
#: (cycles, of which the source rises over) and steps per cycle that are tried, cheapest first.
CYCLES = ((3, 1), (4, 2), (6, 3), (10, 5), (15, 8), (25, 12), (40, 20), (80, 30))
STEPS = (50, 100, 200, 400, 800)
ORDERS = (1, 3, 5, 7, 9, 13)


@dataclass(frozen=True)
class Row:
    """One load: what each program needs for 0.1 % and how long that takes [s CPU]."""

    load: str
    ngspice_setting: str
    ngspice_cpu: float
    single_cpu: float
    order: int
    batch_cpu: float


def cpu(action: Callable[[], object], repeats: int = 7) -> float:
    """Return the least CPU seconds of an action over some repeats."""
    best = float("inf")
    for _ in range(repeats):
        begin = time.process_time()
        action()
        best = min(best, time.process_time() - begin)
    return best


def _figures(state: Steady, load: float | None) -> tuple[float, float]:
    o = operating(state, load)
    return (o.current if load == 0 else o.voltage), o.mains_current


def _cheapest_ngspice(network: Network, reference: tuple[float, float], short: bool, empty: float) -> tuple[str, float]:
    for cycles, ramp in CYCLES:
        for steps in STEPS:
            text = netlist(
                network, cycles=cycles, ramp_cycles=ramp, steps_per_cycle=steps, measure=("load",) if short else ()
            )
            try:
                runs = [ngspice(text) for _ in range(3)]
            except RuntimeError:  # too coarse for it to finish: not a setting that gives 0.1 %
                continue
            got = runs[0].values
            volts = got.get("i_load" if short else "v_out", float("nan"))
            error = max(abs(volts / reference[0] - 1), abs(got.get("i_mains_line", float("nan")) / reference[1] - 1))
            if error <= TARGET:
                return f"{cycles} cycles, {steps} steps each", min(r.cpu for r in runs) - empty
    raise RuntimeError("ngspice did not come within 0.1 % at any setting")


def compare(network: Network, loads: tuple[float | None, ...] = (None, 8e3, 0.0), batch: int = 200) -> list[Row]:
    """Return a row for each load [ohm]; None is open, 0 is short."""
    empty = start_up()
    rows = []
    for load in loads:
        plain = network if load is None else network.with_load(load)
        reference = _figures(solve_network(plain, limit=61), load)
        setting, spice = _cheapest_ngspice(plain, reference, load == 0, empty)
        order = next(
            n for n in ORDERS
            if max(abs(a / b - 1) for a, b in
                   zip(_figures(solve_network(plain, highest=n, limit=n), load), reference, strict=True)) <= TARGET
        )  # fmt: skip
        single = cpu(lambda p=plain, n=order: solve_network(p, highest=n, limit=n))  # type: ignore[misc]
        near = list((1e12 if load is None else max(load, 1.0)) * np.geomspace(0.99, 1.01, batch))
        many = cpu(lambda r=near, n=order: solve_loads(network, r, highest=n, limit=n), 3) / batch  # type: ignore[misc]
        name = "open" if load is None else "short" if load == 0 else f"{load / 1e3:g} kohm"
        rows.append(Row(name, setting, spice, single, order, many))
    return rows
