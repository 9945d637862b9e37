"""When nothing works: what is nearest, what it misses, and what one more part would change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import sqrt

import numpy as np

from coilwright.magnetics.iron import Iron
from coilwright.measurement.kinds import KINDS
from coilwright.model.site import Breaker
from coilwright.planner.candidate import name_of
from coilwright.planner.inventory import Element, Inventory, Unit, with_more
from coilwright.planner.refuse import WORDS, Reason
from coilwright.planner.screen import estimate, wanted_reactance
from coilwright.planner.screening import Effort, Wanted
from coilwright.planner.search import Found, search
from coilwright.planner.solve import Context, Solved
from coilwright.planner.words import amount, reason_words
from coilwright.supply.circuits import ChokeCircuit

#: Enough to tell whether anything works at all.
QUICK = Effort(pairs=12_000, solved=40, rows=1)
#: Unlike transformers of which another one is tried.
TWINS_TRIED = 4
#: A choke that is asked for: resistance over reactance, and rating over the current it will carry (assumptions).
CHOKE_LOSS, CHOKE_MARGIN = 0.04, 1.1


def nearest_words(found: Found, breaker: Breaker) -> str:
    """Return in words what comes nearest to a supply, and what one more part would change, computed."""
    shelf = found.shelf
    words = [*_asked_for(shelf.wanted), _nearest(found, breaker)]
    if not shelf.inventory.unit_classes:
        oven = KINDS["oven"]
        each = amount(oven.secondary_voltage, "V")
        words.append(
            f"Two like oven transformers (usual plate {each}) with their midpoint earthed would give about "
            f"{amount(2 * oven.secondary_voltage, 'V')}, and need a choke before them."
        )
        return " ".join(w for w in words if w)
    words.append(_one_more(found))
    return " ".join(w for w in words if w)


def _asked_for(wanted: Wanted) -> Iterator[str]:
    if wanted.missing:
        yield f"The goal asks to use {', '.join(wanted.missing)}, which cannot be used."


def _nearest(found: Found, breaker: Breaker) -> str:
    """Return the supply that has least held against it, with what that is."""
    if not found.shelf.inventory.unit_classes:
        return "No transformer with a high-voltage winding can be used."
    best = min(found.solved, key=lambda s: (len(s.reasons), s.score), default=None)
    if best is None:
        return _nearest_stage(found, breaker) or "Nothing could be put together from these parts."
    misses = "; ".join(_words(r, breaker) for r in best.reasons)
    return f"Nearest is {name_of(best.candidate)}, {_figures(best)}; against it: {misses}."


def _figures(s: Solved) -> str:
    return f"{amount(s.open_voltage, 'V')} open and {amount(s.short_current, 'A')} shorted"


def _words(r: Reason, breaker: Breaker) -> str:
    bounds = (r.number, r.number, r.unit) if r.number is not None else None
    return reason_words(r.code, bounds, [r.detail] if r.detail else [], breaker)


def _nearest_stage(found: Found, breaker: Breaker) -> str:
    """Return the arrangement without ballast that has least held against it; a refused group where there is none."""
    aim, best = found.shelf.context.aim, None
    for block in found.blocks:
        for row, stage in enumerate(block.stages):
            volts = float(block.bare.open_voltage[row])
            units = [found.shelf.inventory.unit_classes[k][0] for k in stage.high.classes]
            held = [Reason("too-low", volts, "V")] if volts < aim.floor else []
            if not all(u.limits_itself for u in units):
                held.append(Reason("no-current-limit", float(block.bare.mains_current[row]), "A"))
            rank = (len(held), len(units), -volts)
            if best is None or rank < best[0]:
                best = (rank, stage, volts, held)
    if best is not None and best[3]:
        _, stage, volts, held = best
        misses = "; ".join(_words(r, breaker) for r in held)
        return f"Nearest is {name_of(found.shelf.candidate(stage))}, {amount(volts, 'V')} open; against it: {misses}."
    groups = [g for g in found.refusals.groups() if g.names and not g.words]
    if not groups:
        return ""
    group = max(groups, key=lambda g: WORDS[g.code][0])
    reason = reason_words(group.code, group.bounds.get(group.code), group.details.get(group.code, ()), breaker)
    return f"Nearest is {group.names[0][1]}; against it: {reason}."


def _one_more(found: Found) -> str:
    """Return what one more part, or another transformer with a choke, would make of the shelf."""
    tried: list[tuple[float, int, str]] = []
    for n, (what, inventory) in enumerate(_trials(found)):
        done = _again(found, inventory)
        best = done.rows[0].best if done.rows else None
        if best is not None:
            tried.append((best.score, n, _would(what, best)))
            continue
        choke = _choke_for(done)
        if n > 0 and choke is not None:
            more = _again(found, with_more(inventory, elements=[choke]))
            if more.rows:
                both = f"{what} and {_choke_words(choke, found.shelf.context.omega)}"
                tried.append((more.rows[0].best.score + 0.5, n, _would(both, more.rows[0].best)))
    if not tried:
        return "No one part more (a choke, or another transformer like one of these) changes that."
    return min(tried)[2]


def _trials(found: Found) -> Iterator[tuple[str, Inventory]]:
    """Yield one more part in words, and the shelf with it: first a choke, then another of each transformer."""
    inventory = found.shelf.inventory
    choke = _choke_for(found)
    if choke is not None:
        yield _choke_words(choke, found.shelf.context.omega), with_more(inventory, elements=[choke])
    else:
        yield "", inventory
    for members in inventory.unit_classes[:TWINS_TRIED]:
        twin = replace(members[0], instance=f"another {members[0].instance}")
        yield _twin_words(twin), with_more(inventory, units=[twin])


def _again(found: Found, inventory: Inventory) -> Found:
    shelf = found.shelf
    context: Context = replace(shelf.context, circuits=inventory.circuits)
    return search(inventory, context, shelf.feeds, Wanted.of(inventory, shelf.wanted.ids), QUICK)


def _choke_for(found: Found) -> Element | None:
    """Return the choke that would suit the best stage whose volts suffice, None where no stage's do."""
    aim, omega = found.shelf.context.aim, found.shelf.context.omega
    best: tuple[float, float, float] | None = None
    for block in found.blocks:
        x = np.maximum(wanted_reactance(block.tables, aim), 0.5)
        z = np.repeat(1j * x[:, None] * (1 - 1j * CHOKE_LOSS), 56, axis=1)
        done = estimate(block.tables, z, np.zeros(z.shape))
        off = np.abs(np.log(done.open_voltage * done.short_current / aim.power)) + 0.12 * block.parts
        off = np.where(
            (done.open_voltage >= aim.floor)
            & (done.open_voltage <= aim.ceiling)
            & (done.mains_current <= aim.mains_limit),
            off,
            np.inf,
        )
        k = int(np.argmin(off))
        if np.isfinite(off[k]) and (best is None or off[k] < best[0]):
            best = (float(off[k]), float(x[k]), float(done.stage_current[k]))
    if best is None:
        return None
    reactance = best[1]
    rated, inductance = CHOKE_MARGIN * best[2], reactance / omega
    circuit = ChokeCircuit(
        CHOKE_LOSS * reactance,
        Iron(0.97 * inductance, 1.3 * sqrt(2) * inductance * rated, 0.1 * rated),
        0.03 * inductance,
    )
    return Element("another choke", "another choke", "choke", circuit, rated, 0.0, ("another choke",))


def _choke_words(e: Element, omega: float) -> str:
    x = omega * e.circuit.inductance if isinstance(e.circuit, ChokeCircuit) else 0.0
    return (
        f"a choke of about {amount(x, 'ohm')} ({amount(x / omega, 'H')}) rated {amount(e.rated_current, 'A')} or more"
    )


def _twin_words(u: Unit) -> str:
    return f"another transformer like {u.id} ({u.plate_primary:.0f} V to {amount(u.open_volts, 'V')} open)"


def _would(what: str, s: Solved) -> str:
    return (
        f"With {what}, {name_of(s.candidate)} would work: {_figures(s)}, {s.apparent_power:.0f} VA, "
        f"{amount(s.mains_current, 'A')} from the mains."
    )
