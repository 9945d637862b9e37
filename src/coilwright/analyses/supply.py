"""The chosen supply: volts, currents, droop, stress, mains, and what happens when the gap misses."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import inf

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.facts_of_supply import supply_tags_of
from coilwright.analyses.marks import OUTPUT_PATHS
from coilwright.analyses.missing_scan import filter_notes, scanned
from coilwright.analyses.polarity import proof_of
from coilwright.analyses.results import (
    Correction,
    GapMissing,
    Inrush,
    JointClearance,
    JointStress,
    OperatingPoint,
    ShelfResult,
    SteadyState,
    SupplyResult,
)
from coilwright.analyses.separating import separating_notes
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.sides import correction_capacitors, low_side
from coilwright.analyses.stress import core_stresses, heats, limits_of, winding_stresses
from coilwright.analyses.topology import Wired, wired_with
from coilwright.analyses.uncertainty import FIGURES, Spread, supply_spread
from coilwright.errors import InputError, ModelRangeError, Problem, SolverError
from coilwright.model.design import Arrangement, Design
from coilwright.protection.breaker import magnetic_band
from coilwright.protection.clearance import WITHSTAND_FACTOR, air_density_ratio, required_spacing
from coilwright.supply.build import build, mains_circuit
from coilwright.supply.characterise import Characteristics, characterise
from coilwright.supply.circuits import CapacitorCircuit, MainsCircuit, PartCircuit
from coilwright.supply.operating import Operating, correction_capacitance
from coilwright.supply.steady import Steady, all_states, rms, solve_network
from coilwright.supply.switching import closing_peak, worst_first_peak

Progress = Callable[[float, str], None]

#: Touch limit, IEC 60335-1 cl. 8.1.4 [V peak]: an earthed core that a winding ends on is not a high joint.
TOUCH_PEAK = 42.4
#: Said beside the numbers, in every medium.
MODEL_LIMITS = (
    "Steady state by harmonic balance with the iron's saturation; no hysteresis, direct current, even harmonics, arcs.",
    "With a firing gap the supply never sits in these states: break rate and power come from the firing simulation.",
    "Switch-on is from zero residual flux; remanence can double the first peak again.",
)


def supply(
    design: Design,
    *,
    arrangement: Arrangement | None = None,
    loads: Sequence[float] = (),
    gap_missing: bool = True,
    shelf: ShelfResult | None = None,
    progress: Progress | None = None,
) -> SupplyResult:
    """Return everything computed of one arrangement.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses.
    loads
        Further load resistances for the droop curve [ohm].
    gap_missing
        Whether to scan the tank with the gap missing (some seconds). Without it that result is None: not known.
    shelf
        The shelf result, if it is at hand already.
    progress
        Called with a fraction 0..1 and what is being done.

    Raises
    ------
    InputError
        If there is no arrangement, or it uses a part that has no circuit.
    SolverError
        If open or short circuit has no converged answer; no number is shown then.
    """
    say = progress or (lambda _fraction, _word: None)
    chosen = arrangement or design.chosen()
    if chosen is None:
        raise InputError([_no_arrangement(design)])
    say(0.0, "fitting the shelf")
    known = shelf or identify(design)
    circuits = circuits_of(chosen, design, known)
    mains = mains_circuit(design.site)
    w = wired_with(chosen, design, circuits)
    corrections = correction_capacitors(w)
    say(0.1, "open, loaded, short-circuited")
    result = characterise(chosen, circuits, mains, corrections, loads)
    say(0.2, "several steady states")
    states = all_states(build(chosen, circuits, mains))
    say(0.25, "uncertainty of the parts")
    spread = supply_spread(
        chosen, circuits, mains, known.parts, w.instances, result.best.load_resistance or 0.0, corrections
    )
    say(0.35, "switch-on")
    inrush = _inrush(w, circuits, mains, corrections, design)
    missing = None
    if gap_missing:
        missing = scanned(w, design, circuits, mains, result, known.parts, lambda f, word: say(0.4 + 0.5 * f, word))
    say(0.95, "stresses and hazards")
    limits = limits_of(w, design.site.mains_voltage.value)
    low = low_side(w)
    values = _headline(result)
    made = SupplyResult(
        name=chosen.name,
        open_circuit=_point(result.open, result.uncorrected["open"].mains_current),
        short_circuit=_point(result.short, result.uncorrected["short"].mains_current),
        best_power=_point(result.best, result.uncorrected["best"].mains_current),
        droop=tuple(_point(o, u) for o, u in zip(result.droop, result.droop_uncorrected, strict=True)),
        states=tuple(_steady_state(s, chosen.output) for s in states if s.settles),
        cores=core_stresses(result, limits),
        windings=winding_stresses(result, limits),
        joints={
            j: JointStress(p.to_earth, p.to_earth_peak, j not in low and p.to_earth_peak > TOUCH_PEAK)
            for j, p in result.joints.items()
        },
        heat=heats(w, result, design.goal.on_time.value if design.goal.on_time else None),
        correction=_correction(circuits, mains, result, corrections),
        inrush=inrush,
        clearances=_clearances(result, design, missing),
        gap_missing=missing,
        mains_current_uncorrected=result.mains_current_uncorrected,
        bands=_bands(values, spread),
        marks={p: spread.output if p in OUTPUT_PATHS else spread.mains for p in values},
        fast_error=_fast_error(result),
        notes=(*MODEL_LIMITS, *filter_notes(design), *separating_notes(w, result)),
    )
    proof = proof_of(design, chosen, known)
    tags = supply_tags_of(design, w, result, made, known, circuits, mains, limits, proof)
    say(1.0, "done")
    return replace(made, tags=tags)


def _headline(result: Characteristics) -> dict[str, float]:
    """Return the figures that carry a band and a mark, by key path."""
    points = {"open_circuit": result.open, "short_circuit": result.short, "best_power": result.best}
    out = {f"{name}.{key}": float(getattr(o, f)) for name, o in points.items() for f, key in FIGURES.items()}
    for name, key in (("open_circuit", "open"), ("short_circuit", "short"), ("best_power", "best")):
        out[f"{name}.mains_current_uncorrected"] = result.uncorrected[key].mains_current
    out["mains_current_uncorrected"] = result.mains_current_uncorrected
    out["correction.idle_current"] = result.open.mains_current
    out["correction.idle_power_factor"] = result.open.power_factor
    return out


def _bands(values: Mapping[str, float], spread: Spread) -> dict[str, tuple[float, float]]:
    """Return the 95 % bands; a power factor ends at one, and what cannot be negative at zero."""
    out = {}
    for path, value in values.items():
        half = spread.half.get(path)
        if half is None:
            continue
        low = value - half if path.endswith(("reactive_power", "power_factor")) else max(0.0, value - half)
        out[path] = (low, min(1.0, value + half) if path.endswith("power_factor") else value + half)
    return out


def _steady_state(s: Steady, output: tuple[str, str]) -> SteadyState:
    across = s.voltage(*output)
    return SteadyState(rms(across), s.peak(across), max(rms(s.current(n)) for n in s.mains_poles))


def _no_arrangement(design: Design) -> Problem:
    names = ", ".join(f'"{a.name}"' for a in design.arrangements)
    if names:
        return Problem(
            "supply.use",
            design.line_of("supply"),
            "no arrangement is chosen",
            f"Write [supply] use = one of {names}, or let `plan --take N` write one.",
        )
    return Problem(
        "arrangement",
        None,
        "the project holds no arrangement",
        "Run `coilwright plan PROJECT`, then `coilwright plan PROJECT --take 1`, or write [[arrangement]] by hand.",
    )


def _point(o: Operating, uncorrected: float) -> OperatingPoint:
    return OperatingPoint(
        o.load_resistance,
        o.voltage,
        o.voltage_peak,
        o.current,
        o.power,
        o.mains_current,
        o.mains_current_peak,
        o.mains_power,
        o.apparent_power,
        o.power_factor,
        o.reactive_power,
        o.mains_harmonics,
        o.residual_current,
        uncorrected,
    )


def _fast_error(result: Characteristics) -> float | None:
    """Return how far the fundamental alone is off in the short current, relative."""
    try:
        fast = solve_network(result.network.with_load(0.0), highest=1, limit=1)
    except SolverError:
        return None
    return rms(fast.current("load")) / result.short.current - 1 if result.short.current else None


def _correction(
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    result: Characteristics,
    corrections: frozenset[str],
) -> Correction:
    fitted = 0.0
    for name in corrections:
        circuit = circuits[name] if name in circuits else circuits[name.rpartition(".")[0]]
        fitted += circuit.capacitance if isinstance(circuit, CapacitorCircuit) else 0.0
    best = result.uncorrected["best"]
    volts = best.apparent_power / best.mains_current if best.mains_current else 1.0
    suggested = correction_capacitance(best.reactive_power, volts, mains.frequency)
    crest = 2**0.5 * volts
    closing = closing_peak(crest, fitted, mains.inductance, mains.resistance) if fitted else None
    return Correction(
        fitted, suggested, result.open.mains_current, result.open.power_factor, result.open.reactive_power < 0, closing
    )


def _inrush(
    w: Wired, circuits: Mapping[str, PartCircuit], mains: MainsCircuit, corrections: frozenset[str], design: Design
) -> Inrush | None:
    """Return the switch-on peak of the open supply without its correction capacitors; None where a time step did not
    converge.
    """
    bare = build(w.arrangement, circuits, mains, without=corrections)
    try:
        peak = worst_first_peak(bare)
        steady = solve_network(bare)
    except SolverError:
        return None
    band = magnetic_band(design.site.breaker.value)
    low, high = band or (None, None)
    return Inrush(
        peak,
        max(steady.peak(steady.current(n)) for n in steady.mains_poles),
        low,
        high,
        None if low is None else peak / 2**0.5 > low,
    )


def _clearances(result: Characteristics, design: Design, missing: GapMissing | None) -> tuple[JointClearance, ...]:
    """Return the spacing that each joint needs to earth, at the gap-missing peak where there is a tank and it is
    known; infinite, with words, where the law of clearances ends.
    """
    air = design.site.air
    pressure = air.pressure.value if air.pressure else None
    density = air_density_ratio(design.site.altitude.value, air.temperature.value, pressure)
    ends = missing.own.ends_peak if missing and missing.own else {}
    out = []
    for joint, p in result.joints.items():
        peak = max(p.to_earth_peak, ends.get(joint, 0.0))
        if peak < TOUCH_PEAK:
            continue
        try:
            s = required_spacing(peak, density)
        except ModelRangeError as error:
            basis = f"no spacing is known that holds: {error}, in air of density {density:.2f}"
            out.append(JointClearance(joint, peak, inf, inf, basis, WITHSTAND_FACTOR / min(density, 1.0)))
            continue
        basis = s.basis + (" (tank attached, gap missing)" if joint in ends and ends[joint] > p.to_earth_peak else "")
        out.append(JointClearance(joint, peak, s.clearance, s.creepage, basis, s.factor))
    return tuple(out)


__all__ = ["MODEL_LIMITS", "circuits_of", "supply"]
