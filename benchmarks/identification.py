"""Identification against made-up truths: how far off, and does the stated band hold the truth as often as it says?

The truths differ from the fit's own form: other exponents of the iron (7 or 13, where the fit starts at 9), other
splits of the core (0.3 to 0.7), other low-flux permeability, stray loss and bench temperature. Readings: three open
tests (50, 80 and 100 % of plate volts), three short tests (``short_shares`` of plate volts), the ratio at low voltage
twice in each direction, and the two resistances; normal errors with a standard deviation of 1 % (volts), 1.5 %
(amperes), 3 % (watts), drawn anew for each number.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from coilwright.magnetics.iron import Iron
from coilwright.measurement.identify import bands
from coilwright.measurement.kinds import WARM, defaults_of
from coilwright.measurement.transformer import study_transformer
from coilwright.measurement.transformer_bench import (
    FULL_HARMONICS,
    BenchTest,
    coefficients_of,
    low_voltage_ratio,
    predict,
    true_rms,
)
from coilwright.model.known import Known
from coilwright.model.parts import Accuracy, Instrument, LowVoltageTest, OpenTest, Read, ShortTest, Stamp, Transformer
from coilwright.supply.circuits import TransformerCircuit

VOLTS, AMPERES, WATTS, OHMS = 0.01, 0.015, 0.03, 0.02
METER = Instrument(
    "meter",
    {"voltage": Accuracy(VOLTS), "current": Accuracy(AMPERES), "power": Accuracy(WATTS), "resistance": Accuracy(OHMS)},
    "true rms",
    600.0,
)
#: How often each direction of the ratio at low voltage is read.
RATIO_REPEATS = 2
QUANTITIES = ("open_voltage", "open_current", "short_current")
#: Short-circuit current at the volts of the highest short test, where that is below full volts: what a unit carries
#: behind its ballast.
WORKING = "working_current"
TARGETS = {"open_voltage": 0.015, "open_current": 0.06, "short_current": 0.02, WORKING: 0.02}
_MAINS, _FREQUENCY = 230.0, 50.0
_STAMP = Stamp("meter")


@dataclass(frozen=True)
class Truth:
    """A made-up transformer: its warm circuit, what a bench test finds in its place, and its plate."""

    part: Transformer
    circuit: TransformerCircuit
    bench_resistance: float
    low_flux: float
    values: dict[str, float]


@dataclass(frozen=True)
class Tally:
    """Errors and coverage of one quantity over all truths. ``coverage`` is the share of bands that hold the truth."""

    quantity: str
    rms_error: float
    worst: float
    coverage: float
    band: float  # median half width, relative


@dataclass(frozen=True)
class Outcome:
    """What a run found: one tally per quantity, the share of clean sets that raised a doubt, and seconds per part."""

    tallies: tuple[Tally, ...]
    false_alarms: int
    count: int
    seconds: float
    alarms: tuple[str, ...]


def draw(rng: np.random.Generator, kind: str, splits: tuple[float, float] = (0.3, 0.7)) -> TransformerCircuit:
    """Return a made-up warm circuit of a kind; ``splits`` bounds the primary limb's share of the core."""
    k = defaults_of(kind)
    v2 = k.secondary_voltage * rng.uniform(0.85, 1.2)
    va = k.power * rng.uniform(0.7, 1.3)
    base, flux = _MAINS**2 / va, sqrt(2) * _MAINS / (2 * pi * _FREQUENCY)

    def some(spread, factor=0.6):
        return spread.median * np.exp(factor * spread.sigma * rng.standard_normal())

    split, n = rng.uniform(*splits), int(rng.choice([7, 13]))
    amperes = va / _MAINS
    inductance = flux / (sqrt(2) * amperes * some(k.magnetising))
    saturation = sqrt(2) * amperes * some(k.saturation)
    leakage = base * some(k.leakage) / (2 * pi * _FREQUENCY)
    air = float(np.clip(rng.normal(0.45, 0.12), 0.2, 0.8))
    gap = leakage * (1 - air)
    knee = some(k.shunt_knee) * (1 - air) * flux
    ratio = v2 / _MAINS * rng.uniform(0.98, 1.08)
    return TransformerCircuit(
        ratio=ratio,
        primary_resistance=some(k.primary_resistance) * base * WARM,
        secondary_resistance=some(k.secondary_resistance) * base * ratio**2 * WARM,
        primary_limb=Iron(inductance / split, flux, saturation * split, n),
        secondary_limb=Iron(inductance / (1 - split), flux, saturation * (1 - split), n),
        core_loss_resistance=base / some(k.core_loss),
        air_leakage=leakage * air,
        shunt=Iron(gap, knee, 0.5 * knee / gap, int(rng.choice([7, 9, 13]))),
        tied="finish" if kind == "oven" else "tap",
        tapped=kind == "sign",
        high_to_core=k.capacitances[0],
        primary_to_core=k.capacitances[1],
        high_to_primary=k.capacitances[2],
    )


