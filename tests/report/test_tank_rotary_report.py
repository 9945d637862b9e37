"""Rotor, electrodes and room in every medium: all numbers there, with unit, band and mark; the drawing to scale."""

from __future__ import annotations

import dataclasses
import io
import re
import xml.etree.ElementTree as ET
from math import hypot, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from analyses.tank_benches import GAP, ROTOR, SIZE, STATIC, SUPPLY, project, without
from coilwright.analyses.tank_results import (
    FilterResult,
    FuseResult,
    KeepOut,
    ProtectionResult,
    RotaryResult,
    SafetyGapResult,
    StringsResult,
    TankResult,
)
from coilwright.analyses.tank_rotary import rotary_result
from coilwright.analyses.tank_wear import electrode_result, room_result
from coilwright.model.known import Estimate
from coilwright.report.blocks import CheckSheet, Drawing, Paragraph, Table
from coilwright.report.book.tank_rotary import rotary_blocks
from coilwright.report.console_tank_rotary import print_rotary
from coilwright.report.drawing.rotor_layout import SCALES, SPACE, drawn_scale, rotor_layout
from coilwright.report.estimate_words import measured
from coilwright.report.estimates import split_estimates
from coilwright.report.json_tank_rotary import rotary_part

NONE = Estimate(1.0, 1.0, 1.0, "ink", "W")
PROTECTION = ProtectionResult(
    SafetyGapResult((), 0.0, None, "", None, None, None, None, None, None, empty=False),
    FilterResult(False, 1.0, 1.0, 1.0, 1.0, 0.0, NONE, 0.0, 1, 0.0, NONE, 0.0),
    (),
    FuseResult(None, None, "", None, None, None),
    (),
    KeepOut(1.0, ""),
    (),
    (),
)
SVG = "{http://www.w3.org/2000/svg}"


def tank(text: str = ROTOR) -> TankResult:
    design = project(text)
    return TankResult(
        "bench",
        SUPPLY,
        SIZE,
        StringsResult(None),
        None,
        GAP,
        rotary_result(design, SUPPLY, GAP),
        electrode_result(design, SUPPLY, SIZE, GAP),
        room_result(design, SIZE),
        PROTECTION,
    )


def rotor(text: str = ROTOR) -> RotaryResult:
    made = tank(text).rotary
    assert made is not None
    return made


def printed(text: str = ROTOR) -> str:
    stream = io.StringIO()
    print_rotary(Console(file=stream, width=80), tank(text))
    return stream.getvalue()


def test_the_terminal_has_force_stalls_spin_test_and_limits():
    text = " ".join(printed().split())
    for word in (
        "79.0 N",
        "114 N",
        "37.7 m/s (limit 80.0 m/s)",
        "2 x 1.50 mm",
        "Spin test: 3600 rpm",
        "nobody in the room",
    ):
        assert word in text, word
    assert "~57.8 (wanted 4)" in text
    assert "from memory" in text
    assert all(len(line) <= 80 for line in printed().splitlines())


def test_a_static_gap_prints_no_rotor_and_no_gap_only_the_room():
    assert "Rotor" not in printed(STATIC)
    assert "Electrodes of brass" in printed(STATIC)
    room = printed(ROTOR.partition("[gap]")[0])
    assert "Electrodes" not in room
    assert "Air and noise of the room" in room


def test_what_is_missing_is_printed_as_missing():
    text = " ".join(printed(without(ROTOR, "disc", "shield")).split())
    assert "Missing: disc not stated." in text
    assert "No shield is stated" not in text  # nothing to work it out from
    assert text.count("not known") >= 4


def test_the_document_has_every_field_of_the_records():
    made = tank()
    part = rotary_part(made)
    other = {"hours_to_drift": "time_to_drift", "dioxide": "nitrogen_dioxide"}
    for key, record in (("rotary", made.rotary), ("electrodes", made.electrodes), ("room", made.room)):
        names = {other.get(f.name, f.name) for f in dataclasses.fields(record)}  # type: ignore[arg-type]
        assert names <= set(part[key]), key
    plain, bands, marks = split_estimates(part)
    assert plain["rotary"]["electrode_force"] == pytest.approx(78.957, rel=1e-4)
    assert marks["rotary.electrode_force"] == "ink"
    assert bands["room.noise"] == pytest.approx([94.113, 114.113], abs=1e-3)
    assert plain["rotary"]["shape"]["dwell_angle"] == pytest.approx(0.12, rel=1e-3)
    nothing = rotary_part(tank(ROTOR.partition("[gap]")[0]))
    assert (nothing["rotary"], nothing["electrodes"]) == (None, None)


