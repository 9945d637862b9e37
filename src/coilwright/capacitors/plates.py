"""Home-made capacitors: flat stacks, rolled foil, bottles and tubes: what they hold, stand and lose, and what to cut.

Area is that of one foil facing its neighbour: of one sheet of a flat stack, of one foil of a roll (both its faces
work, so a roll has twice the capacitance of the same sheets laid flat), of the foil round one bottle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, pi, sqrt
from typing import Literal

from coilwright.capacitors.dielectrics import Range, SheetDielectric
from coilwright.capacitors.sheets import derating, strength
from coilwright.errors import ModelRangeError
from coilwright.model.constants import EPSILON_0

Form = Literal["flat", "rolled", "cylinder"]
FORMS: tuple[Form, ...] = ("flat", "rolled", "cylinder")

#: Extension of a foil's edge by its fringing field, in sheet thicknesses: 2 ln 2 / pi, exact for a thin edge midway
#: between two wide foils in one dielectric (S. B. Cohn, "Characteristic impedance of the shielded-strip transmission
#: line", IRE Trans. MTT-2 (1954) 52, form from memory; a test holds it against the closed solution).
FRINGE = 2 * log(2) / pi
#: Inception at the edge of a foil on a sheet: V rms = K (t / er)^0.45, t in cm, kV; K = 8 in air, 30 in oil (Kappeler's
#: form as German high-voltage textbooks give it, from memory; a test holds air against Paschen's curve in the wedge).
EDGE_EXPONENT, EDGE_AIR, EDGE_OIL, EDGE_BAND = 0.45, 8e3, 30e3, 0.3
PASCHEN_MINIMUM = 327.0  # least volts [peak] that break down air, at 7.5 um of it (J. D. Cobine, from memory)
FOIL, FOIL_DENSITY = 30e-6, 2700.0  # aluminium foil as sold for kitchens is 10 to 30 um; density of aluminium
#: Stress along a sheet from foil to foil round its edge, in oil [V/m peak], and the least margin [m] (assumptions).
CREEP_OIL, LEAST_MARGIN = 0.4e6, 10e-3
TAB = 40e-3  # foil left standing out for the connection [m]
MANDREL = 30e-3  # core of a roll [m]
ROLL_WIDTH = 0.25  # of the foil of a roll whose measures are not given [m]
SLENDERNESS = 2.0  # height of the foil round a bottle over its diameter, where only the area is given
FILLING = 1.15  # a hand-made stack is thicker than its sheets (assumption)
TANK_WALL = 20e-3  # oil round the stack [m] (assumption)
#: Heat from a box to still air [W/(m2 K)]: from memory, between Churchill and Chu's plate with radiation, 10 to 14.
HEAT_TRANSFER, HEAT_LOW, HEAT_HIGH = 12.0, 8.0, 16.0
CONDUCTIVITY = 0.25  # of plastics across the sheet [W/(m K)] (from memory, 0.15 to 0.4; glass 1)


@dataclass(frozen=True)
class Cut:
    """One kind of piece to cut: how many, m long, m wide, m thick."""

    what: str
    count: int
    length: float
    width: float
    thickness: float
    material: str


@dataclass(frozen=True)
class Build:
    """Measures of the finished thing, in m, m3, kg. ``turns`` and ``diameter`` of a roll or bottle, else None."""

    length: float
    width: float
    height: float
    surface: float
    volume: float
    oil_volume: float
    mass: float
    margin: float
    cuts: tuple[Cut, ...]
    foil_length: float
    foil_width: float
    turns: float | None = None
    diameter: float | None = None
    hollow: bool = False  # bottles or tubes


def parallel_plate_capacitance(permittivity: float, area: float, thickness: float) -> float:
    """Return the capacitance of one sheet between two foils without edges [F].

    >>> print(f"{parallel_plate_capacitance(1.0, 1.0, 1e-3) * 1e9:.4f} nF")
    8.8542 nF
    """
    _positive(permittivity=permittivity, area=area, thickness=thickness)
    return EPSILON_0 * permittivity * area / thickness


def coaxial_capacitance(permittivity: float, inner_radius: float, outer_radius: float, length: float) -> float:
    """Return the capacitance of two coaxial cylinders without ends: 2 pi eps l / ln(b / a) [F].

    >>> print(f"{coaxial_capacitance(2.3, 0.45e-3, 1.47e-3, 1.0) * 1e12:.0f} pF")
    108 pF
    """
    _positive(permittivity=permittivity, inner_radius=inner_radius, length=length)
    if outer_radius <= inner_radius:
        raise ModelRangeError(f"the outer radius {outer_radius:g} m must be larger than the inner {inner_radius:g} m")
    return 2 * pi * EPSILON_0 * permittivity * length / log(outer_radius / inner_radius)


def capacitance(form: Form, material: SheetDielectric, thickness: float, area: float, count: int) -> Range:
    """Return the capacitance of ``count`` sheets, rolls or bottles in parallel [F] with its band.

    The value takes half of the edges' fringe, the band none to all of it, and the range of the permittivity. Air films
    between hand-laid foil and sheet lower it further: 0.1 mm of air beside 1.5 mm of polyethylene takes 13 %; so the
    low end is put 15 % lower unless the sheets lie in oil, which the value assumes.

    Raises
    ------
    ModelRangeError
        If a measure is not positive, the form is unknown, or the sheet is not thin beside the foil.
    """
    _check(form, thickness, area, count)
    if form == "cylinder":
        inner, height = bottle(thickness, area)
        plain = coaxial_capacitance(1.0, inner, inner + thickness, height)
        edges = FRINGE * thickness * 2 / height
    else:
        side = sqrt(area)
        plain = parallel_plate_capacitance(1.0, area, thickness) * (2 if form == "rolled" else 1)
        long, wide = _foil(form, area) if form == "rolled" else (side, side)
        edges = FRINGE * thickness * 2 * (long + wide) / area
    er = material.permittivity
    each = count * plain
    return Range(
        each * er.value * (1 + edges / 2), 0.85 * each * er.low, each * er.high * (1 + edges), er.status, er.source
    )


def edge_field(field: float, thickness: float, foil: float = FOIL) -> float:
    """Return the field at the rounded edge of a foil between sheets [V/m]: E sqrt(4 t / (pi foil)).

    Derived from the conformal map of a half plane between two plates: beside its edge E(s) = E sqrt(t / (pi s)); the
    edge is taken as the parabola of tip radius foil / 2 in that field. For a foil thinner than a quarter of the sheet.
    """
    _positive(thickness=thickness, foil=foil)
    if foil > thickness / 4:
        raise ModelRangeError(f"a foil of {foil * 1e6:g} um is not thin beside a sheet of {thickness * 1e6:g} um")
    return field * sqrt(4 * thickness / (pi * foil))


def edge_inception(permittivity: float, thickness: float, *, oil: bool = False) -> Range:
    """Return the volts [peak] at which the edge of a foil on a sheet starts to glow, with a band of 30 %.

    At sea level, power frequency, one sheet between foils; a long-used edge starts lower.

    Raises
    ------
    ModelRangeError
        If the thickness over permittivity is not between 0.1 um and 20 mm.
    """
    _positive(permittivity=permittivity, thickness=thickness)
    if not 1e-7 <= thickness / permittivity <= 20e-3:
        raise ModelRangeError(
            f"edge inception is not known for {thickness / permittivity * 1e3:g} mm of thickness over permittivity "
            "(0.0001 to 20 mm)"
        )
    value = sqrt(2) * (EDGE_OIL if oil else EDGE_AIR) * (100 * thickness / permittivity) ** EDGE_EXPONENT
    if not oil:  # a film of air between foil and sheet glows from there on, whatever the edge is like
        value = max(min(value, wedge_inception(permittivity, thickness)), PASCHEN_MINIMUM)
    return Range(value, value * (1 - EDGE_BAND), value * (1 + EDGE_BAND), "memory", "Kappeler's form, from memory")


def wedge_inception(permittivity: float, thickness: float) -> float:
    """Return the least volts [peak] at which an air film of any width in series with the sheet breaks down.

    Uniform field, air at 20 degC and 1013 hPa: 24.22 kV/cm g + 6.08 kV/cm^(1/2) sqrt(g) (uniform-field form of the
    handbooks, from memory), not below 327 V, the minimum of Paschen's curve.
    """
    _positive(permittivity=permittivity, thickness=thickness)
    series = thickness / permittivity
    films = [series * 10 ** (k / 40) for k in range(-80, 41)]
    return min(max(24.22e5 * g + 6.08e4 * sqrt(g), PASCHEN_MINIMUM) * (1 + series / g) for g in films)


def total_area(form: Form, area: float, count: int) -> float:
    """Return the sheet area under stress in all [m2]."""
    return area * count * (2 if form == "rolled" else 1)


def rated_peak(form: Form, material: SheetDielectric, thickness: float, area: float, count: int) -> tuple[Range, Range]:
    """Return the short-time strength [V/m] of the whole and the volts [peak] that it may carry for 100 h of on-time."""
    _check(form, thickness, area, count)
    found = strength(material, thickness, total_area(form, area, count))
    k = derating() * thickness
    return found, Range(found.value * k, found.low * k, found.high * k, found.status, found.source)


def ring_loss(energy: float, break_rate: float, quality: float, loss_tangent: float) -> float:
    """Return the watts that the dielectric takes from the ring: energy x breaks/s x quality x loss tangent.

    At most all of it. A ring of energy E and quality Q gives E tan(delta) Q to its capacitor (exact for a decay that
    is slow beside a period).
    """
    if min(energy, break_rate, quality, loss_tangent) < 0:
        raise ModelRangeError("energy, break rate, quality and loss tangent cannot be negative")
    return energy * break_rate * min(1.0, quality * loss_tangent)


def mains_loss(farads: float, frequency: float, voltage: float, loss_tangent: float) -> float:
    """Return the watts lost at mains frequency and ``voltage`` [V rms]: w C V^2 tan(delta)."""
    return 2 * pi * frequency * farads * voltage**2 * loss_tangent


def temperature_rise(loss: float, built: Build) -> Range:
    """Return the rise [K] of the middle of the stack over the air round the box, with its band.

    Loss over surface times 12 W/(m2 K) (8 to 16), and what drops across the stack itself from its middle to its faces
    the short way, P s / (8 k A); nothing inside bottles, which are thin.
    """
    short, *others = sorted((built.length, built.width, built.height))
    inside = 0.0 if built.hollow else loss * short / (8 * CONDUCTIVITY * others[0] * others[1])
    value, low, high = (loss / (h * built.surface) for h in (HEAT_TRANSFER, HEAT_HIGH, HEAT_LOW))
    return Range(value + inside, low + inside / 2, high + 2 * inside, "assumption", "still air, box in the open")


def build(form: Form, material: SheetDielectric, thickness: float, area: float, count: int, peak: float) -> Build:
    """Return what to cut and the measures of the finished thing, its margins wide enough for ``peak`` [V] in oil."""
    _check(form, thickness, area, count)
    if not peak > 0:
        raise ModelRangeError(f"volts must be positive: got {peak:g} V")
    margin = max(peak / (2 * CREEP_OIL), LEAST_MARGIN)
    make = {"flat": _stack, "rolled": _roll, "cylinder": _bottles}[form]
    return make(material, thickness, area, count, margin)


def bottle(thickness: float, area: float) -> tuple[float, float]:
    """Return inner radius and height [m] of the foil round a bottle of that area, twice as high as wide."""
    diameter = sqrt(area / (pi * SLENDERNESS))
    inner = diameter / 2 - thickness / 2
    if inner <= thickness:
        raise ModelRangeError(
            f"a wall of {thickness * 1e3:g} mm leaves no bottle inside a foil of {area * 1e4:g} cm2: it is a solid rod"
        )
    return inner, SLENDERNESS * diameter


def _stack(material: SheetDielectric, thickness: float, area: float, count: int, margin: float) -> Build:
    side = sqrt(area)
    long = wide = side + 2 * margin
    height = FILLING * ((count + 2) * thickness + (count + 1) * FOIL)
    cuts = (
        Cut("sheet", count + 2, long, wide, thickness, material.name),
        Cut("foil", count + 1, side + margin + TAB, side, FOIL, "aluminium"),
    )
    return _boxed(cuts, (long, wide, height), margin, material, (side, side))


def _roll(material: SheetDielectric, thickness: float, area: float, count: int, margin: float) -> Build:
    long, wide = _foil("rolled", area)
    pitch = FILLING * 2 * (thickness + FOIL)
    diameter = sqrt(MANDREL**2 + 4 * long * pitch / pi)
    turns = (diameter - MANDREL) / (2 * pitch)
    height = wide + 2 * margin
    cuts = (
        Cut("sheet", 2 * count, long + pi * diameter, height, thickness, material.name),
        Cut("foil", 2 * count, long, wide + TAB, FOIL, "aluminium"),
        Cut("mandrel", count, height, MANDREL, MANDREL, "tube of the same plastic"),
    )
    return _boxed(cuts, (count * diameter, diameter, height), margin, material, (long, wide), turns, diameter)


def _bottles(material: SheetDielectric, thickness: float, area: float, count: int, margin: float) -> Build:
    inner, height = bottle(thickness, area)
    outside = 2 * (inner + thickness)
    cuts = (
        Cut("bottle or tube", count, height + margin, outside, thickness, material.name),
        Cut("foil outside", count, pi * outside + TAB, height, FOIL, "aluminium"),
        Cut("foil inside", count, 2 * pi * inner + TAB, height, FOIL, "aluminium"),
    )
    rows = max(1, round(sqrt(count)))
    across = -(-count // rows)
    size = (across * outside * 1.1, rows * outside * 1.1, height + margin)
    return replace(_boxed(cuts, size, margin, material, (pi * outside, height), None, outside), hollow=True)


def _boxed(
    cuts: tuple[Cut, ...],
    size: tuple[float, float, float],
    margin: float,
    material: SheetDielectric,
    foil: tuple[float, float],
    turns: float | None = None,
    diameter: float | None = None,
) -> Build:
    long, wide, height = size
    solid = sum(_solid(c) for c in cuts)
    mass = sum(_solid(c) * (FOIL_DENSITY if c.material == "aluminium" else material.density) for c in cuts)
    box = (long + 2 * TANK_WALL) * (wide + 2 * TANK_WALL) * (height + 2 * TANK_WALL)
    sides = [x + 2 * TANK_WALL for x in size]
    surface = 2 * (sides[0] * sides[1] + sides[1] * sides[2] + sides[0] * sides[2])
    return Build(
        long, wide, height, surface, box, max(box - solid, 0.0), mass, margin, cuts, foil[0], foil[1], turns, diameter
    )


def _solid(c: Cut) -> float:
    """Return the volume of material of these pieces [m3]."""
    if c.what == "mandrel":  # a tube with a wall of a tenth of its diameter
        return c.count * c.length * pi * 0.09 * c.width**2
    if c.what == "bottle or tube":
        return c.count * pi * (c.width - c.thickness) * c.thickness * c.length
    return c.count * c.length * c.width * c.thickness


def _foil(form: Form, area: float) -> tuple[float, float]:
    """Return length and width of one foil [m]."""
    if form != "rolled":
        return sqrt(area), sqrt(area)
    wide = min(ROLL_WIDTH, sqrt(area))
    return area / wide, wide


def _check(form: str, thickness: float, area: float, count: int) -> None:
    if form not in FORMS:
        raise ModelRangeError(f'no form is called "{form}": write one of {", ".join(FORMS)}')
    _positive(thickness=thickness, area=area, count=count)
    if thickness > 0.25 * sqrt(area):
        raise ModelRangeError(
            f"a sheet {thickness * 1e3:g} mm thick is not thin beside a foil of {area * 1e4:g} cm2: its field is all "
            "edge, and these formulae do not hold"
        )


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ModelRangeError(f"{name.replace('_', ' ')} must be positive: got {value:g}")


__all__ = [
    "FORMS",
    "Build",
    "Cut",
    "bottle",
    "build",
    "capacitance",
    "coaxial_capacitance",
    "edge_field",
    "edge_inception",
    "mains_loss",
    "parallel_plate_capacitance",
    "rated_peak",
    "ring_loss",
    "temperature_rise",
    "total_area",
    "wedge_inception",
]
