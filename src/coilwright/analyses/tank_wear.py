"""What the gap does to its electrodes and to the room: charge, wear, heat, air, ozone, noise."""

from __future__ import annotations

from math import inf, isfinite, pi

from coilwright.analyses.tank_results import (
    ElectrodeResult,
    GapResult,
    RoomResult,
    SizeResult,
    SupplySide,
)
from coilwright.analyses.tank_rotary import is_rotary
from coilwright.discharge import electrodes as metal
from coilwright.discharge import room_air as air
from coilwright.discharge.rotary import GAPS_IN_SERIES
from coilwright.model.design import Design
from coilwright.model.known import Estimate, product, scaled
from coilwright.protection.facts_gap import RoomFacts
from coilwright.protection.rules_gap import room_tags
from coilwright.protection.tag import Tag
from coilwright.protection.wording import celsius, metres, millionths, seconds, watts

#: Taken where the project does not say of what the electrodes are (assumption).
USUAL_METAL = "brass"
#: Exposed length of an electrode between arc and holder (assumption) [m].
EXPOSED = 30e-3
#: Rise beyond which nothing is worked out: the usual metals have melted, or burn [K].
MELTED = 1300.0
#: By how much the cooling air may warm (assumption) [K].
AIR_RISE = 30.0
#: Worn share of the face that an electrode's outline shows: a rod's whole end, a quarter of a sphere's outline, a
#: strip of tubes that lie side by side, as long as the diameter and a quarter as wide; a plate wears like a rod
#: (assumptions).
WORN = {"rod": 1.0, "sphere": 0.25, "tube": 1 / pi, "plate": 1.0}
ATMOSPHERE = 101325.0

ELECTRODE_LIMITS = (
    "Charge: a ring that fades by a constant decrement until it dies, bounded by the energy of the bang.",
    "A gap that goes out at the first notch moves a good deal less.",
    "Wear: ug/C from memory, a factor of ten either way; spread evenly over the face, though craters are not.",
    "Heat: arc drop times charge. Rise: a rod of 30 mm, between a large cold holder and none at all, in still air.",
)
ROOM_LIMITS = (
    "Ozone and nitrogen oxides: no yield of an open gap was found; bands from memory, well mixed.",
    "Beside the gap there is more. The upper end of ozone is that of cold streamers, the lower that of a hot gap.",
    "Noise: 0.01 to 1 % of the power as sound (assumption), a point in the open, unweighted; a room adds several dB.",
    "Ultraviolet: not known, and not estimated: no yield was found.",
)


# ---- electrodes ------------------------------------------------------------------------------------------------------


def electrode_result(
    design: Design, supply: SupplySide, size: SizeResult, gap: GapResult | None = None
) -> ElectrodeResult | None:
    """Return what the arc does to the electrodes at the size stage's bang and break rate; None without a gap.

    Heat and rise are corners: every low together against every high together, bounded by the power there is.
    """
    if design.gap is None:
        return None
    name = design.gap.electrode_material or USUAL_METAL
    material = metal.MATERIALS[name]
    in_series, shared = _in_series(design, gap), _presentations(design)
    charge, rate = _charge(supply, size, in_series), size.break_rate
    heat = None if rate is None else _heat(supply, size, rate, in_series)
    if charge is None or rate is None or heat is None:
        lacking = "charge and break rate: the bang is not known" if charge is None else "break rate not known"
        return ElectrodeResult(
            name, charge, None, None, None, None, None, (f"Not worked out, {lacking}.",), ELECTRODE_LIMITS
        )
    pair = product("m3/s", f"{name}, from memory", charge, rate, _wear(material))
    wear = scaled(pair, 0.5)  # of one electrode: half of what the pair loses
    rise = _rise(design, material, heat)
    spacing = gap.spacing_each if gap else None
    drift = _drift(design, wear, spacing, shared)
    flow_of_air = _air(design, gap, heat, rate, in_series)
    words = (
        *_metal_words(design, name),
        *_wear_words(drift, rotary=is_rotary(design)),
        *_heat_words(design, material, heat, rise, in_series),
        *_sweep_words(design, rate),
    )
    return ElectrodeResult(name, charge, wear, drift, heat, rise, flow_of_air, words, ELECTRODE_LIMITS)


def _presentations(design: Design) -> int:
    """Return among how many moving electrodes a rotary gap spreads the wear, 1 for any other one."""
    return (design.gap.presentations or 1) if design.gap and is_rotary(design) else 1


def _in_series(design: Design, gap: GapResult | None) -> int:
    if is_rotary(design):
        return GAPS_IN_SERIES
    stated = design.gap.segments if design.gap else None
    return max(gap.segments if gap else stated or 1, 1)


