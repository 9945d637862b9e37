"""The tank stage, as tables: hazards first, then size, strings, plates, gap, rotor, protection."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from coilwright.analyses.tank_results import TankResult
from coilwright.report.console import LEGEND, print_block, print_indented, print_tags
from coilwright.report.console_tank_gap import print_gap
from coilwright.report.console_tank_plates import print_plates
from coilwright.report.console_tank_protection import print_protection
from coilwright.report.console_tank_rotary import print_rotary
from coilwright.report.console_tank_size import print_size
from coilwright.report.console_tank_strings import print_strings


def print_tank(console: Console, result: TankResult, *, tags: bool = True) -> None:
    """Print everything between supply and coil."""
    if tags:
        print_tags(console, result.tags)
    console.print(Text(f'Tank, gap and protection for "{result.name}"', style="bold"))
    console.print()
    print_size(console, result)
    print_strings(console, result)
    print_plates(console, result)
    print_gap(console, result)
    print_rotary(console, result)
    print_protection(console, result)
    print_indented(console, [f"- {note}" for note in result.notes], 0)
    console.print()
    print_block(console, Text(LEGEND))
