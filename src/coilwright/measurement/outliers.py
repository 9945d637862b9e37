"""Which single reading does not fit the others? Named by letting each in turn be wrong, and keeping what explains
most.

A misreading that another iron or another leakage would explain as well cannot be named: one of three no-load currents
read a fifth low, or a ratio that was read once in each direction and a fifth low, raises the sum of squares by 1 to 6
in the middle of made-up units, where a reading is named from 14 on. Only a second reading shows it (or, for a ratio,
the plate).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from coilwright.measurement.findings import Finding, say
from coilwright.measurement.identify import Fit, fit, fit_exponent, misfit, noise_of, refit
from coilwright.measurement.parameters import PLACE, Prior
from coilwright.measurement.readings import Bench
from coilwright.measurement.regression import least_misfit
from coilwright.model.parts import Transformer

#: A reading this many standard deviations from what all the others say is named. Of 480 made-up clean sets the furthest
#: reading was 3.2 off (assumption; false alarms are in the accuracy report).
THRESHOLD = 3.8
#: So much more misfit than readings, in its own standard deviations (2 per reading squared), also starts the search.
LARGE_MISFIT = 3.0
#: What a reading that may be anything is given as standard deviation of its logarithm.
LOOSE = 2.0
#: Suspects whose refit is tried: those that promise most along the straight lines of the fit; and steps given to each.
MOST_SUSPECTS, MOST_STEPS = 4, 7
#: Standard deviation with which readings are held where no circuit agrees with them.
ROUGHLY = 0.7
#: How much the misfit (twice the log of belief) must fall before a reading is named.
GAIN = THRESHOLD**2
_UNITS = {"current": "A", "power": "W", "secondary": "V", "secondary_current": "A", "read": "V"}


@dataclass(frozen=True)
class _Suspect:
    where: str
    bench: Bench
    prior: Prior
    value: float
    unit: str
    place: int | None  # of the observation; None: applied volts or a resistance


def find_outliers(part: Transformer, result: Fit, limit: int = 2) -> tuple[Fit, tuple[Finding, ...]]:
    """Return the fit without the readings that do not fit, and a finding for each (at most ``limit``)."""
    found: list[Finding] = []
    for _ in range(limit):
        if not _alarm(result):
            break
        named = _name(part, result)
        if named is None:
            break
        result, finding = named
        found.append(finding)
    return result, tuple(found)


def furthest_off(prior: Prior, bench: Bench) -> tuple[Finding, ...]:
    """Return which reading is furthest from a circuit that is held to none of them closely, where no fit was found."""
    loose = tuple(replace(o, sigma=max(o.sigma, ROUGHLY)) for o in bench.observations)
    rough = fit_exponent(prior, replace(bench, observations=loose), prior.exponent)
    if not loose or not rough.solved.converged:
        return ()
    place = int(np.argmax(np.abs(rough.solved.deviation)))
    seen, value = bench.observations[place], float(np.exp(rough.solved.predicted[place]))
    unit = _UNITS[seen.what]
    message = (
        f"No circuit agrees with all readings of this part; {say(seen.value, unit)} is the furthest off: about "
        f"{say(value, unit)} would go with the others."
    )
    hint = "Read it again. If it reads the same, another reading of this part is wrong."
    return (Finding("reading-outlier", "CAUTION", seen.where, message, hint),)


def _alarm(result: Fit) -> bool:
    free = result.prior.free
    pull = np.abs(result.theta[free] - result.prior.centre[free]) / result.prior.sigma[free]
    count = len(result.bench.observations)
    worst = float(np.abs(result.solved.deviation).max(initial=0.0))
    most = count + LARGE_MISFIT * (2 * count) ** 0.5
    return worst > THRESHOLD or float(pull.max(initial=0.0)) > THRESHOLD or misfit(result) > most


def _name(part: Transformer, result: Fit) -> tuple[Fit, Finding] | None:
    best: tuple[float, _Suspect, Fit] | None = None
    before = misfit(result)
    for suspect in sorted(_suspects(part, result), key=lambda s: _promised(s, result))[:MOST_SUSPECTS]:
        other = refit(result, suspect.prior, suspect.bench, MOST_STEPS)
        gain = before - misfit(other)
        if other.solved.point.converged and (best is None or gain > best[0]):
            best = (gain, suspect, other)
    if best is None or best[0] < GAIN:
        return None
    gain, suspect, other = best
    other = fit(suspect.prior, suspect.bench, start=other)
    return other, _finding(suspect, other, gain**0.5)


def _promised(suspect: _Suspect, result: Fit) -> float:
    """Return the misfit that would be left if this suspect were wrong, by the straight lines through the fit."""
    free, point = result.prior.free, result.solved.point
    y = np.log(np.array([o.value for o in suspect.bench.observations]))
    distance = result.theta[free] - suspect.prior.centre[free]
    return least_misfit(point, noise_of(point, suspect.bench), y, distance, 1 / suspect.prior.sigma[free] ** 2)


def _suspects(part: Transformer, result: Fit) -> list[_Suspect]:
    bench, prior = result.bench, result.prior
    out = []
    for k, seen in enumerate(bench.observations):
        if seen.plate or seen.sigma >= LOOSE:
            continue
        loose = tuple(replace(o, sigma=LOOSE) if j == k else o for j, o in enumerate(bench.observations))
        out.append(_Suspect(seen.where, replace(bench, observations=loose), prior, seen.value, _UNITS[seen.what], k))
    for t, test in enumerate(bench.tests):
        count = sum(1 for o in bench.observations if o.test == t and not o.plate)
        if count < 2 or bench.applied_sigma[t] >= LOOSE:
            continue
        sigma = tuple(1.0 if j == t else s for j, s in enumerate(bench.applied_sigma))
        out.append(_Suspect(bench.where[t], replace(bench, applied_sigma=sigma), prior, test.applied, "V", None))
    base = part.where or part.id
    for name, known in (
        ("primary_resistance", part.primary_resistance),
        ("secondary_resistance", part.secondary_resistance),
    ):
        if known is not None and prior.sigma[PLACE[name]] < 1.0:
            sigma_prior = prior.sigma.copy()
            sigma_prior[PLACE[name]] = 1.5
            out.append(_Suspect(f"{base}.{name}", bench, replace(prior, sigma=sigma_prior), known.value, "ohm", None))
    return out


def _finding(suspect: _Suspect, other: Fit, deviation: float) -> Finding:
    expected = ""
    if suspect.place is not None:
        value = float(np.exp(other.solved.predicted[suspect.place]))
        expected = f" The others lead one to expect {say(value, suspect.unit)}."
    return Finding(
        "reading-outlier",
        "CAUTION",
        suspect.where,
        f"{say(suspect.value, suspect.unit)} does not fit the other readings of this part ({deviation:.1f} standard "
        f"deviations); it is not used.{expected}",
        "Take it again, with the meter on the right range. If it reads the same, another reading is wrong.",
    )
