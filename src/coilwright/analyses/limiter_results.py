"""Frozen results of the test through a series limiter: SI, rms unless the name ends in ``_peak``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilwright.model.known import Mark
from coilwright.protection.tag import Tag


@dataclass(frozen=True)
class Wanted:
    """What is to stand in series with the line: ``kind`` is "lamp" or "heater", ``power`` its rated watts."""

    kind: str
    power: float


@dataclass(frozen=True)
class LimitedPoint:
    """The set behind its limiter in one state. ``bands`` holds the 95 % bands of its figures, by field: those of the
    parts' spread together with a limiter whose rating is 10 % off either way.
    """

    limiter_voltage: float
    set_voltage: float
    current: float
    output_voltage: float
    output_peak: float
    output_current: float
    bands: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def band(self) -> tuple[float, float] | None:
        """Return the band of the limiter's own volts, None where it is not known."""
        return self.bands.get("limiter_voltage")


@dataclass(frozen=True)
class LimiterChoice:
    """A usual lamp or heater, what it shows with the output open and shorted, and whether the two tell right from
    wrong. Volts are None where nothing converged.
    """

    kind: str
    power: float
    open_voltage: float | None
    short_voltage: float | None
    separates: bool | None


@dataclass(frozen=True)
class LimitedSlip:
    """One mistake behind the limiter: what it shows with the output open and shorted, None where not converged.

    ``tells_open`` and ``tells_short``: whether that differs from the same state wired right, for the eye and any meter.
    """

    id: str
    subject: str
    done: str
    open_voltage: float | None
    short_voltage: float | None
    tells_open: bool | None
    tells_short: bool | None


@dataclass(frozen=True)
class LimitedTouch:
    """A body at one place with the limiter in the line [A rms through 575 and 1000 ohm, V rms before the touch]."""

    where: str
    voltage: float
    current_575: float
    current_1000: float
    residual: float
    across: bool

    @property
    def current(self) -> float:
        """Return the larger of the two currents [A rms]."""
        return max(self.current_575, self.current_1000)


@dataclass(frozen=True)
class LimiterResult:
    """One limiter in front of one supply, correction capacitors and tank off."""

    arrangement: str
    kind: str
    power: float
    rated_voltage: float
    cold_resistance: float
    hot_resistance: float
    mains_voltage: float
    opened: LimitedPoint
    shorted: LimitedPoint
    separates: bool
    words: str
    choices: tuple[LimiterChoice, ...]
    slips: tuple[LimitedSlip, ...]
    touches: tuple[LimitedTouch, ...]
    deadly: str
    taken_off: tuple[str, ...] = ()  # correction capacitors, left out
    mark: Mark = "pencil"
    unconverged: tuple[str, ...] = ()
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()
