"""Rotor and room: what the tag of a bursting rotor says, and the numbers that ozone and noise carry."""

from __future__ import annotations

import dataclasses
import re
from math import inf
from pathlib import Path

from coilwright.protection import facts_gap
from coilwright.protection.facts_gap import RoomFacts, RotorFacts
from coilwright.protection.rules import collect, room_tags, rotor_tags
from protection.bench import ids, rotor, site

ROOM = RoomFacts(
    ozone=(0.4e-6, 0.02e-6, 6e-6),
    time_to_limit=(600.0, 45.0, inf),
    noise=(99.0, 89.0, 109.0),
    noise_peak=(120.0, 110.0, 131.0),
)


def test_a_rotor_of_which_nothing_is_known_is_a_stop_that_names_all_of_it():
    (tag,) = rotor_tags(RotorFacts(missing=("disc not stated",)))
    assert tag.blocks
    for word in (
        "disc not worked out",
        "bolts not worked out",
        "tip speed not worked out",
        "no shield",
        "disc not stated",
    ):
        assert word in (tag.value or "")
    assert tag.number is None


def test_the_newtons_and_every_limit_stand_on_the_tag():
    (tag,) = rotor(disc_factor=2.0)
    assert (
        tag.value == "79 N on each electrode at 3000 rpm, 114 N in the spin test; disc only 2 x as strong as its stress"
    )
    assert tag.limit == "strength 4 x stress; tip speed 80 m/s for glass-epoxy; shield of 2.00 mm steel all round"
    assert (tag.number, tag.bound) == (2.0, 4.0)
    assert "1.2 x" in tag.do
    assert "nobody in the room" in tag.do


def test_a_rotor_on_assumed_strengths_is_named_as_such():
    (tag,) = rotor(mark="pencil")
    assert tag.id == "pencil-under-stop"
    assert "rotor-burst: strength 8 x the stress" in (tag.value or "")


def test_numbers_of_the_room_replace_the_bare_tags():
    tags = collect(site(gap=True), room_tags(ROOM))
    ozone, noise = (next(t for t in tags if t.id == name) for name in ("ozone-nox", "noise"))
    assert ozone.standing
    assert ozone.value == (
        "about 0.4 ppm, between 0.02 ppm and 6 ppm with the room closed; 0.1 ppm after 45.0 s at the soonest"
    )
    assert (ozone.number, ozone.bound) == (0.4e-6, 0.1e-6)
    assert noise.value == "about 99 dB at 1 m, between 89 dB and 109 dB; peaks to 131 dB"
    assert len([t for t in tags if t.id in {"ozone-nox", "noise"}]) == 2


def test_a_room_of_which_nothing_is_known_keeps_the_bare_tags():
    assert room_tags(RoomFacts()) == ()
    assert {"ozone-nox", "noise"} <= ids(site(gap=True))
    never = room_tags(dataclasses.replace(ROOM, time_to_limit=(inf, inf, inf)))
    assert "soonest" not in (never[0].value or "")


def test_every_fact_of_rotor_and_room_has_a_reader():
    rules = (Path(facts_gap.__file__).parent / "rules_gap.py").read_text("utf-8")
    for record in (RotorFacts, RoomFacts):
        for field in dataclasses.fields(record):
            assert re.search(rf"\.{field.name}\b", rules), f"{record.__name__}.{field.name}"
