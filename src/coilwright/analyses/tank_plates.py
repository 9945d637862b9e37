"""Home-made tank capacitors: what the project's own stands and loses and what to cut, or the one that would do."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, sqrt
from typing import cast

from coilwright.analyses.tank import plates_estimate
from coilwright.analyses.tank_results import CutSheet, PlatesResult, RatedPlace, SizeResult, SupplySide
from coilwright.analyses.tank_running import missing_at, running_at
from coilwright.capacitors import plates as physics
from coilwright.capacitors.dielectrics import Range, SheetDielectric, dielectric, find
from coilwright.capacitors.plates import FOIL, Form
from coilwright.capacitors.sheets import thickness_for
from coilwright.errors import InputError, ModelRangeError, Problem
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Known
from coilwright.model.machine import TankPlates
from coilwright.protection.wording import celsius, metres, volts_peak

#: What is proposed where the project has none: a stack of sheets, foil of this area [m2], thickness in steps [m].
PROPOSED, PROPOSED_AREA, STEP = "polyethylene", 0.06, 0.5e-3
MOST_SHEETS = 200
#: Ambient for the highest temperature [K] (assumption).
AMBIENT = 298.15

_STRENGTH = (
    "Strength: handbook range, falling with thickness (exponent 0.2 to 0.5) and area (Weibull, shape 10); rated volts "
    "are 0.22 of it: 5 pieces in 100 may fail within 100 h of on-time. A pinhole, fold or crumb undercuts all of it."
)
_GLOW = (
    "Edge glow: form and constants from memory, 30 % either way, sea level; a foil's edge that has glowed once glows "
    "sooner. In air it eats the sheet in hours."
)
LIMITS = (
    _STRENGTH,
    _GLOW,
    "Heat: still air, box in the open, after hours; one loss tangent for the whole ring.",
)


def plate_places(design: Design) -> tuple[RatedPlace, ...]:
    """Return what the project's home-made capacitor stands across, nothing where it has none or it is not known."""
    p = design.tank.plates if design.tank else None
    material = find(p.dielectric) if p is not None else None
    if p is None or material is None:
        return ()
    try:
        _, rated = physics.rated_peak(_form(p), material, p.thickness.value, p.area.value, p.count)
    except ModelRangeError:
        return ()
    return (RatedPlace("tank plates", rated.value, "pencil", across=True, what="plates"),)


def plates_result(design: Design, side: SupplySide, size: SizeResult, firing: Estimate | None) -> PlatesResult | None:
    """Return the project's home-made capacitor, or where its tank is not made of parts one that would do.

    None where the tank is a string, or nothing is known to size one from.

    Raises
    ------
    InputError
        If the dielectric is not known, or the measures make no capacitor; the message says what would.
    """
    tank = design.tank
    if tank is not None and tank.strings is not None:
        return None
    if tank is not None and tank.plates is not None:
        where = "tank.plates"
        line = design.line_of(f"{where}.dielectric")
        material = dielectric(tank.plates.dielectric, f"{where}.dielectric", line)
        try:
            fires = size.firing_highest if size.by_rotor else firing or size.firing_peak
            missing, held = _held(side.own_missing.peak if side.own_missing else None, size)
            loss = ring_loss(tank.plates, material, side, size, fires)
            return plates_of(tank.plates, material, fires, missing, loss, held=held)
        except ModelRangeError as error:
            hint = "Give thickness and area of one sheet as measured, and a count of one or more."
            raise InputError([Problem(where, design.line_of(where), str(error), hint)]) from error
    wanted = size.capacitance or size.advised
    if wanted is None:
        return None
    missing, held = _held(missing_at(side.missing, side.own_missing, wanted.value), size)
    if size.by_rotor:
        firing = _turning(size, wanted.value)
    peak = max((v for v in (missing, firing.value if firing else None) if v is not None), default=None)
    if peak is None:
        return None
    proposed = propose(wanted.value, peak)
    if proposed is None:
        return None
    material = dielectric(PROPOSED)
    loss = ring_loss(proposed, material, side, size, firing)
    return plates_of(proposed, material, firing, missing, loss, own=False, held=held)


def _held(missing: float | None, size: SizeResult) -> tuple[float | None, bool]:
    """Return the peak with the gap missing [V] as the safety gap of the project lets it through, and whether it does
    hold it.
    """
    if missing is None or size.held_peak is None or missing <= size.held_peak:
        return missing, False
    return size.held_peak, True


