"""The chain of protection as a line drawing: mains, disconnections, filter, fuse, supply; then legs, gap and tank.

What the project does not have is drawn dashed and marked MISSING; a soft start that is not needed is dashed.
Two rows: the mains side above, the high side below.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

from coilwright.analyses.tank_results import FuseResult, TankResult
from coilwright.model.design import Design
from coilwright.report.drawing import symbols
from coilwright.report.drawing.document import svg_document
from coilwright.report.drawing.svg import (
    HEADING,
    HEAVY,
    MEDIUM,
    PLAIN,
    SMALL,
    THIN,
    Text,
    clean,
    line,
    number,
    path,
    ring,
    spot,
    wrapped,
)
from coilwright.report.quantities import quantity

WIDTH = 190.0
LIVE, NEUTRAL, GUARD = 30.0, 44.0, 56.0  # heights of the mains' conductors [mm]
FIRST, RAIL, SECOND = 96.0, 118.0, 140.0  # heights of the legs and of the earth rail between them
_MISSING = "MISSING"
NOTES = (
    "Dashed and MISSING: not in the project. It is drawn with what would do.",
    "Mains filter and soft start have no key in the project: drawn as they should stand.",
    "PE: earthed metal of cores and cases. Safety gaps and filter end there, not on the coil's radio-frequency rod,",
    "unless the local code says otherwise.",
)


@dataclass(frozen=True)
class Item:
    """One thing of the chain: its words below the symbol, whether the project has it, and whether it needs it."""

    key: str
    words: tuple[str, ...]
    fitted: bool = True
    needed: bool = True

    @property
    def state(self) -> str:
        """Return fitted | missing | not needed."""
        return "not needed" if not self.needed else "fitted" if self.fitted else "missing"


@dataclass(frozen=True)
class ChainView:
    """The chain with its words. ``legs`` are the output joints off earth, ``poles`` the mains' conductors."""

    name: str
    legs: tuple[str, ...]
    items: tuple[Item, ...]
    poles: tuple[str, str] = ("L", "N")

    def item(self, key: str) -> Item:
        """Return the thing of that key."""
        return next(i for i in self.items if i.key == key)


def chain_view(design: Design, result: TankResult) -> ChainView:
    """Return the chain of this project in words, with what it has and what is missing."""
    p, own, site = result.protection, design.protection, design.site
    count = (own.disconnections if own else None) or 0
    breaker = site.breaker.value
    gap, f, fuse = p.safety_gap, p.filter, p.fuse
    setting = gap.fitted_peak or gap.setting_peak
    bleeder = p.bleeders[0] if p.bleeders else None
    firing = result.size.firing_peak
    farads = result.size.capacitance
    both = site.system.value != "line and neutral"
    each_live = ("in each line",) if both else ()
    each = "on each unit" if design.tank and design.tank.strings else "across the tank"
    trip = site.rcd.value
    rcd = ("no residual-", "current device") if trip is None else (f"residual {quantity(trip, 'A')}",)
    return ChainView(
        result.name,
        result.supply.legs,
        (
            Item(
                "mains",
                (
                    f"breaker {breaker.curve}{breaker.rated_current:g}"
                    if breaker.curve
                    else f"breaker {breaker.rated_current:g} A",
                    *rcd,
                ),
            ),
            Item("disconnection 1", ("isolator, plug:", "in sight, locked"), count >= 1),
            Item(
                "disconnection 2",
                ("contactor with", "key and stop,", _guard(own.interlock if own else None)),
                count >= 2,
            ),
            Item("mains filter", ("LINE left: mains", "LOAD right: set")),
            Item("fuse", (fuse.fitted or fuse.advised or "none fits", *each_live), fuse.fitted is not None),
            _soft_start(fuse),
            Item("supply", ("ballast and", "transformers,", "cores to earth")),
            Item("capacitor", (str(quantity(f.capacitance, "F")), f"{quantity(f.capacitor_peak, 'V')} peak"), f.fitted),
            Item(
                "resistor",
                (str(quantity(f.resistance, "ohm")), f"{f.resistors_in_series} or more", "in series"),
                f.fitted,
            ),
            Item(
                "safety gap",
                ("no setting fits",) if setting is None else (f"{quantity(setting.value, 'V')} peak", "to PE, each"),
                gap.fitted_peak is not None,
            ),
            Item("gap", (_peak("fires at", firing.value if firing else None),), design.gap is not None),
            Item("tank", (str(quantity(farads.value if farads else None, "F")),), design.tank is not None),
            Item(
                "bleeder",
                () if bleeder is None else (str(quantity(bleeder.fitted or bleeder.preferred, "ohm")), each),
                bleeder is not None and bleeder.fitted is not None,
            ),
            Item("coil", ("primary",)),
        ),
        ("L1", "L2") if both else ("L", "N"),
    )


def _soft_start(fuse: FuseResult) -> Item:
    """Return the soft start: its ohms where it is or may be needed, else that it is not."""
    if fuse.soft_start_needed is False:
        return Item("soft start", ("not needed for", "the breaker"), needed=False)
    return Item("soft start", (str(quantity(fuse.soft_start.value if fuse.soft_start else None, "ohm")), "and relay"))


