"""How a current-limited supply charges the tank between firings: break rate, volts at firing, power.

The supply is linear here: open volts behind its short-circuit resistance and reactance, in series with the tank,

    L di/dt = e(t) - R i - v,     C dv/dt = i,     e = sqrt(2) V sin(w t + p)

carried from step to step exactly (matrix exponential of the four states v, i and the two of the source, summed as a
series to the last figure). The gap
fires at once, takes the tank from its volts to zero in no time, and clears; the inductor's current goes on. The iron's
saturation is not in this model, nor is a gap that burns on as an arc: both take power away. Several runs that differ
in the phase at switch-on are averaged, for a static gap is chaotic and an asynchronous rotor meets every phase alike.
Against runs ten times as long the power is within 2 %, and within 10 % where the gap misses many crests (measured).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import ModelRangeError

Real = NDArray[np.float64]

#: Runs per capacitance (phases at switch-on), steps of each, and mains cycles left out at the start. A small tank takes
#: shorter steps, so that its runs are shorter; it has fired many times all the same.
RUNS, STEPS, START_CYCLES = 6, 520, 1.0
#: Mains cycles left out and averaged with a rotor.
ROTARY_START, ROTARY_CYCLES = 6, 10
#: Least resistance as a share of the reactance: a lossless supply at resonance has no steady state.
LEAST_LOSS = 1e-3
_ORDER = 8  # of the series within a step: its rest is below 2e-12 for a step of 0.2 rad
_STEP = 0.2  # rad of the faster of source and ring
_MOST_FIRINGS = 40  # within one step; more is a tank so small that the gap burns on
#: Bangs per second above which no gap is taken to clear: 20 times what a plain one does (assumption). Smaller tanks
#: would also take minutes to follow.
MOST_RATE = 20e3


@dataclass(frozen=True)
class Source:
    """The supply as a linear source: open volts rms, resistance and reactance of its short circuit [ohm], Hz."""

    voltage: float
    resistance: float
    reactance: float
    frequency: float

    @property
    def short_current(self) -> float:
        """Return the short-circuit current [A rms]."""
        return self.voltage / float(np.hypot(self.resistance, self.reactance))

    @property
    def inductance(self) -> float:
        return self.reactance / (2 * pi * self.frequency)


@dataclass(frozen=True)
class Charging:
    """What one tank capacitance gives. ``firing_peak`` is the mean of the volts at firing, ``firing_spread`` their
    standard deviation and ``firing_highest`` the highest of them [V]; ``highest_peak`` the highest volts seen, fired or
    not; ``current`` rms A of the supply, ``loss`` W in its resistance; ``share`` is power over open volts times
    short-circuit amperes.
    """

    capacitance: float
    break_rate: float
    firing_peak: float
    firing_spread: float
    firing_highest: float
    energy_per_bang: float
    power: float
    share: float
    highest_peak: float
    current: float
    loss: float

    @property
    def fires(self) -> bool:
        return self.break_rate > 0


def source_of(voltage: float, current: float, frequency: float, power: float | None = None) -> Source:
    """Return the linear source with that open voltage [V rms], short-circuit current [A rms] and loss in the short
    circuit [W]; without a loss a tenth of the impedance is taken as resistance (assumption).
    """
    if not (voltage > 0 and current > 0 and frequency > 0):
        raise ModelRangeError(
            f"open volts, short-circuit amperes and frequency must be positive: got {voltage:g} V, {current:g} A, "
            f"{frequency:g} Hz"
        )
    impedance = voltage / current
    resistance = 0.1 * impedance if power is None else power / current**2
    resistance = min(max(resistance, LEAST_LOSS * impedance), 0.99 * impedance)
    return Source(voltage, resistance, sqrt(impedance**2 - resistance**2), frequency)


def static_gap(source: Source, capacitances: Sequence[float], firing_peak: float) -> tuple[Charging, ...]:
    """Return what each tank [F] gives with a gap that fires whenever its volts reach ``firing_peak`` [V].

    The gap's own scatter is not in it. A gap set above the open crest fires only where the tank's resonance with the
    supply lifts it there; a linear supply near resonance always does, a saturating one may not.

    Raises
    ------
    ModelRangeError
        If a capacitance or the firing volts are not positive, or a tank is so small that the gap would burn on.
    """
    tanks = _checked(source, capacitances)
    if not firing_peak > 0:
        raise ModelRangeError(f"firing volts must be positive: got {firing_peak:g} V")
    soonest = tanks * firing_peak / (0.9 * source.short_current)  # 0.9: mean over rms of a sine
    if soonest.min() < 1 / MOST_RATE:
        raise _burning(float(tanks[soonest < 1 / MOST_RATE].min()))
    shortest = 0.7 * tanks * firing_peak / (sqrt(2) * source.short_current)  # seldom two bangs in a step
    lanes = _Lanes(source, tanks, np.minimum(_STEP / _fastest(source, tanks), shortest))
    if firing_peak >= sqrt(2) * source.voltage:
        lanes.rest(firing_peak)
    per_cycle = 1 / source.frequency / lanes.step
    first = np.round(START_CYCLES * per_cycle)
    last = first + np.floor(np.maximum(STEPS - first, per_cycle) * 2 / per_cycle) * per_cycle / 2
    for k in range(int(np.round(last.max()))):
        lanes.counts = (k >= first) & (k < last)
        before = lanes.state
        lanes.advance()
        crossed = np.flatnonzero(np.abs(lanes.state[:, 0]) >= firing_peak)
        if crossed.size:
            lanes.fire_within(crossed, before[crossed], firing_peak)
    return lanes.results((last - first) * lanes.step)


def rotary_gap(
    source: Source,
    capacitances: Sequence[float],
    presentations_per_second: float,
    phase: float | None = None,
    lowest_peak: float = 0.0,
) -> tuple[Charging, ...]:
    """Return what each tank [F] gives with a gap that fires at each presentation if its volts are ``lowest_peak`` [V]
    or more.

    ``phase`` [rad] is the angle of the open volts at a presentation (0: their zero, rising), for a rotor locked to the
    mains; None averages over all phases alike, for one that is not. What fires beside the presentations is not in it:
    ``highest_peak`` says what the gap must hold off.

    Raises
    ------
    ModelRangeError
        If a capacitance or the rate of presentations is not positive.
    """
    tanks = _checked(source, capacitances)
    if not presentations_per_second > 0:
        raise ModelRangeError(f"presentations must be positive: got {presentations_per_second:g} 1/s")
    between = 1 / presentations_per_second
    parts = max(1, ceil(between * float(_fastest(source, tanks).max()) / _STEP))
    lanes = _Lanes(source, tanks, np.full_like(tanks, between / parts), phase)
    first = max(ceil(ROTARY_START / source.frequency / between), 4)
    count = first + max(round(ROTARY_CYCLES / source.frequency / between), 8)
    lanes.fire(np.arange(lanes.capacitance.size))
    for k in range(count):
        lanes.counts = np.full(lanes.capacitance.size, k >= first)
        for _ in range(parts):
            lanes.advance()
        lanes.fire(np.flatnonzero(np.abs(lanes.state[:, 0]) >= max(lowest_peak, 1e-9)))
    return lanes.results(np.full(lanes.capacitance.size, (count - first) * between))


def _burning(capacitance: float) -> ModelRangeError:
    return ModelRangeError(
        f"with {capacitance * 1e9:.3g} nF the gap fires again within microseconds: it burns on as an arc, which this "
        "model does not have"
    )


def _checked(source: Source, capacitances: Sequence[float]) -> Real:
    tanks = np.asarray(capacitances, dtype=float)
    if tanks.size == 0 or not np.all(tanks > 0):
        raise ModelRangeError("tank capacitances must be positive")
    if not (source.resistance > 0 and source.reactance > 0):
        raise ModelRangeError("a source needs a positive resistance and reactance")
    return tanks


def _fastest(source: Source, tanks: Real) -> Real:
    """Return the fastest angular frequency of source and ring at each tank [rad/s]."""
    return np.maximum(4 * pi * source.frequency, 1 / np.sqrt(source.inductance * tanks))


class _Lanes:
    """All runs side by side: state (v, i, sine, cosine) of each, and what has been counted.

    A run begins with an empty tank and the current of the short circuit, at its own phase of the source; ``rest`` puts
    it where it would be had the gap never fired. ``counts`` says which runs count this step.
    """

    def __init__(self, source: Source, tanks: Real, step: Real, phase: float | None = None) -> None:
        self.source, self.tanks = source, tanks
        self.runs = runs = RUNS if phase is None else 1
        self.capacitance, self.step = np.repeat(tanks, runs), np.repeat(step, runs)
        systems = [_system(source, c) for c in tanks]
        pairs = list(zip(systems, step, strict=True))
        self.matrix = np.stack([_powers(m * h, 2 * _ORDER).sum(axis=0) for m, h in pairs]).repeat(runs, axis=0)
        self.series = np.stack([_powers(m, _ORDER) for m in systems]).repeat(runs, axis=0)
        angle = np.tile(pi * (np.arange(runs) + 0.5) / runs if phase is None else [phase], tanks.size)
        lag = np.arctan2(source.reactance, source.resistance)
        amps = sqrt(2) * source.short_current * np.sin(angle - lag)
        self.state: Real = np.stack([np.zeros_like(angle), amps, np.sin(angle), np.cos(angle)], axis=1)
        n = self.capacitance.size
        self.counts = np.zeros(n, dtype=bool)
        self.count, self.sum, self.square = np.zeros(n), np.zeros(n), np.zeros(n)
        self.highest, self.top = np.zeros(n), np.zeros(n)
        self.amps, self.samples = np.zeros(n), np.zeros(n)

    def rest(self, most: float) -> None:
        """Begin in the steady state with the gap missing, the tanks not above ``most`` [V]."""
        w, s = 2 * pi * self.source.frequency, self.source
        turn = 1j * w * self.capacitance
        volts = sqrt(2) * s.voltage / (1 + turn * (s.resistance + 1j * s.reactance))
        now = volts * (self.state[:, 3] + 1j * self.state[:, 2])
        self.state[:, 0] = np.clip(now.imag, -0.999 * most, 0.999 * most)
        self.state[:, 1] = (turn * now).imag

    def advance(self) -> None:
        """Carry every run over one step of its own."""
        self.state = np.matmul(self.matrix, self.state[:, :, None])[:, :, 0]
        np.maximum(self.highest, self.counts * np.abs(self.state[:, 0]), out=self.highest)
        self.amps += self.counts * self.state[:, 1] ** 2
        self.samples += self.counts

    def fire(self, at: NDArray[np.intp]) -> None:
        """Empty the tanks of these runs."""
        volts = np.abs(self.state[at, 0])
        self._book(at, volts)
        self.state[at, 0] = 0.0

    def fire_within(self, at: NDArray[np.intp], before: Real, peak: float) -> None:
        """Fire these runs where they reached ``peak`` within the last step, and carry them on to its end.

        The circuit is linear: a bang adds the answer to a step of minus ``peak`` at its instant to what would have
        been.
        """
        self.highest[at] = np.where(self.counts[at], peak, self.highest[at])
        left = self.step[at]
        for _ in range(_MOST_FIRINGS):
            series = self.series[at]
            terms = np.matmul(series[:, :, 0, :], before[:, :, None])[:, :, 0]
            when, sign = _crossing(terms, left, peak)
            self._book(at, np.full(at.size, peak))
            left = left - when
            answer = _summed(series[:, :, :2, 0], left)
            self.state[at, :2] -= (sign * peak)[:, None] * answer
            again = np.abs(self.state[at, 0]) >= peak
            if not again.any():
                return
            then = _summed(np.matmul(series[again], before[again][:, None, :, None])[:, :, :, 0], when[again])
            then[:, 0] = 0.0
            at, before, left = at[again], then, left[again]
        raise _burning(float(self.capacitance[at].min()))

    def _book(self, at: NDArray[np.intp], volts: Real) -> None:
        counted = self.counts[at]
        self.count[at] += counted
        self.sum[at] += counted * volts
        self.square[at] += counted * volts**2
        self.top[at] = np.maximum(self.top[at], counted * volts)

    def results(self, time: Real) -> tuple[Charging, ...]:
        """Return what was counted over ``time`` [s] of each run, averaged over the runs of each tank."""

        def total(values: Real) -> Real:
            return np.asarray(values.reshape(-1, self.runs).sum(axis=1))

        count, volts, square = total(self.count), total(self.sum), total(self.square)
        highest, top = (x.reshape(-1, self.runs).max(axis=1) for x in (self.highest, self.top))
        amps = np.sqrt(total(self.amps) / np.maximum(total(self.samples), 1))
        seconds = total(time)
        out = []
        for k, c in enumerate(map(float, self.tanks)):
            n, rate = float(count[k]), float(count[k] / seconds[k])
            mean = float(volts[k]) / n if n else 0.0
            mean_square = float(square[k]) / n if n else 0.0
            energy = c * mean_square / 2
            rated = self.source.voltage * self.source.short_current
            out.append(
                Charging(
                    c,
                    rate,
                    mean,
                    sqrt(max(mean_square - mean**2, 0.0)),
                    float(top[k]),
                    energy,
                    energy * rate,
                    energy * rate / rated,
                    float(highest[k]),
                    float(amps[k]),
                    self.source.resistance * float(amps[k]) ** 2,
                )
            )
        return tuple(out)


def _system(source: Source, capacitance: float) -> Real:
    """Return the matrix of d/dt (v, i, sine, cosine)."""
    w, inductance = 2 * pi * source.frequency, source.inductance
    return np.array(
        [
            [0.0, 1 / capacitance, 0.0, 0.0],
            [-1 / inductance, -source.resistance / inductance, sqrt(2) * source.voltage / inductance, 0.0],
            [0.0, 0.0, 0.0, w],
            [0.0, 0.0, -w, 0.0],
        ]
    )


def _powers(system: Real, order: int) -> Real:
    """Return the matrices A^k / k! of the power series of exp(A t), shape (order + 1, 4, 4)."""
    out = np.empty((order + 1, 4, 4))
    out[0] = np.eye(4)
    for k in range(1, order + 1):
        out[k] = system @ out[k - 1] / k
    return out


def _summed(terms: Real, time: Real) -> Real:
    """Return the sum of a power series in ``time``; terms of shape (run, order + 1, component)."""
    out = terms[:, _ORDER].copy()
    for k in range(_ORDER - 1, -1, -1):
        out *= time[:, None]
        out += terms[:, k]
    return out


def _crossing(volts: Real, left: Real, peak: float) -> tuple[Real, Real]:
    """Return when each series of volts reaches ``peak`` before ``left`` [s], and its sign there.

    Newton's method from the chord, held between bounds that it narrows.
    """
    terms = np.ascontiguousarray(volts.T)
    end = _summed(volts[:, :, None], left)[:, 0]
    sign = np.sign(end)
    terms *= sign
    terms[0] -= peak
    low, high = np.zeros_like(left), left
    now = left * np.clip(terms[0] / np.minimum(terms[0] - (sign * end - peak), -1e-300), 0.0, 1.0)
    for _ in range(2):  # the chord is within 1 % of a step, so that two rounds leave 1e-8 of it
        miss, slope = terms[_ORDER].copy(), np.zeros_like(now)
        for k in range(_ORDER - 1, -1, -1):
            slope *= now
            slope += miss
            miss *= now
            miss += terms[k]
        above = miss >= 0
        high, low = np.where(above, now, high), np.where(above, low, now)
        newton = now - miss / np.where(slope > 0, slope, np.inf)
        now = np.where((newton >= low) & (newton <= high) & (slope > 0), newton, (low + high) / 2)
    return now, sign


__all__ = ["Charging", "Source", "rotary_gap", "source_of", "static_gap"]
