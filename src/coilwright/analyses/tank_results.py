"""Frozen results of the tank stage: size of the tank capacitor, strings, home-made plates, gap, rotor, electrodes, room
and protection. SI, rms unless the name ends in ``_peak``. None stands for "not known", never for zero.

An ``Estimate`` carries its own 95 % band, mark and basis. ``limits`` are the limits of the model in words, to be
printed beside the numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilwright.analyses.tank_results_rotor import ElectrodeResult, RoomResult, RotaryResult, RotorShape
from coilwright.capacitors.layout import Layout
from coilwright.capacitors.strings import Check, Verdict
from coilwright.model.known import Estimate, Mark
from coilwright.protection.energy import StoredLimit
from coilwright.protection.tag import Tag

# ---- what the tank stage must know of the supply -------------------------------------------------------------------


@dataclass(frozen=True)
class RatedPlace:
    """A place that the peak with the gap missing, or the gap's setting, must stay below.

    ``limit_peak`` [V] counts to earth, or between the output ends where ``across``. ``what`` is winding | string |
    plates | filter. ``leg`` is the output joint it hangs on, "" for one across the output.
    """

    where: str
    limit_peak: float
    mark: Mark
    across: bool = False
    what: str = "winding"
    leg: str = ""


@dataclass(frozen=True)
class Missing:
    """One capacitance of the scan with the gap missing: highest peak across the output [V] and of each end to earth."""

    capacitance: float
    peak: float
    ends_peak: Mapping[str, float]


@dataclass(frozen=True)
class SupplySide:
    """The supply as tank, gap and protection see it.

    ``legs`` are the output joints that are not earthed. ``missing`` holds the solved points of the scan in order of
    capacitance (an unsolved one is left out), ``own_missing`` the project's own tank. ``frequency`` [Hz] is the mains',
    ``ring_frequency`` [Hz] that of tank and primary (pencil until the coil is computed or read), ``ring_quality`` the
    quality of that ring while the arc burns.
    """

    open_voltage: Estimate  # across the output, rms
    open_peak: Estimate  # across the output
    ends_open_peak: Mapping[str, float]  # joint -> V peak to earth
    short_current: Estimate
    best_power_current: float
    mains_current: Estimate  # the largest with every correction capacitor failed open
    frequency: float
    legs: tuple[str, ...]
    windings: tuple[RatedPlace, ...]
    missing: tuple[Missing, ...]
    own_missing: Missing | None
    own_missing_band: tuple[float, float] | None
    resonant_capacitance: float
    ring_frequency: Estimate
    ring_quality: Estimate
    unconverged: tuple[str, ...] = ()

    @property
    def floating(self) -> bool:
        """Return whether both output ends are off earth, so that two legs share what stands across."""
        return len(self.legs) > 1


# ---- size of the tank capacitor ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SizeRow:
    """One tank capacitance. Volts with the gap missing come from the scan; the running figures from the charging model
    (None where the gap does not fire at this capacitance, or where that model goes above the scan's own peak;
    ``why_none`` says which).

    ``firing_peak`` is the mean of the volts at firing, ``firing_highest`` the highest of them, ``highest_peak`` the
    highest while it runs, fired or not; all V across the output.
    """

    capacitance: float
    missing_peak: float
    ends_missing_peak: Mapping[str, float]
    within: bool  # every rated place holds at this capacitance with the gap missing
    over: tuple[str, ...]  # the rated places that do not
    energy_per_bang: float | None = None
    break_rate: float | None = None  # 1/s
    power: float | None = None  # W
    firing_peak: float | None = None
    firing_highest: float | None = None
    highest_peak: float | None = None
    why_none: str = ""
    windings_hold: bool = True  # with the gap missing, whatever string and plates are rated at


@dataclass(frozen=True)
class CapacitanceRange:
    """Capacitances [F] between which every rated place holds with the gap missing; an end that is the scan's own end
    says so.
    """

    low: float
    high: float
    low_is_scan_end: bool = False
    high_is_scan_end: bool = False


@dataclass(frozen=True)
class SizeResult:
    """``capacitance`` None: the project states no tank; the advice then names one."""

    capacitance: Estimate | None
    how: str  # "8 x C3 in series, 2 in parallel" | "as written" | "24 flat plates of polyethylene" | ""
    resonant_capacitance: float
    advised: Estimate | None  # a capacitance to aim at, with its reason in the basis
    gap_missing_peak: Estimate | None  # of the own tank, across the output
    firing_peak: Estimate | None  # across the output
    energy_per_bang: Estimate | None
    charge: Estimate | None  # at the firing peak, C
    energy_missing: float | None
    charge_missing: float | None
    break_rate: Estimate | None  # 1/s
    power: Estimate | None
    power_share: float | None  # of open volts x short amperes
    rows: tuple[SizeRow, ...] = ()
    ranges: tuple[CapacitanceRange, ...] = ()
    words: tuple[str, ...] = ()  # larger and smaller than resonant, in words with this supply's numbers
    limits: tuple[str, ...] = ()
    supply_current: float | None = None  # A rms while it fires, linear supply
    supply_loss: float | None = None  # W in the supply's resistance while it fires
    firing_spread: float | None = None  # standard deviation of the volts at firing, V; 0 for a static gap
    places: tuple[RatedPlace, ...] = ()  # what the peak with the gap missing was held against
    firing_highest: Estimate | None = None  # highest of the volts at firing; with a rotor above their mean
    highest_peak: float | None = None  # highest while it runs, fired or not
    by_rotor: bool = False  # volts at firing differ with the tank: they stand in the rows
    held_peak: float | None = None  # most V across that the project's safety gap lets through; None: none in its window
    advised_held: Estimate | None = None  # the usual multiple, where that needs a safety gap that is not fitted
    holding: tuple[CapacitanceRange, ...] = ()  # where the windings hold, with the safety gap that is fitted
    scan_mark: Mark = "pencil"  # of every peak of the scan, and of the resonant value
    discharge_time: float | None = None  # s, the whole tank from the peak with the gap missing to ``residual``
    discharge_residual: float | None = None  # V across the whole tank


# ---- strings of film capacitors ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class BleederResult:
    """The bleeder of one unit. ``largest`` [ohm] discharges in ``time_allowed`` [s] to ``residual`` [V]."""

    largest: float
    preferred: float
    resistors_in_series: int
    resistor_each: float
    voltage_each_peak: float
    power: float  # W of one unit's bleeder when running
    discharge_time: float  # s, with the one that is fitted, else with the preferred one
    residual: float
    time_allowed: float
    fitted: float | None = None
    basis: str = ""


@dataclass(frozen=True)
class StringResult:
    """One series-parallel arrangement of one kind of unit. ``reasons`` say why it is refused, empty where it is not."""

    part: str
    series: int
    parallel: int
    available: int
    unit_capacitance: float
    capacitance: Estimate
    voltage_each_peak: float | None  # worst unit with the gap missing
    voltage_each_firing_peak: float | None  # worst unit at the gap's setting
    rated_each_peak: Estimate | None
    rating_words: str
    current_peak_each: Estimate | None
    current_rms_each: Estimate | None
    dv_dt: Estimate | None  # V/s of one unit
    dv_dt_rated: Estimate | None
    loss_each: Estimate | None
    temperature_rise: Estimate | None  # K
    inductance: Estimate | None  # of the layout, H
    bleeder: BleederResult | None
    sharing: str = ""  # how tolerance and leakage share the volts
    own: bool = False  # the one that the project states
    score: float | None = None
    reasons: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    verdict: Verdict = "not known"  # the worst of its checks
    checks: tuple[Check, ...] = ()  # every figure against its limit
    mains_current_each: float | None = None
    dielectric: str = ""
    missing_mark: Mark = "pencil"  # of the volts with the gap missing
    firing_mark: Mark = "pencil"  # of the volts while the gap runs
    layout: Layout | None = None


@dataclass(frozen=True)
class StringsResult:
    """``own`` is what the project states, ``ranked`` what the shelf can make, best first."""

    own: StringResult | None
    ranked: tuple[StringResult, ...] = ()
    refused: tuple[StringResult, ...] = ()
    considered: int = 0
    wanted: str = ""  # what was aimed at, in words
    limits: tuple[str, ...] = ()


# ---- home-made plates ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class CutSheet:
    """A sheet, foil or tube to cut: m, and how many."""

    what: str
    count: int
    length: float
    width: float
    thickness: float | None = None
    material: str = ""


@dataclass(frozen=True)
class PlatesResult:
    """One home-made capacitor, or the one that would meet the wanted value (``own`` False)."""

    form: str  # flat | rolled | cylinder
    dielectric: str
    count: int
    thickness: float
    area: float
    capacitance: Estimate
    field_peak: float | None  # V/m with the gap missing
    strength: Estimate  # V/m at this thickness and area
    rated_peak: Estimate  # V across, what the strength allows with its derating
    corona_peak: Estimate  # V peak at which the foil edge starts to glow, in air
    corona_peak_oil: Estimate
    loss_tangent: Estimate
    loss: Estimate | None  # W
    temperature_rise: Estimate | None
    oil_volume: float | None  # m3
    mass: float | None
    sheets: tuple[CutSheet, ...] = ()
    own: bool = True
    reasons: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    edge_field_peak: float | None = None  # V/m at the foil's edge with the gap missing, in the dielectric
    margin: float = 0.0  # of the sheet beyond the foil
    foil_length: float = 0.0
    foil_width: float = 0.0
    foil_thickness: float = 0.0
    stack: tuple[float, float, float] = (0.0, 0.0, 0.0)  # length, width, height of what lies in the box
    turns: float | None = None
    diameter: float | None = None  # of one roll or bottle


# ---- gap -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class GapCurvePoint:
    """Cold breakdown of the whole gap at one spacing of each segment: m, V peak and its 95 % band."""

    spacing: float
    peak: float
    low: float
    high: float


@dataclass(frozen=True)
class GapResult:
    """``spacing`` is the sum over the segments; ``spacing_each`` of one."""

    kind: str
    form: str
    diameter: float | None
    segments: int
    air_density_ratio: float
    humidity: float  # absolute, kg/m3
    breakdown_peak: Estimate | None  # across, first breakdown when cold
    spacing: Estimate | None
    spacing_each: Estimate | None
    spread: float  # one sigma of the firing volts, relative
    hot_peak: Estimate | None  # where a hot, dusty gap fires again
    high_frequency_factor: Estimate | None
    largest_setting: Estimate | None  # V peak across at which every rated place still holds
    largest_spacing: Estimate | None
    limited_by: str
    widest_that_fires: Estimate | None  # m
    fires: bool | None  # on the supply as solved
    words: tuple[str, ...] = ()
    curve: tuple[GapCurvePoint, ...] = ()
    limits: tuple[str, ...] = ()


# ---- protection ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SafetyGapResult:
    """The safety gap of each leg to earth. ``empty``: no setting fits the window."""

    legs: tuple[str, ...]
    low_peak: float
    high_peak: float | None
    limited_by: str
    setting_peak: Estimate | None
    spacing: Estimate | None
    spacing_low: float | None
    spacing_high: float | None
    fitted_peak: Estimate | None
    fitted_spacing: float | None
    empty: bool
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class FilterResult:
    """Resistor and capacitor between supply and gap, in each leg. ``fitted``: the project states it."""

    fitted: bool
    resistance: float
    capacitance: float
    corner_frequency: float
    attenuation: float  # of the ring, volts out over volts in
    drop: float  # share of the open volts lost at best power
    resistor_power: Estimate
    resistor_voltage_peak: float
    resistors_in_series: int
    capacitor_peak: float
    capacitor_current: Estimate
    surge_energy: float  # J per bang into the resistor
    fails: tuple[str, ...] = ()
    chokes: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()


@dataclass(frozen=True)
class FuseResult:
    """The fuse in the mains lead, and the soft start. ``words`` say what it protects and what it does not.

    ``holds`` is of the value of the largest steady current, ``holds_band`` of the upper end of its band.
    ``soft_start_needed`` is for the breaker; None: not known. Without need the resistor is only what would do if the
    breaker trips all the same.
    """

    fitted: str | None
    rated_current: float | None
    advised: str
    holds: bool | None
    soft_start: Estimate | None  # ohm
    soft_start_energy: Estimate | None  # J, upper bound
    words: tuple[str, ...] = ()
    holds_band: bool | None = None
    soft_start_needed: bool | None = None


@dataclass(frozen=True)
class StoredRow:
    """What one thing can hold, and the limits for people that it passes. ``discharge_time`` [s] None: never."""

    where: str
    capacitance: float
    peak: float
    energy: float
    charge: float
    limits: tuple[StoredLimit, ...]
    discharge_time: float | None
    residual: float | None
    mark: Mark = "pencil"


@dataclass(frozen=True)
class KeepOut:
    distance: float
    basis: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class ProtectionResult:
    safety_gap: SafetyGapResult
    filter: FilterResult
    bleeders: tuple[BleederResult, ...]
    fuse: FuseResult
    stored: tuple[StoredRow, ...]
    keep_out: KeepOut
    ground: tuple[str, ...]  # radio-frequency ground, in words with numbers
    mains_side: tuple[str, ...]  # mains filter and how it faces, key switch, stop, two disconnections
    limits: tuple[str, ...] = ()


# ---- the stage -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class TankResult:
    """Everything between supply and coil."""

    name: str  # of the arrangement
    supply: SupplySide
    size: SizeResult
    strings: StringsResult
    plates: PlatesResult | None
    gap: GapResult | None
    rotary: RotaryResult | None
    electrodes: ElectrodeResult | None
    room: RoomResult
    protection: ProtectionResult
    tags: tuple[Tag, ...] = ()
    marks: Mapping[str, Mark] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


__all__ = [
    "BleederResult",
    "CapacitanceRange",
    "CutSheet",
    "ElectrodeResult",
    "FilterResult",
    "FuseResult",
    "GapCurvePoint",
    "GapResult",
    "KeepOut",
    "Missing",
    "PlatesResult",
    "ProtectionResult",
    "RatedPlace",
    "RoomResult",
    "RotaryResult",
    "RotorShape",
    "SafetyGapResult",
    "SizeResult",
    "SizeRow",
    "StoredRow",
    "StringResult",
    "StringsResult",
    "SupplySide",
    "TankResult",
]
