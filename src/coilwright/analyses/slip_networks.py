"""Every single mistake that this wiring lets one make, as an altered arrangement and network; nothing is solved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from coilwright.analyses.sides import ballast_elements, correction_capacitors
from coilwright.analyses.topology import Wired, in_series, is_earthed, parallel_groups
from coilwright.model.design import Arrangement
from coilwright.model.parts import Transformer
from coilwright.protection.body import BODY_RESISTANCES
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.network import EARTH, Branch, Network, Winding

#: A bolted joint where none belongs [ohm].
BOLTED = 1e-3
#: An arc through a high winding's insulation into the primary [ohm] (assumption; what flows is set by the winding).
BREAKDOWN_ARC = 100.0
#: An arc from a high end to an earthed thing beside the set [ohm] (assumption).
EARTH_ARC = 10.0
#: Share of a high winding's turns that close on themselves (assumption: one damaged layer of some thirty).
SHORTED_SHARE = 0.03

Circuits = Mapping[str, PartCircuit]


@dataclass(frozen=True)
class Slip:
    """One mistake. ``subject`` names the part, terminal or joint; ``done`` says in a clause what was done wrong.

    ``bridges`` are joints that do not belong there and last with the plug out; ``live`` are arcs and bodies, which are
    there only while the mains is on. ``turns`` names the unit whose high winding has shorted turns. ``unwired`` names a
    part that is taken off for its telltale.
    """

    id: str
    subject: str
    done: str
    arrangement: Arrangement
    tag: str
    bridges: tuple[Branch, ...] = ()
    live: tuple[Branch, ...] = ()
    turns: str = ""
    assumption: str = ""
    unwired: str = ""


def network_of(
    slip: Slip, circuits: Circuits, mains: MainsCircuit, *, without: frozenset[str] = frozenset()
) -> Network:
    """Return the altered network as it is on the mains, less the instances ``without``."""
    network = altered(slip, build(slip.arrangement, circuits, mains, without=without))
    return replace(network, branches=(*network.branches, *slip.live))


def altered(slip: Slip, network: Network) -> Network:
    """Return a network of the slip's arrangement with what lasts of the slip: wrong joints and shorted turns."""
    if slip.turns:
        network = _shorted_turns(network, slip.turns)
    return replace(network, branches=(*network.branches, *slip.bridges))


def _shorted_turns(network: Network, unit: str) -> Network:
    """Return the network with a share of the unit's high winding closed on itself; the rest stays in use.

    What the shorted turns leak is neglected: they lie within the winding.
    """
    high = next(w for w in network.windings if w.name in (f"{unit}.high", f"{unit}.high 1"))
    halves = 2 if high.name.endswith(" 1") else 1
    share = SHORTED_SHARE * halves  # of this half
    rest = replace(high, ratio=high.ratio * (1 - share), resistance=high.resistance * (1 - share))
    closed = Winding(f"{unit}:shorted turns", EARTH, EARTH, high.c, high.d, high.ratio * share, high.resistance * share)
    others = tuple(w for w in network.windings if w is not high)
    return replace(network, windings=(*others, rest, closed))


def parted(arrangement: Arrangement, terminals: Sequence[str], apart: str = "") -> Arrangement:
    """Return the arrangement with terminals taken off their joints, onto a joint ``apart`` of their own, or hanging
    free. An output joint that vanishes goes on as what was taken off it.
    """
    out = set(terminals)
    joints = {j: tuple(t for t in ts if t not in out) for j, ts in arrangement.joints.items()}
    gone = {j: next(t for t in arrangement.joints[j]) for j, ts in joints.items() if not ts}
    joints = {j: ts for j, ts in joints.items() if ts}
    if apart:
        joints[apart] = tuple(terminals)
        gone = dict.fromkeys(gone, apart)
    a, b = (gone.get(j, j) for j in arrangement.output)
    return replace(arrangement, joints=joints, output=(a, b))


def slips_of(w: Wired, *, tank: bool, fixed: bool) -> list[Slip]:
    """Return the mistakes that can be made in this wiring, in no order of harm.

    ``tank`` says whether there is a tank; ``fixed`` whether the set has no plug.
    """
    return [
        *_senses(w),
        *_earth(w),
        *_mains(w, fixed=fixed),
        *_ballast(w),
        *_windings(w),
        *_branches(w),
        *_correction(w),
        *(_tank(w) if tank else ()),
        *_bodies(w),
    ]


def _senses(w: Wired) -> Iterator[Slip]:
    side_by_side = {n for group in parallel_groups(w) for n in group}
    if not (in_series(w) or side_by_side):
        return
    for n in w.high_units():
        wrong = tuple(sorted(set(w.arrangement.reversed) ^ {f"{n}.high"}))
        tag = "parallel-mismatch" if n in side_by_side else "zero-is-not-off"
        done = f"{n} the wrong way round: its high winding, or its primary"
        yield Slip("reversed", f"{n}.high", done, replace(w.arrangement, reversed=wrong), tag)


