"""A steady state as amplitudes of odd harmonics, and what is read off a waveform: rms, peak, power."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from coilwright.supply.linear import Complex, Equations, Real, assemble
from coilwright.supply.network import EARTH, Network

WAVE_SAMPLES = 1024


@dataclass(frozen=True)
class Steady:
    """One periodic steady state. ``x`` (h, x): node potentials and element currents as complex amplitudes (peak)."""

    network: Network
    harmonics: NDArray[np.int64]
    x: Complex
    flux: Complex  # (h, p)
    residual: float
    settles: bool = True  # False: the middle one of three states, on which no real circuit rests

    @property
    def equations(self) -> Equations:
        """Return the equations of the network; made when first asked for, since most states of a batch are read at
        two or three places, or not at all.
        """
        return assemble(self.network)

    def potential(self, node: str) -> Complex:
        """Return the amplitudes of a node's potential to earth [V peak]."""
        if node == EARTH:
            return np.zeros(self.harmonics.size, dtype=complex)
        return np.asarray(self.x[:, self.equations.index[node]])

    def has(self, node: str) -> bool:
        """Return whether the network has that node."""
        return node == EARTH or node in self.equations.index

    def voltage(self, a: str, b: str = EARTH) -> Complex:
        """Return the amplitudes of the voltage from a to b [V peak]."""
        return self.potential(a) - self.potential(b)

    def current(self, element: str) -> Complex:
        """Return the amplitudes of the current of a branch, source or winding [A peak]."""
        return np.asarray(self.x[:, self.equations.index[f"element:{element}"]])

    def peak(self, amplitudes: Complex) -> float:
        """Return the highest instantaneous magnitude of a waveform."""
        return peak(amplitudes, self.harmonics)

    @cached_property
    def mains_poles(self) -> tuple[str, ...]:
        """Return the names of the mains sources."""
        return tuple(s.name for s in self.network.sources)


def rms(amplitudes: Complex) -> float:
    """Return the rms of a waveform given by the amplitudes of its harmonics."""
    return float(np.sqrt((np.abs(amplitudes) ** 2).sum() / 2))


def power(voltage: Complex, current: Complex) -> float:
    """Return the mean power of a voltage and a current [W]."""
    return float((voltage * current.conj()).real.sum() / 2)


def waveform(amplitudes: Complex, harmonics: NDArray[np.int64], samples: int = WAVE_SAMPLES) -> Real:
    """Return half a period of the waveform at equal steps (the other half is its negative)."""
    turn = _turns(tuple(harmonics.tolist()), samples)
    return np.asarray(turn @ np.ascontiguousarray(amplitudes, dtype=np.complex128).view(np.float64))


@lru_cache(maxsize=32)
def _turns(harmonics: tuple[int, ...], samples: int) -> Real:
    """Return the matrix (t, 2h) that makes a waveform of amplitudes as [Re, Im] pairs."""
    angle = np.pi * np.arange(samples)[:, None] / samples * np.array(harmonics)
    return np.stack([np.cos(angle), -np.sin(angle)], axis=2).reshape(samples, -1)


def peak(amplitudes: Complex, harmonics: NDArray[np.int64]) -> float:
    """Return the highest instantaneous magnitude of a waveform."""
    return float(np.abs(waveform(amplitudes, harmonics)).max())
