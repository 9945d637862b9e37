"""The bleeder of each capacitor of a string: how many ohms, of how many resistors, and what it burns."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf, log

from coilwright.model.preferred import E24, preferred_below, preferred_near

#: What a capacitor must have come down to, and the time taken here for it [V, s]: NEC art. 460.6, up to 600 V nominal
#: (seen). Above 600 V the same code allows 300 s (art. 460.28, from memory): the shorter time is taken at all volts.
RESIDUAL, TIME_ALLOWED = 50.0, 60.0
#: A quarter-watt film resistor: largest working volts, watts, and the largest value that is common [V, W, ohm]; from
#: memory of data sheets, 250 to 350 V. What a tank's bleeder is made of, many alike.
RESISTOR_VOLTAGE, RESISTOR_POWER, RESISTOR_LARGEST = 250.0, 0.25, 10e6
#: Largest working volts of a half-watt film resistor, from memory of data sheets: what one capacitor alone is given.
HALF_WATT_VOLTAGE = 350.0
#: Share of its watts that a resistor is loaded with here (our margin).
POWER_SHARE = 0.5
#: Tolerance of the resistors (assumption: 5 %).
RESISTOR_TOLERANCE = 0.05
#: Insulation of a salvaged film capacitor as its time constant R C [s]: a tenth of the 10 000 s of a new one (from
#: memory of IEC 60384-16), and how far two of a kind may differ.
LEAKAGE_TIME, LEAKAGE_SPREAD = 1e3, 10.0
#: More resistors than this in one bleeder, and it is the wrong resistor.
MOST_RESISTORS = 200


@dataclass(frozen=True)
class Bleeder:
    """The bleeder of one capacitor. ``largest`` [ohm] just discharges in ``time_allowed``; ``total`` is made of
    ``resistors`` of ``each`` ohm, values that are sold (E12; where it is fitted E24, and they make the like of it:
    of what it is made nobody has said). ``voltage_each_peak`` [V] and ``power_each`` [W] are of one resistor,
    ``power`` of the whole bleeder, ``discharge_time`` [s] with ``total``.
    """

    largest: float
    total: float
    resistors: int
    each: float
    voltage_each_peak: float
    power: float
    power_each: float
    discharge_time: float
    residual: float
    time_allowed: float
    words: str


def largest_bleeder(
    capacitance: float, peak: float, *, residual: float = RESIDUAL, time_allowed: float = TIME_ALLOWED
) -> float:
    """Return the largest resistance [ohm] across ``capacitance`` [F] that takes ``peak`` down to ``residual`` volts in
    ``time_allowed`` [s]: t / (C ln(V / Vr)); infinity where the peak is not above the residual.

    >>> round(largest_bleeder(12e-9, 9e3 * 2**0.5) / 1e6, 1)
    902.6
    """
    if not (capacitance > 0 and residual > 0 and time_allowed > 0):
        raise ValueError(f"must be positive: {capacitance} F, {residual} V, {time_allowed} s")
    return inf if peak <= residual else time_allowed / (capacitance * log(peak / residual))


def sharing_bleeder(capacitance: float) -> float:
    """Return the resistance [ohm] that carries ten times the leakage of a salvaged film capacitor [F], so that it, not
    the leakage, shares the steady volts (common practice, no source).
    """
    return LEAKAGE_TIME / capacitance / 10


def like_of(total: float, least: int) -> tuple[int, float]:
    """Return how many resistors, not fewer than ``least``, of which E24 value [ohm] make ``total`` [ohm]: the fewest
    within 1 % of it, else those that come nearest.

    >>> like_of(10e6, 7), like_of(33e6, 3)
    ((10, 1000000.0), (4, 8200000.0))
    """
    fewest = max(least, ceil(total / RESISTOR_LARGEST - 1e-9), 1)
    found = []
    for count in range(fewest, 2 * fewest + 12):
        each = min(preferred_near(total / count, E24), RESISTOR_LARGEST)
        off = abs(count * each / total - 1)
        if off <= 0.01:
            return count, each
        found.append((off, count, each))
    return min(found)[1:]


def bleeder_for(
    capacitance: float,
    series: int,
    peak: float,
    peak_each: float,
    rms_each: float,
    *,
    time_allowed: float = TIME_ALLOWED,
    residual: float = RESIDUAL,
    fitted: float | None = None,
) -> Bleeder:
    """Return the bleeder of one capacitor in a string.

    Parameters
    ----------
    capacitance
        Of the unit [F]; every unit of the string has the same, so the whole string falls as each unit does.
    series
        Units in the string; 1 for a capacitor by itself.
    peak
        Highest peak across the whole string [V]: the whole string comes down to ``residual``.
    peak_each
        Highest peak on the worst unit [V], for the volts of the resistors.
    rms_each
        Alternating volts of one unit when running [V rms], for the watts.
    fitted
        The bleeder on each unit [ohm] where there is one; it is then counted, not chosen.
    """
    if series < 1:
        raise ValueError(f"a string has at least one unit: {series}")
    largest = largest_bleeder(capacitance, peak, residual=residual, time_allowed=time_allowed)
    fall = log(peak / residual) if peak > residual else 0.0
    words = f"{residual:g} V left on the whole string after {time_allowed:g} s"
    count = max(1, ceil(peak_each / RESISTOR_VOLTAGE - 1e-9))
    if fitted is not None:
        power = rms_each**2 / fitted
        count = max(count, ceil(power / (POWER_SHARE * RESISTOR_POWER) - 1e-9))
        least = count
        count, each = like_of(fitted, least)
        words += f"; as fitted, of {least} such resistors or more; {count} of the value named make the like of it"
        return Bleeder(
            largest, fitted, count, each, peak_each / count, power, power / count, fitted * capacitance * fall,
            residual, time_allowed, words,
        )  # fmt: skip
    goal = min(largest, sharing_bleeder(capacitance), MOST_RESISTORS * RESISTOR_LARGEST)
    while True:
        each = preferred_below(min(goal / count, RESISTOR_LARGEST))
        power = rms_each**2 / (each * count)
        if power / count <= POWER_SHARE * RESISTOR_POWER or count >= MOST_RESISTORS:
            break
        count += 1
    total = each * count
    words += f"; quarter-watt film resistors of {RESISTOR_VOLTAGE:g} V at half their watts (from memory)"
    if power / count > POWER_SHARE * RESISTOR_POWER:
        words += "; too hot for them: take resistors of more watts"
    return Bleeder(
        largest, total, count, each, peak_each / count, power, power / count, total * capacitance * fall, residual,
        time_allowed, words,
    )  # fmt: skip


__all__ = [
    "HALF_WATT_VOLTAGE",
    "LEAKAGE_SPREAD",
    "LEAKAGE_TIME",
    "RESIDUAL",
    "RESISTOR_TOLERANCE",
    "TIME_ALLOWED",
    "Bleeder",
    "bleeder_for",
    "largest_bleeder",
    "like_of",
    "sharing_bleeder",
]
