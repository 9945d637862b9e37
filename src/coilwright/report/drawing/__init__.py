"""The wiring drawing, and its reading back."""

from __future__ import annotations

from coilwright.report.drawing.front import front_note
from coilwright.report.drawing.readback import LabelBox, label_boxes, read_back
from coilwright.report.drawing.records import WiringPart, wiring_parts
from coilwright.report.drawing.wiring import wiring_svg

__all__ = ["LabelBox", "WiringPart", "front_note", "label_boxes", "read_back", "wiring_parts", "wiring_svg"]
