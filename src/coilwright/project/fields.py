"""What one value of the project file may be: each kind of field reads itself and refuses in words.

A field is declared as ``Annotated[Quantity, Unit("voltage")]``. The classes here are the only validators of the
schema, so that every refusal carries a message (found, expected) and a hint (what to do), and none of a validation
library's own phrases.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from coilwright._dimensions import dimension as find_dimension
from coilwright.units import (
    Quantity,
    Sign,
    UnitError,
    parse_accuracy,
    parse_breaker,
    parse_rated,
    parse_with_tolerance,
    quote,
    show,
)

#: The error type under which our own refusals travel through the validation library.
OURS = "coilwright"


class RefusalError(Exception):
    """A value cannot be used. ``message``: found and expected; ``hint``: the way out; ``key``: an inner key."""

    def __init__(self, message: str, hint: str, key: str = "") -> None:
        self.message, self.hint, self.key = message, hint, key
        super().__init__(message)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that was probably meant, or None."""
    words = list(known)
    folded = {w.lower(): w for w in words}
    if word.lower() in folded:
        return folded[word.lower()]
    close = difflib.get_close_matches(word.lower(), folded, n=1, cutoff=0.6)
    return folded[close[0]] if close else None


def one_of(words: Iterable[str]) -> str:
    """Return words as a choice: ``a, b or c``."""
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


class Field:
    """Base of the kinds of field: `read` returns the value or raises `RefusalError`, `json` its JSON Schema."""

    def read(self, found: object) -> Any:
        """Return the value that was found, converted."""
        raise RefusalError(f"found {quote(found)}", "")

    def json(self) -> dict[str, Any]:
        """Return the JSON Schema of the field."""
        return {}

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._run)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return self.json()

    def _run(self, found: object) -> Any:
        try:
            return self.read(found)
        except UnitError as error:
            context = {"message": error.message, "hint": error.hint, "key": ""}
        except RefusalError as error:
            context = {"message": error.message, "hint": error.hint, "key": error.key}
        raise PydanticCustomError(OURS, "{message}", context)


@dataclass(frozen=True)
class Unit(Field):
    """A number with its unit, and perhaps an uncertainty: ``"2.08 kV ± 2 %"``."""

    dimension: str
    sign: Sign = "positive"
    largest: float | None = None
    smallest: float | None = None
    example: str | None = None  # of a size that fits the key; None: the dimension's own

    def read(self, found: object) -> Quantity:
        value, tolerance = parse_with_tolerance(found, self.dimension, self.sign, self.example)
        if self.largest is not None and value > self.largest:
            raise RefusalError(f"found {quote(found)}, expected {self._range()}", "Check the number and the prefix.")
        if self.smallest is not None and value < self.smallest:
            raise RefusalError(f"found {quote(found)}, expected {self._range()}", "Check the number and the prefix.")
        return Quantity(value, tolerance, str(found))

    def _range(self) -> str:
        phrase = find_dimension(self.dimension).phrase
        low = f" from {show(self.smallest, self.dimension, trim=True)}" if self.smallest is not None else ""
        high = f" up to {show(self.largest, self.dimension, trim=True)}" if self.largest is not None else ""
        return f"{phrase}{low}{high}"

    def json(self) -> dict[str, Any]:
        dim = find_dimension(self.dimension)
        number = r"[-+\u2212]?[0-9./ ½¼¾⅛⅜⅝⅞]+([eE][-+]?[0-9]{1,3})?"
        units = "|".join(_pattern(u) for u in sorted(dim.units, key=len, reverse=True))
        return {
            "type": "string",
            "pattern": rf"^\s*{number}\s*({units})\s*((±|\+-|\+/-).+)?$",
            "description": f"{dim.phrase} with its unit",
            "examples": [self.example or dim.example],
        }


