"""Quick answers about strings and home-made plates on a supply of which only the open volts are known.

What the asker gives is taken as written; everything else is assumed, so every answer is pencil.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, sqrt

from coilwright.analyses.quick import machine_tags, quick_design
from coilwright.analyses.quick_gap import named, one_of
from coilwright.analyses.quick_tank_results import PlatesAnswer, StringAnswer
from coilwright.analyses.safety_gap import site_air
from coilwright.analyses.shelf import shelf
from coilwright.analyses.tank_context import RING_FREQUENCY, RING_QUALITY
from coilwright.analyses.tank_gap import gap_alone
from coilwright.analyses.tank_plates import PROPOSED_AREA, plates_of, propose, running_loss
from coilwright.analyses.tank_results import StringResult, StringsResult
from coilwright.analyses.tank_strings import BANGS_PER_HALF_CYCLE, best_strings
from coilwright.capacitors import plates as sheets
from coilwright.capacitors.choose import least_series
from coilwright.capacitors.dielectrics import dielectric, dielectric_of
from coilwright.capacitors.film import unit_of
from coilwright.capacitors.plates import Form
from coilwright.capacitors.strings import Duty, dynamic_share
from coilwright.errors import InputError, ModelRangeError, Problem
from coilwright.model.known import Estimate, Known
from coilwright.model.machine import Gap, Tank, TankPlates, TankStrings
from coilwright.model.parts import Capacitor
from coilwright.protection.energy import stored_energy
from coilwright.protection.facts import Rating, TankFacts, TankUnit
from coilwright.protection.rules import collect, tank_tags
from coilwright.protection.safety_gap import window
from coilwright.protection.tag import Tag
from coilwright.protection.wording import farads, volts_peak

#: Units that are taken to be at hand where the asker does not say how many.
PLENTY = 400
MOST_UNITS = 1000
DC_LABEL = "A DC label is turned into AC volts by our rule; the maker's AC rating goes before it."
ASSUMED = "Assumed: one bang each half cycle of the mains, a ring of 200 kHz."
SHEETS = "Strength falls with thickness, area and any pinhole; rated is 0.22 of it. Glow: 30 % either way."
#: What rests on the volts of a supply alone, in words.
HELD = "Gap missing: the most that a safety gap set by the rule lets through; `ask tank` has the supply's own volts."


def string_answer(
    capacitance: float,
    rated: float,
    rated_kind: str,
    voltage: float,
    *,
    wanted: float | None = None,
    count: int | None = None,
    film: str = "polypropylene",
    frequency: float = 50.0,
) -> StringAnswer:
    """Return the best strings of one kind of capacitor on a supply of that open voltage [V rms].

    Parameters
    ----------
    capacitance, rated, rated_kind
        Of one unit: [F], [V], "AC" or "DC".
    wanted
        Of the whole [F]; None: what the units give in the fewest series that hold.
    count
        Units at hand; None: as many as are needed.
    film
        The dielectric in words, as on the part.

    Raises
    ------
    InputError
        If the film is not known, or more units are counted than a quick answer looks at.
    """
    if dielectric_of(film).name == dielectric_of(None).name:
        message = f'found "{film}", which is no film of a capacitor that is known'
        raise InputError(
            [Problem("--dielectric", None, message, 'write "polypropylene" or "polyester" as on the part')]
        )
    if count is not None and not 1 <= count <= MOST_UNITS:
        message = f"found {count} units; a quick answer is for 1 to {MOST_UNITS}"
        raise InputError([Problem("--count", None, message, "write a project file for more")])
    firing, missing = held_volts(voltage)
    duty = string_duty(firing, missing, voltage, frequency)
    part = Capacitor(
        "unit", Known(capacitance, "pencil"), rated=Known(rated, "pencil"), rated_kind=rated_kind, dielectric=film,
        count=count or PLENTY,
    )  # fmt: skip
    needed = least_series(unit_of(part), duty.highest_peak or missing) or 1
    if wanted is None:
        wanted = capacitance * max(1, (count or 0) // needed) / needed
    elif count is None:
        part = replace(
            part, count=min(max(PLENTY, 2 * needed * max(1, ceil(wanted * needed / capacitance))), MOST_UNITS)
        )
    strings = best_strings([part], wanted, duty)
    if count is None:
        strings = _uncounted(strings)
    best = next(iter((*strings.ranked, *strings.refused)), None)
    notes = (HELD, *([DC_LABEL] if rated_kind == "DC" else []), ASSUMED)
    return StringAnswer(strings, voltage, firing, missing, _string_tags(part, best, firing, missing, wanted), notes)


def held_volts(voltage: float) -> tuple[Estimate, float]:
    """Return what the gap is taken to fire at on open volts [V rms], their crest with its scatter, and the peak [V]
    that a safety gap across lets through: set by the rule for the open peak, at the upper end of its scatter.
    """
    crest = sqrt(2) * voltage
    design = replace(quick_design(230.0, 50.0), gap=Gap("static", voltage=Known(crest, "pencil")))
    with named({"gap.voltage": "--voltage"}):
        gap = gap_alone(design)
    if gap is None or gap.breakdown_peak is None:  # the design states both
        raise TypeError("no gap")
    firing = replace(gap.breakdown_peak, basis="crest of the volts given, and a gap's scatter")
    return firing, window(crest, (), air=site_air(design), legs=1).set_band[1]


def string_duty(firing: Estimate, missing: float, voltage: float, frequency: float) -> Duty:
    """Return the duty of a tank of which only the supply's volts [V rms] and the mains frequency [Hz] are known."""
    return Duty(
        Estimate(*RING_FREQUENCY, "pencil", "Hz"),
        Estimate(*RING_QUALITY, "pencil", "1"),
        frequency,
        firing_peak=firing.value,
        missing_peak=missing,
        break_rate=_bangs(frequency),
        mains_rms=voltage,
        ambient=quick_design(230.0, 50.0).site.air.temperature.value,
    )


