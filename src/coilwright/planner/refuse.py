"""Reasons for refusing a supply: what can be told from its structure and its parts, before or after it is solved."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coilwright.planner.candidate import Candidate
from coilwright.planner.inventory import Unit
from coilwright.planner.score import Aim

#: Primary volts as a share of the plate's between which a unit is used at all.
LEAST_OF_PLATE, MOST_OF_PLATE = 0.35, 1.12
#: Volts per hertz over the plate's above which the core is taken to be full (assumption).
MOST_FLUX = 1.25
#: Circulating current over rated current above which windings do not go in parallel (assumption: full rating with no
#: load).
MOST_CIRCULATING = 1.0
#: From here on a mismatch counts as a condition.
CIRCULATING_CONDITION = 0.25
#: A self-limiting unit without ballast may draw this many times its plate current (rule of the tag no-current-limit).
MOST_WITHOUT_BALLAST = 1.5
#: No part is driven beyond this many times its rated current, output shorted (assumption).
MOST_LOAD = 2.0
#: What a lead drops; counts as 0 V to the core.
LEAD_DROP = 1.0


@dataclass(frozen=True)
class Reason:
    """One reason. ``number`` [SI] takes part in the range that a group of refusals shows, ``detail`` in its list of
    words.
    """

    code: str
    number: float | None = None
    unit: str = ""
    detail: str = ""


#: code -> (rank, tag id, sentence with {range}, {detail} and {breaker})
WORDS: dict[str, tuple[int, str, str]] = {
    "reading-stop": (0, "reading-refused", "a reading cannot be true, so the part is not used until it is corrected"),
    "electronic-supply": (
        1,
        "electronic-supply",
        "an electronic supply: no mains frequency at its output, trips on earth current",
    ),
    "lamp-autotransformer": (
        2,
        "lamp-autotransformer",
        (
            "a lamp autotransformer in place of a choke: it does not limit the current as a "
            "choke does, and its output joint sits on a mains pole"
        ),
    ),
    "mains-in-series": (
        3,
        "mains-in-series",
        "a mains pole in the high-voltage circuit: the gain of {detail}, {range}, makes the house wiring part of it",
    ),
    "tapped-in-series": (
        4,
        "tapped-in-series",
        "tapped windings in series: {range} to the core would stand on end windings built for half of one unit's volts",
    ),
    "floating-core": (
        5,
        "floating-core",
        (
            "a core rides {range} above earth, and its primary's insulation is not proof-tested and stamped "
            "for that (on pencil 1.1 x plate primary volts; oil gives no credit)"
        ),
    ),
    "tie-not-liftable": (
        6,
        "inner-end-lifted",
        "the tied end cannot be lifted off its core, or it is not known whether it can ({detail})",
    ),
    "inner-end-lifted": (
        7,
        "inner-end-lifted",
        (
            "the inner end of a high winding would stand {range} off its core; on pencil it stands "
            "0 V, more only with a proof test stamped"
        ),
    ),
    "winding-overvolt": (
        8,
        "winding-overvolt",
        (
            "the outer end of a high winding would stand {range} off its core, above what it is "
            "counted on for (1.1 x plate volts of that end, or a stamped proof test)"
        ),
    ),
    "inner-end-unknown": (
        8,
        "winding-overvolt",
        (
            "which end of the high winding is the inner one is not known, so both count as inner and "
            "neither may stand off the core ({detail}): state core_end and inner_end"
        ),
    ),
    "high-to-primary": (
        9,
        "high-to-primary",
        (
            "{range} between a high winding and its primary, above what that insulation is counted on for "
            "(1.1 x plate volts, or a stamped proof test)"
        ),
    ),
    "no-current-limit": (
        10,
        "no-current-limit",
        "nothing limits the current: {range} from the mains with the output shorted",
    ),
    "breaker": (
        11,
        "breaker-overload",
        "the mains current, correction capacitors failed open, is {range}: more than the {breaker} breaker carries",
    ),
    "mains-current": (
        12,
        "",
        "the mains current, correction capacitors failed open, is {range}: more than the goal allows",
    ),
    "overload": (13, "heat-duty", "a part would carry {range} of its rated current with the output shorted"),
    "primary-volts": (14, "", "a primary would see {range} of its plate volts (0.35 to 1.12 is used)"),
    "over-flux": (15, "frequency-mismatch", "a core would carry {range} of its plate's volts per hertz"),
    "parallel-mismatch": (
        16,
        "parallel-mismatch",
        "windings in parallel whose volts do not match: {range} of the rated current circulates with nothing connected",
    ),
    "too-low": (17, "", "too low for a stable gap or for the goal: {range} open"),
    "too-high": (18, "", "above the volts that the goal allows: {range} open"),
    "front-overload": (
        19,
        "variable-not-isolating",
        "the regulator or separating unit would carry {range} of its rated current",
    ),
    "budget": (20, "", "over the budget: {range} in the builder's currency"),
    "not-converged": (21, "not-converged", "the solver found no steady state, so there is no number to rank it by"),
    "pfc-wrong-type": (22, "pfc-wrong-type", "not fit for power factor correction"),
    "unusable": (23, "", "no usable circuit"),
    "avoided": (24, "", "the goal says to avoid it"),
    "not-used": (25, "", "the goal asks for parts that it does not use"),
}


def outermost(units: Iterable[Unit], volts: float) -> float:
    """Return the open volts of a group at the given primary volts [V rms]."""
    return max(u.open_volts * volts / u.plate_primary for u in units)


def structural(c: Candidate) -> list[Reason]:
    """Return what can be held against a candidate without solving it."""
    reasons: list[Reason] = []
    volts = c.feed.volts / max(len(s) for s in c.strings)
    total = sum(outermost(g, volts) for side in (c.up, c.down) for g in side)
    if c.mains_in_series:
        reasons.append(Reason("mains-in-series", c.feed.volts / max(total, 1.0), "ratio", f"{c.feed.volts:.0f} V"))
    for side in (c.up, c.down):
        below = c.feed.volts if c.mains_in_series else 0.0
        for level, group in enumerate(side):
            if level > 0 or c.mains_in_series:
                reasons += _above_earth(c, group, below, volts, level)
            below += outermost(group, volts)
    if not c.mains_in_series:
        reasons += [r for u in c.units for r in _plain_end(u, c, volts)]
    return reasons


def _above_earth(c: Candidate, group: Sequence[Unit], below: float, volts: float, level: int) -> list[Reason]:
    """Judge a group whose inner end stands ``below`` volts above earth."""
    out: list[Reason] = []
    for u in group:
        top = below + u.open_volts * volts / u.plate_primary
        if c.cores == "floating" or (c.mains_in_series and level == 0):
            stands = u.insulation
            if not (stands.proved("primary_to_core") and below + volts <= stands.primary_to_core):
                out.append(Reason("floating-core", below, "V"))
            if top + volts > stands.high_to_primary:
                out.append(Reason("high-to-primary", top + volts, "V"))
            continue
        if u.tied in {"start", "finish"} and u.liftable != "yes":
            out.append(Reason("tie-not-liftable", detail=f"{u.id}: {u.liftable}"))
        limits = u.lifted or u.insulation
        inner, outer = ("start", "finish") if u.earthed_end == "start" else ("finish", "start")
        if below > max(_limit(limits, inner), LEAD_DROP):
            out.append(Reason("inner-end-lifted", below, "V"))
        if top > _limit(limits, outer):
            out.append(Reason("winding-overvolt", top, "V"))
        if top + volts > limits.high_to_primary:
            out.append(Reason("high-to-primary", top + volts, "V"))
    return out


def _limit(i: object, end: str) -> float:
    return float(getattr(i, f"{end}_to_core"))


def _plain_end(u: Unit, c: Candidate, volts: float) -> list[Reason]:
    """Judge the outer ends of a unit that stands on earth."""
    if any(u in g for side in (c.up, c.down) for g in side[1:]):
        return []
    open_volts = u.open_volts * volts / u.plate_primary
    ends = ("start", "finish") if u.tied == "tap" else ("finish",) if u.earthed_end == "start" else ("start",)
    each = open_volts / len(ends)
    for end in ends:
        limit = _limit(u.insulation, end)
        if limit <= LEAD_DROP:
            return [Reason("inner-end-unknown", each, "V", u.id)]
        if each * 0.8 > limit:  # what is left after the ballast's drop is judged once it is solved
            return [Reason("winding-overvolt", each, "V")]
    return []


def of_solved(
    c: Candidate, *, open_voltage: float, mains_current: float, load: float, aim: Aim, mains_short: float
) -> list[Reason]:
    """Return what is held against a candidate by its numbers."""
    out: list[Reason] = []
    unlimited = not all(u.limits_itself for u in c.units) or load > MOST_WITHOUT_BALLAST
    if not c.elements and unlimited:
        out.append(Reason("no-current-limit", mains_short, "A"))
    if mains_current > aim.breaker:
        out.append(Reason("breaker", mains_current, "A"))
    elif mains_current > aim.mains_limit:
        out.append(Reason("mains-current", mains_current, "A"))
    if load > MOST_LOAD:
        out.append(Reason("overload", load, "ratio"))
    if open_voltage < aim.floor:
        out.append(Reason("too-low", open_voltage, "V"))
    if open_voltage > aim.ceiling:
        out.append(Reason("too-high", open_voltage, "V"))
    if aim.budget is not None and c.price > aim.budget:
        out.append(Reason("budget", c.price, ""))
    return out
