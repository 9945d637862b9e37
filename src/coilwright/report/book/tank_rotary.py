"""The sheets of rotor, electrodes and room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coilwright.analyses.tank_results import RotaryResult, TankResult
from coilwright.analyses.tank_rotor_words import spin_test
from coilwright.report.blocks import Block, CheckItem, CheckSheet, Drawing, Heading, Paragraph, Row, Table
from coilwright.report.drawing.rotor_layout import rotor_layout
from coilwright.report.estimate_words import estimate_row
from coilwright.report.quantities import PLAIN, figures, quantity
from coilwright.report.tank_rotary_rows import EstimateRow, electrode_rows, room_rows, rotor_rows


def rotary_blocks(result: TankResult) -> Iterator[Block]:
    """Yield the sheet of the rotor where there is one, of the electrodes where there is a gap, and of the room."""
    if result.rotary is not None:
        yield from _rotor(result.rotary)
    if result.electrodes is not None:
        made = result.electrodes
        yield Heading(f"Electrodes of {made.material}", 2)
        yield Table("electrodes", "What the arc does to them", _rows(electrode_rows(made)))
        yield from _words(made.words, made.limits)
    yield Heading("Air and noise of the room", 2)
    yield Table("room", "Ozone, nitrogen dioxide, noise", _rows(room_rows(result.room)))
    yield from _words(result.room.words, result.room.limits)


def _rotor(made: RotaryResult) -> Iterator[Block]:
    yield Heading("Rotor", 2)
    tip_words = "" if made.tip_speed_limit is None else f"limit {figures(made.tip_speed_limit)} m/s"
    speed, test = quantity(made.speed, "rev/s"), quantity(made.spin_test_speed, "rev/s")
    plain = (
        Row("speed", speed.text, speed.unit, "", "ink", made.kind),
        Row("presentations", figures(made.presentations_per_second), "1/s", "", "ink", "presentations x speed"),
        Row("tip speed of the rim", figures(made.tip_speed), "m/s", "", "ink", tip_words),
        Row("spin test at", test.text, test.unit, "", "ink", "1.2 x the highest speed"),
        Row(
            "disc, strength over stress", figures(made.disc_factor), PLAIN, "", "pencil", "4 wanted; " + made.disc_place
        ),
        Row("bolts, strength over stress", figures(made.bolt_factor), PLAIN, "", "pencil", "4 wanted"),
    )
    yield Table("rotor", f"Rotor of the {made.kind} gap", (*plain, *_rows(rotor_rows(made))))
    if made.shape is not None:
        yield Drawing(
            "rotor layout",
            "Rotor to scale, seen along the axle: one fixed electrode stands on either side of the disc.",
            f"Disc with {made.presentations} electrodes on their circle, the fixed electrode and the dwell angle.",
            rotor_layout(made),
        )
    yield from (Paragraph(f"Missing: {word}.", "warning") for word in made.missing)
    if made.shield_words:
        yield Paragraph(made.shield_words, "warning")
    yield from (Paragraph(word, "warning") for word in made.stalled)
    yield from _words(made.words, made.limits)
    items = tuple(CheckItem("STOP", word, "") for word in spin_test(made))
    yield CheckSheet("spin test", "Before the rotor is ever powered", items)


def _rows(rows: Iterable[EstimateRow]) -> tuple[Row, ...]:
    return tuple(estimate_row(label.strip(), estimate, printed) for label, estimate, printed in rows)


def _words(words: Iterable[str], limits: Iterable[str]) -> Iterator[Block]:
    yield from (Paragraph(word) for word in words)
    yield from (Paragraph(word, "small") for word in limits)


__all__ = ["rotary_blocks"]
