"""The shelf in the project file: instruments, parts and their readings."""

from __future__ import annotations

from typing import Annotated

from coilwright.project.fields import (
    Accuracy,
    Choice,
    Count,
    Current,
    Date,
    Either,
    Field,
    Fraction,
    Id,
    KnownArea,
    KnownCapacitance,
    KnownLength,
    KnownMass,
    KnownResistance,
    KnownVoltage,
    Length,
    Measurable,
    Name,
    Number,
    Pair,
    Power,
    PowerOrZero,
    Price,
    Rated,
    RefusalError,
    Stamped,
    Text,
    Unit,
    Voltage,
    Whole,
    WireDiameter,
    Words,
    Year,
)
from coilwright.project.schema_base import Table
from coilwright.units import Quantity, UnitError, parse_with_tolerance, quote

TRANSFORMER_KINDS = (
    "oven",
    "sign",
    "ignition",
    "measuring",
    "distribution",
    "isolation",
    "wound",
    "lamp autotransformer",
    "electronic",
)
WINDINGS = ("primary", "high", "heater", "core")


class Minutes(Field):
    """A time that the key already gives in minutes: a pure number, or a time with its unit; read as a Quantity in s."""

    def read(self, found: object) -> Quantity:
        """Return the time in seconds."""
        if isinstance(found, str):
            value, tolerance = parse_with_tolerance(found, "time", "positive")
            return Quantity(value, tolerance, found)
        return Quantity(60 * Number(0, 1e5, above=True).read(found), None, quote(found))

    def json(self) -> dict[str, object]:
        """Return the JSON Schema of the field."""
        return {"anyOf": [{"type": "number", "exclusiveMinimum": 0}, Unit("time").json()]}


class Lamp(Field):
    """The lamp that a choke was made for: ``"sodium 400 W"``; read as the same words."""

    kinds = ("sodium", "mercury", "metal halide", "fluorescent")

    def read(self, found: object) -> str:
        """Return the words if they name a lamp type and its power."""
        example = 'Write it as "sodium 400 W": sodium, mercury, metal halide or fluorescent, then the lamp\'s power.'
        if isinstance(found, str):
            kind = next((k for k in self.kinds if found.startswith(k + " ")), None)
            if kind is not None:
                try:
                    parse_with_tolerance(found.removeprefix(kind), "power", "positive")
                except UnitError as error:
                    raise RefusalError(f"found {quote(found)}, expected a lamp and its power", error.hint) from error
                return found
        raise RefusalError(f"found {quote(found)}, expected a lamp and its power", example)

    def json(self) -> dict[str, object]:
        """Return the JSON Schema of the field."""
        return {"type": "string", "pattern": f"^({'|'.join(self.kinds)}) .+W$", "examples": ["sodium 400 W"]}


class Box(Field):
    """The body of a part, ``["41.5 mm", "20 mm", "39.5 mm"]``: length along the leads, width, height."""

    example = 'Write it as ["41.5 mm", "20 mm", "39.5 mm"]: length along the leads, width, height.'

    def read(self, found: object) -> tuple[Quantity, Quantity, Quantity]:
        """Return the three lengths."""
        if not isinstance(found, list) or len(found) != 3:
            raise RefusalError(f"found {quote(found)}, expected a list of three lengths", self.example)
        side = Unit("length")
        return side.read(found[0]), side.read(found[1]), side.read(found[2])

    def json(self) -> dict[str, object]:
        """Return the JSON Schema of the field."""
        return {"type": "array", "items": Unit("length").json(), "minItems": 3, "maxItems": 3}


Between = Annotated[tuple[str, str], Pair(Choice(*WINDINGS), '["high", "core"]')]
DcVoltage = Annotated[tuple[Quantity, str | None], Rated()]
KnownTurnsRatio = Annotated[float, Number(0, 1e4, above=True)]


class ReadingRow(Table):
    """What every row of readings may carry."""

    instrument: Name | None = None
    date: Date | None = None
    by: Name | None = None


