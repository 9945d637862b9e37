"""Rules about the spark gap itself."""

from __future__ import annotations

from coilwright.protection.rule import Rule

GAP: tuple[Rule, ...] = (
    Rule(
        "rotor-burst",
        "STOP",
        False,
        "rotary gap: load of disc or bolts, tip speed or shield outside its limit, or not stated",
        "Electrodes leave a spinning rotor like bullets.",
        "F = m r w^2: 8 g on 100 mm pull with 79 N at 3000 rpm and with 316 N at 6000 rpm.",
        "disc and bolts 4 x their stress at the motor's highest speed; tip speed of the material (none found for "
        "plastics as such); a shield all round of the thickness shown",
        "Steel or thick polycarbonate shield all round the disc's plane; balance; no motor that can overspeed; spin "
        "test at 1.2 x unattended, behind a wall, with nobody in the room and the high voltage off and earthed.",
        "ISO 21940 (balance) and EN 12413 (tip speed), from memory; factor 4: design rule",
    ),
    Rule(
        "main-gap-too-wide",
        "CAUTION",
        False,
        "the upper end of what the main gap fires at, above a rating as it stands across the output",
        "The main gap is set above what windings or tank are rated for.",
        "The safety gap fires in its place, again and again; it is made for the odd miss, it wears and drifts, and "
        "behind it nothing else holds the volts.",
        "below every rating, as volts across the output",
        "Narrow the main gap until it fires below the largest setting, its scatter counted; leave the safety gap where "
        "it is.",
        "common practice, no source; model",
    ),
)
