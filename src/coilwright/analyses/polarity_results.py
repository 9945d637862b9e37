"""Frozen results of the polarity sheet: SI, rms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from coilwright.model.known import Estimate, Mark
from coilwright.protection.tag import Tag

Pair = tuple[str, str]
#: What the readings say. "open": nothing was read; "waiting": a reading is needed before the others count.
Verdict = Literal["open", "waiting", "as wired", "reversed", "ambiguous", "nothing fits"]


@dataclass(frozen=True)
class PolarityRow:
    """What one pair of joints reads if the wiring is right, and for each set of reversed windings (joined by " + ").

    ``read`` is what was read there, None where nothing was.
    """

    between: Pair
    right: Estimate
    reversed: Mapping[str, Estimate]
    read: float | None = None


@dataclass(frozen=True)
class Decoded:
    """One set of reversed windings that the readings leave possible, with what to do, and how often such readings
    come about if it is true.
    """

    reversed: tuple[str, ...]
    remedy: str
    likelihood: float


@dataclass(frozen=True)
class FurtherReading:
    """A reading that tells the possible sets apart, with the adapter of ``volts`` at ``at``: what it shows for each of
    them [V rms].
    """

    between: Pair
    at: Pair
    volts: float
    expected: Mapping[str, float]
    singles_out: int
    why: str


@dataclass(frozen=True)
class Blind:
    """Sets of reversed windings, "()" as wired, that the whole sheet does not tell from each other: known before any
    reading, and given until the readings have settled which it is. ``reading`` is what tells them or some of them, None
    where nothing in this wiring does.
    """

    senses: tuple[tuple[str, ...], ...]
    words: str
    reading: FurtherReading | None = None


@dataclass(frozen=True)
class PolarityResult:
    """The sheet for one arrangement. ``reachable`` is the highest voltage between two points within reach at this
    drive, over every sense of the windings [V rms], ``reachable_between`` where; ``reachable_plug`` that of the plug's
    pins.
    """

    arrangement: str
    drive: float
    at: Pair
    rows: tuple[PolarityRow, ...]
    reachable: float
    reachable_between: Pair
    reachable_plug: float | None
    body_current: float  # through 1 kohm between those two points, the adapter's own impedance left out [A]
    verdict: Verdict
    words: str
    decoded: tuple[Decoded, ...] = ()
    next_reading: FurtherReading | None = None
    blind: tuple[Blind, ...] = ()
    mark: Mark = "pencil"
    procedure: tuple[str, ...] = ()
    tags: tuple[Tag, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proof:
    """What the readings prove of the senses: stamped only where every reading agrees with the wiring and carries
    instrument and date. ``words`` say what they showed, "" where none was taken.
    """

    mark: Mark = "pencil"
    words: str = ""