def _turning(size: SizeResult, capacitance: float) -> Estimate | None:
    """Return the highest volts of a rotor at that capacitance [F]."""
    at = running_at(size, capacitance)
    if at is None:
        return None
    v = at.highest_peak
    return Estimate(v, 0.9 * v, 1.1 * v, "pencil", "V", "highest while the rotor runs, charging model")


def propose(capacitance: float, peak: float, name: str = PROPOSED, area: float = PROPOSED_AREA) -> TankPlates | None:
    """Return a flat stack of that capacitance [F] which carries ``peak`` [V] for long; None where more than 200 sheets
    or a sheet thicker than the law knows would be needed.

    Raises
    ------
    InputError
        If no dielectric is called so.
    ModelRangeError
        If a number is not positive.
    """
    material = dielectric(name)
    if not (capacitance > 0 and peak > 0 and area > 0):
        raise ModelRangeError(
            f"capacitance, volts and area must be positive: {capacitance:g} F, {peak:g} V, {area:g} m2"
        )
    count, thickness = 1, STEP
    for _ in range(8):
        try:
            thickness = STEP * ceil(thickness_for(material, peak, area * count) / STEP - 1e-9)
            one = physics.capacitance("flat", material, thickness, area, 1).value
        except ModelRangeError:
            return None
        needed = max(1, round(capacitance / one))
        if needed > MOST_SHEETS:
            return None
        if needed == count:
            break
        count = needed
    note = "proposed"
    return TankPlates("flat", name, Known(thickness, "pencil", basis=note), Known(area, "pencil", basis=note), count)


def plates_of(
    p: TankPlates,
    material: SheetDielectric,
    firing: Estimate | None = None,
    missing: float | None = None,
    loss: Estimate | None = None,
    *,
    own: bool = True,
    held: bool = False,
) -> PlatesResult:
    """Return everything of one home-made capacitor.

    ``firing`` and ``missing`` are the volts [peak across] at which the gap fires and with the gap missing, ``loss``
    what its dielectric loses [W]; each is None where it is not known. ``held``: a safety gap holds ``missing``.

    Raises
    ------
    ModelRangeError
        If its measures make none, or lie outside what the laws know.
    """
    form, t, area = _form(p), p.thickness.value, p.area.value
    physics.capacitance(form, material, t, area, p.count)  # says in words what is wrong
    strength, rated = physics.rated_peak(form, material, t, area, p.count)
    er = material.permittivity.value
    air, oil = (physics.edge_inception(er, t, oil=o) for o in (False, True))
    worst = missing if missing is not None else firing.value if firing else rated.value
    built = physics.build(form, material, t, area, p.count, worst)
    found = plates_estimate(p)
    if found is None:
        raise ModelRangeError("these measures make no capacitor")
    rise = _rise(loss, built)
    field = missing / t if missing is not None else None
    return PlatesResult(
        form=form,
        dielectric=material.name,
        count=p.count,
        thickness=t,
        area=area,
        capacitance=found,
        field_peak=field,
        strength=_ranged(strength, "V/m", "short-time, at this thickness and area"),
        rated_peak=_ranged(rated, "V", "0.22 of the short-time strength: 100 h of on-time, 5 in 100 may fail"),
        corona_peak=_ranged(air, "V", "foil edge in air"),
        corona_peak_oil=_ranged(oil, "V", "foil edge in oil"),
        loss_tangent=_ranged(material.loss_ring, "1", "at about 100 kHz"),
        loss=loss,
        temperature_rise=rise,
        oil_volume=None if form == "cylinder" else built.oil_volume,
        mass=built.mass,
        sheets=tuple(CutSheet(c.what, c.count, c.length, c.width, c.thickness, c.material) for c in built.cuts),
        own=own,
        reasons=tuple(_reasons(material, rated, air, oil, firing, missing, rise, form, held=held)),
        limits=LIMITS,
        edge_field_peak=_edge(field, t),
        margin=built.margin,
        foil_length=built.foil_length,
        foil_width=built.foil_width,
        foil_thickness=FOIL,
        stack=(built.length, built.width, built.height),
        turns=built.turns,
        diameter=built.diameter,
    )


def _form(p: TankPlates) -> Form:
    return cast("Form", p.form)


def _edge(field: float | None, thickness: float) -> float | None:
    return None if field is None or thickness / 4 < FOIL else physics.edge_field(field, thickness)


