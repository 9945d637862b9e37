"""What the tag rules look at on the shelf: every part, every bench reading entered or asked for."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from math import sqrt
from typing import Literal

from coilwright.analyses.results import NextReading, PartResult
from coilwright.measurement.bench_points import ratio_of
from coilwright.model.design import Design
from coilwright.model.machine import Drive
from coilwright.model.parts import Capacitor, Choke, InsulationTest, Stamp, Transformer
from coilwright.protection import facts as f
from coilwright.protection.rules_shelf import INSULATION_VOLTS

#: Words for a supply that no model here covers.
OUTSIDE = re.compile(
    r"\b(diodes?|rectif\w*|doublers?|(?:voltage[- ])?doubl(?:ed|ing)|DC[- ](?:charg\w*|reson\w*)|flyback|inverter|PWM|"
    r"pulse[- ]width)\b",
    re.IGNORECASE,
)

What = Literal["open", "short", "low voltage", "proof", "other"]
_KINDS: Mapping[str, What] = {
    "open_test": "open",
    "short_test": "short",
    "low_voltage_test": "low voltage",
    "proof_test": "proof",
}


def shelf_facts(
    design: Design, parts: Mapping[str, PartResult], asked: Sequence[NextReading], unconverged: Sequence[str] = ()
) -> f.ShelfFacts:
    """Return the facts of the whole shelf. ``unconverged`` names parts whose fit gave no answer."""
    readings = [*_entered(design), *_refused(design), *_asked(asked)]
    impossible = tuple(
        f.RefusedReading(n.where, n.message, n.hint)
        for p in parts.values()
        for n in p.readings
        if n.grade == "STOP" and n.code != "test-above-meter"
    )
    return f.ShelfFacts(
        parts=tuple(_parts(design)),
        readings=tuple(readings),
        refused=impossible,
        not_modelled=tuple(_not_modelled(design)),
        unconverged=tuple(unconverged),
        to_wind=tuple(_to_wind(design)),
    )


def _not_modelled(design: Design) -> Iterator[str]:
    """Yield what the project's words say is rectified, doubled, charged with direct current or switched."""
    if OUTSIDE.search(design.notes):
        yield "notes of the project"
    yield from (part.id for part in design.shelf() if OUTSIDE.search(part.notes))
    yield from (a.name for a in design.arrangements if OUTSIDE.search(a.name))


def _to_wind(design: Design) -> Iterator[str]:
    """Yield what is going to be wound, varnished or glued: wire, formers, home-built plates, a secondary."""
    yield from (w.id for w in design.wires)
    yield from (former.id for former in design.formers)
    if design.tank is not None and design.tank.plates is not None:
        yield "tank plates"
    if design.coil.secondary is not None:
        yield "secondary"


def counting_insulation(t: Transformer, between: frozenset[str]) -> InsulationTest | None:
    """Return the insulation test that counts between two places: of those with 500 V DC or more the worst of the
    latest day, one without a day counted in; None without any.
    """
    tests = [i for i in t.insulation_test if frozenset(i.between) == between and i.applied >= INSULATION_VOLTS]
    latest = max((i.stamp.date for i in tests if i.stamp.date is not None), default=None)
    counted = [i for i in tests if i.stamp.date is None or i.stamp.date == latest]
    return min(counted, key=lambda i: i.resistance.value, default=None)


def _parts(design: Design) -> Iterator[f.PartFacts]:
    site = design.site
    for t in design.transformers:
        ratio = None
        if t.plate_primary is not None:
            hertz = t.plate_frequency.value if t.plate_frequency else site.frequency.value
            ratio = (site.mains_voltage.value / site.frequency.value) / (t.plate_primary.value / hertz)
        mass = t.mass.value if t.mass else None
        guard = t.secondary_protection
        yield f.PartFacts(
            t.id,
            "transformer",
            t.kind,
            t.filling,
            t.shunts,
            t.made,
            mass,
            flux_ratio=ratio,
            secondary_protection=guard,
        )
    for choke in design.chokes:
        yield f.PartFacts(choke.id, "choke", mass=choke.mass.value if choke.mass else None, lamp=choke.lamp)
    for c in design.capacitors:
        yield f.PartFacts(
            c.id,
            "capacitor",
            c.kind or "",
            made=c.made,
            dielectric=c.dielectric,
            capacitance=c.value.value,
            rated_peak=_rated_peak(c),
        )
    for r in design.resistors:
        yield f.PartFacts(r.id, "resistor")
    for v in design.variables:
        yield f.PartFacts(v.id, "variable")


def _rated_peak(c: Capacitor) -> float | None:
    if c.rated is None:
        return None
    return c.rated.value * (1.0 if c.rated_kind == "DC" else sqrt(2))