def _guard(interlock: bool | None) -> str:
    return "guard contact" if interlock else "no guard contact"


def _peak(words: str, value: float | None) -> str:
    return words + " " + ("not known" if value is None else f"{quantity(value, 'V')} peak")


def chain_svg(view: ChainView, *, font: str = "B612, sans-serif") -> str:
    """Return the drawing as an SVG document, its unit the millimetre; each thing is a group with ``data-part``."""
    head = wrapped(clean(f"Protection: {view.name}"), HEADING, WIDTH - 10)
    shift = 6.0 * (len(head) - 1)
    texts = [Text(words, 5.0, 9.0 + 6.0 * k, HEADING, bold=True) for k, words in enumerate(head)]
    body: list[str] = []
    for art, words in (_mains_row(view), _high_row(view)):
        body += art
        texts += [t.moved(0.0, shift) for t in words]
    for k, note in enumerate(NOTES):
        texts.append(Text(note, 5.0, SECOND + 27.0 + 4.0 * k + shift, PLAIN))
    height = SECOND + 28.0 + 4.0 * len(NOTES) + shift
    parts = ". ".join(
        f"{i.key}: {', '.join(i.words) or '-'}{', missing' if i.state == 'missing' else ''}" for i in view.items
    )
    art = [f'<g transform="translate(0 {number(shift)})">', *body, "</g>"]
    return svg_document(f"Protection of {view.name}", (WIDTH, height), art, texts, font=font, description=parts)


Row = tuple[list[str], list[Text]]


def _group(item: Item, art: tuple[str, ...]) -> str:
    dash = "" if item.state == "fitted" else ' stroke-dasharray="1.4 1"'
    return f'<g data-part={quoteattr(item.key)} data-state="{item.state}"{dash}>{"".join(art)}</g>'


def _label(item: Item, x: float, y: float, title: str) -> Iterator[Text]:
    """Yield title, words and, where it is so, MISSING, centred below a symbol."""
    lines = [title, *item.words, *([_MISSING] if item.state == "missing" else [])]
    for k, words in enumerate(lines):
        yield Text(words, x, y + 3.4 * k, SMALL, "middle", bold=words == _MISSING or k == 0)


def _switch(x: float, y: float) -> tuple[str, ...]:
    return (ring(x - 3.0, y), line(x - 2.1, y - 0.4, x + 3.4, y - 4.0, MEDIUM), ring(x + 3.9, y))


def _mains_row(view: ChainView) -> Row:
    art: list[str] = []
    texts: list[Text] = []
    places = {"mains": 15.0, "disconnection 1": 42.0, "disconnection 2": 70.0, "mains filter": 98.0, "fuse": 124.0,
              "soft start": 148.0, "supply": 174.0}  # fmt: skip
    titles = {"mains": "mains", "disconnection 1": "1st disconnection", "disconnection 2": "2nd disconnection",
              "mains filter": "filter", "fuse": "fuse", "soft start": "soft start", "supply": "supply"}  # fmt: skip
    for y in (LIVE, NEUTRAL):
        art += [line(x0, y, x1, y, THIN) for x0, x1 in _runs(y)]
    art.append(line(10.0, GUARD, 174.0, GUARD, MEDIUM))
    for key, x in places.items():
        item = view.item(key)
        art.append(_group(item, _mains_symbol(key, x)))
        texts += _label(item, x, GUARD + 6.0, titles[key])
    for y, word in ((LIVE, view.poles[0]), (NEUTRAL, view.poles[1]), (GUARD, "PE")):
        texts.append(Text(word, 4.2, y + 1.0, SMALL))
    texts.append(Text("LINE", 91.0, LIVE - 4.4, SMALL, "middle"))
    texts.append(Text("LOAD", 105.0, LIVE - 4.4, SMALL, "middle"))
    return art, texts


def _runs(y: float) -> tuple[tuple[float, float], ...]:
    """Return the pieces of a mains conductor between the symbols."""
    first = ((10.0, 38.1), (46.8, 66.1), (74.8, 88.0), (108.0, 117.0))
    return (*first, (131.0, 140.0), (156.0, 166.0)) if y == LIVE else (*first, (117.0, 166.0))


def _mains_symbol(key: str, x: float) -> tuple[str, ...]:
    if key == "mains":
        return tuple(ring(10.0 - 0.9, y) for y in (LIVE, NEUTRAL, GUARD))
    if key.startswith("disconnection"):
        blades = (*_switch(x, LIVE), *_switch(x, NEUTRAL))
        return blades if key.endswith("1") else (*blades, _box(x - 3.5, LIVE + 4.4, x + 3.5, LIVE + 9.4))
    if key == "mains filter":
        lines = (*symbols.choke(x - 8.0, LIVE, x + 8.0, LIVE), *symbols.choke(x - 8.0, NEUTRAL, x + 8.0, NEUTRAL))
        return (_box(x - 10, LIVE - 3.5, x + 10, NEUTRAL + 3.5), line(x, NEUTRAL + 3.5, x, GUARD), *lines)
    if key == "fuse":
        return (*symbols.resistor(x - 7.0, LIVE, x + 7.0, LIVE), line(x - 5.0, LIVE, x + 5.0, LIVE))
    if key == "soft start":
        up = LIVE - 7
        blade = (
            line(x - 8, LIVE, x - 8, up),
            line(x - 8, up, x - 3, up),
            line(x - 3, up, x + 3, up - 3),
            line(x + 3.4, up, x + 8, up),
            line(x + 8, up, x + 8, LIVE),
        )
        return (*symbols.resistor(x - 8.0, LIVE, x + 8.0, LIVE), *blade)
    return (_box(x - 8, LIVE - 4, x + 8, NEUTRAL + 4), line(x, NEUTRAL + 4, x, GUARD))


