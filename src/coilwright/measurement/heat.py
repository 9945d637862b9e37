"""How hot a part gets and for how long it may run, where anything is known of it.

    rise = loss / (h A),        time constant = c m / (h A),        rise(t) = rise (1 - exp(-t / tau))

h = 12 W/(m2 K) takes convection and radiation together at a rise of some tens of kelvin (from memory; between the
values of a vertical plate 0.1 to 0.2 m high: convection after S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass
Transfer 18 (1975) 1323, radiation of a grey body; a test holds it against them). The form, loss over surface times
one coefficient, is equation 1 of an article of 2010 by A. Van den Bossche and V. C. Valchev of which an excerpt was
seen and the title not kept. c = 430 J/(kg K) is iron with copper (from memory). The winding
leads the iron, so the time from cold until the limit is taken with half the time constant (assumption). Without mass
and surface, and without a temperature test, nothing is known and nothing is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

from coilwright.measurement.kinds import STRAY, WARM
from coilwright.measurement.readings import mark_of
from coilwright.model.known import Estimate
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable

HEAT_TRANSFER = 12.0
SPECIFIC_HEAT = 430.0
#: Rise that the insulation of unknown old iron may have [K] (assumption: below class A, IEC 60085, from memory).
LIMIT_RISE = 70.0
#: Half width of the band of a computed temperature, as a factor: without a reading it is a guess.
GUESS_FACTOR = 2.0
#: Time constant of a part of unknown mass [s] and its band as a factor (assumption).
USUAL_TIME_CONSTANT, TIME_FACTOR = 3600.0, 2.0

Part = Transformer | Choke | Capacitor | Resistor | Variable


@dataclass(frozen=True)
class PartHeat:
    """Loss [W] at best power and at short circuit; rise [K], time from cold to the limit [s] and duty at best power."""

    loss: float
    loss_short: float
    temperature_rise: Estimate | None = None
    on_time: Estimate | None = None
    duty: float | None = None
    basis: str = ""


@dataclass(frozen=True)
class _Thermal:
    """Kelvin per watt in the steady state with its band, and the time constant [s] with its band factor."""

    per_watt: Estimate
    time_constant: float
    time_factor: float


def part_heat(part: Part, loss: float, loss_short: float, on_time: float | None = None) -> PartHeat:
    """Return the heat of a part that loses ``loss`` W at best power and ``loss_short`` W in a short circuit.

    With ``on_time`` the rise is the one reached by then from cold, else the one of continuous running.
    """
    thermal = _thermal(part)
    if thermal is None:
        return PartHeat(loss, loss_short, basis="not known: no mass and surface, and no temperature test")
    k = thermal.per_watt
    final = Estimate(k.value * loss, k.low * loss, k.high * loss, k.mark, "K", k.basis)
    time = thermal.time_constant / 2
    share = 1.0 if on_time is None else 1 - exp(-on_time / time)
    # The shorter the run, the more the rise hangs on the time constant's own band.
    wide = 1.0 if on_time is None else (1 - exp(-on_time * thermal.time_factor / time)) / share
    rise = Estimate(
        final.value * share,
        final.low * share / wide,
        final.high * share * wide,
        final.mark,
        "K",
        k.basis if on_time is None else f"{k.basis}; after {on_time:.0f} s from cold",
    )
    until = _until(final.value, time)
    low, high = _until(final.high, time / thermal.time_factor), _until(final.low, time * thermal.time_factor)
    limit = None
    if until is not None and low is not None:
        limit = Estimate(
            until,
            low,
            high if high is not None else float("inf"),
            "pencil",
            "s",
            f"until {LIMIT_RISE:.0f} K above the room, from cold; {k.basis}",
        )
    duty = min(1.0, LIMIT_RISE / final.value) if final.value > 0 else 1.0
    return PartHeat(loss, loss_short, rise, limit, duty, k.basis)


def _until(final: float, time: float) -> float | None:
    """Return the seconds until the limit, None where it is never reached."""
    return -time * log(1 - LIMIT_RISE / final) if final > LIMIT_RISE else None


def _thermal(part: Part) -> _Thermal | None:
    mass = getattr(part, "mass", None)
    surface = getattr(part, "surface", None)
    time, factor = USUAL_TIME_CONSTANT, TIME_FACTOR
    if mass is not None and surface is not None:
        time, factor = SPECIFIC_HEAT * mass.value / (HEAT_TRANSFER * surface.value), 1.5
    read = _from_test(part, time, factor) if isinstance(part, Choke) else None
    if read is not None:
        return _Thermal(read, time, factor)
    if mass is None or surface is None:
        return None
    k = 1 / (HEAT_TRANSFER * surface.value)
    return _Thermal(
        Estimate(k, k / GUESS_FACTOR, k * GUESS_FACTOR, "pencil", "K/W", "computed from surface and mass: a guess"),
        time,
        factor,
    )


def _from_test(part: Choke, time: float, factor: float) -> Estimate | None:
    """Return K/W from the longest temperature test, with the loss that the choke had at its current."""
    if not part.temperature_test:
        return None
    test = max(part.temperature_test, key=lambda t: t.minutes)
    resistance = effective_resistance(part)
    if resistance is None:
        return None
    loss = test.current**2 * resistance
    reached = 1 - exp(-test.minutes / time)
    spread = (1 - exp(-test.minutes * factor / time)) / reached
    value = test.rise.value / reached / loss
    error = 1 + (test.rise.tolerance or 0.1 * test.rise.value) / max(test.rise.value, 1e-9)
    return Estimate(
        value,
        value / (spread * error),
        value * spread * error,
        mark_of(test.stamp),
        "K/W",
        f"temperature test at {test.current:.3g} A over {test.minutes / 60:.0f} min",
    )


def effective_resistance(part: Choke) -> float | None:
    """Return what turns a choke's current into loss [ohm]: power over current squared as read, else its warm
    resistance.
    """
    read = [t.power.value / t.current.value**2 for t in part.test if t.power is not None and t.current.value > 0]
    if read:
        return sum(read) / len(read)
    if part.resistance is None:
        return None
    return part.resistance.value * WARM * STRAY.median
