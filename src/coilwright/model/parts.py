"""The shelf: parts as the builder wrote them down, in SI units, readings as read and never overwritten.

A field is None where the file is silent; what is then assumed is decided by ``measurement`` and carries the mark
pencil.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from coilwright.model.known import Known


@dataclass(frozen=True)
class Accuracy:
    """Instrument accuracy: a fraction of the reading plus a fixed part in SI units.

    The fits take it as one standard deviation, for old meters are seldom better than they say; a tolerance written
    beside a reading is a 95 % half width.
    """

    relative: float = 0.0
    absolute: float = 0.0


@dataclass(frozen=True)
class Instrument:
    """[[instrument]]. ``accuracy`` maps a quantity name (voltage, current, power, resistance ...) to its accuracy.

    ``response`` is "average", "true rms" or None (not said); ``rating`` is the highest voltage it may read, V.
    """

    id: str
    accuracy: dict[str, Accuracy]
    response: str | None = None
    rating: float | None = None
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Read:
    """One number read off a meter, SI. ``tolerance`` is the absolute 95 % half width written beside it, else None."""

    value: float
    tolerance: float | None = None


@dataclass(frozen=True)
class Stamp:
    """Who read it, with what, and when. A reading with instrument and date is stamped, else ink."""

    instrument: str | None = None
    date: date | None = None
    by: str | None = None


@dataclass(frozen=True)
class OpenTest:
    """Secondary open, ``applied`` volts on the primary, mains-side current and power."""

    applied: Read
    current: Read
    power: Read | None = None
    secondary: Read | None = None
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class ShortTest:
    """High winding short-circuited, ``applied`` volts on the primary."""

    applied: Read
    current: Read
    power: Read | None = None
    secondary_current: Read | None = None
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class LowVoltageTest:
    """Ratio at low voltage. ``fed`` is "high" (``applied`` on the high winding, ``read`` on the primary) or "low"."""

    fed: str
    applied: Read
    read: Read
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class ProofTest:
    """A high-voltage withstand test by a qualified person. ``method`` is "applied" or "induced"."""

    between: tuple[str, str]
    applied: float  # V rms
    duration: float | None
    method: str | None
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class InsulationTest:
    between: tuple[str, str]
    applied: float  # V DC
    resistance: Read
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class BondTest:
    current: float
    resistance: Read
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class Transformer:
    """[[transformer]]."""

    id: str
    kind: str
    plate_primary: Known[float] | None = None
    plate_secondary: Known[float] | None = None  # end to end
    plate_power: Known[float] | None = None
    plate_current: Known[float] | None = None  # secondary short-circuit current, A
    plate_frequency: Known[float] | None = None
    primary_resistance: Known[float] | None = None  # cold, 20 degC
    secondary_resistance: Known[float] | None = None  # end to end
    secondary_resistance_halves: tuple[Known[float], Known[float]] | None = None
    core_end: Known[str] | None = None  # start | finish | tap | none
    core_end_liftable: Known[str] | None = None  # yes | no | unknown
    inner_end: Known[str] | None = None  # start | finish | unknown
    open_test: tuple[OpenTest, ...] = ()
    short_test: tuple[ShortTest, ...] = ()
    low_voltage_test: tuple[LowVoltageTest, ...] = ()
    insulation: dict[str, Known[float]] | None = None  # primary_to_core, high_to_core, high_inner_to_core
    proof_test: tuple[ProofTest, ...] = ()
    insulation_test: tuple[InsulationTest, ...] = ()
    bond_test: tuple[BondTest, ...] = ()
    capacitance: dict[str, Known[float]] | None = None  # high_to_core, primary_to_core, high_to_primary
    core: dict[str, Known[float]] | None = None  # limb_area, window_width, shunt_area, shunt_gap
    shunts: str = "as built"
    filling: str = "unknown"
    made: int | None = None
    secondary_protection: str = "none"
    mass: Known[float] | None = None
    surface: Known[float] | None = None
    price: float | None = None
    count: int = 1
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class ChokeTest:
    voltage: Read
    current: Read
    power: Read | None = None
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class TemperatureTest:
    current: float
    minutes: float  # s (the file says minutes; SI inside)
    rise: Read  # K
    stamp: Stamp = Stamp()
    where: str = ""


@dataclass(frozen=True)
class Choke:
    """[[choke]]."""

    id: str
    resistance: Known[float] | None = None
    current: Known[float] | None = None
    test: tuple[ChokeTest, ...] = ()
    gap_ratio: float = 1.0
    lamp: str | None = None
    settings: tuple[float, ...] = ()  # A
    mass: Known[float] | None = None
    surface: Known[float] | None = None
    temperature_test: tuple[TemperatureTest, ...] = ()
    core: dict[str, Known[float]] | None = None  # leg_area, gap
    price: float | None = None
    count: int = 1
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Capacitor:
    """[[capacitor]]. ``rated`` in V; ``rated_kind`` is "AC" or "DC". ``size`` is length (along the leads), width and
    height of the body, ``lead_pitch`` the distance of its leads [m]; ``tolerance`` the printed share of its value.
    """

    id: str
    value: Known[float]
    use: str | None = None  # power factor | tank | filter
    kind: str | None = None  # "oven" for an oven capacitor
    rated: Known[float] | None = None
    rated_kind: str | None = None
    bleeder: Known[float] | None = None
    made: int | None = None
    count: int = 1
    dielectric: str | None = None
    loss: float | None = None
    dv_dt: Known[float] | None = None
    esr: Known[float] | None = None
    ripple_current: Known[float] | None = None
    tolerance: float | None = None
    size: tuple[Known[float], Known[float], Known[float]] | None = None
    lead_pitch: Known[float] | None = None
    price: float | None = None
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Resistor:
    """[[resistor]]."""

    id: str
    resistance: Known[float]
    power: Known[float] | None = None
    voltage: Known[float] | None = None
    count: int = 1
    price: float | None = None
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Variable:
    """[[variable]], a variable autotransformer. ``setting`` is the output as a fraction of the input."""

    id: str
    voltage: Known[float] | None = None
    current: Known[float] | None = None
    setting: Known[float] | None = None
    price: float | None = None
    count: int = 1
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Wire:
    """[[wire]] on the reel."""

    id: str
    diameter: Known[float]
    grade: int | None = None
    length: Known[float] | None = None
    mass: Known[float] | None = None
    price: float | None = None
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Former:
    """[[former]]."""

    id: str
    outside_diameter: Known[float]
    wall: Known[float] | None = None
    length: Known[float] | None = None
    material: str | None = None
    price: float | None = None
    notes: str = ""
    where: str = ""
