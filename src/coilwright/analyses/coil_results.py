"""Frozen results of the coil stage. SI, rms unless the name ends in ``_peak``. None stands for "not known"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilwright.fields.coil_set import CoilSet
from coilwright.model.known import Estimate, Mark
from coilwright.protection.tag import Tag


@dataclass(frozen=True)
class SecondaryResult:
    """``inductance`` is the surface-current value at the first mode, what is pushed out included;
    ``low_frequency_inductance`` that of a uniform current, as a bench meter reads it. Resistances at ``temperature``
    [K]; ``quality`` is an upper bound. ``missing_losses`` are named, not computed.
    """

    turns: int
    length: float
    inductance: Estimate
    low_frequency_inductance: Estimate
    dc_resistance: Estimate
    ac_resistance: Estimate
    ac_resistance_hot: float  # at 60 K above
    quality: Estimate
    wire_length: float
    wire_mass: float
    on_reel: float | None  # length left on the reel after winding, negative where it does not suffice
    temperature: float
    missing_losses: tuple[str, ...] = ()


@dataclass(frozen=True)
class ModeResult:
    """One resonance; with the earth as an electric plane alone, and as a magnetic mirror too."""

    frequency: Estimate
    mirrored_frequency: float
    effective_capacitance: float
    effective_inductance: float
    base_inductance: float


@dataclass(frozen=True)
class ProfilePoint:
    """Along the winding at the first mode: m above its lower end, for 1 V at the top."""

    height: float
    voltage: float
    current: float  # A
    stress: float  # V per turn


@dataclass(frozen=True)
class TopLoadResult:
    capacitance: Estimate
    isolated_capacitance: float
    peak_field_per_volt: float
    peak_field_at: tuple[float, float]  # radius and height [m]
    breakout_voltage_peak: Estimate | None  # a clean, smooth surface; None: a sharp edge, which glows at once
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class TapRow:
    """``along`` [m] from the conductor's inner end, ``angle`` [rad] round; ``frequency`` with the project's tank."""

    turns: float
    along: float
    angle: float
    inductance: float
    low_frequency_inductance: float
    mutual_inductance: float
    coupling: float
    frequency: float | None


@dataclass(frozen=True)
class PrimaryResult:
    """``inductance`` and ``resistance`` at the tap in use."""

    tap: float
    inductance: Estimate
    low_frequency_inductance: float
    resistance: float
    conductor_length: float
    taps: tuple[TapRow, ...]


@dataclass(frozen=True)
class CouplingResult:
    """At the tap in use. ``by_height``: coupling with the primary raised by so much [m]."""

    mutual_inductance: Estimate
    coefficient: Estimate
    by_height: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class TuningResult:
    """``tap_turns`` makes tank resonance (secondary open) equal the first mode; ``loaded_tap_turns`` with a streamer of
    ``streamer`` [m]. None where no tap does; the words then say what would.
    """

    tank_capacitance: float
    tap_turns: float | None
    loaded_tap_turns: float | None
    streamer: float
    streamer_capacitance: float
    loaded_frequency: float
    range: tuple[float, float]  # Hz, lowest and highest that the taps reach
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class Detuning:
    """What shifts the first mode, and by how much of it."""

    what: str
    shift: float
    basis: str


@dataclass(frozen=True)
class CoilResult:
    coil: CoilSet
    secondary: SecondaryResult
    modes: tuple[ModeResult, ...]
    profile: tuple[ProfilePoint, ...]
    top_load: TopLoadResult | None
    primary: PrimaryResult | None
    coupling: CouplingResult | None
    tuning: TuningResult | None
    detuning: tuple[Detuning, ...]
    missing: tuple[str, ...] = ()
    tags: tuple[Tag, ...] = ()
    marks: Mapping[str, Mark] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
