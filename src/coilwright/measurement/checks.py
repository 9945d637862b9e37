"""Checks of a transformer's readings by arithmetic alone, before anything is fitted.

A STOP names a reading that cannot be true: it is left out of the fit, and the part waits until it is corrected. A
CAUTION names one that is hard to believe. Thresholds are assumptions, set so that readings with honest meter errors
raise none.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, hypot, log

from coilwright.measurement.findings import Finding, say
from coilwright.measurement.readings import known_sigma
from coilwright.model.known import Known
from coilwright.model.parts import OpenTest, ShortTest, Transformer

#: Power may pass volt-amperes by so much before it is impossible: meter errors of volts, amperes and watts together.
POWER_EXCESS = 1.06
#: A standard deviation of power over current squared, or over volt-amperes, on a usual bench.
SPREAD = 0.045
#: Standard deviations of the compared figures beyond which a difference is no meter error.
FAR = 3.8


@dataclass(frozen=True)
class _Point:
    """One test reduced to numbers, with the key path of each."""

    where: str
    volts: float
    amperes: float
    watts: float | None
    secondary_amperes: float | None = None

    @property
    def impedance(self) -> float:
        return self.volts / self.amperes

    @property
    def resistance(self) -> float | None:
        return None if self.watts is None else self.watts / self.amperes**2


def _points(part: Transformer, tests: Sequence[OpenTest | ShortTest], key: str) -> list[_Point]:
    out = []
    for k, t in enumerate(tests):
        where = t.where or f"{part.where or part.id}.{key}[{k}]"
        second = t.secondary_current.value if isinstance(t, ShortTest) and t.secondary_current else None
        out.append(_Point(where, t.applied.value, t.current.value, t.power.value if t.power else None, second))
    return sorted(out, key=lambda p: p.volts)


def ratio_of(part: Transformer) -> float | None:
    """Return the turns ratio that low-voltage readings give (mean over both directions), else the plate's, else
    None.
    """
    logs: dict[str, list[float]] = {"low": [], "high": []}
    for t in part.low_voltage_test:
        if t.applied.value > 0 and t.read.value > 0:
            sign = 1 if t.fed == "low" else -1
            logs["low" if t.fed == "low" else "high"].append(sign * log(t.read.value / t.applied.value))
    means = [sum(v) / len(v) for v in logs.values() if v]
    if means:
        return exp(sum(means) / len(means))
    if part.plate_primary and part.plate_secondary:
        return part.plate_secondary.value / part.plate_primary.value
    return None


def secondary_resistance(part: Transformer) -> Known[float] | None:
    """Return the high winding's resistance end to end as read, halves added up."""
    if part.secondary_resistance is not None:
        return part.secondary_resistance
    if part.secondary_resistance_halves is not None:
        a, b = part.secondary_resistance_halves
        return Known(a.value + b.value, a.mark)
    return None


def check_readings(part: Transformer) -> tuple[Finding, ...]:
    """Return what arithmetic says of the readings of a transformer, strongest first."""
    opens, shorts = _points(part, part.open_test, "open_test"), _points(part, part.short_test, "short_test")
    found = [*_power(opens, "open"), *_power(shorts, "short"), *_windings(part), *_ratios(part)]
    stopped = {f.where for f in found if f.grade == "STOP"}
    found += _open_shape(part, [p for p in opens if f"{p.where}.power" not in stopped])
    found += _short_shape(part, shorts, stopped)
    found += _notes(part, opens, shorts)
    return tuple(sorted(found, key=lambda f: ("STOP", "CAUTION", "NOTE").index(f.grade)))


def _power(points: list[_Point], test: str) -> list[Finding]:
    found = []
    for p in points:
        if p.watts is None or p.watts <= POWER_EXCESS * p.volts * p.amperes:
            continue
        message = (
            f"{say(p.watts, 'W')} at {say(p.volts, 'V')} and {say(p.amperes, 'A')} is above the volt-amperes, "
            f"{say(p.volts * p.amperes, 'VA')}: no load can take that"
        )
        if test == "short":
            message += (
                f" (resistance {say(p.watts / p.amperes**2, 'ohm')} would be above impedance {say(p.impedance, 'ohm')})"
            )
        found.append(Finding("power-above-va", "STOP", f"{p.where}.power", message + ".", _slip(p, points)))
    return found


