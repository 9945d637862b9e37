"""The best string that the shelf holds: every series and parallel count of every kind, ranked or refused in words.

Unlike units never stand in series: they would share the volts as nobody knows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, log

from coilwright.capacitors.film import FilmUnit
from coilwright.capacitors.strings import Duty, StringFigures, Verdict, dynamic_share, evaluate
from coilwright.errors import InputError, Problem

#: How many banks of one kind are worked out in full: those that hold the volts and lie nearest to the wanted value.
PER_KIND = 6
#: Weights of the score (our rule, no source; lower is better): a capacitance off by a factor e, a unit used, the
#: closest limit that holds used to the full, a doubt (up to three times, as far as the figure passes its limit).
MISS, UNIT, USE, DOUBT = 1.0, 0.01, 0.3, 0.5

DutyAt = Callable[[float], Duty]


@dataclass(frozen=True)
class Wanted:
    """A capacitance to aim at, and the least and the most that will do [F]."""

    target: float
    low: float
    high: float


@dataclass(frozen=True)
class Ranked:
    """A bank that may be built: ``score`` lower is better, ``why`` what made it."""

    figures: StringFigures
    score: float
    why: tuple[str, ...]


@dataclass(frozen=True)
class Refused:
    """A kind that gives no bank, with the nearest bank if there is one (None: the kind itself is unfit)."""

    unit: FilmUnit
    nearest: StringFigures | None
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Choice:
    ranked: tuple[Ranked, ...]
    refused: tuple[Refused, ...]
    considered: int


def choose(units: Sequence[FilmUnit], wanted: Wanted, duty_at: DutyAt) -> Choice:
    """Return the banks of like units that come within the wanted capacitance and hold, best first.

    Parameters
    ----------
    units
        The kinds on the shelf with their counts.
    wanted
        Least, best and largest capacitance.
    duty_at
        The duty at a capacitance [F]: peak with the gap missing and break rate depend on it.

    Raises
    ------
    InputError
        If the wanted capacitances are not positive and in order.
    """
    if not 0 < wanted.low <= wanted.target <= wanted.high:
        raise InputError(
            [
                Problem(
                    "tank.capacitance",
                    None,
                    f"from {wanted.low:g} F over {wanted.target:g} F to {wanted.high:g} F is no range of capacitances",
                    "Give capacitances above zero: least, wanted and largest in order.",
                )
            ]
        )
    ranked: list[Ranked] = []
    refused: list[Refused] = []
    considered = 0
    for unit in units:
        if unit.unfit:
            refused.append(Refused(unit, None, unit.unfit))
            continue
        banks = list(_banks(unit, wanted))
        considered += len(banks)
        good, bad = _of_kind(unit, banks, wanted, duty_at)
        ranked += good
        if not good:
            refused.append(bad or _out_of_reach(unit, wanted, duty_at))
    ranked.sort(key=lambda r: (r.score, r.figures.units, r.figures.unit.id))
    return Choice(tuple(ranked), tuple(refused), considered)


def least_series(unit: FilmUnit, peak: float) -> int | None:
    """Return how many in series hold ``peak`` [V] with the worst share, None where no rating is known.

    >>> from coilwright.capacitors.film import unit_of
    >>> from coilwright.model.known import Known
    >>> from coilwright.model.parts import Capacitor
    >>> part = Capacitor("C", Known(1e-7), rated=Known(600.0), rated_kind="DC", dielectric="PP", tolerance=0.0)
    >>> least_series(unit_of(part), 15000.0)
    53
    """
    if unit.rated_peak is None:
        return None
    n = max(1, floor(peak / unit.rated_peak.value))
    while peak * dynamic_share(n, unit.tolerance) > unit.rated_peak.value * (1 + 1e-9):
        n += 1
        if n > 100_000:
            return None
    return n


def _banks(unit: FilmUnit, wanted: Wanted) -> Iterator[tuple[int, int]]:
    """Yield every (series, parallel) that the count allows and whose capacitance is wanted."""
    c = unit.capacitance.value
    for series in range(1, unit.count + 1):
        most = min(unit.count // series, floor(wanted.high * series / c * (1 + 1e-9)))
        for parallel in range(max(1, ceil(wanted.low * series / c * (1 - 1e-9))), most + 1):
            yield series, parallel


def _of_kind(
    unit: FilmUnit, banks: Sequence[tuple[int, int]], wanted: Wanted, duty_at: DutyAt
) -> tuple[list[Ranked], Refused | None]:
    holding: list[tuple[float, float, int, int]] = []
    failing: list[tuple[float, float, int, int]] = []
    for series, parallel in banks:
        c = unit.capacitance.value * parallel / series
        peak = duty_at(c).highest_peak or 0.0
        over = peak * dynamic_share(series, unit.tolerance) / unit.rated_peak.value if unit.rated_peak else 1.0
        miss = abs(log(c / wanted.target))
        (holding if over <= 1 + 1e-9 else failing).append(
            (MISS * miss + UNIT * series * parallel, over, series, parallel)
        )
    good, worst = [], None
    for _, _, series, parallel in sorted(holding)[:PER_KIND]:
        figures = _evaluated(unit, series, parallel, duty_at)
        if figures.verdict == "over":
            worst = worst or figures
        else:
            good.append(_ranked(figures, wanted))
    if good:
        return good, None
    if worst is not None:
        return [], Refused(unit, worst, tuple(refusals(worst)))
    if failing:
        _, _, series, parallel = min(failing, key=lambda f: (f[1], f[0]))
        figures = _evaluated(unit, series, parallel, duty_at)
        return [], Refused(unit, figures, (*refusals(figures), *_needs(unit, wanted, duty_at)))
    return [], None


def _evaluated(unit: FilmUnit, series: int, parallel: int, duty_at: DutyAt) -> StringFigures:
    return evaluate(unit, series, parallel, duty_at(unit.capacitance.value * parallel / series), bleeder=unit.bleeder)


def _ranked(figures: StringFigures, wanted: Wanted) -> Ranked:
    miss = abs(log(figures.capacitance.value / wanted.target))
    held = [c for c in figures.checks if c.verdict == "within"]
    closest = max(held, key=lambda c: c.value / c.limit, default=None)
    doubts = [c for c in figures.checks if c.verdict in {"doubtful", "not known"}]
    use = closest.value / closest.limit if closest else 1.0
    doubt = sum(min(c.value / c.limit, 3.0) if c.limit > 0 else 1.0 for c in doubts)
    score = MISS * miss + UNIT * figures.units + USE * use + DOUBT * doubt
    off = figures.capacitance.value / wanted.target - 1
    why = [f"capacitance {off:+.0%} of the wanted", f"{figures.units} of {figures.unit.count} units"]
    if closest:
        why.append(f"closest to its limit: {closest.what}, {use:.0%}")
    why += [
        f"in doubt: {c.what}, {c.value / c.limit:.0%} of what is assumed" if c.limit > 0 else f"not known: {c.what}"
        for c in doubts
    ]
    return Ranked(figures, score, tuple(why))


def refusals(figures: StringFigures) -> Iterator[str]:
    """Yield in words what a bank does not stand."""
    name = f"{figures.series} in series and {figures.parallel} in parallel"
    for check in figures.checks:
        if check.verdict == "over":
            yield (
                f"{name}: {check.what} {_plain(check.value, check.unit)} above {_plain(check.limit, check.unit)} "
                f"({check.words})"
            )


def _needs(unit: FilmUnit, wanted: Wanted, duty_at: DutyAt) -> Iterator[str]:
    """Yield how many would hold the volts, and how many that makes with the capacitance."""
    peak = duty_at(wanted.target).highest_peak
    series = None if peak is None else least_series(unit, peak)
    if series is None or peak is None:
        return
    parallel = max(1, round(wanted.target * series / unit.capacitance.value))
    yield (
        f"{_plain(peak, 'V')} peak needs {series} in series with the worst share; with {parallel} in parallel for the "
        f"capacitance that is {series * parallel} of them, the shelf has {unit.count}"
    )
    other = _another(unit, wanted, duty_at)
    if other is not None:
        yield (
            f"another capacitance will do: {other.series} in series and {other.parallel} in parallel make "
            f"{_plain(other.capacitance.value, 'F')}"
        )


def _another(unit: FilmUnit, wanted: Wanted, duty_at: DutyAt) -> StringFigures | None:
    """Return the bank of any capacitance, nearest to the wanted one, that nothing speaks against; volts of a missing
    gap that are not known speak against it. None where there is none among the nearest that hold the volts.
    """
    if unit.rated_peak is None:
        return None
    c, found = unit.capacitance.value, []
    for series in range(1, unit.count + 1):
        for parallel in range(1, unit.count // series + 1):
            duty = duty_at(c * parallel / series)
            peak = duty.highest_peak
            if peak is None or duty.missing_peak is None:
                continue
            if peak * dynamic_share(series, unit.tolerance) <= unit.rated_peak.value * (1 + 1e-9):
                found.append((abs(log(c * parallel / series / wanted.target)), series * parallel, series, parallel))
    made = (_evaluated(unit, series, parallel, duty_at) for _, _, series, parallel in sorted(found)[:PER_KIND])
    return next((f for f in made if f.verdict not in {"over", "not known"}), None)


def _out_of_reach(unit: FilmUnit, wanted: Wanted, duty_at: DutyAt) -> Refused:
    """No count of this kind gives a wanted capacitance."""
    c, n = unit.capacitance.value, unit.count
    reason = (
        f"{n} of {_plain(c, 'F')} give no capacitance from {_plain(wanted.low, 'F')} to {_plain(wanted.high, 'F')} in "
        "any count of like units"
    )
    return Refused(unit, None, (reason, *_needs(unit, wanted, duty_at)))


_UNITS = {
    "V": ((1e3, "kV"), (1.0, "V")),
    "A": ((1.0, "A"), (1e-3, "mA")),
    "K": ((1.0, "K"),),
    "F": ((1e-6, "uF"), (1e-9, "nF"), (1e-12, "pF")),
    "V/s": ((1e9, "kV/us"), (1e6, "V/us")),
}


def _plain(value: float, unit: str) -> str:
    """Return the number for a sentence, three figures.

    >>> _plain(15000.0, "V"), _plain(47e-9, "F"), _plain(628e6, "V/s"), _plain(4.63e9, "V/s")
    ('15 kV', '47 nF', '628 V/us', '4.63 kV/us')
    """
    steps = _UNITS[unit]
    scale, name = next((s for s in steps if abs(value) >= s[0]), steps[-1])
    return f"{float(f'{value / scale:.3g}'):g} {name}"


__all__ = ["Choice", "Duty", "Ranked", "Refused", "Verdict", "Wanted", "choose", "least_series", "refusals"]