def truth(
    rng: np.random.Generator,
    kind: str,
    open_shares: Sequence[float],
    short_shares: Sequence[float],
    *,
    noise: float = 1.0,
    splits: tuple[float, float] = (0.3, 0.7),
) -> Truth:
    """Return a made-up transformer with its noisy readings. ``noise`` scales every meter error."""
    circuit = draw(rng, kind, splits)
    stray, warmth, low_flux = rng.uniform(1.0, 1.2), rng.uniform(1.0, 1.2), rng.uniform(0.3, 0.8)
    cold = (circuit.primary_resistance / WARM / stray, circuit.secondary_resistance / WARM / stray)
    bench = warmth / WARM
    c = coefficients_of([circuit], bench_resistance=bench, low_flux=low_flux)
    tests = [BenchTest("open", s * _MAINS, _FREQUENCY) for s in open_shares]
    tests += [BenchTest("short", s * _MAINS, _FREQUENCY) for s in short_shares]
    seen = predict(c, tests, harmonics=FULL_HARMONICS)
    assert seen.converged.all(), "a truth did not converge"
    ratios = low_voltage_ratio(c, [BenchTest("fed high", 24.0, _FREQUENCY), BenchTest("fed low", 3.0, _FREQUENCY)])[0]

    def read(value: float, sigma: float) -> Read:
        return Read(float(value * (1 + noise * sigma * rng.standard_normal())))

    rows = [
        (read(t.applied, VOLTS), read(true_rms(seen.primary_current)[0, k], AMPERES), read(seen.power[0, k], WATTS))
        for k, t in enumerate(tests)
    ]
    mains = predict(
        c,
        [
            BenchTest("open", _MAINS, _FREQUENCY, warm=True),
            BenchTest("short", _MAINS, _FREQUENCY, warm=True),
            BenchTest("short", max(short_shares) * _MAINS, _FREQUENCY, warm=True),
        ],
        harmonics=FULL_HARMONICS,
    )
    values = {
        "open_voltage": float(true_rms(mains.secondary_voltage)[0, 0]),
        "open_current": float(true_rms(mains.primary_current)[0, 0]),
        "short_current": float(true_rms(mains.secondary_current)[0, 1]),
        WORKING: float(true_rms(mains.secondary_current)[0, 2]),
    }
    plate = round(values["open_voltage"] * rng.uniform(0.95, 1.05), -1)
    opens = len(open_shares)
    part = Transformer(
        "T",
        kind,
        plate_primary=Known(_MAINS),
        plate_secondary=Known(plate),
        plate_power=Known(round(_MAINS**2 * 0.28 / (2 * pi * _FREQUENCY * circuit.leakage_inductance), -1))
        if kind == "oven"
        else None,
        plate_current=None if kind == "oven" else Known(round(values["short_current"] * rng.uniform(0.95, 1.05), 4)),
        primary_resistance=_known(read(cold[0], OHMS).value),
        secondary_resistance=_known(read(cold[1], OHMS).value),
        core_end=Known(circuit.tied),
        open_test=tuple(OpenTest(v, i, p, stamp=_STAMP) for v, i, p in rows[:opens]),
        short_test=tuple(ShortTest(v, i, p, stamp=_STAMP) for v, i, p in rows[opens:]),
        low_voltage_test=tuple(
            LowVoltageTest(fed, read(drive, VOLTS), read(drive * ratio, VOLTS), _STAMP)
            for fed, drive, ratio in (("high", 24.0, ratios[0]), ("low", 3.0, ratios[1]))
            for _ in range(RATIO_REPEATS)
        ),
        where="transformer[0]",
    )
    return Truth(part, circuit, bench, low_flux, values)


def _known(value: float) -> Known[float]:
    return Known(value, "stamped", value * (1 - 1.96 * OHMS), value * (1 + 1.96 * OHMS))


