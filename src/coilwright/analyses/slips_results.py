"""Frozen results of the slips: SI, rms unless the name ends in ``_peak``. None stands for "not known", never for
zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from coilwright.analyses.results import SupplyResult
from coilwright.analyses.what_ifs import Touch
from coilwright.model.known import Mark
from coilwright.protection.tag import Tag

Test = Literal["resistance", "volts", "feed current", "limiter"]


@dataclass(frozen=True)
class Telltale:
    """The reading that exposes a slip: what it shows if right and with the slip; plug out, but for a limiter's.

    ``unit`` is "ohm", "V" or "A"; a resistance of ``OPEN_READS`` stands for that or more. ``half_right`` and
    ``half_wrong`` are the half widths of 95 % of meter, unknown iron and model; ``separation`` is the distance of the
    two readings over the sum of both. ``drive`` are the volts fed between ``fed``, None where the meter feeds itself.
    ``leads_off`` are terminals taken off their joints for this reading.
    """

    test: Test
    between: tuple[str, str]
    right: float
    wrong: float
    unit: str
    half_right: float
    half_wrong: float
    meter: str
    how: str
    drive: float | None = None
    fed: tuple[str, str] | None = None
    output_shorted: bool = False
    leads_off: tuple[str, ...] = ()

    @property
    def separation(self) -> float:
        """Return the distance of the readings over the sum of their half widths: above 1 they cannot be confused."""
        return abs(self.right - self.wrong) / (self.half_right + self.half_wrong)


@dataclass(frozen=True)
class Charge:
    """What a capacitor keeps: peak volts, joules, and the seconds down to ``residual`` volts through what the slip
    leaves (None: nothing, and how long it holds is not known) and through the bleeder as it should be.
    """

    peak: float
    energy: float
    residual: float
    drain_time: float | None
    drain_time_right: float | None = None


@dataclass(frozen=True)
class SlipRow:
    """One mistake, solved. ``mains_current`` is with the output open and every correction capacitor out of circuit,
    ``mains_current_corrected`` with them in place, ``mains_current_worst`` the largest of open, best power and shorted,
    with and without them. ``touches`` are bodies at every place within reach, the worst first. ``core_touches``: the
    body at each core of ``cores``, at its worst load; none in a body contact, which is another body. ``unsolved`` names
    what had no converged answer. ``bands`` are 95 % bands from the parts' spread: of open_voltage, mains_current,
    mains_current_corrected, and of the current of ``touch`` (body_current).
    """

    id: str
    subject: str
    done: str
    tag: str
    harm: float
    lethal: bool | None
    sees: str
    open_voltage: float | None
    ends: Mapping[str, float]
    short_current: float | None
    mains_current: float | None
    mains_current_corrected: float | None
    mains_current_worst: float | None
    cores: Mapping[str, float]
    residual_current: float | None
    core_touches: Mapping[str, Touch] = field(default_factory=dict)
    touches: tuple[Touch, ...] = ()
    telltale: Telltale | None = None
    charge: Charge | None = None
    peak: float | None = None  # highest across the output, where the tank is on
    assumption: str = ""
    mark: Mark = "pencil"  # of what the output and a body show
    mains_mark: Mark = "pencil"
    unsolved: tuple[str, ...] = ()
    bands: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def touch(self) -> Touch | None:
        """Return the worst body at metal taken for earthed, else the worst at a high end."""
        return self.touches[0] if self.touches else None


@dataclass(frozen=True)
class SlipsResult:
    """Every slip of one arrangement, the worst first. ``right`` is the supply without any."""

    arrangement: str
    right: SupplyResult
    rows: tuple[SlipRow, ...]
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = field(default=())
