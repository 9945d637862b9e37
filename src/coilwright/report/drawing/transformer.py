"""The block of a transformer: primary, core, high winding with its tie, heater; dots at the dotted ends."""

from __future__ import annotations

from coilwright.report.drawing import symbols
from coilwright.report.drawing.block import UNDER, Block, Pin, block, caption, free_ends, pin_name, pin_of
from coilwright.report.drawing.netlist import Netlist, Voltage
from coilwright.report.drawing.records import WiringPart
from coilwright.report.drawing.svg import MEDIUM, SMALL, THIN, Text, line, path, ring, spot

_HEIGHT = 8 * symbols.BUMP  # 22 mm
_PRIMARY, _BARS, _HIGH, _RIGHT = 6.0, (11.0, 13.0), 18.0, 24.0
_ENDS = {"start": 0.0, "tap": _HEIGHT / 2, "finish": _HEIGHT}
_CORE_ROW = 29.2
_HEATER, _HEATER_WIRED = (27.2, 32.2), (29.5, 36.8)  # rows of its ends; apart when names stand at its leads
_LOW_CORE_ROW, _LOWEST_CORE_ROW = 39.4, 43.8  # a core lead to the right passes below the heater


def transformer(net: Netlist, id: str, part: WiringPart, voltages: dict[str, Voltage]) -> Block:
    """Return the transformer's block. The core's lead goes to the side on which its joint lies."""
    wired = any(net.used(f"{id}.heater_{end}") for end in ("start", "finish"))
    heater = part.kind == "oven" or wired
    core_joint = net.joint_of.get(f"{id}.core")
    right = core_joint is not None and voltages[core_joint] == "high" and core_joint not in net.back
    low_row = _LOWEST_CORE_ROW if wired else _LOW_CORE_ROW
    core_row = low_row if right and heater else _CORE_ROW
    core = pin_of(net, f"{id}.core", "right" if right else "left", sum(_BARS) / 2, core_row, _RIGHT if right else 0.0)
    pieces = [_primary(net, id), _high(net, id, part), _core(core)]
    if heater:
        pieces.append(_heater(net, id))
    pins = tuple(pin for pins, _, _ in pieces for pin in pins)
    art = tuple(mark for _, marks, _ in pieces for mark in marks)
    texts = tuple(text for _, _, words in pieces for text in words)
    bottom = max(core_row, _HEATER_WIRED[1] if wired else _HEATER[1] if heater else 0.0) + UNDER
    words = (*caption(id, part, 12, -4.4, above=58.0), *texts)
    return block(id, pins, art, words, top=-4.4, bottom=bottom, right=_RIGHT)


_Piece = tuple[tuple[Pin, ...], tuple[str, ...], tuple[Text, ...]]


def _primary(net: Netlist, id: str) -> _Piece:
    pins = tuple(pin_of(net, f"{id}.primary_{end}", "left", _PRIMARY, _ENDS[end], 0) for end in ("start", "finish"))
    reversed_ = f"{id}.primary" in net.reversed
    art = (
        *free_ends(pins),
        symbols.coil(_PRIMARY, 0, _PRIMARY, _HEIGHT, 8, clockwise=True),
        _dot(3.6, reversed_=reversed_),
    )
    words = [pin_name(pin, end) for pin, end in zip(pins, ("start", "finish"), strict=True)]
    if reversed_:
        words.append(Text("reversed", 3.0, _HEIGHT / 2 + 0.9, SMALL, "end", bold=True))
    return pins, art, tuple(words)


