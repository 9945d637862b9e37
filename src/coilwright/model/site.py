"""Where the machine will run and what is wanted of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from coilwright.model.known import Known


@dataclass(frozen=True)
class Breaker:
    """The protective device upstream. ``curve`` is "B", "C", "D" (IEC 60898-1) or None where it is unknown."""

    rated_current: float
    curve: str | None = None


@dataclass(frozen=True)
class Air:
    """Ambient air. Temperature in K, pressure in Pa, humidity as a fraction 0..1."""

    temperature: Known[float]
    pressure: Known[float] | None
    humidity: Known[float]


@dataclass(frozen=True)
class Room:
    """The room, lengths in m. ``outdoors`` means that there is none."""

    ceiling: Known[float] | None = None
    wall_distance: Known[float] | None = None
    length: Known[float] | None = None
    width: Known[float] | None = None
    outdoors: bool = False


@dataclass(frozen=True)
class Site:
    """[site]. Every field is filled; what the file is silent about carries the mark pencil.

    Volts are rms, line to neutral for "line and neutral" and line to line for "split phase" (between the two lines)
    and "two phases".
    """

    mains_voltage: Known[float]
    frequency: Known[float]
    mains_resistance: Known[float]
    mains_inductance: Known[float]
    breaker: Known[Breaker]
    rcd: Known[float | None]  # trip current in A; None where there is none
    system: Known[str]  # "line and neutral" | "split phase" | "two phases"
    earthing: Known[str]  # "TN" | "TT" | "IT" | "unknown"
    plug: Known[str]  # "as marked" | "unknown" | "fixed wiring"
    altitude: Known[float]
    air: Air
    room: Room


@dataclass(frozen=True)
class Goal:
    """[goal], the order. Everything optional; None where the builder is silent."""

    power: Known[float] | None = None  # VA, open volts times short-circuit amperes
    voltage_low: Known[float] | None = None  # open-circuit rms window
    voltage_high: Known[float] | None = None
    secondary_height: Known[float] | None = None
    spark_length: Known[float] | None = None
    mains_current: Known[float] | None = None
    budget: float | None = None
    use: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    on_time: Known[float] | None = None
    extra: dict[str, str] = field(default_factory=dict)
