"""The drawings that `export svg` makes besides the wiring."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from coilwright.analyses.tank_results import TankResult
    from coilwright.model.design import Design

#: What each drawing needs the project to have, in words.
DRAWINGS = {
    "wiring": "",
    "string": "a string of capacitors in [tank], or one that the shelf can make",
    "plates": "home-made plates in [tank]",
    "gap": "a [gap] with its electrode",
    "rotor": "a rotary [gap] with speed, presentations and radius",
    "protection": "",
}


def known_drawing(name: str) -> str:
    """Return the name.

    Raises
    ------
    InputError
        Where there is no drawing of that name.
    """
    if name not in DRAWINGS:
        message = f'there is no drawing "{name}"'
        raise InputError([Problem("--drawing", None, message, "drawings: " + ", ".join(DRAWINGS))])
    return name


def tank_drawing(name: str, design: Design, result: TankResult) -> str:
    """Return a drawing of the tank stage as SVG.

    Raises
    ------
    InputError
        Where the project has nothing of that kind to draw.
    """
    made = _drawn(name, design, result)
    if made is None:
        message = f'the project has nothing to draw as "{name}"'
        raise InputError([Problem("--drawing", None, message, f"it needs {DRAWINGS[name]}")])
    return made


def _drawn(name: str, design: Design, result: TankResult) -> str | None:
    if name == "string":
        from coilwright.report.drawing.string_layout import string_layout_svg

        row = result.strings.own or next(iter(result.strings.ranked), None)
        return string_layout_svg(row) if row is not None and row.layout is not None else None
    if name == "plates":
        from coilwright.report.drawing.plates_layout import plates_svg

        return plates_svg(result.plates) if result.plates is not None else None
    if name == "gap":
        from coilwright.report.drawing.gap_layout import gap_layout

        return gap_layout(result.gap) if result.gap is not None and result.gap.spacing_each is not None else None
    if name == "rotor":
        from coilwright.report.drawing.rotor_layout import rotor_layout

        return rotor_layout(result.rotary) if result.rotary is not None and result.rotary.shape is not None else None
    from coilwright.report.drawing.protection_chain import chain_svg, chain_view

    return chain_svg(chain_view(design, result))
