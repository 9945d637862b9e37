"""The whole project file as one table of known keys, and the JSON Schema made from it."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from coilwright.project.fields import (
    Breaker,
    Choice,
    Current,
    Either,
    Field,
    Fraction,
    Id,
    Length,
    Measurable,
    Name,
    Number,
    Pair,
    Power,
    RefusalError,
    Stamped,
    Text,
    Unit,
    Words,
    YesNo,
)
from coilwright.project.schema_base import Table
from coilwright.project.schema_machine import (
    AnswerSpec,
    BuiltReadingSpec,
    EarthSpec,
    GapSpec,
    PrimarySpec,
    ProtectionSpec,
    SecondarySpec,
    SurroundingSpec,
    TankSpec,
    TopLoadSpec,
    TopSpec,
)
from coilwright.project.schema_shelf import (
    CapacitorSpec,
    ChokeSpec,
    FormerSpec,
    InstrumentSpec,
    ResistorSpec,
    TransformerSpec,
    VariableSpec,
    WireSpec,
)
from coilwright.units import Quantity, quote

#: The format that this version reads and writes.
FORMAT = 1


class FormatNumber(Field):
    """The number of the format: one that this version knows."""

    def read(self, found: object) -> int:
        """Return the number."""
        if isinstance(found, bool) or found != FORMAT or not isinstance(found, int):
            raise RefusalError(f"found {quote(found)}, expected the format's number", f"Write format = {FORMAT}.")
        return FORMAT

    def json(self) -> dict[str, Any]:
        """Return the JSON Schema of the field."""
        return {"const": FORMAT}


class ProjectSpec(Table):
    name: Name = "Unnamed project"
    notes: Words = ""


class AirSpec(Table):
    temperature: Annotated[Stamped, Measurable("temperature", "any")] | None = None
    pressure: Annotated[Stamped, Measurable("pressure", "positive", 120e3, 30e3)] | None = None
    humidity: Annotated[Quantity, Fraction(1.0)] | None = None


class RoomSpec(Table):
    ceiling: Length | None = None
    wall_distance: Length | None = None
    length: Length | None = None
    width: Length | None = None
    outdoors: YesNo = False


class SiteSpec(Table):
    mains: Annotated[Stamped, Measurable("voltage", "positive", 1000, 20)] | None = None
    frequency: Annotated[Stamped, Measurable("frequency", "positive", 1000, 10)] | None = None
    mains_resistance: Annotated[Stamped, Measurable("resistance", "positive", 1000)] | None = None
    mains_inductance: Annotated[Stamped, Measurable("inductance", "positive", 1.0)] | None = None
    breaker: Annotated[tuple[float, str | None], Breaker()] | None = None
    rcd: Annotated[Quantity | None, Either("none", Unit("current", "positive", 30))] | None = None
    system: Annotated[str, Choice("line and neutral", "split phase", "two phases")] | None = None
    earthing: Annotated[str, Choice("TN", "TT", "IT", "unknown")] | None = None
    plug: Annotated[str, Choice("as marked", "unknown", "fixed wiring")] | None = None
    altitude: Annotated[Quantity, Unit("length", "any", 9000, -500)] | None = None
    air: AirSpec | None = None
    room: RoomSpec | None = None


class GoalSpec(Table):
    power: Power | None = None
    voltage: Annotated[tuple[Quantity, Quantity], Pair(Unit("voltage"), '["4 kV", "12 kV"]')] | None = None
    secondary_height: Length | None = None
    spark_length: Length | None = None
    mains_current: Current | None = None
    budget: Annotated[float, Number(0, 1e9)] | None = None
    use: tuple[Id, ...] = ()
    avoid: tuple[Id, ...] = ()
    on_time: Annotated[Quantity, Unit("time")] | None = None


class ArrangementSpec(Table):
    name: Annotated[str, Text(200)]
    output: Annotated[tuple[str, str], Pair(Text(80), '["hot_a", "hot_b"]')]
    reversed: tuple[Annotated[str, Text(80)], ...] = ()
    lifted: tuple[Annotated[str, Text(80)], ...] = ()
    shorted: tuple[Annotated[str, Text(80)], ...] = ()
    joint: dict[str, tuple[Annotated[str, Text(80)], ...]]


class SupplySpec(Table):
    use: Annotated[str, Text(200)] | None = None


class FileSpec(Table):
    """The file."""

    format: Annotated[int, FormatNumber()]
    project: ProjectSpec = ProjectSpec()
    site: SiteSpec = SiteSpec()
    goal: GoalSpec = GoalSpec()
    instrument: tuple[InstrumentSpec, ...] = ()
    transformer: tuple[TransformerSpec, ...] = ()
    choke: tuple[ChokeSpec, ...] = ()
    capacitor: tuple[CapacitorSpec, ...] = ()
    resistor: tuple[ResistorSpec, ...] = ()
    variable: tuple[VariableSpec, ...] = ()
    wire: tuple[WireSpec, ...] = ()
    former: tuple[FormerSpec, ...] = ()
    top: tuple[TopSpec, ...] = ()
    arrangement: tuple[ArrangementSpec, ...] = ()
    supply: SupplySpec = SupplySpec()
    tank: TankSpec | None = None
    gap: GapSpec | None = None
    primary: PrimarySpec | None = None
    secondary: SecondarySpec | None = None
    top_load: tuple[TopLoadSpec, ...] = ()
    surrounding: tuple[SurroundingSpec, ...] = ()
    earth: EarthSpec | None = None
    protection: ProtectionSpec | None = None
    answer: tuple[AnswerSpec, ...] = ()
    reading: tuple[BuiltReadingSpec, ...] = ()


def table_at(steps: tuple[str | int, ...]) -> type[Table] | None:
    """Return the table class that stands at a key path, or None where there is none."""
    current: Any = FileSpec
    for step in steps:
        if isinstance(step, int):
            current = _inner(current, tuple)
        elif isinstance(current, type) and issubclass(current, Table):
            known = current.model_fields.get(step)
            current = None if known is None else known.annotation
        else:
            current = _inner(current, dict)
        if current is None:
            return None
        current = _table_in(current) or current
    return current if isinstance(current, type) and issubclass(current, Table) else None


def _inner(annotation: Any, container: type) -> Any:
    for part in _parts(annotation):
        if get_origin(part) is container:
            return get_args(part)[-1 if container is dict else 0]
    return None


def _table_in(annotation: Any) -> type[Table] | None:
    return next((p for p in _parts(annotation) if isinstance(p, type) and issubclass(p, Table)), None)


def _parts(annotation: Any) -> tuple[Any, ...]:
    if get_origin(annotation) is Annotated:
        return _parts(get_args(annotation)[0])
    return get_args(annotation) if get_origin(annotation) in {Union, UnionType} else (annotation,)


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of the project file (draft 2020-12), for editors that complete and check TOML."""
    schema = FileSpec.model_json_schema()
    _strip(schema)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "coilwright project file",
        "description": "A project: the shelf, the supply and the machine. Numbers with a unit are text with the unit.",
        **{k: v for k, v in schema.items() if k not in {"title", "description"}},
    }


def _strip(node: Any) -> None:
    """Take out what only repeats the key (titles) or is no JSON (defaults that are null)."""
    if isinstance(node, list):
        for item in node:
            _strip(item)
    elif isinstance(node, dict):
        if isinstance(node.get("title"), str):
            del node["title"]
        if node.get("default", 0) is None:
            del node["default"]
        variants = node.get("anyOf")
        if isinstance(variants, list):
            kept = [v for v in variants if v != {"type": "null"}]
            if len(kept) == 1:
                del node["anyOf"]
                node.update(kept[0])
            else:
                node["anyOf"] = kept
        for item in list(node.values()):
            _strip(item)


def shipped_json_schema() -> dict[str, Any]:
    """Return the JSON Schema that is shipped in the package (``schema.json`` beside this module)."""
    loaded: dict[str, Any] = json.loads(files("coilwright.project").joinpath("schema.json").read_text(encoding="utf-8"))
    return loaded


def write_json_schema(path: Path) -> None:
    """Write the JSON Schema to a file; ``python -m coilwright.project.schema`` renews the shipped one."""
    path.write_text(json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_json_schema(Path(__file__).with_name("schema.json"))
