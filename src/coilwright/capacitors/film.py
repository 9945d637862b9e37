"""One film capacitor: what it stands on alternating and pulsed volts, and what it loses.

The DC rating of a film says little about alternating volts: there air at the edge of the metal begins to discharge.
Two rules limit the AC rating that is assumed here, whichever is lower, less a margin:

- the swing from peak to peak stays within the DC rating, Vac <= Vdc / (2 sqrt 2);
- no section inside goes above the volts at which air beside the film breaks down (Paschen's law with the film in
  series). Capacitors of 630 V DC and more have two sections in series inside (seen in data sheets to IEC 60384-16/17).

What the maker prints as AC rating always goes before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import e, log, pi, sqrt

import numpy as np

from coilwright.capacitors.dielectrics import Dielectric, dielectric_of, is_foil
from coilwright.errors import InputError, Problem
from coilwright.model.known import Estimate, Known, estimate_of, weakest
from coilwright.model.parts import Capacitor

#: Least breakdown of air [V peak]: 327 V (seen on a public page; J. D. Cobine, Gaseous Conductors, from memory).
#: Spacing at which Townsend's form with A = 15 /(cm Torr) (Y. P. Raizer, Gas Discharge Physics (1991), Table 4.1, from
#: memory) has that least value at 1 atm [m]: 0.896 Torr cm. The least itself was measured at 7.5 um; the form is good
#: to 20 %.
PASCHEN_PEAK, PASCHEN_SPACING = 327.0, 11.8e-6
#: Working DC field of capacitor-grade polypropylene [V/m]: 50 to 200 V/um, from memory of handbooks; the lower
#: side is assumed, as for pulse types.
FILM_FIELD = 80e6
#: From this DC rating on there are two sections in series inside [V]; seen in two data sheets, 630 to 850 V.
SECTIONS_FROM = 630.0
#: Margin below the two rules: data sheets lie down to 4 % below the swing rule.
MARGIN = 0.95
#: Derating above this case temperature [K], per kelvin, and the top of the range [K]. -1.25 and -2.25 %/K: seen in a
#: data sheet to IEC 60384-16; 105 degC as upper category temperature of polypropylene from memory.
FULL_TEMPERATURE, TOP_TEMPERATURE = 358.15, 378.15
DERATING_DC, DERATING_AC = 0.0125, 0.0225
#: Largest voltage slope is K V_dc / w, w the width of the film: the current per length of end contact is what is
#: limited. K [m/s] of metallised film and of foil, from memory of data sheets (metallised, 27.5 mm, 630 V: 100 V/us).
SLOPE_METALLISED, SLOPE_FOIL = 3000.0, 30000.0
#: Stored energy in the volume of a box at its DC rating [J/m3]: (low, usual, high), from memory of data sheets.
ENERGY_DENSITY = (8e3, 15e3, 30e3)
#: Shape of a box, length : width : height, as 41.5 x 20 x 37 mm.
SHAPE = (2.07, 1.0, 1.85)
#: Body length less lead pitch [m]: 4 mm at 27.5 and 37.5 mm pitch (from memory).
PITCH_SHORT = 4e-3
#: Resistance of leads and end contacts [ohm]: (low, usual, high), from memory.
CONTACT_RESISTANCE = (1e-3, 3e-3, 10e-3)
#: Series inductance per lead pitch [H/m]: at most 1 nH/mm (seen in a data sheet), half of it at best (assumption).
INDUCTANCE_PER_PITCH = (0.5e-6, 1e-6)
#: Capacitance tolerance where the file is silent: 10 %, as lamp capacitors to EN 61048 (seen).
TOLERANCE = 0.10


@dataclass(frozen=True)
class FilmUnit:
    """One kind of capacitor on the shelf, with all that is assumed filled in (SI).

    ``rated_peak`` is the alternating peak that each stands up to 85 degC, ``direct`` the steady volts of one sign,
    None where no rating is stated. ``unfit`` holds the reasons why it is no tank capacitor; empty where it may be one.
    ``doubts`` are words that belong beside every figure.
    """

    id: str
    capacitance: Known[float]
    tolerance: float
    tolerance_known: bool
    dielectric: Dielectric
    rated_peak: Estimate | None
    direct: float | None
    rating_words: str
    dv_dt: Estimate | None
    loss_mains: Estimate
    loss_ring: Estimate
    esr: Known[float] | None
    ripple_current: Known[float] | None
    length: float
    width: float
    height: float
    size_known: bool
    pitch: float
    count: int
    bleeder: float | None = None
    price: float | None = None
    unfit: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def paschen(spacing: float) -> float:
    """Return the breakdown of air between plates that far apart [m] at 1 atm [V peak].

    Paschen's law with its constants taken out by its minimum, V / V0 = x / (1 + ln x), x = d / d0; it holds for x above
    1/e.

    >>> round(paschen(11.8e-6))
    327
    """
    x = spacing / PASCHEN_SPACING
    if x * e <= 1:
        raise ValueError(f"Paschen's law has no breakdown at {spacing} m: spacing must exceed {PASCHEN_SPACING / e} m")
    return PASCHEN_PEAK * x / (1 + log(x))


def section_onset(thickness: float, permittivity: float = 2.2) -> float:
    """Return the peak volts across film and the air beside it at which that air first breaks down.

    The least over the depth of air d of paschen(d) (1 + t / (er d)): the volts divide as the thicknesses over their
    permittivities.
    """
    if not thickness > 0:
        raise ValueError(f"film thickness must be positive: {thickness} m")
    depth = np.geomspace(0.6 * PASCHEN_SPACING, 300 * PASCHEN_SPACING, 400)
    x = depth / PASCHEN_SPACING
    onset = PASCHEN_PEAK * x / (1 + np.log(x)) * (1 + thickness / (permittivity * depth))
    return float(onset.min())


def sections_of(direct: float) -> int:
    """Return how many sections stand in series inside a capacitor of that DC rating [V]."""
    return 2 if direct >= SECTIONS_FROM else 1


def onset_rating(direct: float, permittivity: float = 2.2) -> float:
    """Return the AC rating [V rms] that discharge in the air beside the film allows at this DC rating [V]."""
    n = sections_of(direct)
    return n * section_onset(direct / n / FILM_FIELD, permittivity) / sqrt(2)


def ac_rating(direct: float, permittivity: float = 2.2) -> Estimate:
    """Return the AC rating [V rms] assumed of a film capacitor of that DC rating [V]; the band ends at what discharge
    alone would allow, never above DC / sqrt 2.

    >>> round(ac_rating(1000.0).value)
    336
    """
    if not direct > 0:
        raise ValueError(f"DC rating must be positive: {direct} V")
    swing, onset = direct / (2 * sqrt(2)), onset_rating(direct, permittivity)
    value = MARGIN * min(swing, onset)
    high = max(value, min(onset, direct / sqrt(2)))
    low_words = "peak to peak within the DC rating" if swing <= onset else "no discharge beside the film"
    return Estimate(value, value, high, "pencil", "V", f"from {direct:g} V DC: {low_words}, less 5 %")


def derating(temperature: float, *, alternating: bool = True) -> float:
    """Return the share of the rating that is left at this case temperature [K]; 0 above 105 degC.

    >>> derating(358.15), round(derating(368.15), 3), round(derating(368.15, alternating=False), 3)
    (1.0, 0.775, 0.875)
    """
    if temperature > TOP_TEMPERATURE + 1e-9:
        return 0.0
    slope = DERATING_AC if alternating else DERATING_DC
    return 1.0 - slope * max(temperature - FULL_TEMPERATURE, 0.0)


def unit_of(part: Capacitor) -> FilmUnit:
    """Return the capacitor of the shelf with everything filled in that a tank must know.

    Raises
    ------
    InputError
        If its capacitance is not positive.
    """
    c = part.value.value
    if not c > 0:
        raise InputError(
            [
                Problem(
                    f"{part.where or part.id}.value",
                    None,
                    f"a capacitor of {c:g} F holds nothing: no string can be made of it",
                    "Write the capacitance that is printed on it, or read it with a meter.",
                )
            ]
        )
    kind = dielectric_of(part.dielectric)
    rated, direct, equivalent, words = _ratings(part, kind)
    length, width, height, size_known = _size(part, equivalent)
    pitch = part.lead_pitch.value if part.lead_pitch else max(length - PITCH_SHORT, 0.5 * length)
    mains, ring = kind.loss_of_part
    basis = f"{kind.name} at 100 kHz, handbook range"
    loss_ring = Estimate(ring.value, ring.low, ring.high, "pencil", "1", basis)
    loss_mains = Estimate(mains.value, mains.low, mains.high, "pencil", "1", "handbook range")
    if part.loss is not None:
        loss_ring = Estimate(part.loss, part.loss / 2, max(2 * part.loss, part.loss), "ink", "1", "in the file")
        loss_mains = loss_ring
    return FilmUnit(
        part.id,
        part.value,
        *_tolerance(part),
        kind,
        rated,
        direct,
        words,
        _slope(part, equivalent, pitch),
        loss_mains,
        loss_ring,
        part.esr,
        part.ripple_current,
        length,
        width,
        height,
        size_known,
        pitch,
        part.count,
        part.bleeder.value if part.bleeder else None,
        part.price,
        tuple(_unfit(part, kind)),
        tuple(_doubts(part, kind, size_known=size_known)),
    )


def esr_at(unit: FilmUnit, frequency: float) -> Estimate:
    """Return the series resistance [ohm] at a frequency [Hz]: as written, else tan delta / (2 pi f C) and contacts."""
    if unit.esr is not None:
        return estimate_of(unit.esr, "ohm", "in the file, taken to hold at the ring's frequency")
    reactance = 1 / (2 * pi * frequency * unit.capacitance.value)
    low, value, high = (
        loss * reactance + contact
        for loss, contact in zip(
            (unit.loss_ring.low, unit.loss_ring.value, unit.loss_ring.high), CONTACT_RESISTANCE, strict=True
        )
    )
    return Estimate(value, low, high, "pencil", "ohm", f"loss of {unit.loss_ring.basis}; leads and contacts assumed")


def _ratings(part: Capacitor, kind: Dielectric) -> tuple[Estimate | None, float | None, float | None, str]:
    """Return the alternating peak, the steady volts, the DC rating that the build is worth, and the words."""
    if part.rated is None or not part.rated.value > 0:
        return None, None, None, "no rating stated"
    rated, mark = part.rated.value, part.rated.mark
    if part.rated_kind == "AC":
        peak = sqrt(2) * rated
        words = f"{rated:g} V AC on the label: {peak:.0f} V peak"
        return Estimate(peak, peak, peak, mark, "V", "AC rating x 1.414"), peak, 2 * peak, words
    permittivity = kind.permittivity.value
    rms = ac_rating(rated, permittivity if permittivity < 10 else 2.2)
    stated = "" if part.rated_kind == "DC" else ", taken as DC since the label does not say AC"
    peak = sqrt(2) * rms.value
    words = f"{rated:g} V{' DC' if not stated else ''}{stated}: about {rms.value:.0f} V rms, {peak:.0f} V peak"
    found = Estimate(peak, sqrt(2) * rms.low, sqrt(2) * rms.high, weakest("pencil", mark), "V", rms.basis)
    return found, rated, rated, words


def _size(part: Capacitor, equivalent: float | None) -> tuple[float, float, float, bool]:
    if part.size is not None:
        length, width, height = (s.value for s in part.size)
        return length, width, height, True
    volts = equivalent if equivalent is not None else 1000.0
    volume = part.value.value * volts**2 / 2 / ENERGY_DENSITY[1]
    a = (volume / (SHAPE[0] * SHAPE[1] * SHAPE[2])) ** (1 / 3)
    if part.lead_pitch is not None:
        length = part.lead_pitch.value + PITCH_SHORT
        b = sqrt(volume / length / (SHAPE[1] * SHAPE[2]))
        return length, b * SHAPE[1], b * SHAPE[2], False
    return a * SHAPE[0], a * SHAPE[1], a * SHAPE[2], False


def _tolerance(part: Capacitor) -> tuple[float, bool]:
    if part.tolerance is not None:
        return part.tolerance, True
    v = part.value
    if v.low is not None and v.high is not None and v.value > 0:
        return max(v.high - v.value, v.value - v.low) / v.value, True
    return TOLERANCE, False


def _slope(part: Capacitor, equivalent: float | None, pitch: float) -> Estimate | None:
    if part.dv_dt is not None:
        return estimate_of(part.dv_dt, "V/s", "in the file")
    if equivalent is None:
        return None
    k = SLOPE_FOIL if is_foil(part.dielectric) else SLOPE_METALLISED
    value = k * equivalent / pitch
    how = "foil" if is_foil(part.dielectric) else "metallised film"
    basis = f"{how} of that rating and lead pitch, from memory of data sheets"
    return Estimate(value, value / 2, max(SLOPE_FOIL * equivalent / pitch, value), "pencil", "V/s", basis)


def _unfit(part: Capacitor, kind: Dielectric) -> list[str]:
    reasons = []
    if part.kind == "oven":
        reasons.append(
            "an oven capacitor: paper or film in oil for mains frequency, with an inner resistor; never a tank"
        )
    if kind.unfit or kind.part_unfit:
        reasons.append(f"{kind.name} is unfit for a pulsed tank: {kind.part_unfit or kind.unfit}")
    if part.rated is None or not part.rated.value > 0:
        reasons.append("no rating is stated, so none holds")
    elif part.rated_kind != "AC" and kind.name == "not stated":
        reasons.append("rated for DC, dielectric not stated: it may be electrolytic; not put on alternating volts")
    return reasons


def _doubts(part: Capacitor, kind: Dielectric, *, size_known: bool) -> list[str]:
    found = []
    if kind.name == "not stated" and part.kind != "oven":
        found.append("dielectric not stated: loss taken from 0.02 to 2 %, so its heat is not known")
    if part.use == "power factor":
        found.append("made for mains current: its end contacts are not made for pulses")
    if not size_known:
        found.append("body size assumed from the energy that its rating stores, 15 J per litre (8 to 30)")
    return found


__all__ = [
    "CONTACT_RESISTANCE",
    "INDUCTANCE_PER_PITCH",
    "TOLERANCE",
    "FilmUnit",
    "ac_rating",
    "derating",
    "esr_at",
    "onset_rating",
    "paschen",
    "section_onset",
    "sections_of",
    "unit_of",
]