def _charge(supply: SupplySide, size: SizeResult, in_series: int) -> Estimate | None:
    if size.capacitance is None or size.firing_peak is None:
        return None
    c, v, q = size.capacitance, size.firing_peak, supply.ring_quality
    value, low, high = (
        metal.bang_charge(*pair, pi / quality, in_series * drop)
        for pair, quality, drop in (
            ((c.value, v.value), q.value, metal.ARC_DROP[0]),
            ((c.low, v.low), q.low, metal.ARC_DROP[2]),
            ((c.high, v.high), q.high, metal.ARC_DROP[1]),
        )
    )
    return Estimate(value, low, high, "pencil", "C", "integral of |i| over one bang, ring of the supply stage")


def _wear(material: metal.ElectrodeMaterial) -> Estimate:
    d = material.density
    return Estimate(material.wear / d, material.wear_low / d, material.wear_high / d, "pencil", "m3/C", "from memory")


def _heat(supply: SupplySide, size: SizeResult, rate: Estimate, in_series: int) -> Estimate | None:
    """Return the heat of one electrode [W]: half of what one arc gives to its ends, never more than the bangs bring."""
    if size.capacitance is None or size.firing_peak is None:
        return None
    parts = (_three(e) for e in (size.capacitance, size.firing_peak, supply.ring_quality, rate))
    value, low, high = (
        metal.arc_heat(metal.bang_charge(c, v, pi / q, in_series * drop) * bangs, drop) * share / 2
        for c, v, q, bangs, drop, share in zip(*parts, metal.ARC_DROP, metal.HEAT_INTO_METAL, strict=True)
    )
    most = inf if size.power is None else size.power.high / (2 * in_series)
    value, low, high = (min(x, most) for x in (value, low, high))
    return Estimate(value, low, high, "pencil", "W", "arc drop of 20 to 60 V, half into each end")


def _rise(design: Design, material: metal.ElectrodeMaterial, heat: Estimate) -> Estimate | None:
    if design.gap is None or design.gap.electrode is None:
        return None
    d, still = design.gap.electrode.diameter.value, metal.STILL_AIR
    held = metal.rod_conductance(material.conductivity, d, EXPOSED, still[2], held=True)
    free = metal.rod_conductance(material.conductivity, d, EXPOSED, still[1], held=False)
    both = (held * free) ** 0.5
    value, low, high = (min(x, MELTED) for x in (heat.value / both, heat.low / held, heat.high / free))
    basis = f"rod {metres(EXPOSED)} long in still air, between a large cold holder and none"
    if high == MELTED:
        basis += "; not followed beyond 1300 K, where it melts"
    return Estimate(value, low, high, "pencil", "K", basis)


def _drift(design: Design, wear: Estimate, spacing: Estimate | None, shared: int) -> Estimate | None:
    if design.gap is None or design.gap.electrode is None or spacing is None:
        return None
    electrode = design.gap.electrode
    face = WORN[electrode.form] * pi / 4 * electrode.diameter.value**2
    for_one = metal.drift_time(1.0, metal.spacing_rate(2.0, face, shared))  # of 1 m, at 1 m3/s from each electrode
    return scaled(product("s", "until the spacing has grown by 5 %", spacing, over=wear), for_one)


def _air(design: Design, gap: GapResult | None, heat: Estimate, rate: Estimate, in_series: int) -> Estimate | None:
    """Return the air [m3/s] that carries the heat of all gaps away, or sweeps them between bangs, whichever is more."""
    if design.gap is None or design.gap.electrode is None:
        return None
    d = design.gap.electrode.diameter.value
    each = gap.spacing_each.value if gap and gap.spacing_each else d
    value, low, high = (
        max(
            metal.carrying_air(2 * in_series * watt, AIR_RISE),
            in_series * metal.sweeping_air(d, each, 1 / bangs),
        )
        for watt, bangs in ((heat.value, rate.value), (heat.low, rate.low), (heat.high, rate.high))
    )
    return Estimate(value, low, high, "pencil", "m3/s", "carries the heat at 30 K, or sweeps every gap between bangs")


def _metal_words(design: Design, name: str) -> tuple[str, ...]:
    if design.gap and design.gap.electrode_material:
        return ()
    return (f"Electrode material not stated: {name} assumed; state electrode_material under [gap].",)


def _wear_words(drift: Estimate | None, *, rotary: bool) -> tuple[str, ...]:
    if drift is None:
        return ("Drift of the setting not worked out: it needs the electrode and a spacing.",)
    wide = f"between {seconds(drift.low)} and {seconds(drift.high)} of running"
    shared = " The fixed electrodes wear fastest, the moving ones share their half." if rotary else ""
    creep = f"Worn metal opens the gap: its volts creep up, and with them what every part sees, by 5 % {wide}."
    return (f"{creep} Measure the spacing again before that.{shared}",)


