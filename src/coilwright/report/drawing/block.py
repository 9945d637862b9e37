"""A block is one part as it is drawn, in its own millimetres: symbol, texts and the pins to which wires come."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from coilwright.report.drawing import symbols
from coilwright.report.drawing.netlist import Netlist
from coilwright.report.drawing.records import WiringPart
from coilwright.report.drawing.svg import (
    PLAIN,
    SMALL,
    STRONG,
    Text,
    clean,
    line,
    path,
    ring,
    text_width,
)

LEAD_GAP = 1.3  # base line of a joint's name above its wire [mm]
CLEAR = 3.6  # what a pin needs above its wire for that name
UNDER = 3.0  # base line of a terminal's name below its wire
LINE = 3.6  # pitch of label lines
_SHORTEST_LEAD = 4.0


@dataclass(frozen=True)
class Pin:
    """A place where a wire comes to a part. ``side`` is left or right; ``reach`` is where its lead leaves the symbol.

    ``joint`` is None for a terminal in no joint; ``terminal`` is "" for the output, which is no terminal of a part.
    """

    terminal: str
    joint: str | None
    side: str
    x: float
    y: float
    reach: float


@dataclass(frozen=True)
class Block:
    """``art`` is drawn in a group moved to the block's place; ``pins`` and ``texts`` are in the same millimetres."""

    key: str
    pins: tuple[Pin, ...]
    art: tuple[str, ...]
    texts: tuple[Text, ...]
    top: float
    bottom: float
    left: float
    right: float
    foot: bool = False  # its joint is a mains return or an earth: below the others of its column

    @property
    def is_passage(self) -> bool:
        """Return whether no part stands here: a joint goes through the column."""
        return len(self.pins) == 2 and not any(pin.terminal for pin in self.pins)

    def named(self, pin: Pin, name: str, joint: str) -> Block:
        """Return the block with the joint's name above the lead of the pin."""
        out = -1 if pin.side == "left" else 1
        text = Text(name, pin.reach + out, pin.y - LEAD_GAP, PLAIN, "end" if out < 0 else "start", joint=joint)
        left, right = min(self.left, text.box.x0 - 1), max(self.right, text.box.x1 + 1)
        return replace(self, texts=(*self.texts, text), left=left, right=right)


def block(
    key: str,
    pins: Sequence[Pin],
    art: Sequence[str],
    texts: Sequence[Text],
    *,
    top: float,
    bottom: float,
    left: float = 0.0,
    right: float = 0.0,
) -> Block:
    """Return the block, its bounds widened to hold its texts and a short lead at each pin."""
    boxes = [t.box for t in texts]
    lefts = [left, *(b.x0 - 1 for b in boxes), *(p.reach - _SHORTEST_LEAD for p in pins if p.side == "left")]
    rights = [right, *(b.x1 + 1 for b in boxes), *(p.reach + _SHORTEST_LEAD for p in pins if p.side == "right")]
    tops = [top, *(b.y0 for b in boxes), *(p.y - CLEAR for p in pins)]
    bottoms = [bottom, *(b.y1 for b in boxes)]
    return Block(key, tuple(pins), tuple(art), tuple(texts), min(tops), max(bottoms), min(lefts), max(rights))


def caption(id: str, part: WiringPart, x: float, y: float, *, above: float | None = None) -> tuple[Text, ...]:
    """Return the part's id and its label lines.

    With ``above``, they are centred on x with the last line at y, and lines that fit one row of that width share it;
    else they run down from y, left edge at x.
    """
    name = clean(id)
    offset = text_width(name, STRONG) + 1.4
    lines = [clean(" ".join(words.split())) for words in part.label] or [""]
    if above is not None:
        rows = lines[:1]
        for words in lines[1:]:
            joined = f"{rows[-1]}, {words}"
            fits = text_width(joined, PLAIN) + (offset if len(rows) == 1 else 0.0) <= above
            rows = [*rows[:-1], joined] if fits else [*rows, words]
        lines = rows
    width = max(offset + text_width(lines[0], PLAIN), *(text_width(words, PLAIN) for words in lines))
    left = x if above is None else x - width / 2
    first = y if above is None else y - LINE * (len(lines) - 1)
    texts = [Text(name, left, first, STRONG, bold=True), Text(lines[0], left + offset, first)]
    texts += [Text(words, left, first + LINE * k) for k, words in enumerate(lines[1:], start=1)]
    return tuple(text for text in texts if text.content)


def pin_of(net: Netlist, terminal: str, side: str, x: float, y: float, reach: float | None = None) -> Pin:
    """Return the pin with the joint to which the netlist connects it."""
    return Pin(terminal, net.joint_of.get(terminal), side, x, y, x if reach is None else reach)


def pin_name(pin: Pin, name: str) -> Text:
    """Return the terminal's own name, below the lead, beside the symbol."""
    out = -1 if pin.side == "left" else 1
    return Text(name, pin.reach + out * 0.8, pin.y + UNDER, SMALL, "end" if out < 0 else "start")


