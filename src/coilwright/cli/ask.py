"""`ask`: one question, a few options, one screen; no file. Nothing but click is imported until it runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import click

from coilwright.cli import ask_tank
from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from coilwright.analyses.quick_results import Answered
    from coilwright.analyses.quick_tank_results import TankAnswered

#: (needed, besides) by question.
QUESTIONS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "bleeder": (("capacitance", "voltage"), ("plug", "series", "bleeder")),
    "limiter": (("power",), ("plate_power", "units", "ratio", "ballast", "mains", "frequency")),
    "correction": (("reactive",), ("mains", "frequency", "plug")),
    "polarity": ((), ("units", "ratio", "drive", "mains", "frequency")),
    "charge": (("capacitance", "voltage"), ("series", "bleeder")),
    **ask_tank.QUESTIONS,
}
#: What each option that bears a unit is: dimension and what it may be.
DIMENSIONS = {
    "capacitance": "capacitance",
    "voltage": "voltage",
    "bleeder": "resistance",
    "plate_power": "power",
    "ballast": "current",
    "mains": "voltage",
    "frequency": "frequency",
    "reactive": "reactive power",
    "drive": "voltage",
}
EXAMPLES = {
    "capacitance": '"60 uF"',
    "voltage": '"230 V"',
    "power": '"1 kW heater"',
    "reactive": '"1000 var"',
}


@click.command(short_help="A quick answer without a file: bleeder, tank, gap and others.")
@click.argument("question", metavar="QUESTION", type=click.Choice(list(QUESTIONS)))
@click.option("--capacitance", metavar="C", help='Of one unit, as in "60 uF"; tank, filter: of the tank.')
@click.option("--voltage", metavar="V", help="Across it, rms; charge: charged to; gap: peak; else open, rms.")
@click.option("--plug", is_flag=True, help="bleeder, correction: it lies across the pins of a plug.")
@click.option("--series", metavar="N", type=click.IntRange(1, 1000), help="bleeder, charge: units in the string.")
@click.option("--bleeder", metavar="R", help="bleeder, charge: the one that is on each unit.")
@click.option("--power", metavar="P", help='limiter: "500 W", "60 W lamp", "1 kW heater".')
@click.option("--plate-power", metavar="P", help='limiter: of one oven unit, as in "1000 VA" (default).')
@click.option("--ballast", metavar="A", help="limiter: a lamp choke of this current in series.")
@click.option("--units", metavar="N", type=click.IntRange(1, 4), help="limiter, polarity: oven units (default 2).")
@click.option("--ratio", metavar="N", type=float, help="limiter, polarity: turns ratio (default 9.13).")
@click.option("--drive", metavar="V", help="polarity: volts of the adapter (default: at most 12 V).")
@click.option("--mains", metavar="V", help="limiter, correction, polarity, tank, filter: default 230 V.")
@click.option("--frequency", metavar="F", help="Of the mains: default 50 Hz, 60 Hz below 180 V.")
@click.option("--reactive", metavar="Q", help='correction: what is to be made up, as in "1000 var".')
@ask_tank.tank_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of tables.")
def ask(question: str, as_json: bool, **given: Any) -> int:
    """Answer one question without a project file, on one screen: bleeder, charge, correction, limiter, polarity, tank,
    gap, string, plates or filter.

    Every answer is pencil: nothing was read, and what is not given is assumed. A project says more.
    """
    from coilwright.cli.common import console, exit_code, write_document

    options = _options(question, given)
    result = ANSWERS[question](options)
    if as_json:
        from coilwright.report.json_ask import ask_document

        write_document(ask_document(question, options, result))
    else:
        from coilwright.report.console_ask import print_answer

        print_answer(console(), question, result)
    return exit_code(result.tags)


def _options(question: str, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was given, in SI; every problem at once.

    Raises
    ------
    InputError
        For an option that is missing, does not belong to the question, or is no such quantity.
    """
    from coilwright import units

    needed, besides = QUESTIONS[question]
    taken = ", ".join(_flag(name) for name in (*needed, *besides))
    problems, found = [], dict[str, Any]()
    for name in needed:
        if given.get(name) is None:
            message = f"`ask {question}` needs it"
            example = ask_tank.EXAMPLES.get(question, EXAMPLES)[name]
            problems.append(Problem(_flag(name), None, message, f"write for example {_flag(name)} {example}"))
    for name, value in given.items():
        if value is None or value is False:
            continue
        if name not in (*needed, *besides):
            problems.append(Problem(_flag(name), None, f"`ask {question}` does not take it", f"it takes {taken}"))
            continue
        try:
            found[name] = _si(name, value)
        except units.UnitError as error:
            problems.append(Problem(_flag(name), None, error.message, error.hint))
    problems += ask_tank.problems_of(question, given)
    ratio = found.get("ratio")
    if ratio is not None and not 0.01 <= ratio <= 1000:
        hint = "write high turns over primary turns, about 9 for an oven unit"
        problems.append(Problem("--ratio", None, f"found {ratio:g}, expected 0.01 to 1000", hint))
    if problems:
        raise InputError(problems)
    return found