def test_the_sheet_has_tables_drawing_stalls_and_the_spin_test_to_tick_off():
    blocks = list(rotary_blocks(tank()))
    tables = {b.key: b for b in blocks if isinstance(b, Table)}
    assert set(tables) == {"rotor", "electrodes", "room"}
    for table in tables.values():
        for row in table.rows:
            assert row.unit, row
            assert row.mark is not None, row
    assert [b.key for b in blocks if isinstance(b, Drawing)] == ["rotor layout"]
    warnings = [b.text for b in blocks if isinstance(b, Paragraph) and b.tone == "warning"]
    assert any("in alignment" in w for w in warnings)
    assert any("never fires" in w for w in warnings)
    (sheet,) = (b for b in blocks if isinstance(b, CheckSheet))
    assert "Spin test" in sheet.items[0].what
    assert not [b for b in rotary_blocks(tank(STATIC)) if isinstance(b, (Drawing, CheckSheet))]


# ---- drawing ---------------------------------------------------------------------------------------------------------


def circles(svg: str) -> dict[str, list[tuple[float, float, float]]]:
    found: dict[str, list[tuple[float, float, float]]] = {}
    for c in ET.fromstring(svg).iter(f"{SVG}circle"):  # noqa: S314  our own drawing
        kind = c.get("class") or "moving"
        found.setdefault(kind, []).append((float(c.get("cx", 0)), float(c.get("cy", 0)), float(c.get("r", 0))))
    return found


def test_the_drawing_is_to_scale():
    # 240 mm at 1 : 2 are a radius of 60 mm; pins of 6 mm on 100 mm at every 45 degrees, 76.5 mm apart, halved
    found = circles(rotor_layout(rotor()))
    (disc,), (aim,), (bore,) = found["disc"], found["aim"], found["bore"]
    assert (disc[2], aim[2], bore[2]) == (60.0, 50.0, 3.0)
    pins = found["moving"]
    assert len(pins) == 8
    assert {r for *_, r in pins} == {1.5}
    for (x, y, _), (u, v, _) in zip(pins, pins[1:] + pins[:1], strict=True):
        assert hypot(x - disc[0], y - disc[1]) == pytest.approx(50.0, abs=0.02)
        assert hypot(x - u, y - v) == pytest.approx(76.537 / 2, abs=0.02)
    assert found["fixed"][0][:2] == pins[0][:2]


def test_the_dwell_rays_open_by_the_dwell_angle():
    svg = rotor_layout(rotor())
    rays = [tuple(map(float, m)) for m in re.findall(r'd="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', svg)]
    (cx, cy, _) = circles(svg)["disc"][0]
    ends = [(x, y) for x0, y0, x, y in rays if (x0, y0) == (cx, cy)]
    assert len(ends) == 2
    assert abs(ends[0][0] - ends[1][0]) == pytest.approx(2 * 50 * pi * 6.876 / 360, rel=0.01)


def test_everything_stays_on_the_sheet_and_the_scale_is_said():
    svg = rotor_layout(rotor())
    root = ET.fromstring(svg)  # noqa: S314  our own drawing
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    for found in circles(svg).values():
        assert all(x - r >= 0 and y - r >= 0 and x + r <= width and y + r <= height for x, y, r in found)
    words = " ".join("".join(t.itertext()) for t in root.iter(f"{SVG}text"))
    assert "Rotor, 1 : 2" in words
    assert "8 electrodes of 6.00 mm on a circle of 200 mm" in words
    assert "Disc not stated" in rotor_layout(rotor(without(ROTOR, "disc")))


def test_without_a_shape_there_is_no_drawing():
    with pytest.raises(ValueError, match="shape is not known"):
        rotor_layout(rotor(without(ROTOR, "electrode_radius")))


@given(st.floats(0.01, 5.0))
def test_the_scale_is_a_usual_one_and_the_largest_that_fits(outline):
    scale = drawn_scale(outline)
    assert scale in SCALES
    assert outline * 1e3 * scale <= SPACE
    larger = [k for k in SCALES if k > scale]
    assert all(outline * 1e3 * k > SPACE for k in larger)


# ---- figures ---------------------------------------------------------------------------------------------------------


@given(
    st.floats(1e-3, 1e6),
    st.floats(0.01, 1.0),
    st.floats(1.0, 100.0),
    st.sampled_from(["N", "dB", "1/s", "m3/s", "Pa"]),
)
def test_a_printed_band_is_never_narrower_than_it_is(value, down, up, unit):
    from coilwright.report.estimate_words import PRINTED

    number = measured(Estimate(value, value * down, value * up, "ink", unit))
    scale = PRINTED[unit][1]
    if number.band:
        low, high = map(float, number.band.split(" to "))
        assert low <= value * down * scale * (1 + 1e-6)
        assert high >= value * up * scale * (1 - 1e-6)
    assert float(number.text) == pytest.approx(value * scale, rel=6e-3, abs=1e-9)


def test_no_end_is_said_in_words():
    found = measured(Estimate(59.2, 3.85, float("inf"), "pencil", "s"))
    assert (str(found), found.band) == ("59.2 s", "3.85 s to no end")
    assert str(measured(None)) == "not known"
