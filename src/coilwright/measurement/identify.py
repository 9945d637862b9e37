"""Identification of a transformer: every reading at once, through the whole circuit, with priors by kind and plate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log, pi

import numpy as np
from numpy.typing import NDArray

from coilwright.measurement.parameters import PLACE, Prior, circuit, coefficients
from coilwright.measurement.readings import Bench
from coilwright.measurement.regression import ITERATIONS, Point, Solved, noise_covariance, solve
from coilwright.measurement.transformer_bench import (
    FIT_HARMONICS,
    BenchTest,
    Complex,
    Real,
    average_reading,
    low_voltage_ratio,
    predict,
    true_rms,
)
from coilwright.supply.circuits import TransformerCircuit

_STEP = 1e-4
EXPONENTS = (5, 7, 9, 11, 13, 15)
#: Sum of squares per reading beyond which other exponents of the iron are not tried: 1 is expected.
CONTRADICTORY = 10.0
#: Standard deviation (of a logarithm) below which an axis of the fit moves nothing that is shown.
LEAST_AXIS = 1e-3


@dataclass(frozen=True)
class Fit:
    """Outcome of a fit: unknowns theta (p,) with their covariance, the exponent of the iron, and every reading's
    deviation.

    ``alternatives``: the other exponents that were tried, each with how much its cost is above the best, and its
    theta.
    """

    prior: Prior
    bench: Bench
    exponent: int
    solved: Solved
    alternatives: tuple[tuple[int, float, Real], ...] = ()

    @property
    def theta(self) -> Real:
        """Return the unknowns."""
        return self.solved.theta

    @property
    def covariance(self) -> Real:
        """Return the covariance of the unknowns."""
        return self.solved.covariance


def predictions(
    theta: Real,
    prior: Prior,
    exponent: int,
    bench: Bench,
    *,
    scale: Real | None = None,
    start: Complex | None = None,
    harmonics: NDArray[np.int64] = FIT_HARMONICS,
) -> tuple[Real, Real, Complex, bool]:
    """Return logarithms of every observation (m, o), the spread of unknown responses (m, o), the fluxes, and
    success.
    """
    c = coefficients(theta, prior, exponent)
    m = c.count
    mains = [k for k, t in enumerate(bench.tests) if t.kind in {"open", "short"}]
    low = [k for k, t in enumerate(bench.tests) if t.kind not in {"open", "short"}]
    scaled = np.ones(m) if scale is None else scale
    out, spread = np.zeros((m, len(bench.observations))), np.zeros((m, len(bench.observations)))
    flux, good = np.zeros((m, 0, harmonics.size, 3), dtype=complex), True
    column = {test: place for place, test in enumerate(mains)} | {test: place for place, test in enumerate(low)}
    ratio = low_voltage_ratio(c, [bench.tests[k] for k in low]) if low else np.zeros((m, 0))
    state = None
    if mains:
        state = predict(c, [bench.tests[k] for k in mains], start=start, harmonics=harmonics, scale=scale)
        flux, good = state.flux, bool(state.converged.all())
    for place, seen in enumerate(bench.observations):
        k = column[seen.test]
        if seen.what == "read":
            out[:, place] = np.log(ratio[:, k] * bench.tests[seen.test].applied * scaled)
        elif state is not None and seen.what == "power":
            out[:, place] = np.log(np.maximum(state.power[:, k], 1e-12))
        elif state is not None:
            waves = {
                "current": state.primary_current,
                "secondary": state.secondary_voltage,
                "secondary_current": state.secondary_current,
            }[seen.what][:, k]
            rms = true_rms(waves)
            if seen.response != "true rms":
                mean = average_reading(waves, harmonics)
                spread[:, place] = np.abs(np.log(mean / rms)) / 2 if seen.response is None else 0.0
                rms = mean if seen.response == "average" else rms
            out[:, place] = np.log(rms)
    return out, spread, flux, good


def linearise(theta: Real, prior: Prior, exponent: int, bench: Bench, start: Complex | None) -> Point:
    """Return predictions and slopes of every observation at theta, by one batch of perturbed circuits."""
    free = prior.free
    sets = np.tile(theta, (free.size + 2, 1))
    sets[np.arange(free.size) + 1, free] += _STEP
    scale = np.ones(free.size + 2)
    scale[-1] = 1 + _STEP
    # From the answer at theta the neighbours are two Newton steps away, from the flux before it four.
    at, spread, flux, found = predictions(theta, prior, exponent, bench, start=start)
    out, _, _, good = predictions(sets, prior, exponent, bench, scale=scale, start=flux)
    jacobian = (out[1:-1] - out[0]).T / _STEP
    return Point(at[0], jacobian, (out[-1] - out[0]) / log(1 + _STEP), spread[0], flux, found and good)


def noise_of(point: Point, bench: Bench) -> Real:
    """Return the covariance of the observations."""
    return noise_covariance(
        point,
        np.array([o.sigma for o in bench.observations], dtype=float),
        np.array([o.test for o in bench.observations], dtype=np.int64),
        np.array(bench.applied_sigma),
    )


def first_guess(prior: Prior, bench: Bench) -> Real:
    """Return a theta to begin with: the prior's centre, moved to what single readings say by the textbook's
    formulae.
    """
    theta = prior.centre.copy()
    ratios: dict[str, list[float]] = {"fed low": [], "fed high": []}
    opens: list[tuple[float, float, float, int]] = []
    shorts: list[tuple[float, float, float, int]] = []
    for seen in bench.observations:
        test = bench.tests[seen.test]
        if seen.what == "read":
            ratios[test.kind].append(log(seen.value / test.applied) * (1 if test.kind == "fed low" else -1))
        elif seen.what == "secondary":
            ratios["fed low"].append(log(seen.value / test.applied))
        elif seen.what == "current" and test.kind == "open":
            opens.append((test.applied, seen.value, test.frequency, seen.test))
        elif seen.what == "current" and test.kind == "short":
            shorts.append((test.applied, seen.value, test.frequency, seen.test))
    means = [float(np.mean(v)) for v in ratios.values() if v]
    if means:
        theta[PLACE["ratio"]] = float(np.mean(means))
    powers = {o.test: o.value for o in bench.observations if o.what == "power"}
    if opens:
        volts, amperes, frequency, at = min(opens)
        loss = powers.get(at)
        reactive = amperes
        if loss and loss < volts * amperes:
            theta[PLACE["core_loss"]] = log(volts**2 / loss)
            reactive = max((amperes**2 - (loss / volts) ** 2) ** 0.5, 0.3 * amperes)
        theta[PLACE["inductance"]] = log(volts / (2 * pi * frequency * reactive))
    if shorts:
        volts, amperes, frequency, at = min(shorts)
        z = volts / amperes
        r = min(powers.get(at, 0.0) / amperes**2, 0.9 * z)
        theta[PLACE["leakage"]] = log((z * z - r * r) ** 0.5 / (2 * pi * frequency))
    theta[prior.sigma <= 0] = prior.centre[prior.sigma <= 0]
    return theta


def fit_exponent(prior: Prior, bench: Bench, exponent: int, start: Real | None = None) -> Fit:
    """Return the fit of all observations with one exponent of the iron."""
    seed = first_guess(prior, bench) if start is None else start
    return _searched(prior, bench, exponent, seed, None, ITERATIONS)


def refit(near: Fit, prior: Prior, bench: Bench, most: int) -> Fit:
    """Return the fit with other standard deviations than ``near`` had, in at most so many steps from there.

    Prior and bench have the same unknowns and observations.
    """
    return _searched(prior, bench, near.exponent, near.theta, near.solved.point, most)


def _searched(prior: Prior, bench: Bench, exponent: int, start: Real, begin: Point | None, most: int) -> Fit:
    y = np.log(np.array([o.value for o in bench.observations], dtype=float))
    solved = solve(
        lambda theta, flux: linearise(theta, prior, exponent, bench, flux),
        y,
        lambda p: noise_of(p, bench),
        prior.centre,
        prior.sigma,
        start,
        begin=begin,
        most=most,
    )
    return Fit(prior, bench, exponent, solved)


def misfit(result: Fit) -> float:
    """Return the sum of squares of readings and priors over their standard deviations."""
    return result.solved.cost - result.solved.logdet


def fit(prior: Prior, bench: Bench, start: Fit | None = None) -> Fit:
    """Return the best fit of a bench.

    The exponent of the iron is chosen by the fit where three open points let it be; with fewer the kind's is taken, and
    others are fitted beside it, for the bands. Readings that contradict each other tell nothing of it.
    """
    seed = None if start is None else start.theta
    best = fit_exponent(prior, bench, prior.exponent if start is None else start.exponent, seed)
    tried = {best.exponent: best}
    if best.solved.converged and misfit(best) > CONTRADICTORY * len(bench.observations):
        return best
    if bench.count("open") < 3:
        for n in (best.exponent - 2, best.exponent + 4):
            tried[n] = fit_exponent(prior, bench, n, best.theta)
        return replace(best, alternatives=_beside(best, tried))
    for direction in (2, -2):
        n = best.exponent + direction
        while n in EXPONENTS and n not in tried:
            other = tried[n] = fit_exponent(prior, bench, n, best.theta)
            if other.solved.cost >= best.solved.cost or not other.solved.converged:
                break
            best = other
            n += direction
    return replace(best, alternatives=_beside(best, tried))


def _beside(best: Fit, tried: Mapping[int, Fit]) -> tuple[tuple[int, float, Real], ...]:
    """Return the other exponents, each with how much worse it fits and its theta."""
    return tuple(
        (n, f.solved.cost - best.solved.cost, f.theta)
        for n, f in sorted(tried.items())
        if f is not best and f.solved.converged
    )


def operating_values(
    theta: Real,
    prior: Prior,
    exponent: int,
    mains_voltage: float,
    frequency: float,
    working_voltage: float | None = None,
) -> dict[str, Real]:
    """Return quantities of operation of parameter sets (m, p), warm, at mains volts: each an array (m,), rms, SI.

    With ``working_voltage``, what is left for the primary in a short behind the ballast, ``working_current`` joins: the
    current of the short-circuited high winding there.
    """
    c = coefficients(theta, prior, exponent)
    tests = [
        BenchTest("open", mains_voltage, frequency, warm=True),
        BenchTest("short", mains_voltage, frequency, warm=True),
        BenchTest("short", working_voltage or mains_voltage, frequency, warm=True),
    ][: 2 if working_voltage is None else 3]
    state = predict(c, tests)
    nan = np.where(state.converged, 1.0, np.nan)
    out = {
        "open_voltage": true_rms(state.secondary_voltage[:, 0]) * nan[:, 0],
        "open_current": true_rms(state.primary_current[:, 0]) * nan[:, 0],
        "open_power": state.power[:, 0] * nan[:, 0],
        "short_current": true_rms(state.secondary_current[:, 1]) * nan[:, 1],
        "short_primary_current": true_rms(state.primary_current[:, 1]) * nan[:, 1],
        "short_power": state.power[:, 1] * nan[:, 1],
        "ratio": c.ratio,
        "leakage_inductance": c.air_leakage + (c.shunt_inductance if prior.shunted else 0.0),
        "magnetising_inductance": 1 / (1 / c.primary_inductance + 1 / c.secondary_inductance),
        "core_loss_resistance": c.core_loss_resistance,
        "primary_resistance": np.exp(np.atleast_2d(theta)[:, PLACE["primary_resistance"]]),
        "secondary_resistance": np.exp(np.atleast_2d(theta)[:, PLACE["secondary_resistance"]]),
    }
    if working_voltage is not None:
        out["working_current"] = true_rms(state.secondary_current[:, 2]) * nan[:, 2]
    return out


def belief(worse: float) -> float:
    """Return the belief in an alternative whose cost (twice the negative logarithm of belief) is so much worse."""
    return float(1 / (1 + np.exp(np.clip(worse / 2, -50.0, 50.0))))


def bands(
    result: Fit,
    mains_voltage: float,
    frequency: float,
    *,
    working_voltage: float | None = None,
    names: Sequence[str] = (),
    extra: Mapping[str, float] | None = None,
    draws: int = 160,
    seed: int = 1,
) -> dict[str, tuple[float, float, float]]:
    """Return value, low and high (95 %) of every quantity of operation, or of the named ones.

    Narrow bands follow from the slope at the fit; where the spread is above 6 % the posterior is drawn from instead,
    because the iron bends. Exponents that the readings leave open widen the band; ``extra`` is that variance of the
    logarithm by quantity, where it is known already.
    """
    free, prior = result.prior.free, result.prior
    sets = np.tile(result.theta, (free.size + 1, 1))
    sets[np.arange(free.size) + 1, free] += _STEP
    values = operating_values(sets, prior, result.exponent, mains_voltage, frequency, working_voltage)
    small = result.covariance[np.ix_(free, free)]
    if extra is None:
        extra = {}
        for n, worse, theta in result.alternatives:
            other = operating_values(theta, prior, n, mains_voltage, frequency, working_voltage)
            for name, x in other.items():
                extra[name] = extra.get(name, 0.0) + belief(worse) * float(np.log(x[0] / values[name][0])) ** 2
    out, wide = {}, False
    for name in names or values:
        x = values[name]
        slope = (np.log(x[1:]) - np.log(x[0])) / _STEP
        spread = float(slope @ small @ slope + extra.get(name, 0.0)) ** 0.5
        wide = wide or spread > 0.06
        out[name] = (float(x[0]), float(x[0] * np.exp(-1.96 * spread)), float(x[0] * np.exp(1.96 * spread)))
    if not wide:
        return out
    rng = np.random.default_rng(seed)
    half = rng.standard_normal((draws // 2, free.size)) @ np.linalg.cholesky(small).T
    sets = np.tile(result.theta, (2 * half.shape[0], 1))
    sets[:, free] += np.concatenate([half, -half])
    drawn = operating_values(sets, prior, result.exponent, mains_voltage, frequency, working_voltage)
    for name, (value, low, high) in tuple(out.items()):
        x = drawn[name]
        if log(high / low) / 3.92 > 0.06:
            good = x[np.isfinite(x)]
            a, b = np.quantile(good, [0.025, 0.975]) if good.size > draws / 2 else (low, high)
            grow = np.exp(1.96 * extra.get(name, 0.0) ** 0.5)
            out[name] = (value, min(float(a / grow), value), max(float(b * grow), value))
    return out


def moved(result: Fit) -> tuple[TransformerCircuit, ...]:
    """Return the circuit moved by one standard deviation along each independent axis of the fit (eigenvectors of its
    covariance), axes below one part in a thousand left out.
    """
    free = result.prior.free
    variances, axes = np.linalg.eigh(result.covariance[np.ix_(free, free)])
    out = []
    for variance, axis in zip(variances, axes.T, strict=True):
        if variance > LEAST_AXIS**2:
            theta = result.theta.copy()
            theta[free] += np.sqrt(variance) * axis
            out.append(circuit(theta, result.prior, result.exponent))
    return tuple(out)