def _slip(p: _Point, points: list[_Point]) -> str:
    """Return the likely slip of the decimal point: the one that agrees best with the other tests, else with any load
    at all.
    """
    others = [q for q in points if q is not p and q.watts is not None and q.watts <= POWER_EXCESS * q.volts * q.amperes]
    watts = p.watts or 0.0
    tries = [
        ("power", watts / 10, "W"),
        ("power", watts / 100, "W"),
        ("current", p.amperes * 10, "A"),
        ("applied", p.volts * 10, "V"),
    ]

    def badness(which: tuple[str, float, str]) -> float:
        name, value, _ = which
        w = value if name == "power" else watts
        a = value if name == "current" else p.amperes
        v = value if name == "applied" else p.volts
        if w > v * a:
            return 1e3
        if not others:
            return 0.0 if which is tries[0] else 1.0
        return min(
            abs(log(w / (v * a) / ((q.watts or 1.0) / (q.volts * q.amperes)))) + abs(log(v / a / q.impedance))
            for q in others
        )

    name, value, unit = min(tries, key=badness)
    if badness((name, value, unit)) >= 1e3:
        return "Read volts, amperes and watts again, at the same moment."
    would = f"{name} {say(value, unit)} would fit"
    return f"A slip of the decimal point? {would}. Look at the meter's range and read it again."


def _windings(part: Transformer) -> list[Finding]:
    primary, secondary, ratio = part.primary_resistance, secondary_resistance(part), ratio_of(part)
    if primary is None or secondary is None or ratio is None or ratio <= 0:
        return []
    base = part.where or part.id
    key = "secondary_resistance" if part.secondary_resistance else "secondary_resistance_halves"
    share = secondary.value / primary.value / ratio**2
    if ratio > 1.5 and primary.value > secondary.value:
        return [
            Finding(
                "swapped-windings",
                "CAUTION",
                f"{base}.primary_resistance",
                f"The primary reads {say(primary.value, 'ohm')}, more than the high winding, "
                f"{say(secondary.value, 'ohm')}: "
                f"with {ratio:.3g} times the turns the high winding has the higher resistance.",
                "Are the two windings swapped, in the file or on the bench?",
            )
        ]
    if not 0.15 <= share <= 8:
        which, where = ("too high", key) if share > 8 else ("too low", key)
        return [
            Finding(
                "resistance-ratio",
                "CAUTION",
                f"{base}.{where}",
                f"{say(secondary.value, 'ohm')} over {say(primary.value, 'ohm')} is {which} for {ratio:.3g} times "
                f"the turns: "
                f"{share:.2g} times the turns squared, usual is 0.15 to 8.",
                "A slip of the decimal point? "
                f"{say(secondary.value / 10 if share > 8 else secondary.value * 10, 'ohm')} "
                "would fit. For less than an ohm, take off the resistance of the meter's leads.",
            )
        ]
    return []