def run(
    n: int = 200,
    seed: int = 1,
    *,
    kinds: Sequence[str] = ("oven",),
    open_shares: Sequence[float] = (0.5, 0.8, 1.0),
    short_shares: Sequence[float] = (0.8, 0.9, 1.0),
    splits: tuple[float, float] = (0.3, 0.7),
) -> Outcome:
    """Return errors and coverage over ``n`` made-up transformers."""
    rng = np.random.default_rng(seed)
    reach = max(short_shares)
    quantities = QUANTITIES if reach >= 1 else (*QUANTITIES, WORKING)
    errors: dict[str, list[float]] = {q: [] for q in quantities}
    held: dict[str, list[bool]] = {q: [] for q in quantities}
    width: dict[str, list[float]] = {q: [] for q in quantities}
    alarms, spent = [], 0.0
    for k in range(n):
        made = truth(rng, kinds[k % len(kinds)], open_shares, short_shares, splits=splits)
        begin = time.process_time()
        study = study_transformer(made.part, {"meter": METER}, _MAINS, _FREQUENCY)
        spent += time.process_time() - begin
        alarms += [f"{k}: {f.code} {f.where} {f.message}" for f in study.findings if f.grade in {"STOP", "CAUTION"}]
        found = {q: (v.value, v.low, v.high) for q, v in study.values.items()}
        if reach < 1:
            found |= bands(study.fit, _MAINS, _FREQUENCY, working_voltage=reach * _MAINS, names=(WORKING,))
        for q in quantities:
            value, low, high = found[q]
            errors[q].append(value / made.values[q] - 1)
            held[q].append(low <= made.values[q] <= high)
            width[q].append((high - low) / 2 / value)
    tallies = tuple(
        Tally(
            q,
            float(np.sqrt(np.mean(np.square(errors[q])))),
            float(np.max(np.abs(errors[q]))),
            float(np.mean(held[q])),
            float(np.median(width[q])),
        )
        for q in quantities
    )
    sets = {a.split(":")[0] for a in alarms}
    return Outcome(tallies, len(sets), n, spent / n, tuple(alarms))


@dataclass(frozen=True)
class Case:
    """One table of the report: kind, shares of plate volts of the short tests, bounds of the core's split."""

    label: str
    kind: str
    short_shares: tuple[float, ...]
    splits: tuple[float, float]


#: What the report shows; the targets are held against the first. A sign unit limits its own current, so its short test
#: is asked for at full volts; it is taken there twice, and once half-way. Its strong leakage makes its open volts hang
#: on the core's split: at one flux a transformer with two windings shows three numbers at its terminals (open and short
#: impedance, ratio), the two-limb circuit has four. With no meter error at all and the splits of the third case open
#: volts would still be 1.8 % off; the second shows how much of it that is. The last is what a builder can do at home
#: with an oven unit: the full-voltage short then stays open, as its band says; the working current is what matters.
CASES = (
    Case("oven, short tests at 80, 90 and 100 % of full volts", "oven", (0.8, 0.9, 1.0), (0.3, 0.7)),
    Case("sign, short tests at 50, 100 and 100 %, split only 0.4 to 0.6", "sign", (0.5, 1.0, 1.0), (0.4, 0.6)),
    Case("sign, short tests at 50, 100 and 100 % of full volts", "sign", (0.5, 1.0, 1.0), (0.3, 0.7)),
    Case("oven, short tests at 10, 17 and 40 % of full volts", "oven", (0.10, 0.17, 0.40), (0.3, 0.7)),
)


def run_case(case: Case, n: int = 200, seed: int = 1) -> Outcome:
    """Return the outcome of one table of the report."""
    return run(n, seed, kinds=(case.kind,), short_shares=case.short_shares, splits=case.splits)


def main() -> None:
    """Print the report."""
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    for case in CASES:
        out = run_case(case, n, seed)
        print(
            f"{case.label}: {n} made-up units; {out.seconds:.3f} s CPU each; {out.false_alarms} sets with a false alarm"
        )
        for t in out.tallies:
            print(
                f"  {t.quantity:16s} rms {t.rms_error:6.2%}  worst {t.worst:6.2%}  band holds {t.coverage:6.1%}  "
                f"median half band {t.band:6.2%}"
            )
        for alarm in out.alarms[:12]:
            print("   ", alarm)


if __name__ == "__main__":
    main()
