"""Questions of `ask` about tank, gap, string, plates and filter: their options, what they need, and who answers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import click

from coilwright.errors import Problem

if TYPE_CHECKING:
    from coilwright.analyses.quick_tank_results import TankAnswered

FORMS = ("sphere", "rod", "tube", "plate", "point")
SHEETS = ("flat", "rolled", "cylinder")

#: (needed, besides) by question.
QUESTIONS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "tank": (("voltage", "current"), ("gap_voltage", "capacitance", "mains", "frequency")),
    "gap": (
        ("form",),
        (
            "diameter",
            "spacing",
            "voltage",
            "segments",
            "earthed_end",
            "temperature",
            "pressure",
            "altitude",
            "humidity",
        ),
    ),
    "string": (("capacitance", "rated", "voltage"), ("want", "count", "dielectric", "frequency")),
    "plates": (("dielectric", "voltage"), ("thickness", "form", "area", "count", "want", "frequency")),
    "filter": (("voltage", "current"), ("capacitance", "mains", "frequency")),
}
#: What each option that bears a unit is: dimension and what it may be.
DIMENSIONS = {
    "current": ("current", "positive"),
    "gap_voltage": ("voltage", "positive"),
    "diameter": ("length", "positive"),
    "spacing": ("length", "positive"),
    "temperature": ("temperature", "any"),
    "pressure": ("pressure", "positive"),
    "altitude": ("length", "any"),
    "humidity": ("ratio", "zero"),
    "want": ("capacitance", "positive"),
    "thickness": ("length", "positive"),
    "area": ("area", "positive"),
}
#: What a needed option may look like, by question.
EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "tank": {"voltage": '"9.3 kV"', "current": '"72 mA"'},
    "gap": {"form": "rod"},
    "string": {"capacitance": '"0.15 uF"', "rated": '"2 kV DC"', "voltage": '"9 kV"'},
    "plates": {"dielectric": "polyethylene", "voltage": '"9 kV"'},
    "filter": {"voltage": '"9 kV"', "current": '"60 mA"'},
}


def tank_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Return the command with the options of these questions."""
    options = (
        click.option("--current", metavar="A", help="tank, filter: short-circuit current of the supply."),
        click.option("--gap-voltage", metavar="V", help="tank: peak at which the gap fires (default: the crest)."),
        click.option(
            "--form",
            type=click.Choice([*FORMS, *SHEETS]),
            help=f"gap: {', '.join(FORMS)}; plates: {', '.join(SHEETS)}.",
        ),
        click.option("--diameter", metavar="L", help="gap: of the electrodes."),
        click.option("--spacing", metavar="L", help="gap: of each segment; instead of --voltage."),
        click.option("--segments", metavar="N", type=click.IntRange(1, 60), help="gap: in series (default 1)."),
        click.option("--earthed-end", is_flag=True, help="gap: one end is at earth (default: an earthed midpoint)."),
        click.option("--temperature", metavar="T", help='gap: of the air, as in "20 degC".'),
        click.option("--pressure", metavar="P", help='gap: of the air, as in "990 hPa".'),
        click.option("--altitude", metavar="L", help="gap: instead of --pressure."),
        click.option("--humidity", metavar="H", help='gap: relative, as in "60 %".'),
        click.option("--rated", metavar="V", help='string: on one unit, as in "2 kV DC" or "450 V AC".'),
        click.option("--want", metavar="C", help="string, plates: capacitance to aim at."),
        click.option("--count", metavar="N", type=click.IntRange(1, 1000), help="string: units; plates: sheets."),
        click.option("--dielectric", metavar="NAME", help='string, plates: as in "polypropylene".'),
        click.option("--thickness", metavar="L", help="plates: of one sheet."),
        click.option("--area", metavar="A", help='plates: of one foil, as in "400 cm2".'),
    )
    for option in reversed(options):
        command = option(command)
    return command