def _pattern(unit: str) -> str:
    """Return a pattern for every way in which a unit may be written."""
    pattern = re.escape(unit)
    for plain, ways in (("ohm", "(ohm|[Ω\u2126])"), ("deg", "(deg|°)"), ("2", "[2²]"), ("awg", "(awg|AWG)")):
        pattern = pattern.replace(plain, ways)
    return "[uµμ]" + pattern[1:] if pattern.startswith("u") else pattern.replace("/us", "/[uµμ]s")


@dataclass(frozen=True)
class Stamped:
    """A quantity read off an instrument on a day: ``{ value = "0.82 ohm", instrument = "meter", date = ... }``."""

    quantity: Quantity
    instrument: str | None = None
    date: dt.date | None = None
    by: str | None = None


@dataclass(frozen=True)
class Measurable(Unit):
    """A number with its unit, or a table that also names the instrument and the day."""

    def read(self, found: object) -> Stamped:  # type: ignore[override]
        if not isinstance(found, dict):
            return Stamped(super().read(found))
        known = ("value", "instrument", "date", "by")
        for key in found:
            if key not in known:
                raise unknown_key(key, known)
        if "value" not in found:
            example = self.example or find_dimension(self.dimension).example
            raise RefusalError("the key value is missing", f'Add value = "{example}".')
        return Stamped(
            super().read(found["value"]),
            None if "instrument" not in found else Text(80).read(found["instrument"]),
            None if "date" not in found else Day().read(found["date"]),
            None if "by" not in found else Text(80).read(found["by"]),
        )

    def json(self) -> dict[str, Any]:
        plain = super().json()
        table = {
            "type": "object",
            "properties": {"value": plain, "instrument": Text(80).json(), "date": Day().json(), "by": Text(80).json()},
            "required": ["value"],
            "additionalProperties": False,
        }
        return {"anyOf": [plain, table], "description": plain["description"], "examples": plain["examples"]}


@dataclass(frozen=True)
class Rated(Field):
    """A rated voltage with its kind, ``"450 V AC"``; read as (Quantity, "AC" | "DC" | None)."""

    def read(self, found: object) -> tuple[Quantity, str | None]:
        value, kind = parse_rated(found)
        return Quantity(value, None, str(found)), kind

    def json(self) -> dict[str, Any]:
        return {
            "type": "string",
            "pattern": r"^\s*[0-9.]+\s*k?V\s*(AC|DC|ac|dc)?\s*$",
            "description": "a rated voltage, AC or DC",
            "examples": ["450 V AC"],
        }


@dataclass(frozen=True)
class Fraction(Field):
    """A share, written as a pure number or in per cent."""

    most: float = 1.0

    def read(self, found: object) -> Quantity:
        if isinstance(found, str):
            value, tolerance = parse_with_tolerance(found, "ratio", "zero")
        else:
            value, tolerance = Number(0, self.most).read(found), None
        if value > self.most:
            raise RefusalError(f"found {quote(found)}, expected at most {self.most:.0%}", 'Write it as "60 %" or 0.6.')
        return Quantity(value, tolerance, quote(found))

    def json(self) -> dict[str, Any]:
        return {
            "anyOf": [
                {"type": "number", "minimum": 0, "maximum": self.most},
                {"type": "string", "pattern": r"^.+%.*$"},
            ],
            "description": "a share",
            "examples": ["60 %", 0.6],
        }