def free_ends(pins: Sequence[Pin]) -> tuple[str, ...]:
    """Return a stub with an open ring for every pin that is in no joint."""
    return tuple(
        mark
        for pin in pins
        if pin.joint is None
        for mark in symbols.free_end(pin.x, pin.y, pin.reach, -1 if pin.side == "left" else 1)
    )


_SYMBOLS: dict[str, tuple[Callable[[float, float, float, float], tuple[str, ...]], float]] = {
    # How it is drawn, and its half length: wires run up to the symbol in their own width.
    "choke": (symbols.choke, 5.0),
    "capacitor": (symbols.capacitor, 0.9),
    "resistor": (symbols.resistor, 5.0),
}


def two_terminal(net: Netlist, id: str, part: WiringPart, *, upright: bool, swapped: bool) -> Block:
    """Return a choke, capacitor or resistor: level in the way of the current, or upright between two joints."""
    draw, half = _SYMBOLS[part.kind]
    first, second = ("b", "a") if swapped else ("a", "b")
    if upright:
        height = 15.0
        pins = (pin_of(net, f"{id}.{first}", "left", 6, 0, 0), pin_of(net, f"{id}.{second}", "left", 6, height, 0))
        art = draw(6, 0, 6, height)
        words = caption(id, part, 11, height / 2 + 1 - LINE * (max(len(part.label), 1) - 1) / 2)
        bounds = {"top": -CLEAR, "bottom": height + UNDER, "right": 11.0}
    else:
        pins = (
            pin_of(net, f"{id}.{first}", "left", 8 - half, 0, 0),
            pin_of(net, f"{id}.{second}", "right", 8 + half, 0, 16),
        )
        art = draw(8 - half, 0, 8 + half, 0)
        words = caption(id, part, 8, -5.0, above=26.0)
        bounds = {"top": -5.0, "bottom": UNDER, "right": 16.0}
    names = tuple(pin_name(p, end) for p, end in zip(pins, (first, second), strict=True))
    return block(id, pins, (*art, *free_ends(pins)), (*words, *names), **bounds)


def variable(net: Netlist, id: str, part: WiringPart) -> Block:
    """Return a variable autotransformer: the winding between line and common, the wiper an arrow upon it."""
    height, axis, level = 16.5, 8.0, 5.5
    pins = (
        pin_of(net, f"{id}.line", "left", axis, 0, 0),
        pin_of(net, f"{id}.common", "left", axis, height, 0),
        pin_of(net, f"{id}.wiper", "right", axis + 3.0, level, 16),
    )
    art = (
        symbols.coil(axis, 0, axis, height, 6, clockwise=False),
        line(axis + 0.6, level, axis + 3.0, level),
        path(f"M{axis + 2.6:g} {level - 1.3:g}L{axis + 0.5:g} {level:g}L{axis + 2.6:g} {level + 1.3:g}"),
    )
    names = [pin_name(p, p.terminal.rpartition(".")[2]) for p in pins]
    words = (*caption(id, part, 8, -4.4, above=40.0), *names)
    return block(id, pins, (*art, *free_ends(pins)), words, top=-4.4, bottom=height + UNDER, right=16.0)


def mains_terminal(net: Netlist, name: str) -> Block:
    """Return one mains terminal with its name; the earth with its symbol."""
    pin = pin_of(net, f"mains.{name}", "right", 0, 0)
    words = f"mains {name.replace('_2', ' 2')}"
    if name == "earth":
        art, edge, bottom = (line(-4.5, 0, 0, 0, 0.7), *symbols.earth(-4.5, 0)), -8.2, 5.0
    else:
        art, edge, bottom = (ring(-1.2, 0, 1.2),), -3.6, 2.0
    text = Text(words, edge, 0.9, PLAIN, "end")
    return block(f"mains.{name}", (pin,), (*art, *free_ends((pin,))), (text,), top=-CLEAR, bottom=bottom)


def output_terminal(joint: str, words: str, *, foot: bool) -> Block:
    """Return one end of the output: a ring to which the tank will be connected."""
    pin = Pin("", joint, "left", 0, 0, 0)
    text = Text(words, 4.0, 0.9, PLAIN)
    shape = block(f"output {joint}", (pin,), (ring(1.4, 0, 1.4, 0.7),), (text,), top=-CLEAR, bottom=3.0)
    return replace(shape, foot=foot)


def passage(joint: str) -> Block:
    """Return a way through a column for a joint that has pins at both sides of it."""
    pins = (Pin("", joint, "left", 0, 0, 0), Pin("", joint, "right", 0, 0, 0))
    return Block(f"passage {joint}", pins, (), (), -1.0, 1.0, 0.0, 0.0)


__all__ = [
    "CLEAR",
    "LEAD_GAP",
    "UNDER",
    "Block",
    "Pin",
    "block",
    "caption",
    "free_ends",
    "mains_terminal",
    "output_terminal",
    "passage",
    "pin_name",
    "pin_of",
    "two_terminal",
    "variable",
]
