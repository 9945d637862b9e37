"""Frozen results of the quick answers: SI, rms unless the name ends in ``_peak``. Every number in them is pencil."""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.analyses.gates_results import ChargeRow
from coilwright.analyses.limiter_results import LimiterResult
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.protection.energy import StoredLimit
from coilwright.protection.tag import Tag


@dataclass(frozen=True)
class ChargeAnswer:
    """What a capacitor holds and the bleeder that it needs; ``row`` is one unit of ``series`` in a string.

    ``peak`` [V] is across the whole string. ``preferred`` [ohm] is the next lower value that is sold, ``drain`` [s] the
    time that it, or the bleeder fitted, takes; ``power`` [W] is what one then burns. ``thresholds`` are of the whole
    string at ``peak``.
    """

    row: ChargeRow
    peak: float
    series: int
    preferred: float | None
    drain: float | None
    power: float | None
    thresholds: tuple[StoredLimit, ...]
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class CorrectionAnswer:
    """A power-factor capacitor: [F], its own current [A], least AC rating [V rms], switching-on peak [A], bleeder."""

    reactive_power: float
    mains_voltage: float
    frequency: float
    capacitance: float
    current: float
    rating: float
    closing_peak: float
    bleeder: ChargeAnswer
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


Answered = ChargeAnswer | CorrectionAnswer | LimiterResult | PolarityResult
