"""The bleeder rule, shared by correction, filter and tank capacitors."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.protection.energy import drain_time
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.protection.wording import farads, ohms, seconds, volts, volts_peak

NOMINAL_PEAK_EDGE = 600 * 2**0.5  # V peak of 600 V rms nominal, where NEC 460.6 ends and 460.28 begins
FIXED = (50.0, 60.0)  # V, s: NEC 460.6
FIXED_ABOVE_600_V = (50.0, 300.0)  # V, s: NEC 460.28
PLUG_PINS = (34.0, 1.0)  # V, s: IEC 60335-1 cl. 22.5


def bleeder_tag(
    where: str, capacitance: float, bleeder: float | None, peak: float, *, at_plug_pins: bool = False
) -> Iterator[Tag]:
    """Yield ``bleeder-missing`` for a capacitor [F] at ``peak`` [V] without bleeder [ohm], or with one that takes too
    long.
    """
    residual, allowed = PLUG_PINS if at_plug_pins else FIXED if peak <= NOMINAL_PEAK_EDGE else FIXED_ABOVE_600_V
    limit = f"{volts(residual)} within {seconds(allowed)}"
    if bleeder is None:
        yield raise_tag(
            "bleeder-missing",
            where,
            value=f"none on {farads(capacitance)} at {volts_peak(peak)}",
            limit=limit,
            bound=allowed,
        )
        return
    needed = drain_time(capacitance, bleeder, peak, residual)
    if needed > allowed:
        yield raise_tag(
            "bleeder-missing",
            where,
            value=f"{ohms(bleeder)} takes {seconds(needed)} from {volts_peak(peak)}",
            limit=limit,
            number=needed,
            bound=allowed,
        )
