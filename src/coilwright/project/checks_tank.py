"""Checks of [tank], [gap] and [protection]: what no capacitor can be made of, and gaps outside every law of the air."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from coilwright.capacitors.dielectrics import DIELECTRICS, MATERIALS, UNKNOWN, dielectric_of, find
from coilwright.errors import ModelRangeError
from coilwright.project.fields import nearest
from coilwright.units import UnitError, parse_with_tolerance, quote, show

#: Narrowest gap [m] at which a law of the air holds at every altitude that a site may have: below, surfaces decide.
LEAST_SPACING = 30e-6
#: Widest gap [m], all its segments together, and highest setting [V peak] for which the rest can be worked out: the
#: clearances that they need lie within the tables even in the thin air of 9 km.
MOST_SPACING, MOST_PEAK = 0.1, 300e3
#: Least setting of a gap [V peak] that some spacing gives in every site's air: above the 327 V of Paschen's minimum,
#: below which air breaks down at no spacing (J. D. Cobine, Gaseous Conductors, from memory).
LEAST_PEAK = 500.0
#: A tank smaller than this is no more than what windings, leads and electrodes have by themselves [F] (our rule).
LEAST_TANK = 100e-12
#: Words on a capacitor that say that nobody knows its dielectric.
NOT_STATED = ("", "unknown", "not stated")
#: Dielectrics of the capacitors that are sold.
NAMES = tuple(m.name for m in MATERIALS if m.words)
ROTARY = ("synchronous rotary", "asynchronous rotary")

#: Where, what, the way out, and whether the file can be used all the same.
Found = tuple[str, str, str, bool]


def check_tank(data: Mapping[str, Any]) -> Iterator[Found]:
    """Yield what is wrong with tank, gap and safety gap; malformed values are left to the schema."""
    tank, gap = _table(data, "tank"), _table(data, "gap")
    yield from _small("tank.capacitance", _read(tank.get("capacitance"), "capacitance"))
    yield from _string(data, _table(tank, "strings"))
    yield from _plates(_table(tank, "plates"))
    yield from _segments(gap)
    segments, kind = gap.get("segments"), gap.get("kind")
    count = segments if isinstance(segments, int) and segments > 0 else 2 if kind in ROTARY else 1
    yield from _spacing("gap.spacing", gap.get("spacing"), count)
    yield from _setting("gap.voltage", gap.get("voltage"), count)
    yield from _dielectrics(data)
    safety = _table(data, "protection").get("safety_gap")
    if isinstance(safety, Mapping):
        yield from _setting("protection.safety_gap.voltage", safety.get("voltage"))
    else:
        yield from _spacing("protection.safety_gap", safety, 1)


def _small(where: str, capacitance: float | None) -> Iterator[Found]:
    if capacitance is not None and capacitance < LEAST_TANK:
        least = show(LEAST_TANK, "capacitance", trim=True)
        yield (
            where,
            f"the tank has {show(capacitance, 'capacitance')}; windings and leads alone have about {least}",
            'Check the prefix: a tank is some nanofarads, "12 nF".',
            False,
        )


def _string(data: Mapping[str, Any], strings: Mapping[str, Any]) -> Iterator[Found]:
    listed = data.get("capacitor")
    parts = [p for p in listed if isinstance(p, Mapping)] if isinstance(listed, list) else []
    part = next((p for p in parts if p.get("id") == strings.get("part")), None)
    if not strings or part is None:
        return
    where, name = "tank.strings.part", part.get("id")
    if part.get("kind") == "oven":
        yield (
            where,
            f"{name} is an oven capacitor: made for mains frequency, with a resistor inside; never a tank",
            'Name film capacitors of the shelf, or write the capacitance alone: capacitance = "12 nF".',
            False,
        )
        return
    use = part.get("use")
    if use in {"power factor", "filter"}:
        yield (
            where,
            f'{name} has use = "{use}", and the tank is made of it',
            'Write use = "tank" if it is a pulse capacitor, or take another part.',
            True,
        )
    counts = strings.get("series"), strings.get("parallel", 1)
    stated = part.get("value")
    value = _read(stated.get("value") if isinstance(stated, Mapping) else stated, "capacitance")
    if value is not None and all(isinstance(n, int) and not isinstance(n, bool) and n > 0 for n in counts):
        yield from _small("tank.strings", value * counts[1] / counts[0])
    words = part.get("dielectric")
    material = dielectric_of(words) if isinstance(words, str) else None
    unfit = material.part_unfit or material.unfit if material else ""
    if unfit:
        yield (
            where,
            f"{name} is unfit for a tank: {unfit}",
            "Polypropylene film is usual; `coilwright tank` shows what this one would see.",
            True,
        )


def _dielectrics(data: Mapping[str, Any]) -> Iterator[Found]:
    """Yield the dielectric of each capacitor on the shelf that names none we know: it counts as not stated."""
    listed = data.get("capacitor")
    for k, part in enumerate(listed if isinstance(listed, list) else []):
        words = part.get("dielectric") if isinstance(part, Mapping) else None
        if not isinstance(words, str) or words.strip().lower() in NOT_STATED or dielectric_of(words) is not UNKNOWN:
            continue
        near = nearest(words, NAMES)
        yield (
            f"capacitor[{k}].dielectric",
            f"no dielectric is called {quote(words)}: its loss and what else hangs on it count as not stated",
            (f'Did you mean "{near}"? ' if near else "") + f'Known: {", ".join(NAMES)}; "unknown" where it is.',
            True,
        )


def _plates(plates: Mapping[str, Any]) -> Iterator[Found]:
    name = plates.get("dielectric")
    if not isinstance(name, str) or not name.strip():
        return
    material = find(name)
    if material is None:
        near = nearest(name, DIELECTRICS)
        known = f"Known: {', '.join(sorted(DIELECTRICS))}."
        yield (
            "tank.plates.dielectric",
            f"no dielectric is called {quote(name)}",
            f'Did you mean "{near}"? {known}' if near else known,
            False,
        )
        return
    thickness, area = _read(plates.get("thickness"), "length"), _read(plates.get("area"), "area")
    count, form = plates.get("count"), plates.get("form")
    if thickness is None or area is None or not isinstance(count, int) or isinstance(count, bool) or count < 1:
        return
    from coilwright.capacitors.plates import FORMS, rated_peak

    shape = next((f for f in FORMS if f == form), None)
    if shape is None:
        return
    try:
        rated_peak(shape, material, thickness, area, count)
    except ModelRangeError as error:
        hint = "Give thickness and area of one sheet as measured; a thicker one is made of several in series."
        yield ("tank.plates", str(error), hint, False)


def _segments(gap: Mapping[str, Any]) -> Iterator[Found]:
    kind, segments = gap.get("kind"), gap.get("segments")
    if kind == "segmented" and "segments" not in gap:
        yield (
            "gap",
            "a segmented gap without segments: it is counted as one gap",
            "Add segments = 5: how many gaps stand in series. spacing is that of each of them.",
            True,
        )
    if kind == "static" and isinstance(segments, int) and not isinstance(segments, bool) and segments > 1:
        yield (
            "gap.segments",
            f"found {segments} in a static gap: it is counted as {segments} gaps in series",
            'Write kind = "segmented", or leave segments out.',
            True,
        )


def _setting(where: str, found: object, count: int = 1) -> Iterator[Found]:
    """Yield a setting across ``count`` gaps in series that none of them gives: each takes its share of the volts."""
    value, least = _read(found, "voltage"), LEAST_PEAK * count
    if value is not None and not least <= value <= MOST_PEAK:
        low, high, each = (show(v, "voltage", trim=True) for v in (least, MOST_PEAK, value / count))
        several = f" across {count} gaps, {each} each" if count > 1 else ""
        why = ": below 327 V air breaks down at no spacing" if value < least else ""
        yield (
            where,
            f"found {quote(found)}{several}, expected {low} to {high} peak{why}",
            "Write the peak volts at which it fires, and check the prefix.",
            False,
        )


def _spacing(where: str, found: object, count: int) -> Iterator[Found]:
    value = _read(found, "length")
    if value is None or (value >= LEAST_SPACING and count * value <= MOST_SPACING):
        return
    low, high = (show(v, "length", trim=True) for v in (LEAST_SPACING, MOST_SPACING))
    several = f", {count} times" if count > 1 else ""
    yield (
        where,
        f"found {quote(found)}{several}, expected a gap of {low} at least and {high} in all at most",
        "Write the spacing of one gap, and check the prefix: what a tank fires over is millimetres.",
        False,
    )


def _table(table: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = table.get(key)
    return found if isinstance(found, Mapping) else {}


def _read(found: object, dimension: str) -> float | None:
    """Return the value in SI, None where it is missing or malformed."""
    if found is None:
        return None
    try:
        value, _ = parse_with_tolerance(found, dimension, "positive")
    except UnitError:
        return None
    return value


__all__ = ["LEAST_PEAK", "LEAST_SPACING", "LEAST_TANK", "MOST_PEAK", "MOST_SPACING", "check_tank"]
