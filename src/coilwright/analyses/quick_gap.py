"""Quick answer about a spark gap by itself: what it fires at in some air, or the spacing that volts need."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace

from coilwright.analyses.quick import machine_tags, quick_design
from coilwright.analyses.quick_tank_results import GapAnswer
from coilwright.analyses.safety_gap import site_air
from coilwright.analyses.tank_gap import MODEL, gap_alone
from coilwright.analyses.tank_results import GapResult
from coilwright.errors import InputError, Problem
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.machine import Electrode, Gap
from coilwright.model.site import Air
from coilwright.project.checks_tank import LEAST_PEAK, LEAST_SPACING, MOST_PEAK, MOST_SPACING
from coilwright.protection.rules import collect
from coilwright.protection.wording import metres, volts_peak

#: Diameter of electrodes whose form has none [m]; no law looks at it.
NO_DIAMETER = 0.05
#: Two figures of a gap that differ by less are one (our rule): a tenth of the law's band.
SAME = 0.005


def gap_answer(
    form: str,
    diameter: float | None = None,
    *,
    spacing: float | None = None,
    voltage_peak: float | None = None,
    segments: int = 1,
    earthed: bool = False,
    temperature: float | None = None,
    pressure: float | None = None,
    altitude: float | None = None,
    humidity: float | None = None,
) -> GapAnswer:
    """Return what a gap fires at, or the spacing that the volts need, in that air.

    Parameters
    ----------
    form
        sphere | rod | tube | plate | point; ``diameter`` [m] of either electrode, None for plate and point.
    spacing, voltage_peak
        One of the two: of each segment [m], or peak volts across the whole gap.
    earthed
        One end of the gap is at earth; else both ride at half the volts, as on a supply with an earthed midpoint.
    temperature, pressure, altitude, humidity
        Of the air [K, Pa, m, share of saturation]; None: as a project assumes.

    Raises
    ------
    InputError
        If the air is none, or no law of gaps holds there.
    """
    if (spacing is None) == (voltage_peak is None):
        raise InputError([one_of("--spacing", "--voltage", "spacing or volts")])
    problems = [*setting_problems("--voltage", voltage_peak, segments), *_spacing_problems(spacing, segments)]
    if diameter is None and form not in {"plate", "point"}:
        message = f"a {form} gap needs the diameter of its electrodes"
        problems.append(Problem("--diameter", None, message, 'write for example --diameter "10 mm"'))
    if problems:
        raise InputError(problems)
    design = _in_air(quick_design(230.0, 50.0), temperature, pressure, altitude, humidity)
    made = Gap(
        "segmented" if segments > 1 else "static",
        Electrode(form, Known(diameter if diameter is not None else NO_DIAMETER, "pencil")),
        spacing=None if spacing is None else Known(spacing, "pencil"),
        voltage=None if voltage_peak is None else Known(voltage_peak, "pencil"),
        segments=segments,
    )
    with named({"gap.voltage": "--voltage", "gap.spacing": "--spacing"}):
        gap, other = (gap_alone(replace(design, gap=made), earthed=e) for e in (earthed, not earthed))
    if gap is None or other is None:  # the design has one
        raise TypeError("no gap")
    air = design.site.air
    return GapAnswer(
        gap if diameter is not None else replace(gap, diameter=None),
        voltage_peak is not None,
        air.temperature.value,
        air.humidity.value,
        earthed,
        collect(machine_tags(design)),
        (*_the_other_way(gap, other, earthed=earthed), *gap.words, *(w for w in gap.limits if w != MODEL)),
    )


def _in_air(
    design: Design,
    temperature: float | None,
    pressure: float | None,
    altitude: float | None,
    humidity: float | None,
) -> Design:
    """Return the design with its site in that air; every figure out of range is told at once."""
    site, problems = design.site, []
    if pressure is not None and altitude is not None:
        problems.append(one_of("--pressure", "--altitude", "pressure or altitude"))
    if humidity is not None and not 0 <= humidity <= 1:
        message = f"found {100 * humidity:g} %; air holds from 0 to 100 % of the water that saturates it"
        problems.append(Problem("--humidity", None, message, 'write for example --humidity "60 %"'))
    if altitude is not None and not -500 <= altitude <= 9000:
        message = f"found {altitude:g} m; the standard atmosphere is taken from -500 m to 9000 m"
        problems.append(Problem("--altitude", None, message, "give the air pressure instead"))
    if problems:
        raise InputError(problems)
    air = Air(
        site.air.temperature if temperature is None else Known(temperature, "pencil"),
        None if pressure is None else Known(pressure, "pencil"),
        site.air.humidity if humidity is None else Known(humidity, "pencil"),
    )
    made = replace(
        design, site=replace(site, air=air, altitude=site.altitude if altitude is None else Known(altitude, "pencil"))
    )
    try:
        site_air(made)
    except ValueError as error:
        where = "--pressure" if "density" in str(error) and pressure is not None else "--temperature"
        raise InputError([Problem(where, None, str(error), "write the air as it is at the gap")]) from None
    return made


def _the_other_way(gap: GapResult, other: GapResult, *, earthed: bool) -> Iterator[str]:
    """Yield what the same gap does where earth is the other way, if that is another figure."""
    if gap.breakdown_peak is None or other.breakdown_peak is None or gap.spacing_each is None:
        return
    option = "without --earthed-end" if earthed else "--earthed-end"
    if other.spacing_each is not None and abs(other.spacing_each.value / gap.spacing_each.value - 1) > SAME:
        yield f"The other way ({option}): {metres(other.spacing_each.value)} each."
    elif abs(other.breakdown_peak.value / gap.breakdown_peak.value - 1) > SAME:
        yield f"The other way ({option}): {volts_peak(other.breakdown_peak.value)}."


# ---- words -----------------------------------------------------------------------------------------------------------


def setting_problems(where: str, peak: float | None, segments: int = 1) -> Iterator[Problem]:
    """Yield the problem of a setting [V peak] across so many gaps in series that a project refuses too."""
    least = LEAST_PEAK * segments
    if peak is not None and not least <= peak <= MOST_PEAK:
        several = f" across {segments} gaps" if segments > 1 else ""
        message = f"found {volts_peak(peak)}{several}, expected {volts_peak(least)} to {volts_peak(MOST_PEAK)}"
        why = ": below 327 V peak a gap in air breaks down at no spacing" if peak < least else ""
        yield Problem(where, None, message + why, "write the peak volts at which it fires, and check the prefix")


def _spacing_problems(spacing: float | None, segments: int) -> Iterator[Problem]:
    if spacing is None or (spacing >= LEAST_SPACING and segments * spacing <= MOST_SPACING):
        return
    several = f", {segments} times" if segments > 1 else ""
    message = (
        f"found {metres(spacing)}{several}, expected {metres(LEAST_SPACING)} at least and {metres(MOST_SPACING)} in "
        "all at most"
    )
    yield Problem("--spacing", None, message, "write the spacing of one gap, and check the prefix")


def one_of(a: str, b: str, what: str) -> Problem:
    """Return the problem of two options of which exactly one is wanted."""
    return Problem(f"{a}, {b}", None, f"one of the two is needed, not both: {what}", f"write {a} or {b}")


@contextmanager
def named(names: Mapping[str, str]) -> Iterator[None]:
    """Put the option's name in the place of the project's key in every problem raised inside."""
    try:
        yield
    except InputError as error:
        raise InputError([replace(p, where=names.get(p.where, p.where)) for p in error.problems]) from None


__all__ = ["gap_answer", "named", "one_of", "setting_problems"]
