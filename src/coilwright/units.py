"""Numbers with units, as words: the only place that reads and writes them. Everything inside the program is SI.

Reading is strict, because a wrong guess here is a wrong voltage: the case counts (mV is not MV, mA is not "ma"), a
bare number is refused, and so are a decimal comma, NaN, infinity and numbers that no bench has. Every refusal names
what was found, what was expected, and the spelling that was probably meant. Writing takes the engineering prefix that
leaves one to three digits before the point, and never an exponent.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal

from coilwright._dimensions import AWG_MOST, DIMENSIONS, SPELLINGS, Dimension, awg_diameter, dimension
from coilwright._unit_words import show, show_band
from coilwright.errors import CoilwrightError

Sign = Literal["any", "zero", "positive"]

_NUMBER: Final = re.compile(
    r"(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)\s+)?(?:(?P<num>\d+)/(?P<den>\d+)|(?P<dec>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?))"
    r"(?![\d.,/])"
)
_PLUS_MINUS: Final = re.compile(r"±|\+/-|\+-")
_AWG: Final = re.compile(r"(?:(?P<aught>0{1,4}|[1-4]/0)|(?P<gauge>[1-9]\d?))\s*(?:awg|AWG)")
_BREAKER: Final = re.compile(r"(?P<curve>[A-Z])\s*(?P<amperes>\d+(?:\.\d+)?)(?:\s*A)?")
_RATED: Final = re.compile(r"(?P<volts>.*?)\s*(?P<kind>AC|DC|ac|dc)")
_CHARACTERS: Final = str.maketrans(
    {"µ": "u", "μ": "u", "Ω": "ohm", "\u2126": "ohm", "°": "deg", "²": "2", "\u2212": "-", "\u00a0": " ", "\u202f": " "}
)
_PART_OF_ONE: Final = {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_LONGEST: Final = 80


class UnitError(CoilwrightError, ValueError):
    """A text is no quantity of the wanted kind. ``message``: what was found and expected; ``hint``: the way out."""

    def __init__(self, message: str, hint: str) -> None:
        self.message, self.hint = message, hint
        super().__init__(f"{message}. {hint}")


@dataclass(frozen=True)
class Quantity:
    """A number in SI, the absolute half width written beside it (None: none is), and the words it came from."""

    value: float
    tolerance: float | None = None
    text: str = ""


def quote(found: object, limit: int = 48) -> str:
    """Return what was found in the file as a short piece of text for a message."""
    if isinstance(found, bool):
        return "true" if found else "false"
    if isinstance(found, dict):
        return "a table"
    if isinstance(found, (list, tuple)):
        return f"a list of {len(found)}"
    if isinstance(found, str):
        text = "".join(c if c.isprintable() else "?" for c in found[: limit + 1])
        return f'"{text[:limit]}..."' if len(text) > limit else f'"{text}"'
    text = str(found)
    return f"{text[:limit]}..." if len(text) > limit else text


def parse(text: object, dimension_name: str, sign: Sign = "any") -> float:
    """Return the SI value of a text such as ``"4.7 nF"``.

    Parameters
    ----------
    text : object
        What the file holds; anything but a string is refused with the unit that was due.
    dimension_name : str
        A name of the table of dimensions ("voltage", "length" ...) or its SI unit ("V", "m" ...).
    sign : {"any", "zero", "positive"}
        "positive" refuses zero and below, "zero" refuses below zero.

    Raises
    ------
    UnitError
        With what was found, what was expected, and what to write.

    Examples
    --------
    >>> parse("4.7 nF", "capacitance")
    4.7e-09
    >>> parse("3/8 in", "length")
    0.009525
    """
    value, tolerance = parse_with_tolerance(text, dimension_name, sign)
    if tolerance is not None:
        raise UnitError(
            f"found {quote(text)}, expected one value without an uncertainty", "Leave out what follows the ±."
        )
    return value


def parse_with_tolerance(
    text: object, dimension_name: str, sign: Sign = "any", example: str | None = None
) -> tuple[float, float | None]:
    """Return the SI value and the absolute half width of ``"2.08 kV ± 2 %"``; None for the second where none is
    written. ``example`` takes the place of the dimension's own in what is told: one of a fitting size.

    Raises
    ------
    UnitError
        As `parse`; also where a positive quantity has an uncertainty as large as itself.

    Examples
    --------
    >>> parse_with_tolerance("2.08 kV +- 40 V", "voltage")
    (2080.0, 40.0)
    """
    dim = dimension(dimension_name)
    if example is not None:
        dim = replace(dim, example=example)
    cleaned = _clean(text, dim)
    main, *rest = _PLUS_MINUS.split(cleaned)
    if len(rest) > 1:
        raise UnitError(f"found {quote(text)}, expected at most one uncertainty", f'Write it as "{dim.example} ± 2 %".')
    value = _quantity(main.strip(), dim, text)
    _check_range(value, dim, sign, text)
    if not rest:
        return value, None
    tolerance = _tolerance(rest[0].strip(), value, dim, text)
    if sign == "positive" and tolerance >= value:
        raise UnitError(
            f"found {quote(text)}: the uncertainty is as large as the value",
            f"Expected {dim.phrase} with a smaller uncertainty.",
        )
    return value, tolerance


def parse_accuracy(text: object, dimension_name: str) -> tuple[float, float]:
    """Return an instrument's accuracy such as ``"1 % + 30 mV"`` as (fraction of the reading, fixed part in SI).

    Examples
    --------
    >>> parse_accuracy("1 % + 30 mV", "voltage")
    (0.01, 0.03)
    """
    dim = dimension(dimension_name)
    cleaned = _PLUS_MINUS.sub("", _clean(text, dim), count=1).strip()
    relative, absolute = 0.0, 0.0
    terms = [t.strip() for t in cleaned.split("+")]
    example = f'"1 %" or "1 % + {dim.accuracy_example}"'
    if len(terms) > 2:
        raise UnitError(f"found {quote(text)}, expected an accuracy", f"Write it as {example}.")
    for term in terms:
        if re.search(r"digit|count|dgt|lsd", term, re.IGNORECASE):
            raise UnitError(
                f"found {quote(text)}, expected an accuracy in per cent and units",
                f"Digits depend on the range: write what they amount to, as {example}.",
            )
        if term.endswith("%"):
            relative += _quantity(term, DIMENSIONS["ratio"], text)
        else:
            absolute += _difference(term, dim, text)
    if not (0 <= relative < 1 and absolute >= 0) or relative + absolute == 0:
        raise UnitError(
            f"found {quote(text)}, expected an accuracy above zero and below 100 %", f"Write it as {example}."
        )
    return relative, absolute


def parse_rated(text: object) -> tuple[float, str | None]:
    """Return a rated voltage such as ``"450 V AC"`` as (volts, "AC" | "DC" | None where the text does not say)."""
    cleaned = _clean(text, DIMENSIONS["rated voltage"])
    match = _RATED.fullmatch(cleaned)
    volts, kind = (match["volts"], match["kind"].upper()) if match else (cleaned, None)
    value = _quantity(volts, DIMENSIONS["rated voltage"], text)
    _check_range(value, DIMENSIONS["voltage"], "positive", text)
    return value, kind


def parse_breaker(text: object) -> tuple[float, str | None]:
    """Return a breaker such as ``"B16"`` or ``"15 A"`` as (rated amperes, trip curve or None).

    The curves B, C and D are those of IEC 60898-1.
    """
    expected = 'expected a breaker such as "B16" (curve and amperes), or "15 A" where the curve is unknown'
    hint = "Read it off the breaker's front."
    if not isinstance(text, str):
        raise UnitError(f"found {quote(text)}, {expected}", hint)
    match = _BREAKER.fullmatch(text.strip())
    if match and match["curve"] in "BCD":
        amperes, curve = float(match["amperes"]), match["curve"]
    elif match:
        raise UnitError(
            f"found {quote(text)}: curve {match['curve']} is not one of B, C, D (IEC 60898-1)",
            f'Write "{match["amperes"]} A" if it is another kind of breaker or a fuse.',
        )
    elif _BREAKER.fullmatch(text.strip().upper()) and text.strip()[0].isalpha():
        raise UnitError(f"found {quote(text)}, {expected}", f'Did you mean "{text.strip().upper()}"?')
    else:
        try:
            amperes, curve = parse(text, "current", "positive"), None
        except UnitError as error:
            raise UnitError(f"found {quote(text)}, {expected}", error.hint) from error
    if not 0.5 <= amperes <= 1000:
        raise UnitError(f"found {quote(text)}: a breaker of {amperes:g} A is not one that feeds a bench", hint)
    return amperes, curve


def _example(dim: Dimension) -> str:
    return f'Write for example "{dim.example}".'


# ---- the parts of a quantity -----------------------------------------------------------------------------------------


def _clean(text: object, dim: Dimension) -> str:
    if not isinstance(text, str):
        if isinstance(text, (int, float)) and not isinstance(text, bool) and math.isfinite(text):
            raise UnitError(
                f"found the bare number {quote(text)}, expected {dim.phrase} with its unit",
                f"Write it in quotes with its unit, for example {_with_unit(quote(text), dim)}.",
            )
        raise UnitError(f"found {quote(text)}, expected {dim.phrase} with its unit", _example(dim))
    if len(text) > _LONGEST:
        raise UnitError(f"found {len(text)} characters, {quote(text, 20)}, expected {dim.phrase}", _example(dim))
    for vulgar, plain in _PART_OF_ONE.items():
        text = text.replace(vulgar, plain)
    return text.translate(_CHARACTERS).strip()


def _quantity(cleaned: str, dim: Dimension, original: object) -> float:
    """Return the SI value of one number with its unit, offsets (degC) included."""
    if "awg" in dim.units and (awg := _AWG.fullmatch(cleaned)):
        return _awg(awg, original)
    number, unit = _split(cleaned, dim, original)
    factor = _factor(unit, number, dim, original)
    scaled = number * Fraction(factor) + Fraction(dim.offsets.get(unit, "0"))
    return _to_float(scaled, dim, original)


def _difference(cleaned: str, dim: Dimension, original: object) -> float:
    """Return the SI value of a difference of two such quantities: no offset (2 degC of uncertainty are 2 K)."""
    number, unit = _split(cleaned, dim, original)
    return _to_float(number * Fraction(_factor(unit, number, dim, original)), dim, original)


def _to_float(scaled: Fraction, dim: Dimension, original: object) -> float:
    try:
        return float(scaled)
    except OverflowError:
        raise UnitError(f"found {quote(original)}, expected {dim.phrase}", "The number is out of all range.") from None


def _split(cleaned: str, dim: Dimension, original: object) -> tuple[Fraction, str]:
    """Split "4.7 nF" into number and unit."""
    due = _example(dim)
    if re.match(r"[+-]?\s*(nan|inf)", cleaned, re.IGNORECASE):
        raise UnitError(f"found {quote(original)}, expected {dim.phrase}: a finite number with its unit", due)
    match = _NUMBER.match(cleaned)
    if match is None:
        comma = re.match(r"[+-]?\d+(?:,\d+)+", cleaned)
        if comma:
            point, none = cleaned.replace(",", ".", 1), cleaned.replace(",", "")
            either = f'"{point}"' if re.match(r"[+-]?\d+,\d{1,2}\D", cleaned) else f'"{none}" or "{point}"'
            raise UnitError(f"found {quote(original)}: a comma stands in the number", f"Use a decimal point: {either}.")
        raise UnitError(f"found {quote(original)}, expected {dim.phrase}: a number and its unit", due)
    if match["whole"] and not match["num"]:
        raise UnitError(f"found {quote(original)}: two numbers stand in front of the unit", due)
    if match["num"]:
        if int(match["den"]) == 0:
            raise UnitError(f"found {quote(original)}: a division by zero", due)
        number = Fraction(int(match["num"]), int(match["den"])) + int(match["whole"] or 0)
    else:
        number = Fraction(match["dec"])
    return -number if match["sign"] == "-" else number, cleaned[match.end() :].strip()


def _factor(unit: str, number: Fraction, dim: Dimension, original: object) -> str:
    if unit in dim.units and unit != "awg":
        return dim.units[unit]
    shown = f"{float(number):.12g}" if abs(number) < 10**15 else str(original)[:12]
    if not unit:
        raise UnitError(
            f"found {quote(original)}, expected {dim.phrase} with its unit",
            f"Add the unit, for example {_with_unit(shown, dim)}.",
        )
    times = re.match(r"[x\u00d7*]\s*(\d+(?:\.\d+)?)", unit)
    if times:
        whole = _with_unit(f"{float(number) * float(times[1]):.12g}", dim)
        hint = f"Write the whole as one value: {whole} end to end, or the one part's value."
        raise UnitError(f"found {quote(original)}: a product, expected {dim.phrase}", hint)
    near = _near_units(unit, dim)
    hint = "Did you mean " + " or ".join(f'"{shown} {u}"' for u in near) + "?" if near else _example(dim)
    other = next(
        (d for d in DIMENSIONS.values() if unit in d.units and d.name not in {dim.name, "wire diameter"}), None
    )
    if unit == "awg":
        return _refuse_awg(original, dim)
    if other is not None and not near:
        raise UnitError(f"found {quote(original)}, which is {other.phrase}; expected {dim.phrase}", hint)
    raise UnitError(
        f'found {quote(original)}: "{unit[:20]}" is not a unit of {dim.phrase.removeprefix("a ").removeprefix("an ")}',
        hint,
    )


def _with_unit(number: str, dim: Dimension) -> str:
    return f'"{number} {dim.bare}"' if dim.bare else f'"{dim.example}"'


def _refuse_awg(original: object, dim: Dimension) -> str:
    if "awg" in dim.units:
        raise UnitError(
            f"found {quote(original)}: not a gauge of ASTM B258", f"Gauges run from 0000 to {AWG_MOST}, whole numbers."
        )
    raise UnitError(f"found {quote(original)}: a wire gauge; expected {dim.phrase}", _example(dim))


def _near_units(unit: str, dim: Dimension) -> list[str]:
    """Return the spellings that were probably meant: other case first, then trade spellings, then what looks alike."""
    squeezed = unit.replace(" ", "")
    exact = [u for u in dim.units if u.lower() == squeezed.lower()]
    if exact:
        return exact[:2]
    spelled = SPELLINGS.get(squeezed.lower())
    if spelled is not None and spelled in dim.units:
        return [spelled]
    if squeezed in set("pnumkMG") or squeezed == "K":
        base = dim.example.split()[-1].lstrip("pnumkMG") or dim.example.split()[-1]
        return [u for u in (f"{squeezed}{base}", f"{squeezed.lower()}{base}") if u in dim.units][:1]
    if any(squeezed in d.units for d in DIMENSIONS.values()):
        return []
    if not squeezed.isascii() or not squeezed.isalpha():
        return []
    return difflib.get_close_matches(squeezed, dim.units, n=1, cutoff=0.6)


def _awg(match: re.Match[str], original: object) -> float:
    aught = match["aught"]
    if aught:
        zeros = int(aught[0]) if "/" in aught else len(aught)
        return awg_diameter(1 - zeros)
    gauge = int(match["gauge"])
    if gauge > AWG_MOST:
        raise UnitError(f"found {quote(original)}: not a gauge of ASTM B258", f"Gauges run from 0000 to {AWG_MOST}.")
    return awg_diameter(gauge)


def _tolerance(text: str, value: float, dim: Dimension, original: object) -> float:
    if text.endswith("%") and dim.name != "ratio":
        share = _quantity(text, DIMENSIONS["ratio"], original)
        tolerance = share * abs(value)
        if share >= 1:
            raise UnitError(
                f"found {quote(original)}: an uncertainty of 100 % or more", "Write what the reading is good for."
            )
    else:
        tolerance = _difference(text, dim, original)
    if not tolerance > 0:
        raise UnitError(
            f"found {quote(original)}: the uncertainty must be above zero", f'Write it as "{dim.example} ± 2 %".'
        )
    return tolerance


def _check_range(value: float, dim: Dimension, sign: Sign, original: object) -> None:
    found = f"found {quote(original)}"
    if sign == "positive" and value <= 0:
        raise UnitError(f"{found}, expected {dim.phrase} above zero", _example(dim))
    if sign == "zero" and value < 0:
        raise UnitError(f"{found}, expected {dim.phrase} of zero or more", _example(dim))
    if dim.lowest is not None and value < dim.lowest:
        raise UnitError(f"{found}: below absolute zero", _example(dim))
    if abs(value) > dim.largest:
        raise UnitError(
            f"{found}: more than {show(dim.largest, dim.name)}, which no bench has", "Check the number and the prefix."
        )
    if value != 0 and abs(value) < dim.smallest:
        raise UnitError(
            f"{found}: less than {show(dim.smallest, dim.name)}, which no bench can tell", "Check the prefix."
        )


__all__ = [
    "Quantity",
    "Sign",
    "UnitError",
    "parse",
    "parse_accuracy",
    "parse_breaker",
    "parse_rated",
    "parse_with_tolerance",
    "quote",
    "show",
    "show_band",
]
