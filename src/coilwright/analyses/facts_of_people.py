"""What the rules about people, cores and windings look at: each live place with a body on it, each core, each end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coilwright.analyses.results import SupplyResult
from coilwright.analyses.sides import floating_pairs, mains_side
from coilwright.analyses.stress import Limits
from coilwright.analyses.topology import Wired, is_earthed
from coilwright.analyses.what_ifs import Touch, loose_core, touches
from coilwright.measurement.readings import mark_of
from coilwright.model.parts import BondTest, Transformer
from coilwright.protection import facts as f
from coilwright.protection.body import LET_GO_CURRENT, TOUCH_LIMIT_RMS
from coilwright.protection.rules_capacitor import MAINS_TOLERANCE
from coilwright.supply.characterise import Characteristics
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.steady import Steady, rms

#: Places whose body currents differ by less than this are told together (a core and the end that is tied to it).
SAME = 0.02
#: A residual current of this share of the shock means that the shock returns through the mains.
RETURNS = 0.5


@dataclass(frozen=True)
class Shocks:
    """Every shock as it is told, whether one of them returns through the mains' own conductors, what was not solved."""

    told: tuple[f.Shock, ...]
    returns: bool
    unsolved: tuple[str, ...]


def shocks_of(w: Wired, result: Characteristics, mains_voltage: float) -> Shocks:
    """Return the shock at every live place: output ends one by one, all others with equal ones told together.

    Live is every joint, core and free end above the touch limit to earth, and what is the mains itself only above the
    mains. Across a winding that floats a body from hand to hand is added. A shock off the mains whose residual current
    is comparable with it returns through line or neutral: a pole lies in the high-voltage circuit.
    """
    output, states = w.arrangement.output, list(result.states.values())
    volts = {pair: max(rms(s.voltage(*pair)) for s in states) for pair in floating_pairs(w) if _has(states, *pair)}
    across = {pair: v for pair, v in volts.items() if v > TOUCH_LIMIT_RMS}
    places = live_places(w, result, mains_voltage)
    found, missing = touches(result.network, result.best.load_resistance, places, across)
    apart = [t for t in found if t.where in output or t.across]
    others = sorted((t for t in found if t not in apart), key=lambda t: t.current, reverse=True)
    told = tuple(_shock(group) for group in [*([t] for t in apart), *_equal(others)])
    mains = mains_side(w)
    pairs = [(t.residual, t.current) for t in found if t.where not in mains]
    pairs.append((result.short.residual_current, result.short.current))
    return Shocks(told, any(r > max(LET_GO_CURRENT, RETURNS * current) for r, current in pairs), missing)


def _has(states: Sequence[Steady], *nodes: str) -> bool:
    return all(s.has(n) for s in states for n in nodes)


def live_places(w: Wired, result: Characteristics, mains_voltage: float) -> dict[str, float]:
    """Return every joint, core and free terminal above its limit to earth, with its largest volts [V rms]."""
    mains, states = mains_side(w), list(result.states.values())
    named = [n for n in result.network.nodes() if n in w.arrangement.joints or (":" not in n and "." in n)]
    volts = {n: max(rms(s.potential(n)) for s in states) for n in named if _has(states, n)}
    limit = {True: max(TOUCH_LIMIT_RMS, MAINS_TOLERANCE * mains_voltage), False: TOUCH_LIMIT_RMS}
    return {n: v for n, v in volts.items() if v > limit[n in mains]}


def _equal(sorted_touches: Sequence[Touch]) -> list[list[Touch]]:
    """Return the touches, largest first, in runs whose neighbours differ by less than ``SAME``."""
    groups = [[t] for t in sorted_touches[:1]]
    for before, t in pairwise(sorted_touches):
        if before.current - t.current <= SAME * before.current:
            groups[-1].append(t)
        else:
            groups.append([t])
    return groups


def _shock(group: Sequence[Touch]) -> f.Shock:
    worst = group[0]
    where = ", ".join(sorted(t.where for t in group))
    volts = max(t.voltage for t in group)
    return f.Shock(where, worst.current_575, worst.current_1000, worst.residual, volts, worst.load, worst.across)


def counting_bond(tests: Sequence[BondTest]) -> BondTest | None:
    """Return the bond test that counts: of the latest date, unless one without a date reads worse; None without any.

    Of two on one day the worse counts: a bond is as good as its last bad reading.
    """
    dates = [t.stamp.date for t in tests if t.stamp.date is not None]
    latest = max(dates, default=None)
    counted = [t for t in tests if t.stamp.date is None or t.stamp.date == latest]
    return max(counted, key=lambda t: (t.resistance.value, t.stamp.date is None), default=None)


def core_facts(
    name: str,
    w: Wired,
    made: SupplyResult,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    limits: Mapping[str, Limits],
    best: float | None,
) -> tuple[f.CoreFacts, tuple[str, ...]]:
    """Return one core, and the names of what was not solved about it."""
    part, stress, lim = w.part(name), made.cores[name], limits[name]
    bond = counting_bond(part.bond_test) if isinstance(part, Transformer) else None
    tied, earthed, live = w.kept_tie(name) != "none", is_earthed(w, name), w.is_live(name)
    loose = loose_core(w, name, circuits, mains, best) if tied and earthed and live else None
    riding = stress.voltage_to_earth if not earthed and stress.voltage_to_earth > TOUCH_LIMIT_RMS else None
    core = f.CoreFacts(
        name,
        tied,
        earthed,
        bond.resistance.value if bond else None,
        bond.current if bond else None,
        mark_of(bond.stamp) if bond else "pencil",
        stress.primary_to_core,
        stress.limit_primary_to_core,
        stress.limit_mark,
        stress.high_to_primary if live else None,
        lim.high_to_primary.value,
        lim.high_to_primary.mark,
        loose.voltage if loose else riding,
        loose.current if loose else None,
        loose.voltage_load if loose else "",
        loose.current_load if loose else "",
    )
    return core, loose.unsolved if loose else ()


def end_facts(name: str, w: Wired, made: SupplyResult, lim: Limits) -> tuple[f.WindingEnd, ...]:
    """Return both ends of a live winding against its core, wired or hanging free."""
    stress, kept = made.windings[f"{name}.high"], w.kept_tie(name)
    return tuple(
        f.WindingEnd(
            f"{name}.high {end}",
            s.to_core,
            s.to_core_peak,
            known.value,
            known.mark,
            inner=lim.inner_end in {end, "unknown"},
            joined=kept == end,
        )
        for end, s, known in (("start", stress.start, lim.start_to_core), ("finish", stress.finish, lim.finish_to_core))
    )
