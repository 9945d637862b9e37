"""Frozen results of the analyses: SI, rms unless the name ends in ``_peak``. None stands for "not known", never for
zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilwright.analyses.limiter_results import LimiterResult
from coilwright.measurement.findings import Finding
from coilwright.model.known import Estimate, Mark
from coilwright.protection.tag import Tag
from coilwright.supply.circuits import PartCircuit

# ---- shelf -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PartResult:
    """What one part of the shelf really is. ``usable`` is False with a STOP reading or a kind that cannot be used."""

    id: str
    kind: str
    values: Mapping[str, Estimate]
    readings: tuple[Finding, ...] = ()
    usable: bool = True
    circuit: PartCircuit | None = None
    why_not: str = ""
    spread: tuple[
        PartCircuit, ...
    ] = ()  # the circuit moved by one standard deviation along each independent axis of its fit


@dataclass(frozen=True)
class NextReading:
    """A further reading worth taking. ``hazard`` 0 (nothing live) .. 3 (exposes live high voltage); never ranked
    above a lower one.
    """

    part: str
    what: str
    instrument: str
    hazard: int
    hazard_words: str
    narrows: str
    band_before: tuple[float, float]
    band_after: tuple[float, float]
    how: str
    unit: str = "A"


@dataclass(frozen=True)
class ShelfResult:
    parts: Mapping[str, PartResult]
    next_reading: tuple[NextReading, ...]
    tags: tuple[Tag, ...] = ()


# ---- supply ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class OperatingPoint:
    """One steady state of the supply. ``load_resistance`` None: open; 0: short-circuited."""

    load_resistance: float | None
    voltage: float
    voltage_peak: float
    current: float
    power: float  # delivered to the load, W
    mains_current: float  # with every correction capacitor in place
    mains_current_peak: float
    mains_power: float
    apparent_power: float
    power_factor: float
    reactive_power: float  # of the fundamental, var; positive lagging
    mains_harmonics: Mapping[int, float]  # order -> rms A
    residual_current: float  # what an RCD upstream would see, A
    mains_current_uncorrected: float | None = None  # every correction capacitor failed open


@dataclass(frozen=True)
class EndStress:
    """Potential of one place to earth and to its own core, the largest of open, best power and short."""

    to_earth: float
    to_earth_peak: float
    to_core: float
    to_core_peak: float


@dataclass(frozen=True)
class CoreStress:
    voltage_to_earth: float
    voltage_to_earth_peak: float
    primary_to_core: float  # largest of the primary's two ends
    high_to_primary: float
    limit_primary_to_core: float
    limit_mark: Mark


@dataclass(frozen=True)
class WindingStress:
    """One high winding: both ends against the core, with the limit that each end has (0 for an inner end on pencil)."""

    start: EndStress
    finish: EndStress
    start_limit: float
    finish_limit: float
    limit_mark: Mark
    inner_end: str  # start | finish | unknown | tap


@dataclass(frozen=True)
class JointStress:
    """A joint: potential to earth (largest of open, best power and short) and its voltage class."""

    to_earth: float
    to_earth_peak: float
    high: bool


@dataclass(frozen=True)
class Heat:
    """Heat of one part at one operating point. Temperature figures are None ("not known") without mass and surface or
    a reading.
    """

    loss: float
    loss_short: float
    temperature_rise: Estimate | None = None
    on_time: Estimate | None = None  # s until the limit from cold, at best power
    duty: float | None = None
    basis: str = ""


@dataclass(frozen=True)
class Correction:
    """Power-factor correction: what is wired now, what would be right, and what the idle set draws with it."""

    fitted: float  # F on the mains side
    suggested: float  # F at best power
    idle_current: float
    idle_power_factor: float
    idle_leading: bool
    closing_peak: float | None  # A peak when the capacitor is switched on at the crest


@dataclass(frozen=True)
class Inrush:
    """Switch-on at the worst instant, from zero flux: first peak of the mains current and the breaker's magnetic
    band.
    """

    first_peak: float
    steady_peak: float
    magnetic_low: float | None  # A; None where the curve is unknown
    magnetic_high: float | None
    may_trip: bool | None


@dataclass(frozen=True)
class GapMissingPoint:
    """Tank attached, gap missing: the highest steady state at one tank capacitance. ``ends_peak`` joint -> peak V to
    earth.
    """

    capacitance: float
    peak: float
    ends_peak: Mapping[str, float]
    states: tuple[float, ...] = ()  # peak across the output of every steady state found
    exact: bool = True  # False: the many-start search gave no converged answer here (peak is nan and not shown)
    peak_band: tuple[float, float] | None = None  # 95 %; None: not worked out at this capacitance
    ends_band: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class GapMissing:
    """The scan over tank capacitance, 0.03 to 2 times the mains-resonant value, and the point of the project's own
    tank.
    """

    resonant_capacitance: float
    points: tuple[GapMissingPoint, ...]
    own: GapMissingPoint | None
    limit_peak: float  # the weakest rating to earth, V peak
    limit_where: str
    limit_mark: Mark
    worst: GapMissingPoint | None = None

    @property
    def still_rising(self) -> bool:
        """Return whether the largest tank of all has the highest peak, so that the worst may lie beyond it."""
        known = [p for p in self.points if p.exact]
        return len(known) > 1 and self.worst is not None and max(known, key=lambda p: p.capacitance) == self.worst


@dataclass(frozen=True)
class SteadyState:
    """One of the steady states found for the open supply."""

    voltage: float
    voltage_peak: float
    mains_current: float


@dataclass(frozen=True)
class JointClearance:
    """Peak volts between a joint and earth, and the spacing that needs: clearance through air and creepage along
    surfaces, m.
    """

    joint: str
    peak: float
    clearance: float
    creepage: float
    basis: str
    factor: float


@dataclass(frozen=True)
class SupplyResult:
    """Everything computed of one arrangement."""

    name: str
    open_circuit: OperatingPoint
    short_circuit: OperatingPoint
    best_power: OperatingPoint
    droop: tuple[OperatingPoint, ...]
    states: tuple[SteadyState, ...]
    cores: Mapping[str, CoreStress]
    windings: Mapping[str, WindingStress]  # key "T1.high"
    joints: Mapping[str, JointStress]
    heat: Mapping[str, Heat]
    correction: Correction
    inrush: Inrush | None
    clearances: tuple[JointClearance, ...]
    gap_missing: GapMissing | None  # None: not known (not computed)
    mains_current_uncorrected: float  # the largest over open .. short with every correction capacitor failed open
    bands: Mapping[str, tuple[float, float]] = field(default_factory=dict)  # key path -> 95 %
    marks: Mapping[str, Mark] = field(default_factory=dict)
    tags: tuple[Tag, ...] = ()
    fast_error: float | None = (
        None  # relative error of the fundamental-only estimate of the short current, for the page
    )
    notes: tuple[str, ...] = ()  # model limits, to be printed beside the numbers
    limiter: LimiterResult | None = None  # None: not asked for


# ---- plan ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class RankedRow:
    """One supply that the shelf can make. ``arrangement_index`` points into ``PlanResult.arrangements``."""

    name: str
    score: float
    open_voltage: float
    short_current: float
    mains_current: float  # largest of open, best power, short; uncorrected
    mains_current_corrected: float
    apparent_power: float  # open volts times short amperes
    power_factor: float
    parts: tuple[str, ...]
    cores: Mapping[str, float]  # largest potential to earth
    why: tuple[str, ...]  # what made the score
    twins: tuple[str, ...] = ()  # names of near twins folded into this row
    arrangement_index: int = -1
    tags: tuple[Tag, ...] = ()
    output_mark: Mark = "pencil"  # of open volts, short current and their product
    mains_mark: Mark = "pencil"  # of the rest


@dataclass(frozen=True)
class RefusedRow:
    """Refused arrangements that share their reasons. ``names`` holds them all, ``name`` a name for the group."""

    name: str
    reasons: tuple[str, ...]
    names: tuple[str, ...] = ()
    tag: str = ""  # id of the tag that refuses


@dataclass(frozen=True)
class PlanResult:
    ranked: tuple[RankedRow, ...]
    refused: tuple[RefusedRow, ...]
    arrangements: tuple[object, ...]  # model.design.Arrangement, one per ranked row (twins after)
    considered: int
    seconds: float
    nearest: str = ""  # when nothing works: what is nearest and what one more part would change
    tags: tuple[Tag, ...] = ()
