"""From results to the blocks of the book. Pure: no file, no clock."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date

import coilwright
from coilwright.analyses.facts_of_supply import site_facts
from coilwright.analyses.results import PlanResult, ShelfResult, SupplyResult
from coilwright.model.design import Design
from coilwright.model.site import Site
from coilwright.protection.rules import collect, site_tags
from coilwright.protection.tag import Tag
from coilwright.report.blocks import Block, Cell, Column, Cover, Drawing, Grid, Heading, Paragraph, Waiting
from coilwright.report.book.apart import apart_blocks
from coilwright.report.book.curves import curve_blocks, heat_blocks
from coilwright.report.book.gates import gate_blocks, polarity_blocks
from coilwright.report.book.hazards import check_blocks, counts, hazard_blocks, in_order, open_stops
from coilwright.report.book.parts import part_blocks, reading_blocks
from coilwright.report.book.placard import placard_blocks
from coilwright.report.book.plan import plan_blocks
from coilwright.report.book.readings import expected_blocks
from coilwright.report.book.sheets import NO_SHEETS, Sheets
from coilwright.report.book.slips import slip_blocks
from coilwright.report.book.spacing import spacing_blocks
from coilwright.report.book.supply import glance_blocks
from coilwright.report.book.tank import tank_blocks
from coilwright.units import show

DIGEST_SHOWN = 12
NOTES_SHOWN = 300


def book_blocks(
    design: Design,
    shelf: ShelfResult | None,
    plan: PlanResult | None,
    supply: SupplyResult | None,
    *,
    wiring_svg: str | None = None,
    stamp: date,
    tags: Iterable[Tag] = (),
    sheets: Sheets = NO_SHEETS,
) -> tuple[Block, ...]:
    """Return the whole book as blocks, hazards first.

    ``plan`` and ``supply`` are None where nothing works: the book is made with what is there and says what
    it waits for.
    ``tags`` are hazards besides those that the results carry; ``sheets`` are the results that prove the wiring.
    """
    results = (result.tags for result in (supply, plan, shelf) if result is not None)
    hazards = in_order(collect(tags, *results, site_tags(site_facts(design, supply)), answers=design.answers))
    return (
        _cover(design, supply, hazards, stamp),
        *hazard_blocks(hazards),
        *apart_blocks(design),
        *_supply(design, shelf, plan, supply, wiring_svg, open_stops(hazards), sheets),
        *plan_blocks(plan),
        *reading_blocks(shelf),
        *check_blocks(hazards),
        *placard_blocks(supply, hazards, design),
    )


def is_demo(design: Design) -> bool:
    """Return whether the project's notes say that it is a demonstration."""
    return re.search(r"\bdemo(nstration)?\b", design.notes, re.IGNORECASE) is not None


def margin_words(stops: int, supply: SupplyResult | None) -> str:
    """Return what every page carries in its margin, "" when nothing keeps the design from being built."""
    if stops:
        return f"NOT FOR BUILDING: {stops} open"
    return "NOT FOR BUILDING: no supply worked out" if supply is None else ""


def mains_words(site: Site) -> str:
    """Return the mains of the site; of two lines both what stands between them and what each has to neutral."""
    volts = site.mains_voltage.value
    whole = show(volts, "V", trim=True)
    share = {"split phase": 0.5, "two phases": 3**-0.5}.get(site.system.value)
    return whole if share is None else f"{whole} line to line ({show(share * volts, 'V')} line to neutral)"


def _short(notes: str) -> str:
    """Return the notes as far as the cover has room: long ones must not push the hazards off the first page."""
    return notes if len(notes) <= NOTES_SHOWN else f"{notes[:NOTES_SHOWN]}… (the rest stands after the wiring)"


def _cover(design: Design, supply: SupplyResult | None, hazards: tuple[Tag, ...], stamp: date) -> Cover:
    site = design.site
    facts = [
        ("supply", supply.name if supply is not None else "none yet"),
        (
            "mains",
            ", ".join(
                (
                    mains_words(site),
                    show(site.frequency.value, "Hz", trim=True),
                    site.system.value,
                    site.earthing.value,
                )
            ),
        ),
    ]
    if design.notes:
        facts.append(("notes", _short(design.notes)))
    return Cover(
        design.name,
        design.digest[:DIGEST_SHOWN] or "none",
        coilwright.__version__,
        stamp.isoformat(),
        is_demo(design),
        margin_words(open_stops(hazards), supply),
        tuple(facts),
        counts(hazards),
    )


def _supply(
    design: Design,
    shelf: ShelfResult | None,
    plan: PlanResult | None,
    supply: SupplyResult | None,
    wiring_svg: str | None,
    stops: int,
    sheets: Sheets,
) -> Iterator[Block]:
    if supply is None:
        yield Heading("The supply at a glance")
        yield Waiting("supply", _waits_for(design, plan))
    else:
        yield from glance_blocks(design, supply, plan)
    yield from _wiring(design, wiring_svg)
    if len(design.notes) > NOTES_SHOWN:
        yield Heading("Notes of the project", 2)
        yield Paragraph(design.notes)
    yield from part_blocks(design, shelf)
    if supply is None:
        return
    yield from heat_blocks(supply)
    yield from spacing_blocks(supply)
    yield from curve_blocks(supply)
    yield from tank_blocks(design, sheets.tank)
    yield from polarity_blocks(sheets.polarity)
    yield from gate_blocks(sheets.gates)
    yield from expected_blocks(design, shelf, supply, stops, dead=sheets.gates is None)
    yield from slip_blocks(sheets.slips)


def _waits_for(design: Design, plan: PlanResult | None) -> str:
    if plan is not None and not plan.ranked:
        return "This sheet waits for a supply that the shelf can make. " + (
            plan.nearest or "The plan lists what was refused and why."
        )
    if design.chosen() is None:
        return "This sheet waits for a choice: take a ranked row of the plan into the project, or write an arrangement."
    return (
        "This sheet waits for a converged answer: the chosen arrangement has none, and no number is shown without one."
    )


def _wiring(design: Design, wiring_svg: str | None) -> Iterator[Block]:
    chosen = design.chosen()
    yield Heading("Wiring")
    if wiring_svg:
        yield Drawing(
            "wiring",
            "Wiring, drawn from the joints of the project.",
            f"Wiring drawing of {chosen.name if chosen else design.name}",
            wiring_svg,
        )
    else:
        yield Waiting(
            "wiring",
            "The drawing waits for a supply: take a ranked row of the plan into the project, or write an arrangement."
            if chosen is None
            else "The drawing of this arrangement could not be made; its joints are listed below.",
        )
    if chosen is None:
        return
    rows = tuple(
        (
            Cell(name, strong=True),
            Cell(", ".join(terminals)),
            Cell("output" if name in chosen.output else ""),
            Cell("[ ]"),
        )
        for name, terminals in chosen.joints.items()
    )
    yield Grid(
        "joint list",
        "Joints: each line is one piece of metal",
        (Column("joint"), Column("terminals", share=1), Column("use"), Column("seen")),
        rows,
    )
    if chosen.reversed:
        yield Paragraph("Windings reversed in the project: " + ", ".join(chosen.reversed))
    if chosen.lifted:
        yield Paragraph("Tied end lifted off the core: " + ", ".join(chosen.lifted))
