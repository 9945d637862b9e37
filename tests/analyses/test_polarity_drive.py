"""What a polarity sheet's drive puts within reach: fed from the low side it is stepped up.

6 V on the low side of 230 V oven iron is about 54 V per unit; a few volts on the high side stay low (common practice,
no source; the step-up is the turns ratio, 2100 / 230 = 9.13).
"""

from __future__ import annotations

import pytest

from coilwright.analyses.shelf import shelf
from coilwright.project.load import read_text

PAIR = """format = 1
[site]
mains = "230 V"
frequency = "50 Hz"
breaker = "B16"
[[instrument]]
id = "m"
rating = "600 V"
accuracy = {{ voltage = "1 %" }}
[[transformer]]
id = "T1"
kind = "oven"
plate_primary = "230 V"
plate_secondary = "2100 V"
plate_power = "1000 VA"
core_end = "finish"
[[transformer]]
id = "T2"
kind = "oven"
plate_primary = "230 V"
plate_secondary = "2100 V"
plate_power = "1000 VA"
core_end = "finish"
[[choke]]
id = "B1"
current = "4.6 A"
lamp = "sodium 400 W"
[[arrangement]]
name = "pair"
output = ["hot_a", "hot_b"]
[arrangement.joint]
live = ["mains.line", "B1.a"]
fed = ["B1.b", "T1.primary_start", "T2.primary_finish"]
return = ["mains.neutral", "T1.primary_finish", "T2.primary_start"]
ground = ["mains.earth", "T1.core", "T2.core"]
hot_a = ["T1.high_start"]
hot_b = ["T2.high_start"]
[supply]
use = "pair"
[[reading]]
what = "polarity"
drive = {{ voltage = "{volts}", between = {between} }}
where = ["hot_a", "hot_b"]
value = "1.0 V"
instrument = "m"
date = 2026-02-21
"""


@pytest.mark.parametrize(
    ("volts", "between", "reach"),
    [
        ("12 V", '["hot_a", "ground"]', None),  # 24 V across the pair at most
        ("16 V", '["hot_a", "ground"]', 32.0),
        ("1.6 V", '["fed", "return"]', None),
        ("6 V", '["fed", "return"]', 2 * 6 * 2100 / 230),
        ("6 V", '["live", "return"]', 2 * 6 * 2100 / 230),
    ],
)
def test_drive_within_reach(volts: str, between: str, reach: float | None) -> None:
    design, _ = read_text(PAIR.format(volts=volts, between=between))
    tags = [t for t in shelf(design).tags if t.id == "test-drive-live"]
    assert [t.number for t in tags] == ([] if reach is None else [pytest.approx(reach)])
