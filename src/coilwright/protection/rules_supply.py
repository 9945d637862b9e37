"""Tags of one arrangement with its numbers."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.protection.body import LET_GO_CURRENT, TOUCH_LIMIT_RMS
from coilwright.protection.breaker import inrush_verdict, magnetic_band, verdict
from coilwright.protection.clearance import required_spacing
from coilwright.protection.facts import ParallelGroup, Shock, SupplyFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules_capacitor import (
    CORRECTION_MARGIN,
    MAINS_TOLERANCE,
    OLD_CORRECTION_YEAR,
    capacitor_tags,
)
from coilwright.protection.rules_shelf import FLUX_LIMIT, flux_tag
from coilwright.protection.rules_site import rcd_words
from coilwright.protection.rules_stress import Margin, insulation_margins, insulation_tags, pencil_tags
from coilwright.protection.tag import Tag
from coilwright.protection.wording import (
    amperes,
    celsius,
    listed,
    metres,
    percent,
    residual,
    seconds,
    volts_peak,
    volts_rms,
    watts,
)

PART_OVERCURRENT = 1.5
BALLASTED_OVERCURRENT = 2.0  # what the planner lets a part carry behind a ballast, output shorted


def supply_tags(facts: SupplyFacts) -> tuple[Tag, ...]:
    """Return the tags of one arrangement. Sort and merge them with the others by ``rules.collect`` and
    ``rules.rank``.
    """
    return (
        *_people(facts),
        *_current_limit(facts),
        *insulation_tags(facts),
        *_interconnection(facts),
        *_front(facts),
        *capacitor_tags(facts),
        *_opened_shorts(facts),
        *_switch_on(facts),
        *_running(facts),
        *pencil_tags((*insulation_margins(facts), *_current_margins(facts))),
        *(raise_tag("not-converged", name) for name in facts.unconverged),
    )


def _people(facts: SupplyFacts) -> Iterator[Tag]:
    if not facts.high_voltage:
        return
    short = facts.short_current
    yield raise_tag(
        "supply-kills",
        value=None if short is None else f"{amperes(short)} short-circuit current of this supply",
        number=short,
        bound=LET_GO_CURRENT,
    )
    seen = [r for r in (facts.residual, *(s.residual for s in facts.shocks)) if r is not None]
    leaking = max(seen, default=None)
    yield raise_tag("rcd-blind", value=rcd_words(leaking, facts.rcd), number=leaking, bound=facts.rcd)
    deadly = [s for s in facts.shocks if s.current > LET_GO_CURRENT]
    for shock in deadly:
        yield raise_tag(
            "body-current",
            shock.where,
            value=_shock_words(shock, facts.rcd),
            number=shock.current,
            bound=LET_GO_CURRENT,
        )
    if deadly and facts.series_resistors:
        worst = max(deadly, key=lambda s: s.current)
        yield raise_tag(
            "lamp-still-deadly",
            listed(facts.series_resistors),
            value=f"{worst.where}: {_shock_words(worst, facts.rcd)}",
            number=worst.current,
            bound=LET_GO_CURRENT,
        )


def _shock_words(shock: Shock, rcd: float | None) -> str:
    where = "across, hand to hand" if shock.across else "to earth"
    before = "" if shock.voltage is None else f"{volts_rms(shock.voltage)} {where} before it is touched; "
    words = f"{amperes(shock.current_575)} through 575 ohm, {amperes(shock.current_1000)} through 1 kohm"
    load = f" ({shock.load})" if shock.load else ""
    seen = "" if shock.residual is None else f"; residual {residual(shock.residual)}"
    if shock.residual is not None and rcd is not None:
        device = f"a residual-current device of {amperes(rcd)}"
        seen += f": {device} {'sees none of it' if shock.residual < rcd / 2 else 'trips only once it flows'}"
    return before + words + load + seen


def _current_margins(facts: SupplyFacts) -> tuple[Margin, ...]:
    """Return the comparisons behind ``no-current-limit`` and ``breaker-overload``.

    With the output bolted: every unit against 1.5 times its rated current, 2 times behind a ballast that was found to
    limit (as the planner does); the mains against the breaker where there is no such ballast.
    """
    rated = facts.breaker.rated_current
    margins: list[Margin] = []
    if not facts.ballast and facts.mains_short is not None:
        margins.append(
            Margin(
                "no-current-limit",
                "mains",
                facts.mains_short,
                rated,
                facts.mains_mark,
                f"{amperes(facts.mains_short)} with the output shorted",
                f"{amperes(rated)} breaker",
                doubted="number",
            )
        )
    factor = BALLASTED_OVERCURRENT if facts.ballast else PART_OVERCURRENT
    for part in facts.part_currents:
        bound = factor * part.rated_current
        usual = ", the usual one of its kind" if part.mark == "pencil" else ""
        margins.append(
            Margin(
                "no-current-limit",
                part.id,
                part.short_current,
                bound,
                part.mark,
                f"{amperes(part.short_current)} with the output shorted",
                f"{amperes(bound)}, {factor:g} x rated {amperes(part.rated_current)}{usual}",
                doubted="number",
            )
        )
    carried = _carried(facts)
    if carried is not None:
        amps, how = carried
        margins.append(
            Margin(
                "breaker-overload",
                "breaker",
                amps,
                rated,
                facts.mains_mark,
                f"{amperes(amps)} {how}: {verdict(amps, facts.breaker).words}",
                f"{amperes(rated)} rated",
                doubted="number",
            )
        )
    return tuple(margins)


def _carried(facts: SupplyFacts) -> tuple[float, str] | None:
    """Return the largest mains current, with every correction capacitor in place or all of them failed open."""
    both = (
        (facts.mains_uncorrected, "with every correction capacitor failed open"),
        (facts.mains_corrected, "with the correction capacitors in place"),
    )
    return max(((amps, how) for amps, how in both if amps is not None), key=lambda c: c[0], default=None)


def _current_limit(facts: SupplyFacts) -> Iterator[Tag]:
    margins = _current_margins(facts)
    yield from (m.tag() for m in margins if m.overstepped)
    told = {m.where for m in margins if m.overstepped and m.id == "no-current-limit"}
    short = "" if facts.mains_short is None else f", {amperes(facts.mains_short)} with the output shorted"
    for name in facts.touched_shunts:
        if name not in told:
            yield raise_tag(
                "no-current-limit",
                name,
                value=f"shunts no longer as built, and no ballast: its own limit does not count{short}",
                number=facts.mains_short,
            )


def _interconnection(facts: SupplyFacts) -> Iterator[Tag]:
    if facts.mains_in_series:
        gain = None if facts.mains_gain is None else f"gain {percent(facts.mains_gain)} of the open volts"
        yield raise_tag("mains-in-series", facts.name, value=gain, number=facts.mains_gain)
    if facts.tapped_in_series:
        yield raise_tag("tapped-in-series", listed(facts.tapped_in_series))
    if facts.lamp_autotransformers:
        yield raise_tag("lamp-autotransformer", listed(facts.lamp_autotransformers))
    if facts.pair and facts.polarity_mark != "stamped":
        ends = ", ".join(f"{joint} {volts_rms(v)} to earth" for joint, v in facts.ends)
        sheet = f"polarity sheet: {facts.polarity_words}" if facts.polarity_words else ""
        yield raise_tag(
            "zero-is-not-off",
            facts.name,
            value="; ".join(x for x in (ends, sheet) if x) or None,
            number=max((v for _, v in facts.ends), default=None),
            mark=facts.polarity_mark,
        )
    for group in facts.parallel:
        yield from _parallel(group)


def _parallel(group: ParallelGroup) -> Iterator[Tag]:
    words = [] if group.alike else ["unlike"]
    words += [] if group.proved else ["polarity not stamped"]
    if words or group.circulating > group.rated_current:
        yield raise_tag(
            "parallel-mismatch",
            group.where,
            value=", ".join([*words, f"{amperes(group.circulating)} circulating"]),
            limit=f"{amperes(group.rated_current)} rated",
            number=group.circulating,
            bound=group.rated_current,
        )


def _front(facts: SupplyFacts) -> Iterator[Tag]:
    """What stands between mains and primaries."""
    if facts.separating:
        yield raise_tag("isolation-transformer-myth", listed(facts.separating))
    for variable in facts.variables:
        words = [] if variable.current is None else [f"brush {amperes(variable.current)}"]
        words += ["rating not stated" if variable.rated_current is None else f"rated {amperes(variable.rated_current)}"]
        yield raise_tag(
            "variable-not-isolating",
            variable.id,
            value=", ".join(words),
            number=variable.current,
            bound=variable.rated_current,
        )
    yield from (flux_tag(f.id, f.ratio, f.mark) for f in facts.flux if f.ratio > FLUX_LIMIT)


def _switch_on(facts: SupplyFacts) -> Iterator[Tag]:
    for where, peak in (("switch-on", facts.inrush_peak), ("correction capacitor closing", facts.closing_peak)):
        if peak is None:
            continue
        said = inrush_verdict(peak, facts.breaker)
        if said.may_trip is False:
            continue
        band = magnetic_band(facts.breaker)
        limit = (
            said.words
            if band is None or said.low is None or said.high is None
            else (f"{amperes(said.low)} to {amperes(said.high)} peak ({amperes(band[0])} to {amperes(band[1])} rms)")
        )
        yield raise_tag(
            "breaker-inrush", where, value=f"{amperes(peak)} peak", limit=limit, number=peak, bound=said.low
        )


def _opened_shorts(facts: SupplyFacts) -> Iterator[Tag]:
    """A shorted winding that serves as a choke is a high winding again the moment its short opens."""
    for short in facts.opened_shorts:
        if short.voltage > TOUCH_LIMIT_RMS:
            at = f" ({short.load})" if short.load else ""
            yield raise_tag(
                "short-test-opens",
                short.where,
                value=f"{volts_rms(short.voltage)} if the bolted short opens while it serves as a choke{at}",
                number=short.voltage,
                bound=TOUCH_LIMIT_RMS,
                do="Two bolted joints in parallel for the short, and guard the winding as one that is live.",
            )


def _running(facts: SupplyFacts) -> Iterator[Tag]:
    if len(facts.states) > 1:
        yield raise_tag(
            "two-working-points",
            facts.name,
            value=", ".join(volts_rms(v) for v in sorted(facts.states, reverse=True)),
            number=max(facts.states),
        )
    yield from _resistors(facts)
    for part in facts.heat:
        if part.temperature > part.limit:
            words = [
                celsius(part.temperature),
                *([] if part.on_time is None else [f"on at most {seconds(part.on_time)} from cold"]),
                *([] if part.duty is None else [f"duty {percent(part.duty)}"]),
            ]
            yield raise_tag(
                "heat-duty",
                part.id,
                value=", ".join(words),
                limit=f"{celsius(part.limit)} of its class",
                number=part.temperature,
                bound=part.limit,
                mark=part.mark,
            )
    for built in facts.spacings:
        need = required_spacing(built.peak, built.air_density_ratio)
        if built.spacing < need.clearance:
            yield raise_tag(
                "clearance",
                built.where,
                value=f"{metres(built.spacing)} at {volts_peak(built.peak)}",
                limit=f"{metres(need.clearance)}; {need.basis}",
                number=built.spacing,
                bound=need.clearance,
            )


__all__ = ["CORRECTION_MARGIN", "MAINS_TOLERANCE", "OLD_CORRECTION_YEAR", "supply_tags"]


def _resistors(facts: SupplyFacts) -> Iterator[Tag]:
    for r in facts.resistors:
        judged = [
            (value, limit, show)
            for value, limit, show in (
                (r.power, r.rated_power, watts),
                (r.voltage, r.rated_voltage, volts_rms),
            )
            if value is not None and limit is not None and value > limit
        ]
        if judged:
            value, limit, _ = judged[0]
            yield raise_tag(
                "resistor-overload",
                r.id,
                value=", ".join(show(v) for v, _, show in judged),
                limit=f"{', '.join(show(b) for _, b, show in judged)}: its rating",
                number=value,
                bound=limit,
            )
