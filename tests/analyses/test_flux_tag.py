"""Volts per hertz: the shelf judges a part straight on the mains, the supply the part as it is wired."""

from __future__ import annotations

import pytest

from analyses.workshop import solve
from coilwright.analyses.shelf import shelf
from coilwright.project.load import read_text

# Two 115 V primaries in series on 230 V carry their plates' flux each; one alone twice as much (flux = V / f; physics).
TEXT = """format = 1
[site]
mains = "230 V"
frequency = "50 Hz"
breaker = "B16"
[[transformer]]
id = "T1"
kind = "oven"
plate_primary = "115 V"
plate_secondary = "2100 V"
plate_power = "1000 VA"
core_end = "finish"
[[transformer]]
id = "T2"
kind = "oven"
plate_primary = "115 V"
plate_secondary = "2100 V"
plate_power = "1000 VA"
core_end = "finish"
[[choke]]
id = "B1"
current = "8 A"
test = [{ voltage = "100 V", current = "4 A" }, { voltage = "190 V", current = "8 A" }]
[[arrangement]]
name = "series"
output = ["hot_a", "hot_b"]
[arrangement.joint]
live = ["mains.line", "B1.a"]
fed = ["B1.b", "T1.primary_start"]
middle = ["T1.primary_finish", "T2.primary_finish"]
return = ["mains.neutral", "T2.primary_start"]
ground = ["mains.earth", "T1.core", "T2.core"]
hot_a = ["T1.high_start"]
hot_b = ["T2.high_start"]
[supply]
use = "series"
"""


def test_primaries_in_series_are_judged_by_what_each_carries() -> None:
    design, _ = read_text(TEXT)
    alone = {t.where: t.number for t in shelf(design).tags if t.id == "frequency-mismatch"}
    assert alone == {"T1": pytest.approx(2.0), "T2": pytest.approx(2.0)}
    assert [t for t in solve(TEXT).tags if t.id == "frequency-mismatch"] == []
