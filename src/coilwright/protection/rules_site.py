"""What stands at this site with this machine, whatever the arrangement."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.protection.body import keep_out_distance
from coilwright.protection.facts import SiteFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules_chain import ground_tags
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, metres, ohms, residual, volts_peak

ALWAYS = ("local-code", "isolate-drain-short", "not-alone", "medical-implant", "animals-children", "storage")
MEANS_OF_DISCONNECTION = 2
NOISY_POWER = 100.0  # W in the gap
FAULT_VOLTS = 50.0  # V rms that a fault may leave on touchable metal: IEC 60364-4-41, from memory
AUDIENCE_MARGIN = 1.5  # an audience keeps off so many times the ring (common practice, no source)


def site_tags(facts: SiteFacts) -> tuple[Tag, ...]:
    """Return the tags of site and machine: the standing ones whose occasion is there, and what the file leaves open.

    ``supply-kills`` and ``rcd-blind`` come without numbers here; ``supply_tags`` raises them with numbers, and
    ``collect`` keeps the one that has them.
    """
    runs = facts.coil or facts.gap or facts.high_voltage
    tags = [raise_tag(rule) for rule in ALWAYS]
    if facts.high_voltage:
        tags += [raise_tag("supply-kills"), raise_tag("rcd-blind", value=rcd_words(None, facts.rcd))]
    if runs:
        tags += [_keep_out(facts), raise_tag("fire")]
    if facts.coil:
        tags += [raise_tag("skin-effect-myth"), _audience(facts)]
    if facts.gap:
        tags.append(raise_tag("gap-uv"))
    if facts.coil or facts.gap:
        tags += [raise_tag("interference"), raise_tag("electronics")]
        if not facts.outdoors:
            tags.append(raise_tag("ozone-nox"))
    if facts.gap and (facts.gap_power is None or facts.gap_power > NOISY_POWER):
        tags.append(raise_tag("noise"))
    return (*tags, *ground_tags(facts), *_unknown(facts), *_earthing(facts), *_disconnection(facts))


def rcd_words(leaking: float | None, trip: float | None) -> str:
    """Return what the residual-current device sees beside what it trips at [A]."""
    seen = "residual not computed" if leaking is None else f"sees {residual(leaking)}"
    return f"{seen}; " + ("no residual-current device" if trip is None else f"trips at {amperes(trip)}")


def keep_out_ring(facts: SiteFacts) -> tuple[float, tuple[str, ...]]:
    """Return the radius that nobody enters [m], and in words what it rests on and what of the room lies inside it."""
    peak = None if facts.coil and facts.top_peak is None else max(facts.top_peak or 0.0, facts.supply_peak or 0.0)
    ring = keep_out_distance(peak, facts.streamer_length)
    words = [f"ring of {metres(ring)}"]
    if peak is None:
        words.append("top load counted as above 36 kV")
    elif peak > 0:
        words.append(f"for {volts_peak(peak)}")
    if facts.streamer_length is not None:
        basis = f" ({facts.streamer_basis})" if facts.streamer_basis else ""
        words.append(f"streamer {metres(facts.streamer_length)}{basis}")
    wall = None if facts.outdoors else facts.wall_distance
    if wall is not None:
        nearer = "nearer than the ring: the room is too small for it" if wall < ring else "outside the ring"
        words.append(f"wall at {metres(wall)}, {nearer}")
    elif not facts.outdoors:
        words.append("distance of the wall not stated")
    if facts.ceiling is not None and not facts.outdoors and facts.ceiling < ring:
        words.append(f"ceiling at {metres(facts.ceiling)}, nearer than the ring")
    return ring, tuple(words)


def _keep_out(facts: SiteFacts) -> Tag:
    ring, words = keep_out_ring(facts)
    wall = None if facts.outdoors else facts.wall_distance
    return raise_tag(
        "keep-out", "room", value="; ".join(words), limit=f"{metres(ring)} all round", number=wall, bound=ring
    )


def _audience(facts: SiteFacts) -> Tag:
    """Return the tag of showing the coil, with the ring that an audience needs in numbers."""
    ring = AUDIENCE_MARGIN * keep_out_distance(facts.top_peak, facts.streamer_length)
    return raise_tag("audience", "room", value=f"audience outside {metres(ring)}", bound=ring)


def _unknown(facts: SiteFacts) -> Iterator[Tag]:
    open_points = [
        f"{name} {value}" + (" (assumed)" if mark == "pencil" else "")
        for name, value, mark in (
            ("earthing", facts.earthing, facts.earthing_mark),
            ("system", facts.system, facts.system_mark),
        )
        if mark == "pencil" or value == "unknown"
    ]
    if facts.plug == "unknown":
        open_points.append("direction of the plug unknown" + (" (assumed)" if facts.plug_mark == "pencil" else ""))
    if open_points:
        yield raise_tag("system-unknown", "site", value=", ".join(open_points))


def _earthing(facts: SiteFacts) -> Iterator[Tag]:
    """Tell what an earthing that is stated, and is not TN, leaves to the residual-current device or to nobody."""
    if facts.earthing == "TT":
        told = "TT, no residual-current device: nothing trips on a fault to a core"
        if facts.rcd is not None:
            told = f"TT: {amperes(facts.rcd)} trips; the earth may have {ohms(FAULT_VOLTS / facts.rcd)} at most"
        yield raise_tag("earthing-tt-it", "site", value=told, bound=FAULT_VOLTS)
    elif facts.earthing == "IT":
        device = "none stated" if facts.rcd is None else f"that of {amperes(facts.rcd)} may not see it"
        yield raise_tag(
            "earthing-tt-it",
            "site",
            value=f"IT: a first fault trips nothing; residual-current device: {device}; two live poles, no neutral",
            bound=FAULT_VOLTS,
        )


def _disconnection(facts: SiteFacts) -> Iterator[Tag]:
    count = facts.disconnections
    if facts.high_voltage and (count is None or count < MEANS_OF_DISCONNECTION):
        value = "not stated" if count is None else f"{count} stated"
        yield raise_tag("contactor-weld", "protection", value=value, number=count, bound=MEANS_OF_DISCONNECTION)