def _si(name: str, value: Any) -> Any:
    from coilwright import units

    if name in ask_tank.DIMENSIONS or name == "rated":
        return ask_tank.si(name, value)
    if name not in DIMENSIONS:
        return value
    if name == "plate_power":  # a plate says watts or volt-amperes; a quick answer takes them as one
        try:
            return units.parse(value, "power", "positive")
        except units.UnitError:
            return units.parse(value, "apparent power", "positive")
    return units.parse(value, DIMENSIONS[name], "positive")


def _flag(name: str) -> str:
    return "--" + name.replace("_", "-")


def _mains(options: Mapping[str, Any]) -> dict[str, float]:
    """Return volts and hertz: 230 V 50 Hz unless given, and 60 Hz where the mains is below 180 V."""
    volts = options.get("mains", 230.0)
    return {"mains_voltage": volts, "frequency": options.get("frequency", 60.0 if volts < 180 else 50.0)}


def _bleeder(o: Mapping[str, Any]) -> Answered:
    from coilwright.analyses.quick import bleeder_answer

    return bleeder_answer(
        o["capacitance"],
        o["voltage"],
        series=o.get("series", 1),
        at_plug_pins=o.get("plug", False),
        fitted=o.get("bleeder"),
    )


def _charge(o: Mapping[str, Any]) -> Answered:
    from coilwright.analyses.quick import charge_answer

    return charge_answer(o["capacitance"], o["voltage"], series=o.get("series", 1), fitted=o.get("bleeder"))


def _correction(o: Mapping[str, Any]) -> Answered:
    from coilwright.analyses.quick import correction_answer

    return correction_answer(o["reactive"], **_mains(o), at_plug_pins=o.get("plug", False))


def _limiter(o: Mapping[str, Any]) -> Answered:
    from coilwright.analyses.quick import limiter_answer
    from coilwright.cli.stages import wanted_limiter

    wanted = wanted_limiter(o["power"], "--power")
    if wanted is None:
        raise InputError([Problem("--power", None, 'found "none"', "name a lamp or a heater by its watts")])
    return limiter_answer(
        wanted,
        units=o.get("units", 2),
        plate_power=o.get("plate_power", 1000.0),
        ratio=o.get("ratio"),
        ballast=o.get("ballast"),
        **_mains(o),
    )


def _polarity(o: Mapping[str, Any]) -> Answered:
    from coilwright.analyses.quick import polarity_answer

    return polarity_answer(units=o.get("units", 2), ratio=o.get("ratio"), drive=o.get("drive"), **_mains(o))


ANSWERS: Mapping[str, Callable[[Mapping[str, Any]], Answered | TankAnswered]] = {
    "bleeder": _bleeder,
    "charge": _charge,
    "correction": _correction,
    "limiter": _limiter,
    "polarity": _polarity,
    **ask_tank.ANSWERS,
}
