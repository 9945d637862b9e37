"""The unknowns of a transformer in the order in which they are fitted, their guesses, and the circuit they make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from coilwright.magnetics.iron import Iron
from coilwright.measurement.findings import MarkSource
from coilwright.measurement.kinds import (
    BENCH_WARMTH,
    LOW_FLUX,
    SHUNT_EXPONENT,
    SPLIT_LOGIT_SIGMA,
    STRAY,
    WARM,
    KindDefaults,
    Spread,
    defaults_of,
)
from coilwright.measurement.readings import RESISTANCE_SIGMA, known_sigma
from coilwright.measurement.transformer_bench import Coefficients
from coilwright.model.parts import Transformer
from coilwright.supply.circuits import TransformerCircuit

Real = NDArray[np.float64]

#: Logarithms, except air_share and split (logits). Shares: air of the leakage, primary limb of the magnetising current.
NAMES = (
    "ratio",
    "inductance",
    "saturation",
    "core_loss",
    "leakage",
    "air_share",
    "shunt_knee",
    "split",
    "primary_resistance",
    "secondary_resistance",
    "stray",
    "warmth",
    "low_flux",
)
PLACE = {name: k for k, name in enumerate(NAMES)}
_FIXED = 1e-9
#: Standard deviation of the logarithm of the turns ratio before any volts were read or written (assumption).
RATIO_SIGMA = 0.3
#: Heater winding of an oven unit [V]: 3.1 to 3.2 (public Q&A page on oven transformers, secondary source, seen).
HEATER_VOLTS = 3.2


@dataclass(frozen=True)
class Prior:
    """What is known before any reading: centre and standard deviation of every unknown, in its logarithm or logit.

    ``rated_flux`` [Wb peak] is the flux linkage at plate volts and plate frequency; the saturation current is stated
    there.
    """

    centre: Real
    sigma: Real
    rated_flux: float
    primary_voltage: float
    secondary_voltage: float
    apparent_power: float
    shunted: bool
    tied: str
    tapped: bool
    capacitances: tuple[float, float, float]
    effective_capacitance: float
    heater_ratio: float | None
    exponent: int
    sources: Mapping[str, MarkSource]

    @property
    def free(self) -> NDArray[np.int64]:
        """Return the places of the unknowns that are not fixed."""
        return np.flatnonzero(self.sigma > _FIXED)


def prior_of(part: Transformer, mains_voltage: float, mains_frequency: float) -> Prior:
    """Return the prior of a transformer from its kind, its plate and its resistances."""
    kind = defaults_of(part.kind)
    sources: dict[str, MarkSource] = {}
    v1, v2, va = _plate(part, kind, mains_voltage, sources)
    frequency = part.plate_frequency.value if part.plate_frequency else mains_frequency
    flux = sqrt(2) * v1 / (2 * pi * frequency)
    amperes = va / v1
    base = v1 / amperes
    guess = {
        # A plate says open volts, not turns: those are above by leakage over one limb's magnetising, which differs from
        # unit to unit. The plate's volts join as an observation (readings.bench_of), where no reading tells the ratio.
        "ratio": Spread(v2 / v1 * (1 + kind.leakage.median * kind.magnetising.median / 2), RATIO_SIGMA),
        "inductance": Spread(flux / (sqrt(2) * amperes * kind.magnetising.median), kind.magnetising.sigma),
        "saturation": Spread(sqrt(2) * amperes * kind.saturation.median, kind.saturation.sigma),
        "core_loss": Spread(base / kind.core_loss.median, kind.core_loss.sigma),
        "leakage": Spread(base * kind.leakage.median / (2 * pi * frequency), kind.leakage.sigma),
        "shunt_knee": kind.shunt_knee,
        "stray": STRAY,
        "warmth": BENCH_WARMTH,
        "low_flux": LOW_FLUX,
        "primary_resistance": Spread(base * kind.primary_resistance.median, kind.primary_resistance.sigma),
        "secondary_resistance": Spread(
            (v2 / v1) ** 2 * base * kind.secondary_resistance.median, kind.secondary_resistance.sigma
        ),
    }
    _resistances(part, guess, sources)
    shunted = kind.shunted and part.shunts != "removed"
    if kind.shunted and part.shunts == "removed":
        guess["leakage"] = Spread(guess["leakage"].median * 0.3, 0.6)
    elif part.shunts == "changed":
        guess["leakage"] = Spread(guess["leakage"].median, 0.9)
        guess["shunt_knee"] = Spread(kind.shunt_knee.median, 0.8)
    centre, sigma = np.zeros(len(NAMES)), np.zeros(len(NAMES))
    for name, spread in guess.items():
        centre[PLACE[name]], sigma[PLACE[name]] = log(spread.median), spread.sigma
    share = kind.air_share.median
    centre[PLACE["air_share"]] = log(share / (1 - share)) if shunted else 12.0
    sigma[PLACE["air_share"]] = 2 * kind.air_share.sigma if shunted else 0.0
    if not shunted:
        sigma[PLACE["shunt_knee"]] = 0.0
    sigma[PLACE["split"]] = 2 * SPLIT_LOGIT_SIGMA
    tied = _tied(part, kind, sources)
    strays = _capacitances(part, kind)
    load = (strays[0] + strays[2]) / (4 if tied in {"tap", "none"} else 2)
    return Prior(
        centre,
        sigma,
        flux,
        v1,
        v2,
        va,
        shunted,
        tied,
        tied == "tap",
        strays,
        load,
        HEATER_VOLTS / v1 if kind.heater else None,
        kind.exponent,
        sources,
    )


def _plate(
    part: Transformer, kind: KindDefaults, mains: float, sources: dict[str, MarkSource]
) -> tuple[float, float, float]:
    """Return volts of both windings and volt-amperes, from the plate where it says them."""
    v1 = part.plate_primary.value if part.plate_primary else (kind.primary_voltage or mains)
    v2 = part.plate_secondary.value if part.plate_secondary else kind.secondary_voltage
    plate_va = part.plate_power.value if part.plate_power else None
    if part.plate_current is not None and kind.current_limited:
        va = v2 * part.plate_current.value
        said = MarkSource(part.plate_current.mark, "name plate volts and milliamperes")
    elif plate_va is not None:
        va, said = plate_va, MarkSource(part.plate_power.mark if part.plate_power else "ink", "name plate volt-amperes")
    elif part.plate_current is not None:
        va = v2 * part.plate_current.value
        said = MarkSource(part.plate_current.mark, "name plate volts and current")
    else:
        va, said = kind.power, MarkSource("pencil", f"usual size of kind {part.kind!r}")
    sources["apparent_power"] = said
    for name, known in (("primary_voltage", part.plate_primary), ("secondary_voltage", part.plate_secondary)):
        sources[name] = (
            MarkSource(known.mark, "name plate") if known else MarkSource("pencil", f"usual of kind {part.kind!r}")
        )
    return v1, v2, va


def _resistances(part: Transformer, guess: dict[str, Spread], sources: dict[str, MarkSource]) -> None:
    """Put the resistances that were read in place of the guesses. Halves are added up."""
    primary, secondary = part.primary_resistance, part.secondary_resistance
    if primary is not None:
        guess["primary_resistance"] = Spread(primary.value, (known_sigma(primary) ** 2 + RESISTANCE_SIGMA**2) ** 0.5)
        sources["primary_resistance"] = MarkSource(primary.mark, "resistance as read, 20 degC")
    if secondary is not None:
        guess["secondary_resistance"] = Spread(
            secondary.value, (known_sigma(secondary) ** 2 + RESISTANCE_SIGMA**2) ** 0.5
        )
        sources["secondary_resistance"] = MarkSource(secondary.mark, "resistance as read, 20 degC")
    elif part.secondary_resistance_halves is not None:
        halves = part.secondary_resistance_halves
        total = halves[0].value + halves[1].value
        spread = max(known_sigma(h) for h in halves)
        guess["secondary_resistance"] = Spread(total, (spread**2 + RESISTANCE_SIGMA**2) ** 0.5)
        sources["secondary_resistance"] = MarkSource(halves[0].mark, "sum of the two halves as read, 20 degC")


def tie_of(part: Transformer) -> MarkSource:
    """Return which high-voltage end is on the core, as ``basis``, with its mark."""
    kind = defaults_of(part.kind)
    if part.core_end is not None:
        return MarkSource(part.core_end.mark, part.core_end.value)
    halves = part.secondary_resistance_halves is not None
    volts = part.plate_secondary.value if part.plate_secondary else kind.secondary_voltage
    if halves or (part.kind == "sign" and volts > 5000.0) or (part.kind == "ignition" and volts > 8000.0):
        return MarkSource("pencil", "tap")
    return MarkSource("pencil", kind.core_end or "none")


def _tied(part: Transformer, kind: KindDefaults, sources: dict[str, MarkSource]) -> str:
    del kind
    tie = tie_of(part)
    sources["core_end"] = MarkSource(tie.mark, "as written" if part.core_end else f"usual of kind {part.kind!r}")
    return tie.basis


def _capacitances(part: Transformer, kind: KindDefaults) -> tuple[float, float, float]:
    written = part.capacitance or {}
    high, primary, between = kind.capacitances
    return (
        written["high_to_core"].value if "high_to_core" in written else high,
        written["primary_to_core"].value if "primary_to_core" in written else primary,
        written["high_to_primary"].value if "high_to_primary" in written else between,
    )


def _logistic(x: Real) -> Real:
    return np.asarray(1 / (1 + np.exp(-x)))


def coefficients(theta: Real, prior: Prior, exponent: int) -> Coefficients:
    """Return the circuit elements of parameter sets theta, shape (m, 13)."""
    theta = np.atleast_2d(theta)
    value = {name: np.exp(theta[:, k]) for name, k in PLACE.items()}
    air, split = _logistic(theta[:, PLACE["air_share"]]), _logistic(theta[:, PLACE["split"]])
    stray = value["stray"]
    bench, warm = stray * value["warmth"], stray * WARM
    m = theta.shape[0]
    shunt_l = value["leakage"] * (1 - air)
    knee = value["shunt_knee"] * (1 - air) * prior.rated_flux
    return Coefficients(
        ratio=value["ratio"],
        primary_resistance=value["primary_resistance"][:, None] * np.stack([bench, warm], axis=1),
        secondary_resistance=value["secondary_resistance"][:, None] * np.stack([bench, warm], axis=1),
        primary_inductance=value["inductance"] / split,
        secondary_inductance=value["inductance"] / (1 - split),
        knee_flux=np.full(m, prior.rated_flux),
        primary_knee_current=value["saturation"] * split,
        secondary_knee_current=value["saturation"] * (1 - split),
        exponent=np.full((m, 2), exponent, dtype=np.int64),
        core_loss_resistance=value["core_loss"],
        air_leakage=value["leakage"] * air,
        shunt_inductance=shunt_l,
        shunt_knee_flux=knee,
        shunt_knee_current=0.5 * knee / shunt_l if prior.shunted else np.zeros(m),
        shunt_exponent=np.full(m, SHUNT_EXPONENT, dtype=np.int64),
        capacitance=np.full(m, prior.effective_capacitance),
        low_flux=value["low_flux"],
    )


def circuit(theta: Real, prior: Prior, exponent: int) -> TransformerCircuit:
    """Return the warm circuit of one parameter set, for the network."""
    c = coefficients(theta, prior, exponent)
    shunt = None
    if prior.shunted:
        shunt = Iron(
            float(c.shunt_inductance[0]), float(c.shunt_knee_flux[0]), float(c.shunt_knee_current[0]), SHUNT_EXPONENT
        )
    return TransformerCircuit(
        ratio=float(c.ratio[0]),
        primary_resistance=float(c.primary_resistance[0, 1]),
        secondary_resistance=float(c.secondary_resistance[0, 1]),
        primary_limb=Iron(float(c.primary_inductance[0]), prior.rated_flux, float(c.primary_knee_current[0]), exponent),
        secondary_limb=Iron(
            float(c.secondary_inductance[0]), prior.rated_flux, float(c.secondary_knee_current[0]), exponent
        ),
        core_loss_resistance=float(c.core_loss_resistance[0]),
        air_leakage=float(c.air_leakage[0]),
        shunt=shunt,
        tapped=prior.tapped,
        heater_ratio=prior.heater_ratio,
        tied=prior.tied,
        high_to_core=prior.capacitances[0],
        primary_to_core=prior.capacitances[1],
        high_to_primary=prior.capacitances[2],
    )
