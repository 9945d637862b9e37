"""CPU per solve of a choke-fed pair against ngspice on the same network, both at the coarsest setting that gives
0.1 %.

A setting counts only where the next finer one gives 0.1 % too: the first sign change of an error is no accuracy.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from benchmarks.netlists import Run, ngspice, start_up
from coilwright.report.spice import netlist
from coilwright.supply.characterise import LOAD_STEPS
from coilwright.supply.loads import solve_loads
from coilwright.supply.network import Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, solve_network

TARGET = 1e-3
#: (cycles, of which the source rises over) and steps per cycle that are tried, fewest steps altogether first.
CYCLES = ((3, 1), (4, 2), (6, 3), (10, 5), (15, 8), (25, 12), (40, 20), (80, 30))
STEPS = (50, 100, 200, 400, 800)
ORDERS = (1, 3, 5, 7, 9, 13)
#: Runs of which the least counts: of ngspice, of single solves, of batches.
RUNS, SINGLES, BATCHES = 20, 300, 60


@dataclass(frozen=True)
class Row:
    """One load: what each program needs for 0.1 % and how long that takes [s CPU].

    ``single_cpu`` is one solve of a network never seen before, ``next_cpu`` one of a network whose equations are known
    from another load, ``batch_cpu`` the share of one in a batch, equations included.
    """

    load: str
    ngspice_setting: str
    ngspice_cpu: float
    single_cpu: float
    order: int
    next_cpu: float
    batch_cpu: float


def cpu(action: Callable[[], object], repeats: int = SINGLES) -> float:
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


def _apart(got: tuple[float, float], reference: tuple[float, float]) -> float:
    return max(abs(a / b - 1) for a, b in zip(got, reference, strict=True))


class _Ngspice:
    """Runs of one network at one load, each setting once."""

    def __init__(self, network: Network, reference: tuple[float, float], *, short: bool) -> None:
        self.network, self.reference, self.short = network, reference, short
        self._errors: dict[tuple[int, int, int], float] = {}

    def run(self, cycles: int, ramp: int, steps: int) -> Run:
        measure = ("load",) if self.short else ()
        return ngspice(netlist(self.network, cycles=cycles, ramp_cycles=ramp, steps_per_cycle=steps, measure=measure))

    def error(self, cycles: int, ramp: int, steps: int) -> float:
        key = cycles, ramp, steps
        if key not in self._errors:
            try:
                got = self.run(*key).values
            except RuntimeError:  # too coarse for it to finish: not a setting that gives 0.1 %
                got = {}
            amps = got.get("i_mains_line", float("inf"))
            volts = got.get("i_load" if self.short else "v_out", float("inf"))
            self._errors[key] = _apart((volts, amps), self.reference)
        return self._errors[key]

    def cheapest(self) -> tuple[int, int, int]:
        settings = sorted(product(CYCLES, STEPS), key=lambda s: s[0][0] * s[1])
        for (cycles, ramp), steps in settings:
            if all(self.error(cycles, ramp, n) <= TARGET for n in (steps, 2 * steps)):
                return cycles, ramp, steps
        raise RuntimeError("ngspice did not come within 0.1 % at any setting")


def _order(network: Network, load: float | None, reference: tuple[float, float]) -> int:
    errors = [_apart(_figures(solve_network(network, highest=n, limit=n), load), reference) for n in ORDERS]
    return next(n for n, one, finer in zip(ORDERS, errors, errors[1:], strict=False) if max(one, finer) <= TARGET)


def compare(network: Network, loads: tuple[float | None, ...] = (None, 8e3, 0.0), batch: int = 200) -> list[Row]:
    """Return a row for each load [ohm]; None is open, 0 is short."""
    empty = start_up()
    rows = []
    for load in loads:

        def at(base: Network, load: float | None = load) -> Network:
            return base if load is None else base.with_load(load)

        reference = _figures(solve_network(at(network), highest=61), load)
        peer = _Ngspice(at(network), reference, short=load == 0)
        setting = peer.cheapest()
        spice = min(peer.run(*setting).cpu for _ in range(RUNS)) - empty
        n = _order(at(network), load, reference)
        single = cpu(lambda at=at, n=n: solve_network(at(replace(network)), highest=n, limit=n))  # type: ignore[misc]
        again = cpu(lambda at=at, n=n: solve_network(at(network), highest=n, limit=n))  # type: ignore[misc]
        near = list((1e12 if load is None else max(load, 1.0)) * np.geomspace(0.5, 2.0, batch))
        many = cpu(lambda r=near, n=n: solve_loads(replace(network), r, highest=n, limit=n), BATCHES) / batch  # type: ignore[misc]
        name = "open" if load is None else "short" if load == 0 else f"{load / 1e3:g} kohm"
        rows.append(Row(name, f"{setting[0]} cycles, {setting[2]} steps each", spice, single, n, again, many))
    return rows


def droop(network: Network) -> tuple[int, float]:
    """Return how many loads the droop curve of a supply has, and the CPU seconds of each, with the harmonics that the
    program takes by default and the equations included.
    """
    volts = _figures(solve_network(network), None)[0]
    amperes = _figures(solve_network(network.with_load(0.0)), 0.0)[0]
    loads = [volts / amperes * k for k in LOAD_STEPS]
    return len(loads), cpu(lambda: solve_loads(replace(network), loads), BATCHES) / len(loads)