class AccuracySpec(Table):
    voltage: Annotated[tuple[float, float], Accuracy("voltage")] | None = None
    current: Annotated[tuple[float, float], Accuracy("current")] | None = None
    power: Annotated[tuple[float, float], Accuracy("power")] | None = None
    resistance: Annotated[tuple[float, float], Accuracy("resistance")] | None = None
    capacitance: Annotated[tuple[float, float], Accuracy("capacitance")] | None = None
    inductance: Annotated[tuple[float, float], Accuracy("inductance")] | None = None
    frequency: Annotated[tuple[float, float], Accuracy("frequency")] | None = None
    temperature: Annotated[tuple[float, float], Accuracy("temperature rise")] | None = None
    length: Annotated[tuple[float, float], Accuracy("length")] | None = None
    mass: Annotated[tuple[float, float], Accuracy("mass")] | None = None
    time: Annotated[tuple[float, float], Accuracy("time")] | None = None


class InstrumentSpec(Table):
    id: Annotated[str, Text(80)]
    accuracy: AccuracySpec = AccuracySpec()
    response: Annotated[str, Choice("average", "true rms")] | None = None
    rating: DcVoltage | None = None
    notes: Words | None = None


class OpenTestSpec(ReadingRow):
    applied: Voltage
    current: Current
    power: PowerOrZero | None = None
    secondary: Voltage | None = None


class ShortTestSpec(ReadingRow):
    applied: Voltage
    current: Current
    power: PowerOrZero | None = None
    secondary_current: Current | None = None


class LowVoltageTestSpec(ReadingRow):
    applied: Voltage | None = None
    secondary: Voltage | None = None
    applied_high: Voltage | None = None
    low: Voltage | None = None


class ProofTestSpec(ReadingRow):
    between: Between
    applied: Voltage
    duration: Annotated[Quantity, Unit("time")] | None = None
    method: Annotated[str, Choice("applied", "induced")] | None = None


class InsulationTestSpec(ReadingRow):
    between: Between
    applied: DcVoltage
    resistance: Annotated[Quantity, Unit("resistance")]


class BondTestSpec(ReadingRow):
    current: Current
    resistance: Annotated[Quantity, Unit("resistance")]


class InsulationSpec(Table):
    primary_to_core: Voltage | None = None
    high_to_core: Voltage | None = None
    high_inner_to_core: Annotated[Quantity, Unit("voltage", "zero")] | None = None


class StraySpec(Table):
    high_to_core: KnownCapacitance | None = None
    primary_to_core: KnownCapacitance | None = None
    high_to_primary: KnownCapacitance | None = None


class TransformerCoreSpec(Table):
    limb_area: KnownArea | None = None
    window_width: KnownLength | None = None
    shunt_area: KnownArea | None = None
    shunt_gap: KnownLength | None = None


#: Words that a builder may write as the kind of a transformer, though the part has a section of its own.
ELSEWHERE = {
    "variable": "A variable transformer has a section of its own: [[variable]].",
    "choke": "A choke has a section of its own: [[choke]].",
    "ballast": "A lamp choke has a section of its own, [[choke]]; an autotransformer is a lamp autotransformer.",
    "microwave": 'Write "oven".',
    "neon": 'Write "sign", or "electronic" where it has no iron.',
}