@dataclass(frozen=True)
class Number(Field):
    """A pure number within bounds."""

    least: float = 0.0
    most: float = 1e6
    above: bool = False

    def read(self, found: object) -> float:
        if isinstance(found, bool) or not isinstance(found, (int, float)):
            raise RefusalError(
                f"found {quote(found)}, expected a pure number", "Write it without quotes and without a unit."
            )
        low = found > self.least if self.above else found >= self.least
        if not (low and found <= self.most):
            least = f"above {self.least:g}" if self.above else f"from {self.least:g}"
            raise RefusalError(
                f"found {quote(found)}, expected a number {least} to {self.most:g}", "Correct the number."
            )
        return float(found)

    def json(self) -> dict[str, Any]:
        return {"type": "number", "exclusiveMinimum" if self.above else "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class Whole(Field):
    """A whole number within bounds."""

    least: int = 1
    most: int = 10_000

    def read(self, found: object) -> int:
        if isinstance(found, bool) or not isinstance(found, int) or not self.least <= found <= self.most:
            raise RefusalError(
                f"found {quote(found)}, expected a whole number from {self.least} to {self.most}",
                "Write it without quotes, a point or a unit.",
            )
        return found

    def json(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class Flag(Field):
    """true or false."""

    def read(self, found: object) -> bool:
        if not isinstance(found, bool):
            raise RefusalError(f"found {quote(found)}, expected true or false", "Write true or false, without quotes.")
        return found

    def json(self) -> dict[str, Any]:
        return {"type": "boolean"}


@dataclass(frozen=True)
class Text(Field):
    """Free words of limited length."""

    longest: int = 4000

    def read(self, found: object) -> str:
        if not isinstance(found, str):
            raise RefusalError(f"found {quote(found)}, expected text", "Write it in quotes.")
        if not found.strip() and self.longest < 1000:
            raise RefusalError(f"found {quote(found)}, expected a word", "Write at least one letter.")
        if len(found) > self.longest:
            raise RefusalError(f"found {len(found)} characters, expected at most {self.longest}", "Shorten it.")
        return found

    def json(self) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest, "minLength": 1 if self.longest < 1000 else 0}


@dataclass(frozen=True)
class Ident(Field):
    """The id of a part: a letter or digit, then letters, digits, _ and -; terminals are written ID.terminal."""

    def read(self, found: object) -> str:
        hint = 'Write letters and digits, for example "T1"; no space and no point.'
        if not isinstance(found, str) or not re.fullmatch(r"[^\W_][\w-]{0,31}", found):
            raise RefusalError(f"found {quote(found)}, expected an id", hint)
        if found == "mains":
            raise RefusalError('found "mains", which is the name of the supply terminals', hint)
        return found

    def json(self) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^[A-Za-z0-9\u00c0-\uffff][\w-]{0,31}$", "examples": ["T1"]}


@dataclass(frozen=True)
class Day(Field):
    """A date, written without quotes: 2026-03-01."""

    def read(self, found: object) -> dt.date:
        if isinstance(found, dt.datetime):
            return found.date()
        if not isinstance(found, dt.date):
            raise RefusalError(f"found {quote(found)}, expected a date", "Write it without quotes: 2026-03-01.")
        return found

    def json(self) -> dict[str, Any]:
        return {"type": "string", "format": "date", "description": "a date without quotes: 2026-03-01"}


class Choice(Field):
    """One of a few words. ``elsewhere`` says of a word that does not belong here where it does."""

    def __init__(self, *words: str, elsewhere: Mapping[str, str] | None = None) -> None:
        self.words = words
        self.elsewhere = elsewhere or {}

    def read(self, found: object) -> str:
        if isinstance(found, str) and found in self.words:
            return found
        near = nearest(found, self.words) if isinstance(found, str) else None
        hint = f'Did you mean "{near}"?' if near else f'Write for example "{self.words[0]}".'
        hint = self.elsewhere.get(found, hint) if isinstance(found, str) else hint
        raise RefusalError(f"found {quote(found)}, expected {one_of(self.words)}", hint)

    def json(self) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}


class Pair(Field):
    """A list of exactly two values of one kind."""

    def __init__(self, item: Field, example: str) -> None:
        self.item, self.example = item, example

    def read(self, found: object) -> tuple[Any, Any]:
        if not isinstance(found, list) or len(found) != 2:
            raise RefusalError(f"found {quote(found)}, expected a list of two", f"Write it as {self.example}.")
        return self.item.read(found[0]), self.item.read(found[1])

    def json(self) -> dict[str, Any]:
        return {"type": "array", "items": self.item.json(), "minItems": 2, "maxItems": 2}


