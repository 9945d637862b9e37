"""The rotary gap of a project: timing against the mains, whether the rotor holds, and what it does when it stalls."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi

from coilwright.analyses.tank_results import GapResult, RotaryResult, RotorShape, SupplySide
from coilwright.analyses.tank_rotor_words import SYNCHRONOUS, phase_words, stalled_words, timing_words
from coilwright.discharge import rotary as turning
from coilwright.discharge import rotor_strength as strength
from coilwright.discharge.electrodes import MATERIALS
from coilwright.model.design import Design
from coilwright.model.known import Estimate, Mark, estimate_of, weakest
from coilwright.model.machine import Gap
from coilwright.protection.facts_gap import RotorFacts
from coilwright.protection.rules_gap import rotor_tags
from coilwright.protection.tag import Tag
from coilwright.protection.wording import listed, metres

KINDS = (SYNCHRONOUS, "asynchronous rotary")
#: Half width of the band of a disc's density by handbook (assumption).
DENSITY_SHARE = 0.05
#: Length of an electrode beyond the disc's two faces, where its mass is not stated (assumption) [m].
PIN_BEYOND = 30e-3
#: A bore that is not stated is counted as a small one, which is as bad as any small one: share of the disc.
SMALL_BORE = 0.02

LIMITS = (
    "Rotor: pins through the disc, parallel to the axle, between two fixed pins each: two gaps in series.",
    "Disc: elastic stress of a flat disc of one thickness with holes, handbook strengths from memory, new and cold.",
    "Not in it: balance, vibration, creep, age, arc damage, bad drilling. A lost electrode leaves its pull unbalanced.",
    "Bolts: plain steel of class 4.6 assumed, the pull in single shear through the thread.",
    "Shield: a steel formula (Ballistic Research Laboratory), a factor of 2 either way, others by ratio; from memory.",
)


def is_rotary(design: Design) -> bool:
    """Return whether the project has a rotary gap."""
    return design.gap is not None and design.gap.kind in KINDS


def rotary_result(design: Design, supply: SupplySide, gap: GapResult | None = None) -> RotaryResult | None:
    """Return the rotor's timing, loads and stalls; None without a rotary gap, or without its speed and presentations.

    ``gap`` gives the spacing in alignment and what other spacings would fire at. ``rotary_tags`` says what is missing.
    """
    g = design.gap
    if g is None or not is_rotary(design) or g.speed is None or g.presentations is None:
        return None
    speed, count = g.speed.value, g.presentations
    highest, highest_known = _highest(g, supply.frequency)
    shape, misfit = _shape(g, gap)
    lock = turning.mains_lock(turning.presentation_rate(count, speed), supply.frequency)
    made = RotaryResult(
        kind=g.kind,
        speed=speed,
        presentations=count,
        presentations_per_second=count * speed,
        dwell=_dwell(g, shape),
        phase=None if g.phase is None else g.phase.value,
        tip_speed=None,
        electrode_force=None,
        disc_stress=None,
        disc_strength=None,
        disc_factor=None,
        bolt_stress=None,
        bolt_factor=None,
        spin_test_speed=strength.SPIN_TEST_RATIO * highest,
        spin_test_force=None,
        burst_speed=None,
        electrode_energy=None,
        shield_thickness=None,
        words=(*timing_words(g, lock, supply.frequency), *phase_words(g, supply.frequency)),
        limits=LIMITS,
        highest_speed=highest,
        presentations_per_half_cycle=lock.per_half_cycle,
        shape=shape,
        missing=_missing(g, highest_known=highest_known),
    )
    if g.electrode_radius is not None:
        made = _loaded(made, g, highest)
    if misfit:
        made = replace(made, missing=(*made.missing, misfit))
    return replace(made, stalled=stalled_words(shape, gap, supply))


def _highest(g: Gap, frequency: float) -> tuple[float, bool]:
    """Return the highest speed that the motor can reach [rev/s], and whether it is known.

    A synchronous motor on its mains cannot pass its speed; of any other one that has to be stated.
    """
    speed = g.speed.value if g.speed else 0.0
    if g.motor_speed_max is not None:
        return max(speed, g.motor_speed_max.value), True
    on_mains = g.kind == SYNCHRONOUS and turning.synchronous_pole_pairs(speed, frequency) is not None
    return speed, on_mains


def _missing(g: Gap, *, highest_known: bool) -> tuple[str, ...]:
    said = {
        "electrode_radius not stated": g.electrode_radius is not None,
        "electrode_mass not stated": g.electrode_mass is not None,
        "electrode's diameter not stated": g.electrode is not None,
        "disc not stated": g.disc is not None,
        "bolt not stated": g.bolt is not None,
        "motor_speed_max not stated (a series motor without load runs away)": highest_known,
    }
    return tuple(words for words, there in said.items() if not there)


# ---- timing ----------------------------------------------------------------------------------------------------------


def _shape(g: Gap, gap: GapResult | None) -> tuple[RotorShape | None, str]:
    """Return what is drawn, and why there is no such rotor ("" where there is)."""
    if g.electrode_radius is None or g.electrode is None or g.presentations is None:
        return None, ""
    r, d = g.electrode_radius.value, g.electrode.diameter.value
    axial = gap.spacing_each.value if gap and gap.spacing_each else None
    try:
        geometry = turning.RotorGeometry(g.presentations, r, d, d, axial or d)
    except ValueError as error:
        return None, f"electrodes do not fit: {error}"
    return (
        RotorShape(
            g.presentations,
            r,
            d,
            axial,
            turning.dwell_angle(geometry),
            disc_diameter=g.disc.diameter.value if g.disc else None,
            bore=g.disc.bore.value if g.disc and g.disc.bore else None,
            thickness=g.disc.thickness.value if g.disc else None,
            bolt=g.bolt.value if g.bolt else None,
        ),
        "",
    )


def _dwell(g: Gap, shape: RotorShape | None) -> Estimate | None:
    if g.dwell is not None:
        return estimate_of(g.dwell, "s", "as written")
    if shape is None or g.speed is None:
        return None
    time = shape.dwell_angle / (2 * pi * g.speed.value)
    return Estimate(time, time, time, "ink", "s", "overlap of two electrodes of the stated diameter")


# ---- loads -----------------------------------------------------------------------------------------------------------


def _loaded(made: RotaryResult, g: Gap, highest: float) -> RotaryResult:
    """Return the result with forces, stresses, burst and shield; what cannot be known stays None."""
    if g.electrode_radius is None or g.speed is None:
        return made
    r, speed = g.electrode_radius.value, g.speed.value
    mass = _mass(g)
    marks: tuple[Mark, ...] = (g.electrode_radius.mark, g.speed.mark)
    disc = g.disc
    made = replace(
        made,
        tip_speed=turning.tip_speed(disc.diameter.value / 2 if disc else r, speed),
        tip_speed_limit=strength.DISC_MATERIALS[disc.material].tip_speed if disc else None,
    )
    if mass is None:
        return made
    mark = weakest(mass.mark, *marks)
    basis = "m r w^2" if g.electrode_mass else "m r w^2, mass of a pin assumed"

    def scaled(function_of_mass: float, unit: str, words: str) -> Estimate:
        k = function_of_mass / mass.value
        return Estimate(function_of_mass, k * mass.low, k * mass.high, mark, unit, words)

    force = turning.electrode_force(mass.value, r, speed)
    made = replace(
        made,
        electrode_force=scaled(force, "N", basis),
        spin_test_force=scaled(force * (made.spin_test_speed / speed) ** 2, "N", f"{basis}, at the spin test"),
        electrode_energy=scaled(strength.electrode_energy(mass.value, r, highest), "J", "at the motor's highest speed"),
    )
    if g.bolt is not None:
        stress = strength.bolt_stress(force, g.bolt.value)
        made = replace(
            made, bolt_stress=scaled(stress, "Pa", "single shear as tension"), bolt_factor=strength.BOLT_YIELD / stress
        )
    return _disc(made, g, mass)


def _disc(made: RotaryResult, g: Gap, mass: Estimate) -> RotaryResult:
    if g.disc is None or g.electrode is None or g.electrode_radius is None or g.presentations is None:
        return made
    material = strength.DISC_MATERIALS[g.disc.material]
    bore = g.disc.bore.value if g.disc.bore else SMALL_BORE * g.disc.diameter.value
    size = (g.disc.diameter.value, g.disc.thickness.value, bore, g.electrode_radius.value, g.presentations)
    hole = g.electrode.diameter.value
    try:
        low, rotor, high = (
            strength.Rotor(replace(material, density=material.density * k), *size, m, hole)
            for m, k in ((mass.low, 1 - DENSITY_SHARE), (mass.value, 1.0), (mass.high, 1 + DENSITY_SHARE))
        )
    except ValueError as error:
        return replace(made, missing=(*made.missing, f"disc cannot be judged: {error}"))
    worst = [strength.disc_stress(x, made.speed).worst for x in (rotor, low, high)]
    burst = strength.burst_speed(rotor)
    material_of_shield = g.shield.material if g.shield else "steel"
    wanted = strength.shield_thickness(rotor, made.spin_test_speed, material_of_shield)
    at = made.highest_speed or made.speed
    return replace(
        made,
        disc_stress=Estimate(worst[0], worst[1], worst[2], "pencil", "Pa", "elastic, density by handbook"),
        disc_strength=Estimate(
            material.strength_low,
            material.strength_low,
            material.strength_high,
            "pencil",
            "Pa",
            f"{material.name}, from memory; designed on the lowest",
        ),
        disc_factor=material.strength_low / worst[0],
        disc_place=strength.disc_stress(rotor, made.speed).place,
        burst_speed=Estimate(*burst, "pencil", "rev/s", "between brittle and stretching"),
        shield_thickness=None if wanted is None else Estimate(*wanted, "pencil", "m", f"of {material_of_shield}"),
        shield_words=_shield_words(g, wanted),
        rotor_energy=strength.rotor_energy(rotor, at),
        words=(*made.words, f"The disc is of {material.name}: it {material.words}."),
    )


def _mass(g: Gap) -> Estimate | None:
    """Return the mass of one electrode [kg]: as stated, else of a pin through the disc (pencil, a factor of 2)."""
    if g.electrode_mass is not None:
        return estimate_of(g.electrode_mass, "kg", "as written")
    if g.electrode is None:
        return None
    metal = MATERIALS[g.electrode_material or "brass"]
    length = (g.disc.thickness.value if g.disc else 10e-3) + PIN_BEYOND
    mass = metal.density * pi / 4 * g.electrode.diameter.value**2 * length
    return Estimate(mass, mass / 2, 2 * mass, "pencil", "kg", f"a pin of {metal.name}, {metres(length)} long, assumed")


def _shield_words(g: Gap, wanted: tuple[float, float, float] | None) -> str:
    kind = g.shield.material if g.shield else "steel"
    if wanted is None:
        return f"No thickness of {kind} is known to hold: it shatters. Take steel, or polycarbonate."
    need = f"at least {metres(wanted[2])} of {kind}, the upper end of the band, all round the disc's plane"
    if g.shield is None:
        return f"No shield is stated: {need}."
    if g.shield.thickness.value < wanted[2]:
        return f"The shield of {metres(g.shield.thickness.value)} is too thin: {need}."
    return (
        f"The shield of {metres(g.shield.thickness.value)} is thicker than the {metres(wanted[2])} worked out for it."
    )


# ---- tags ------------------------------------------------------------------------------------------------------------


def rotor_facts(design: Design, made: RotaryResult | None) -> RotorFacts | None:
    """Return what the rule about a bursting rotor looks at; None without a rotary gap. Judged at the highest speed."""
    g = design.gap
    if g is None or not is_rotary(design):
        return None
    if made is None:
        lacking = [n for n, v in (("speed", g.speed), ("presentations", g.presentations)) if v is None]
        return RotorFacts(
            missing=(f"{listed(lacking)} not stated",),
            shield=_fitted(g),
            shield_material=g.shield.material if g.shield else "steel",
            shield_all_round=g.shield.all_round if g.shield else None,
        )
    up = ((made.highest_speed or made.speed) / made.speed) ** 2
    serves = g.shield is None or strength.SHIELD_RATIO[g.shield.material] is not None
    wanted = made.shield_thickness.high if made.shield_thickness else None
    return RotorFacts(
        speed=made.highest_speed,
        force=made.electrode_force.value * up if made.electrode_force else None,
        spin_test_force=made.spin_test_force.value if made.spin_test_force else None,
        disc_material=g.disc.material if g.disc else "",
        disc_factor=made.disc_factor / up if made.disc_factor else None,
        bolt_factor=made.bolt_factor / up if made.bolt_factor else None,
        factor_wanted=strength.REQUIRED_FACTOR,
        tip_speed=made.tip_speed * up**0.5 if made.tip_speed else None,
        tip_limit=made.tip_speed_limit,
        shield=_fitted(g),
        shield_material=g.shield.material if g.shield else "steel",
        shield_wanted=wanted if serves else inf,
        shield_all_round=g.shield.all_round if g.shield else None,
        missing=made.missing,
        mark="pencil",
    )


def _fitted(g: Gap) -> float | None:
    return g.shield.thickness.value if g.shield else None


def rotary_tags(design: Design, made: RotaryResult | None) -> tuple[Tag, ...]:
    """Return the tags of a rotary gap, none for any other one."""
    facts = rotor_facts(design, made)
    return rotor_tags(facts) if facts else ()


__all__ = ["is_rotary", "rotary_result", "rotary_tags", "rotor_facts"]
