"""The machine in the project file: tank, gap, coil, protection, answers, and the readings of what was built."""

from __future__ import annotations

from typing import Annotated, Any

from coilwright.project.fields import (
    AnyLength,
    Choice,
    Count,
    Date,
    Either,
    Field,
    Fuse,
    Id,
    KnownLength,
    KnownResistance,
    Length,
    Name,
    Number,
    Pair,
    Power,
    Price,
    RefusalError,
    Text,
    Unit,
    Voltage,
    Whole,
    WireDiameter,
    Words,
    YesNo,
    unknown_key,
)
from coilwright.project.schema_base import Table
from coilwright.units import Quantity, quote

TOP_FORMS = ("toroid", "sphere", "disc", "dome")

#: What a reading may be of, and the dimension of its value.
READINGS = {
    "secondary resonance": "frequency",
    "tank resonance": "frequency",
    "split peaks": "frequency",
    "mutual inductance": "inductance",
    "inductance": "inductance",
    "capacitance": "capacitance",
    "quality": "number",
    "gap firing": "voltage",
    "mains current": "current",
    "mains power": "power",
    "voltage": "voltage",
    "current": "current",
    "temperature": "temperature",
    "spark length": "length",
    "resistance": "resistance",
    "polarity": "voltage",
}

Turns = Annotated[float, Number(0, 1e5, above=True)]
SAFETY_GAP = Unit("length", example="0.6 mm")
Spacing = Annotated[Quantity, Unit("length", example="0.7 mm")]
Thickness = Annotated[Quantity, Unit("length", example="3 mm")]
Rod = Annotated[Quantity, Unit("length", example="8 mm")]


class SafetyGap(Field):
    """A spacing, or a table with the (peak) voltage; read as (spacing, voltage), one of them None."""

    def read(self, found: object) -> tuple[Quantity | None, Quantity | None]:
        """Return spacing and voltage."""
        if not isinstance(found, dict):
            return SAFETY_GAP.read(found), None
        for key in found:
            if key != "voltage":
                raise unknown_key(str(key), ["voltage"])
        if "voltage" not in found:
            raise RefusalError(
                "found an empty table, expected a spacing or a voltage", 'Write "0.6 mm" or { voltage = "3 kV" }.'
            )
        return None, Unit("voltage").read(found["voltage"])

    def json(self) -> dict[str, Any]:
        """Return the JSON Schema of the field."""
        table = {
            "type": "object",
            "properties": {"voltage": Unit("voltage").json()},
            "required": ["voltage"],
            "additionalProperties": False,
        }
        return {"anyOf": [SAFETY_GAP.json(), table]}


class Places(Field):
    """Where a reading was taken: a word, or two joints."""

    def read(self, found: object) -> str | tuple[str, str]:
        """Return the word or the two joints."""
        if isinstance(found, str):
            return str(Text(120).read(found))
        if isinstance(found, list):
            pair: tuple[str, str] = Pair(Text(80), '["hot_b", "ground"]').read(found)
            return pair
        raise RefusalError(
            f"found {quote(found)}, expected a word or two joints", 'Write "bare" or ["hot_b", "ground"].'
        )

    def json(self) -> dict[str, Any]:
        """Return the JSON Schema of the field."""
        return {"anyOf": [Text(120).json(), Pair(Text(80), "").json()]}


class AnyValue(Field):
    """A value whose unit depends on what was read; it is read when that is known."""

    def read(self, found: object) -> object:
        """Return what was found, untouched."""
        return found

    def json(self) -> dict[str, Any]:
        """Return the JSON Schema of the field."""
        return {"anyOf": [{"type": "string"}, {"type": "number"}, {"type": "array", "minItems": 2, "maxItems": 2}]}


class StringsSpec(Table):
    part: Id
    series: Count
    parallel: Count = 1
    bleeder: KnownResistance | None = None


class PlatesSpec(Table):
    form: Annotated[str, Choice("flat", "rolled", "cylinder")]
    dielectric: Name
    thickness: Thickness
    area: Annotated[Quantity, Unit("area")]
    count: Count


class TankSpec(Table):
    capacitance: Annotated[Quantity, Unit("capacitance")] | None = None
    strings: StringsSpec | None = None
    plates: PlatesSpec | None = None


class ElectrodeSpec(Table):
    form: Annotated[str, Choice("rod", "sphere", "tube", "plate")]
    diameter: Rod


class DiscSpec(Table):
    material: Annotated[str, Choice("glass-epoxy", "phenolic", "aluminium", "steel", "polycarbonate", "acrylic")]
    diameter: Length
    thickness: Thickness
    bore: Rod | None = None


