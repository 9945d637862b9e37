"""Ground, mains side and soft start in words with this project's numbers."""

from __future__ import annotations

from coilwright.analyses.tank_results import SupplySide
from coilwright.model.design import Design
from coilwright.protection.fuses import SoftStart
from coilwright.protection.mains_side import (
    DISCONNECTIONS,
    FACING,
    MEANS,
    STOP,
    filter_leakage,
    largest_leakage_capacitance,
)
from coilwright.protection.rf_ground import SAFETY_EARTH, Strap, strap, wire_inductance
from coilwright.protection.wording import amperes, farads, joules, listed, ohms, seconds, volts_peak, watts

#: Strap of the example: length, width [m]; wire of the same length beside it [m]; sum of the line's capacitors to earth
#: of a usual mains filter [F] (assumptions).
STRAP, WIRE, USUAL_FILTER = (2.0, 0.1), 2e-3, 10e-9


def ground_words(design: Design, side: SupplySide) -> tuple[str, ...]:
    """Return the radio-frequency ground: where it goes, what a strap does, what the code decides."""
    length, width = STRAP
    rod = design.earth.rf_ground_resistance.value if design.earth and design.earth.rf_ground_resistance else None
    f = side.ring_frequency.value
    bare: Strap = strap(length, width, f)
    wire = wire_inductance(length, WIRE)
    words = [
        "The coil's base goes by a short wide strap to a rod of its own, near the coil; never to the house's earth.",
        (
            f"At {f / 1e3:.0f} kHz (assumed or read) a strap {length:g} m by {width * 1e3:.0f} mm has "
            f"{ohms(bare.reactance)} ({bare.inductance * 1e6:.2f} uH, Grover, from memory): "
            f"{volts_peak(bare.volts(1.0))} for each ampere peak. "
            f"A wire of 2 mm of that length has {wire / bare.inductance:.1f} times as much."
        ),
    ]
    if rod is None:
        words.append(
            "Resistance of the rod not stated: it adds its ohms as volts for each ampere, and usually decides."
        )
    else:
        whole = strap(length, width, f, rod)
        words.append(
            f"With the rod's {ohms(rod)}: {volts_peak(whole.volts(1.0))} for each ampere peak of base current."
        )
    words.append(
        "Whether and how the rod is bonded to the earth of the installation is decided by the local code. The "
        "protective conductor of cores and cases stays as it is: never lifted, never replaced by the rod."
    )
    words.append(SAFETY_EARTH)
    return tuple(words)


def disconnection_words(design: Design) -> tuple[str, ...]:
    """Return mains filter, key, stop and disconnections, with what this site's residual-current device allows."""
    site = design.site
    volts, frequency, trip = site.mains_voltage.value, site.frequency.value, site.rcd.value
    leak = filter_leakage(volts, frequency, USUAL_FILTER, trip)
    words = [*FACING, f"A filter of {farads(USUAL_FILTER)} to earth leaks {amperes(leak.current)}: {leak.words}."]
    if trip is not None:
        most = largest_leakage_capacitance(volts, frequency, trip)
        words.append(f"The {amperes(trip)} device holds up to {farads(most)} of filter to earth.")
    words += STOP
    count = design.protection.disconnections if design.protection else None
    stated = "not stated" if count is None else f"{count} stated"
    words.append(f"Disconnections in series, all poles: {DISCONNECTIONS} wanted, {stated}.")
    words.append(f"What counts: {listed(f'{m.name} ({m.why})' for m in MEANS if m.counts)}.")
    words.append(f"What does not: {listed(f'{m.name} ({m.why})' for m in MEANS if not m.counts)}.")
    return tuple(words)


def soft_start_words(start: SoftStart, first_peak: float | None, needed: bool | None) -> tuple[str, ...]:
    """Return whether a soft start is needed for the breaker, what it is made of, its heat and how it fails.

    ``first_peak`` [A] is that of the set switched on without one, None where it is not known.
    """
    known = "is not known" if first_peak is None else f"is {amperes(first_peak)}"
    edge = f"the breaker's magnetic band begins at {amperes(start.peak_limit)} as a peak"
    verdict = {
        True: "a soft start is needed",
        False: "a soft start is not needed for the breaker",
        None: "a soft start may be needed",
    }[needed]
    after = "If the breaker trips all the same: in" if needed is False else "In"
    return (
        f"First peak at switch-on {known}; {edge}: {verdict}.",
        (
            f"{after} the live conductor at least {ohms(start.least)} (next that is sold: {ohms(start.resistance)}, a "
            f"type for pulses), bridged by a relay after {seconds(start.delay)}."
        ),
        (
            f"It takes each time at most {joules(start.energy)}: an upper bound, not worked out from that first peak, "
            "but a half cycle of the whole mains + 10 % (core saturated, correction capacitors empty) and then the "
            "largest steady current (output shorted, correction failed open) until the relay closes."
        ),
        (
            f"Relay that does not close: the resistor burns {watts(start.held)} at full current until its thermal "
            "cut-out, which it must have, opens the contactor. Relay that has welded: no soft start; "
            "nothing shows it."
        ),
        "A thermistor (NTC) of that value when cold does the same once: still warm, it limits nothing; wait minutes.",
    )


__all__ = ["disconnection_words", "ground_words", "soft_start_words"]