def _bangs(frequency: float) -> Estimate:
    low, value, high = (2 * frequency * n for n in BANGS_PER_HALF_CYCLE)
    return Estimate(value, low, high, "pencil", "1/s", "one bang each half cycle, assumed")


def _uncounted(found: StringsResult) -> StringsResult:
    """Return the strings without words on how many of how many units they take: nobody said how many there are."""

    def row(r: StringResult) -> StringResult:
        return replace(r, notes=tuple(n for n in r.notes if not n.endswith(" units")))

    return replace(found, ranked=tuple(map(row, found.ranked)), refused=tuple(map(row, found.refused)))


def _string_tags(
    part: Capacitor, best: StringResult | None, firing: Estimate, missing: float, wanted: float
) -> tuple[Tag, ...]:
    """Return every tag of a set with that string: nobody said that its units have bleeders, so none has."""
    ratings: tuple[Rating, ...] = ()
    series = 1
    if best is not None and best.series > 0:
        series, wanted = best.series, best.capacitance.value
        rated = best.rated_each_peak
        if rated is not None:
            share = best.voltage_each_peak / missing if best.voltage_each_peak else dynamic_share(series, 0.0)
            where = f"string of {series}"
            ratings = (
                Rating(where, missing, rated.value * series, rated.mark, across=True, worst_limit=rated.value / share),
            )
    unit = TankUnit("each unit of the string", part.value.value, missing / series, series=series)
    unfit = unit_of(part).unfit
    facts = TankFacts(
        wanted, missing, firing.value, ratings=ratings, units=(unit,), series=series, legs=1, main_gap=firing.high,
        unfit=("string", "; ".join(unfit)) if unfit else None,
    )  # fmt: skip
    strings = Tank(strings=TankStrings(part.id, series, 1))
    design = replace(quick_design(230.0, 50.0), capacitors=(part,), tank=strings)
    return collect(tank_tags(facts), shelf(design).tags, machine_tags(design))


