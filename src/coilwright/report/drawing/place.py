"""Blocks into columns, from the mains on the left to the output on the right.

Two wires of different joints never run on one level in a channel between two columns: a block is moved down until its
pins keep clear of the pins that face it. So every stub in a channel has a level of its own, whatever the netlist.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from coilwright.report.drawing.block import (
    Block,
    Pin,
    mains_terminal,
    output_terminal,
    passage,
    two_terminal,
    variable,
)
from coilwright.report.drawing.netlist import MAINS, Netlist, Stages, Voltage
from coilwright.report.drawing.records import TWO_TERMINAL
from coilwright.report.drawing.transformer import transformer

GAP = 3.0  # between blocks of a column [mm]
LEVEL = 2.4  # least distance of two levels of different joints that face each other [mm]
_LONGEST_NAME = 28
_FIRST = -1e6  # above the first block of a column: it may stand as high as its wires want


@dataclass(frozen=True)
class Placed:
    """A block with its origin on the sheet."""

    block: Block
    y: float
    x: float = 0.0

    def at(self, pin: Pin) -> tuple[float, float]:
        """Return the pin's place on the sheet."""
        return self.x + pin.x, self.y + pin.y


@dataclass(frozen=True)
class Column:
    """Placed blocks; ``left`` and ``right`` are the edges of the column, beyond which the channels lie."""

    blocks: tuple[Placed, ...]
    left: float = 0.0
    right: float = 0.0

    def pins(self) -> list[tuple[tuple[float, float], str, Pin]]:
        """Return every pin that is in a joint, with its place and the joint."""
        return [
            (item.at(pin), pin.joint, pin) for item in self.blocks for pin in item.block.pins if pin.joint is not None
        ]


def columns_of_blocks(net: Netlist, plan: Stages, voltages: dict[str, Voltage]) -> list[list[Block]]:
    """Return the blocks, column by column, with every joint's name at one pin."""
    mains = [mains_terminal(net, name) for name in MAINS if name != "line_2" or net.used("mains.line_2")]
    columns = [mains]
    for k, ids in enumerate(plan.columns):
        column = [_block(net, key, plan, voltages) for key in ids]
        columns.append(_in_chain(column) if k == plan.main else column)
    columns.append(
        [output_terminal(joint, f"output {k}", foot=joint in net.back) for k, joint in enumerate(net.output, start=1)]
    )
    return _with_passages(net, _with_names(net, columns), plan.main + 1)


def _with_passages(net: Netlist, columns: list[list[Block]], main: int) -> list[list[Block]]:
    """Lead the joints of several channels through the columns between.

    The return, the earth, and what would have to pass between the transformers go round on rails instead.
    """
    channels: dict[str, set[int]] = {}
    for k, column in enumerate(columns):
        for pin in (pin for item in column for pin in item.pins if pin.joint is not None):
            channels.setdefault(pin.joint or "", set()).add(k if pin.side == "right" else k - 1)
    result = [list(column) for column in columns]
    for joint, used in channels.items():
        between = range(min(used) + 1, max(used) + 1)
        if joint not in net.back and main not in between:
            for k in between:
                result[k].append(passage(joint))
    return result


def _block(net: Netlist, id: str, plan: Stages, voltages: dict[str, Voltage]) -> Block:
    part = net.parts[id]
    if part.kind in TWO_TERMINAL:
        return two_terminal(net, id, part, upright=id in plan.upright, swapped=id in plan.swapped)
    return variable(net, id, part) if part.kind == "variable" else transformer(net, id, part, voltages)


def _in_chain(blocks: list[Block]) -> list[Block]:
    """Return the blocks with those of common joints together: neighbours are swapped while that helps."""
    best = blocks
    for _ in range(len(blocks)):
        better = best
        for k in range(len(best) - 1):
            trial = [*better[:k], better[k + 1], better[k], *better[k + 2 :]]
            if _spread(trial) < _spread(better):
                better = trial
        if better is best:
            break
        best = better
    return best


def _spread(blocks: list[Block]) -> int:
    rows: dict[str, list[int]] = {}
    for k, item in enumerate(blocks):
        for pin in item.pins:
            if pin.joint is not None:
                rows.setdefault(pin.joint, []).append(k)
    return sum(max(r) - min(r) for r in rows.values())