def _high(net: Netlist, id: str, part: WiringPart) -> _Piece:
    ends = [
        end
        for end in ("start", "tap", "finish")
        if end != "tap" or part.tapped or part.tied == "tap" or net.used(f"{id}.high_tap")
    ]
    lifted = id in net.lifted and part.tied != "none"
    reversed_ = f"{id}.high" in net.reversed
    pins: list[Pin] = []
    art = [symbols.coil(_HIGH, 0, _HIGH, _HEIGHT, 8, clockwise=False, width=MEDIUM), _dot(20.4, reversed_=reversed_)]
    words: list[Text] = []
    for end in ends:
        y = _ENDS[end]
        terminal = f"{id}.high_{end}"
        bare = part.tied == end and not net.used(terminal)  # nothing leaves a tied end but its tie
        pin = pin_of(net, terminal, "right", _HIGH, y, _RIGHT)
        pins.append(pin)
        if not bare:
            art += free_ends((pin,))
            words.append(pin_name(pin, end))
        if part.tied == end:
            art += _tie(y, lifted=lifted)
    first, second = 6.0, 17.0  # rows for words between the leads
    if lifted and part.tied == "start":
        first, second = second, first
    said = ", ".join(["reversed"] * reversed_ + ["shorted on purpose"] * (id in net.chokes))
    if said:
        words.append(Text(said, _RIGHT + 0.8, first, SMALL, bold=True))
    if lifted:
        words.append(Text("lifted, insulate", _RIGHT + 0.8, second, SMALL, bold=True))
    return tuple(pins), tuple(art), tuple(words)


def _tie(y: float, *, lifted: bool) -> list[str]:
    bar = _BARS[1]
    if lifted:
        # The link is cut: the end ends in a ring, and hatching says that insulation lies between it and the core.
        hatch = "".join(f"M{bar + 0.3 + 0.55 * k:g} {y + 1.1:g}l0.7 -2.2" for k in range(3))
        return [line(_HIGH, y, bar + 3.9, y, MEDIUM), path(hatch, 0.2), ring(bar + 3.0, y, 0.9, MEDIUM)]
    return [line(bar, y, _HIGH, y, MEDIUM), spot(bar, y)]


def _core(pin: Pin) -> _Piece:
    foot = _HEIGHT + 2.0
    middle = sum(_BARS) / 2
    art = [line(x, -2.0, x, foot, MEDIUM) for x in _BARS]
    art.append(line(_BARS[0], foot, _BARS[1], foot, MEDIUM))
    if pin.joint is None:
        art += [line(middle, foot, middle, foot + 2.0), ring(middle, foot + 2.9)]
        end = Pin(pin.terminal, None, "left", middle, foot + 2.0, pin.reach)
        return (end,), tuple(art), (Text("core: not connected", middle - 1.5, pin.y + 1.6, SMALL, "end"),)
    art.append(line(middle, foot, middle, pin.y, MEDIUM))
    return (pin,), tuple(art), (pin_name(pin, "core"),)


def _heater(net: Netlist, id: str) -> _Piece:
    ends = ("start", "finish")
    live = [net.used(f"{id}.heater_{end}") for end in ends]
    rows = _HEATER_WIRED if any(live) else _HEATER
    reversed_ = f"{id}.heater" in net.reversed
    art = [
        symbols.coil(_HIGH, rows[0], _HIGH, rows[1], 2, clockwise=False, width=THIN),
        spot(20.0, rows[1] - 1.3 if reversed_ else rows[0] + 1.3, 0.55),
    ]
    pins = [
        pin_of(net, f"{id}.heater_{end}", "right", _HIGH, y, _RIGHT if used else _HIGH)
        for end, y, used in zip(ends, rows, live, strict=True)
    ]
    art += free_ends(pins)
    if any(live):
        words = [
            Text(f"heater {end}" + (", reversed" if reversed_ else ""), _RIGHT + 0.8, y + UNDER, SMALL)
            for end, y, used in zip(ends, rows, live, strict=True)
            if used
        ]
    else:
        words = [
            Text(line_, _RIGHT + 0.8, _HEATER[0] + 1.7 + 2.9 * k, SMALL)
            for k, line_ in enumerate(("heater:", "leave open,", "insulate"))
        ]
    return tuple(pins), tuple(art), tuple(words)


def _dot(x: float, *, reversed_: bool) -> str:
    return spot(x, _HEIGHT - 2.3 if reversed_ else 2.3)


__all__ = ["transformer"]
