"""The first chapter: what hurts while old iron is taken apart, before anything of it is wired. Only what concerns the
kinds on this shelf, and what is true of every one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

from coilwright.model.design import Design
from coilwright.model.parts import OpenTest, Transformer
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.rules_shelf import MASS_PER_PERSON, PCB_FREE_YEAR
from coilwright.report.blocks import Block, Cell, Column, Grid, Heading, Paragraph, ReadingRow, ReadingSheet, SignOff
from coilwright.report.book.readings import mains_meter
from coilwright.report.quantities import quantity

TITLE = "Before you take it apart"
PRACTICE = "common practice, no source"
#: A usual oven capacitor [F, V peak] where the shelf states none (common practice, no source).
OVEN_CAPACITOR = (1e-6, 3e3)
#: The resistor through which it is drained [ohm] (our choice: a third of an ampere at 3 kV, a hundredth of a second).
DRAIN_RESISTOR = 10e3
#: Readings before and after shunts were touched agree within this share (our margin).
SHUNT_SHARE = 0.10
#: Kinds that have shunts to punch out.
SHUNTED = ("oven", "sign", "ignition")


@dataclass(frozen=True)
class _Topic:
    key: str
    title: str
    steps: tuple[str, ...]
    source: str = PRACTICE


def apart_blocks(design: Design) -> Iterator[Block]:
    """Yield the chapter: a part for each danger that this shelf brings, with boxes to tick, then the shunt readings."""
    yield Heading(TITLE)
    yield Paragraph(
        "Most of this happens to people before the first wire is on. Do it part by part, at daylight, with a second "
        "person in the room. A part that is not on this list and that you do not know stays shut.",
        "warning",
    )
    for topic in _topics(design):
        yield _grid(topic)
    yield from _shunt_blocks(design)
    yield SignOff(("taken apart by", "second person", "date"))


def _grid(topic: _Topic) -> Grid:
    rows = tuple((Cell(str(k), strong=True), Cell(step), Cell("[ ]")) for k, step in enumerate(topic.steps, start=1))
    columns = (Column("step"), Column("do", share=1), Column("done"))
    return Grid(f"apart {topic.key}", topic.title, columns, rows, (f"source: {topic.source}",))


def _topics(design: Design) -> Iterator[_Topic]:
    kinds = {t.kind for t in design.transformers}
    yield _Topic(
        "general",
        "Every part",
        (
            "Count every capacitor as charged, whatever its leads say and however long it lay.",
            "Goggles and gloves for sheet metal and laminations; a mask for old dust; no food on that bench.",
            "Keep the fuse holder, the thermal cut-out and the mains lead: look at each before it is used again.",
            "Mark both ends of each winding before a lead is cut, and photograph it.",
            CATALOGUE["storage"].do,
        ),
    )
    if "oven" in kinds or any(c.kind == "oven" for c in design.capacitors):
        yield _oven_charge(design)
        yield _magnetron()
    if kinds & {"sign", "ignition"} or any(t.filling in {"tar", "oil"} for t in design.transformers):
        yield _tar()
    if _old(design):
        yield _old_oil(design)
    if design.chokes or "lamp autotransformer" in kinds:
        yield _lamps()
    if "electronic" in kinds:
        yield _Topic(
            "electronic",
            "Electronic supplies and inverter boards",
            ("Leave the board in its case: its smoothing capacitor holds the rectified mains. It is of no use here.",),
        )
    if any(t.kind in SHUNTED for t in design.transformers):
        yield _shunts()
    if design.gap is not None or design.tank is not None:
        yield _Topic(
            "electrodes",
            "Electrodes",
            (
                (
                    "Do not grind, file or cut thoriated tungsten rods (often marked red, from memory): the dust is "
                    "radioactive and stays in the lung. Buy lanthanated ones."
                ),
            ),
        )
    yield _weight(design)


def _oven_charge(design: Design) -> _Topic:
    own = [c for c in design.capacitors if c.kind == "oven"]
    farads, peak = OVEN_CAPACITOR
    said = "a usual one"
    if own:
        c = max(own, key=lambda c: c.value.value)
        farads, said = c.value.value, c.id
        if c.rated is not None:
            peak = c.rated.value * (1.0 if c.rated_kind == "DC" else sqrt(2))
    energy, ohms = farads * peak**2 / 2, DRAIN_RESISTOR
    return _Topic(
        "oven",
        "Microwave oven: its capacitor is charged",
        (
            "Unplug the oven, wrap the plug's pins, wait 5 min. Do not count on the capacitor's own bleeder.",
            (
                f"Its charge kills: {quantity(energy, 'J')} for {said}, {quantity(farads, 'F')} at "
                f"{quantity(peak, 'V')} peak."
            ),
            (
                f"Drain each terminal to the chassis, then terminal to terminal, with one hand, through "
                f"{quantity(ohms, 'ohm')} on an insulated stick, 5 s each; that is {quantity(peak / ohms, 'A')} "
                f"and {quantity(peak**2 / ohms, 'W')} at first: several resistors in series, together made for "
                f"{quantity(peak, 'V')} and for pulses of {quantity(energy, 'J')}; read tip to clamp before. Never a "
                "screwdriver."
            ),
            (
                f"Look that it is below 60 V DC with a meter and probes rated for {quantity(peak, 'V')}: an open stick "
                "leaves all of that. Clip a wire across the terminals, leave it on."
            ),
            "Only now cut: primary leads long, the tied end on its lug, the heater winding left on and taped.",
            CATALOGUE["oven-capacitor"].what,
        ),
        f"{PRACTICE}; below 60 V DC: EN 50191, from memory",
    )


def _magnetron() -> _Topic:
    rule = CATALOGUE["beryllia"]
    return _Topic(
        "magnetron",
        "Magnetron",
        (
            f"{rule.what} {rule.why}",
            f"Take it out whole, bag it whole. {rule.do}",
            "Its ring magnets pinch fingers and wipe cards; nobody with an implant handles them.",
        ),
        rule.source,
    )


def _tar() -> _Topic:
    rule = CATALOGUE["unpotting"]
    return _Topic(
        "tar",
        "Tar and other fillings",
        (
            f"{rule.what} {rule.why}",
            rule.do,
            "Cracked porcelain or tar that has run out: the unit is worn out, leave it.",
            "Fumes of warm tar and charred plastic: out of the room, windows open.",
        ),
        rule.source,
    )


def _old(design: Design) -> bool:
    made = [t.made for t in design.transformers] + [c.made for c in design.capacitors]
    known = all(c.made is not None or c.dielectric not in {None, "unknown", "oil", "paper"} for c in design.capacitors)
    return (
        any(m is not None and m < PCB_FREE_YEAR for m in made)
        or any(t.filling in {"oil", "tar", "unknown"} for t in design.transformers if t.kind != "oven")
        or not known
    )


def _old_oil(design: Design) -> _Topic:
    rule = CATALOGUE["old-oil-pcb"]
    dated = [(t.id, t.made) for t in design.transformers] + [(c.id, c.made) for c in design.capacitors]
    names = [name for name, made in dated if made is not None and made < PCB_FREE_YEAR]
    which = f" Here: {', '.join(names)}." if names else ""
    return _Topic(
        "oil",
        "Old oil, old capacitors",
        (
            (
                f"Oil- or tar-filled and made before {PCB_FREE_YEAR}, or not known when: it may hold polychlorinated "
                f"biphenyls.{which} {rule.why}"
            ),
            rule.do,
            "It leaks: gloves of nitrile, a tray under it, nothing down the drain; wash before you eat.",
            "A swollen, leaking or rusty capacitor is never put on a voltage again.",
        ),
        rule.source,
    )


def _lamps() -> _Topic:
    return _Topic(
        "lamps",
        "Lamp fittings",
        (
            (
                "Take the lamps out first and whole: most hold mercury, low-pressure sodium lamps a metal that burns "
                "in water. Broken one: windows open, out for a quarter of an hour, no vacuum cleaner."
            ),
            "The ignitor and the capacitor in the fitting go the way of every capacitor: drained, shorted, dated.",
            "Old board and rope in the fitting may be asbestos: damp it, do not saw or brush it, bag it.",
            "A coil with three leads is no plain choke until it has been measured: it may be an autotransformer.",
        ),
        CATALOGUE["asbestos-mercury-thoria"].source,
    )


def _shunts() -> _Topic:
    return _Topic(
        "shunts",
        "Magnetic shunts",
        (
            (
                "The shunts limit the current: with them out nothing does, and the plate is no longer true. Leave them "
                "in unless the plan asks for it."
            ),
            (
                "Punching them out scrapes the enamel of the windings beside them: shorted turns and weak insulation, "
                "both unseen."
            ),
            (
                "Read the no-load current and the 500 V insulation before and after, on the lines below; refit the "
                "shim paper. Both must be within 10 % of before (our margin), the insulation never below 1 Mohm."
            ),
            'State `shunts = "changed"` or `"removed"` in the project: every result goes by it.',
        ),
        CATALOGUE["shunts-touched"].source,
    )


def _weight(design: Design) -> _Topic:
    known = [(t.mass.value, t.id) for t in design.transformers if t.mass is not None]
    known += [(c.mass.value, c.id) for c in design.chokes if c.mass is not None]
    heaviest = max(known, default=None)
    words = "No mass is stated: weigh each part before it is lifted alone."
    if heaviest is not None:
        words = (
            f"Heaviest here: {heaviest[1]}, {quantity(heaviest[0], 'kg')}; all that are stated together "
            f"{quantity(sum(m for m, _ in known), 'kg')}."
        )
    return _Topic(
        "weight",
        "Weight and edges",
        (
            f"{words} Above {quantity(MASS_PER_PERSON, 'kg')} a part is for two people or a trolley.",
            "A core has sharp edges and no handle: gloves, closed shoes, a board under it.",
            "What stands on a shelf above the head comes down with nobody under it.",
        ),
        CATALOGUE["lifting"].source,
    )


# ---- the readings about the shunts -----------------------------------------------------------------------------------


def _shunt_blocks(design: Design) -> Iterator[Block]:
    units = [t for t in design.transformers if t.kind in SHUNTED]
    rows = tuple(row for t in units for row in _shunt_rows(design, t))
    if rows:
        yield Heading("Shunts taken out, put in or moved: read the same before and after", 2, together=True)
        yield ReadingSheet(
            "shunts",
            "",
            rows,
            "No-load current: high end guarded, nothing on it, nobody within the ring, read between socket and set. "
            "The 500 V test: the other winding shorted, drained through the tester afterwards.",
        )


def _shunt_rows(design: Design, part: Transformer) -> Iterator[ReadingRow]:
    test: OpenTest | None = max(part.open_test, key=lambda t: t.applied.value, default=None)
    meter = mains_meter(design) or "a meter between socket and set (none on the shelf)"
    if test is not None and part.shunts == "as built":
        low, high = ((1 + s * SHUNT_SHARE) * test.current.value for s in (-1, 1))
        shown = quantity(test.current.value, "A", (low, high))
        at = quantity(test.applied.value, "V")
        yield ReadingRow(
            f"{part.id} no-load at {at}", shown.text, shown.unit, shown.band, "ink", meter,
            "as in the project, before",
        )  # fmt: skip
    else:
        yield ReadingRow(f"{part.id} no-load current, before", "not known", "A", "", None, meter)
        yield ReadingRow(
            f"{part.id} no-load current, after", "not known", "A", "", None, meter, "within 10 % of before"
        )
    yield ReadingRow(f"{part.id} primary to core", "1.00", "Mohm", "or more", None, "500 V DC tester")


__all__ = ["TITLE", "apart_blocks"]
