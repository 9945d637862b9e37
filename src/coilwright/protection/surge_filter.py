"""The resistor and capacitor between supply and gap, in each leg, and what a choke in their place does.

A leg: winding end with the capacitor to earth, then the resistor, then safety gap, tank and gap. The capacitor is on
the winding's side, so that resistor and capacitor divide what the gap sends back. Lumped: the winding is its stray
capacitance, earth is one point and the leads have no inductance; a real filter lets more through above some megahertz.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp, isfinite, log, pi, sqrt

from coilwright.model.preferred import E6, preferred_above, preferred_below

#: Share of the open volts that the resistors may cost at best power, and share of the energy of a bang that the
#: filter's capacitors may take from it (our rules, no source).
DROP_SHARE = 0.03
ENERGY_SHARE = 0.03
#: The capacitor is at least so many times the winding's stray capacitance, or the winding and not the filter decides
#: (our rule).
OVER_STRAY = 5.0
#: Attenuation of the ring that is aimed at; what the two shares allow is often less, and is shown.
WANTED_ATTENUATION = 0.1
#: Volts peak that one wire-wound power resistor of a usual size stands (assumption from makers' sheets, from memory:
#: 0.5 to 1.5 kV).
RESISTOR_PIECE = 500.0
#: A resistor in a box is used at half its rated watts (common practice, no source).
POWER_MARGIN = 2.0
#: Loss tangent of a film or ceramic pulse capacitor at the filter's corner (assumption, upper end of polypropylene).
LOSS_TANGENT = 1e-3


@dataclass(frozen=True)
class Leg:
    """What one leg of the supply does to its filter.

    ``open_rms`` [V] of this leg to earth, ``current_rms`` [A] that flows through the resistor while the set runs,
    ``firing_peak`` [V] of this leg when the gap fires, ``highest_peak`` [V] that this leg can reach at all (gap
    missing), ``break_rate`` [1/s], ``stray`` [F] of the winding end to earth, ``mains`` [Hz].
    """

    open_rms: float
    current_rms: float
    firing_peak: float
    highest_peak: float
    break_rate: float
    stray: float = 0.0
    mains: float = 50.0

    def __post_init__(self) -> None:
        values = (self.open_rms, self.current_rms, self.firing_peak, self.highest_peak, self.break_rate, self.stray)
        if not all(isfinite(v) and v >= 0 for v in values) or not self.mains > 0:
            raise ValueError(f"a leg needs numbers from 0 up and a positive frequency: got {self}")


@dataclass(frozen=True)
class Surge:
    """What happens in one leg each time the gap fires: the filter's capacitor empties through the resistor."""

    energy: float  # J into the resistor
    current_peak: float  # A
    power_peak: float  # W
    time_constant: float  # s


@dataclass(frozen=True)
class FilterHeat:
    """Watts in one leg while the set runs. ``ring`` is there only where the tank lies across the supply."""

    supply: float
    surge: float
    ring: float
    capacitor: float

    @property
    def resistor(self) -> float:
        return self.supply + self.surge + self.ring


@dataclass(frozen=True)
class FilterNeeds:
    """What the parts of one leg must be rated for."""

    resistor_power: float  # W, with the margin
    resistor_peak: float  # V, the full swing of the tank
    pieces: int
    capacitor_rms: float  # V of the mains' frequency, with mains + 10 %
    capacitor_peak: float  # V
    capacitor_current: float  # A rms
    capacitor_dv_dt: float  # V/s


@dataclass(frozen=True)
class FilterAdvice:
    """Values for one leg, and what decided the capacitor: attenuation | energy | stray."""

    resistance: float
    capacitance: float
    decided_by: str


@dataclass(frozen=True)
class ChokeRing:
    """A choke into the stray capacitance of a winding end: own frequency [Hz], quality, and what it does to the volts.

    ``swing`` is the highest change of the winding's volts over the step at the gap (1: as without a choke, up to 2),
    ``gain`` the winding's volts over the gap's at the ring frequency of the tank.
    """

    frequency: float
    quality: float
    swing: float
    gain: float


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value > 0):
            raise ValueError(f"{name.replace('_', ' ')} must be a positive number: got {value}")


def corner_frequency(resistance: float, capacitance: float) -> float:
    """Return 1 / (2 pi R C) [Hz]."""
    _positive(resistance=resistance, capacitance=capacitance)
    return 1 / (2 * pi * resistance * capacitance)


def attenuation(frequency: float, resistance: float, capacitance: float) -> float:
    """Return the volts at the winding over those at the gap, of a sine of that frequency: first order."""
    _positive(frequency=frequency)
    return 1 / sqrt(1 + (frequency / corner_frequency(resistance, capacitance)) ** 2)


def rise_time(resistance: float, capacitance: float) -> float:
    """Return the time [s] from 10 to 90 % in which the winding follows a step at the gap: R C ln 9."""
    _positive(resistance=resistance, capacitance=capacitance)
    return resistance * capacitance * log(9)


def surge(resistance: float, capacitance: float, peak: float) -> Surge:
    """Return what one bang does: C V^2 / 2 all of it in the resistor, for the arc's volts are small beside ``peak``."""
    _positive(resistance=resistance, capacitance=capacitance)
    return Surge(capacitance * peak**2 / 2, peak / resistance, peak**2 / resistance, resistance * capacitance)


