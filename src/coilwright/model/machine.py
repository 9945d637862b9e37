"""Tank, gap, coil, protection, answers and readings of the built machine, as the file states them (SI)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from coilwright.model.known import Known


@dataclass(frozen=True)
class TankStrings:
    part: str
    series: int
    parallel: int
    bleeder: Known[float] | None = None


@dataclass(frozen=True)
class TankPlates:
    form: str
    dielectric: str
    thickness: Known[float]
    area: Known[float]
    count: int


@dataclass(frozen=True)
class Tank:
    """[tank]: one of ``capacitance``, ``strings`` or ``plates``."""

    capacitance: Known[float] | None = None
    strings: TankStrings | None = None
    plates: TankPlates | None = None


@dataclass(frozen=True)
class Electrode:
    form: str
    diameter: Known[float]


@dataclass(frozen=True)
class Disc:
    """The disc of a rotary gap, lengths in m. ``bore`` None: not stated."""

    material: str
    diameter: Known[float]
    thickness: Known[float]
    bore: Known[float] | None = None


@dataclass(frozen=True)
class Shield:
    """The burst shield of a rotary gap. ``all_round`` None: not stated whether it surrounds the disc's plane."""

    material: str
    thickness: Known[float]
    all_round: bool | None = None


@dataclass(frozen=True)
class Gap:
    """[gap]. Either ``spacing`` (m) or ``voltage`` (peak V across the whole gap)."""

    kind: str
    electrode: Electrode | None = None
    spacing: Known[float] | None = None
    voltage: Known[float] | None = None
    segments: int | None = None
    speed: Known[float] | None = None  # rev/s
    presentations: int | None = None
    phase: Known[float] | None = None  # rad
    electrode_radius: Known[float] | None = None
    electrode_mass: Known[float] | None = None
    dwell: Known[float] | None = None  # s
    electrode_material: str | None = None
    disc: Disc | None = None
    bolt: Known[float] | None = None  # nominal diameter of what holds each electrode
    shield: Shield | None = None
    motor_speed_max: Known[float] | None = None  # rev/s


@dataclass(frozen=True)
class Primary:
    form: str
    inner_diameter: Known[float] | None = None
    pitch: Known[float] | None = None
    turns: float | None = None
    conductor_diameter: Known[float] | None = None
    elevation: Known[float] | None = None
    cone_angle: Known[float] | None = None
    tap: float | None = None  # None stands for "auto"


@dataclass(frozen=True)
class Secondary:
    winding_diameter: Known[float] | None = None
    former: str | None = None
    turns: float | None = None
    wire_diameter: Known[float] | None = None
    wire: str | None = None
    pitch: Known[float] | None = None
    base_elevation: Known[float] | None = None


@dataclass(frozen=True)
class TopLoad:
    form: str
    id: str | None = None
    ring_diameter: Known[float] | None = None
    tube_diameter: Known[float] | None = None
    diameter: Known[float] | None = None
    elevation: Known[float] | None = None
    price: float | None = None
    notes: str = ""
    where: str = ""


@dataclass(frozen=True)
class Surrounding:
    form: str
    ring_diameter: Known[float] | None = None
    conductor_diameter: Known[float] | None = None
    diameter: Known[float] | None = None
    height: Known[float] | None = None
    elevation: Known[float] | None = None
    closed: bool | None = None


@dataclass(frozen=True)
class Coil:
    """The radio-frequency side, as far as the file states it."""

    primary: Primary | None = None
    secondary: Secondary | None = None
    top_loads: tuple[TopLoad, ...] = ()
    surroundings: tuple[Surrounding, ...] = ()


@dataclass(frozen=True)
class Earth:
    rf_ground_resistance: Known[float] | None = None
    rod: str | None = None
    ground_plane: bool = True
    magnetic_plane: bool = False


@dataclass(frozen=True)
class SeriesFilter:
    resistance: Known[float]
    capacitance: Known[float]


@dataclass(frozen=True)
class BleederResistor:
    resistance: Known[float]
    power: Known[float] | None = None


@dataclass(frozen=True)
class Protection:
    """[protection]. A safety gap is given by its spacing (m) or by its voltage (peak V, each hot joint to earth)."""

    safety_gap_spacing: Known[float] | None = None
    safety_gap_voltage: Known[float] | None = None
    second_protective_conductor: bool | None = None
    disconnections: int | None = None
    filter: SeriesFilter | None = None
    bleeder: BleederResistor | None = None
    fuse: str | None = None
    interlock: bool | None = None


@dataclass(frozen=True)
class Answer:
    """[[answer]]: the builder's written reason beside a tag. It never hides the tag."""

    tag: str
    reason: str
    date: date | None = None


@dataclass(frozen=True)
class Drive:
    voltage: float
    between: tuple[str, str]


@dataclass(frozen=True)
class Reading:
    """[[reading]] of the built machine. ``where`` is a word, or two joints for a polarity reading."""

    what: str
    where: str | tuple[str, str] | None
    value: float
    unit: str
    tolerance: float | None = None
    drive: Drive | None = None
    instrument: str | None = None
    date: date | None = None
    path: str = ""
    upper: float | None = None  # the upper one of two split peaks
    notes: str = ""


@dataclass(frozen=True)
class RefusedReading:
    """A reading that stands in the file and is not used: the named instrument could not have taken it unharmed.

    ``value`` is what it would have had to stand [V], ``rating`` what it is made for [V], None where that is not known.
    """

    where: str
    part: str
    instrument: str | None
    value: float
    rating: float | None
    message: str
    hint: str
