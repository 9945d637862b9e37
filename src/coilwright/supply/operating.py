"""Read one steady state out at the mains and at the output."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from coilwright.supply.linear import Complex
from coilwright.supply.steady import Steady, power, rms


@dataclass(frozen=True)
class Operating:
    """Mains and output of one steady state; rms unless the name says peak. Load None: open; 0: short-circuited."""

    load_resistance: float | None
    voltage: float
    voltage_peak: float
    current: float
    power: float
    mains_current: float
    mains_current_peak: float
    mains_power: float
    apparent_power: float
    power_factor: float
    reactive_power: float
    mains_harmonics: dict[int, float]
    residual_current: float


def mains_voltage(state: Steady) -> Complex:
    """Return the amplitudes of the voltage between the first pole in use and the last [V peak]."""
    poles = state.network.sources
    return state.voltage(poles[0].a, poles[-1].a)


def operating(state: Steady, load: float | None, load_name: str = "load") -> Operating:
    """Return what the mains and the output show in that state.

    Power and reactive power are taken at the socket, between the poles in use; with three poles each counts against
    the star point. The residual current is what a residual-current device there would sum.
    """
    output = state.network.output
    volts = state.voltage(*output) if output else np.zeros(state.harmonics.size, dtype=complex)
    amps = state.current(load_name) if load is not None else np.zeros(state.harmonics.size, dtype=complex)
    sources = state.network.sources
    currents = [state.current(s.name) for s in sources]
    heaviest = max(currents, key=rms)
    real = sum(power(state.voltage(s.a, s.b), i) for s, i in zip(sources, currents, strict=True))
    reactive = sum(
        float((state.voltage(s.a, s.b)[0] * i[0].conjugate()).imag) / 2 for s, i in zip(sources, currents, strict=True)
    )
    if len(sources) == 2:
        apparent = rms(mains_voltage(state)) * rms(heaviest)
    else:
        apparent = sum(rms(state.voltage(s.a, s.b)) * rms(i) for s, i in zip(sources, currents, strict=True))
    return Operating(
        load,
        rms(volts),
        state.peak(volts),
        rms(amps),
        power(volts, amps),
        rms(heaviest),
        state.peak(heaviest),
        real,
        apparent,
        real / apparent if apparent > 0 else 0.0,
        reactive,
        {int(h): float(abs(a)) / 2**0.5 for h, a in zip(state.harmonics, heaviest, strict=True)},
        rms(np.sum(currents, axis=0)),
    )


def correction_capacitance(reactive_power: float, voltage: float, frequency: float) -> float:
    """Return the capacitance [F] that takes so many var at ``voltage`` [V rms] and ``frequency`` [Hz]: Q / (w V^2).

    A leading (negative) reactive power asks for none.

    >>> round(correction_capacitance(1000.0, 230.0, 50.0) * 1e6, 1)
    60.2
    """
    return max(0.0, reactive_power) / (2 * pi * frequency * voltage**2)


@dataclass(frozen=True)
class Potential:
    """Potential of one place to earth and to a core; rms and peak [V]."""

    to_earth: float
    to_earth_peak: float
    to_core: float
    to_core_peak: float


def potential(states: Sequence[Steady], node: str, core: str) -> Potential:
    """Return the largest of each over the states."""
    earth = [s.potential(node) for s in states]
    cores = [s.voltage(node, core) for s in states]
    pairs = list(zip(states, earth, strict=True)), list(zip(states, cores, strict=True))
    return Potential(
        max(map(rms, earth)),
        max(s.peak(v) for s, v in pairs[0]),
        max(map(rms, cores)),
        max(s.peak(v) for s, v in pairs[1]),
    )