def _heat_words(
    design: Design, material: metal.ElectrodeMaterial, heat: Estimate, rise: Estimate | None, in_series: int
) -> tuple[str, ...]:
    total = f"{watts(2 * in_series * heat.low)} to {watts(2 * in_series * heat.high)} go into all electrodes together"
    if rise is None:
        return (f"{total}.",)
    room = design.site.air.temperature.value
    allowed, limit = material.softens - room, celsius(material.softens)
    if rise.high <= allowed:
        return (f"{total}; {material.name} stays below {limit} in the whole band.",)
    where = "in the whole band" if rise.low > allowed else "at the upper end of the band"
    passed = f"{where} the ends pass {limit}, where {material.name} softens, loses zinc or burns"
    way_out = "thicker rods in a large metal holder, blown, and pauses. A hot electrode also fires lower."
    return (f"{total}; {passed}: {way_out}",)


def _sweep_words(design: Design, rate: Estimate) -> tuple[str, ...]:
    interval = 1 / rate.value
    speed = (
        metal.sweeping_speed(design.gap.electrode.diameter.value, interval)
        if design.gap and design.gap.electrode
        else None
    )
    said = f"{seconds(interval)} from bang to bang; gaps are known to take 0.3 to 50 ms to hold again"
    if speed is None:
        return (f"{said}.",)
    blow = f"air of {speed:.2g} m/s through the gap moves the hot gas out by one diameter in that time"
    if is_rotary(design):
        blow += "; the rotor's own wind does it while it turns, and not when it stalls"
    return (f"{said}: {blow}.",)


# ---- room ------------------------------------------------------------------------------------------------------------


def room_result(design: Design, size: SizeResult) -> RoomResult:
    """Return ozone, nitrogen dioxide and noise at the size stage's power; None where power or room is not known."""
    power, place = size.power, design.site.room
    volume = _volume(design)
    made = RoomResult(
        power=power,
        ozone=None,
        ozone_limit=air.OZONE_LIMIT,
        time_to_ozone_limit=None,
        air_changes=None,
        noise=None,
        volume=volume,
        limits=ROOM_LIMITS,
    )
    if power is None or power.low <= 0:
        return RoomResult(
            **{**vars(made), "words": ("Power of the gap not known: no ozone, no noise worked out.", _UV)}
        )
    sound = _sound(power, size.energy_per_bang)
    words = [*_noise_words(sound)]
    if place.outdoors:
        words.append("Outdoors: no steady ozone is worked out; stay upwind.")
    elif volume is None:
        words.append("Length, width and ceiling of the room are not all stated: no ozone is worked out. Ventilate.")
    gases = {} if place.outdoors or volume is None else _gases(design, power, volume)
    if gases:
        words += _gas_words(gases)
    return RoomResult(**{**vars(made), **sound, **gases, "words": (*words, _UV)})


_UV = (
    "Ultraviolet: the yield is not known. Limit 30 J/m2 effective in 8 h (ICNIRP 2004, from memory); twice as far is a "
    "quarter. An opaque cover or a welding shade, and nobody looks in."
)


def _volume(design: Design) -> float | None:
    r = design.site.room
    if r.outdoors or r.length is None or r.width is None or r.ceiling is None:
        return None
    return r.length.value * r.width.value * r.ceiling.value


def _gases(design: Design, power: Estimate, volume: float) -> dict[str, Estimate]:
    weather = design.site.air
    pressure = weather.pressure.value if weather.pressure else ATMOSPHERE
    unit_ozone, unit_dioxide = (
        air.mass_of_fraction(1.0, m, pressure, weather.temperature.value) for m in (air.OZONE_MASS, air.DIOXIDE_MASS)
    )
    limit = air.OZONE_LIMIT * unit_ozone
    sources = [air.production(p, y) for p, y in zip(_three(power), air.OZONE_YIELD, strict=True)]
    oxide = [air.production(p, y) for p, y in zip(_three(power), air.NITRIC_OXIDE_YIELD, strict=True)]
    dioxide = [x * s * air.DIOXIDE_MASS / air.OXIDE_MASS for x, s in zip(oxide, air.SHARE_TURNED, strict=True)]
    # low: little made, aired well, fading fast; high: the other way round
    leaving = [air.removal(air.CLOSED_ROOM[a], air.OZONE_HALF_LIFE[h]) for a, h in ((0, 0), (2, 1), (1, 2))]
    slow = [air.removal(air.CLOSED_ROOM[a], air.DIOXIDE_HALF_LIFE[h]) for a, h in ((0, 0), (2, 1), (1, 2))]
    basis = "room closed, well mixed; yield from memory"
    ozone = [air.steady_mass(s, volume, k) / unit_ozone for s, k in zip(sources, leaving, strict=True)]
    nitrous = [air.steady_mass(s, volume, k) / unit_dioxide for s, k in zip(dioxide, slow, strict=True)]
    times = [air.time_to(limit, s, volume, k) for s, k in zip(sources, leaving, strict=True)]
    wanted = [
        air.wanted_air_changes(limit, s, volume, air.OZONE_HALF_LIFE[h])
        for s, h in zip(sources, (0, 1, 2), strict=True)
    ]
    return {
        "ozone": Estimate(ozone[0], ozone[1], ozone[2], "pencil", "1", basis),
        "dioxide": Estimate(nitrous[0], nitrous[1], nitrous[2], "pencil", "1", f"{basis}; 5 % to all of it turned"),
        "time_to_ozone_limit": Estimate(times[0], times[2], times[1], "pencil", "s", basis),
        "air_changes": Estimate(wanted[0], wanted[1], wanted[2], "pencil", "1/s", "to stay at 0.1 ppm"),
    }


