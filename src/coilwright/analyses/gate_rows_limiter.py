"""The gate of the series limiter: the smallest usual lamp that tells right from wrong here, and what it shows."""

from __future__ import annotations

from math import hypot

from coilwright.analyses.gate_bench import COVERAGE, GateBench, judged
from coilwright.analyses.gates_results import Gate, GateRow
from coilwright.analyses.limiter import limiter
from coilwright.analyses.limiter_results import LimitedPoint, LimiterResult, Wanted
from coilwright.errors import InputError, SolverError
from coilwright.model.known import weakest
from coilwright.protection.body import LET_GO_CURRENT, keep_out_distance
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, listed, metres, volts_rms

TITLE = "Series limiter"
#: The first guess, whose result names every usual lamp and heater with its verdict.
FIRST = Wanted("lamp", 500.0)
#: One standard deviation of the volts for the model, besides what the parts leave open (assumption).
MODEL = 0.04


def limiter_gate(bench: GateBench) -> tuple[Gate, tuple[Tag, ...]]:
    """Return the gate and the hazards of its test; without a limiter that separates it says so and has no numbers."""
    try:
        result = _chosen(bench)
    except InputError as error:
        return _unknown("; ".join(p.message for p in error.problems)), ()
    except SolverError as error:
        return _unknown(f"no converged answer, so no number is shown: {error}"), ()
    if not result.separates:
        return _unknown("no usual lamp or heater tells right from wrong before this supply"), _tags(result)
    name = f"{result.power:g} W {result.kind}"
    meter = bench.instrument(
        "voltage", bench.design.site.mains_voltage.value, f"a voltmeter for {volts_rms(result.mains_voltage)}"
    )
    rows = tuple(
        _row(bench, row, words, point, meter, result)
        for row, words, point in (
            ("limiter open", f"across the {name}, output open", result.opened),
            ("limiter shorted", f"across the {name}, output shorted", result.shorted),
        )
    )
    peaks = [j.to_earth_peak for j in bench.supply.joints.values()]
    distance = keep_out_distance(max(peaks, default=0.0), None)
    off = f", correction capacitors ({listed(result.taken_off)})" if result.taken_off else ""
    gate = Gate(
        "limiter", 7, TITLE,
        (
            (f"A {name} for this mains in series with the line, before the whole set; tank{off} off. "
            f"{_others(result)}"),
            "The limiter has a socket and a guard of its own; its volts are read there, with leads clipped on dead.",
            "Output open first, then bolted short, dead and drained in between.",
            result.deadly,
        ),
        tuple(_wrong(result)), distance,
        f"everyone {metres(distance)} away; one person at the switch", rows,
        ("guard in place as for full volts",), source="model",
    )  # fmt: skip
    return gate, _tags(result)


def _chosen(bench: GateBench) -> LimiterResult:
    """Return the result of the smallest lamp that separates, else the smallest heater, else of the first guess."""
    arrangement = bench.w.arrangement
    first = limiter(bench.design, FIRST, arrangement=arrangement, shelf=bench.shelf)
    fit = [c for c in first.choices if c.separates]
    if not fit:
        return first
    best = min(fit, key=lambda c: (c.kind != "lamp", c.power))
    if (best.kind, best.power) == (first.kind, first.power):
        return first
    return limiter(bench.design, Wanted(best.kind, best.power), arrangement=arrangement, shelf=bench.shelf)


def _row(bench: GateBench, id: str, words: str, point: LimitedPoint, meter: str, result: LimiterResult) -> GateRow:
    value = point.limiter_voltage
    low, high = point.band or (value, value)
    more = COVERAGE * hypot(MODEL * value, bench.meter(meter, "voltage", value))
    row = GateRow(
        id, words, value, max(0.0, value - hypot(value - low, more)),
        min(result.mains_voltage * 1.1, value + hypot(high - value, more)), "V", meter,
        weakest("pencil", result.mark), "lamp's watts 10 % off either way, parts 4 % (assumptions)",
    )  # fmt: skip
    return judged(row, bench.reading("voltage", id))


def _others(result: LimiterResult) -> str:
    """Return which smaller ones of its kind tell nothing."""
    small = [c for c in result.choices if c.kind == result.kind and c.power < result.power and c.separates is False]
    bad = listed(f"{c.power:g} W" for c in small)
    return f"A smaller {result.kind} tells nothing here ({bad})." if bad else ""


def _wrong(result: LimiterResult) -> list[str]:
    """Return what each mistake shows where the limiter shows it, and which ones it does not."""
    lines = []
    opened = [(s.done, s.open_voltage) for s in result.slips if s.tells_open and s.open_voltage is not None]
    shorted = [(s.done, s.short_voltage) for s in result.slips if s.tells_short and s.short_voltage is not None]
    for state, seen in (("open", opened), ("shorted", shorted)):
        if seen:
            lines.append(f"Output {state}: {'; '.join(f'{done} {volts_rms(v)}' for done, v in seen)}.")
    blind = [s.done for s in result.slips if not (s.tells_open or s.tells_short)]
    if blind:
        lines.append(f"It does not show: {'; '.join(dict.fromkeys(blind))}.")
    return lines


def _tags(result: LimiterResult) -> tuple[Tag, ...]:
    worst = max(result.touches, key=lambda t: t.current, default=None)
    found = [t for t in result.tags if t.id == "not-converged"]
    if worst is not None and worst.current > LET_GO_CURRENT:
        found.append(
            raise_tag(
                "lamp-still-deadly",
                f"behind the {result.power:g} W {result.kind}",
                value=f"{volts_rms(worst.voltage)}, {amperes(worst.current)} through a body at {worst.where}",
                number=worst.current,
                bound=LET_GO_CURRENT,
            )
        )
    return tuple(found)


def _unknown(words: str) -> Gate:
    return Gate(
        "limiter", 7, TITLE, (), (), 0.0, "at the set", verdict="not known",
        words=f"{words}. Leave this gate out and go on at reduced volts from a variable transformer.",
    )  # fmt: skip


__all__ = ["limiter_gate"]
