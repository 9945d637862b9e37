"""Which windings are reversed, from a few readings at low volts: every sense compared, and the next reading that tells.

A sense is held possible while its readings are no rarer than one in ten thousand, counting the meter, the unknown iron,
the adapter's sag, and the model itself. What fits several senses stays ambiguous, whatever fits best.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

Real = NDArray[np.float64]

#: Standard deviation of a factor common to all readings of one drive: it may sag far (design rule: 0.45 to 1.6 within
#: two of them).
COMMON_FACTOR = 0.3
#: Share of the larger potential of a pair by which the model may be off (assumption).
MODEL_SHARE = 0.03
#: A sense is given up where readings like these are rarer than this.
RAREST = 1e-4


@dataclass(frozen=True)
class Expected:
    """What one sense shows at a set of pairs: ``readings`` (m,) [V rms], ``moves`` (k, m) by one standard deviation of
    each unknown, ``bend`` (m,) what straight lines leave out of that, ``scale`` (m,) the larger potential of each pair.
    """

    readings: Real
    moves: Real
    bend: Real
    scale: Real

    def covariance(self, meter: Real, common: float = COMMON_FACTOR) -> Real:
        """Return the covariance of what the meter would show, ``meter`` (m,) its standard deviations."""
        noise = meter**2 + (MODEL_SHARE * self.scale) ** 2 + self.bend**2
        shared = common**2 * np.outer(self.readings, self.readings)
        return np.asarray(self.moves.T @ self.moves + shared + np.diag(noise))

    def pick(self, places: Sequence[int]) -> Expected:
        """Return the same at some of the pairs."""
        at = list(places)
        return Expected(self.readings[at], self.moves[:, at], self.bend[at], self.scale[at])


def likelihood(read: Real, expected: Expected, meter: Real) -> float:
    """Return how often readings at least as far off as these come about if the sense is true (chi-squared test)."""
    off = read - expected.readings
    distance = float(off @ np.linalg.solve(expected.covariance(meter), off))
    return float(gammaincc(read.size / 2, distance / 2))  # the upper tail of chi-squared


def possible(read: Real, senses: Sequence[Expected], meter: Real) -> list[int]:
    """Return the places of the senses that the readings leave possible, the likeliest first."""
    chances = [likelihood(read, s, meter) for s in senses]
    return sorted((k for k, p in enumerate(chances) if p >= RAREST), key=lambda k: (-chances[k], k))


def foreseen(read: Real, sense: Expected, meter: Real) -> float:
    """Return what the last pair of ``sense`` will read, given what was read at the others (normal, conditional)."""
    known = read.size
    cov = sense.covariance(meter)
    gain = np.linalg.solve(cov[:known, :known], cov[:known, known]) if known else np.zeros(0)
    return abs(float(sense.readings[known] + gain @ (read - sense.readings[:known])))


def told_apart(read: Real, senses: Sequence[Expected], meter: Real) -> tuple[int, float]:
    """Return how many of the senses one more reading would single out, and the least likely confusion's chance.

    Each sense is taken as the truth in turn, and the further reading as what it foresees. ``senses`` hold the pairs
    that were read and the further one last; ``meter`` its standard deviations for each sense, (senses, m).
    """
    alone, worst = 0, 0.0
    for k, sense in enumerate(senses):
        whole = np.append(read, foreseen(read, sense, meter[k]))
        others = [likelihood(whole, o, meter[k]) for j, o in enumerate(senses) if j != k]
        alone += max(others, default=0.0) < RAREST
        worst = max(worst, *others) if others else worst
    return alone, worst
