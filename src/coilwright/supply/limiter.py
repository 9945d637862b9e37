"""A lamp or a heater in series with the line, in front of the whole set: the first test on the mains.

A filament's resistance follows from its temperature, and its temperature from the power that it radiates and gives to
its gas. Resistivity and radiated power of tungsten: H. A. Jones and I. Langmuir, "The characteristics of tungsten
filaments as functions of temperature" (1927), tables, from memory. A filament is too slow to follow the cycle, so one
rms voltage gives one resistance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import exp, log, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import SolverError
from coilwright.supply.network import Branch, Network
from coilwright.supply.steady import Steady, rms, solve_networks

LimiterKind = Literal["lamp", "heater"]

#: Element and node that the limiter adds to a network.
LIMITER = "limiter"
LINE_SIDE = "limiter:line"

#: Temperature [K] of the table, resistivity [1e-8 ohm m] and radiated power [1e4 W/m2] of tungsten (Jones and Langmuir
#: 1927, from memory).
_TEMPERATURE = np.array([300, 400, 500, 600, 800, 1000, 1200, 1400, 1600, 1800, 2000, 2200, 2400, 2600, 2800, 3000.0])
_RESISTIVITY = np.array(
    [5.65, 8.06, 10.56, 13.23, 19.00, 24.93, 30.98, 37.19, 43.55, 50.05, 56.67, 63.48, 70.39, 77.49, 84.70, 92.04]
)
_RADIATED = np.array(
    [0.0, 0.00199, 0.00971, 0.0304, 0.169, 0.602, 1.66, 3.83, 7.74, 14.19, 24.04, 38.2, 57.7, 83.8, 117.6, 160.5]
)
COLD = 300.0
#: Filament of a general-service lamp at its rated volts [K], and the share of its power that the gas carries away then
#: (assumptions: 2600 K and a fifth for 40 W, 2900 K and less than a tenth for 1 kW).
HOT = 2750.0
GAS_SHARE = 0.12

_STEPS = 40
_SETTLED = 1e-7

Real = NDArray[np.float64]


@lru_cache(maxsize=1)
def _filament() -> tuple[Real, Real]:
    """Return rms volts over rated volts and resistance over hot resistance, both rising."""
    t = np.unique(np.concatenate([np.linspace(COLD, 3000.0, 400), [HOT]]))
    # between two rows resistivity is nearly straight, radiated power nearly a power of the temperature
    resistance = np.interp(t, _TEMPERATURE, _RESISTIVITY)
    warm = np.maximum(t, _TEMPERATURE[1])
    radiated = np.exp(np.interp(np.log(warm), np.log(_TEMPERATURE[1:]), np.log(_RADIATED[1:])))
    radiated = np.where(t < _TEMPERATURE[1], _RADIATED[1] * (t - COLD) / (_TEMPERATURE[1] - COLD), radiated)
    hot = int(np.flatnonzero(t == HOT)[0])
    power = (1 - GAS_SHARE) * radiated / radiated[hot] + GAS_SHARE * (t - COLD) / (HOT - COLD)
    resistance = resistance / resistance[hot]
    return np.sqrt(power * resistance), resistance


def filament_resistance(share: float) -> float:
    """Return the resistance of a filament over that at its rated volts; ``share`` is rms volts over rated volts.

    Above 1.2 times the rated volts the curve ends and its last value holds.

    >>> round(filament_resistance(1.0), 3), round(1 / filament_resistance(0.0), 1)
    (1.0, 14.7)
    """
    volts, resistance = _filament()
    return float(np.interp(share, volts, resistance))


@dataclass(frozen=True)
class Limiter:
    """A lamp or a heater: ``power`` [W] at ``voltage`` [V rms]. ``scale`` moves its resistance off the rated one."""

    kind: LimiterKind
    power: float
    voltage: float
    scale: float = 1.0

    def resistance(self, volts: float) -> float:
        """Return its resistance [ohm] with so many volts across it [V rms], once it has settled."""
        hot = self.scale * self.voltage**2 / self.power
        return hot * (filament_resistance(volts / self.voltage) if self.kind == "lamp" else 1.0)


def through(network: Network, resistance: float) -> Network:
    """Return the network with a resistance [ohm] between its first mains source and the set.

    Raises
    ------
    ValueError
        If the network has no source.
    """
    if not network.sources:
        raise ValueError("this network has no mains source, so no limiter can be put behind one")
    first, *others = network.sources
    branch = Branch(LIMITER, LINE_SIDE, first.a, resistance)
    return replace(network, sources=(replace(first, a=LINE_SIDE), *others), branches=(*network.branches, branch))


def mains_volts(network: Network) -> float:
    """Return the open voltage between the first pole in use and the last [V rms]."""
    first, last = network.sources[0], network.sources[-1]
    return abs(first.peak - (last.peak if last is not first else 0.0)) / sqrt(2)


def settle(cases: Sequence[tuple[Network, Limiter]]) -> list[Steady | None]:
    """Return the steady state of each network behind its limiter, None where none was found.

    The networks must have the same number of ports. The resistance of a lamp is found by fixed point on its rms volts,
    all cases at once, with the secant through the last two trials.
    """
    out: list[Steady | None] = [None] * len(cases)
    trial = [log(limiter.resistance(limiter.voltage / 2)) for _, limiter in cases]
    last: list[tuple[float, float] | None] = [None] * len(cases)
    todo = list(range(len(cases)))
    for _ in range(_STEPS):
        if not todo:
            break
        states = _solved([through(cases[k][0], exp(trial[k])) for k in todo])
        going = []
        for k, state in zip(todo, states, strict=True):
            if state is None:
                continue
            volts = exp(trial[k]) * rms(state.current(LIMITER))
            off = log(cases[k][1].resistance(volts)) - trial[k]
            if abs(off) < _SETTLED:
                out[k] = state
                continue
            before, last[k] = last[k], (trial[k], off)
            trial[k] += _step(trial[k], off, before)
            going.append(k)
        todo = going
    return out


def _step(at: float, off: float, before: tuple[float, float] | None) -> float:
    """Return the next step: the secant's where it is of a sane size, else the plain one."""
    if before is None or at == before[0]:
        return off
    slope = (off - before[1]) / (at - before[0])  # about -1 for a heater, -0.6 for a lamp alone
    return -off / slope if -2.0 < slope < -0.2 else off


def _solved(networks: Sequence[Network]) -> list[Steady | None]:
    try:
        return solve_networks(networks)
    except SolverError:  # one that cannot be solved at all must not take the others with it
        return [None] if len(networks) == 1 else [s for n in networks for s in _solved([n])]
