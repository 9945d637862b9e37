"""Every hazard of the catalogue: its words, and on which side of its limit it fires."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from coilwright.protection import facts, facts_chain, facts_gap
from coilwright.protection.catalogue import CATALOGUE, RULES
from coilwright.protection.raising import PENCIL_SENTENCE, raise_tag
from coilwright.protection.tag import GRADE_ORDER, Tag
from protection.bench import ids, site
from protection.cases import ALWAYS, PRESENCE, SHARP

# Hazard list, own: id, grade, standing. Those that this part of the program can meet.
HAZARDS = """
local-code NOTE yes | supply-kills STOP yes | isolate-drain-short STOP yes | string-zero-is-not-dead CAUTION no
stored-energy-tank STOP yes | bleeder-missing STOP no | rcd-blind CAUTION yes | isolation-transformer-myth CAUTION no
not-alone CAUTION yes | skin-effect-myth CAUTION yes | medical-implant STOP yes | no-current-limit STOP no
mains-in-series STOP no | core-not-bonded STOP no | pe-lost STOP no | floating-core STOP no | inner-end-lifted STOP no
tapped-in-series STOP no | zero-is-not-off STOP no | parallel-mismatch CAUTION no | variable-not-isolating CAUTION no
system-unknown CAUTION no | frequency-mismatch CAUTION no | breaker-inrush NOTE no | wiring-current CAUTION no
pfc-behind-ballast STOP no | pfc-wrong-type STOP no | pfc-overcorrected NOTE no | tank-overvolt-gap-missing STOP no
safety-gap-missing STOP no | two-working-points CAUTION no | oven-capacitor CAUTION no | homebuilt-capacitor CAUTION no
oven-scavenge STOP yes | beryllia STOP yes | old-oil-pcb STOP no | asbestos-mercury-thoria CAUTION no
unpotting CAUTION no | shunts-touched CAUTION no | electronic-supply STOP no | lifting NOTE no
test-drive-live STOP no | test-above-meter STOP no
short-test-opens CAUTION no | dc-kick CAUTION no | proof-test CAUTION no | lamp-still-deadly CAUTION no
capacitance-meter CAUTION no | gap-uv CAUTION yes | ozone-nox CAUTION yes | noise CAUTION yes | fire CAUTION yes
keep-out STOP yes | interference CAUTION yes | electronics NOTE yes | animals-children CAUTION yes | storage CAUTION yes
heat-duty CAUTION no | pencil-under-stop CAUTION no | contactor-weld CAUTION no | not-modelled NOTE no
not-converged CAUTION no | clearance STOP no | no-telltale CAUTION no
fumes-varnish NOTE no | audience STOP yes
rotor-burst STOP no
rf-ground STOP no | strike-to-mains STOP no | underground CAUTION no
"""
ADDED = {
    "breaker-overload",
    "winding-overvolt",
    "high-to-primary",
    "reading-refused",
    "body-current",
    "lamp-autotransformer",
    "insulation-low",
    "ground-fault-unit",
    "resistor-overload",
    "filter-missing",
    "fuse-missing",
    "interlock-missing",
    "main-gap-too-wide",
    "tank-unfit-capacitor",
    "earthing-tt-it",
}
LISTED = {row.split()[0]: row.split()[1:] for row in HAZARDS.replace("\n", " | ").split("|") if row.strip()}


def every_tag() -> Iterator[Tag]:
    """Yield every tag that any case raises, and each rule's bare tag."""
    for table in (SHARP, PRESENCE):
        for pairs in table.values():
            for pair in pairs:
                yield from (*pair[0], *pair[1])
    yield from site(coil=True, gap=True, wall_distance=1.8, ceiling=2.7, streamer_length=1.67)
    yield from (raise_tag(hazard) for hazard in CATALOGUE)


