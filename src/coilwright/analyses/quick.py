"""Quick answers without a project file: a small design is made in memory and goes through the stages of a project.

What the asker gives is taken as written; everything else is assumed, so every answer is pencil.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import isfinite, sqrt

from coilwright.analyses.charge import charge_row
from coilwright.analyses.facts_of_supply import site_facts
from coilwright.analyses.limiter import limiter
from coilwright.analyses.limiter_results import LimiterResult, Wanted
from coilwright.analyses.polarity import polarity
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.analyses.quick_results import ChargeAnswer, CorrectionAnswer
from coilwright.errors import InputError, Problem
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Known
from coilwright.model.parts import Choke, Transformer
from coilwright.model.preferred import preferred_below
from coilwright.project.load import read_text
from coilwright.protection.energy import drain_time, people_limits
from coilwright.protection.facts_chain import ChainFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules import chain_tags, collect, site_tags
from coilwright.protection.rules_capacitor import (
    CORRECTION_MARGIN,
    MAINS_TOLERANCE,
    bleeder_tag,
    stored_tag,
)
from coilwright.protection.tag import Tag
from coilwright.supply.build import mains_circuit
from coilwright.supply.operating import correction_capacitance
from coilwright.supply.switching import closing_peak

#: Beyond this a bleeder is no better than the dust beside it [ohm] (assumption).
MOST_OHMS = 100e6
MOST_UNITS = 4


def bleeder_answer(
    capacitance: float,
    voltage: float,
    *,
    series: int = 1,
    at_plug_pins: bool = False,
    fitted: float | None = None,
) -> ChargeAnswer:
    """Return the bleeder of a capacitor on alternating volts.

    Parameters
    ----------
    capacitance
        Of one unit [F].
    voltage
        Across the whole string [V rms]; 10 % more is counted on, as the mains may be high.
    series
        Units in the string.
    at_plug_pins
        The capacitor lies across the pins of a plug.
    fitted
        The bleeder on each unit [ohm], where there is one.
    """
    peak = sqrt(2) * MAINS_TOLERANCE * voltage
    notes = ["Counted at 10 % above the volts given, at the crest (EN 50160, from memory)."]
    return _charged(capacitance, peak, series, fitted, notes, at_plug_pins=at_plug_pins, alternating=True)


def charge_answer(
    capacitance: float, voltage_peak: float, *, series: int = 1, fitted: float | None = None
) -> ChargeAnswer:
    """Return what a capacitor holds against the limits for people, and how long a bleeder takes.

    ``capacitance`` is of one unit [F], ``voltage_peak`` across the whole string [V], ``fitted`` on each unit [ohm].
    """
    return _charged(capacitance, voltage_peak, series, fitted, [], at_plug_pins=False, alternating=False)


def _charged(
    capacitance: float,
    peak: float,
    series: int,
    fitted: float | None,
    notes: list[str],
    *,
    at_plug_pins: bool,
    alternating: bool,
) -> ChargeAnswer:
    where, share = "each unit" if series > 1 else "capacitor", peak / series
    row = charge_row(
        where, capacitance, share, fitted=fitted, at_plug_pins=at_plug_pins, alternating=alternating, units=series
    )
    preferred = None if row.largest is None else preferred_below(min(row.largest, MOST_OHMS))
    counted = fitted if fitted is not None else preferred
    drain = None if counted is None or row.residual is None else drain_time(capacitance, counted, share, row.residual)
    squared = share**2 / 2 if alternating else share**2
    tags: list[Tag] = [*stored_tag("whole string" if series > 1 else "capacitor", capacitance / series, peak)]
    if fitted is not None or row.largest is not None:
        tags += bleeder_tag(where, capacitance, fitted, share, at_plug_pins=at_plug_pins)
    if series > 1:
        tags.append(raise_tag("string-zero-is-not-dead", "string", value=f"{series} in series"))
        notes.append("A bleeder on every unit, each as given here; the volts are taken as shared equally.")
    if row.largest is None:
        notes.append("No bleeder is asked for at these volts; drain and short it before a hand goes in all the same.")
    elif fitted is None:
        notes.append("The time is that of the preferred value, once it is fitted; without it the charge stays.")
    notes.append("A bleeder fails open unseen: it never replaces draining through the stick and the shorting lead.")
    return ChargeAnswer(
        row,
        peak,
        series,
        preferred,
        drain,
        None if counted is None else squared / counted,
        people_limits(capacitance / series, peak),
        standing_tags(tags),
        tuple(notes),
    )


def correction_answer(
    reactive_power: float, mains_voltage: float, frequency: float, *, at_plug_pins: bool = False
) -> CorrectionAnswer:
    """Return the capacitor that makes up so many var on this mains, its bleeder, and what it does when switched on."""
    design = quick_design(mains_voltage, frequency)
    mains = mains_circuit(design.site)
    farads = correction_capacitance(reactive_power, mains_voltage, frequency)
    bleeder = bleeder_answer(farads, mains_voltage, at_plug_pins=at_plug_pins)
    crest = sqrt(2) * mains_voltage
    return CorrectionAnswer(
        reactive_power,
        mains_voltage,
        frequency,
        farads,
        reactive_power / mains_voltage,
        CORRECTION_MARGIN * MAINS_TOLERANCE * mains_voltage,
        closing_peak(crest, farads, mains.inductance, mains.resistance),
        bleeder,
        bleeder.tags,
        (
            "Run type, rated AC, on the mains side of every ballast; behind one it makes the output climb.",
            "Breaker, plug and cable are sized for the current without it; idle it draws leading current.",
        ),
    )


def limiter_answer(
    wanted: Wanted,
    *,
    units: int = 2,
    plate_power: float = 1000.0,
    ratio: float | None = None,
    ballast: float | None = None,
    mains_voltage: float = 230.0,
    frequency: float = 50.0,
) -> LimiterResult:
    """Return what a lamp or heater shows in front of ``units`` oven units, known by their plates alone.

    ``plate_power`` [W] is of one unit, ``ratio`` its plate volts over the mains, ``ballast`` the rated current of a
    lamp choke in series [A].
    """
    design = oven_design(units, plate_power, ratio, ballast, mains_voltage, frequency)
    result = limiter(design, wanted)
    return replace(result, tags=standing_tags(result.tags, design))


def polarity_answer(
    *,
    units: int = 2,
    ratio: float | None = None,
    drive: float | None = None,
    mains_voltage: float = 230.0,
    frequency: float = 50.0,
) -> PolarityResult:
    """Return the low-voltage sheet of ``units`` oven units of that turns ratio, known by nothing else."""
    design = oven_design(units, 1000.0, ratio, None, mains_voltage, frequency)
    result = polarity(design, drive=drive)
    return replace(result, tags=standing_tags(result.tags, design))


def oven_design(
    units: int, plate_power: float, ratio: float | None, ballast: float | None, mains_voltage: float, frequency: float
) -> Design:
    """Return a design of alike oven units: one from its end to the core, a pair about an earthed midpoint, or more in
    series from an earthed end, cores earthed and ties off.

    Raises
    ------
    InputError
        For more units than a sheet on one screen can hold.
    """
    if not 1 <= units <= MOST_UNITS:
        message = f"found {units} units; a quick answer is for 1 to {MOST_UNITS}"
        raise InputError([Problem("--units", None, message, "write a project file for more")])
    names = [f"T{k}" for k in range(1, units + 1)]
    tied = units <= 2
    turns = ratio if ratio is not None else 2100.0 / 230.0
    parts = tuple(_oven(n, plate_power, turns, mains_voltage, frequency, tied=tied) for n in names)
    chokes = () if ballast is None else (Choke("B1", current=Known(ballast)),)
    made = _arrangement(names, tied=tied, ballast=ballast is not None)
    return replace(quick_design(mains_voltage, frequency), transformers=parts, chokes=chokes, arrangements=(made,))


def _oven(name: str, power: float, turns: float, mains: float, frequency: float, *, tied: bool) -> Transformer:
    return Transformer(
        name,
        "oven",
        plate_primary=Known(mains),
        plate_secondary=Known(turns * mains),
        plate_power=Known(power),
        plate_frequency=Known(frequency, "pencil"),
        core_end=Known("finish" if tied else "none", "pencil"),
    )


def _arrangement(names: Sequence[str], *, tied: bool, ballast: bool) -> Arrangement:
    """Return the wiring; a tied unit after the first has its primary the other way round, which makes a pair."""
    joints: dict[str, tuple[str, ...]] = {
        "live": ("mains.line", "B1.a") if ballast else ("mains.line",),
        "return": ("mains.neutral",),
        "ground": ("mains.earth", *(f"{n}.core" for n in names)),
    }
    feed = "fed" if ballast else "live"
    if ballast:
        joints["fed"] = ("B1.b",)
    for k, n in enumerate(names):
        start, finish = (feed, "return") if not (tied and k) else ("return", feed)
        joints[start] = (*joints[start], f"{n}.primary_start")
        joints[finish] = (*joints[finish], f"{n}.primary_finish")
    if tied:
        hot = [f"hot_{'ab'[k]}" for k in range(len(names))]
        joints |= {h: (f"{n}.high_start",) for h, n in zip(hot, names, strict=True)}
        return Arrangement("quick answer", joints, (hot[0], hot[1] if len(hot) > 1 else "ground"))
    joints["ground"] = (*joints["ground"], f"{names[0]}.high_finish")
    for k, n in enumerate(names, start=1):
        joints[f"step_{k}"] = (f"{n}.high_start", *(f"{m}.high_finish" for m in names[k : k + 1]))
    return Arrangement("quick answer", joints, (f"step_{len(names)}", "ground"))


def quick_design(mains_voltage: float, frequency: float) -> Design:
    """Return an empty project at this mains, with what a project assumes where its file is silent."""
    if not (isfinite(mains_voltage) and isfinite(frequency)):
        raise ValueError(f"mains must be finite: {mains_voltage} V, {frequency} Hz")
    text = (
        f'format = 1\n[project]\nname = "quick answer"\n[site]\nmains = "{mains_voltage:.9g} V"\n'
        f'frequency = "{frequency:.9g} Hz"\n'
    )
    return read_text(text, "quick answer")[0]


def standing_tags(tags: Iterable[Tag], design: Design | None = None) -> tuple[Tag, ...]:
    """Return the tags with those that a project raises at its site whatever the arrangement, the worst first.

    ``design`` None: of a site and a shelf of which nothing is said.
    """
    return collect(tags, site_tags(site_facts(quick_design(230.0, 50.0) if design is None else design)))


def machine_tags(design: Design) -> tuple[Tag, ...]:
    """Return the tags of a set with a gap of which no supply is named: of its site, and of the chain from plug to gap.

    A gap fires on a high voltage, whatever makes it, so what stands beside one stands here too.
    """
    facts = replace(site_facts(design), high_voltage=True, gap=True)
    chain = ChainFacts(gap=True, breaker_current=design.site.breaker.value.rated_current)
    return (*site_tags(facts), *chain_tags(chain))


__all__ = [
    "bleeder_answer",
    "charge_answer",
    "correction_answer",
    "limiter_answer",
    "machine_tags",
    "oven_design",
    "polarity_answer",
    "quick_design",
    "standing_tags",
]
