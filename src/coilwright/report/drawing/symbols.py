"""Line art of the single symbols, in local millimetres, between two points of one upright or level line."""

from __future__ import annotations

from coilwright.report.drawing.svg import MEDIUM, THIN, line, number, path, ring

BUMP = 2.75  # pitch of a winding's bumps


def coil(x0: float, y0: float, x1: float, y1: float, bumps: int, *, clockwise: bool, width: float = THIN) -> str:
    """Return half circles from the first point to the second; ``clockwise`` puts them right of a downward coil."""
    dx, dy = (x1 - x0) / bumps, (y1 - y0) / bumps
    radius = number((dx * dx + dy * dy) ** 0.5 / 2)
    arcs = "".join(
        f"A{radius} {radius} 0 0 {int(clockwise)} {number(x0 + dx * k)} {number(y0 + dy * k)}"
        for k in range(1, bumps + 1)
    )
    return path(f"M{number(x0)} {number(y0)}{arcs}", width)


def choke(x0: float, y0: float, x1: float, y1: float) -> tuple[str, ...]:
    """Return a gapped choke: leads, four bumps, and the iron beside them."""
    at = _At(x0, y0, x1, y1)
    (ax, ay), (bx, by) = at(-5.0, 0.0), at(5.0, 0.0)
    irons = []
    for off in (2.3, 3.1):
        (cx, cy), (dx, dy) = at(-4.8, off), at(4.8, off)
        irons.append(line(cx, cy, dx, dy))
    return (line(x0, y0, ax, ay), coil(ax, ay, bx, by, 4, clockwise=True), line(bx, by, x1, y1), *irons)


def capacitor(x0: float, y0: float, x1: float, y1: float) -> tuple[str, ...]:
    """Return two plates with their leads."""
    at = _At(x0, y0, x1, y1)
    plates = []
    for along in (-0.9, 0.9):
        (ax, ay), (bx, by) = at(along, -3.0), at(along, 3.0)
        plates.append(line(ax, ay, bx, by, MEDIUM))
    (ax, ay), (bx, by) = at(-0.9, 0.0), at(0.9, 0.0)
    return (line(x0, y0, ax, ay), line(bx, by, x1, y1), *plates)


def resistor(x0: float, y0: float, x1: float, y1: float) -> tuple[str, ...]:
    """Return a box with its leads."""
    at = _At(x0, y0, x1, y1)
    box = (at(-5.0, -1.7), at(5.0, -1.7), at(5.0, 1.7), at(-5.0, 1.7))
    corners = "L".join(f"{number(x)} {number(y)}" for x, y in box)
    (ax, ay), (bx, by) = at(-5.0, 0.0), at(5.0, 0.0)
    return (line(x0, y0, ax, ay), path(f"M{corners}Z"), line(bx, by, x1, y1))


def earth(x: float, y: float) -> tuple[str, ...]:
    """Return the earth symbol hanging from the point."""
    bars = tuple(line(x - half, y + 2.2 + k, x + half, y + 2.2 + k, MEDIUM) for k, half in enumerate((2.6, 1.7, 0.8)))
    return (line(x, y, x, y + 2.2, MEDIUM), *bars)


def free_end(x: float, y: float, reach: float, direction: int) -> tuple[str, ...]:
    """Return a stub with an open ring beyond ``reach``: a terminal in no joint. ``direction`` is -1 left, 1 right."""
    end = reach + direction * 2.6
    return (line(x, y, end, y), ring(end + direction * 0.9, y))


class _At:
    """Points along (u) and beside (v, left of the way) a line, measured from its middle."""

    def __init__(self, x0: float, y0: float, x1: float, y1: float) -> None:
        length = abs(x1 - x0) + abs(y1 - y0)
        self.u = ((x1 - x0) / length, (y1 - y0) / length)
        self.middle = ((x0 + x1) / 2, (y0 + y1) / 2)

    def __call__(self, along: float, beside: float) -> tuple[float, float]:
        (ux, uy), (mx, my) = self.u, self.middle
        return mx + ux * along + uy * beside, my + uy * along - ux * beside


__all__ = ["BUMP", "capacitor", "choke", "coil", "earth", "free_end", "resistor"]