def si(name: str, value: Any) -> Any:
    """Return one option in SI; a rated voltage stays in words, since it says AC or DC.

    Raises
    ------
    UnitError
        Where it is no such quantity.
    """
    from coilwright import units

    if name == "rated":
        if units.parse_rated(value)[1] is None:
            raise units.UnitError(
                f"found {units.quote(value)}, which says neither AC nor DC", 'Write it as on the part: "2 kV DC".'
            )
        return value
    dimension, sign = DIMENSIONS[name]
    return units.parse(value, dimension, sign)  # type: ignore[arg-type]


def problems_of(question: str, o: Mapping[str, Any]) -> Iterator[Problem]:
    """Yield what is wrong in the options taken together."""
    form = o.get("form")
    allowed = {"gap": FORMS, "plates": SHEETS}.get(question, ())
    if form is not None and allowed and form not in allowed:
        yield Problem("--form", None, f'"{form}" is no form of {question}', f"it takes {', '.join(allowed)}")
    if question == "gap" and o.get("spacing") is None and o.get("voltage") is None:
        yield Problem(
            "--spacing, --voltage", None, "`ask gap` needs one of them", 'write --spacing "2 mm" or --voltage "8 kV"'
        )


def _mains(o: Mapping[str, Any]) -> dict[str, float]:
    """Return volts and hertz: 230 V 50 Hz unless given, and 60 Hz where the mains is below 180 V."""
    volts = o.get("mains", 230.0)
    return {"mains_voltage": volts, "frequency": o.get("frequency", 60.0 if volts < 180 else 50.0)}


def _tank(o: Mapping[str, Any]) -> TankAnswered:
    from coilwright.analyses.quick_tank import tank_answer
    from coilwright.cli.progress import progress

    with progress("ask tank") as report:
        return tank_answer(
            o["voltage"],
            o["current"],
            gap_peak=o.get("gap_voltage"),
            capacitance=o.get("capacitance"),
            progress=report,
            **_mains(o),
        )


def _filter(o: Mapping[str, Any]) -> TankAnswered:
    from coilwright.analyses.quick_tank import filter_answer
    from coilwright.cli.progress import progress

    with progress("ask filter") as report:
        return filter_answer(o["voltage"], o["current"], capacitance=o.get("capacitance"), progress=report, **_mains(o))


def _gap(o: Mapping[str, Any]) -> TankAnswered:
    from coilwright.analyses.quick_gap import gap_answer

    air = {name: o.get(name) for name in ("temperature", "pressure", "altitude", "humidity")}
    return gap_answer(
        o["form"],
        o.get("diameter"),
        spacing=o.get("spacing"),
        voltage_peak=o.get("voltage"),
        segments=o.get("segments", 1),
        earthed=o.get("earthed_end", False),
        **air,
    )


def _string(o: Mapping[str, Any]) -> TankAnswered:
    from coilwright import units
    from coilwright.analyses.quick_strings import string_answer

    rated, kind = units.parse_rated(o["rated"])
    return string_answer(
        o["capacitance"],
        rated,
        kind or "DC",
        o["voltage"],
        wanted=o.get("want"),
        count=o.get("count"),
        film=o.get("dielectric", "polypropylene"),
        frequency=o.get("frequency", 50.0),
    )


def _plates(o: Mapping[str, Any]) -> TankAnswered:
    from coilwright.analyses.quick_strings import plates_answer

    return plates_answer(
        o["dielectric"],
        o["voltage"],
        thickness=o.get("thickness"),
        form=o.get("form", "flat"),
        area=o.get("area"),
        count=o.get("count"),
        wanted=o.get("want"),
        frequency=o.get("frequency", 50.0),
    )


ANSWERS: Mapping[str, Callable[[Mapping[str, Any]], TankAnswered]] = {
    "tank": _tank,
    "gap": _gap,
    "string": _string,
    "plates": _plates,
    "filter": _filter,
}

__all__ = ["ANSWERS", "DIMENSIONS", "EXAMPLES", "QUESTIONS", "problems_of", "si", "tank_options"]
