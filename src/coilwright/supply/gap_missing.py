"""Tank attached, gap missing: how high the terminals go, over a range of tank capacitances.

The peak is found by harmonic balance from many starts at every capacitance, never from the fundamental: a saturating
supply rings with its tank on the third and fifth harmonic far below mains resonance, and has two working points over
a range above it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from coilwright.supply.linear import Complex
from coilwright.supply.network import Network
from coilwright.supply.steady import Steady, all_states

#: Range of the scan as multiples of the mains-resonant capacitance.
SCAN_FROM, SCAN_TO = 0.03, 2.0
SCAN_POINTS = 22
REFINEMENTS = 4


@dataclass(frozen=True)
class Missing:
    """The steady states at one tank capacitance, highest peak first; empty where nothing converged."""

    capacitance: float
    peaks: tuple[float, ...]
    ends: Mapping[str, float]  # output joint -> highest peak to earth over the states
    settles: tuple[bool, ...]

    @property
    def peak(self) -> float | None:
        """Return the highest peak across the output [V], or None where nothing converged."""
        return self.peaks[0] if self.peaks else None


def resonant_capacitance(open_voltage: float, short_current: float, frequency: float) -> float:
    """Return the capacitance that resonates with V/I at mains frequency: C = I / (2 pi f V) [F].

    >>> print(f"{resonant_capacitance(15e3, 0.060, 60) * 1e9:.2f} nF")
    10.61 nF
    """
    return short_current / (2 * pi * frequency * open_voltage)


def at(
    network: Network, capacitance: float, seeds: Sequence[Complex] = (), starts: int = 24
) -> tuple[Missing, list[Steady]]:
    """Return the steady states with that capacitance across the output, and their solutions."""
    states = all_states(network.with_capacitor(capacitance), starts=starts, seeds=seeds)
    if network.output is None:
        raise ValueError("this network names no output")
    a, b = network.output
    peaks = tuple(s.peak(s.voltage(a, b)) for s in states)
    ends = {joint: max((s.peak(s.potential(joint)) for s in states), default=0.0) for joint in (a, b)}
    return Missing(capacitance, peaks, ends if states else {}, tuple(s.settles for s in states)), states


def scan(
    network: Network, resonant: float, own: float | None = None, progress: Callable[[float, str], None] | None = None
) -> list[Missing]:
    """Return the scan over 0.03 to 2 times ``resonant`` [F], with points added beside the highest, and ``own`` among
    them.

    Each point starts from the states of its neighbour below as well as from random fluxes, so that a branch is
    followed over a fold.
    """
    steps = np.geomspace(SCAN_FROM * resonant, SCAN_TO * resonant, SCAN_POINTS)
    grid = sorted({*map(float, steps), *([own] if own else [])})
    total = len(grid) + REFINEMENTS
    out: dict[float, Missing] = {}
    fluxes: dict[float, list[Complex]] = {}

    def visit(c: float, near: Sequence[Complex], starts: int) -> None:
        out[c], states = at(network, c, near, starts)
        fluxes[c] = [s.flux for s in states]
        if progress:
            progress(len(out) / total, f"gap missing, tank {c * 1e9:.3g} nF")

    before: list[Complex] = []
    for c in grid:
        visit(c, before, 24)
        before = fluxes[c]
    for _ in range(REFINEMENTS):
        _refine(out, fluxes, visit)
    return [out[c] for c in sorted(out)]


def _refine(
    out: dict[float, Missing],
    fluxes: dict[float, list[Complex]],
    visit: Callable[[float, Sequence[Complex], int], None],
) -> None:
    """Add one point in the wider of the two intervals beside the highest."""
    grid = sorted(out)
    k = int(np.argmax([out[c].peak or 0.0 for c in grid]))
    sides = [(grid[j], grid[j + 1]) for j in (k - 1, k) if 0 <= j < len(grid) - 1]
    low, high = max(sides, key=lambda s: s[1] / s[0])
    visit(float(np.sqrt(low * high)), [*fluxes[low], *fluxes[high]], 24)