def _ratios(part: Transformer) -> list[Finding]:
    base = part.where or part.id
    low: list[tuple[float, str]] = []
    high: list[tuple[float, str]] = []
    found: list[Finding] = []
    for k, t in enumerate(part.low_voltage_test):
        if not (t.applied.value > 0 and t.read.value > 0):
            continue
        where = t.where or f"{base}.low_voltage_test[{k}]"
        n = t.read.value / t.applied.value if t.fed == "low" else t.applied.value / t.read.value
        (low if t.fed == "low" else high).append((n, where))
        plate = (
            (part.plate_secondary.value / part.plate_primary.value)
            if part.plate_primary and part.plate_secondary
            else None
        )
        if plate and plate > 2 and n * plate < 2.5 and n < 0.7:
            found.append(
                Finding(
                    "swapped-windings",
                    "CAUTION",
                    where,
                    f"The ratio reads {n:.3g}, the plate says {plate:.3g}: the volts of the two windings are swapped.",
                    "Exchange the two figures: `applied_high` belongs on the high winding, `low` on the primary.",
                )
            )
    for group, key in ((low, "secondary"), (high, "low")):
        values = [n for n, _ in group]
        if len(values) > 1 and max(values) / min(values) > 1.09:
            middle = sorted(values)[len(values) // 2]
            worst = max(group, key=lambda g: abs(log(g[0] / middle)))
            found.append(
                Finding(
                    "ratio-low-voltage",
                    "CAUTION",
                    f"{worst[1]}.{key}",
                    f"This test gives a ratio of {worst[0]:.4g}, another in the same direction {middle:.4g}.",
                    "Take both again, one meter after the other at the same drive.",
                )
            )
    if low and high:
        n_low, n_high = sum(n for n, _ in low) / len(low), sum(n for n, _ in high) / len(high)
        if n_low > 1.06 * n_high and not found:
            found.append(
                Finding(
                    "ratio-low-voltage",
                    "CAUTION",
                    f"{low[0][1]}.secondary",
                    f"Fed low the ratio reads {n_low:.4g}, fed high {n_high:.4g}. Leakage makes it the other way "
                    f"round: "
                    "less than the turns ratio fed low, more fed high.",
                    "Are the two directions exchanged, or is one meter off its range?",
                )
            )
    return found


def _open_shape(part: Transformer, points: list[_Point]) -> list[Finding]:
    found = []
    primary = part.primary_resistance
    power = part.plate_power.value if part.plate_power else None
    volts = part.plate_primary.value if part.plate_primary else None
    for p in points:
        if p.watts is None or primary is None:
            continue
        copper = p.amperes**2 * primary.value
        if log(max(p.watts, 1e-9) / copper) < -FAR * hypot(SPREAD, known_sigma(primary)) and p.watts < 0.85 * copper:
            found.append(
                Finding(
                    "power-below-copper",
                    "STOP",
                    f"{p.where}.power",
                    f"{say(p.watts, 'W')} is less than the primary's copper alone takes at {say(p.amperes, 'A')}: "
                    f"{say(copper, 'W')}.",
                    f"A slip of the decimal point? {say(p.watts * 10, 'W')} would fit; or the resistance is wrong.",
                )
            )
    for p in points:
        rated = power is not None and volts is not None and 0.8 * volts <= p.volts <= 1.1 * volts
        if rated and p.watts is not None and power is not None and p.watts > 0.25 * power:
            found.append(
                Finding(
                    "no-load-loss",
                    "CAUTION",
                    f"{p.where}.power",
                    f"{say(p.watts, 'W')} with nothing connected is more than a quarter "
                    f"of the plate's {say(power, 'VA')}.",
                    "A shorted turn looks like this: feel for a hot winding, and do not use the part before it is "
                    "explained.",
                )
            )
    for a, b in itertools.pairwise(points):
        growth, step = b.amperes / a.amperes, b.volts / a.volts
        if step < 1.02:
            continue
        low, high = step * 0.80, step**13 * 1.25
        if not low <= growth <= high:
            found.append(
                Finding(
                    "iron-shape",
                    "CAUTION",
                    f"{b.where}.current",
                    f"From {say(a.volts, 'V')} to {say(b.volts, 'V')} the no-load current goes from "
                    f"{say(a.amperes, 'A')} to {say(b.amperes, 'A')}: iron "
                    + ("never takes less than in proportion." if growth < low else "does not bend that hard."),
                    "Are two currents exchanged, or is one a slip of the decimal point?",
                )
            )
    return found


def _short_shape(part: Transformer, points: list[_Point], stopped: set[str]) -> list[Finding]:
    found: list[Finding] = []
    primary, secondary, ratio = part.primary_resistance, secondary_resistance(part), ratio_of(part)
    if primary is not None and secondary is not None and ratio:
        dc = primary.value + secondary.value / ratio**2
        trusted = 0.15 <= secondary.value / primary.value / ratio**2 <= 8
        spread = hypot(
            SPREAD, (known_sigma(primary) * primary.value + known_sigma(secondary) * secondary.value / ratio**2) / dc
        )
        found += _against_dc(
            part, [p for p in points if f"{p.where}.power" not in stopped], dc, spread, trusted=trusted
        )
    for p in points:
        if ratio and p.secondary_amperes is not None:
            share = p.secondary_amperes * ratio / p.amperes
            if not 0.70 <= share <= 1.08:
                found.append(
                    Finding(
                        "short-current-ratio",
                        "CAUTION",
                        f"{p.where}.secondary_current",
                        f"{say(p.secondary_amperes, 'A')} times the ratio {ratio:.3g} is {share:.2f} of the primary's "
                        f"{say(p.amperes, 'A')}; usual is 0.70 to 1.08.",
                        "Read both meters again; an average-responding one and a true-rms one differ.",
                    )
                )
    for a, b in itertools.pairwise(points):
        if b.volts / a.volts < 1.05:
            continue
        change = b.impedance / a.impedance
        if not 0.40 <= change <= 1.10:
            blame = b
            found.append(
                Finding(
                    "leakage-shape",
                    "CAUTION",
                    f"{blame.where}.current",
                    f"From {say(a.volts, 'V')} to {say(b.volts, 'V')} the short-circuit impedance goes from "
                    f"{say(a.impedance, 'ohm')} to {say(b.impedance, 'ohm')}; it falls as the shunts saturate, "
                    "never rises, and not to less than half.",
                    "Was the short tight in both, and are volts and amperes of the same moment?",
                )
            )
    return found


def _against_dc(part: Transformer, points: list[_Point], dc: float, spread: float, *, trusted: bool) -> list[Finding]:
    base = part.where or part.id
    below = [
        p
        for p in points
        if p.resistance is not None and p.resistance < 0.85 * dc and log(p.resistance / dc) < -FAR * spread
    ]
    above = [
        p
        for p in points
        if p.resistance is not None
        and p.resistance > 2.5 * dc
        and log(p.resistance / dc / 1.5) > FAR * spread
        and p.resistance <= POWER_EXCESS * p.impedance
    ]
    under = [p for p in points if dc > 1.02 * p.impedance and log(dc / p.impedance) > FAR * spread]
    found = []
    several = len([p for p in points if p.resistance is not None]) > 1
    if below and len(below) == len(points) and several and not under:
        which = (
            "primary_resistance"
            if (part.primary_resistance and part.primary_resistance.value > 0.6 * dc)
            else ("secondary_resistance" if part.secondary_resistance else "secondary_resistance_halves")
        )
        found.append(
            Finding(
                "resistance-below-dc",
                "STOP" if trusted else "CAUTION",
                f"{base}.{which}",
                "Every short test shows less resistance "
                f"({', '.join(say(p.resistance or 0.0, 'ohm') for p in points)}) "
                f"than the two windings read with direct current, {say(dc, 'ohm')} on primary turns.",
                "Read the windings' resistances again, and take off what the meter's leads read when shorted.",
            )
        )
    elif trusted:
        found += [
            Finding(
                "resistance-below-dc",
                "STOP",
                f"{p.where}.power",
                f"{say(p.watts or 0.0, 'W')} at {say(p.amperes, 'A')} is {say(p.resistance or 0.0, 'ohm')}, less "
                f"than the "
                f"windings read with direct current, {say(dc, 'ohm')} on primary turns.",
                f"A slip? The copper alone takes {say(dc * p.amperes**2, 'W')} at that current.",
            )
            for p in below
            if p not in under
        ]
        found += [
            Finding(
                "impossible-x",
                "STOP",
                f"{p.where}.current",
                f"{say(p.volts, 'V')} over {say(p.amperes, 'A')} is {say(p.impedance, 'ohm')}, less than the windings' "
                f"resistance alone, {say(dc, 'ohm')} on primary turns: no reactance is left.",
                f"A slip of the decimal point? {say(p.amperes / 10, 'A')} or {say(p.volts * 10, 'V')}.",
            )
            for p in under
        ]
    found += [
        Finding(
            "stray-loss",
            "CAUTION",
            f"{p.where}.power",
            f"{say(p.watts or 0.0, 'W')} at {say(p.amperes, 'A')} is {say(p.resistance or 0.0, 'ohm')}, "
            f"{(p.resistance or 0.0) / dc:.1f} times the windings' direct-current resistance; usual is 1.0 to 1.6.",
            "Read the power again; a loose short also takes power.",
        )
        for p in above
    ]
    return found


def _notes(part: Transformer, opens: list[_Point], shorts: list[_Point]) -> list[Finding]:
    base = part.where or part.id
    found = []
    if not opens:
        found.append(
            Finding(
                "no-open-test", "NOTE", base, "No open test: no-load current and loss are the kind's, in pencil.", ""
            )
        )
    elif len(opens) == 1:
        found.append(
            Finding(
                "one-open-point",
                "NOTE",
                opens[0].where,
                "One open point: how hard the iron bends is assumed (exponent 9).",
                "",
            )
        )
    if len(shorts) == 1:
        found.append(
            Finding(
                "one-short-point",
                "NOTE",
                shorts[0].where,
                "One short point: how far the shunts saturate at full volts is assumed.",
                "",
            )
        )
    return found