@dataclass(frozen=True)
class Breaker(Field):
    """``"B16"`` or ``"15 A"``; read as (rated current, curve or None)."""

    def read(self, found: object) -> tuple[float, str | None]:
        return parse_breaker(found)

    def json(self) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^\s*([BCD]\s*[0-9.]+|[0-9.]+)(\s*A)?\s*$", "examples": ["B16", "15 A"]}


@dataclass(frozen=True)
class Accuracy(Field):
    """``"1 % + 30 mV"``; read as (fraction of the reading, fixed part)."""

    dimension: str

    def read(self, found: object) -> tuple[float, float]:
        return parse_accuracy(found, self.dimension)

    def json(self) -> dict[str, Any]:
        return {"type": "string", "examples": ["1 %", f"1 % + {find_dimension(self.dimension).accuracy_example}"]}


@dataclass(frozen=True)
class Fuse(Field):
    """A fuse: amperes and, where known, its characteristic: ``"6.3 A T"``."""

    def read(self, found: object) -> str:
        match = re.fullmatch(r"\s*(.*?A)\s*(FF|F|M|T|TT|gG|gM|aM)?\s*", found) if isinstance(found, str) else None
        if match is None:
            raise RefusalError(
                f"found {quote(found)}, expected a fuse", 'Write it as "6.3 A T": amperes, then FF, F, M, T, TT or gG.'
            )
        parse_with_tolerance(match[1], "current", "positive")
        return str(found)

    def json(self) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^\s*[0-9./ ]+m?A\s*(FF|F|M|T|TT|gG|gM|aM)?\s*$", "examples": ["6.3 A T"]}


class Either(Field):
    """A word with a meaning of its own (read as None), or a value of another kind."""

    def __init__(self, word: str, other: Field) -> None:
        self.word, self.other = word, other

    def read(self, found: object) -> Any:
        if found == self.word:
            return None
        try:
            return self.other.read(found)
        except (UnitError, RefusalError) as error:
            raise RefusalError(f'{error.message}, or "{self.word}"', error.hint) from error

    def json(self) -> dict[str, Any]:
        return {"anyOf": [{"const": self.word}, self.other.json()]}


def unknown_key(key: str, known: Iterable[str]) -> RefusalError:
    """Return the refusal of a key that does not exist, with the nearest known one."""
    words = sorted(known)
    near = nearest(key, words)
    hint = f"Did you mean {near}?" if near else f"Known keys here: {', '.join(words)}."
    return RefusalError(f"the key {quote(key, 30)[1:-1]} is not known", hint, key)


# the kinds that the sections share
Voltage = Annotated[Quantity, Unit("voltage")]
Current = Annotated[Quantity, Unit("current")]
Power = Annotated[Quantity, Unit("power")]
PowerOrZero = Annotated[Quantity, Unit("power", "zero")]
Length = Annotated[Quantity, Unit("length")]
AnyLength = Annotated[Quantity, Unit("length", "any")]
WireDiameter = Annotated[Quantity, Unit("wire diameter")]
Words = Annotated[str, Text()]
Name = Annotated[str, Text(120)]
Id = Annotated[str, Ident()]
Date = Annotated[dt.date, Day()]
YesNo = Annotated[bool, Flag()]
Count = Annotated[int, Whole(1, 10_000)]
Year = Annotated[int, Whole(1880, 2100)]
Price = Annotated[float, Number(0, 1e9)]
KnownResistance = Annotated[Stamped, Measurable("resistance")]
KnownCapacitance = Annotated[Stamped, Measurable("capacitance")]
KnownLength = Annotated[Stamped, Measurable("length")]
KnownMass = Annotated[Stamped, Measurable("mass")]
KnownArea = Annotated[Stamped, Measurable("area")]
KnownVoltage = Annotated[Stamped, Measurable("voltage")]
