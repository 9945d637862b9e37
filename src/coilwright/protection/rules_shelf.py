"""Tags of the parts on the shelf and of the readings taken on them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coilwright.model.known import Mark
from coilwright.protection.body import TOUCH_LIMIT_RMS
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.energy import stored_energy
from coilwright.protection.facts import PartFacts, ReadingFacts, RefusedReading, ShelfFacts
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import joules, kilograms, listed, ohms, volts, volts_peak, volts_rms

PCB_FREE_YEAR = 1986
FLUX_LIMIT = 1.05
MASS_PER_PERSON = 20.0  # kg
INSULATION_TEST_AT_HOME = 1e3  # V
#: 500 V DC and 1 Mohm for circuits up to 500 V: IEC 60364-6 table 6A, from memory.
INSULATION_VOLTS, INSULATION_LEAST = 500.0, 1e6
UNKNOWN = ("", "unknown", None)


def shelf_tags(facts: ShelfFacts) -> tuple[Tag, ...]:
    """Return the tags of shelf and readings. Hazards that many parts share come as one tag that names them all."""
    return (
        *(raise_tag("reading-refused", r.where, value=r.message, do=_with_hint(r)) for r in facts.refused),
        *_readings(facts.readings),
        *_parts(facts.parts),
        *(raise_tag("not-modelled", part) for part in facts.not_modelled),
        *_shared("fumes-varnish", facts.to_wind),
        *(raise_tag("not-converged", name) for name in facts.unconverged),
    )


def _with_hint(reading: RefusedReading) -> str:
    return f"{CATALOGUE['reading-refused'].do} {reading.hint}".strip()


def _shared(id: str, names: Iterable[str], value: str | None = None) -> Iterator[Tag]:
    """Yield one tag that names every place, or none."""
    where = listed(names)
    if where:
        yield raise_tag(id, where, value=value)


def _parts(parts: tuple[PartFacts, ...]) -> Iterator[Tag]:
    ovens = [p.id for p in parts if p.kind == "oven"]
    yield from _shared("oven-scavenge", ovens)
    yield from _shared("beryllia", ovens)
    for part in parts:
        if part.section == "capacitor" and part.kind == "oven":
            yield raise_tag("oven-capacitor", part.id, value=_charge(part))
        if _may_hold_pcb(part):
            made = "year not stated" if part.made is None else f"made {part.made}"
            yield raise_tag(
                "old-oil-pcb", part.id, value=f"{made}, {_filling(part)}", number=part.made, bound=PCB_FREE_YEAR
            )
        if part.flux_ratio is not None and part.flux_ratio > FLUX_LIMIT:
            yield flux_tag(part.id, part.flux_ratio)
        if part.mass is not None and part.mass > MASS_PER_PERSON:
            yield raise_tag("lifting", part.id, value=kilograms(part.mass), number=part.mass, bound=MASS_PER_PERSON)
        if part.kind == "sign" and part.secondary_protection in {"ground fault", "unknown"}:
            yield raise_tag("ground-fault-unit", part.id, value=f"secondary protection: {part.secondary_protection}")
        if part.shunts in {"changed", "removed"}:
            yield raise_tag("shunts-touched", part.id, value=f"shunts {part.shunts}")
    yield from _shared("electronic-supply", (p.id for p in parts if p.kind == "electronic"))
    yield from _shared("unpotting", (p.id for p in parts if p.kind == "sign" and p.filling in {"tar", *UNKNOWN}))
    yield from _shared(
        "asbestos-mercury-thoria",
        (p.id for p in parts if (p.lamp or "").startswith("mercury") or (p.made or PCB_FREE_YEAR) < PCB_FREE_YEAR),
    )


def flux_tag(id: str, ratio: float, mark: Mark | None = None) -> Tag:
    """Return the tag of a core whose V/f is ``ratio`` times that of its plate."""
    return raise_tag(
        "frequency-mismatch", id, value=f"{ratio:.2f} x plate V/f", number=ratio, bound=FLUX_LIMIT, mark=mark
    )


def _charge(part: PartFacts) -> str | None:
    if part.capacitance is None or part.rated_peak is None:
        return None
    energy = stored_energy(part.capacitance, part.rated_peak)
    return f"holds {joules(energy)} at {volts_peak(part.rated_peak)}"


def _filling(part: PartFacts) -> str:
    if part.section == "capacitor":
        return "dielectric not stated" if part.dielectric in UNKNOWN else f"dielectric {part.dielectric}"
    return "filling not stated" if part.filling in UNKNOWN else f"filled with {part.filling}"


def _may_hold_pcb(part: PartFacts) -> bool:
    if part.made is not None and part.made >= PCB_FREE_YEAR:
        return False
    if part.section == "capacitor":
        return (
            part.made is not None
            or part.dielectric in UNKNOWN
            or any(w in str(part.dielectric) for w in ("oil", "paper"))
        )
    return part.filling in {"oil", "tar"}


def _readings(readings: tuple[ReadingFacts, ...]) -> Iterator[Tag]:
    for r in readings:
        if r.refused or (r.volts is not None and r.rating is not None and r.volts > r.rating):
            yield _above_meter(r)
        if r.what in {"low voltage", "polarity"} and r.reachable is not None and r.reachable > TOUCH_LIMIT_RMS:
            yield raise_tag(
                "test-drive-live", r.where, value=volts_rms(r.reachable), number=r.reachable, bound=TOUCH_LIMIT_RMS
            )
        if r.insulation is not None and (r.test_volts or 0.0) >= INSULATION_VOLTS and r.insulation < INSULATION_LEAST:
            yield raise_tag(
                "insulation-low", r.where, value=ohms(r.insulation), number=r.insulation, bound=INSULATION_LEAST
            )
        if r.what == "proof" or (r.what == "insulation" and (r.test_volts or 0.0) > INSULATION_TEST_AT_HOME):
            yield raise_tag(
                "proof-test",
                r.where,
                value=None if r.test_volts is None else volts(r.test_volts),
                number=r.test_volts,
                bound=INSULATION_TEST_AT_HOME,
            )
    yield from _short_tests([r for r in readings if r.what == "short"])
    yield from _shared("dc-kick", (r.part or r.where for r in readings if r.what in {"resistance", "insulation"}))
    yield from _shared("capacitance-meter", (r.part or r.where for r in readings if r.what == "capacitance"))


def _above_meter(r: ReadingFacts) -> Tag:
    rating = "not known" if r.rating is None else volts_rms(r.rating)
    value = None if r.volts is None else volts_rms(r.volts) + (" (asked for)" if r.asked else "")
    return raise_tag(
        "test-above-meter",
        r.where,
        value=value,
        limit=f"{rating}: rating of {r.instrument or 'the instrument'}",
        number=r.volts,
        bound=r.rating,
    )


def _short_tests(tests: list[ReadingFacts]) -> Iterator[Tag]:
    """One tag for all short tests, with the worst of them in numbers; a test whose open volts stay touchable raises
    none.
    """
    live = [r for r in tests if r.open_volts is None or r.open_volts > TOUCH_LIMIT_RMS]
    if not live:
        return
    known = [r for r in live if r.open_volts is not None]
    worst = max(known, key=lambda r: r.open_volts or 0.0, default=None)
    value = number = None
    if worst is not None and worst.open_volts is not None:
        number = worst.open_volts
        drive = "" if worst.drive is None else f" at {volts_rms(worst.drive)} drive"
        value = f"{worst.part or worst.where}: {volts_rms(number)}{drive}"
    yield raise_tag(
        "short-test-opens", listed(r.part or r.where for r in live), value=value, number=number, bound=TOUCH_LIMIT_RMS
    )
