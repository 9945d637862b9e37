"""Readings of a transformer reduced to plain numbers, for the checks by arithmetic."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

from coilwright.measurement.kinds import defaults_of
from coilwright.model.known import Known
from coilwright.model.parts import LowVoltageTest, OpenTest, ShortTest, Transformer

#: Resistance of the high winding over that of the primary, over the turns ratio squared: what is built (assumption).
RESISTANCE_SHARE = (0.15, 8.0)


@dataclass(frozen=True)
class TestPoint:
    """One test reduced to numbers (V, A, W rms) with its key path."""

    where: str
    volts: float
    amperes: float
    watts: float | None
    secondary_amperes: float | None = None

    @property
    def impedance(self) -> float:
        """Return volts over amperes."""
        return self.volts / self.amperes

    @property
    def resistance(self) -> float | None:
        """Return power over current squared."""
        return None if self.watts is None else self.watts / self.amperes**2


def points_of(part: Transformer, tests: Sequence[OpenTest | ShortTest], key: str) -> list[TestPoint]:
    """Return the tests with positive volts and amperes, lowest volts first."""
    out = []
    for k, t in enumerate(tests):
        if t.applied.value > 0 and t.current.value > 0:
            where = t.where or f"{part.where or part.id}.{key}[{k}]"
            second = t.secondary_current.value if isinstance(t, ShortTest) and t.secondary_current else None
            out.append(TestPoint(where, t.applied.value, t.current.value, t.power.value if t.power else None, second))
    return sorted(out, key=lambda p: p.volts)


def stands_out(p: TestPoint, points: Sequence[TestPoint], factor: float) -> bool:
    """Return whether the impedance of a test differs by more than a factor from that of every other test beside it."""
    others = [q for q in points if q is not p]
    return bool(others) and all(abs(log(p.impedance / q.impedance)) > log(factor) for q in others)


def plate_ratio(part: Transformer) -> float | None:
    """Return plate secondary over plate primary volts."""
    if part.plate_primary and part.plate_secondary:
        return part.plate_secondary.value / part.plate_primary.value
    return None


def apparent_ratio(test: LowVoltageTest) -> float:
    """Return high volts over primary volts as read."""
    n = test.read.value / test.applied.value
    return n if test.fed == "low" else 1 / n


def is_swapped(test: LowVoltageTest, plate: float | None) -> bool:
    """Return whether the volts of a ratio test stand at each other's place: the reading is about one over the plate."""
    n = apparent_ratio(test)
    return plate is not None and plate > 2 and n < 0.7 and n * plate < 2.5


def ratio_of(part: Transformer) -> float | None:
    """Return the turns ratio of low-voltage readings (mean over both directions), else the plate's, else None."""
    plate = plate_ratio(part)
    logs: dict[str, list[float]] = {"low": [], "high": []}
    for t in part.low_voltage_test:
        if t.applied.value > 0 and t.read.value > 0 and not is_swapped(t, plate):
            logs["low" if t.fed == "low" else "high"].append(log(apparent_ratio(t)))
    means = [sum(v) / len(v) for v in logs.values() if v]
    return exp(sum(means) / len(means)) if means else plate


def secondary_resistance(part: Transformer) -> Known[float] | None:
    """Return the high winding's resistance end to end as read, halves added up."""
    if part.secondary_resistance is not None:
        return part.secondary_resistance
    if part.secondary_resistance_halves is not None:
        a, b = part.secondary_resistance_halves
        return Known(a.value + b.value, a.mark)
    return None


def secondary_key(part: Transformer) -> str:
    """Return the key under which the high winding's resistance is written."""
    return "secondary_resistance" if part.secondary_resistance is not None else "secondary_resistance_halves"


def resistance_share(part: Transformer) -> float | None:
    """Return high over primary resistance, over the turns ratio squared; None where one of them is not known."""
    primary, secondary, ratio = part.primary_resistance, secondary_resistance(part), ratio_of(part)
    if primary is None or secondary is None or not ratio:
        return None
    return secondary.value / primary.value / ratio**2


def odd_resistance(part: Transformer) -> str:
    """Return the key of the resistance that is further from what is usual for the kind and plate."""
    kind, ratio = defaults_of(part.kind), ratio_of(part) or 1.0
    volts = part.plate_primary.value if part.plate_primary else 230.0
    power = part.plate_power.value if part.plate_power else kind.power
    if part.plate_secondary is not None and part.plate_current is not None:
        power = part.plate_secondary.value * part.plate_current.value
    base = volts**2 / power
    primary, secondary = part.primary_resistance, secondary_resistance(part)
    if primary is None or secondary is None:
        return "primary_resistance" if secondary is None else secondary_key(part)
    off_primary = abs(log(primary.value / (base * kind.primary_resistance.median)))
    off_secondary = abs(log(secondary.value / (base * ratio**2 * kind.secondary_resistance.median)))
    return "primary_resistance" if off_primary > off_secondary else secondary_key(part)
