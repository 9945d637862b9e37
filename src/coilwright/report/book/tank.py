"""The chapters between supply and coil: tank capacitor, gap, protection."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.tank_results import TankResult
from coilwright.model.design import Design
from coilwright.report.blocks import Block, Heading, Paragraph, Waiting
from coilwright.report.book.tank_gap import gap_blocks
from coilwright.report.book.tank_protection import protection_blocks
from coilwright.report.book.tank_rotary import rotary_blocks
from coilwright.report.book.tank_size import plates_blocks, size_blocks
from coilwright.report.book.tank_strings import string_blocks


def tank_blocks(design: Design, result: TankResult | None) -> Iterator[Block]:
    """Yield everything between supply and coil; what could not be computed says so."""
    if result is None:
        yield Heading("Tank capacitor, gap and protection")
        yield Waiting("tank", "This sheet waits for a converged answer of the supply; no number is shown without one.")
        return
    yield Heading("Tank capacitor")
    yield from size_blocks(result)
    yield from string_blocks(result)
    yield from plates_blocks(result)
    yield Heading("Gap")
    yield from gap_blocks(result)
    yield from rotary_blocks(result)
    yield from protection_blocks(design, result)
    yield from (Paragraph(note, "small") for note in result.notes)
