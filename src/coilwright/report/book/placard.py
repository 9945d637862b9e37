"""The placard: one page for the door and the isolator, in words that a visitor reads."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coilwright.analyses.missing_scan import highest_missing
from coilwright.analyses.results import SupplyResult
from coilwright.model.design import Design
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.energy import stored_energy
from coilwright.protection.tag import Tag
from coilwright.report.blocks import Block, Heading, Placard
from coilwright.report.quantities import quantity

#: The signal word for a danger that kills if it is not avoided: ANSI Z535.4 and ISO 3864-2, from memory.
SIGNAL_WORD = "DANGER"


def placard_blocks(supply: SupplyResult | None, tags: Iterable[Tag], design: Design | None = None) -> Iterator[Block]:
    """Yield the placard with its blanks: who cuts the power, whom to call, and who stays outside.

    With a ``design`` that has a tank it tells the highest peak there can be, and what the tank holds at it.
    """
    every = list(tags)
    ring = next((t for t in every if t.id == "keep-out"), None)
    yield Heading("Placard")
    head = "High voltage. It kills at the first touch."
    if supply is not None:
        volts = quantity(supply.open_circuit.voltage_peak, "V")
        head += f" {volts} peak across, {quantity(supply.short_circuit.current, 'A')} into a short."
        head += _highest(supply, design) if design is not None else ""
    rules = [
        ("who cuts the power", ("Only the operator switches on. Anybody may cut the power, and cuts it before touching "
         "anyone who is hurt.")),
        ("implants", CATALOGUE["medical-implant"].what + " " + CATALOGUE["medical-implant"].do),
        ("distance", f"Nobody inside the ring while the plug is in: {ring.value}." if ring is not None and ring.value
         else CATALOGUE["keep-out"].what),
        ("children", ("No children in the room, nor behind an unlocked door. Anybody under age only beside a qualified "
         "adult.")),
        ("animals", "No animals in the room: they go under barriers and hear what we do not."),
        ("ears", "Ear defenders on before it is switched on, visitors too."),
        ("eyes", "Nobody looks into the gap: it burns eyes like a welding arc. Cover or welding shade."),
        ("after", CATALOGUE["isolate-drain-short"].what),
        ("after a shock", "Any shock from this set: hospital, also when it seems nothing."),
    ]  # fmt: skip
    yield Placard(
        "placard",
        SIGNAL_WORD,
        head,
        tuple(rules),
        (
            "this machine is run by",
            "who cuts the power today",
            "second person, trained in resuscitation",
            "isolator, where it is",
            "emergency number",
            "address of this place, for the ambulance",
            "extinguisher, where it hangs",
            "date, and until when this placard holds",
        ),
    )


def _highest(supply: SupplyResult, design: Design) -> str:
    """Return the highest peak that there can be with the tank attached, and its joules, no protection counted on."""
    if design.tank is None:
        return ""
    highest = highest_missing(design, supply)
    if highest is None:
        return (
            " With the tank attached it goes higher when the gap misses: how high, and how many joules, is not known."
        )
    energy = quantity(stored_energy(max(highest.high, highest.capacitance), highest.peak), "J")
    return (
        f" With the tank attached, up to {quantity(highest.peak, 'V')} peak across when the gap misses, and the tank "
        f"holds up to {energy} after the plug is out."
    )


__all__ = ["SIGNAL_WORD", "placard_blocks"]
