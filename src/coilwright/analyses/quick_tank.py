"""Quick answers about the tank of a supply and its filter: a sign transformer of the plate's figures is made in memory
and goes through the functions of the supply and tank stages.

What the asker gives is taken as written; everything else is assumed, so every answer is pencil.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import hypot, log, sqrt

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.facts_of_capacitors import tank_facts
from coilwright.analyses.facts_of_chain import chain_facts
from coilwright.analyses.quick import quick_design, standing_tags
from coilwright.analyses.quick_gap import named, setting_problems
from coilwright.analyses.quick_tank_results import FilterAnswer, TankAnswer
from coilwright.analyses.results import GapMissingPoint, ShelfResult, SupplyResult
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.stress import limits_of
from coilwright.analyses.supply import supply as solve
from coilwright.analyses.tank_context import supply_side
from coilwright.analyses.tank_gap import gap_result
from coilwright.analyses.tank_protection import protection_result
from coilwright.analyses.tank_results import ProtectionResult, SizeResult
from coilwright.analyses.tank_size import STATIC_FACTOR, size_result
from coilwright.analyses.tank_wear import room_result, running_tags
from coilwright.analyses.topology import wired_with
from coilwright.analyses.uncertainty import gap_missing_spread
from coilwright.errors import InputError, Problem
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Estimate, Known
from coilwright.model.machine import Gap, Tank
from coilwright.model.parts import Transformer
from coilwright.project.checks_tank import LEAST_TANK
from coilwright.protection.energy import people_limits
from coilwright.protection.rules import chain_tags, tank_tags
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, farads, volts_peak, volts_rms
from coilwright.supply.build import mains_circuit
from coilwright.supply.gap_missing import resonant_capacitance

Progress = Callable[[float, str], None]

#: Open volts and short-circuit amperes of a supply that a quick answer is for [V rms, A].
VOLTS, AMPERES = (1e3, 30e3), (1e-3, 3.0)
#: More is no tank of such a supply [F] (our rule).
MOST_TANK = 10e-6
SIGN = "S1"
USUAL = f"no tank is given and none holds: {STATIC_FACTOR:g} x the mains-resonant value is usual (no source)"


def tank_answer(
    voltage: float,
    current: float,
    *,
    gap_peak: float | None = None,
    capacitance: float | None = None,
    mains_voltage: float = 230.0,
    frequency: float = 50.0,
    progress: Progress | None = None,
) -> TankAnswer:
    """Return the size of the tank on a sign transformer whose plate says these volts [V rms] and amperes.

    Parameters
    ----------
    gap_peak
        What the gap fires at [V peak across]; None: the crest of the open volts.
    capacitance
        The tank [F]; None: the one advised.
    progress
        Called with a fraction 0..1 and what is being done; the scan with the gap missing takes some seconds.

    Raises
    ------
    InputError
        If a figure is outside what a quick answer is for.
    SolverError
        If the supply has no converged answer.
    """
    return _asked(voltage, current, gap_peak, capacitance, mains_voltage, frequency, progress)[0]


def filter_answer(
    voltage: float,
    current: float,
    *,
    capacitance: float | None = None,
    mains_voltage: float = 230.0,
    frequency: float = 50.0,
    progress: Progress | None = None,
) -> FilterAnswer:
    """Return the filter of each leg of that supply; parameters and errors as ``tank_answer``."""
    of, protection = _asked(voltage, current, None, capacitance, mains_voltage, frequency, progress)
    return FilterAnswer(of, protection.filter, of.tags, of.notes)


def sign_design(voltage: float, current: float, mains_voltage: float, frequency: float) -> Design:
    """Return a design of one sign transformer known by its plate alone, its core earthed, its ends the output.

    Raises
    ------
    InputError
        If volts or amperes are outside what a quick answer is for.
    """
    problems = [
        Problem(where, None, f"found {words(value)}; a quick answer is for {words(low)} to {words(high)}",
                "write a project file for others")
        for where, value, (low, high), words in (
            ("--voltage", voltage, VOLTS, volts_rms),
            ("--current", current, AMPERES, amperes),
        )
        if not low <= value <= high
    ]  # fmt: skip
    if problems:
        raise InputError(problems)
    unit = Transformer(
        SIGN,
        "sign",
        plate_primary=Known(mains_voltage, "pencil"),
        plate_secondary=Known(voltage, "pencil"),
        plate_current=Known(current, "pencil"),
        plate_frequency=Known(frequency, "pencil"),
        secondary_protection="unknown",
    )
    joints = {
        "live": ("mains.line", f"{SIGN}.primary_start"),
        "return": ("mains.neutral", f"{SIGN}.primary_finish"),
        "ground": ("mains.earth", f"{SIGN}.core"),
        "hot_a": (f"{SIGN}.high_start",),
        "hot_b": (f"{SIGN}.high_finish",),
    }
    made = Arrangement("quick answer", joints, ("hot_a", "hot_b"))
    return replace(quick_design(mains_voltage, frequency), transformers=(unit,), arrangements=(made,))


def _asked(
    voltage: float,
    current: float,
    gap_peak: float | None,
    capacitance: float | None,
    mains_voltage: float,
    frequency: float,
    progress: Progress | None,
) -> tuple[TankAnswer, ProtectionResult]:
    crest = sqrt(2) * voltage
    problems = [*setting_problems("--gap-voltage", gap_peak)]
    if capacitance is not None and not LEAST_TANK <= capacitance <= MOST_TANK:
        message = f"found {farads(capacitance)}, expected {farads(LEAST_TANK)} to {farads(MOST_TANK)}"
        problems.append(Problem("--capacitance", None, message, "a tank is some nanofarads: check the prefix"))
    if problems:
        raise InputError(problems)
    bare = sign_design(voltage, current, mains_voltage, frequency)
    design = replace(
        bare,
        gap=Gap("static", voltage=Known(gap_peak if gap_peak is not None else crest, "pencil")),
        tank=None if capacitance is None else Tank(capacitance=Known(capacitance, "pencil")),
    )
    arrangement, shelf = design.arrangements[0], identify(design)
    made = solve(design, shelf=shelf, progress=progress)
    if capacitance is None:
        design, made = _advised(design, made, shelf)
    side = supply_side(design, arrangement, made, shelf)
    with named({"gap.voltage": "--gap-voltage"}):
        gap = gap_result(design, side, side.windings)
    if gap is None:  # the design has one
        raise TypeError("no gap")
    size = size_result(design, side, side.windings, gap.breakdown_peak)
    protection = protection_result(design, side, size, gap, side.windings, made=made, shelf=shelf)
    whole = size.capacitance.value if size.capacitance else 0.0
    peak = side.own_missing.peak if side.own_missing else crest
    answer = TankAnswer(
        voltage,
        current,
        mains_voltage,
        frequency,
        _resonant(voltage, current, frequency, side.open_voltage, side.short_current),
        capacitance is not None,
        side,
        size,
        gap,
        next(iter(protection.bleeders), None),
        protection.safety_gap,
        people_limits(whole, peak),
        standing_tags(_stage_tags(design, arrangement, made, shelf, size), design),
    )
    return replace(answer, notes=(_about_supply(answer), *_about_gap(answer, given=gap_peak is not None))), protection


def _advised(design: Design, made: SupplyResult, shelf: ShelfResult) -> tuple[Design, SupplyResult]:
    """Return design and supply with the tank that the size stage advises, or the point of the scan nearest to the usual
    one where none holds; unchanged where the scan has no solved point.
    """
    arrangement = design.arrangements[0]
    side = supply_side(design, arrangement, made, shelf)
    gap = gap_result(design, side, side.windings)
    size = size_result(design, side, side.windings, gap.breakdown_peak if gap else None)
    missing, usual = made.gap_missing, STATIC_FACTOR * size.resonant_capacitance
    solved = [p for p in (missing.points if missing else ()) if p.exact]
    if missing is None or not solved:
        return replace(design, tank=Tank(capacitance=Known(usual, "pencil", basis=USUAL))), made
    target, basis = (size.advised.value, size.advised.basis) if size.advised else (usual, USUAL)
    point = min(solved, key=lambda p: abs(log(p.capacitance / target)))
    if point.peak_band is None:
        point = _banded(point, design, arrangement, shelf)
    design = replace(design, tank=Tank(capacitance=Known(point.capacitance, "pencil", basis=basis)))
    return design, replace(made, gap_missing=replace(missing, own=point))


def _banded(point: GapMissingPoint, design: Design, arrangement: Arrangement, shelf: ShelfResult) -> GapMissingPoint:
    circuits = circuits_of(arrangement, design, shelf)
    used = wired_with(arrangement, design, circuits).instances
    half = gap_missing_spread(
        arrangement, circuits, mains_circuit(design.site), shelf.parts, used, point.capacitance
    ).get("")
    return point if half is None else replace(point, peak_band=(max(0.0, point.peak - half), point.peak + half))


def _resonant(voltage: float, current: float, frequency: float, opened: Estimate, shorted: Estimate) -> Estimate:
    """Return I / (2 pi f V) of the figures given, with the bands of the volts and amperes solved, in squares."""
    value = resonant_capacitance(voltage, current, frequency)
    spread = hypot(*((e.high - e.low) / 2 / e.value for e in (opened, shorted)))
    return Estimate(value, value * (1 - spread), value * (1 + spread), "pencil", "F", "I / (2 pi f V) of the figures")


def _stage_tags(
    design: Design, arrangement: Arrangement, made: SupplyResult, shelf: ShelfResult, size: SizeResult
) -> Iterable[Tag]:
    """Return every tag that the stages raise in a project: of shelf and supply, of the tank that is counted, which the
    supply may have been solved without, of the chain, and of the gap that runs.

    What the asker did not name is not there: the rating and bleeder of a capacitor, a safety gap, a fuse.
    """
    w = wired_with(arrangement, design, circuits_of(arrangement, design, shelf))
    facts = tank_facts(design, w, made, limits_of(w, design.site.mains_voltage.value))
    return (
        *made.tags,
        *shelf.tags,
        *(tank_tags(facts) if facts else ()),
        *chain_tags(chain_facts(design, made)),
        *running_tags(room_result(design, size)),
    )


def _about_supply(a: TankAnswer) -> str:
    return (
        f"Taken as a sign transformer of {volts_rms(a.voltage)} and {amperes(a.current)} with its own shunts, on "
        f"{volts_rms(a.mains_voltage)} {a.frequency:g} Hz; another supply does otherwise."
    )


def _about_gap(a: TankAnswer, *, given: bool) -> list[str]:
    """Return what is assumed of the gap, whether the supply fires it, and whether any tank holds."""
    gap = a.size.firing_peak
    out = []
    if not given and gap is not None:
        out.append(f"No gap is given: it is taken to fire at the crest, {volts_peak(gap.value)}.")
    told = ("The gap is wider", "It may not fire") if given else ("The gap is wider",)
    out += [w for w in a.gap.words if w.startswith(told)]
    if a.size.advised is None and a.gap.fires:
        out += [w for w in a.size.words if w.startswith("No capacitance of the scan")]
    return out


__all__ = ["filter_answer", "sign_design", "tank_answer"]
