"""The wiring drawing: what is drawn is the netlist, and it can be read.

That a dot joins and a bare crossing does not is common practice in circuit diagrams (no source); so is the dot at the
start of a winding. The reading back uses nothing of the router.
"""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import ImageFont

import coilwright.report
from coilwright.errors import InputError
from coilwright.magnetics.iron import Iron
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Known
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.report.drawing import WiringPart, label_boxes, read_back, wiring_parts, wiring_svg
from coilwright.report.drawing.netlist import read_netlist, stages, voltage_classes
from coilwright.report.drawing.readback import read_sheet
from coilwright.report.drawing.svg import Box
from coilwright.supply.circuits import TransformerCircuit
from report.invented_wiring import ARRANGEMENTS, PARTS, wild

SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(coilwright.report.__file__).parent / "fonts"


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314  (our own output)


def netlist(arrangement: Arrangement) -> dict[str, frozenset[str]]:
    return {joint: frozenset(terminals) for joint, terminals in arrangement.joints.items()}


def overlapping(svg: str) -> list[tuple[str, str]]:
    return [(a.content, b.content) for a, b in itertools.combinations(label_boxes(svg), 2) if a.box.overlaps(b.box)]


def struck_out(svg: str) -> list[str]:
    """Return the texts through which a wire runs."""
    sheet = read_sheet(svg)
    wires = [
        Box(min(a[0], b[0]) - 0.1, min(a[1], b[1]) - 0.1, max(a[0], b[0]) + 0.1, max(a[1], b[1]) + 0.1)
        for wire in sheet.wires
        for a, b in itertools.pairwise(wire)
    ]
    return [label.content for label in label_boxes(svg) if any(label.box.overlaps(wire) for wire in wires)]


def outside(svg: str) -> list[object]:
    sheet = read_sheet(svg)
    width, height = sheet.size
    points = [p for wire in sheet.wires for p in wire] + list(sheet.terminals.values())
    found: list[object] = [p for p in points if not (0 < p[0] < width and 0 < p[1] < height)]
    boxes = [label.box for label in label_boxes(svg)]
    return found + [b for b in boxes if b.x0 < 0 or b.y0 < 0 or b.x1 > width or b.y1 > height]


def check_drawing(arrangement: Arrangement, parts: dict[str, WiringPart]) -> str:
    svg = wiring_svg(arrangement, parts, notes=("A note of several words, long enough to be wrapped " * 3,))
    assert read_back(svg) == netlist(arrangement)
    assert overlapping(svg) == []
    assert struck_out(svg) == []
    assert outside(svg) == []
    return svg


@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_drawing_is_the_netlist_and_legible(name):
    check_drawing(ARRANGEMENTS[name], PARTS)


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(8))
def test_drawing_of_any_netlist(batch):
    for seed in range(25 * batch, 25 * batch + 25):
        arrangement, parts = wild(seed)
        check_drawing(arrangement, parts)


def test_wires_of_different_joints_keep_apart():
    # Two lines nearer than a line's width on paper are one line to the eye.
    for seed in range(20):
        arrangement, parts = wild(seed)
        root = parsed(wiring_svg(arrangement, parts))
        pieces = []
        for line in root.iter(f"{SVG}polyline"):
            points = [tuple(map(float, pair.split(","))) for pair in line.get("points", "").split()]
            pieces += [(line.get("data-net"), a, b) for a, b in itertools.pairwise(points)]
        for (one, a, b), (other, c, d) in itertools.combinations(pieces, 2):
            for axis in (0, 1):
                if one == other or a[axis] != b[axis] or c[axis] != d[axis]:
                    continue
                (p, q), (r, s) = sorted((a[1 - axis], b[1 - axis])), sorted((c[1 - axis], d[1 - axis]))
                if min(q, s) > max(p, r) - 1.0:
                    assert abs(a[axis] - c[axis]) >= 1.5, (seed, one, other, a, b, c, d)


def test_every_terminal_of_a_part_in_use_is_on_the_sheet():
    terminals = read_sheet(wiring_svg(ARRANGEMENTS["pair"], PARTS)).terminals
    expected = {
        f"T{k}.{name}"
        for k in (1, 2)
        for name in (
            "primary_start",
            "primary_finish",
            "high_start",
            "high_finish",
            "heater_start",
            "heater_finish",
            "core",
        )
    }
    expected |= {f"{part}.{end}" for part in ("B4", "C1", "C2") for end in "ab"}
    assert set(terminals) == expected | {"mains.line", "mains.neutral", "mains.earth"}


def marks(svg: str, part: str) -> list[tuple[float, float]]:
    """Return the filled dots of a part's symbol, in the symbol's own millimetres."""
    group = next(g for g in parsed(svg).iter(f"{SVG}g") if g.get("data-part") == part)
    return [(float(c.get("cx")), float(c.get("cy"))) for c in group if c.get("class") == "mark"]


