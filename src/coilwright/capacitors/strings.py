"""One string bank of like film capacitors in a pulsed tank: volts, currents, heat and inductance of each unit.

The tank discharges through the gap and rings: i = V sqrt(C / L) exp(-w t / 2 Q) sin w t. Its integral of i squared is
Ipk^2 Q / (2 w) per bang; at Ipk = w C V that carries exactly the energy C V^2 / 2 into the resistance w L / Q.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi, sqrt
from typing import Literal

from coilwright.capacitors.bleeders import (
    LEAKAGE_SPREAD,
    LEAKAGE_TIME,
    RESISTOR_TOLERANCE,
    Bleeder,
    bleeder_for,
)
from coilwright.capacitors.film import INDUCTANCE_PER_PITCH, FilmUnit, derating, esr_at
from coilwright.errors import InputError, Problem
from coilwright.model.known import Estimate, Mark, scaled, weakest

#: Heat that a body gives to the air around it [W/m2K]: (low, usual, high); vertical plate of 5 cm, free convection and
#: radiation: 12 (S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, from memory); less in a row.
SURFACE_COEFFICIENT = (7.0, 10.0, 13.0)
#: Self-heating that the makers of film capacitors allow [K] (from memory of data sheets to IEC 60384-16: 10 K).
LARGEST_RISE = 10.0

#: What is checked where a rotor's volts at firing come from the charging model.
RUNNING = "volts of a unit while the gap runs"

Verdict = Literal["within", "doubtful", "over", "not known"]


@dataclass(frozen=True)
class Duty:
    """What the tank does, at one capacitance (SI). None where it is not known.

    ``firing_peak`` and ``missing_peak`` [V] are across the whole string; ``mains_rms`` [V] is what stands across it at
    ``mains_frequency`` when the gap does not fire, ``quality`` that of the ring. Where the volts differ from bang to
    bang ``firing_peak`` is the highest at firing, ``firing_rms`` the root of their mean square, and ``running_peak``
    the highest while the gap runs, fired or not (None: all three are the same). ``unheld_peak`` is with the gap missing
    and a safety gap that fails: what bleeders are made for.
    """

    frequency: Estimate
    quality: Estimate
    mains_frequency: float
    firing_peak: float | None = None
    missing_peak: float | None = None
    break_rate: Estimate | None = None
    mains_rms: float | None = None
    ambient: float = 298.15
    firing_rms: float | None = None
    running_peak: float | None = None
    unheld_peak: float | None = None

    @property
    def highest_running(self) -> float | None:
        """Return the highest peak while the gap runs [V]."""
        return max((p for p in (self.firing_peak, self.running_peak) if p is not None), default=None)

    @property
    def highest_peak(self) -> float | None:
        """Return the higher of the peaks that are known [V]."""
        return max((p for p in (self.highest_running, self.missing_peak) if p is not None), default=None)

    @property
    def charged_peak(self) -> float | None:
        """Return what the string may be left charged to [V peak]."""
        return max((p for p in (self.highest_peak, self.unheld_peak) if p is not None), default=None)


@dataclass(frozen=True)
class Check:
    """One figure against its limit; ``words`` say which rule."""

    what: str
    value: float
    limit: float
    unit: str
    verdict: Verdict
    mark: Mark
    words: str = ""


@dataclass(frozen=True)
class StringFigures:
    """A bank of ``parallel`` strings of ``series`` like units. Per unit unless said otherwise."""

    unit: FilmUnit
    series: int
    parallel: int
    capacitance: Estimate
    share: float  # of the string's pulsed volts on its smallest unit
    slow_share: float  # of steady volts on the unit that leaks least
    firing_each: float | None
    missing_each: float | None
    rated_each: Estimate | None  # V peak at the temperature it reaches
    current_peak: Estimate | None
    current_rms: Estimate | None
    mains_current: float | None
    dv_dt: Estimate | None
    loss: Estimate | None
    temperature_rise: Estimate | None
    inductance: Estimate  # of the units alone, whole bank
    bleeder: Bleeder | None
    checks: tuple[Check, ...]
    sharing: str

    @property
    def units(self) -> int:
        """Return how many capacitors the bank takes."""
        return self.series * self.parallel

    @property
    def verdict(self) -> Verdict:
        """Return the worst verdict of its checks."""
        found = {c.verdict for c in self.checks}
        order: tuple[Verdict, ...] = ("over", "doubtful", "not known")
        return next((v for v in order if v in found), "within")


def string_capacitance(unit: float, series: int, parallel: int) -> float:
    """Return the capacitance of the bank [F] of units of that capacitance [F].

    >>> round(string_capacitance(200e-9, 8, 2) * 1e9, 6)
    50.0
    """
    if series < 1 or parallel < 1:
        raise ValueError(f"series and parallel count from one: {series} x {parallel}")
    return unit * parallel / series


def dynamic_share(series: int, tolerance: float) -> float:
    """Return the share of pulsed volts on the worst unit: the smallest capacitance among the largest ones.

    Charge is the same through all, so the volts go as 1/C: (1 + t) / ((1 + t) + (n - 1)(1 - t)).

    >>> dynamic_share(8, 0.0), round(dynamic_share(8, 0.1), 4)
    (0.125, 0.1486)
    """
    if not 0 <= tolerance < 1:
        raise ValueError(f"tolerance must be from 0 to below 1: {tolerance}")
    return (1 + tolerance) / ((1 + tolerance) + (series - 1) * (1 - tolerance))


def slow_share(series: int, capacitance: float, bleeder: float | None) -> float:
    """Return the share of steady volts on the unit of the highest resistance, all others at the lowest.

    Without bleeders the leakage shares, and two of a kind differ ten times (assumption). With bleeders of 5 % the
    leakage of a salvaged unit of ``capacitance`` [F] lies beside the low ones.
    """
    if bleeder is None:
        high, low = LEAKAGE_SPREAD, 1.0
    else:
        leak = LEAKAGE_TIME / capacitance
        high = bleeder * (1 + RESISTOR_TOLERANCE)
        low = 1 / (1 / (bleeder * (1 - RESISTOR_TOLERANCE)) + 1 / leak)
    return high / (high + (series - 1) * low)


def peak_current(volts: float, capacitance: float, inductance: float) -> float:
    """Return the first peak of the discharge current [A]: V sqrt(C / L)."""
    return volts * sqrt(capacitance / inductance)


def ring_current_rms(peak: float, frequency: float, quality: float, break_rate: float) -> float:
    """Return the rms current [A] of ``break_rate`` rings per second that begin at ``peak`` [A] and die with
    ``quality``.
    """
    return peak * sqrt(break_rate * quality / (2 * 2 * pi * frequency))


def evaluate(unit: FilmUnit, series: int, parallel: int, duty: Duty, *, bleeder: float | None = None) -> StringFigures:
    """Return what each unit of a bank sees in that duty, against what it stands.

    ``bleeder`` [ohm] is on each unit, None where there is none yet: one is then proposed, and steady volts are judged
    with it.

    Raises
    ------
    InputError
        If series or parallel is less than one.
    """
    if series < 1 or parallel < 1:
        raise InputError(
            [
                Problem(
                    "tank.strings",
                    None,
                    f"{series} in series and {parallel} in parallel is no string: both count from one",
                    "Write series = 8, parallel = 2, or whatever stands on the board.",
                )
            ]
        )
    c, tau = unit.capacitance.value, unit.tolerance
    total = string_capacitance(c, series, parallel)
    mark: Mark = unit.capacitance.mark if unit.tolerance_known else "pencil"
    capacitance = Estimate(
        total, total * (1 - tau), total * (1 + tau), mark, "F", f"{series} x {parallel} of {unit.id}"
    )
    share = dynamic_share(series, tau)
    firing, missing = (None if p is None else p * share for p in (duty.highest_running, duty.missing_peak))
    currents = _currents(c, series, duty)
    loss = _loss(unit, series, duty, currents)
    rise = _rise(unit, loss)
    rated = _rated(unit, duty, rise)
    chosen = _bleeder(unit, series, duty, share, bleeder)
    fitted = bleeder if bleeder is not None else chosen.total if chosen else None
    slow = slow_share(series, c, fitted)
    slope = _slope(duty, share)
    low, high = (x * unit.pitch * series / parallel for x in INDUCTANCE_PER_PITCH)
    made = StringFigures(
        unit, series, parallel, capacitance, share, slow, firing, missing, rated, *currents, slope, loss, rise,
        Estimate(high, low, high, "pencil", "H", "at most 1 nH per mm of lead pitch"), chosen, (),
        _sharing_words(series, share, slow, slow_share(series, c, None), unit),
    )  # fmt: skip
    return replace(made, checks=tuple(_checks(made, duty)))


def _currents(c: float, series: int, duty: Duty) -> tuple[Estimate | None, Estimate | None, float | None]:
    """Return peak and rms of the ring through one unit, and its mains-frequency current [A rms].

    All units of a string carry the string's current, and parallel strings share alike.
    """
    string = c / series
    mains = None if duty.mains_rms is None else 2 * pi * duty.mains_frequency * string * duty.mains_rms
    if duty.firing_peak is None:
        return None, None, mains
    f, q = duty.frequency, duty.quality
    low, value, high = (2 * pi * x * string * duty.firing_peak for x in (f.low, f.value, f.high))
    mark = weakest("pencil", f.mark)
    peak = Estimate(value, low, high, f.mark, "A", "2 pi f C V at the gap's setting")
    if duty.break_rate is None:
        return peak, None, mains
    rate, add = duty.break_rate, (mains or 0.0) ** 2
    mean = 1.0 if duty.firing_rms is None else duty.firing_rms / duty.firing_peak
    rms = [
        sqrt(ring_current_rms(mean * i, x, y, n) ** 2 + add)
        for i, x, y, n in (
            (low, f.low, q.low, rate.low),
            (value, f.value, q.value, rate.value),
            (high, f.high, q.high, rate.high),
        )
    ]
    basis = "Ipk^2 Q / 2w per bang times the break rate, and the mains current"
    return peak, Estimate(rms[1], rms[0], rms[2], weakest(mark, q.mark, rate.mark), "A", basis), mains


def _loss(
    unit: FilmUnit, series: int, duty: Duty, currents: tuple[Estimate | None, Estimate | None, float | None]
) -> Estimate | None:
    _, rms, mains = currents
    if rms is None:
        return None
    add = (mains or 0.0) ** 2
    volts = 0.0 if duty.mains_rms is None else duty.mains_rms / series
    reactive = 2 * pi * duty.mains_frequency * unit.capacitance.value * volts**2
    found = []
    for i, f, name in ((rms.low, duty.frequency.low, "low"), (rms.value, duty.frequency.value, "value"),
                       (rms.high, duty.frequency.high, "high")):  # fmt: skip
        ring = max(i**2 - add, 0.0) * getattr(esr_at(unit, f), name)
        found.append(ring + reactive * getattr(unit.loss_mains, name))
    return Estimate(found[1], found[0], found[2], "pencil", "W", "ring through the series resistance, and mains loss")


def exposed_surface(unit: FilmUnit) -> float:
    """Return the surface of one body that cools in a row [m2]: top, both ends, and half of the two flanks."""
    return unit.length * unit.width + 2 * unit.width * unit.height + unit.length * unit.height


def _rise(unit: FilmUnit, loss: Estimate | None) -> Estimate | None:
    if loss is None:
        return None
    area = exposed_surface(unit)
    low, usual, high = SURFACE_COEFFICIENT
    basis = f"loss over {usual:g} W/m2K and the surface that cools, running without a stop"
    return Estimate(
        loss.value / (usual * area), loss.low / (high * area), loss.high / (low * area), "pencil", "K", basis
    )


def _rated(unit: FilmUnit, duty: Duty, rise: Estimate | None) -> Estimate | None:
    if unit.rated_peak is None:
        return None
    warmth = min(rise.value, LARGEST_RISE) if rise else 0.0  # a larger rise is refused on its own account
    factor = derating(duty.ambient + warmth)
    r = unit.rated_peak
    basis = r.basis if factor == 1.0 else f"{r.basis}; x {factor:.2f} at {duty.ambient + warmth - 273.15:.0f} degC"
    return scaled(r, factor, basis)


def _slope(duty: Duty, share: float) -> Estimate | None:
    if duty.firing_peak is None:
        return None
    f, volts = duty.frequency, duty.firing_peak * share
    low, value, high = (2 * pi * x * volts for x in (f.low, f.value, f.high))
    return Estimate(value, low, high, f.mark, "V/s", "2 pi f V of the worst unit")


def _bleeder(unit: FilmUnit, series: int, duty: Duty, share: float, fitted: float | None) -> Bleeder | None:
    peak = duty.charged_peak
    if peak is None or not peak > 0:
        return None
    running = peak if duty.highest_running is None else duty.highest_running
    rms = max(running / sqrt(2), duty.mains_rms or 0.0) * share
    return bleeder_for(unit.capacitance.value, series, peak, peak * share, rms, fitted=fitted)


def _sharing_words(series: int, share: float, slow: float, bare: float, unit: FilmUnit) -> str:
    if series == 1:
        return "one unit takes all the volts"
    known = "" if unit.tolerance_known else " (assumed)"
    return (
        f"equal share {1 / series:.1%}; worst by +-{unit.tolerance:.0%}{known} of capacitance {share:.1%}; steady "
        f"volts {slow:.1%} with bleeders of 5 %, {bare:.0%} without"
    )


def judge(value: float, limit: Estimate) -> Verdict:
    """Return the verdict of a value under a limit that has a band: doubtful where only its upper end holds it."""
    if value <= limit.value * (1 + 1e-9):
        return "within"
    return "doubtful" if value <= limit.high * (1 + 1e-9) else "over"


def _checks(s: StringFigures, duty: Duty) -> Sequence[Check]:
    unit, found = s.unit, []
    running = "volts of a unit at the gap's setting" if duty.running_peak is None else RUNNING
    for volts, what in ((s.firing_each, running), (s.missing_each, "volts of a unit with the gap missing")):
        if volts is not None and s.rated_each is not None:
            found.append(
                Check(what, volts, s.rated_each.value, "V", _voltage_verdict(volts, s), s.rated_each.mark,
                      unit.rating_words)
            )  # fmt: skip
    if s.missing_each is None:
        found.append(Check("volts of a unit with the gap missing", 0.0, 0.0, "V", "not known", "pencil", ""))
    if s.firing_each is None:
        found.append(Check(RUNNING, 0.0, 0.0, "V", "not known", "pencil", ""))
    if s.dv_dt is not None and unit.dv_dt is not None:
        verdict = judge(s.dv_dt.value, unit.dv_dt)
        found.append(Check("voltage slope", s.dv_dt.value, unit.dv_dt.value, "V/s", verdict, unit.dv_dt.mark,
                           unit.dv_dt.basis))  # fmt: skip
    if s.current_rms is not None and unit.ripple_current is not None:
        i = unit.ripple_current.value
        verdict = "within" if s.current_rms.value <= i else "over"
        found.append(
            Check("rms current", s.current_rms.value, i, "A", verdict, unit.ripple_current.mark, "in the file")
        )
    if s.temperature_rise is not None:
        rise = s.temperature_rise
        verdict = "over" if rise.low > LARGEST_RISE else "within" if rise.value <= LARGEST_RISE else "doubtful"
        found.append(Check("temperature rise", rise.value, LARGEST_RISE, "K", verdict, "pencil", "10 K, from memory"))
    peak = duty.highest_peak
    if peak is not None and unit.direct is not None and s.series > 1:
        steady = peak * s.slow_share
        verdict = "within" if steady <= unit.direct * (1 + 1e-9) else "doubtful"
        found.append(Check("steady volts of a unit, bleeders fitted", steady, unit.direct, "V", verdict, "pencil",
                           "charge of one sign left by the gap, shared by the bleeders"))  # fmt: skip
    return found


def _voltage_verdict(volts: float, s: StringFigures) -> Verdict:
    """Judge the worst unit's volts; a rating that is only assumed never passes on its upper end.

    Where an equal share would hold and only an assumed tolerance carries the worst unit over, that is a doubt: reading
    the capacitances settles it.
    """
    limit = (s.rated_each.value if s.rated_each else 0.0) * (1 + 1e-9)
    if volts <= limit:
        return "within"
    return "doubtful" if not s.unit.tolerance_known and volts / s.share / s.series <= limit else "over"


__all__ = [
    "LARGEST_RISE",
    "SURFACE_COEFFICIENT",
    "Check",
    "Duty",
    "StringFigures",
    "Verdict",
    "dynamic_share",
    "evaluate",
    "exposed_surface",
    "judge",
    "peak_current",
    "ring_current_rms",
    "slow_share",
    "string_capacitance",
]
