"""What the arc does to the electrodes: charge through the gap, metal lost, heat, and the air that is needed.

Every figure is an order of magnitude: the charge moved depends on how soon the gap goes out, and the metal lost with
each coulomb differs between sources by a factor of a hundred.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, pi, sqrt, tanh
from types import MappingProxyType


@dataclass(frozen=True)
class ElectrodeMaterial:
    """Density [kg/m3], thermal conductivity [W/(m K)], temperature that its surface must stay below [K], and metal lost
    from both electrodes together with each coulomb that flows, of either sign [kg/C]: low, usual, high.
    """

    name: str
    density: float
    conductivity: float
    softens: float
    wear_low: float
    wear: float
    wear_high: float


def _microgram(low: float, usual: float, high: float) -> tuple[float, float, float]:
    return low * 1e-9, usual * 1e-9, high * 1e-9


#: Wear in ug/C from memory: the upper end of the order that A. L. Donaldson et al., "Electrode erosion phenomena in a
#: high-energy pulsed discharge", IEEE Trans. Plasma Sci. 12 (1984) 28, report for tens of kiloamperes, the lower end of
#: that of short arcs of some hundred amperes in air. Density and conductivity from general handbooks, from memory.
#: ``softens``: where the metal loses its strength, or zinc leaves the brass, or carbon and tungsten begin to burn in
#: air.
MATERIALS: MappingProxyType[str, ElectrodeMaterial] = MappingProxyType(
    {
        m.name: m
        for m in (
            ElectrodeMaterial("copper", 8960.0, 390.0, 473.0, *_microgram(2, 20, 180)),
            ElectrodeMaterial("brass", 8500.0, 120.0, 573.0, *_microgram(3, 30, 340)),
            ElectrodeMaterial("tungsten", 19300.0, 170.0, 773.0, *_microgram(1, 12, 100)),
            ElectrodeMaterial("tungsten-copper", 15000.0, 200.0, 773.0, *_microgram(1, 12, 120)),
            ElectrodeMaterial("stainless", 7900.0, 16.0, 773.0, *_microgram(3, 25, 200)),
            ElectrodeMaterial("carbon", 1800.0, 100.0, 773.0, *_microgram(0.3, 2, 15)),
        )
    }
)

#: Drop of a short arc, cathode and anode falls nearly all of it: "normally a few tens of volts", Nature 212 (1966)
#: "Cathode region of a vapour arc" (seen). The band is ours.
ARC_DROP = (40.0, 20.0, 60.0)
#: Share of an arc's heat that goes into the two electrodes (assumption: the short arc's drop is all at its ends).
HEAT_INTO_METAL = (0.9, 0.5, 1.0)
DRIFT = 0.05  # of the spacing
#: Surface heat transfer of a small rod in still air with radiation, and in a blast of about 10 m/s [W/(m2 K)]. Still:
#: S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, gives 12 to 17 for 5 cm; blast: of the
#: order of 100 for a rod of a centimetre (F. P. Incropera et al., cylinder in cross flow, from memory).
STILL_AIR = (14.0, 10.0, 20.0)
AIR_DENSITY, AIR_HEAT = 1.204, 1006.0  # kg/m3 and J/(kg K) at 20 degC (handbook, from memory)


def moved_charge(capacitance: float, voltage: float, decrement: float, half_cycles: float = inf) -> float:
    """Return the charge that goes through the gap in one bang, either way counted alike: the integral of |i| [C].

    Parameters
    ----------
    capacitance, voltage
        Of the tank when the gap fires [F, V].
    decrement
        Logarithmic decrement of the ring while the gap burns, for one whole period.
    half_cycles
        After how many half-cycles the gap goes out; infinity: it rings out.

    Notes
    -----
    Each half-cycle leaves q = exp(-decrement / 2) of the volts with the opposite sign, so that it moves (1 + q) times
    what was there: a geometric series, C V (1 + q)(1 - q^n) / (1 - q), and C V coth(decrement / 4) in all.

    Examples
    --------
    >>> print(f"{moved_charge(10e-9, 10e3, 0.2) * 1e3:.2f} mC of {10e-9 * 10e3 * 1e3:.1f} mC stored")
    2.00 mC of 0.1 mC stored
    """
    if capacitance <= 0 or decrement <= 0 or half_cycles <= 0:
        raise ValueError("capacitance, decrement and the number of half-cycles must be positive")
    q = exp(-decrement / 2)
    left = float(q**half_cycles)
    return capacitance * abs(voltage) * (1 + q) * (1 - left) / (1 - q)


def bang_charge(
    capacitance: float, voltage: float, decrement: float, gap_drop: float, half_cycles: float = inf
) -> float:
    """Return the charge of one bang [C], no more than the energy stored can drive through a gap that drops
    ``gap_drop`` [V] in all.
    """
    if gap_drop <= 0:
        raise ValueError(f"the drop of the gap must be positive: got {gap_drop} V")
    return min(moved_charge(capacitance, voltage, decrement, half_cycles), capacitance * voltage**2 / 2 / gap_drop)


def arc_heat(charge_rate: float, drop: float) -> float:
    """Return the heat of one arc [W]: ``charge_rate`` is the integral of |i| in a second [C/s]."""
    return charge_rate * drop


def spacing_rate(volume_rate: float, face: float, presentations: int = 1) -> float:
    """Return how fast one gap grows [m/s] by the metal lost, spread evenly over the faces.

    ``volume_rate`` [m3/s] is of both electrodes of that gap together, ``face`` [m2] one electrode's worn face. Of a
    rotary gap's fixed and moving electrodes the fixed one takes its half alone, the moving ones share theirs.
    """
    if face <= 0 or presentations < 1:
        raise ValueError(f"needs a face and at least one presentation: got {face} m2, {presentations}")
    return volume_rate / 2 / face * (1 + 1 / presentations)


def drift_time(spacing: float, rate: float) -> float:
    """Return the running time [s] until the spacing [m] has grown by 5 % at ``rate`` [m/s]."""
    return DRIFT * spacing / rate if rate > 0 else inf


# ---- heat ------------------------------------------------------------------------------------------------------------


def rod_conductance(conductivity: float, diameter: float, length: float, transfer: float, *, held: bool) -> float:
    """Return watts per kelvin from a rod's hot end to the room.

    A fin with the heat at its free end (F. P. Incropera et al., Fundamentals of Heat and Mass Transfer, extended
    surfaces; tested against the differential equation): k A m / tanh(m L) where the other end is ``held`` at the room's
    temperature by a large holder, k A m tanh(m L) where it hands over no heat; m^2 = 4 h / (k d). The hot end's own
    face is left out.
    """
    m = sqrt(4 * transfer / (conductivity * diameter))
    along = conductivity * pi * diameter**2 / 4 * m
    return along / tanh(m * length) if held else along * tanh(m * length)


def carrying_air(heat: float, rise: float) -> float:
    """Return the air [m3/s] that carries ``heat`` [W] away and warms by ``rise`` [K]."""
    return heat / (AIR_DENSITY * AIR_HEAT * rise)


def sweeping_speed(diameter: float, interval: float) -> float:
    """Return the air speed [m/s] that moves the gap's hot gas out by one electrode's diameter between two bangs."""
    return diameter / interval


def sweeping_air(diameter: float, spacing: float, interval: float) -> float:
    """Return the air of a jet as wide as the electrode, and as high as it or the gap, at that speed [m3/s]."""
    return sweeping_speed(diameter, interval) * diameter * max(diameter, spacing)


__all__ = [
    "ARC_DROP",
    "DRIFT",
    "HEAT_INTO_METAL",
    "MATERIALS",
    "STILL_AIR",
    "ElectrodeMaterial",
    "arc_heat",
    "bang_charge",
    "carrying_air",
    "drift_time",
    "moved_charge",
    "rod_conductance",
    "spacing_rate",
    "sweeping_air",
    "sweeping_speed",
]
