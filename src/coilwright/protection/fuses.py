"""The fuse in the mains lead of the set, and the soft start ahead of it.

A fuse protects the set's wiring and iron against a fault. It does not protect people, and in a current-limited supply
it does not see a shorted output: that current is the running one.

Pre-arcing limits of cartridge fuse links: IEC 60127-2, standard sheets 2 (F) and 3 (T), from memory. Fuse links gG:
IEC 60269, conventional currents, from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite, sqrt

from coilwright.model.preferred import E12, R10, preferred_above
from coilwright.model.site import Breaker
from coilwright.protection.breaker import ENVELOPE, MAGNETIC_BAND

MAINS_TOLERANCE = 1.1  # highest over nominal mains volts, EN 50160, from memory
#: A cartridge fuse holds this multiple for an hour at least (F and T, sheets 2 and 3, from memory).
HOLDS = 1.5
#: Longest [s] at 2.1 times the rated current: (F, T); shortest [s] at ten times, below which nothing opens.
LONGEST_AT_2_1 = {"F": 1800.0, "T": 120.0}
SHORTEST_AT_10 = {"F": 0.001, "T": 0.02}
#: Conventional non-fusing and fusing currents of gG above 4 and below 16 A, and from 16 A: IEC 60269, from memory.
GG_HOLDS, GG_OPENS = ((16.0, 1.5), (float("inf"), 1.25)), ((16.0, 1.9), (float("inf"), 1.6))
CARTRIDGE = {"FF": "F", "F": "F", "M": "T", "T": "T", "TT": "T"}
#: A relay bridges the soft start after this time [s] (our value).
RELAY_DELAY = 0.3

_WRITTEN = re.compile(r"\s*(?P<number>[0-9][0-9./ ]*?)\s*(?P<milli>m?)A\s*(?P<kind>FF|F|M|T|TT|gG|gM|aM)?\s*")


@dataclass(frozen=True)
class Fuse:
    """``rated_current`` in A; ``kind`` FF | F | M | T | TT | gG | gM | aM, None where it is not stated."""

    rated_current: float
    kind: str | None = None


@dataclass(frozen=True)
class FuseVerdict:
    """``holds``: the largest steady current is within the rated one. ``survives_inrush`` None: cannot be told."""

    holds: bool
    multiple: float
    above_breaker: bool
    survives_inrush: bool | None
    words: tuple[str, ...]

    @property
    def fits(self) -> bool:
        return self.holds and not self.above_breaker


@dataclass(frozen=True)
class SoftStart:
    """A resistor (or a cold thermistor of that value) bridged by a relay after ``delay`` [s].

    ``least`` [ohm] just keeps the first peak at ``peak_limit`` [A], the lower edge of the breaker's magnetic band as a
    peak; ``resistance`` is the next that is sold. ``first_peak`` [A] is what that lets through at the worst; ``energy``
    [J] the most it takes until the relay bridges it, ``held`` [W] what it burns when the relay does not.
    """

    least: float
    resistance: float
    first_peak: float
    peak_limit: float
    delay: float
    energy: float
    held: float


def read_fuse(text: str) -> Fuse:
    """Return what is written on a fuse.

    Raises
    ------
    ValueError
        If it names no positive current.

    Examples
    --------
    >>> read_fuse("6.3 A T"), read_fuse("500 mA F").rated_current, read_fuse("10 A").kind
    (Fuse(rated_current=6.3, kind='T'), 0.5, None)
    """
    found = _WRITTEN.fullmatch(text)
    try:
        amperes = sum(float(Fraction(piece)) for piece in found["number"].split()) if found else 0.0
    except (ValueError, ZeroDivisionError):
        amperes = 0.0
    if found is None or not amperes > 0:
        raise ValueError(f'"{text}" names no fuse: write it as "6.3 A T"')
    return Fuse(amperes * (1e-3 if found["milli"] else 1.0), found["kind"])


def longest_time(fuse: Fuse, current: float) -> float | None:
    """Return the longest time [s] after which the fuse has opened at a steady ``current`` [A rms], None: it may hold.

    Only from 2.1 times the rated current of a cartridge, or from the conventional fusing current of gG (one hour).
    """
    multiple = current / fuse.rated_current
    kind = CARTRIDGE.get(fuse.kind or "")
    if kind:
        return LONGEST_AT_2_1[kind] if multiple >= 2.1 else None
    edge = next(m for limit, m in GG_OPENS if fuse.rated_current < limit)
    return 3600.0 if multiple >= edge else None


def judge(fuse: Fuse, current: float, breaker: Breaker, inrush_peak: float | None, frequency: float) -> FuseVerdict:
    """Return what the fuse does in this set.

    Parameters
    ----------
    current : float, [A rms]
        The largest steady mains current with every correction capacitor failed open, output open to shorted.
    inrush_peak : float or None, [A]
        First peak at switch-on.
    frequency : float, [Hz]

    Notes
    -----
    The first peak is taken as half a sine of half a period: its joule integral is peak^2 / 4 f. A fuse T takes at
    least (10 In)^2 x 20 ms to open, a fuse F (10 In)^2 x 1 ms.
    """
    if not (isfinite(current) and current >= 0 and fuse.rated_current > 0 and frequency > 0):
        raise ValueError(f"current must be from 0 up and rating and frequency positive: got {current} A, {fuse}")
    multiple, kind = current / fuse.rated_current, CARTRIDGE.get(fuse.kind or "")
    holds, above = multiple <= 1.0, fuse.rated_current > breaker.rated_current
    survives: bool | None = None
    if inrush_peak is not None and kind:
        survives = inrush_peak**2 / (4 * frequency) < (10 * fuse.rated_current) ** 2 * SHORTEST_AT_10[kind]
    words = [f"The largest steady current is {multiple:.2f} times its rated one."]
    if not holds:
        longest = longest_time(fuse, current)
        words.append(
            "It may hold for an hour and open when it is warm."
            if multiple <= HOLDS or longest is None
            else f"It opens within {longest:.0f} s."
        )
    if above:
        words.append("It is rated above the breaker, which opens first: it protects nothing.")
    if survives is False:
        words.append("The first peak at switch-on may open it: soft start, or type T.")
    if fuse.kind is None:
        words.append("Its characteristic is not stated: T (time lag) is what iron needs.")
    words.append(
        "It does not see a shorted output or a body on it: those currents are no larger than the running one. It opens "
        "on a fault to earth, a bypassed ballast or a shorted primary."
    )
    return FuseVerdict(holds, multiple, above, survives, tuple(words))


def advised_fuse(current: float, breaker: Breaker) -> Fuse | None:
    """Return the next time-lag fuse that holds ``current`` [A rms], None where that is above the breaker.

    ``current`` is the upper end of the band of the largest steady current: a fuse for its middle opens on every second
    set. The breaker stands for the wiring, which it protects.
    """
    if not (isfinite(current) and current > 0):
        raise ValueError(f"current must be a positive number: got {current}")
    rated = preferred_above(current, R10)
    return Fuse(rated, "T") if rated <= breaker.rated_current else None


def soft_start(
    mains_voltage: float, breaker: Breaker, current: float, frequency: float, delay: float = RELAY_DELAY
) -> SoftStart:
    """Return the resistor that keeps the first peak below the breaker's magnetic band, of the E12 series.

    Parameters
    ----------
    mains_voltage : float, [V rms] current : float, [A rms]
        Nominal mains; largest steady mains current of the set, the upper end of its band.
    delay : float, [s]
        Until the relay bridges the resistor.

    Notes
    -----
    The iron is taken as fully saturated (no inductance, no other resistance) at the crest of mains + 10 %: R >=
    1.1 sqrt2 V / I_limit. Energy, an upper bound: one half cycle of those whole volts across R, which iron and empty
    correction capacitors cannot exceed, and the steady current (output shorted, correction failed open) for the whole
    delay: V^2 T / 4 R + R I^2 t, V the crest. A bound where the flux settles in a few cycles (assumption). An unknown
    curve is taken as the quickest there is.
    """
    if not (mains_voltage > 0 and current >= 0 and frequency > 0 and delay > 0):
        raise ValueError(f"volts, frequency, delay must be positive: got {mains_voltage} V, {frequency} Hz, {delay} s")
    low = MAGNETIC_BAND.get(breaker.curve or "", ENVELOPE)[0] * breaker.rated_current
    limit = sqrt(2) * low
    crest = MAINS_TOLERANCE * sqrt(2) * mains_voltage
    least = crest / limit
    resistance = preferred_above(least, E12)
    first = crest / resistance
    energy = resistance * (current**2 * delay + first**2 / (4 * frequency))
    return SoftStart(least, resistance, first, limit, delay, energy, current**2 * resistance)


__all__ = [
    "Fuse",
    "FuseVerdict",
    "SoftStart",
    "advised_fuse",
    "judge",
    "longest_time",
    "read_fuse",
    "soft_start",
]
