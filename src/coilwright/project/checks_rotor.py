"""Checks of the rotor in [gap]: keys that only a rotary gap has, and measures that cannot be built."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import pi
from typing import Any

from coilwright.units import UnitError, parse_with_tolerance, show

#: Keys that mean nothing in a gap that does not turn.
ROTOR_KEYS = (
    "speed",
    "presentations",
    "phase",
    "electrode_radius",
    "electrode_mass",
    "dwell",
    "disc",
    "bolt",
    "shield",
    "motor_speed_max",
)

#: Where, what, the way out, and whether the file can be used all the same.
Found = tuple[str, str, str, bool]


def check_rotor(gap: Mapping[str, Any]) -> Iterator[Found]:
    """Yield what is wrong with the rotor; malformed values are stepped over, the schema tells of them."""
    kind = gap.get("kind")
    if kind in {"static", "segmented"}:
        unused = [k for k in ROTOR_KEYS if k in gap]
        if unused:
            yield (
                "gap",
                f"{', '.join(unused)}: only a rotary gap has such, and this one is {kind}",
                'Leave it out, or write kind = "synchronous rotary" or "asynchronous rotary".',
                True,
            )
        return
    if kind not in {"synchronous rotary", "asynchronous rotary"}:
        return
    lacking = [k for k in ("speed", "presentations") if k not in gap]
    if lacking:
        yield (
            "gap",
            f"a rotary gap without {' and '.join(lacking)}: its timing and its rotor cannot be judged",
            'Add speed = "3000 rpm" and presentations = 8.',
            True,
        )
    yield from _speeds(gap)
    yield from _circle(gap)


def _speeds(gap: Mapping[str, Any]) -> Iterator[Found]:
    speed, most = _read(gap, "speed", "speed"), _read(gap, "motor_speed_max", "speed")
    if speed is not None and most is not None and most < speed:
        yield (
            "gap.motor_speed_max",
            f"found {show(most, 'speed')}, less than the speed of {show(speed, 'speed')}",
            "State the highest speed that the motor can reach without load.",
            False,
        )


def _circle(gap: Mapping[str, Any]) -> Iterator[Found]:
    electrode, disc = _table(gap, "electrode"), _table(gap, "disc")
    radius, pin = _read(gap, "electrode_radius", "length"), _read(electrode, "diameter", "length")
    rim, bore = _read(disc, "diameter", "length"), _read(disc, "bore", "length")
    if rim is not None and bore is not None and bore >= rim:
        yield (
            "gap.disc.bore",
            f"found {show(bore, 'length')}, not smaller than the disc's diameter of {show(rim, 'length')}",
            "Correct one of them.",
            False,
        )
    if radius is None or pin is None:
        return
    if rim is not None and radius + pin / 2 >= rim / 2:
        placed = f"electrodes of {show(pin, 'length')} at {show(radius, 'length')} from the axle"
        yield (
            "gap.electrode_radius",
            f"{placed} break through the rim of a disc of {show(rim, 'length')}",
            f"The disc needs more than {show(2 * radius + pin, 'length')}, or the electrodes a smaller circle.",
            False,
        )
    count = gap.get("presentations")
    if isinstance(count, int) and not isinstance(count, bool) and count > 0 and 2 * pi * radius <= count * pin:
        yield (
            "gap.presentations",
            f"{count} electrodes of {show(pin, 'length')} do not fit on a circle of {show(radius, 'length')} radius",
            "Fewer or thinner electrodes, or a larger circle.",
            False,
        )


def _table(table: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = table.get(key)
    return found if isinstance(found, Mapping) else {}


def _read(table: Mapping[str, Any], key: str, dimension: str) -> float | None:
    """Return the value in SI, None where it is missing or malformed."""
    if key not in table:
        return None
    try:
        value, _ = parse_with_tolerance(table[key], dimension, "positive")
    except UnitError:
        return None
    return value


__all__ = ["ROTOR_KEYS", "check_rotor"]