def _with_names(net: Netlist, columns: list[list[Block]]) -> list[list[Block]]:
    """Write each joint's name once: at its output, else at the mains, else at the first pin from the left."""
    order = [*columns[-1:], *columns[:-1]]
    host: dict[str, tuple[str, Pin]] = {}
    for column in order:
        for item in column:
            for pin in item.pins:
                if pin.joint is not None and pin.joint not in host:
                    host[pin.joint] = (item.key, pin)
    names = {joint: short_name(joint) for joint in net.joints}
    named: list[list[Block]] = []
    for column in columns:
        row = []
        for item in column:
            written = item
            for joint, (key, pin) in host.items():
                if key == item.key:
                    written = written.named(pin, names[joint], joint)
            row.append(written)
        named.append(row)
    return named


def short_name(joint: str) -> str:
    """Return the joint's name as it is drawn: cut with an ellipsis where it is very long."""
    name = " ".join(joint.split()) or "(no name)"
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"


def place(columns: list[list[Block]], main: int) -> list[Column]:
    """Return the columns with a level for every block, the transformers first and the others towards them."""
    placed: dict[int, list[Placed]] = {main: _stack(columns[main])}
    for k in [*range(main - 1, -1, -1), *range(main + 1, len(columns))]:
        facing = placed[k + 1 if k < main else k - 1]
        others = [item for column in placed.values() for item in column]
        placed[k] = _beside(columns[k], facing, others, "right" if k < main else "left", fixed=k == 0)
    return [Column(tuple(placed[k])) for k in range(len(columns))]


def _stack(blocks: list[Block]) -> list[Placed]:
    placed: list[Placed] = []
    edge = 0.0
    for item in blocks:
        placed.append(Placed(item, edge - item.top))
        edge += item.bottom - item.top + GAP
    return placed


def _beside(blocks: list[Block], facing: list[Placed], others: list[Placed], side: str, *, fixed: bool) -> list[Placed]:
    """Return the blocks beside the column that they face, level with pins of their own joints where there is room."""
    other_side = "left" if side == "right" else "right"
    levels = _levels(facing, other_side)
    everywhere = [*_levels(others, "left"), *_levels(others, "right")]
    order = blocks if fixed else sorted(blocks, key=lambda b: (b.foot, _mean_level(b, everywhere), not b.is_passage))
    placed: list[Placed] = []
    edge = _FIRST
    for item in order:
        pins = [pin for pin in item.pins if pin.side == side and pin.joint is not None]
        least = edge - item.top - (GAP / 2 if item.is_passage else 0.0)
        wanted = sorted(y - pin.y for pin in pins for joint, y in levels if joint == pin.joint)
        y = next((w for w in wanted if w >= least - 1e-9), max(least, -item.top) if edge == _FIRST else least)
        while any(joint != pin.joint and abs(y + pin.y - level) < LEVEL for pin in pins for joint, level in levels):
            y += 0.8
        placed.append(Placed(item, y))
        edge = y + item.bottom + (GAP if not item.is_passage else GAP / 2)
    return placed


def _levels(placed: list[Placed], side: str) -> list[tuple[str, float]]:
    return [
        (pin.joint, item.y + pin.y)
        for item in placed
        for pin in item.block.pins
        if pin.side == side and pin.joint is not None
    ]


def _mean_level(item: Block, levels: list[tuple[str, float]]) -> float:
    joints = {pin.joint for pin in item.pins}
    mine = [y for joint, y in levels if joint in joints]
    return sum(mine) / len(mine) if mine else float("inf")


def spread_columns(columns: list[Column], widths: Mapping[int, float], left: float, top: float) -> list[Column]:
    """Return the columns with their places across the sheet; ``widths[k]`` is the channel to the right of column k."""
    x = left
    result: list[Column] = []
    for k, column in enumerate(columns):
        inside = -min((item.block.left for item in column.blocks), default=0.0)
        width = inside + max((item.block.right for item in column.blocks), default=0.0)
        blocks = tuple(replace(item, x=x + inside, y=item.y + top) for item in column.blocks)
        result.append(Column(blocks, x, x + width))
        x += width + widths.get(k, 0.0)
    return result


__all__ = ["Column", "Placed", "columns_of_blocks", "place", "short_name", "spread_columns"]
