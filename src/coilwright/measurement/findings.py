"""Small records of this package, and how a number is worded in its messages."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite, log10

from coilwright.model.known import Mark

#: Strongest first.
GRADES = ("STOP", "CAUTION", "NOTE")


@dataclass(frozen=True)
class Finding:
    """What a check found about one reading or plate value. ``where`` is its key path in the project file."""

    code: str
    grade: str
    where: str
    message: str
    hint: str = ""


@dataclass(frozen=True)
class MarkSource:
    """What a value rests on, in a few words, and its mark."""

    mark: Mark
    basis: str


_PREFIXES = {-4: "p", -3: "n", -2: "u", -1: "m", 0: "", 1: "k", 2: "M", 3: "G"}


def say(value: float, unit: str, digits: int = 3) -> str:
    """Return a number in words: three significant digits and a prefix where it helps.

    >>> say(0.0497, "A"), say(8300.0, "V"), say(86.4, "VA"), say(0.0, "W")
    ('49.7 mA', '8.30 kV', '86.4 VA', '0 W')
    """
    if value == 0 or not isfinite(value):
        return f"{value:.0f} {unit}".strip()
    step = 0 if unit in {"%", ""} or (unit == "ohm" and abs(value) < 1) else floor(log10(abs(value) * (1 + 1e-12)) / 3)
    step = max(-4, min(3, step))
    scaled = value / 1000.0**step
    places = max(0, digits - 1 - floor(log10(abs(scaled))))
    return f"{scaled:.{places}f} {_PREFIXES[step]}{unit}".strip()


def worst_grade(findings: tuple[Finding, ...]) -> str | None:
    """Return the strongest grade among the findings, None where there is none."""
    return min((f.grade for f in findings), key=GRADES.index, default=None)
