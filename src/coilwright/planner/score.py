"""The figure of merit of a supply: lower is better, and every term says in words what it counts.

    score = 2 |ln(VA / goal)|                 apparent power (open volts times short amperes) off the goal
          + 3 max(0, I / I_breaker - 0.85)    close to what the breaker carries, correction capacitors failed open
          + 0.8 max(0, (I / I_rated)^2 - 1)   copper loss of the worst loaded part above its rating, output shorted
          + 0.12 per part                     more iron, more joints, more to go wrong (correction capacitors count
          0.02 each) + 0.3 (1 - PF)                      power factor at best power, with the correction at hand + 0.7
          per condition                 a resistor as ballast, parallel windings that do not match, over-fluxed iron +
          2 |ln(V / window)| + 0.4          open volts outside the wanted window

The weights are assumptions, set on made-up shelves and calibrated on nothing real (decision record on the plan's
score).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]

POWER, BREAKER, HEAT, PART, CORRECTOR, FACTOR, CONDITION, WINDOW = 2.0, 3.0, 0.8, 0.12, 0.02, 0.3, 0.7, 0.4
BREAKER_FREE = 0.85
#: Below this peak across the output a gap is set so close that dust and burrs decide when it fires (assumption,
#: common practice).
STABLE_GAP_PEAK = 3000.0
LEAST_VOLTS = STABLE_GAP_PEAK / sqrt(2)
#: Open volts this far outside the wanted window are still ranked, with a penalty; further off is refused.
WINDOW_SLACK = 0.10
#: Where no power is asked, the aim is this share of what mains and breaker carry (assumption, pencil).
SILENT_SHARE = 0.4


@dataclass(frozen=True)
class Aim:
    """What is wanted and what bounds it. Volts rms, amperes rms; ``power_asked`` False: the aim is an assumption."""

    power: float
    low: float
    high: float
    breaker: float
    mains_limit: float
    power_asked: bool = True
    low_asked: bool = False
    budget: float | None = None

    @property
    def floor(self) -> float:
        """Return the open volts below which a supply is refused."""
        return max(LEAST_VOLTS, self.low * (1 - WINDOW_SLACK))

    @property
    def ceiling(self) -> float:
        """Return the open volts above which a supply is refused."""
        return self.high * (1 + WINDOW_SLACK)


@dataclass(frozen=True)
class Figures:
    """What a score is made of, scalars or arrays of one shape. ``mains_current`` uncorrected; ``load`` worst current
    over rating.
    """

    open_voltage: Real | float
    short_current: Real | float
    mains_current: Real | float
    load: Real | float
    power_factor: Real | float
    parts: ArrayLike
    correctors: ArrayLike
    conditions: ArrayLike


def terms(f: Figures, aim: Aim) -> dict[str, Real]:
    """Return each term of the score."""
    power = np.maximum(np.asarray(f.open_voltage) * f.short_current, 1e-9)
    low = np.asarray(f.open_voltage) / aim.low
    high = np.asarray(f.open_voltage) / aim.high
    outside = np.maximum(np.maximum(np.log(1 / np.maximum(low, 1e-9)), np.log(np.maximum(high, 1e-9))), 0.0)
    return {
        "power": POWER * np.abs(np.log(power / aim.power)),
        "breaker": BREAKER * np.maximum(0.0, np.asarray(f.mains_current) / aim.breaker - BREAKER_FREE),
        "heat": HEAT * np.maximum(0.0, np.asarray(f.load) ** 2 - 1.0),
        "parts": PART * np.asarray(f.parts, dtype=float) + CORRECTOR * np.asarray(f.correctors, dtype=float),
        "power factor": FACTOR * (1.0 - np.asarray(f.power_factor)),
        "conditions": CONDITION * np.asarray(f.conditions, dtype=float),
        "window": np.where(outside > 0, 2.0 * outside + WINDOW, 0.0),
    }


def score(f: Figures, aim: Aim) -> Real:
    """Return the score; lower is better."""
    return np.asarray(sum(terms(f, aim).values()))
