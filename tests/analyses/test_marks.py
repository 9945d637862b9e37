"""A supply is known no better than the parts that decide it: the weakest mark, of the output and of the mains."""

from __future__ import annotations

import pytest

from coilwright.analyses.marks import mains_mark, output_mark
from coilwright.analyses.results import PartResult
from coilwright.model.known import Estimate


def part(**marks: str) -> PartResult:
    return PartResult("T1", "oven", {name: Estimate(1.0, 0.9, 1.1, mark, "V") for name, mark in marks.items()})


@pytest.mark.parametrize(
    ("marks", "output", "mains"),
    [
        ({"open_voltage": "stamped", "short_current": "stamped", "open_current": "stamped"}, "stamped", "stamped"),
        # a sign transformer known by its plate alone: volts and milliamperes in ink, what magnetises it assumed
        ({"open_voltage": "ink", "short_current": "ink", "open_current": "pencil"}, "ink", "pencil"),
        ({"open_voltage": "ink", "short_current": "pencil", "open_current": "stamped"}, "pencil", "pencil"),
        ({"open_voltage": "stamped", "magnetising_inductance": "pencil"}, "stamped", "stamped"),
        ({}, "pencil", "pencil"),
    ],
)
def test_weakest_of_what_decides(marks: dict[str, str], output: str, mains: str) -> None:
    parts = {"T1": part(**marks), "B1": part(reactance="stamped", resistance="stamped")}
    assert (output_mark(parts, ["T1"]), mains_mark(parts, ["T1"])) == (output, mains)
    both = output_mark(parts, ["T1", "B1.2"]), mains_mark(parts, ["T1", "B1.2"])
    assert both == ((output, mains) if marks else ("stamped", "stamped"))
