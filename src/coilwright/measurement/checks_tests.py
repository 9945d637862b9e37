"""Checks of open and short tests by arithmetic alone: power against volt-amperes and copper, shape over the volts."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import hypot, log

from coilwright.measurement.bench_points import (
    RESISTANCE_SHARE,
    TestPoint,
    ratio_of,
    resistance_share,
    secondary_key,
    secondary_resistance,
    stands_out,
)
from coilwright.measurement.findings import Finding, say
from coilwright.measurement.readings import known_sigma
from coilwright.model.parts import Transformer

#: Power may pass volt-amperes by so much before it is impossible: meter errors of volts, amperes and watts together.
POWER_EXCESS = 1.06
#: A standard deviation of power over current squared, or over volt-amperes, on a usual bench.
SPREAD = 0.045
#: Standard deviations of the compared figures beyond which a difference is no meter error.
FAR = 3.8
#: Factors of impedance by which a test stands out from the others of its kind: open (iron bends) and short.
OPEN_ODD, SHORT_ODD = 3.5, 1.18
#: The no-load current may fall so far behind the volts, and may not outrun this power of them.
LEAST_GROWTH, MOST_POWER = 0.80, 13
#: The short-circuit impedance at the higher of two volts over that at the lower.
SHORT_CHANGE = (0.40, 1.10)


def check_power(points: Sequence[TestPoint], test: str) -> list[Finding]:
    """Return the readings of which power is above volt-amperes."""
    found = []
    for p in points:
        if p.watts is None or p.watts <= POWER_EXCESS * p.volts * p.amperes:
            continue
        message = (
            f"{say(p.watts, 'W')} at {say(p.volts, 'V')} and {say(p.amperes, 'A')} is above the volt-amperes, "
            f"{say(p.volts * p.amperes, 'VA')}: no load can take that"
        )
        if test == "short":
            r = p.watts / p.amperes**2
            message += f" (resistance {say(r, 'ohm')} would be above impedance {say(p.impedance, 'ohm')})"
        key, hint = _slip(p, points)
        found.append(Finding("power-above-va", "STOP", f"{p.where}.{key}", message + ".", hint))
    return found


def _slip(p: TestPoint, points: Sequence[TestPoint]) -> tuple[str, str]:
    """Return the key that is likely wrong and the likely slip of the decimal point: what agrees with other tests."""
    others = [q for q in points if q is not p and q.watts is not None and q.watts <= POWER_EXCESS * q.volts * q.amperes]
    watts = p.watts or 0.0
    tries = (
        ("power", watts / 10, "W"),
        ("power", watts / 100, "W"),
        ("current", p.amperes * 10, "A"),
        ("applied", p.volts * 10, "V"),
    )

    def badness(name: str, value: float) -> float:
        w = value if name == "power" else watts
        a = value if name == "current" else p.amperes
        v = value if name == "applied" else p.volts
        if w > v * a:
            return 1e3
        if not others:
            return 0.0 if (name, value) == tries[0][:2] else 1.0
        return min(
            abs(log(w / (v * a) / ((q.watts or 1.0) / (q.volts * q.amperes)))) + abs(log(v / a / q.impedance))
            for q in others
        )

    name, value, unit = min(tries, key=lambda t: badness(t[0], t[1]))
    if badness(name, value) >= 1e3:
        return "power", "Read volts, amperes and watts again, at the same moment."
    hint = f"A slip of the decimal point? {say(value, unit)} would fit. Look at the meter's range and read it again."
    return name, hint


def check_open(part: Transformer, points: Sequence[TestPoint], *, trusted: bool) -> list[Finding]:
    """Return what is wrong with open tests. ``trusted``: the primary's resistance is believed."""
    found = [*(_below_copper(part, points) if trusted else ())]
    power = part.plate_power.value if part.plate_power else None
    volts = part.plate_primary.value if part.plate_primary else None
    for p in points:
        if power is None or volts is None or p.watts is None or not 0.8 * volts <= p.volts <= 1.1 * volts:
            continue
        if p.watts > 0.25 * power:
            message = f"{say(p.watts, 'W')} with nothing connected is over a quarter of the plate's {say(power, 'VA')}."
            hint = "A shorted turn looks like this: feel for a hot winding, and use the part only once it is explained."
            found.append(Finding("no-load-loss", "CAUTION", f"{p.where}.power", message, hint))
    bends = [(a, b) for a, b in itertools.pairwise(points) if _bends_wrong(a, b)]
    for p in dict.fromkeys(_blamed(points, a, b) for a, b in bends):
        a, b = next((a, b) for a, b in bends if p in {a, b})
        short = b.amperes / a.amperes < b.volts / a.volts
        message = (
            f"From {say(a.volts, 'V')} to {say(b.volts, 'V')} the no-load current goes from {say(a.amperes, 'A')} to "
            f"{say(b.amperes, 'A')}: iron "
            + ("never takes less than in proportion." if short else "does not bend that hard.")
        )
        hint = "Are two currents exchanged, or is one a slip of the decimal point?"
        found.append(Finding("iron-shape", "CAUTION", f"{p.where}.current", message, hint))
    return found