class ShieldSpec(Table):
    material: Annotated[str, Choice("steel", "aluminium", "polycarbonate", "acrylic")]
    thickness: Thickness
    all_round: YesNo | None = None


class GapSpec(Table):
    kind: Annotated[str, Choice("static", "segmented", "synchronous rotary", "asynchronous rotary")]
    electrode: ElectrodeSpec | None = None
    spacing: Spacing | None = None
    voltage: Voltage | None = None
    segments: Annotated[int, Whole(1, 1000)] | None = None
    speed: Annotated[Quantity, Unit("speed")] | None = None
    presentations: Annotated[int, Whole(1, 1000)] | None = None
    phase: Annotated[Quantity, Unit("angle", "any")] | None = None
    electrode_radius: Length | None = None
    electrode_mass: Annotated[Quantity, Unit("mass")] | None = None
    dwell: Annotated[Quantity, Unit("time")] | None = None
    electrode_material: (
        Annotated[str, Choice("copper", "brass", "tungsten", "tungsten-copper", "stainless", "carbon")] | None
    ) = None
    disc: DiscSpec | None = None
    bolt: Rod | None = None
    shield: ShieldSpec | None = None
    motor_speed_max: Annotated[Quantity, Unit("speed")] | None = None


class PrimarySpec(Table):
    form: Annotated[str, Choice("flat spiral", "helix", "cone")]
    inner_diameter: Length | None = None
    pitch: Length | None = None
    turns: Turns | None = None
    conductor_diameter: WireDiameter | None = None
    elevation: AnyLength | None = None
    cone_angle: Annotated[Quantity, Unit("angle")] | None = None
    tap: Annotated[float | None, Either("auto", Number(0, 1e5, above=True))] = None


class SecondarySpec(Table):
    winding_diameter: Length | None = None
    former: Id | None = None
    turns: Turns | None = None
    wire_diameter: WireDiameter | None = None
    wire: Id | None = None
    pitch: Length | None = None
    base_elevation: AnyLength | None = None


class TopSpec(Table):
    """[[top]]: a top load on the shelf."""

    id: Id
    form: Annotated[str, Choice(*TOP_FORMS)]
    ring_diameter: KnownLength | None = None
    tube_diameter: KnownLength | None = None
    diameter: KnownLength | None = None
    price: Price | None = None
    notes: Words | None = None


class TopLoadSpec(Table):
    """[[top_load]]: with its own measures, or one from the shelf (``top``)."""

    top: Id | None = None
    form: Annotated[str, Choice(*TOP_FORMS)] | None = None
    ring_diameter: KnownLength | None = None
    tube_diameter: KnownLength | None = None
    diameter: KnownLength | None = None
    elevation: AnyLength | None = None


class SurroundingSpec(Table):
    form: Annotated[str, Choice("strike rail", "sheet", "earthed cylinder")]
    ring_diameter: Length | None = None
    conductor_diameter: WireDiameter | None = None
    diameter: Length | None = None
    height: Length | None = None
    elevation: AnyLength | None = None
    closed: YesNo | None = None


class EarthSpec(Table):
    rf_ground_resistance: KnownResistance | None = None
    rod: Annotated[str, Choice("own", "house", "none")] | None = None
    ground_plane: YesNo = True
    magnetic_plane: YesNo = False


class FilterSpec(Table):
    resistance: KnownResistance
    capacitance: Annotated[Quantity, Unit("capacitance")]


class BleederSpec(Table):
    resistance: KnownResistance
    power: Power | None = None


class ProtectionSpec(Table):
    safety_gap: Annotated[tuple[Quantity | None, Quantity | None], SafetyGap()] | None = None
    second_protective_conductor: YesNo | None = None
    disconnections: Annotated[int, Whole(0, 20)] | None = None
    filter: FilterSpec | None = None
    bleeder: BleederSpec | None = None
    fuse: Annotated[str, Fuse()] | None = None
    interlock: YesNo | None = None


class AnswerSpec(Table):
    tag: Name
    reason: Annotated[str, Text(999)]
    date: Date | None = None


class DriveSpec(Table):
    voltage: Voltage
    between: Annotated[tuple[str, str], Pair(Text(80), '["hot_a", "ground"]')]


class BuiltReadingSpec(Table):
    """[[reading]]: ``value`` is read once ``what`` tells its dimension."""

    what: Annotated[str, Choice(*READINGS)]
    where: Annotated[str | tuple[str, str], Places()] | None = None
    value: Annotated[object, AnyValue()]
    drive: DriveSpec | None = None
    instrument: Name | None = None
    date: Date | None = None
    notes: Words | None = None
