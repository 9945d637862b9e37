"""What is assumed of a transformer about which the builder wrote little: medians and spreads by kind.

Everything here is pencil. Per-unit figures stand on the plate's volts and volt-amperes (base impedance V1^2 / S).
Sources: oven and sign medians follow the invented bench of the demonstration and the trade facts "an oven unit at 230
V gives about 2 A / 20 A into a short circuit" and "a sign plate carries open volts and short-circuit milliamperes"
(common practice, no source); the rest is common practice, no source, with spreads wide enough to say so.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """A log-normal guess: median, and the standard deviation of its logarithm."""

    median: float
    sigma: float


@dataclass(frozen=True)
class KindDefaults:
    """Guesses of one kind, per unit. ``saturation`` is the peak the saturating term adds at rated flux, over rated
    peak amperes.

    ``shunt_knee`` is the shunt's knee flux over the flux it would carry in a full-voltage short if its iron stayed
    linear; ``shunted`` False: the leakage path holds no iron. ``capacitances``: high to core, primary to core, high
    to primary [F]. ``core_end`` None: not to be guessed; it is then taken as none.
    """

    secondary_voltage: float
    power: float
    leakage: Spread
    magnetising: Spread
    saturation: Spread
    core_loss: Spread
    primary_resistance: Spread
    secondary_resistance: Spread
    shunted: bool
    shunt_knee: Spread = Spread(0.68, 0.28)
    air_share: Spread = Spread(0.45, 0.30)  # spread of the logit is twice 0.30: 0.45 +- 0.15
    capacitances: tuple[float, float, float] = (0.8e-9, 0.4e-9, 0.2e-9)
    core_end: str | None = None
    primary_voltage: float | None = None
    current_limited: bool = False
    heater: bool = False
    exponent: int = 9


KINDS: dict[str, KindDefaults] = {
    "oven": KindDefaults(
        2100.0,
        900.0,
        Spread(0.29, 0.30),
        Spread(0.20, 0.45),
        Spread(0.36, 0.7),
        Spread(0.055, 0.45),
        Spread(0.017, 0.35),
        Spread(0.021, 0.35),
        shunted=True,
        core_end="finish",
        heater=True,
    ),
    "sign": KindDefaults(
        8000.0,
        400.0,
        Spread(0.85, 0.35),
        Spread(0.25, 0.45),
        Spread(0.12, 0.8),
        Spread(0.09, 0.5),
        Spread(0.10, 0.5),
        Spread(0.06, 0.5),
        shunted=True,
        current_limited=True,
        shunt_knee=Spread(1.05, 0.40),
        capacitances=(0.4e-9, 0.3e-9, 0.1e-9),
    ),
    "ignition": KindDefaults(
        10e3,
        200.0,
        Spread(0.85, 0.4),
        Spread(0.35, 0.5),
        Spread(0.2, 0.9),
        Spread(0.10, 0.6),
        Spread(0.10, 0.6),
        Spread(0.08, 0.6),
        shunted=True,
        current_limited=True,
        shunt_knee=Spread(1.05, 0.45),
        capacitances=(60e-12, 150e-12, 30e-12),
    ),
    "measuring": KindDefaults(
        10e3,
        200.0,
        Spread(0.04, 0.5),
        Spread(0.04, 0.8),
        Spread(0.02, 1.2),
        Spread(0.03, 0.7),
        Spread(0.012, 0.7),
        Spread(0.015, 0.7),
        shunted=False,
        capacitances=(0.3e-9, 0.3e-9, 0.1e-9),
        exponent=11,
    ),
    "distribution": KindDefaults(
        10e3,
        10e3,
        Spread(0.04, 0.4),
        Spread(0.015, 0.8),
        Spread(0.015, 1.2),
        Spread(0.006, 0.6),
        Spread(0.010, 0.5),
        Spread(0.010, 0.5),
        shunted=False,
        capacitances=(1.0e-9, 1.0e-9, 0.5e-9),
        exponent=11,
    ),
    "isolation": KindDefaults(
        230.0,
        500.0,
        Spread(0.04, 0.5),
        Spread(0.10, 0.8),
        Spread(0.08, 1.0),
        Spread(0.03, 0.6),
        Spread(0.03, 0.6),
        Spread(0.035, 0.6),
        shunted=False,
        capacitances=(0.5e-9, 0.5e-9, 0.5e-9),
    ),
    "wound": KindDefaults(
        2000.0,
        1000.0,
        Spread(0.06, 0.7),
        Spread(0.15, 0.9),
        Spread(0.15, 1.2),
        Spread(0.05, 0.7),
        Spread(0.025, 0.7),
        Spread(0.03, 0.7),
        shunted=False,
    ),
    "lamp autotransformer": KindDefaults(
        400.0,
        400.0,
        Spread(0.7, 0.6),
        Spread(0.25, 0.7),
        Spread(0.2, 1.0),
        Spread(0.07, 0.6),
        Spread(0.05, 0.6),
        Spread(0.05, 0.6),
        shunted=True,
        current_limited=True,
        shunt_knee=Spread(1.05, 0.45),
        capacitances=(0.3e-9, 0.3e-9, 0.3e-9),
    ),
    "electronic": KindDefaults(
        8000.0,
        200.0,
        Spread(0.5, 1.0),
        Spread(0.3, 1.0),
        Spread(0.2, 1.0),
        Spread(0.1, 1.0),
        Spread(0.05, 1.0),
        Spread(0.05, 1.0),
        shunted=True,
        current_limited=True,
    ),
}

#: Share of the small-signal inductance that is left at a few volts, before permeability has risen (assumption: 0.25
#: to 1).
LOW_FLUX = Spread(0.45, 0.40)
#: Share of the core's magnetising current that the primary's limb takes: not identifiable, 0.5 +- 0.1 (assumption).
SPLIT_LOGIT_SIGMA = 0.2
#: Exponent of the shunt's iron: its gap holds it linear for long, then it bends hard (assumption).
SHUNT_EXPONENT = 9
#: Alternating-current resistance over the direct-current one at the same temperature: stray loss (assumption).
STRAY = Spread(1.10, 0.10)
#: Winding resistance during a bench test over that at 20 degC: cold, or warmed by the tests before (assumption).
BENCH_WARMTH = Spread(1.10, 0.09)
#: Copper: R(75 degC) / R(20 degC) = (234.5 + 75) / (234.5 + 20); 234.5 is the figure of IEEE C57.12.90, from memory.
#: IEC 60076-1 has 235, from memory, which makes the ratio 0.04 % smaller.
WARM = (234.5 + 75.0) / (234.5 + 20.0)
#: Spread of a plate's volts and of a plate's short-circuit current about what the part does: within 10 % and 14 % for
#: 19 parts of 20 (assumption; that plates hold to about 10 % is common practice, no source).
PLATE_VOLTS_SIGMA = 0.05
PLATE_CURRENT_SIGMA = 0.07


def defaults_of(kind: str) -> KindDefaults:
    """Return the guesses for a kind.

    Raises
    ------
    ValueError
        If the kind is not one of those that the project file knows.
    """
    try:
        return KINDS[kind]
    except KeyError:
        raise ValueError(f"no transformer kind {kind!r}: known kinds are {', '.join(KINDS)}") from None