def _bends_wrong(a: TestPoint, b: TestPoint) -> bool:
    step = b.volts / a.volts
    return step >= 1.02 and not LEAST_GROWTH * step <= b.amperes / a.amperes <= 1.25 * step**MOST_POWER


def _blamed(points: Sequence[TestPoint], a: TestPoint, b: TestPoint) -> TestPoint:
    """Return which of two tests is wrong: the one without which the rest is in order; else the later."""

    def clean(without: TestPoint) -> bool:
        rest = [p for p in points if p is not without]
        return not any(_bends_wrong(x, y) for x, y in itertools.pairwise(rest))

    return a if clean(a) and not clean(b) else b


def _below_copper(part: Transformer, points: Sequence[TestPoint]) -> list[Finding]:
    primary, found = part.primary_resistance, []
    if primary is None:
        return []
    for p in points:
        copper = p.amperes**2 * primary.value
        if p.watts is None or p.watts >= 0.85 * copper:
            continue
        if log(max(p.watts, 1e-9) / copper) >= -FAR * hypot(SPREAD, known_sigma(primary)):
            continue
        odd = stands_out(p, points, OPEN_ODD)
        message = (
            f"{say(p.watts, 'W')} is less than the primary's copper alone takes at {say(p.amperes, 'A')}: "
            f"{say(copper, 'W')}."
        )
        fits = say(p.amperes / 10, "A") if odd else say(p.watts * 10, "W")
        hint = f"A slip of the decimal point? {fits} would fit; or the primary's resistance is wrong."
        key = "current" if odd else "power"
        found.append(Finding("power-below-copper", "STOP", f"{p.where}.{key}", message, hint))
    return found


def check_short(part: Transformer, points: Sequence[TestPoint], stopped: frozenset[str]) -> list[Finding]:
    """Return what is wrong with short tests; ``stopped`` holds key paths that are wrong already."""
    sound = [p for p in points if not any(f"{p.where}.{k}" in stopped for k in ("power", "current", "applied"))]
    found = _against_dc(part, sound)
    ratio = ratio_of(part)
    for p in points:
        if ratio is None or p.secondary_amperes is None:
            continue
        share = p.secondary_amperes * ratio / p.amperes
        if not 0.70 <= share <= 1.08:
            message = (
                f"{say(p.secondary_amperes, 'A')} times the ratio {ratio:.3g} is {share:.2f} of the primary's "
                f"{say(p.amperes, 'A')}; usual is 0.70 to 1.08."
            )
            hint = "Read both meters again; an average-responding one and a true-rms one differ."
            found.append(Finding("short-current-ratio", "CAUTION", f"{p.where}.secondary_current", message, hint))
    for a, b in itertools.pairwise(sound):
        if b.volts / a.volts < 1.05 or SHORT_CHANGE[0] <= b.impedance / a.impedance <= SHORT_CHANGE[1]:
            continue
        p = a if stands_out(a, sound, SHORT_ODD) and not stands_out(b, sound, SHORT_ODD) else b
        message = (
            f"From {say(a.volts, 'V')} to {say(b.volts, 'V')} the short-circuit impedance goes from "
            f"{say(a.impedance, 'ohm')} to {say(b.impedance, 'ohm')}; it falls as the shunts saturate, never rises, "
            "and not to less than half."
        )
        hint = "Was the short tight in both, and are volts and amperes of the same moment?"
        found.append(Finding("leakage-shape", "CAUTION", f"{p.where}.current", message, hint))
    return found