def _ranged(r: Range, unit: str, words: str) -> Estimate:
    return Estimate(r.value, r.low, r.high, "pencil", unit, f"{words}; {r.source}")


def ring_loss(
    p: TankPlates, material: SheetDielectric, side: SupplySide, size: SizeResult, firing: Estimate | None
) -> Estimate | None:
    """Return the heat in the dielectric while the gap fires [W]: of the ring and of the mains-frequency charging."""
    energy, rate = size.energy_per_bang, size.break_rate
    if energy is None or rate is None or firing is None:
        return None
    return running_loss(p, material, energy, rate, side.ring_quality, firing, side.frequency)


def running_loss(
    p: TankPlates,
    material: SheetDielectric,
    energy: Estimate,
    rate: Estimate,
    quality: Estimate,
    firing: Estimate,
    frequency: float,
) -> Estimate | None:
    """Return the heat in the dielectric [W] at that energy per bang [J], bangs per second, quality of the ring, volts
    at firing [V peak] and mains frequency [Hz]; None where the measures make no capacitor.
    """
    capacitance = plates_estimate(p)
    if capacitance is None:
        return None
    out = []
    for k, tangents in (
        ("value", (material.loss_ring.value, material.loss_mains.value)),
        ("low", (material.loss_ring.low, material.loss_mains.low)),
        ("high", (material.loss_ring.high, material.loss_mains.high)),
    ):
        e, n, q, farads, volts = (float(getattr(x, k)) for x in (energy, rate, quality, capacitance, firing))
        ring = physics.ring_loss(e, n, q, tangents[0])
        out.append(ring + physics.mains_loss(farads, frequency, volts / sqrt(2), tangents[1]))
    return Estimate(
        out[0], out[1], out[2], "pencil", "W", "energy x bangs/s x quality x loss tangent, and the mains' share"
    )


def _rise(loss: Estimate | None, built: physics.Build) -> Estimate | None:
    if loss is None:
        return None
    usual = physics.temperature_rise(loss.value, built)
    low, high = physics.temperature_rise(loss.low, built).low, physics.temperature_rise(loss.high, built).high
    return Estimate(usual.value, low, high, "pencil", "K", "12 W/(m2 K) from the box, continuous")


def _reasons(
    material: SheetDielectric,
    rated: Range,
    air: Range,
    oil: Range,
    firing: Estimate | None,
    missing: float | None,
    rise: Estimate | None,
    form: str,
    *,
    held: bool,
) -> Sequence[str]:
    """Return why it will not do, or what it needs, the gravest first."""
    out = []
    if material.unfit:
        out.append(f"{material.name} is unfit for a tank: {material.unfit}")
    if material.liquid:
        out.append(
            f"{material.name} is no sheet: foils need spacers, and a spark heals in it but the gap between wanders"
        )
    name_missing = "with the gap missing" + (" and held by the safety gap" if held else "")
    for name, volts in ((name_missing, missing), ("at the gap's setting", firing.value if firing else None)):
        if volts is not None and volts > rated.value:
            out.append(f"{volts_peak(volts)} {name} is above the rated {volts_peak(rated.value)}")
    if firing is not None and firing.value > air.low and not material.liquid:
        where = (
            "put the stack under oil, free of air" if form != "cylinder" else "varnish the foil's edges or use brine"
        )
        out.append(
            f"the foil's edge glows in air from {volts_peak(air.value)} ({volts_peak(air.low)} at worst): {where}"
        )
        if firing.value > oil.low and form != "cylinder":
            out.append(
                f"it glows in oil too from {volts_peak(oil.value)}: thicker sheets, or two such stacks in series"
            )
    if rise is not None and AMBIENT + rise.high > material.temperature:
        out.append(
            f"it may rise by {rise.high:.0f} K, above the {celsius(material.temperature)} of {material.name}: "
            "shorter runs, or a lower loss"
        )
    if material.doubt:
        out.append(material.doubt)
    return out


def plates_words(p: PlatesResult) -> str:
    """Return the capacitor in one line."""
    what = {"flat": "sheets", "rolled": "rolls", "cylinder": "bottles or tubes"}[p.form]
    return f"{p.count} {what} of {p.dielectric}, {metres(p.thickness)}, foil {p.area * 1e4:.0f} cm2 each"


__all__ = ["plate_places", "plates_of", "plates_result", "plates_words", "propose", "ring_loss", "running_loss"]