def test_every_listed_hazard_is_in_the_catalogue_with_its_grade():
    assert set(CATALOGUE) == set(LISTED) | ADDED
    assert len(RULES) == len(CATALOGUE), "an id stands twice"
    for hazard, (grade, standing) in LISTED.items():
        assert (CATALOGUE[hazard].grade, CATALOGUE[hazard].standing) == (grade, standing == "yes"), hazard


@pytest.mark.parametrize("id", sorted(CATALOGUE))
def test_a_rule_says_when_what_why_limit_way_out_and_source(id):
    rule = CATALOGUE[id]
    for field in dataclasses.fields(rule):
        text = getattr(rule, field.name)
        assert not isinstance(text, str) or text.strip(), f"{id}: {field.name} is empty"
    assert rule.grade in GRADE_ORDER
    assert rule.is_condition or re.search(r"[a-z0-9]", rule.limit), id
    # a source is a standard or book with its number, physics or the model, or says that it is a habit or a rule of ours
    assert re.search(r"\d{2}|common practice, no source|design rule|physics|model", rule.source), id


def test_no_raised_tag_lacks_words_or_claims_that_something_is_safe():
    seen = set()
    for tag in every_tag():
        assert all(getattr(tag, name).strip() for name in ("what", "why", "limit", "do", "source")), tag
        everything = " ".join(str(getattr(tag, f.name)) for f in dataclasses.fields(tag))
        assert not re.search(r"\b(un)?safe\b|\bno danger\b", everything, re.IGNORECASE), everything
        assert not re.search(r"\bnan\b|\binf\b|not known", tag.value or ""), everything
        seen.add(tag.id)
    assert seen == set(CATALOGUE)


def test_every_hazard_has_a_case_on_both_sides():
    assert set(SHARP) | set(PRESENCE) | set(ALWAYS) == set(CATALOGUE)


@pytest.mark.parametrize("id", sorted(r.id for r in RULES if r.is_condition and r.id not in ALWAYS))
def test_a_condition_tag_is_tested_present_and_absent(id):
    assert id in PRESENCE


@pytest.mark.parametrize(
    ("id", "below", "above"),
    [
        pytest.param(hazard, *pair, id=f"{hazard}-{where}-{n}")
        for where, table in (("limit", SHARP), ("presence", PRESENCE))
        for hazard, pairs in table.items()
        for n, pair in enumerate(pairs)
    ],
)
def test_fires_above_its_limit_and_not_below(id, below, above):
    assert id not in ids(below)
    assert id in ids(above)


@pytest.mark.parametrize("id", sorted(SHARP))
def test_a_hazard_with_a_limit_prints_both_with_units(id):
    fired = [t for _, above in SHARP[id] for t in above if t.id == id and t.number is not None]
    for tag in fired:
        assert tag.value, tag
        assert re.search(r"\d", tag.limit), tag


@pytest.mark.parametrize("id", ALWAYS)
def test_what_always_stands_stands_on_an_empty_shelf(id):
    assert id in ids(site(high_voltage=False))


def test_a_stop_on_an_assumed_value_says_what_clears_it():
    pencil, stamped = raise_tag("winding-overvolt", mark="pencil"), raise_tag("winding-overvolt", mark="stamped")
    assert PENCIL_SENTENCE in pencil.do
    assert PENCIL_SENTENCE not in stamped.do
    assert PENCIL_SENTENCE not in raise_tag("heat-duty", mark="pencil").do


def test_every_fact_has_a_reader():
    # a field that no rule reads is a hazard that can be filled in and never shown
    package = Path(facts.__file__).parent
    rules = "\n".join(p.read_text("utf-8") for p in package.glob("rules*.py"))
    for module in (facts, facts_chain, facts_gap):
        for name, record in vars(module).items():
            if dataclasses.is_dataclass(record) and record.__module__ == module.__name__:
                for field in dataclasses.fields(record):
                    assert re.search(rf"\.{field.name}\b", rules), f"{name}.{field.name}"