def _entered(design: Design) -> Iterator[f.ReadingFacts]:
    for t in design.transformers:
        yield from _of_transformer(design, t)
    for c in design.chokes:
        yield from _of_choke(design, c)
    for r in design.readings:
        if r.what == "polarity" and r.drive is not None:
            reach = max(r.value, _reach_of_drive(design, r.drive))
            yield f.ReadingFacts(
                r.path,
                "polarity",
                instrument=r.instrument,
                volts=r.value,
                reachable=reach,
                rating=_rating(design, Stamp(r.instrument)),
                drive=r.drive.voltage,
            )


def _reach_of_drive(design: Design, drive: Drive) -> float:
    """Return the most that a polarity sheet's drive can put between two points within reach [V rms].

    Fed on a high side, every other high winding shows at most the same volts, and they may add up. Fed anywhere else
    the drive is on primaries, each of which steps it up by its ratio. Magnetising current and leakage only lower this.
    """
    chosen = design.chosen()
    joints = {} if chosen is None else chosen.joints
    units = {
        t.id: t for t in design.transformers if any(x.startswith(f"{t.id}.high_") for ts in joints.values() for x in ts)
    }
    fed = [x for name in drive.between for x in joints.get(name, (name,))]
    if any(x.startswith(f"{unit}.high_") for x in fed for unit in units):
        return drive.voltage * max(1, len(units))
    ratios = [r for t in units.values() if (r := ratio_of(t)) is not None]
    return drive.voltage * max(1.0, sum(ratios))


def _rating(design: Design, stamp: Stamp) -> float | None:
    instrument = design.instrument(stamp.instrument)
    return instrument.rating if instrument is not None else None


def _of_transformer(design: Design, t: Transformer) -> Iterator[f.ReadingFacts]:
    ratio = ratio_of(t)
    base = t.where or t.id
    for o in t.open_test:
        volts = max(o.applied.value, o.secondary.value if o.secondary else 0.0)
        yield f.ReadingFacts(
            o.where, "open", t.id, instrument=o.stamp.instrument, volts=volts, rating=_rating(design, o.stamp)
        )
    for s in t.short_test:
        yield f.ReadingFacts(
            s.where,
            "short",
            t.id,
            instrument=s.stamp.instrument,
            volts=s.applied.value,
            rating=_rating(design, s.stamp),
            drive=s.applied.value,
            open_volts=None if ratio is None else s.applied.value * ratio,
        )
    for low in t.low_voltage_test:
        reach = max(low.applied.value, low.read.value)
        yield f.ReadingFacts(
            low.where,
            "low voltage",
            t.id,
            instrument=low.stamp.instrument,
            volts=reach,
            rating=_rating(design, low.stamp),
            reachable=reach,
            drive=low.applied.value,
        )
    if (
        t.primary_resistance is not None
        or t.secondary_resistance is not None
        or t.secondary_resistance_halves is not None
    ):
        yield f.ReadingFacts(f"{base}.primary_resistance", "resistance", t.id)
    counted = [counting_insulation(t, pair) for pair in {frozenset(i.between) for i in t.insulation_test}]
    for i in t.insulation_test:
        yield f.ReadingFacts(
            i.where,
            "insulation",
            t.id,
            instrument=i.stamp.instrument,
            test_volts=i.applied,
            insulation=i.resistance.value if i in counted else None,
        )
    for p in t.proof_test:
        yield f.ReadingFacts(p.where, "proof", t.id, instrument=p.stamp.instrument, test_volts=p.applied)


def _of_choke(design: Design, c: Choke) -> Iterator[f.ReadingFacts]:
    for t in c.test:
        yield f.ReadingFacts(
            t.where,
            "other",
            c.id,
            instrument=t.stamp.instrument,
            volts=t.voltage.value,
            rating=_rating(design, t.stamp),
        )
    if c.resistance is not None:
        yield f.ReadingFacts(f"{c.where or c.id}.resistance", "resistance", c.id)


def _refused(design: Design) -> Iterator[f.ReadingFacts]:
    for r in design.refused_readings:
        what: What = next((kind for key, kind in _KINDS.items() if key in r.where), "other")
        yield f.ReadingFacts(
            r.where,
            what,
            r.part,
            refused=True,
            instrument=r.instrument,
            volts=r.value,
            rating=r.rating,
        )


def _asked(asked: Sequence[NextReading]) -> Iterator[f.ReadingFacts]:
    for n in asked:
        if n.what.startswith("short test"):
            yield f.ReadingFacts(f"next reading of {n.part}", "short", n.part, asked=True)