def _box(x0: float, y0: float, x1: float, y1: float) -> str:
    return path(
        f"M{number(x0)} {number(y0)}L{number(x1)} {number(y0)}L{number(x1)} {number(y1)}L{number(x0)} {number(y1)}Z"
    )


def _spark(x: float, y0: float, y1: float) -> tuple[str, ...]:
    """Return two balls with their leads on an upright line."""
    middle = (y0 + y1) / 2
    return (
        line(x, y0, x, middle - 3.4, MEDIUM),
        ring(x, middle - 2.0, 1.4, MEDIUM),
        ring(x, middle + 2.0, 1.4, MEDIUM),
        line(x, middle + 3.4, x, y1, MEDIUM),
    )


def _high_row(view: ChainView) -> Row:
    art: list[str] = []
    texts: list[Text] = []
    two = len(view.legs) > 1
    supply, cap, res, safe, gap, tank, coil = 14.0, 40.0, 64.0, 92.0, 122.0, 150.0, 178.0
    art.append(_group(view.item("supply"), (_box(supply - 8, FIRST - 4, supply + 8, SECOND + 4),)))
    legs = (FIRST, SECOND) if two else (FIRST,)
    for y in (FIRST, SECOND):
        if y in legs:
            art += [line(supply + 8, y, res - 8, y, HEAVY), line(res + 8, y, gap, y, HEAVY)]
            art += [spot(cap, y, 1.0, "junction"), spot(safe, y, 1.0, "junction")]
        else:  # the other end of the output lies on earth
            art += [
                line(supply + 8, y, gap, y, MEDIUM),
                line(safe, RAIL, safe, y, MEDIUM),
                spot(safe, y, 0.9, "junction"),
            ]
    for y in legs:
        art.append(_group(view.item("capacitor"), symbols.capacitor(cap, y, cap, RAIL)))
        art.append(_group(view.item("resistor"), symbols.resistor(res - 8, y, res + 8, y)))
        art.append(_group(view.item("safety gap"), _spark(safe, min(y, RAIL), max(y, RAIL))))
    art += [line(cap, RAIL, safe + 6, RAIL, MEDIUM), *symbols.earth(safe + 6, RAIL), spot(safe, RAIL, 0.9, "junction")]
    art += [spot(gap, y, 1.0 if y in legs else 0.9, "junction") for y in (FIRST, SECOND)]
    art.append(_group(view.item("gap"), _spark(gap, FIRST, SECOND)))
    art += [
        line(gap, FIRST, tank - 8, FIRST, HEAVY),
        line(tank + 8, FIRST, coil, FIRST, HEAVY),
        line(gap, SECOND, coil, SECOND, HEAVY),
    ]
    art.append(_group(view.item("tank"), symbols.capacitor(tank - 8, FIRST, tank + 8, FIRST)))
    around = FIRST + 10.0
    bleed = (line(tank - 8, FIRST, tank - 8, around), *symbols.resistor(tank - 8, around, tank + 8, around),
             line(tank + 8, around, tank + 8, FIRST))  # fmt: skip
    art.append(_group(view.item("bleeder"), bleed))
    winding = symbols.coil(coil, RAIL - 11, coil, RAIL + 11, 8, clockwise=True)
    leads = (line(coil, FIRST, coil, RAIL - 11), line(coil, RAIL + 11, coil, SECOND))
    art.append(_group(view.item("coil"), (*leads, winding)))
    below = SECOND + 9.0
    for key, x in {"capacitor": cap, "resistor": res, "safety gap": safe, "gap": gap, "coil": coil}.items():
        texts += _label(view.item(key), x, below, key)
    texts += _label(view.item("tank"), tank, FIRST - 8.6, "tank")
    texts += _label(view.item("bleeder"), tank, around + 6.0, "bleeder")
    texts.append(Text("supply", supply, below, SMALL, "middle", bold=True))
    texts.append(Text("PE", safe + 9.5, RAIL + 1.0, SMALL))
    for y, name in zip(legs, view.legs, strict=False):
        texts.append(Text(_short(name), cap - 14.5, y - 2.0, SMALL, joint=name))
    return art, texts


def _short(name: str) -> str:
    return name if len(name) <= 8 else f"{name[:7]}…"


__all__ = ["ChainView", "Item", "chain_svg", "chain_view"]