def _sound(power: Estimate, energy: Estimate | None) -> dict[str, Estimate]:
    basis = "0.01 to 1 % of the power as sound, a point in the open: assumption"
    loud = [s * p for s, p in zip(air.SOUND_SHARE, _three(power), strict=True)]
    levels = [air.sound_level(p, 1.0) for p in loud]
    times = [air.allowed_time(x) for x in levels]
    far = [air.distance_for(p, air.NOISE_LIMIT) for p in loud]
    made = {
        "noise": Estimate(levels[0], levels[1], levels[2], "pencil", "dB", basis),
        "ear_time": Estimate(
            times[0], times[2], times[1], "pencil", "s", "85 dB for 8 h, 3 dB exchange: NIOSH, from memory"
        ),
        "quiet_distance": Estimate(far[0], far[1], far[2], "pencil", "m", "85 dB left, in the open"),
    }
    if energy is not None and energy.low > 0:
        pulses = (air.PULSE[0], air.PULSE[2], air.PULSE[1])
        peaks = [air.peak_level(s * e, t, 1.0) for s, e, t in zip(air.SOUND_SHARE, _three(energy), pulses, strict=True)]
        made["noise_peak"] = Estimate(peaks[0], peaks[1], peaks[2], "pencil", "dB", f"{basis}; pulse of 30 to 300 us")
    return made


def _noise_words(sound: dict[str, Estimate]) -> tuple[str, ...]:
    level, ear, far = sound["noise"], sound["ear_time"], sound["quiet_distance"]
    longest = f"{seconds(ear.low)} a day at the upper end of the band" if ear.low < air.NOISE_DAY else "a working day"
    words = (
        f"{level.low:.0f} to {level.high:.0f} dB at 1 m: bare ears at most {longest}; 85 dB up to {metres(far.high)}"
    )
    return (f"{words} away. Ear defenders for everybody from the first bang.",)


def _gas_words(gases: dict[str, Estimate]) -> tuple[str, ...]:
    ozone, time, change, dioxide = (gases[k] for k in ("ozone", "time_to_ozone_limit", "air_changes", "dioxide"))
    first = f"Ozone in the closed room: {_ppm(ozone)} in the long run, limit 0.1 ppm"
    first += f", reached after {seconds(time.low)} at the soonest" if isfinite(time.low) else ", not reached"
    second = (
        f"To stay at it: up to {3600 * change.high:.3g} air changes an hour by fan and window; a smell of it says stop"
    )
    third = f"Nitrogen dioxide: {_ppm(dioxide)} in the long run; limit 1 ppm for 15 min, 5 ppm never"
    return (f"{first}.", f"{second}.", f"{third}.")


def _ppm(fraction: Estimate) -> str:
    return f"{millionths(fraction.low)} to {millionths(fraction.high)}"


# ---- tags ------------------------------------------------------------------------------------------------------------


def room_facts(made: RoomResult) -> RoomFacts:
    """Return what the tags of ozone and noise show."""
    return RoomFacts(
        ozone=_three(made.ozone) if made.ozone else None,
        ozone_limit=made.ozone_limit,
        time_to_limit=_three(made.time_to_ozone_limit) if made.time_to_ozone_limit else None,
        noise=_three(made.noise) if made.noise else None,
        noise_peak=_three(made.noise_peak) if made.noise_peak else None,
        noise_limit=air.NOISE_LIMIT,
    )


def running_tags(made: RoomResult) -> tuple[Tag, ...]:
    """Return the standing tags of ozone and noise with their numbers; the site's own come without."""
    return room_tags(room_facts(made))


def _three(e: Estimate) -> tuple[float, float, float]:
    return e.value, e.low, e.high


__all__ = ["electrode_result", "room_result", "room_facts", "running_tags"]