def _earth(w: Wired) -> Iterator[Slip]:
    joints, units = w.arrangement.joints, w.high_units()
    earth = w.joint_of.get("mains.earth")
    cores = [f"{n}.core" for n in w.of(Transformer) if is_earthed(w, n)]
    for core in cores:
        if len(joints[w.joint_of[core]]) > 1:
            unit = core.rpartition(".")[0]
            kept = w.kept_tie(unit) != "none" and unit in units
            done = f"bond of the core of {unit} off" + (", its tied winding end with it" if kept else "")
            yield Slip("core-off", core, done, parted(w.arrangement, [core]), "core-not-bonded")
    if earth is None:
        return
    tied = [f"{n}.core" for n in units if w.kept_tie(n) != "none" and is_earthed(w, n)]
    lifted = [t for t in joints[earth] if ".high_" in t and t.rpartition(".")[0] in units]
    middle = [*tied, *lifted]
    if len(middle) > 1 and in_series(w):
        for end in _hot(w)[:1]:
            off, arc = parted(w.arrangement, middle, "midpoint"), (Branch("arc", end, EARTH, EARTH_ARC),)
            done = f"midpoint off earth, cores still joined to each other, while {end} touches an earthed thing"
            yield Slip("midpoint-open", earth, done, off, "floating-core", live=arc, assumption=_arc(EARTH_ARC))
    rest = [t for t in joints[earth] if t != "mains.earth"]
    if not rest:
        return
    lost = parted(w.arrangement, ["mains.earth"])
    lost = replace(lost, output=w.arrangement.output)
    yield Slip("earth-lost", "mains.earth", "protective conductor broken in the set or its cord", lost, "pe-lost")
    for end in _hot(w):
        arc = (Branch("arc", end, EARTH, EARTH_ARC),)
        done = f"protective conductor broken while {end} arcs to an earthed thing"
        yield Slip("earth-lost-arc", end, done, lost, "pe-lost", live=arc, assumption=_arc(EARTH_ARC))


def _arc(ohms: float) -> str:
    return f"contact or arc of {ohms:g} ohm"


def node_of(arrangement: Arrangement, terminal: str) -> str:
    """Return the joint of a terminal, or its own name where it hangs free."""
    return next((j for j, ts in arrangement.joints.items() if terminal in ts), terminal)


def _hot(w: Wired) -> list[str]:
    """Return the output joints that are not earth, and the ends of live windings that are not on the output."""
    ends = [*w.arrangement.output, *(e for n in w.live_units() if n not in w.front_units for e in w.high_ends(n))]
    low = {w.earth, *(w.node(f"{n}.core") for n in w.of(Transformer))}
    return [e for e in dict.fromkeys(ends) if e not in low]


def _mains(w: Wired, *, fixed: bool) -> Iterator[Slip]:
    if "mains.line" in w.joint_of and "mains.neutral" in w.joint_of and "mains.line_2" not in w.joint_of:
        swap = {"mains.line": "mains.neutral", "mains.neutral": "mains.line"}
        joints = {j: tuple(swap.get(t, t) for t in ts) for j, ts in w.arrangement.joints.items()}
        done = "line and neutral swapped in the fixed wiring" if fixed else "plug the other way round"
        yield Slip("plug-reversed", "mains", done, replace(w.arrangement, joints=joints), "system-unknown")


def _ballast(w: Wired) -> Iterator[Slip]:
    elements = ballast_elements(w)
    links = tuple(Branch(f"bridge {n}", a, b, BOLTED) for n, a, b in elements)
    for (name, _, _), link in zip(elements, links, strict=True):
        done = f"{name} bridged"
        yield Slip("ballast-bypassed", name, done, w.arrangement, "no-current-limit", bridges=(link,))
    if len({frozenset((a, b)) for _, a, b in elements}) > 1:
        names = ", ".join(n for n, _, _ in elements)
        yield Slip("ballast-bypassed", names, "every ballast bridged", w.arrangement, "no-current-limit", bridges=links)


