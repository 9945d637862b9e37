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

from coilwright.supply.families import Variants
from coilwright.supply.linear import Complex
from coilwright.supply.network import Network
from coilwright.supply.search import Search
from coilwright.supply.steady import Steady, all_states, output_peak

#: Range of the scan as multiples of the mains-resonant capacitance.
SCAN_FROM, SCAN_TO = 0.03, 2.0
SCAN_POINTS = 22
REFINEMENTS = 4
STARTS = 24


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
    network: Network, capacitance: float, seeds: Sequence[Complex] = (), starts: int = STARTS
) -> tuple[Missing, list[Steady]]:
    """Return the steady states with that capacitance across the output, and their solutions."""
    states = all_states(network.with_capacitor(capacitance), starts=starts, seeds=seeds)
    return _missing(capacitance, states), states


def _missing(capacitance: float, states: Sequence[Steady]) -> Missing:
    """Return what the states at one capacitance show, given highest peak first."""
    output = states[0].network.output if states else None
    ends = {joint: max(s.peak(s.potential(joint)) for s in states) for joint in output or ()}
    return Missing(capacitance, tuple(map(output_peak, states)), ends, tuple(s.settles for s in states))


def scan(
    network: Network,
    resonant: float,
    own: float | Sequence[float] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> list[Missing]:
    """Return the scan over 0.03 to 2 times ``resonant`` [F], with points added beside the highest, and ``own`` (one
    tank, or several) among them.

    Every point starts from random fluxes; then each state that is found is followed to both neighbours, until none
    is new, so that a branch is followed over a fold.
    """
    steps = np.geomspace(SCAN_FROM * resonant, SCAN_TO * resonant, SCAN_POINTS)
    named = [own] if isinstance(own, float) else own or ()
    grid = sorted({*map(float, steps), *(c for c in named if c > 0)})
    say = progress or (lambda _fraction, _word: None)
    say(0.0, f"gap missing, {len(grid)} tanks from {grid[0] * 1e9:.3g} to {grid[-1] * 1e9:.3g} nF")
    search = Search(Variants([network.with_capacitor(c) for c in grid]))
    search.from_many_starts(STARTS)
    say(0.5, "gap missing, following each state to its neighbours")
    follow(search, len(grid))
    states = {c: _ordered(search.states(k)) for k, c in enumerate(grid)}
    out = {c: _missing(c, found) for c, found in states.items()}
    for k in range(REFINEMENTS):
        c, near = _beside_the_highest(out)
        say(0.7 + 0.3 * k / REFINEMENTS, f"gap missing, tank {c * 1e9:.3g} nF")
        out[c], states[c] = at(network, c, [s.flux for n in near for s in states[n]])
    say(1.0, "gap missing, done")
    return [out[c] for c in sorted(out)]


def follow(search: Search, count: int) -> None:
    """Start every problem from the states of both its neighbours, and go on while one is new.

    A branch that runs over the whole range is at its other end after as many rounds as there are problems.
    """
    fresh = [search.states(k) for k in range(count)]
    for _ in range(count):
        if not any(fresh):
            return
        seeds = [[s.flux for j in (k - 1, k + 1) if 0 <= j < count for s in fresh[j]] for k in range(count)]
        fresh = search.add(seeds)


def _ordered(states: Sequence[Steady]) -> list[Steady]:
    return sorted(states, key=output_peak, reverse=True)


def _beside_the_highest(out: Mapping[float, Missing]) -> tuple[float, tuple[float, float]]:
    """Return a point within the wider of the two intervals beside the highest peak, and the ends of that interval."""
    grid = sorted(out)
    k = int(np.argmax([out[c].peak or 0.0 for c in grid]))
    sides = [(grid[j], grid[j + 1]) for j in (k - 1, k) if 0 <= j < len(grid) - 1]
    low, high = max(sides, key=lambda s: s[1] / s[0])
    return float(np.sqrt(low * high)), (low, high)
