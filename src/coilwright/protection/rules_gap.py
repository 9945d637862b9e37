"""Tags of a running gap: a rotor that may burst, and the numbers of ozone and noise."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite

from coilwright.protection.facts_gap import RoomFacts, RotorFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import decibels, metres, metres_per_second, millionths, newtons, revolutions, seconds


def rotor_tags(facts: RotorFacts) -> tuple[Tag, ...]:
    """Return the tag of a rotor with anything outside its limit or not stated.

    A rotor that passes on assumed strengths has its margin named as resting on pencil.
    """
    reasons = [*_loads(facts), *_tip(facts), *_shield(facts), *facts.missing]
    factors = [x for x in (facts.disc_factor, facts.bolt_factor) if x is not None]
    weakest = min(factors, default=None)
    wanted = facts.factor_wanted
    if reasons:
        value = "; ".join([*_pull(facts), *reasons])
        return (
            raise_tag(
                "rotor-burst",
                facts.where,
                value=value,
                limit=_limit(facts),
                number=weakest,
                bound=wanted if weakest is not None else None,
                mark=facts.mark,
            ),
        )
    if facts.mark == "pencil" and weakest is not None:
        words = f"rotor-burst: strength {weakest:.3g} x the stress (from assumed strengths) against {wanted:.3g} x"
        return (raise_tag("pencil-under-stop", facts.where, value=words, mark="pencil"),)
    return ()


def _pull(facts: RotorFacts) -> Iterator[str]:
    if facts.force is not None and facts.speed is not None:
        words = f"{newtons(facts.force)} on each electrode at {revolutions(facts.speed)}"
        if facts.spin_test_force is not None:
            words += f", {newtons(facts.spin_test_force)} in the spin test"
        yield words


def _loads(facts: RotorFacts) -> Iterator[str]:
    for name, factor in (("disc", facts.disc_factor), ("bolts", facts.bolt_factor)):
        if factor is None:
            yield f"strength of the {name} not worked out"
        elif factor < facts.factor_wanted:
            yield f"{name} only {factor:.3g} x as strong as its stress"


def _tip(facts: RotorFacts) -> Iterator[str]:
    if facts.tip_limit == 0:
        yield f"{facts.disc_material} is not taken for a disc at any speed"
    elif facts.tip_speed is None:
        yield "tip speed not worked out"
    elif facts.tip_limit is not None and facts.tip_speed > facts.tip_limit:
        yield f"tip speed {metres_per_second(facts.tip_speed)}"


def _shield(facts: RotorFacts) -> Iterator[str]:
    if facts.shield is None:
        yield "no shield"
        return
    if facts.shield_wanted is None:
        yield "thickness that the shield needs not worked out"
    elif facts.shield_wanted == inf:
        yield f"no thickness of {facts.shield_material} is known to hold"
    elif facts.shield < facts.shield_wanted:
        yield f"shield of {metres(facts.shield)} {facts.shield_material}"
    if not facts.shield_all_round:
        said = "open on a side" if facts.shield_all_round is False else "not stated to be all round"
        yield f"shield {said}"


def _limit(facts: RotorFacts) -> str:
    parts = [f"strength {facts.factor_wanted:.3g} x stress"]
    if facts.tip_limit:
        parts.append(f"tip speed {metres_per_second(facts.tip_limit)} for {facts.disc_material}")
    if facts.shield_wanted is not None and isfinite(facts.shield_wanted):
        parts.append(f"shield of {metres(facts.shield_wanted)} {facts.shield_material} all round")
    else:
        parts.append("a shield all round")
    return "; ".join(parts)


def room_tags(facts: RoomFacts) -> tuple[Tag, ...]:
    """Return the standing tags of ozone and noise with their bands; what is not known raises nothing here.

    ``site_tags`` raises both without numbers, and ``collect`` keeps those that have them.
    """
    return (*_ozone(facts), *_noise(facts))


def _ozone(facts: RoomFacts) -> Iterator[Tag]:
    if facts.ozone is None:
        return
    value, low, high = facts.ozone
    words = f"about {millionths(value)}, between {millionths(low)} and {millionths(high)} with the room closed"
    if facts.time_to_limit is not None and isfinite(facts.time_to_limit[1]):
        words += f"; {millionths(facts.ozone_limit)} after {seconds(facts.time_to_limit[1])} at the soonest"
    yield raise_tag("ozone-nox", value=words, number=value, bound=facts.ozone_limit, mark="pencil")


def _noise(facts: RoomFacts) -> Iterator[Tag]:
    if facts.noise is None:
        return
    value, low, high = facts.noise
    words = f"about {decibels(value)} at 1 m, between {decibels(low)} and {decibels(high)}"
    if facts.noise_peak is not None:
        words += f"; peaks to {decibels(facts.noise_peak[2])}"
    yield raise_tag("noise", value=words, number=value, bound=facts.noise_limit, mark="pencil")


__all__ = ["room_tags", "rotor_tags"]
