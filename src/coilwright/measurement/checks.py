"""Checks of a transformer's readings by arithmetic alone, before anything is fitted.

A STOP names a reading that cannot be true: it is left out of the fit, and the part waits until it is corrected. A
CAUTION names one that is hard to believe. Thresholds are assumptions, set so that readings with honest meter errors
raise none.
"""

from __future__ import annotations

from coilwright.measurement.bench_points import RESISTANCE_SHARE, TestPoint, points_of, resistance_share
from coilwright.measurement.checks_tests import check_open, check_power, check_short
from coilwright.measurement.checks_windings import check_ratios, check_windings
from coilwright.measurement.findings import GRADES, Finding
from coilwright.model.parts import Transformer


def check_readings(part: Transformer) -> tuple[Finding, ...]:
    """Return what arithmetic says of the readings of a transformer, strongest first."""
    opens, shorts = points_of(part, part.open_test, "open_test"), points_of(part, part.short_test, "short_test")
    found = [*check_power(opens, "open"), *check_power(shorts, "short"), *check_windings(part), *check_ratios(part)]
    stopped = frozenset(f.where for f in found if f.grade == "STOP")
    share = resistance_share(part)
    trusted = share is None or RESISTANCE_SHARE[0] <= share <= RESISTANCE_SHARE[1]
    found += check_open(part, [p for p in opens if not _wrong(p, stopped)], trusted=trusted)
    found += check_short(part, shorts, stopped)
    found += _notes(part, opens, shorts)
    return tuple(sorted(found, key=lambda f: GRADES.index(f.grade)))


def _wrong(p: TestPoint, stopped: frozenset[str]) -> bool:
    return any(f"{p.where}.{key}" in stopped for key in ("power", "current", "applied"))


def _notes(part: Transformer, opens: list[TestPoint], shorts: list[TestPoint]) -> list[Finding]:
    base = part.where or part.id
    found = []
    if not opens:
        message = "No open test: no-load current and loss are the kind's, in pencil."
        found.append(Finding("no-open-test", "NOTE", base, message))
    elif len(opens) == 1:
        message = "One open point: how hard the iron bends is assumed."
        found.append(Finding("one-open-point", "NOTE", opens[0].where, message))
    if len(shorts) == 1:
        message = "One short point: how far the shunts saturate at full volts is assumed."
        found.append(Finding("one-short-point", "NOTE", shorts[0].where, message))
    return found