def test_dots_of_reversed_windings_change_ends():
    one = ARRANGEMENTS["chokes in parallel"]
    plain = wiring_svg(one, PARTS)
    turned = wiring_svg(replace(one, reversed=("T1.primary", "T1.high", "T1.heater")), PARTS)
    rows = read_sheet(plain).terminals
    start, finish = rows["T1.primary_start"][1], rows["T1.primary_finish"][1]
    before, after = marks(plain, "T1"), marks(turned, "T1")
    moved = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(moved) == 3
    for a, b in moved[:2]:
        assert a[1] < (finish - start) / 2 < b[1]
    words = [text.content for text in read_sheet(turned).texts]
    assert words.count("reversed") == 2
    assert "reversed" not in [text.content for text in read_sheet(plain).texts]
    assert read_back(plain) == read_back(turned)


def test_tied_end_has_a_link_and_a_lifted_end_a_ring_with_words():
    one = ARRANGEMENTS["chokes in parallel"]
    tied, lifted = wiring_svg(one, PARTS), wiring_svg(replace(one, lifted=("T1",)), PARTS)
    assert len(marks(tied, "T1")) == len(marks(lifted, "T1")) + 1  # the dot of the tie on the core
    assert "lifted, insulate" not in tied
    assert lifted.count("lifted, insulate") == 1
    assert "leave open," in tied


def test_high_voltage_is_drawn_heavier_than_mains():
    root = parsed(wiring_svg(ARRANGEMENTS["in front"], PARTS))
    width = {line.get("data-net"): float(line.get("stroke-width")) for line in root.iter(f"{SVG}polyline")}
    assert width["raw"] == width["hot"] > width["ground"] > width["live"] == width["fed"] == width["apart_a"]


def classes(joints: dict[str, tuple[str, ...]], lifted: tuple[str, ...] = (), **parts: WiringPart) -> dict[str, str]:
    arrangement = Arrangement("one", joints, tuple(joints)[:2], lifted=lifted)
    return voltage_classes(read_netlist(arrangement, {**PARTS, **parts}))


def test_a_floating_core_with_a_tied_end_counts_as_high():
    joints = {"core": ("T1.core", "R1.a"), "far": ("R1.b",), "ground": ("mains.earth", "T2.core")}
    assert classes(joints) == {"core": "high", "far": "high", "ground": "earth"}
    assert classes(joints, lifted=("T1",)) == {"core": "mains", "far": "mains", "ground": "earth"}


def test_a_low_voltage_unit_on_top_of_a_high_one_counts_as_high():
    joints = {"mid": ("T1.high_start", "I1.high_finish"), "top": ("I1.high_start",), "p": ("I1.primary_start",)}
    assert classes(joints) == {"mid": "high", "top": "high", "p": "mains"}


def test_columns_run_from_the_mains_to_the_output():
    plan = stages(read_netlist(ARRANGEMENTS["in front"], PARTS))
    assert plan.columns == (("I1",), ("V1",), ("B1",), ("C1",), ("T1",), ("R1",))
    assert plan.upright == {"C1"}
    sheet = read_sheet(wiring_svg(ARRANGEMENTS["in front"], PARTS))
    places = [
        sheet.terminals[t][0]
        for t in (
            "mains.line",
            "I1.primary_start",
            "I1.high_start",
            "V1.wiper",
            "B1.a",
            "B1.b",
            "C1.a",
            "T1.primary_start",
            "T1.high_start",
            "R1.b",
        )
    ]
    assert places == sorted(places)


def test_a_transformer_with_its_high_winding_shorted_stands_where_a_choke_would():
    arrangement = ARRANGEMENTS["primary as a choke"]
    assert stages(read_netlist(arrangement, PARTS)).columns == (("T2",), ("T1",))
    words = [box.content for box in label_boxes(wiring_svg(arrangement, PARTS))]
    assert words.count("shorted on purpose") == 1


def test_svg_is_accessible_and_in_millimetres():
    root = parsed(wiring_svg(ARRANGEMENTS["pair"], PARTS))
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "Wiring of pair, midpoint earthed"
    assert "fed: B4.b, T1.primary_start, T2.primary_finish" in root.find(f"{SVG}desc").text
    _, _, width, height = root.get("viewBox").split()
    assert (root.get("width"), root.get("height")) == (f"{width}mm", f"{height}mm")
    assert float(width) < 250.0  # a sheet of A4 or Letter on its side
    assert min(float(t.get("font-size")) for t in root.iter(f"{SVG}text")) >= 2.4


def test_pieces_of_a_part_with_a_count_are_drawn_by_their_names():
    svg = wiring_svg(ARRANGEMENTS["signs"], PARTS)
    assert "C3.1.a" in read_back(svg)["live"]
    assert "C3.1" in [box.content for box in label_boxes(svg)]


