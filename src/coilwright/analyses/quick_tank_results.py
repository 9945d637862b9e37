"""Frozen results of the quick answers about tank, gap and filter: SI, rms unless the name ends in ``_peak``. Every
number in them is pencil.
"""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.analyses.tank_results import (
    BleederResult,
    FilterResult,
    GapResult,
    PlatesResult,
    SafetyGapResult,
    SizeResult,
    StringsResult,
    SupplySide,
)
from coilwright.model.known import Estimate
from coilwright.protection.energy import StoredLimit
from coilwright.protection.tag import Tag


@dataclass(frozen=True)
class TankAnswer:
    """A tank on a made-up sign transformer of those open volts and short-circuit amperes.

    ``resonant`` [F] is of the figures given, ``stated`` whether the asker named the capacitance: else it is the one
    advised, or the usual multiple of the resonant one where none holds. ``thresholds`` are of the tank with the gap
    missing, at firing where that is not known.
    """

    voltage: float
    current: float
    mains_voltage: float
    frequency: float
    resonant: Estimate
    stated: bool
    side: SupplySide
    size: SizeResult
    gap: GapResult
    bleeder: BleederResult | None
    safety_gap: SafetyGapResult
    thresholds: tuple[StoredLimit, ...]
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FilterAnswer:
    """The filter of each leg of the supply of a ``TankAnswer``."""

    of: TankAnswer
    filter: FilterResult
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class GapAnswer:
    """A gap by itself. ``from_voltage``: the volts were given and the spacing is the answer.

    ``earthed``: one end of it is at earth, else both ride at half the volts.
    """

    gap: GapResult
    from_voltage: bool
    temperature: float
    humidity: float  # relative, 0 to 1
    earthed: bool
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class StringAnswer:
    """Strings of one kind of capacitor on a supply of ``voltage`` [V rms]. ``missing_peak`` [V] is what a safety gap
    across the string, set by the rule, lets through.
    """

    strings: StringsResult
    voltage: float
    firing: Estimate
    missing_peak: float
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlatesAnswer:
    """A home-made capacitor on a supply of ``voltage`` [V rms]; ``missing_peak`` as in ``StringAnswer``."""

    plates: PlatesResult
    voltage: float
    firing: Estimate
    missing_peak: float
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


TankAnswered = TankAnswer | FilterAnswer | GapAnswer | StringAnswer | PlatesAnswer

__all__ = ["FilterAnswer", "GapAnswer", "PlatesAnswer", "StringAnswer", "TankAnswer", "TankAnswered"]
