"""The mains side of the set: its filter and which way that faces, key switch, stop, what counts as a disconnection."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, pi

MAINS_TOLERANCE = 1.1  # highest over nominal mains volts, EN 50160, from memory
#: A residual-current device must not trip below half its rated current and must trip at all of it: IEC 61008-1, from
#: memory.
MAY_TRIP = 0.5
#: Most that other things on the same device may leak already, share of its rated current (IEC 60364-5-53: standing
#: leakage up to 0.3 of it, from memory).
STANDING_SHARE = 0.3
#: Protective-conductor current of a fixed class I apparatus: 3.5 mA, IEC 60335-1 cl. 13.2, from memory.
CLASS_ONE_LEAKAGE = 3.5e-3
DISCONNECTIONS = 2


@dataclass(frozen=True)
class Means:
    """A way of switching off. ``counts`` as one of the two disconnections; ``why`` says why, or why not."""

    name: str
    counts: bool
    why: str


MEANS: tuple[Means, ...] = (
    Means("plug pulled, in sight", True, "both poles open, and everybody sees it"),
    Means("isolator with a lock, all poles", True, "open contacts that are proved, the key in the pocket"),
    Means("contactor, coil through key and stop", True, "only beside one of the two above: its contacts weld"),
    Means("breaker", False, "it is there for the wiring; as a switch it is the second best, and it is not locked"),
    Means("key switch", False, "it carries the contactor's coil, not the set: it says who may, it separates nothing"),
    Means("stop button", False, "it drops the contactor: a control, not a separation"),
    Means("variable transformer at zero", False, "its output is mains at any setting"),
    Means("foot or hold-to-run switch", False, "it stops when let go; it separates nothing and may stick"),
)

#: How the filter faces. Source: common practice, no source.
FACING = (
    (
        "Mains filter: terminals LINE to the mains, terminals LOAD to the set. It keeps what the coil makes off the "
        "house: turned round, its better side faces the wrong way."
    ),
    (
        "Its case is bolted bare to the earthed metal at the place where the mains comes in, with the protective "
        "conductor; LINE and LOAD leads do not run side by side. The radio-frequency ground does not end on its case."
    ),
    (
        "It is rated for the largest mains current with every correction capacitor failed open; the correction "
        "capacitor stands on its LOAD side, switched with the set."
    ),
)
STOP = (
    (
        "Key switch in the coil circuit of the contactor, key with whoever has hands in the set. Stop button "
        "(latching, red on yellow, opening contact) in the same circuit, within reach of the operator and outside the "
        "keep-out distance: EN ISO 13850, EN 60204-1, from memory."
    ),
    "Self-holding: after a mains failure the contactor stays out until it is switched on again.",
    "The coil circuit runs on protected low volts; a wire that falls off opens it.",
)


@dataclass(frozen=True)
class LeakageVerdict:
    """Earth current of the filter's capacitors [A rms] at mains + 10 %, against the residual-current device's."""

    current: float
    trip: float | None
    share: float | None
    may_trip: bool
    words: str


def filter_leakage(mains_voltage: float, frequency: float, capacitance: float, trip: float | None) -> LeakageVerdict:
    """Return what the capacitors from the live conductor to earth [F, their sum] leak at mains + 10 %.

    ``trip`` [A] is that of the residual-current device, None where there is none. It may trip from half of that; 0.3 of
    it is left for what leaks already.
    """
    if not (mains_voltage > 0 and frequency > 0 and isfinite(capacitance) and capacitance >= 0):
        raise ValueError(f"mains must be positive and capacitance from 0 up: got {mains_voltage} V, {capacitance} F")
    current = 2 * pi * frequency * capacitance * MAINS_TOLERANCE * mains_voltage
    share = None if trip is None else current / trip
    may_trip = share is not None and share > MAY_TRIP - STANDING_SHARE
    words = "no residual-current device" if share is None else f"{share * 100:.1f} % of its rated residual current"
    if may_trip:
        words += ": with what leaks already it may trip; a filter with less capacitance to earth"
    return LeakageVerdict(current, trip, share, may_trip, words)


def largest_leakage_capacitance(mains_voltage: float, frequency: float, trip: float) -> float:
    """Return the largest sum of capacitors to earth [F] that leaves the residual-current device alone."""
    if not trip > 0:
        raise ValueError(f"trip current must be positive: got {trip} A")
    return (MAY_TRIP - STANDING_SHARE) * trip / (2 * pi * frequency * MAINS_TOLERANCE * mains_voltage)


__all__ = [
    "CLASS_ONE_LEAKAGE",
    "DISCONNECTIONS",
    "FACING",
    "MEANS",
    "STOP",
    "LeakageVerdict",
    "Means",
    "filter_leakage",
    "largest_leakage_capacitance",
]