def plates_answer(
    dielectric_name: str,
    voltage: float,
    *,
    thickness: float | None = None,
    form: Form = "flat",
    area: float | None = None,
    count: int | None = None,
    wanted: float | None = None,
    frequency: float = 50.0,
) -> PlatesAnswer:
    """Return a home-made capacitor on a supply of that open voltage [V rms].

    Parameters
    ----------
    thickness, area, count
        Of one sheet [m, m2], and how many; with ``wanted`` what is None is chosen.
    wanted
        Of the whole [F], instead of ``count``.

    Raises
    ------
    InputError
        If the dielectric is not known, or the measures make no capacitor.
    """
    material = dielectric(dielectric_name, "--dielectric")
    firing, missing = held_volts(voltage)
    try:
        p = _measures(material.name, form, thickness, area, count, wanted, missing)
        whole = sheets.capacitance(form, material, p.thickness.value, p.area.value, p.count)
        energy = Estimate(
            stored_energy(whole.value, firing.value), stored_energy(whole.low, firing.low),
            stored_energy(whole.high, firing.high), "pencil", "J",
        )  # fmt: skip
        quality = Estimate(*RING_QUALITY, "pencil", "1")
        loss = running_loss(p, material, energy, _bangs(frequency), quality, firing, frequency)
        made = plates_of(p, material, firing, missing, loss, own=wanted is None)
    except ModelRangeError as error:
        hint = "give thickness and area of one sheet as measured, and a count of one or more"
        raise InputError([Problem("--thickness", None, str(error), hint)]) from None
    rating = Rating("plates", missing, made.rated_peak.value, "pencil", across=True)
    unit = TankUnit("tank", made.capacitance.value, missing)
    facts = TankFacts(
        made.capacitance.value, missing, firing.value, ratings=(rating,), units=(unit,), plates=True,
        field=made.field_peak, legs=1, main_gap=firing.high,
        unfit=("plates", f"{material.name}: {material.unfit}") if material.unfit else None,
    )  # fmt: skip
    design = replace(quick_design(230.0, 50.0), tank=Tank(plates=p))
    tags = collect(tank_tags(facts), shelf(design).tags, machine_tags(design))
    return PlatesAnswer(made, voltage, firing, missing, tags, (HELD, SHEETS, ASSUMED))


def _measures(
    name: str,
    form: Form,
    thickness: float | None,
    area: float | None,
    count: int | None,
    wanted: float | None,
    peak: float,
) -> TankPlates:
    """Return the measures as given, or those that make the wanted capacitance."""
    if (wanted is None) == (count is None):
        raise InputError([one_of("--want", "--count", "a capacitance to aim at, or area and count of what is there")])
    if wanted is None or count is not None:
        missing = [f for f, x in (("--thickness", thickness), ("--area", area)) if x is None]
        if thickness is None or area is None or count is None:
            raise InputError(
                [
                    Problem(f, None, "is needed with --count", 'write one sheet as measured, or --want "10 nF"')
                    for f in missing
                ]
            )
        return TankPlates(form, name, Known(thickness, "pencil"), Known(area, "pencil"), count)
    if thickness is None:
        found = propose(wanted, peak, name, PROPOSED_AREA if area is None else area) if form == "flat" else None
        if found is None:
            message = (
                f"no stack of {name} was found for {farads(wanted)} at {volts_peak(peak)}: more than 200 sheets, or "
                "one thicker than the law knows"
            )
            hint = "ask for a stack at half the volts and twice the capacitance: two of them in series"
            if form != "flat":
                message, hint = f"a {form} one needs the thickness", 'write it, as in --thickness "0.5 mm"'
            raise InputError([Problem("--thickness", None, message, hint)])
        return found
    surface = PROPOSED_AREA if area is None else area
    one = sheets.capacitance(form, dielectric(name, "--dielectric"), thickness, surface, 1).value
    return TankPlates(form, name, Known(thickness, "pencil"), Known(surface, "pencil"), max(1, round(wanted / one)))


__all__ = ["held_volts", "plates_answer", "string_answer", "string_duty"]
