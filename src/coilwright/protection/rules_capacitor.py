"""Tags of capacitors in the supply: bleeder, type and rating, what they store; told apart by where they are wired."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.protection.energy import StoredLimit, drain_time, stored_energy, worst_stored_limit
from coilwright.protection.facts import CorrectionCapacitor, SupplyFacts, WiredCapacitor
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import (
    amperes,
    coulombs,
    farads,
    joules,
    listed,
    ohms,
    seconds,
    volts,
    volts_peak,
    volts_rms,
)

MAINS_TOLERANCE = 1.1  # highest over nominal mains volts, EN 50160, from memory
CORRECTION_MARGIN = 1.1
OLD_CORRECTION_YEAR = 1979

NOMINAL_PEAK_EDGE = 600 * 2**0.5  # V peak of 600 V rms nominal, where NEC 460.6 ends and 460.28 begins
FIXED = (50.0, 60.0)  # V, s: NEC 460.6
FIXED_ABOVE_600_V = (50.0, 300.0)  # V, s: NEC 460.28
PLUG_PINS = (34.0, 1.0)  # V, s: IEC 60335-1 cl. 22.5


def discharge_rule(peak: float, *, at_plug_pins: bool = False) -> tuple[float, float, str]:
    """Return volts left, seconds allowed and the code that says so, for what is charged to ``peak`` [V] as a whole."""
    if at_plug_pins:
        return *PLUG_PINS, "IEC 60335-1 cl. 22.5, from memory"
    if peak <= NOMINAL_PEAK_EDGE:
        return *FIXED, "NEC 460.6"
    return *FIXED_ABOVE_600_V, "NEC 460.28, from memory"


def bleeder_tag(
    where: str,
    capacitance: float,
    bleeder: float | None,
    peak: float | None,
    *,
    at_plug_pins: bool = False,
    series: int = 1,
) -> Iterator[Tag]:
    """Yield ``bleeder-missing`` for a capacitor [F] at ``peak`` [V] without bleeder [ohm], or with one that takes too
    long. A peak that is not known leaves the time open, never the missing bleeder.

    Of ``series`` such units, each with that bleeder, the whole string must come down to what the code leaves: it falls
    with the time constant of one unit, from as many times the volts.
    """
    if peak is None:
        if bleeder is None:
            yield raise_tag("bleeder-missing", where, value=f"none on {farads(capacitance)}, peak not known")
        return
    whole = series * peak
    residual, allowed, _ = discharge_rule(whole, at_plug_pins=at_plug_pins)
    limit = f"{volts(residual)} within {seconds(allowed)}" + (" across the whole string" if series > 1 else "")
    if bleeder is None:
        yield raise_tag(
            "bleeder-missing",
            where,
            value=f"none on {farads(capacitance)} at {volts_peak(peak)}",
            limit=limit,
            bound=allowed,
        )
        return
    needed = drain_time(capacitance, bleeder, whole, residual)
    if needed > allowed:
        string = f" across {series} in series" if series > 1 else ""
        yield raise_tag(
            "bleeder-missing",
            where,
            value=f"{ohms(bleeder)} takes {seconds(needed)} from {volts_peak(whole)}{string}",
            limit=limit,
            number=needed,
            bound=allowed,
        )


def capacitor_tags(facts: SupplyFacts) -> Iterator[Tag]:
    """Yield the tags of every wired capacitor: those on the mains side, and those anywhere else."""
    yield from _correction(facts)
    for capacitor in facts.capacitors:
        needed = CORRECTION_MARGIN * MAINS_TOLERANCE * capacitor.voltage
        yield from _type(capacitor, needed, "the highest volts across it, mains + 10 %")
        yield from bleeder_tag(capacitor.id, capacitor.capacitance, capacitor.bleeder, capacitor.peak)
        if capacitor.high:
            yield from stored_tag(capacitor.id, capacitor.capacitance, capacitor.peak)


def stored_tag(where: str, capacitance: float, peak: float | None) -> Iterator[Tag]:
    """Yield ``stored-energy-tank`` where a capacitor [F] at ``peak`` [V] passes a limit on charge or energy, or where
    that peak is not known: what is not known clears nothing.
    """
    if peak is None:
        yield raise_tag("stored-energy-tank", where, value=f"not known: {farads(capacitance)}, peak not known")
        return
    worst = worst_stored_limit(capacitance, peak)
    if worst is None or not worst.exceeded:
        return
    energy, charge = joules(stored_energy(capacitance, peak)), coulombs(capacitance * peak)
    yield raise_tag(
        "stored-energy-tank",
        where,
        value=f"{energy} and {charge} at {volts_peak(peak)}",
        limit=f"{_shown(worst)}: {worst.source}",
        number=worst.value,
        bound=worst.limit,
    )


def _shown(limit: StoredLimit) -> str:
    return {"F": farads, "C": coulombs, "J": joules}[limit.quantity](limit.limit)


def _correction(facts: SupplyFacts) -> Iterator[Tag]:
    for capacitor in facts.correction:
        if capacitor.behind_ballast:
            yield raise_tag("pfc-behind-ballast", capacitor.id)
        needed = CORRECTION_MARGIN * MAINS_TOLERANCE * max(facts.mains_voltage, capacitor.voltage)
        basis = "the highest mains" if capacitor.voltage <= facts.mains_voltage else "the highest volts across it"
        yield from _type(capacitor, needed, basis)
        yield from bleeder_tag(
            capacitor.id,
            capacitor.capacitance,
            capacitor.bleeder,
            2**0.5 * MAINS_TOLERANCE * capacitor.voltage,
            at_plug_pins=capacitor.at_plug_pins,
        )
    if facts.correction:
        without = "not known" if facts.mains_uncorrected is None else amperes(facts.mains_uncorrected)
        with_it = "not known" if facts.mains_corrected is None else amperes(facts.mains_corrected)
        yield raise_tag(
            "wiring-current",
            listed(c.id for c in facts.correction),
            value=f"{without} without, {with_it} with",
            number=facts.mains_uncorrected,
        )
    if facts.idle_leading:
        idle = (
            None if facts.idle_power_factor is None else f"power factor {facts.idle_power_factor:.2f} leading at idle"
        )
        yield raise_tag(
            "pfc-overcorrected", listed(c.id for c in facts.correction), value=idle, number=facts.idle_power_factor
        )


def _type(capacitor: CorrectionCapacitor | WiredCapacitor, needed: float, basis: str) -> Iterator[Tag]:
    faults = []
    if capacitor.kind == "oven":
        faults.append("an oven capacitor")
    if capacitor.rated_kind == "DC":
        faults.append("rated for DC")
    if capacitor.rated is None:
        faults.append("rating not stated")
    elif capacitor.rated < needed:
        faults.append(f"rated {volts(capacitor.rated)}{'' if capacitor.rated_kind == 'DC' else ' rms'}")
    if capacitor.made is not None and capacitor.made <= OLD_CORRECTION_YEAR:
        faults.append(f"made {capacitor.made}")
    if faults:
        yield raise_tag(
            "pfc-wrong-type",
            capacitor.id,
            value=", ".join(faults),
            number=capacitor.rated,
            bound=needed,
            limit=f"rated at least {volts_rms(needed)} AC (1.1 x {basis})",
        )