def ring_energy(resistance: float, capacitance: float, peak: float, frequency: float, quality: float) -> float:
    """Return what the ring of the tank leaves in the resistor each bang [J], the tank lying across the supply.

    Ring V exp(-t / tau) cos(w t), tau = Q / (pi f): the integral of V^2 cos^2 exp(-2 t / tau) is V^2 tau / 4 for many
    periods in tau; R and C in series take R / (R^2 + X^2) of it.
    """
    _positive(resistance=resistance, capacitance=capacitance, frequency=frequency, quality=quality)
    reactance = 1 / (2 * pi * frequency * capacitance)
    return peak**2 * quality / (pi * frequency) / 4 * resistance / (resistance**2 + reactance**2)


def heat(
    leg: Leg,
    resistance: float,
    capacitance: float,
    ring: tuple[float, float] | None = None,
    loss_tangent: float = LOSS_TANGENT,
) -> FilterHeat:
    """Return the heat of one leg. ``ring`` is (frequency [Hz], quality) where the tank lies across the supply.

    The capacitor's loss is its tangent at the mains' frequency and pi times the tangent of what it empties and fills
    with each bang (the loss of one cycle at that swing: an estimate).
    """
    bang = surge(resistance, capacitance, leg.firing_peak)
    rung = ring_energy(resistance, capacitance, leg.firing_peak, *ring) if ring else 0.0
    mains = 2 * pi * leg.mains * capacitance * leg.open_rms**2 * loss_tangent
    return FilterHeat(
        leg.current_rms**2 * resistance,
        leg.break_rate * bang.energy,
        leg.break_rate * rung,
        mains + pi * loss_tangent * leg.break_rate * bang.energy,
    )


def needs(leg: Leg, resistance: float, capacitance: float, heated: FilterHeat) -> FilterNeeds:
    """Return the ratings that the parts of one leg need; ``heated`` is the most that they may have to take.

    The resistor stands twice the leg's highest peak: the tank may swing through to the other sign while the
    capacitor still holds its charge. The capacitor's current is that of the mains and of the bangs, V^2 C / 2 R each.
    """
    swing = 2 * leg.highest_peak
    mains = 2 * pi * leg.mains * capacitance * leg.open_rms
    bangs = leg.break_rate * leg.firing_peak**2 * capacitance / (2 * resistance)
    return FilterNeeds(
        POWER_MARGIN * heated.resistor,
        swing,
        max(ceil(swing / RESISTOR_PIECE), 1),
        1.1 * leg.open_rms,
        leg.highest_peak,
        sqrt(mains**2 + bangs),
        swing / (resistance * capacitance),
    )


def advise(
    open_rms: float, current: float, tank: float, legs: int, frequency: float, stray: float = 0.0
) -> FilterAdvice:
    """Return resistor and capacitor of one leg for this supply.

    Parameters
    ----------
    open_rms : float, [V] current : float, [A]
        Of this leg to earth, open, and at best power.
    tank : float, [F]
        The tank, or where there is none yet the mains-resonant capacitance.
    legs : int
        Output ends that are not earthed: 1 or 2.
    frequency : float, [Hz] stray : float, [F]
        Ring of the tank; winding end to earth.

    Notes
    -----
    R = 3 % of the open volts over the current at best power. The capacitors of all legs empty into the gap with each
    bang: legs C V_leg^2 / 2 against C_tank (legs V_leg)^2 / 2, so C may be 3 % x legs x C_tank. Within that it is as
    large as brings the ring to a tenth. At least five times the stray capacitance goes before both. All rounded down
    to E6.
    """
    _positive(open_voltage=open_rms, current=current, tank_capacitance=tank, frequency=frequency)
    if legs not in (1, 2):
        raise ValueError(f"an output has one or two ends off earth: got {legs}")
    resistance = preferred_below(DROP_SHARE * open_rms / current, E6)
    wanted = sqrt(1 / WANTED_ATTENUATION**2 - 1) / (2 * pi * frequency * resistance)
    budget, least = ENERGY_SHARE * legs * tank, OVER_STRAY * stray
    value, decided = min((wanted, "attenuation"), (budget, "energy"))
    if least > value:
        return FilterAdvice(resistance, preferred_above(least, E6), "stray")
    return FilterAdvice(resistance, preferred_below(value, E6), decided)


def drop(resistance: float, current: float, open_rms: float) -> float:
    """Return the share of a leg's open volts that the resistor costs at ``current`` [A rms]: an upper bound, for the
    ballast's volts stand across the resistor's in the vector sum.
    """
    _positive(open_voltage=open_rms)
    return resistance * current / open_rms


def choke_ring(inductance: float, stray: float, resistance: float, frequency: float) -> ChokeRing:
    """Return what a choke [H] with series losses [ohm] into a winding's ``stray`` [F] does at ``frequency`` [Hz].

    Second order: H = 1 / (1 - (w / w0)^2 + j w / (w0 Q)), Q = sqrt(L / C) / R, overshoot of a step
    exp(-pi zeta / sqrt(1 - zeta^2)), zeta = 1 / 2Q (any text on control). The step is the gap's, from the firing volts
    to nothing in no time.
    """
    _positive(inductance=inductance, stray_capacitance=stray, loss_resistance=resistance, frequency=frequency)
    own = 1 / (2 * pi * sqrt(inductance * stray))
    quality = sqrt(inductance / stray) / resistance
    zeta = 1 / (2 * quality)
    over = exp(-pi * zeta / sqrt(1 - zeta**2)) if zeta < 1 else 0.0
    x = frequency / own
    return ChokeRing(own, quality, 1 + over, 1 / sqrt((1 - x**2) ** 2 + (x / quality) ** 2))


__all__ = [
    "ChokeRing",
    "FilterAdvice",
    "FilterHeat",
    "FilterNeeds",
    "Leg",
    "Surge",
    "advise",
    "attenuation",
    "choke_ring",
    "corner_frequency",
    "drop",
    "heat",
    "needs",
    "ring_energy",
    "rise_time",
    "surge",
]
