"""The wiring drawing of an arrangement: own line art in millimetres, black on white, mains left and output right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from xml.sax.saxutils import escape, quoteattr

from coilwright.model.design import Arrangement
from coilwright.report.drawing.document import svg_document
from coilwright.report.drawing.netlist import Netlist, Voltage, read_netlist, stages, voltage_classes
from coilwright.report.drawing.place import Column, columns_of_blocks, place, short_name, spread_columns
from coilwright.report.drawing.records import WiringPart
from coilwright.report.drawing.route import Routing, Wires, blocks_of, draw, route
from coilwright.report.drawing.svg import (
    HEADING,
    HEAVY,
    MEDIUM,
    PLAIN,
    THIN,
    Text,
    clean,
    line,
    number,
    ring,
    spot,
    wrapped,
)

MARGIN = 5.0
_LEAST_WIDTH = 120.0
_WIDTHS: dict[Voltage, float] = {"mains": THIN, "earth": MEDIUM, "high": HEAVY}
_DOTS: dict[Voltage, float] = {"mains": 0.8, "earth": 0.9, "high": 1.15}


def wiring_svg(
    arrangement: Arrangement,
    parts: Mapping[str, WiringPart],
    *,
    notes: Sequence[str] = (),
    font: str = "B612, sans-serif",
) -> str:
    """Return the wiring drawing as an SVG document, its unit the millimetre.

    Parameters
    ----------
    arrangement : Arrangement
        Any network of the parts; parts in no joint are not drawn.
    parts : mapping of id to WiringPart
        As ``wiring_parts`` makes it.
    notes : sequence of str
        Lines below the drawing, wrapped to its width.
    font : str
        CSS font families of the text.

    Returns
    -------
    str
        Every terminal is an element with ``data-terminal``, every wire a polyline with ``data-net``.

    Raises
    ------
    InputError
        If a joint names a terminal that does not exist, or two joints name the same one.
    """
    net = read_netlist(arrangement, parts)
    voltages = voltage_classes(net)
    plan = stages(net)
    levels = place(columns_of_blocks(net, plan, voltages), plan.main + 1)
    routing = route(levels, net.back)
    head = wrapped(clean(f"Wiring: {arrangement.name}"), HEADING, 230.0)
    top = MARGIN + 6.0 * len(head) + 2.0 - routing.top
    columns = spread_columns(levels, routing.widths(len(levels)), MARGIN, top)
    wires = draw(routing_at(routing, top), columns)
    width = max(columns[-1].right + MARGIN, _LEAST_WIDTH)
    texts = [Text(words, MARGIN, MARGIN + 4.0 + 6.0 * k, HEADING, bold=True) for k, words in enumerate(head)]
    texts += [text.moved(item.x, item.y) for item in blocks_of(columns) for text in item.block.texts]
    marks, words, height = _footing([*notes, *_remarks(net)], width, routing.bottom + top + 7.0)
    body = [*_wires(wires, voltages), *_symbols(columns), *marks, *_terminals(columns)]
    joints = ". ".join(f"{joint}: {', '.join(terminals) or 'no terminal'}" for joint, terminals in net.joints.items())
    every = [*texts, *words]
    return svg_document(f"Wiring of {arrangement.name}", (width, height), body, every, font=font, description=joints)


def routing_at(routing: Routing, top: float) -> Routing:
    """Return the routing moved down the sheet."""
    runs = tuple(
        replace(
            run,
            left=[y + top for y in run.left],
            right=[y + top for y in run.right],
            rail=None if run.rail is None else run.rail + top,
        )
        for run in routing.runs
    )
    return replace(routing, runs=runs, top=routing.top + top, bottom=routing.bottom + top)


def _wires(wires: Sequence[Wires], voltages: Mapping[str, Voltage]) -> list[str]:
    """Return the wires, the heavy ones first, so that a thin one stays in sight where it crosses."""
    out: list[str] = []
    for item in sorted(wires, key=lambda w: -_WIDTHS[voltages[w.joint]]):
        voltage = voltages[item.joint]
        name = quoteattr(clean(item.joint))
        for points in item.lines:
            way = " ".join(f"{number(x)},{number(y)}" for x, y in points)
            out.append(
                f'<polyline class="wire {voltage}" data-net={name} points="{way}" '
                f'stroke-width="{number(_WIDTHS[voltage])}"/>'
            )
        out += [spot(x, y, _DOTS[voltage], "junction") for x, y in item.dots]
        if item.free is not None:
            (x, y), direction = item.free
            out.append(ring(x + 0.9 * direction, y))
    return out


def _symbols(columns: Sequence[Column]) -> list[str]:
    return [
        f'<g class="part" data-part={quoteattr(clean(item.block.key))} transform="translate({number(item.x)} '
        f'{number(item.y)})">{"".join(item.block.art)}</g>'
        for item in blocks_of(columns)
    ]


def _terminals(columns: Sequence[Column]) -> list[str]:
    """Return an unseen disc at every terminal, by which a bench can pick it up and a reader finds its place."""
    out = []
    for item in blocks_of(columns):
        for pin in item.block.pins:
            if pin.terminal:
                x, y = item.at(pin)
                name = clean(pin.terminal)
                out.append(
                    f'<circle class="terminal" data-terminal={quoteattr(name)} cx="{number(x)}" '
                    f'cy="{number(y)}" r="1.2" fill="none" stroke="none" pointer-events="all">'
                    f"<title>{escape(name)}</title></circle>"
                )
    return out


def _remarks(net: Netlist) -> list[str]:
    remarks = [f"Joint {clean(joint)} holds no terminal." for joint, terminals in net.joints.items() if not terminals]
    remarks += [
        f"{short_name(clean(joint))} stands for {clean(joint)}"
        for joint in net.joints
        if short_name(joint).endswith("…")
    ]
    return remarks


def _footing(notes: Sequence[str], width: float, top: float) -> tuple[list[str], list[Text], float]:
    """Return the key to the line art and the notes, and the height of the sheet."""
    keys = [
        ("high voltage", "high"),
        ("mains", "mains"),
        ("protective earth", "earth"),
        ("joined", "joined"),
        ("dotted end of a winding", "dot"),
        ("free end, insulate", "free"),
    ]
    marks: list[str] = []
    texts: list[Text] = []
    x, y = MARGIN, top
    for words, kind in keys:
        text = Text(words, x + 8.0, y + 0.9)
        if text.box.x1 > width - MARGIN and x > MARGIN:
            x, y = MARGIN, y + 5.0
            text = Text(words, x + 8.0, y + 0.9)
        marks += _key(kind, x, y)
        texts.append(text)
        x = text.box.x1 + 4.0
    y += 3.0
    for note in notes:
        for words in wrapped(clean(note), PLAIN, width - 2 * MARGIN):
            y += 4.0
            texts.append(Text(words, MARGIN, y))
    return marks, texts, y + MARGIN


def _key(kind: str, x: float, y: float) -> list[str]:
    if kind in {"high", "mains", "earth"}:
        return [line(x, y, x + 6.5, y, {"high": HEAVY, "mains": THIN, "earth": MEDIUM}[kind])]
    if kind == "joined":
        return [line(x, y, x + 6, y), line(x + 3, y - 2, x + 3, y + 2), spot(x + 3, y, 0.8)]
    return [spot(x + 5, y)] if kind == "dot" else [line(x + 1.5, y, x + 4.5, y), ring(x + 5.4, y)]


__all__ = ["wiring_svg"]
