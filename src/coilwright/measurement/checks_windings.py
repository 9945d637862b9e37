"""Checks of resistances and of the ratio at low voltage, by arithmetic alone."""

from __future__ import annotations

from math import log

from coilwright.measurement.bench_points import (
    RESISTANCE_SHARE,
    apparent_ratio,
    is_swapped,
    odd_resistance,
    plate_ratio,
    ratio_of,
    resistance_share,
    secondary_key,
    secondary_resistance,
)
from coilwright.measurement.findings import Finding, say
from coilwright.model.parts import Transformer

#: Two ratios read in the same direction may differ so much; fed low may read so much above fed high.
SAME_DIRECTION, WRONG_DIRECTION = 1.09, 1.06


def check_windings(part: Transformer) -> list[Finding]:
    """Return doubts about the two resistances."""
    primary, secondary, ratio, share = (
        part.primary_resistance,
        secondary_resistance(part),
        ratio_of(part),
        resistance_share(part),
    )
    if primary is None or secondary is None or ratio is None or share is None:
        return []
    base = part.where or part.id
    if ratio > 1.5 and primary.value > secondary.value:
        message = (
            f"The primary reads {say(primary.value, 'ohm')}, more than the high winding, "
            f"{say(secondary.value, 'ohm')}: with {ratio:.3g} times the turns the high winding has the "
            "higher resistance."
        )
        hint = "Are the two windings swapped, in the file or on the bench?"
        keys = ("primary_resistance", secondary_key(part))
        return [Finding("swapped-windings", "CAUTION", f"{base}.{key}", message, hint) for key in keys]
    if RESISTANCE_SHARE[0] <= share <= RESISTANCE_SHARE[1]:
        return []
    key = odd_resistance(part)
    value = primary.value if key == "primary_resistance" else secondary.value
    too_high = (share > 1) == (key != "primary_resistance")
    message = (
        f"{say(value, 'ohm')} is too {'high' if too_high else 'low'}: the high winding has {share:.2g} times the "
        f"primary's resistance per turn squared, usual is {RESISTANCE_SHARE[0]:g} to {RESISTANCE_SHARE[1]:g}."
    )
    hint = (
        f"A slip of the decimal point? {say(value / 10 if too_high else value * 10, 'ohm')} would fit. For less than "
        "an ohm, take off the resistance of the meter's leads."
    )
    return [Finding("resistance-ratio", "CAUTION", f"{base}.{key}", message, hint)]


def check_ratios(part: Transformer) -> list[Finding]:
    """Return doubts about the ratio tests among themselves."""
    base, plate = part.where or part.id, plate_ratio(part)
    groups: dict[str, list[tuple[float, str]]] = {"low": [], "high": []}
    found: list[Finding] = []
    for k, t in enumerate(part.low_voltage_test):
        if not (t.applied.value > 0 and t.read.value > 0):
            continue
        fed = "low" if t.fed == "low" else "high"
        where = f"{t.where or f'{base}.low_voltage_test[{k}]'}.{'secondary' if fed == 'low' else 'low'}"
        n = apparent_ratio(t)
        if is_swapped(t, plate):
            message = f"The ratio reads {n:.3g}, the plate says {plate:.3g}: the volts of the two windings are swapped."
            hint = "Exchange the two figures: `applied_high` belongs on the high winding, `low` on the primary."
            found.append(Finding("swapped-windings", "CAUTION", where, message, hint))
        else:
            groups[fed].append((n, where))
    for group in groups.values():
        values = sorted(n for n, _ in group)
        if len(values) > 1 and values[-1] / values[0] > SAME_DIRECTION:
            middle = plate if plate is not None and len(values) == 2 else values[len(values) // 2]
            n, where = max(group, key=lambda g: abs(log(g[0] / middle)))
            spread = f"{values[0]:.4g} to {values[-1]:.4g}"
            message = f"This test gives a ratio of {n:.4g}; all in the same direction give {spread}."
            hint = "Take both again, one meter after the other at the same drive."
            found.append(Finding("ratio-low-voltage", "CAUTION", where, message, hint))
    return found or _direction(groups, plate)


def _direction(groups: dict[str, list[tuple[float, str]]], plate: float | None) -> list[Finding]:
    low, high = groups["low"], groups["high"]
    if not low or not high:
        return []
    n_low, n_high = sum(n for n, _ in low) / len(low), sum(n for n, _ in high) / len(high)
    if n_low <= WRONG_DIRECTION * n_high:
        return []
    middle = plate or (n_low * n_high) ** 0.5
    where = low[0][1] if abs(log(n_low / middle)) > abs(log(n_high / middle)) else high[0][1]
    message = (
        f"Fed low the ratio reads {n_low:.4g}, fed high {n_high:.4g}. Leakage makes it the other way round: less than "
        "the turns ratio fed low, more fed high."
    )
    hint = "Are the two directions exchanged, or is one meter off its range?"
    return [Finding("ratio-low-voltage", "CAUTION", where, message, hint)]
