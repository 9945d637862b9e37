"""Scores and refusals in words with their numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coilwright.model.site import Breaker
from coilwright.planner.inventory import natural
from coilwright.planner.refusals import NAMES, Group, Refusals
from coilwright.planner.refuse import WORDS
from coilwright.planner.solve import Context, Solved, score_terms


def amount(value: float, unit: str) -> str:
    """Return a number with its unit to three figures; a ratio as it is.

    >>> amount(2093.4, "V"), amount(0.0543, "A"), amount(1.92, "ratio")
    ('2.09 kV', '54.3 mA', '1.92')
    """
    if unit == "ratio" or not unit:
        return f"{value:.3g}"
    for scale, prefix in ((1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u")):
        if abs(value) >= scale:
            return f"{_figures(value / scale)} {prefix}{unit}"
    return f"{value:.3g} {unit}"


def _figures(x: float) -> str:
    digits = max(0, 2 - len(str(int(abs(x)))) + 1)
    return f"{x:.{digits}f}"


def _range(low: float, high: float, unit: str, code: str) -> str:
    if code in {"mains-in-series", "parallel-mismatch"}:
        a, b = f"{100 * low:.1f} %", f"{100 * high:.1f} %"
    else:
        a, b = amount(low, unit), amount(high, unit)
    return a if a == b else f"{a} to {b}"


def breaker_name(breaker: Breaker) -> str:
    """Return what the builder calls the breaker."""
    return f"{breaker.curve or ''}{breaker.rated_current:g}{'' if breaker.curve else ' A'}"


#: Details that one reason lists at most.
DETAILS = 8
#: code -> name of the group
TITLES = {
    "reading-stop": "parts with a reading that cannot be true",
    "electronic-supply": "electronic supplies",
    "lamp-autotransformer": "lamp autotransformers",
    "mains-in-series": "mains in series with the high-voltage winding",
    "tapped-in-series": "tapped windings in series",
    "floating-core": "stacks with floating cores",
    "tie-not-liftable": "stacks with lifted ends: the tie cannot be lifted",
    "inner-end-lifted": "stacks with lifted ends",
    "winding-overvolt": "winding ends above their insulation",
    "inner-end-unknown": "windings whose inner end is not known",
    "high-to-primary": "high winding to primary",
    "no-current-limit": "no ballast",
    "breaker": "more than the breaker carries",
    "mains-current": "more mains current than the goal allows",
    "overload": "a part far above its rated current",
    "primary-volts": "primary volts off the plate",
    "over-flux": "cores filled beyond their plate",
    "parallel-mismatch": "windings that do not match in parallel",
    "too-low": "too few volts",
    "too-high": "too many volts",
    "front-overload": "front unit overloaded",
    "budget": "over the budget",
    "not-converged": "no converged solution",
    "pfc-wrong-type": "capacitors unfit for correction",
    "unusable": "parts without a usable circuit",
    "avoided": "parts to be avoided",
    "not-used": "supplies without a part that is asked for",
}


def refused_words(refusals: Refusals, breaker: Breaker) -> Iterator[tuple[str, tuple[str, ...], tuple[str, ...], str]]:
    """Yield title, reasons, names and tag of every group of refusals."""
    for group in refusals.groups():
        names = tuple(name for _, name in sorted(group.names, key=lambda n: n[0]))
        shown = names[:NAMES]
        reasons = list(_reasons(group, breaker))
        if group.count > len(shown):
            reasons.append(f"and {group.count - len(shown)} more of the same kind")
        yield TITLES[group.code], tuple(reasons), shown, WORDS[group.code][1]


def _reasons(group: Group, breaker: Breaker) -> Iterator[str]:
    if group.words:
        yield from sorted(group.words)
        return
    for code in sorted(group.codes, key=lambda c: (c != group.code, WORDS[c][0])):
        words = reason_words(code, group.bounds.get(code), group.details.get(code, set()), breaker)
        yield words if group.codes[code] == group.count else f"some of them also: {words}"


def reason_words(code: str, bounds: tuple[float, float, str] | None, details: Iterable[str], breaker: Breaker) -> str:
    """Return a reason with the range of its numbers and what it is about."""
    shown = _range(*bounds, code) if bounds else ""
    listed = sorted(details, key=natural)
    some = ", ".join(listed[:DETAILS]) + (f" and {len(listed) - DETAILS} more" if len(listed) > DETAILS else "")
    return WORDS[code][2].format(range=shown, detail=some, breaker=breaker_name(breaker))


def why(s: Solved, context: Context) -> tuple[str, ...]:
    """Return what made the score, the largest term first."""
    aim = context.aim
    term = score_terms(s, aim)
    asked = "asked" if aim.power_asked else "assumed, for none is asked"
    c = s.candidate
    words = {
        "power": f"{s.apparent_power:.0f} VA against {aim.power:.0f} VA {asked}",
        "breaker": f"{amount(s.mains_current, 'A')} from the mains, {s.mains_current / aim.breaker:.0%} of the breaker",
        "heat": f"a part carries {s.load:.2f} of its rated current shorted",
        "parts": f"{c.n_parts} part{'s' if c.n_parts != 1 else ''}"
        + (f" and {len(c.correctors)} for correction" if c.correctors else ""),
        "power factor": f"power factor {s.power_factor:.2f} at best power"
        + (f" with {' and '.join(k.instance for k in c.correctors)}" if c.correctors else ""),
        "conditions": "; ".join(s.conditions),
        "window": f"{amount(s.open_voltage, 'V')} open lies outside the wanted volts",
    }
    order = sorted(term, key=lambda name: -term[name])
    return tuple(f"{words[name]} (+{term[name]:.2f})" for name in order if term[name] >= 0.005)
