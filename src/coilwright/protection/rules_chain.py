"""Tags of what stands between mains and gap, and of the ground of the coil."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.protection.facts import SiteFacts
from coilwright.protection.facts_chain import ChainFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, metres, seconds

#: So many times the streamer's estimated length is its reach (factor-of-two rule, no source).
REACH = 2.0
#: Resistance times capacitance below which a filter holds no step of a gap, which takes some tens of nanoseconds [s]
#: (our rule).
LEAST_FILTER_TIME = 100e-9
ROD_WORDS = {"house": "on the protective earth of the house", "none": "on nothing", None: "not stated"}


def chain_tags(facts: ChainFacts) -> tuple[Tag, ...]:
    """Return the tags of filter, interlock and fuse of a set with a gap."""
    if not facts.gap:
        return ()
    tags = list(_filter(facts))
    if facts.interlock is not True:
        value = "not stated" if facts.interlock is None else "none"
        tags.append(raise_tag("interlock-missing", "guard", value=value))
    return (*tags, *_fuse(facts))


def _filter(facts: ChainFacts) -> Iterator[Tag]:
    """A filter as fast as the gap's own step is none."""
    if not facts.filter:
        yield raise_tag("filter-missing", "supply to gap")
    elif facts.filter_time is not None and facts.filter_time < LEAST_FILTER_TIME:
        yield raise_tag(
            "filter-missing",
            "supply to gap",
            value=f"R C of {seconds(facts.filter_time)}: too fast to hold a step",
            limit=f"at least {seconds(LEAST_FILTER_TIME)} (our rule)",
            number=facts.filter_time,
            bound=LEAST_FILTER_TIME,
        )


def _fuse(facts: ChainFacts) -> Iterator[Tag]:
    low, high, rated = facts.mains_current, facts.breaker_current, facts.fuse_current
    bounds = [] if low is None else [f"from {amperes(low)} (largest steady current)"]
    bounds += [] if high is None else [f"up to {amperes(high)} (the breaker)"]
    limit = ", ".join(bounds) or None
    if facts.fuse is None or rated is None:
        value = "none" if facts.fuse is None else f"{facts.fuse}: rated current not known"
        yield raise_tag("fuse-missing", "mains lead", value=value, limit=limit, bound=low)
    elif low is not None and rated < low:
        value = f"{facts.fuse}: opens on the running set"
        yield raise_tag("fuse-missing", "mains lead", value=value, limit=limit, number=rated, bound=low)
    elif high is not None and rated > high:
        value = f"{facts.fuse}: the breaker opens before it"
        yield raise_tag("fuse-missing", "mains lead", value=value, limit=limit, number=rated, bound=high)


def ground_tags(facts: SiteFacts) -> tuple[Tag, ...]:
    """Return the tags of the coil's ground and of what its streamer reaches in the room."""
    tags = list(_reach(facts))
    if facts.rod in {"house", "none"} or (facts.secondary and facts.rod is None):
        tags.append(raise_tag("rf-ground", "coil base", value=ROD_WORDS[facts.rod]))
    if facts.rod == "own":
        tags.append(raise_tag("underground", "rod"))
    return tuple(tags)


def _reach(facts: SiteFacts) -> Iterator[Tag]:
    if facts.streamer_length is None or facts.outdoors:
        return
    reach = REACH * facts.streamer_length
    near = [
        (d, n) for d, n in ((facts.wall_distance, "wall"), (facts.ceiling, "ceiling")) if d is not None and d < reach
    ]
    if near:
        nearest = min(near)[0]
        words = ", ".join(f"{name} at {metres(d)}" for d, name in near)
        yield raise_tag(
            "strike-to-mains", "room", value=words, limit=f"2 x estimated length: {metres(reach)}", number=nearest,
            bound=reach,
        )  # fmt: skip


__all__ = ["chain_tags", "ground_tags"]
