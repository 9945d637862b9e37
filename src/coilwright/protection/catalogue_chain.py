"""Rules about what stands between mains and gap, and about the ground of the coil."""

from __future__ import annotations

from coilwright.protection.rule import Rule

CHAIN: tuple[Rule, ...] = (
    Rule(
        "rf-ground",
        "STOP",
        False,
        "a coil whose base is on the protective earth of the house, on nothing, or on what is not stated",
        "The coil's base current has no ground of its own.",
        "House wiring rings at kilovolts with it; a base on nothing strikes to what is near.",
        "-",
        "Short wide strap to its own rod near the coil; whether and how that rod is bonded to the installation is "
        "decided by the local code. The protective conductor of cores and cases is never lifted, and never replaced "
        "by the rod.",
        "NEC 250.50 and 250.53, IEC 60364-5-54, from memory",
    ),
    Rule(
        "strike-to-mains",
        "STOP",
        False,
        "twice the streamer reaches walls or ceiling, and with them wiring, lamps, detectors, pipes or sockets",
        "House wiring takes the strike.",
        "A streamer follows no plan; twice its estimated length is the reach that counts.",
        "2 x estimated length",
        "Move it, shorten it, guard rail, breakout aimed away from the walls.",
        "common practice, no source",
    ),
    Rule(
        "underground",
        "CAUTION",
        False,
        "a rod is going to be driven",
        "Gas, water and power lines lie where a rod is driven.",
        "A rod of a metre and a half goes deeper than most of them.",
        "-",
        "Call the utilities' locating service first.",
        "common practice, no source",
    ),
    Rule(
        "filter-missing",
        "CAUTION",
        False,
        "a gap without a filter in each leg of the supply, or with one too fast to hold a step",
        "The winding takes every step and ring of the gap.",
        "A fast step stands across the first turns of a winding, not along all of it.",
        "R C at least 100 ns (our rule)",
        "Resistor and capacitor in each leg, values and ratings as worked out; no bypass choke without its resistor.",
        "common practice, no source; model",
    ),
    Rule(
        "interlock-missing",
        "CAUTION",
        False,
        "a gap, and no contact that cuts the supply when the guard is opened",
        "Nothing cuts the supply when the guard is opened.",
        "A hand that reaches in finds the set running.",
        "-",
        "Contact on the guard that opens by force, in the contactor's coil circuit; it replaces neither of the two "
        "disconnections, nor draining.",
        "EN ISO 14119, from memory",
    ),
    Rule(
        "fuse-missing",
        "NOTE",
        False,
        "a gap, and no fuse in the set's mains lead, or one below the largest steady current or above the breaker",
        "The breaker of the house is all that protects the set's own wiring.",
        "It is sized for the wiring in the wall; a bypassed ballast or a shorted primary is the set's own fault.",
        "from the largest steady mains current up to the rated current of the breaker",
        "Time-lag fuse in every live conductor, behind the disconnections. It protects nobody who touches the output.",
        "IEC 60127-2, from memory",
    ),
)
