"""Chokes: reactance against current with saturation, from test points, from the lamp they served, or from a current
alone.

The winding's resistance and the air inductance (3 % of the small-signal inductance, an assumption: what is left when
the iron is full) stand in series with the gapped iron, which its loss bridges. Every test point is predicted by
harmonic balance and fitted with priors, as a transformer is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log, pi, sqrt

import numpy as np

from coilwright.magnetics.iron import Iron
from coilwright.measurement.findings import MarkSource
from coilwright.measurement.kinds import WARM, Spread
from coilwright.measurement.lamps import LampChoke, lamp_choke
from coilwright.measurement.readings import RESISTANCE_SIGMA, known_sigma, log_sigma, mark_of
from coilwright.measurement.regression import Point, Solved, noise_covariance, solve
from coilwright.measurement.transformer_bench import (
    FIT_HARMONICS,
    Complex,
    Real,
    average_reading,
    solve_ramped,
    true_rms,
)
from coilwright.model.parts import Choke, ChokeTest, Instrument
from coilwright.supply.balance import Batch
from coilwright.supply.circuits import ChokeCircuit

#: Share of the inductance that no saturation takes away (assumption).
AIR_SHARE = 0.03
#: A choke of which only the current is written: the volts it drops at it (lamp chokes on 220 to 240 V drop 139 to 200
#: V).
UNKNOWN_VOLTS = Spread(0.75, 0.25)
#: Production chokes about the reference ballast of their lamp, and that table from memory (assumption).
LAMP_SIGMA = 0.05
#: Peak saturation current at rated volts over rated peak current; loss across the iron over volt-amperes; resistance
#: over
#: impedance (all assumptions: production lamp chokes).
SATURATION = Spread(0.05, 0.8)
IRON_LOSS = Spread(0.025, 0.7)
COPPER = Spread(0.05, 0.6)
BENCH_RESISTANCE = Spread(1.15, 0.10)
EXPONENTS = (5, 7, 9, 11, 13)
NAMES = ("inductance", "saturation", "loss", "resistance", "bench")
_STEP = 1e-4


@dataclass(frozen=True)
class ChokeFit:
    """A fitted choke. theta: logarithms of ``NAMES``; ``rated`` volts and amperes are where saturation is stated.

    The circuit is warm and has the gap that the project states.
    """

    circuit: ChokeCircuit
    solved: Solved
    exponent: int
    rated_voltage: float
    rated_current: float
    frequency: float
    gap_ratio: float
    sources: Mapping[str, MarkSource]
    observations: tuple[tuple[str, float, float], ...] = ()  # key path, read, predicted

    def currents(self, voltages: Real) -> Real:
        """Return rms amperes at rms volts across the warm, regapped choke, shape as given."""
        return choke_currents(self.circuit, voltages, self.frequency)


def choke_currents(circuit: ChokeCircuit, voltages: Real, frequency: float) -> Real:
    """Return rms amperes that a choke takes at rms volts of a sine source, shape (v,)."""
    return np.asarray(_grid_currents([circuit], np.asarray(voltages, dtype=float), frequency)[0])


def _solve(
    inductance: Real,
    knee: Real,
    sat: Real,
    exponent: int,
    r: Real,
    air: Real,
    loss: Real,
    volts: Real,
    frequency: float,
) -> tuple[Complex, Real]:
    """Return current amplitudes (b, h) and power (b,) of chokes across sine sources."""
    h = FIT_HARMONICS
    s = 2j * pi * frequency * h
    series = r[:, None] + s * air[:, None]
    y = 1 / loss[:, None] + 1 / (s * inductance[:, None])
    z = 1 / (1 / series + y)
    source = np.zeros((volts.size, h.size), dtype=np.complex128)
    source[:, 0] = sqrt(2) * volts
    seen = np.asarray(source / series * z, dtype=np.complex128)
    batch = Batch(
        np.full(volts.size, 2 * pi * frequency),
        h,
        seen[:, :, None],
        np.asarray(z, dtype=np.complex128)[:, :, None, None],
        knee[:, None],
        sat[:, None],
        np.full((volts.size, 1), exponent, dtype=np.int64),
    )
    result = solve_ramped(batch, None, 1e-9)
    v = seen - z * result.current[:, :, 0]
    current = (source - v) / series
    current[~result.converged] = np.nan
    return current, np.asarray((source[:, 0] * current[:, 0].conj()).real / 2)


def fit_choke(
    choke: Choke,
    instruments: Mapping[str, Instrument],
    frequency: float,
    mains_voltage: float = 230.0,
    stopped: frozenset[str] = frozenset(),
) -> ChokeFit | None:
    """Return the fit of a choke, None where neither test, lamp nor current is written.

    Of a choke that states a current and no volts, ``mains_voltage`` gives the guess. ``stopped`` holds key paths of
    readings that cannot be true; they are left out.
    """
    choke = _believed(choke, stopped)
    sources: dict[str, MarkSource] = {}
    rated = _rated(choke, sources, frequency, mains_voltage)
    if rated is None:
        return None
    volts, amperes, spread, base = rated
    usable = [t for t in choke.test if _may_use(t, instruments)]
    x = volts / amperes * (frequency / base)
    flux = sqrt(2) * volts / (2 * pi * base)
    guess = [
        Spread(x / (2 * pi * frequency), spread),
        Spread(sqrt(2) * amperes * SATURATION.median, SATURATION.sigma),
        Spread(x / IRON_LOSS.median, IRON_LOSS.sigma),
        Spread(x * COPPER.median, COPPER.sigma),
        BENCH_RESISTANCE,
    ]
    if choke.resistance is not None:
        known = (known_sigma(choke.resistance) ** 2 + RESISTANCE_SIGMA**2) ** 0.5
        guess[3] = Spread(choke.resistance.value, known)
        sources["resistance"] = MarkSource(choke.resistance.mark, "resistance as read, 20 degC")
    else:
        sources["resistance"] = MarkSource("pencil", "usual share of the impedance")
    centre, sigma = np.log([g.median for g in guess]), np.array([g.sigma for g in guess])
    if usable:
        marks = [mark_of(t.stamp) for t in usable]
        sources["inductance"] = MarkSource(
            min(marks, key=("pencil", "ink", "stamped").index), f"{len(usable)} test points"
        )
        centre[0] = log(usable[0].voltage.value / usable[0].current.value / (2 * pi * frequency))
        sigma[0] = max(sigma[0], 0.5)
    fits = {
        n: _fit(usable, instruments, frequency, flux, n, centre, sigma)
        for n in ((9,) if len(usable) < 3 else EXPONENTS)
    }
    exponent = min(fits, key=lambda n: fits[n].cost)
    exponent = exponent if fits[exponent].cost < fits[9].cost - 1.0 else 9
    best = fits[exponent]
    circuit = circuit_of(best.theta, flux, exponent).regapped(choke.gap_ratio)
    seen = tuple(
        (f"{t.where or choke.id}.{key}", float(np.exp(a)), float(np.exp(b)))
        for (t, key), a, b in zip(
            [(t, k) for t in usable for k in (("current", "power") if t.power else ("current",))],
            _logs(usable),
            best.predicted,
            strict=True,
        )
    )
    return ChokeFit(
        circuit, best, exponent, volts, amperes * choke.gap_ratio, frequency, choke.gap_ratio, sources, seen
    )


def circuit_of(theta: Real, flux: float, exponent: int) -> ChokeCircuit:
    """Return the warm circuit of unknowns theta, with the gap of the tests."""
    inductance, saturation, loss, resistance, _ = (float(v) for v in np.exp(theta))
    return ChokeCircuit(
        resistance * WARM * 1.05,
        Iron(inductance * (1 - AIR_SHARE), flux, saturation, exponent),
        inductance * AIR_SHARE,
        loss,
    )


def _believed(choke: Choke, stopped: frozenset[str]) -> Choke:
    """Return the choke without the readings that cannot be true."""
    tests = []
    for k, t in enumerate(choke.test):
        where = t.where or f"{choke.where or choke.id}.test[{k}]"
        if f"{where}.current" not in stopped and f"{where}.voltage" not in stopped:
            tests.append(replace(t, power=None) if f"{where}.power" in stopped else t)
    return replace(choke, test=tuple(tests))


def _may_use(test: ChokeTest, instruments: Mapping[str, Instrument]) -> bool:
    instrument = instruments.get(test.stamp.instrument or "")
    rated = instrument is None or instrument.rating is None or test.voltage.value <= instrument.rating
    return rated and test.voltage.value > 0 and test.current.value > 0


def _rated(
    choke: Choke, sources: dict[str, MarkSource], frequency: float, mains_voltage: float
) -> tuple[float, float, float, float] | None:
    """Return volts, amperes, spread and the frequency they hold at, from the tests, the lamp or the current alone."""
    lamp: LampChoke | None = lamp_choke(choke.lamp) if choke.lamp else None
    amperes = choke.current.value if choke.current else (lamp.current if lamp else None)
    if amperes is None and choke.settings:
        amperes = min(choke.settings)
    if choke.test:
        top = max(choke.test, key=lambda t: t.voltage.value)
        if amperes is None:
            amperes = top.current.value
        return top.voltage.value / top.current.value * amperes, amperes, 0.5, frequency
    if amperes is None:
        return None
    if lamp is not None:
        sources["inductance"] = MarkSource("pencil", f"usual choke of a {choke.lamp} lamp ({lamp.source})")
        return lamp.current * lamp.impedance, amperes, LAMP_SIGMA, lamp.frequency
    sources["inductance"] = MarkSource(
        "pencil", "current as written; its volts are not known: lamp chokes drop 0.6 to 0.9 of their mains"
    )
    return UNKNOWN_VOLTS.median * mains_voltage, amperes, UNKNOWN_VOLTS.sigma, frequency


def _logs(tests: list[ChokeTest]) -> Real:
    values = [v for t in tests for v in ((t.current.value, t.power.value) if t.power else (t.current.value,))]
    return np.asarray(np.log(np.array(values, dtype=float)))


def _fit(
    tests: list[ChokeTest],
    instruments: Mapping[str, Instrument],
    frequency: float,
    flux: float,
    exponent: int,
    centre: Real,
    sigma: Real,
) -> Solved:
    spreads, places = [], []
    applied = []
    for k, t in enumerate(tests):
        instrument = instruments.get(t.stamp.instrument or "")
        applied.append(log_sigma(t.voltage, "voltage", instrument))
        for what, read in (("current", t.current), ("power", t.power)):
            if read is not None:
                spreads.append(
                    (log_sigma(read, what, instrument) ** 2 + (0.005 if what == "current" else 0.02) ** 2) ** 0.5
                )
                places.append(k)
    responses = [i.response if (i := instruments.get(t.stamp.instrument or "")) else None for t in tests]
    volts = np.array([t.voltage.value for t in tests])

    def linearise(theta: Real, _start: Complex | None) -> Point:
        f = theta.size
        sets = np.tile(theta, (f + 2, 1))
        sets[np.arange(f) + 1, np.arange(f)] += _STEP
        scale = np.ones((f + 2, 1))
        scale[-1] = 1 + _STEP
        values = np.exp(sets)
        rows = (f + 2) * volts.size

        def each(column: Real) -> Real:
            return np.repeat(column, volts.size)

        current, power = _solve(
            each(values[:, 0] * (1 - AIR_SHARE)),
            np.full(rows, flux),
            each(values[:, 1]),
            exponent,
            each(values[:, 3] * values[:, 4]),
            each(values[:, 0] * AIR_SHARE),
            each(values[:, 2]),
            (scale * volts).reshape(-1),
            frequency,
        )
        rms, mean = true_rms(current), average_reading(current, FIT_HARMONICS)
        rms, mean, power = (a.reshape(f + 2, volts.size) for a in (rms, mean, power))
        columns, extra = [], []
        for k, t in enumerate(tests):
            columns.append(mean[:, k] if responses[k] == "average" else rms[:, k])
            extra.append(0.0 if responses[k] else abs(float(np.log(mean[0, k] / rms[0, k]))) / 2)
            if t.power is not None:
                columns.append(power[:, k])
                extra.append(0.0)
        out = np.log(np.stack(columns, axis=1)) if columns else np.zeros((f + 2, 0))
        return Point(
            out[0],
            (out[1:-1] - out[0]).T / _STEP,
            (out[-1] - out[0]) / log(1 + _STEP),
            np.array(extra),
            np.zeros((0,), dtype=complex),
            bool(np.isfinite(out).all()),
        )

    spread_array, place_array = np.array(spreads, dtype=float), np.array(places, dtype=np.int64)
    return solve(
        linearise,
        _logs(tests),
        lambda p: noise_covariance(p, spread_array, place_array, np.array(applied)),
        centre,
        sigma,
        centre,
    )


def choke_bands(fit: ChokeFit, choke: Choke, mains_voltage: float) -> dict[str, tuple[float, float, float]]:
    """Return value, low and high (95 %) of what a choke is: inductance, resistance cold, volts at its marked
    current, and impedance and current with the whole mains across it.
    """
    rng = np.random.default_rng(1)
    cov = fit.solved.covariance
    half = rng.standard_normal((40, cov.shape[0])) @ np.linalg.cholesky(cov + 1e-12 * np.eye(cov.shape[0])).T
    sets = np.concatenate([fit.solved.theta[None], fit.solved.theta + half, fit.solved.theta - half])
    flux = fit.circuit.iron.knee_flux
    circuits = [circuit_of(theta, flux, fit.exponent).regapped(choke.gap_ratio) for theta in sets]
    linear = abs(complex(circuits[0].resistance, 2 * pi * fit.frequency * circuits[0].inductance))
    grid = np.append(fit.rated_current * linear * np.linspace(0.3, 1.7, 10), mains_voltage)
    amperes = _grid_currents(circuits, grid, fit.frequency)
    rows = {
        "inductance": np.array([c.inductance for c in circuits]),
        "impedance": mains_voltage / amperes[:, -1],
        "rated_voltage": np.array([np.interp(fit.rated_current, row[:-1], grid[:-1]) for row in amperes]),
        "mains_current": amperes[:, -1],
        "resistance": np.exp(sets[:, 3]),
    }
    out = {}
    for name, values in rows.items():
        low, high = np.nanquantile(values[1:], [0.025, 0.975])
        value = float(values[0])
        out[name] = (value, min(float(low), value), max(float(high), value))
    return out


def _grid_currents(circuits: Sequence[ChokeCircuit], volts: Real, frequency: float) -> Real:
    """Return rms amperes (c, v) of chokes with the same exponent at every one of the volts."""
    rows = len(circuits)

    def column(values: list[float]) -> Real:
        return np.repeat(np.array(values), volts.size)

    current, _ = _solve(
        column([c.iron.inductance for c in circuits]),
        column([c.iron.knee_flux for c in circuits]),
        column([c.iron.knee_current for c in circuits]),
        circuits[0].iron.exponent,
        column([c.resistance for c in circuits]),
        column([c.air_inductance for c in circuits]),
        column([c.loss_resistance or 1e12 for c in circuits]),
        np.tile(volts, rows),
        frequency,
    )
    return true_rms(current).reshape(rows, volts.size)


def for_setting(choke: Choke, setting: float) -> Choke:
    """Return the choke as it stands at one of its marked currents (a welder's choke with taps), without the other
    taps' tests.
    """
    if setting not in choke.settings:
        raise ValueError(
            f"{choke.id} has no setting {setting:g} A: it has {', '.join(f'{s:g} A' for s in choke.settings)}"
        )
    current = replace(choke.current, value=setting) if choke.current else None
    return replace(choke, current=current, settings=(setting,), test=())


def moved(fit: ChokeFit, gap_ratio: float) -> tuple[ChokeCircuit, ...]:
    """Return the circuit moved by one standard deviation along each independent axis of the fit."""
    variances, axes = np.linalg.eigh(fit.solved.covariance)
    return tuple(
        circuit_of(fit.solved.theta + np.sqrt(v) * a, fit.circuit.iron.knee_flux, fit.exponent).regapped(gap_ratio)
        for v, a in zip(variances, axes.T, strict=True)
        if v > 1e-6
    )