@pytest.mark.parametrize(
    ("joints", "words"),
    [
        ({"a": ("T9.core",), "b": ("mains.line",)}, "T9.core names no terminal"),
        ({"a": ("B1.c",), "b": ("mains.line",)}, "B1.c names no terminal"),
        ({"a": ("B1.a",), "b": ("B1.a", "mains.line")}, "B1.a is in the joints a and b"),
    ],
)
def test_a_netlist_that_cannot_be_drawn_is_refused(joints, words):
    with pytest.raises(InputError, match=re.escape(words)):
        wiring_svg(Arrangement("bad", joints, ("a", "b")), PARTS)


@pytest.mark.parametrize("joint", ['<&"> of \x07', "x" * 90, "電圧の継手", "  ", "a - b"])
def test_odd_names_are_drawn(joint):
    arrangement = Arrangement(joint, {joint: ("mains.line", "B1.a"), "other": ("B1.b",)}, (joint, "other"))
    svg = wiring_svg(arrangement, {"B1": WiringPart("choke", label=(joint,) * 3)}, notes=(joint,))
    assert read_back(svg) == {joint.replace("\x07", "\ufffd"): {"mains.line", "B1.a"}, "other": {"B1.b"}}
    assert overlapping(svg) == []
    assert outside(svg) == []


def test_a_joint_without_terminals_is_named_below():
    svg = wiring_svg(Arrangement("one", {"a": ("mains.line", "B1.a"), "b": ()}, ("a", "b")), PARTS)
    assert "Joint b holds no terminal." in [box.content for box in label_boxes(svg)]


def test_nothing_connected_at_all_is_drawn():
    svg = wiring_svg(Arrangement("empty", {}, ("a", "b")), {})
    assert read_back(svg) == {}
    assert overlapping(svg) == []


@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_label_boxes_hold_the_text_as_it_is_set(name):
    # Outside check: advance widths of the B612 face (SIL OFL), measured by FreeType through Pillow.
    for text in read_sheet(wiring_svg(ARRANGEMENTS[name], PARTS)).texts:
        face = ImageFont.truetype(FONTS / ("B612-Bold.otf" if text.bold else "B612-Regular.otf"), 1000)
        assert face.getlength(text.content) / 1000 * text.size <= text.width, text.content


def test_wiring_parts_of_a_shelf():
    def ink(value: float) -> Known[float]:
        return Known(value)

    design = Design(
        "shelf",
        site=None,
        transformers=(
            Transformer(
                "T1",
                "oven",
                plate_primary=ink(230.0),
                plate_secondary=ink(2100.0),
                plate_power=ink(1000.0),
                core_end=Known("finish"),
            ),
            Transformer("S1", "sign", plate_current=ink(0.05), core_end=Known("tap")),
            Transformer("T2", "oven"),
            Transformer(
                "I1", "isolation", plate_primary=ink(230.0), plate_secondary=ink(230.0), core_end=Known("none")
            ),
        ),
        chokes=(Choke("B1", current=ink(8.2)),),
        capacitors=(Capacitor("C1", ink(40e-6), rated=ink(450.0), rated_kind="AC", count=3),),
        resistors=(Resistor("R1", ink(50e6), power=ink(5.0)),),
        variables=(Variable("V1", current=ink(10.0), setting=ink(0.8)),),
    )
    parts = wiring_parts(design)
    assert parts["T1"] == WiringPart("oven", False, "finish", ("oven 1 kVA", "230 V / 2100 V"))
    assert parts["S1"] == WiringPart("sign", True, "tap", ("sign 50 mA",))
    assert parts["T2"] == WiringPart("oven", False, "none", ("oven", "tied end not known"))
    assert not parts["I1"].step_up
    assert parts["B1"].label == ("choke 8.2 A",)
    assert parts["C1"].label == ("40 uF", "450 V AC")
    assert parts["R1"].label == ("50 Mohm", "5 W")
    assert parts["V1"].label == ("variable 10 A", "set to 80 %")
    one = Arrangement("one", {"a": ("C1.3.a", "mains.line"), "b": ("C1.3.b", "T1.core")}, ("a", "b"))
    assert read_back(wiring_svg(one, parts)) == netlist(one)


def test_an_assumed_tie_is_drawn_and_said():
    iron = Iron(1.0, 1.0, 1.0)
    circuit = TransformerCircuit(9.0, 1.0, 90.0, iron, iron, 2000.0, 3e-3, None, tied="finish")
    parts = wiring_parts(Design("shelf", site=None, transformers=(Transformer("T1", "oven"),)), {"T1": circuit})
    assert parts["T1"] == WiringPart("oven", False, "finish", ("oven", "tied end assumed"))
