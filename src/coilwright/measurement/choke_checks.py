"""Checks of a choke's readings by arithmetic, and which test does not fit the others."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from math import hypot, log

from coilwright.measurement.bench_points import TestPoint, stands_out
from coilwright.measurement.checks_tests import FAR, POWER_EXCESS, SPREAD
from coilwright.measurement.findings import GRADES, Finding, say
from coilwright.measurement.readings import known_sigma
from coilwright.model.parts import Choke, Instrument

#: A choke's impedance stays within so much of that at the other tests unless it saturates (it then falls).
ODD = 1.25
RISE = 1.10


def check_choke(choke: Choke, instruments: Mapping[str, Instrument]) -> tuple[Finding, ...]:
    """Return what is wrong with a choke's readings, strongest first."""
    found: list[Finding] = []
    points = []
    for k, t in enumerate(choke.test):
        where = t.where or f"{choke.where or choke.id}.test[{k}]"
        instrument = instruments.get(t.stamp.instrument or "")
        if instrument is not None and instrument.rating is not None and t.voltage.value > instrument.rating:
            message = (
                f"{say(t.voltage.value, 'V')} is above the rating of {instrument.id}, {say(instrument.rating, 'V')}."
            )
            hint = "The reading is not used; use an instrument that is rated for it."
            found.append(Finding("test-above-meter", "STOP", f"{where}.voltage", message, hint))
        elif t.voltage.value > 0 and t.current.value > 0:
            watts = t.power.value if t.power else None
            points.append(TestPoint(where, t.voltage.value, t.current.value, watts))
    points.sort(key=lambda p: p.volts)
    for p in points:
        found += _power(p, points, choke)
    for a, b in itertools.pairwise(points):
        if b.volts / a.volts > 1.05 and b.impedance / a.impedance > RISE:
            worse = a if stands_out(a, points, ODD) and not stands_out(b, points, ODD) else b
            message = (
                f"From {say(a.volts, 'V')} to {say(b.volts, 'V')} the impedance rises from {say(a.impedance, 'ohm')} "
                f"to {say(b.impedance, 'ohm')}; a choke's stays or falls."
            )
            hint = "Are two readings exchanged, or is one a slip of the decimal point?"
            found.append(Finding("choke-shape", "CAUTION", f"{worse.where}.current", message, hint))
    return tuple(sorted(found, key=lambda f: GRADES.index(f.grade)))


def _power(p: TestPoint, points: list[TestPoint], choke: Choke) -> list[Finding]:
    if p.watts is not None and p.watts > POWER_EXCESS * p.volts * p.amperes:
        message = (
            f"{say(p.watts, 'W')} at {say(p.volts, 'V')} and {say(p.amperes, 'A')} is above the volt-amperes, "
            f"{say(p.volts * p.amperes, 'VA')}."
        )
        odd = stands_out(p, points, ODD)
        fits = say(p.amperes * 10, "A") if odd else say(p.watts / 10, "W")
        key = "current" if odd else "power"
        hint = f"A slip of the decimal point? {fits} would fit."
        return [Finding("power-above-va", "STOP", f"{p.where}.{key}", message, hint)]
    if choke.resistance is None:
        return []
    dc = choke.resistance.value
    spread = hypot(SPREAD, known_sigma(choke.resistance))
    if dc > 1.02 * p.impedance and log(dc / p.impedance) > FAR * spread:
        message = (
            f"{say(p.volts, 'V')} over {say(p.amperes, 'A')} is {say(p.impedance, 'ohm')}, less than the winding's "
            f"resistance of {say(dc, 'ohm')}: no reactance is left."
        )
        hint = f"A slip of the decimal point? {say(p.amperes / 10, 'A')} or {say(p.volts * 10, 'V')}."
        return [Finding("impossible-x", "STOP", f"{p.where}.current", message, hint)]
    if p.resistance is not None and p.resistance < 0.85 * dc and log(p.resistance / dc) < -FAR * spread:
        key = "current" if stands_out(p, points, ODD) else "power"
        message = (
            f"{say(p.watts or 0.0, 'W')} at {say(p.amperes, 'A')} is {say(p.resistance, 'ohm')}, less than the "
            f"winding's resistance of {say(dc, 'ohm')}."
        )
        hint = f"A slip? The copper alone takes {say(dc * p.amperes**2, 'W')} at that current."
        return [Finding("resistance-below-dc", "STOP", f"{p.where}.{key}", message, hint)]
    return []