def _against_dc(part: Transformer, points: Sequence[TestPoint]) -> list[Finding]:
    """Return short tests of which the resistance does not go with what the windings read with direct current."""
    primary, secondary, ratio = part.primary_resistance, secondary_resistance(part), ratio_of(part)
    share = resistance_share(part)
    if primary is None or secondary is None or not ratio or share is None or primary.value > secondary.value:
        return []
    reflected = secondary.value / ratio**2
    dc = primary.value + reflected
    spread = hypot(SPREAD, (known_sigma(primary) * primary.value + known_sigma(secondary) * reflected) / dc)
    read = [(p, p.resistance) for p in points if p.resistance is not None]
    below = [(p, r) for p, r in read if r < 0.85 * dc and log(r / dc) < -FAR * spread]
    under = [p for p in points if dc > 1.02 * p.impedance and log(dc / p.impedance) > FAR * spread]
    if len(below) > 1 and len(below) == len(read):
        key = "primary_resistance" if primary.value > 0.6 * dc else secondary_key(part)
        message = (
            f"Every short test shows less resistance ({', '.join(say(r, 'ohm') for _, r in read)}) than the two "
            f"windings read with direct current, {say(dc, 'ohm')} on primary turns."
        )
        hint = "Read the windings' resistances again, and take off what the meter's leads read when shorted."
        return [Finding("resistance-below-dc", "STOP", f"{part.where or part.id}.{key}", message, hint)]
    if not RESISTANCE_SHARE[0] <= share <= RESISTANCE_SHARE[1]:
        return []
    found = []
    for p in under:
        message = (
            f"{say(p.volts, 'V')} over {say(p.amperes, 'A')} is {say(p.impedance, 'ohm')}, less than the windings' "
            f"resistance alone, {say(dc, 'ohm')} on primary turns: no reactance is left."
        )
        hint = f"A slip of the decimal point? {say(p.amperes / 10, 'A')} or {say(p.volts * 10, 'V')}."
        found.append(Finding("impossible-x", "STOP", f"{p.where}.current", message, hint))
    for p, r in below:
        if p in under:
            continue
        key = "current" if stands_out(p, points, SHORT_ODD) else "power"
        message = (
            f"{say(p.watts or 0.0, 'W')} at {say(p.amperes, 'A')} is {say(r, 'ohm')}, less than the windings read with "
            f"direct current, {say(dc, 'ohm')} on primary turns."
        )
        hint = f"A slip? The copper alone takes {say(dc * p.amperes**2, 'W')} at that current."
        found.append(Finding("resistance-below-dc", "STOP", f"{p.where}.{key}", message, hint))
    for p, r in read:
        if r > 2.5 * dc and log(r / dc / 1.5) > FAR * spread and r <= POWER_EXCESS * p.impedance:
            key = "current" if stands_out(p, points, SHORT_ODD) else "power"
            message = (
                f"{say(p.watts or 0.0, 'W')} at {say(p.amperes, 'A')} is {say(r, 'ohm')}, {r / dc:.1f} times the "
                "windings' direct-current resistance; usual is 1.0 to 1.6."
            )
            hint = "Read it again; a loose short also takes power."
            found.append(Finding("stray-loss", "CAUTION", f"{p.where}.{key}", message, hint))
    return found
