"""What the meters show when a transformer stands on the bench: every reading through the whole two-limb circuit.

All tests of all parameter sets (m sets, t tests) are one batch of harmonic balance, so a step of a fit is one
solution. On the bench the two halves of a tapped winding carry the same flux, so one secondary limb stands for both.
The nodes are the primary limb P, the point M between air leakage and shunt, and the secondary limb S, all on primary
turns::

    source -Rp- P (iron || 2 Rc) -Lair- M -[shunt]- S (iron || 2 Rc || load || stray capacitance)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coilwright.supply.balance import Balance, Batch
from coilwright.supply.balance import solve as balance
from coilwright.supply.circuits import TransformerCircuit

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]
TestKind = Literal["open", "short", "fed low", "fed high"]

#: Input resistance of a digital voltmeter [ohm]; common practice, no source.
METER_RESISTANCE = 10e6
#: What hangs on the high winding in an open test: nothing [ohm].
OPEN_RESISTANCE = 1e15
#: Odd harmonics of a fit; the highest matters below 1e-3 of the current.
FIT_HARMONICS = np.arange(1, 10, 2)
FULL_HARMONICS = np.arange(1, 26, 2)
_LEAST_INDUCTANCE = 1e-7
#: Newton steps after which a bench solution counts as lost; median four.
_NEWTON_STEPS = 30
_PORTS = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, -1.0, 1.0]])  # (node P M S, port P shunt S)


@dataclass(frozen=True)
class BenchTest:
    """One connection on the bench: ``applied`` V rms at ``frequency`` Hz to the primary ("fed high": to the high
    winding).

    ``warm`` says which resistances hold: those of operation (75 degC) or those of the bench.
    """

    kind: TestKind
    applied: float
    frequency: float
    warm: bool = False


@dataclass(frozen=True)
class Coefficients:
    """Circuit elements of m parameter sets, each of shape (m,), as ``TransformerCircuit`` has them; SI.

    Resistances are (m, 2): column 0 as on the bench, column 1 warm. ``low_flux`` is the share of the inductance L0
    that is left at a few volts, where permeability has not risen yet. ``capacitance`` is what the high winding's open
    end sees [F].
    """

    ratio: Real
    primary_resistance: Real
    secondary_resistance: Real
    primary_inductance: Real
    secondary_inductance: Real
    knee_flux: Real
    primary_knee_current: Real
    secondary_knee_current: Real
    exponent: NDArray[np.int64]
    core_loss_resistance: Real
    air_leakage: Real
    shunt_inductance: Real
    shunt_knee_flux: Real
    shunt_knee_current: Real
    shunt_exponent: NDArray[np.int64]
    capacitance: Real
    low_flux: Real

    @property
    def count(self) -> int:
        """Return the number of parameter sets."""
        return int(self.ratio.size)


@dataclass(frozen=True)
class BenchPrediction:
    """Predicted amplitudes (m, t, h), peak: primary current, secondary volts and amperes; power (m, t) W; and the
    fluxes.
    """

    harmonics: NDArray[np.int64]
    primary_current: Complex
    secondary_voltage: Complex
    secondary_current: Complex
    power: Real
    flux: Complex  # (m, t, h, 3)
    converged: NDArray[np.bool_]  # (m, t)


def effective_capacitance(circuit: TransformerCircuit) -> float:
    """Return the capacitance that loads the high winding end to end [F]: halves of the strays at its ends, in a pi."""
    total = circuit.high_to_core + circuit.high_to_primary
    return total / 4 if circuit.tapped or circuit.tied in {"tap", "none"} else total / 2


def coefficients_of(
    circuits: Sequence[TransformerCircuit], *, bench_resistance: float = 1.0, low_flux: float = 1.0
) -> Coefficients:
    """Return the coefficients of circuits; ``bench_resistance`` scales their warm resistances to those of the bench."""

    def column(values: Sequence[float]) -> Real:
        return np.array(values, dtype=float)

    def pair(values: Sequence[float]) -> Real:
        warm = column(values)
        return np.stack([warm * bench_resistance, warm], axis=1)

    shunts = [c.shunt for c in circuits]
    return Coefficients(
        ratio=column([c.ratio for c in circuits]),
        primary_resistance=pair([c.primary_resistance for c in circuits]),
        secondary_resistance=pair([c.secondary_resistance for c in circuits]),
        primary_inductance=column([c.primary_limb.inductance for c in circuits]),
        secondary_inductance=column([c.secondary_limb.inductance for c in circuits]),
        knee_flux=column([c.primary_limb.knee_flux for c in circuits]),
        primary_knee_current=column([c.primary_limb.knee_current for c in circuits]),
        secondary_knee_current=column(
            [
                c.secondary_limb.knee_current
                * (c.primary_limb.knee_flux / c.secondary_limb.knee_flux) ** c.secondary_limb.exponent
                for c in circuits
            ]
        ),
        exponent=np.array([(c.primary_limb.exponent, c.secondary_limb.exponent) for c in circuits], dtype=np.int64),
        core_loss_resistance=column([c.core_loss_resistance for c in circuits]),
        air_leakage=column([max(c.air_leakage, _LEAST_INDUCTANCE) for c in circuits]),
        shunt_inductance=column([s.inductance if s else _LEAST_INDUCTANCE for s in shunts]),
        shunt_knee_flux=column([s.knee_flux if s else 1.0 for s in shunts]),
        shunt_knee_current=column([s.knee_current if s else 0.0 for s in shunts]),
        shunt_exponent=np.array([s.exponent if s else 9 for s in shunts], dtype=np.int64),
        capacitance=column([effective_capacitance(c) for c in circuits]),
        low_flux=column([low_flux] * len(circuits)),
    )


def predict(
    c: Coefficients,
    tests: Sequence[BenchTest],
    *,
    start: Complex | None = None,
    harmonics: NDArray[np.int64] = FIT_HARMONICS,
    tolerance: float = 1e-8,
    scale: Real | None = None,
) -> BenchPrediction:
    """Return what every open and short test of every parameter set shows (m sets, t tests).

    ``start`` (1 or m, t, h, 3) is a flux to begin with, from a neighbouring solution; ``scale`` (m,) multiplies the
    volts.
    """
    m, t, n_h = c.count, len(tests), harmonics.size
    volts = np.array([test.applied for test in tests]) * (np.ones((m, 1)) if scale is None else scale[:, None])
    omega = 2 * pi * np.array([test.frequency for test in tests])
    warm = np.array([int(test.warm) for test in tests])
    shorted = np.array([test.kind == "short" for test in tests])
    s = 1j * omega[None, :, None] * harmonics  # (1, t, h)
    one = (slice(None), None, None)
    rp = c.primary_resistance[:, warm][:, :, None]
    rs = c.secondary_resistance[:, warm][:, :, None]
    square = c.ratio[one] ** 2
    load = square / (rs + np.where(shorted, 0.0, OPEN_RESISTANCE)[None, :, None])
    half_loss = 1 / (2 * c.core_loss_resistance[one])
    y_air, y_shunt = 1 / (s * c.air_leakage[one]), 1 / (s * c.shunt_inductance[one])
    y = np.zeros((m, t, n_h, 3, 3), dtype=complex)
    y[..., 0, 0] = 1 / rp + half_loss + 1 / (s * c.primary_inductance[one]) + y_air
    y[..., 1, 1] = y_air + y_shunt
    y[..., 2, 2] = half_loss + 1 / (s * c.secondary_inductance[one]) + y_shunt + load + s * c.capacitance[one] * square
    y[..., 0, 1] = y[..., 1, 0] = -y_air
    y[..., 1, 2] = y[..., 2, 1] = -y_shunt
    z = np.linalg.inv(y)
    source = np.zeros((m, t, n_h, 3), dtype=complex)
    source[..., 0, 0] = sqrt(2) * volts / rp[:, :, 0]
    rest = np.einsum("mthij,mthj->mthi", z, source)
    transfer = z @ _PORTS
    batch = Batch(
        np.broadcast_to(omega, (m, t)).reshape(-1),
        harmonics,
        (rest @ _PORTS).reshape(m * t, n_h, 3),
        (_PORTS.T @ transfer).reshape(m * t, n_h, 3, 3),
        _rows(t, c.knee_flux, c.shunt_knee_flux, c.knee_flux),
        _rows(t, c.primary_knee_current, c.shunt_knee_current, c.secondary_knee_current),
        _rows(t, c.exponent[:, 0], c.shunt_exponent, c.exponent[:, 1]).astype(np.int64),
    )
    result = solve_ramped(
        batch, None if start is None else np.broadcast_to(start, (m, t, n_h, 3)).reshape(m * t, n_h, 3), tolerance
    )
    current = result.current.reshape(m, t, n_h, 3)
    x = rest - np.einsum("mthip,mthp->mthi", transfer, current)
    drive = np.zeros((m, t, n_h))
    drive[..., 0] = sqrt(2) * volts
    primary = (drive - x[..., 0]) / rp
    secondary = x[..., 2] * c.ratio[one]
    return BenchPrediction(
        harmonics,
        primary,
        np.where(shorted[None, :, None], 0.0, secondary),
        np.where(shorted[None, :, None], secondary / rs, 0.0),
        np.asarray((drive[..., 0] * primary[..., 0].conj()).real / 2),
        result.flux.reshape(m, t, n_h, 3),
        result.converged.reshape(m, t),
    )


def _rows(t: int, *columns: NDArray[np.float64] | NDArray[np.int64]) -> Real:
    """Return per-port values (m t, 3) of per-set columns (m,)."""
    return np.repeat(np.stack(columns, axis=1), t, axis=0)


def solve_ramped(batch: Batch, start: Complex | None, tolerance: float) -> Balance:
    """Return the balance from the given flux or the linear one; what is lost goes up the source ramp."""
    jw = 1j * batch.omega[:, None, None] * batch.harmonics[None, :, None]
    if start is None:
        start = batch.open / jw
        start = start / np.maximum(1.0, np.abs(start[:, :1]) / batch.knee_flux[:, None, :] / 1.1)
    result = balance(batch, start, tolerance=tolerance, max_iterations=_NEWTON_STEPS)
    lost = np.flatnonzero(~result.converged)
    if lost.size:
        flux = np.zeros_like(batch.open[lost])
        part = batch.take(lost)
        for share in np.linspace(0.1, 1.0, 10):
            step = balance(
                Batch(
                    part.omega,
                    part.harmonics,
                    part.open * share,
                    part.impedance,
                    part.knee_flux,
                    part.knee_current,
                    part.exponent,
                ),
                flux,
                tolerance=tolerance,
            )
            flux = np.where(step.converged[:, None, None], step.flux, flux)
            if share == 1.0:
                result.flux[lost], result.current[lost], result.converged[lost] = (
                    step.flux,
                    step.current,
                    step.converged,
                )
    return result


def low_voltage_ratio(c: Coefficients, tests: Sequence[BenchTest]) -> Real:
    """Return read over applied volts (m, t) of tests fed low (read on the high winding) or fed high (read on the
    primary).

    At a few volts the iron is linear, with ``low_flux`` of its inductance.
    """
    w = 2 * pi * np.array([test.frequency for test in tests])[None, :]
    s = 1j * w
    one = (slice(None), None)
    square = c.ratio[one] ** 2
    rp, rs = c.primary_resistance[:, :1], c.secondary_resistance[:, :1] / square
    half_loss = 1 / (2 * c.core_loss_resistance[one])
    y_p = half_loss + 1 / (s * (c.primary_inductance * c.low_flux)[one])
    y_s = half_loss + 1 / (s * (c.secondary_inductance * c.low_flux)[one]) + s * c.capacitance[one] * square
    z = s * (c.air_leakage + c.shunt_inductance)[one]
    fed_low = np.array([test.kind == "fed low" for test in tests])[None, :]
    near, far = np.where(fed_low, y_p, y_s), np.where(fed_low, y_s, y_p)
    r_near, r_far = np.where(fed_low, rp, rs), np.where(fed_low, rs, rp)
    far = far + 1 / (r_far + np.where(fed_low, METER_RESISTANCE / square, METER_RESISTANCE))
    beyond = 1 / far + z
    gain = np.abs((1 / far) / beyond / (1 + r_near * (near + 1 / beyond)))
    return np.asarray(gain * np.where(fed_low, c.ratio[one], 1 / c.ratio[one]))


def true_rms(amplitudes: Complex) -> Real:
    """Return the true rms of waveforms whose harmonics stand on the last axis."""
    return np.asarray(np.sqrt((np.abs(amplitudes) ** 2).sum(axis=-1) / 2))


def average_reading(amplitudes: Complex, harmonics: NDArray[np.int64], samples: int = 64) -> Real:
    """Return what an average-responding meter, scaled for a sine, shows: pi / (2 sqrt 2) times the mean magnitude."""
    angle = np.pi * (np.arange(samples) + 0.5)[:, None] / samples * harmonics
    wave = (amplitudes @ np.exp(1j * angle).T).real
    return np.asarray(pi / (2 * sqrt(2)) * np.abs(wave).mean(axis=-1))
