"""Tags that follow from the structure of a ranked row; `supply` raises the rest of the chosen one."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.planner.inventory import Regulator, Unit
from coilwright.planner.solve import Solved
from coilwright.planner.words import amount
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.supply.circuits import TransformerCircuit


def row_tags(s: Solved) -> tuple[Tag, ...]:
    """Return the tags of one ranked supply."""
    return tuple(_tags(s))


def _tags(s: Solved) -> Iterator[Tag]:
    c = s.candidate
    if c.up and c.down:
        yield raise_tag("zero-is-not-off", " + ".join(u.instance for u in c.units))
    for group in (*c.up, *c.down, c.both):
        if len(group) > 1:
            unlike = "unlike, " if len({u.key for u in group}) > 1 else ""
            yield raise_tag(
                "parallel-mismatch",
                ", ".join(u.instance for u in group),
                value=f"{unlike}polarity not stamped, {s.circulating:.0%} of the rated current circulates",
                number=s.circulating,
            )
    spares = [e for e in c.elements if e.kind == "spare" and isinstance(e.circuit, TransformerCircuit)]
    if spares:
        volts = {e.instance: e.circuit.ratio * c.feed.mains_volts for e in spares}  # type: ignore[union-attr]
        worst = max(volts, key=lambda name: volts[name])
        yield raise_tag(
            "short-test-opens",
            ", ".join(volts),
            value=f"{worst} as a choke: up to {amount(volts[worst], 'V')} if the short across its high winding opens",
            number=volts[worst],
        )
    if isinstance(c.front, Regulator):
        yield raise_tag("variable-not-isolating", c.front.instance)
    elif isinstance(c.front, Unit):
        yield raise_tag("isolation-transformer-myth", c.front.instance)
    if c.correctors:
        yield raise_tag(
            "wiring-current",
            ", ".join(k.instance for k in c.correctors),
            value=f"{amount(s.mains_current, 'A')} with every correction capacitor failed open, "
            f"{amount(s.mains_corrected, 'A')} with them",
            number=s.mains_current,
        )
