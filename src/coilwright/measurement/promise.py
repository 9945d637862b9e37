"""What a further reading would leave of the bands, before it is taken.

The fit is linear about its present answer (Gauss-Newton), so a reading's worth does not hang on what it will show.
Exponents of the iron that the readings leave open are unknowns of their own: each is one more, with the belief in that
exponent as variance, along the change that it makes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from coilwright.measurement.identify import (
    Fit,
    belief,
    linearise,
    noise_of,
    operating_values,
    predictions,
)
from coilwright.measurement.readings import Bench, Observation, ratio_is_read
from coilwright.measurement.transformer_bench import BenchTest, Real

#: Beliefs below this count for nothing.
LEAST_BELIEF = 1e-3
_STEP = 1e-4


@dataclass(frozen=True)
class Addition:
    """A test that could be added, its numbers (value 1, for only their slopes matter), and its applied volts' sigma."""

    test: BenchTest
    observations: tuple[Observation, ...]
    applied_sigma: float


@dataclass(frozen=True)
class Outlook:
    """Quantities as far as they are open: slopes (f + k,) of their logarithms, and the information (f + k, f + k), the
    inverse of the covariance, on f free unknowns and k open exponents.
    """

    slopes: Mapping[str, Real]
    information: Real
    free: int

    @property
    def covariance(self) -> Real:
        """Return the covariance of the free unknowns at the present exponent."""
        return np.asarray(np.linalg.inv(self.information[: self.free, : self.free]))

    def variance(self, name: str) -> float:
        """Return the variance of the logarithm of a quantity."""
        s = self.slopes[name]
        return float(s @ np.linalg.solve(self.information, s))

    def open_variance(self, name: str) -> float:
        """Return what of it the open exponents add."""
        s = self.slopes[name][: self.free]
        return max(self.variance(name) - float(s @ self.covariance @ s), 0.0)

    def narrowed(self, result: Fit) -> Fit:
        """Return the fit with the covariance of this outlook."""
        places = result.prior.free
        covariance = result.covariance.copy()
        covariance[np.ix_(places, places)] = self.covariance
        return replace(result, solved=replace(result.solved, covariance=covariance))


def outlooks(
    result: Fit,
    additions: Sequence[Addition],
    names: Sequence[str],
    mains_voltage: float,
    frequency: float,
    working_voltage: float,
) -> tuple[Outlook, list[Outlook]]:
    """Return the present outlook and the one with each addition.

    A plate figure leaves the fit when readings come to say the same thing; so it does here.
    """
    others = [(n, theta, belief(worse)) for n, worse, theta in result.alternatives if belief(worse) > LEAST_BELIEF]
    weights = np.array([b for _, _, b in others])
    slopes = _slopes(result, others, names, mains_voltage, frequency, working_voltage)
    free = result.prior.free
    bench, rows_of = _with_additions(result.bench, additions)
    point = linearise(result.theta, result.prior, result.exponent, bench, None)
    shift = np.zeros((len(bench.observations), len(others)))
    for k, (n, theta, _) in enumerate(others):
        shift[:, k] = predictions(theta, result.prior, n, bench)[0][0] - point.predicted
    shift[: len(result.bench.observations)] = 0.0  # the alternatives were fitted to these
    noise = noise_of(point, bench)
    known = np.concatenate([1 / result.prior.sigma[free] ** 2, 1 / weights])
    jacobian = np.concatenate([point.jacobian, shift], axis=1)

    def information(rows: Sequence[int]) -> Real:
        j, c = jacobian[list(rows)], noise[np.ix_(rows, rows)]
        return np.asarray(np.diag(known) + j.T @ np.linalg.solve(c, j))

    old = range(len(result.bench.observations))
    now = Outlook(slopes, information(list(old)), free.size)
    later = []
    for addition, own in zip(additions, rows_of, strict=True):
        kept = [k for k in old if not _displaced(bench, k, [*old, *own], addition.test, result.prior.primary_voltage)]
        later.append(Outlook(slopes, information([*kept, *own]), free.size))
    return now, later


def _slopes(
    result: Fit,
    others: Sequence[tuple[int, Real, float]],
    names: Sequence[str],
    mains_voltage: float,
    frequency: float,
    working_voltage: float,
) -> dict[str, Real]:
    """Return the slope of the logarithm of each quantity with every free unknown, then with every open exponent."""
    free = result.prior.free
    sets = np.tile(result.theta, (free.size + 1, 1))
    sets[np.arange(free.size) + 1, free] += _STEP
    at = (mains_voltage, frequency, working_voltage)
    values = operating_values(sets, result.prior, result.exponent, *at)
    beside = [operating_values(theta, result.prior, n, *at) for n, theta, _ in others]
    out = {}
    for q in names:
        own = (np.log(values[q][1:]) - np.log(values[q][0])) / _STEP
        out[q] = np.concatenate([own, [float(np.log(b[q][0] / values[q][0])) for b in beside]])
    return out


def _with_additions(old: Bench, additions: Sequence[Addition]) -> tuple[Bench, list[list[int]]]:
    """Return one bench with all additions, and the places of the observations of each."""
    observations, rows = list(old.observations), []
    for k, addition in enumerate(additions):
        rows.append(list(range(len(observations), len(observations) + len(addition.observations))))
        observations += [replace(o, test=len(old.tests) + k) for o in addition.observations]
    bench = Bench(
        (*old.tests, *(a.test for a in additions)),
        (*old.applied_sigma, *(a.applied_sigma for a in additions)),
        (*old.where, *("" for _ in additions)),
        tuple(observations),
    )
    return bench, rows


def _displaced(bench: Bench, place: int, rows: Sequence[int], added: BenchTest, plate_volts: float) -> bool:
    """Return whether an observation is a plate figure that the readings in ``rows`` make superfluous."""
    seen = bench.observations[place]
    if not seen.plate:
        return False
    if seen.what == "secondary":
        return ratio_is_read(bench.tests, [bench.observations[k] for k in rows])
    return added.kind == "short" and added.applied > 0.5 * plate_volts
