"""Volts above the law of clearances: the supply says so in words, as a result, and names no spacing."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from types import SimpleNamespace
from typing import Any

from cli.doors import assert_valid, supply_result
from coilwright.analyses.results import JointClearance
from coilwright.analyses.supply import _clearances
from coilwright.project.load import read_text
from coilwright.report.json_results import supply_document

SITE = 'format = 1\n[site]\nmains = "230 V"\naltitude = "{} m"\n'


def clearances(altitude: int) -> dict[str, JointClearance]:
    peaks = {"hot": 400e3, "live": 325.0, "ground": 0.0}
    solved: Any = SimpleNamespace(joints={j: SimpleNamespace(to_earth_peak=v) for j, v in peaks.items()})
    return {c.joint: c for c in _clearances(solved, read_text(SITE.format(altitude))[0], None)}


def test_no_spacing_is_named_where_the_law_ends() -> None:
    # IEC 60071-2 Annex F ends at 3 m, 750 sqrt(2) ln(1 + 0.55 x 3^1.2) = 1184 kV, by hand. At 9000 m (308 hPa, ICAO
    # Doc 7488) the air has a third of its density at sea level: 400 kV there ask for three times as much, and 10 %.
    high, low = clearances(9000), clearances(0)
    assert high["hot"].clearance == high["hot"].creepage == inf
    assert high["hot"].basis.startswith("no spacing is known that holds: ") and "IEC 60071-2" in high["hot"].basis
    assert low["hot"].clearance < 3.0
    assert high["live"].clearance < 0.1 and "ground" not in high


def test_the_document_has_no_number_for_it() -> None:
    made = replace(supply_result(), clearances=tuple(clearances(9000).values()))
    document = supply_document(read_text(SITE.format(9000))[0], made)
    assert_valid(document, "supply")
    row = next(c for c in document["clearances"] if c["joint"] == "hot")
    assert (row["clearance"], row["creepage"], row["voltage_peak"]) == (None, None, 400e3)
    assert all(t["id"] != "not-converged" for t in document["tags"])