class TransformerSpec(Table):
    id: Id
    kind: Annotated[str, Choice(*TRANSFORMER_KINDS, elsewhere=ELSEWHERE)]
    plate_primary: Voltage | None = None
    plate_secondary: Voltage | None = None
    plate_power: Power | None = None
    plate_current: Current | None = None
    plate_frequency: Annotated[Quantity, Unit("frequency", smallest=10, largest=1e6)] | None = None
    primary_resistance: KnownResistance | None = None
    secondary_resistance: KnownResistance | None = None
    secondary_resistance_halves: (
        Annotated[tuple[Stamped, Stamped], Pair(Measurable("resistance"), '["3.9 kohm", "4.0 kohm"]')] | None
    ) = None
    core_end: Annotated[str, Choice("start", "finish", "tap", "none")] | None = None
    core_end_liftable: Annotated[str, Choice("yes", "no", "unknown")] | None = None
    inner_end: Annotated[str, Choice("start", "finish", "unknown")] | None = None
    open_test: tuple[OpenTestSpec, ...] = ()
    short_test: tuple[ShortTestSpec, ...] = ()
    low_voltage_test: tuple[LowVoltageTestSpec, ...] = ()
    insulation: InsulationSpec | None = None
    proof_test: tuple[ProofTestSpec, ...] = ()
    insulation_test: tuple[InsulationTestSpec, ...] = ()
    bond_test: tuple[BondTestSpec, ...] = ()
    capacitance: StraySpec | None = None
    core: TransformerCoreSpec | None = None
    shunts: Annotated[str, Choice("as built", "changed", "removed")] = "as built"
    filling: Annotated[str, Choice("none", "tar", "oil", "resin", "unknown")] = "unknown"
    made: Year | None = None
    secondary_protection: Annotated[str, Choice("none", "ground fault", "unknown")] | None = None
    mass: KnownMass | None = None
    surface: KnownArea | None = None
    price: Price | None = None
    count: Count = 1
    notes: Words | None = None


class ChokeTestSpec(ReadingRow):
    voltage: Voltage
    current: Current
    power: PowerOrZero | None = None


class TemperatureTestSpec(ReadingRow):
    current: Current
    minutes: Annotated[Quantity, Minutes()]
    rise: Annotated[Quantity, Unit("temperature rise")]


class ChokeCoreSpec(Table):
    leg_area: KnownArea | None = None
    gap: KnownLength | None = None


class ChokeSpec(Table):
    id: Id
    resistance: KnownResistance | None = None
    current: Current | None = None
    test: tuple[ChokeTestSpec, ...] = ()
    gap_ratio: Annotated[float, Number(0, 100, above=True)] = 1.0
    lamp: Annotated[str, Lamp()] | None = None
    settings: tuple[Current, ...] = ()
    mass: KnownMass | None = None
    surface: KnownArea | None = None
    temperature_test: tuple[TemperatureTestSpec, ...] = ()
    core: ChokeCoreSpec | None = None
    price: Price | None = None
    count: Count = 1
    notes: Words | None = None


class CapacitorSpec(Table):
    id: Id
    value: KnownCapacitance
    use: Annotated[str, Choice("power factor", "tank", "filter")] | None = None
    kind: Annotated[str, Choice("oven")] | None = None
    rated: DcVoltage | None = None
    bleeder: Annotated[Stamped | None, Either("none", Measurable("resistance"))] = None
    made: Year | None = None
    count: Count = 1
    dielectric: Name | None = None
    loss: Annotated[Quantity, Fraction()] | None = None
    dv_dt: Annotated[Quantity, Unit("voltage slope")] | None = None
    esr: KnownResistance | None = None
    ripple_current: Current | None = None
    tolerance: Annotated[Quantity, Fraction(0.9)] | None = None
    size: Annotated[tuple[Quantity, Quantity, Quantity], Box()] | None = None
    lead_pitch: Length | None = None
    price: Price | None = None
    notes: Words | None = None


class ResistorSpec(Table):
    id: Id
    resistance: KnownResistance
    power: Power | None = None
    voltage: Voltage | None = None
    count: Count = 1
    price: Price | None = None
    notes: Words | None = None


class VariableSpec(Table):
    id: Id
    voltage: KnownVoltage | None = None
    current: Current | None = None
    setting: Annotated[Quantity, Fraction(1.5)] | None = None
    count: Count = 1
    price: Price | None = None
    notes: Words | None = None


class WireSpec(Table):
    id: Id
    diameter: WireDiameter
    grade: Annotated[int, Whole(1, 3)] | None = None
    length: KnownLength | None = None
    mass: KnownMass | None = None
    price: Price | None = None
    notes: Words | None = None


class FormerSpec(Table):
    id: Id
    outside_diameter: KnownLength
    wall: KnownLength | None = None
    length: Length | None = None
    material: Name | None = None
    price: Price | None = None
    notes: Words | None = None
