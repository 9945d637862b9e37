"""Rules about the tank capacitor and what protects it."""

from __future__ import annotations

from coilwright.protection.rule import Rule

TANK: tuple[Rule, ...] = (
    Rule(
        "tank-overvolt-gap-missing",
        "STOP",
        False,
        "the highest peak with the gap missing, over the tank's tolerance and with its band, above a rating, and no "
        "safety gap that fires below that rating with all of its band; or no rating known",
        "If the gap misses, the terminals go far above the open voltage.",
        "The ballast rings with the tank, on a harmonic too, far below the mains resonance: a phasor shows nothing "
        "of it.",
        "rated rms x 1.414 of the weakest part",
        "Safety gap per leg below the rating, another capacitance, or a proof test by a qualified person; never "
        "switch on with the gap "
        "open.",
        "common practice, no source; model",
    ),
    Rule(
        "safety-gap-missing",
        "STOP",
        False,
        "a tank without a safety gap, or with one whose band reaches outside its window",
        "Nothing protects winding and capacitor when the gap misses.",
        "The tank rings up within a few half-cycles.",
        "per leg: above 1.05 x open peak to earth, below the weakest rating",
        "Tank disconnected, ballast in place; unplug, drain and short before every adjustment; narrow until it "
        "fires, open until it "
        "just does not, then 8 % more (our margin); lock. Never widen the main gap for a longer spark.",
        "common practice, no source",
    ),
    Rule(
        "stored-energy-tank",
        "STOP",
        True,
        "charge or energy of the tank, or of a capacitor on a high winding, at its highest peak above a limit, or not "
        "known",
        "A charged tank or capacitor can kill or maim by itself.",
        "C V^2 / 2 at the peak with the gap missing, not at the gap's setting.",
        "45 uC from 450 V to 15 kV, 350 mJ above, 0.1 uF below; 0.25 J startle; 10 J contact; 1 J from 100 V, 0.25 "
        "J from 400 V",
        "Bleeders, drain stick with resistor, enclosure, shorting lead.",
        "IEC 60335-1 cl. 8.1.4 and DOE-HDBK-1092, seen; NFPA 70E:2021 art. 360, from memory",
    ),
    Rule(
        "bleeder-missing",
        "STOP",
        False,
        "a tank or any wired capacitor without its own bleeder, or with one that takes too long",
        "The charge stays when a lead, filter resistor or winding opens.",
        "With the winding connected the charge drains through it in milliseconds; the killing case is the broken "
        "lead, or the "
        "capacitor taken out.",
        "a string as a whole to 50 V in 60 s up to 600 V, in 300 s above; to 34 V in 1 s at plug pins",
        "Bleeder rated for the volts (several resistors in series) on each unit.",
        "NEC 460.6 (60 s), seen; NEC 460.28 (300 s), IEC 60335-1 cl. 22.5 and IEC 61048, from memory",
    ),
    Rule(
        "string-zero-is-not-dead",
        "CAUTION",
        False,
        "capacitors in a string",
        "A string that reads 0 V across its ends may hold opposite charges inside.",
        "Unequal capacitors and dielectric absorption.",
        "-",
        "Bleeder on every unit; short every unit below 60 V DC, not only the ends; store it with a wire across each.",
        "common practice, no source",
    ),
    Rule(
        "homebuilt-capacitor",
        "CAUTION",
        False,
        "plates, rolled or bottle capacitors",
        "Home-built capacitors shatter, burn and leak.",
        "Corona at the plate edges, heat of the loss.",
        "-",
        "Box, no people in line, fire blanket.",
        "common practice, no source",
    ),
    Rule(
        "tank-unfit-capacitor",
        "STOP",
        False,
        "a tank of capacitors that lose capacitance with the volts, heat up at the ring, stand one polarity only, or "
        "are made for mains alone",
        "These capacitors are none for a tank.",
        "Heat of the loss cracks or bursts them, and a tank that has lost capacitance may ring higher with its gap "
        "missing than any figure here says.",
        "loss tangent up to 0.005 at the ring, and the capacitance that is stated at all volts",
        "Take polypropylene, polystyrene, PTFE, mica or class 1 ceramic, rated for pulses.",
        "loss limit: design rule; losses from handbooks, from memory",
    ),
)
