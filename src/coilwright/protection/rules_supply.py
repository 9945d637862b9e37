"""Tags of one arrangement with its numbers."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.protection.body import LET_GO_CURRENT
from coilwright.protection.breaker import inrush_verdict, magnetic_band, verdict
from coilwright.protection.clearance import required_spacing
from coilwright.protection.facts import CorrectionCapacitor, ParallelGroup, Shock, SupplyFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules_capacitor import bleeder_tag
from coilwright.protection.rules_shelf import FLUX_LIMIT, flux_tag
from coilwright.protection.rules_site import rcd_words
from coilwright.protection.rules_stress import Margin, insulation_margins, insulation_tags, pencil_tags
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, celsius, listed, metres, percent, seconds, volts_peak, volts_rms

PART_OVERCURRENT = 1.5
MAINS_TOLERANCE = 1.1  # highest over nominal mains volts, EN 50160, from memory
CORRECTION_MARGIN = 1.1
OLD_CORRECTION_YEAR = 1979


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
        *_correction(facts),
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
    yield raise_tag("rcd-blind", value=rcd_words(facts.residual, facts.rcd), number=facts.residual, bound=facts.rcd)
    deadly = [s for s in facts.shocks if s.current > LET_GO_CURRENT]
    for shock in deadly:
        yield raise_tag(
            "body-current", shock.where, value=_shock_words(shock), number=shock.current, bound=LET_GO_CURRENT
        )
    if deadly and facts.series_resistors:
        worst = max(deadly, key=lambda s: s.current)
        yield raise_tag(
            "lamp-still-deadly",
            listed(facts.series_resistors),
            value=f"{worst.where}: {_shock_words(worst)}",
            number=worst.current,
            bound=LET_GO_CURRENT,
        )


def _shock_words(shock: Shock) -> str:
    words = f"{amperes(shock.current_575)} through 575 ohm, {amperes(shock.current_1000)} through 1 kohm"
    behind = "" if shock.voltage is None else f"{volts_rms(shock.voltage)} to earth: "
    seen = "" if shock.residual is None else f"; residual {amperes(shock.residual)}"
    return behind + words + seen


def _current_margins(facts: SupplyFacts) -> tuple[Margin, ...]:
    """Return the comparisons behind ``no-current-limit`` and ``breaker-overload``."""
    rated = facts.breaker.rated_current
    margins: list[Margin] = []
    if not facts.ballast:
        if facts.mains_short is not None:
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
        for part in facts.part_currents:
            bound = PART_OVERCURRENT * part.rated_current
            margins.append(
                Margin(
                    "no-current-limit",
                    part.id,
                    part.short_current,
                    bound,
                    part.mark,
                    f"{amperes(part.short_current)} with the output shorted",
                    f"{amperes(bound)}, 1.5 x rated {amperes(part.rated_current)}",
                    doubted="number",
                )
            )
    if facts.mains_uncorrected is not None:
        said = verdict(facts.mains_uncorrected, facts.breaker).words
        margins.append(
            Margin(
                "breaker-overload",
                "breaker",
                facts.mains_uncorrected,
                rated,
                facts.mains_mark,
                f"{amperes(facts.mains_uncorrected)} with every correction capacitor failed open: {said}",
                f"{amperes(rated)} rated",
                doubted="number",
            )
        )
    return tuple(margins)


def _current_limit(facts: SupplyFacts) -> Iterator[Tag]:
    yield from (m.tag() for m in _current_margins(facts) if m.overstepped)


def _interconnection(facts: SupplyFacts) -> Iterator[Tag]:
    if facts.mains_in_series:
        gain = None if facts.mains_gain is None else f"gain {percent(facts.mains_gain)} of the open volts"
        yield raise_tag("mains-in-series", facts.name, value=gain, number=facts.mains_gain)
    if facts.tapped_in_series:
        yield raise_tag("tapped-in-series", listed(facts.tapped_in_series))
    if facts.lamp_autotransformers:
        yield raise_tag("lamp-autotransformer", listed(facts.lamp_autotransformers))
    if facts.pair and facts.polarity_mark != "stamped":
        ends = ", ".join(f"{joint} {volts_rms(v)} to earth" for joint, v in facts.ends) or None
        yield raise_tag(
            "zero-is-not-off",
            facts.name,
            value=ends,
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


def _correction(facts: SupplyFacts) -> Iterator[Tag]:
    for capacitor in facts.correction:
        if capacitor.behind_ballast:
            yield raise_tag("pfc-behind-ballast", capacitor.id)
        yield from _correction_type(capacitor, facts.mains_voltage)
        yield from bleeder_tag(
            capacitor.id,
            capacitor.capacitance,
            capacitor.bleeder,
            2**0.5 * MAINS_TOLERANCE * capacitor.voltage,
            at_plug_pins=capacitor.at_plug_pins,
        )
    if facts.correction:
        without = "not known" if facts.mains_uncorrected is None else amperes(facts.mains_uncorrected)
        with_it = "not known" if facts.mains_corrected is None else amperes(facts.mains_corrected)
        yield raise_tag(
            "wiring-current",
            listed(c.id for c in facts.correction),
            value=f"{without} without, {with_it} with",
            number=facts.mains_uncorrected,
        )
    if facts.idle_leading:
        idle = (
            None if facts.idle_power_factor is None else f"power factor {facts.idle_power_factor:.2f} leading at idle"
        )
        yield raise_tag(
            "pfc-overcorrected", listed(c.id for c in facts.correction), value=idle, number=facts.idle_power_factor
        )


def _correction_type(capacitor: CorrectionCapacitor, mains_voltage: float) -> Iterator[Tag]:
    needed = CORRECTION_MARGIN * MAINS_TOLERANCE * max(mains_voltage, capacitor.voltage)
    faults = []
    if capacitor.kind == "oven":
        faults.append("an oven capacitor")
    if capacitor.rated_kind == "DC":
        faults.append("rated for DC")
    if capacitor.rated is None:
        faults.append("rating not stated")
    elif capacitor.rated < needed:
        faults.append(f"rated {volts_rms(capacitor.rated)}")
    if capacitor.made is not None and capacitor.made <= OLD_CORRECTION_YEAR:
        faults.append(f"made {capacitor.made}")
    if faults:
        yield raise_tag(
            "pfc-wrong-type",
            capacitor.id,
            value=", ".join(faults),
            number=capacitor.rated,
            bound=needed,
            limit=f"rated at least {volts_rms(needed)} AC (1.1 x the highest mains)",
        )


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


def _running(facts: SupplyFacts) -> Iterator[Tag]:
    if len(facts.states) > 1:
        yield raise_tag(
            "two-working-points",
            facts.name,
            value=", ".join(volts_rms(v) for v in sorted(facts.states, reverse=True)),
            number=max(facts.states),
        )
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