def _windings(w: Wired) -> Iterator[Slip]:
    for n in w.high_units():
        start, finish = w.high_ends(n)
        short = (Branch(f"short {n}", start, finish, BOLTED),)
        done = f"high winding of {n} shorted end to end"
        yield Slip("secondary-shorted", f"{n}.high", done, w.arrangement, "heat-duty", bridges=short)
        done = f"{100 * SHORTED_SHARE:g} % of the turns of {n}'s high winding closed on themselves"
        note = f"{100 * SHORTED_SHARE:g} % of the turns, their own leakage neglected"
        yield Slip("turns-shorted", f"{n}.high", done, w.arrangement, "heat-duty", turns=n, assumption=note)
        leads = [t for t in (f"{n}.primary_start", f"{n}.primary_finish") if t in w.joint_of]
        for subject, lead in zip((n, f"{n}, other lead"), leads, strict=False):
            dead = parted(w.arrangement, [lead])
            yield Slip("unit-dead", subject, f"{lead} off, or open inside", dead, "zero-is-not-off")
        hot = start if start in _hot(w) else finish
        primary = w.primary_ends(n)[0]
        arc = (Branch("arc", hot, primary, BREAKDOWN_ARC),)
        done = f"{n}: high end broken down to its primary"
        note = f"arc or burnt track of {BREAKDOWN_ARC:g} ohm, which is there at 500 V DC too"
        yield Slip("high-to-primary", n, done, w.arrangement, "high-to-primary", bridges=arc, assumption=note)


def _branches(w: Wired) -> Iterator[Slip]:
    for group in parallel_groups(w):
        for n in group:
            kept = w.kept_tie(n)
            end = next(e for e in ("start", "finish") if e != kept and f"{n}.high_{e}" in w.joint_of)
            terminal = f"{n}.high_{end}"
            done = f"{terminal} off: one of {len(group)} windings in parallel"
            yield Slip("branch-open", n, done, parted(w.arrangement, [terminal]), "parallel-mismatch")
    by_ends: dict[frozenset[str], list[str]] = {}
    for name, a, b in ballast_elements(w):
        by_ends.setdefault(frozenset((a, b)), []).append(name)
    for names in (x for x in by_ends.values() if len(x) > 1):
        for n in names:
            lead = f"{n}.a" if f"{n}.a" in w.joint_of else f"{n}.primary_start"
            done = f"{n} open: one of {len(names)} ballasts in parallel"
            yield Slip("branch-open", n, done, parted(w.arrangement, [lead]), "parallel-mismatch")


def load_side(w: Wired, pole: str) -> str | None:
    """Return the joint behind the ballast that starts at a pole's joint: the first with a primary on it."""
    primaries = {e for n in w.high_units() for e in w.primary_ends(n)}
    seen, todo = {pole}, [pole]
    while todo:
        at = todo.pop(0)
        for _, a, b in ballast_elements(w):
            if at in (a, b):
                far = b if at == a else a
                if far in primaries and far not in w.poles:
                    return far
                if far not in seen and far not in w.poles:
                    seen.add(far)
                    todo.append(far)
    return None


def _correction(w: Wired) -> Iterator[Slip]:
    moved: dict[str, str] = {}
    for name in sorted(correction_capacitors(w)):
        done = f"{name} without its bleeder, or the bleeder open"
        yield Slip("pfc-no-bleeder", name, done, w.arrangement, "bleeder-missing", unwired=name)
        for end in ("a", "b"):
            joint = w.node(f"{name}.{end}")
            behind = load_side(w, joint) if joint in w.poles else None
            if behind is not None and behind != w.node(f"{name}.{'b' if end == 'a' else 'a'}"):
                moved[f"{name}.{end}"] = behind
                break
    sets = [[t] for t in moved] + ([list(moved)] if len(moved) > 1 else [])
    for terminals in sets:
        joints = dict(parted(w.arrangement, terminals).joints)
        for t in terminals:
            joints[moved[t]] = (*joints.get(moved[t], ()), t)
        names = ", ".join(t.rpartition(".")[0] for t in terminals)
        done = f"{names} across the primaries, behind the ballast"
        wrong = replace(w.arrangement, joints=joints)
        yield Slip("pfc-behind-ballast", names, done, wrong, "pfc-behind-ballast")


def _tank(w: Wired) -> Iterator[Slip]:
    done = "no safety gap, tank on, and the gap misses"
    yield Slip("safety-gap-missing", "safety gap", done, w.arrangement, "safety-gap-missing")
    for end in _hot(w):
        if end in w.arrangement.output:
            done = f"tank lead off {end}: the output is open, the tank keeps what it held"
            yield Slip("tank-lead-open", end, done, w.arrangement, "stored-energy-tank")


def _bodies(w: Wired) -> Iterator[Slip]:
    for end in _hot(w):
        body = (Branch("body", end, EARTH, min(BODY_RESISTANCES)),)
        done = f"a body from {end} to earth; volts and currents with {body[0].resistance:g} ohm"
        yield Slip("body-contact", end, done, w.arrangement, "supply-kills", live=body)


__all__ = ["Slip", "altered", "load_side", "network_of", "node_of", "parted", "slips_of"]
