"""The telltale of a slip: the reading with the plug out that it changes most, beyond what meter and iron leave open.

Two kinds of test are computed for the right wiring and the wrong one: an ohmmeter between any two terminals, and a few
volts of a separated adapter fed into a high end or into the plug's pins, where volts or the feed's own current are
read. The ohmmeter is preferred while it tells clearly; a feed is lowered until no two points within reach pass the
touch limit. What all units share, as those of one make do, counts as well as what each does by itself. Shorted turns
are looked for with their unit alone too. Where nothing tells, a heater in the line is tried, as the first test on the
mains.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import inf, log, sqrt

import numpy as np
from numpy.typing import NDArray

from coilwright.analyses.results import PartResult
from coilwright.analyses.slip_networks import Slip, altered, parted
from coilwright.analyses.slips_results import Telltale
from coilwright.analyses.telltale_limiter import limited
from coilwright.analyses.topology import MAINS_POLES, Wired, parallel_groups
from coilwright.errors import SolverError
from coilwright.measurement.kinds import WARM
from coilwright.measurement.senses import MODEL_SHARE
from coilwright.model.design import Design
from coilwright.model.parts import Capacitor, Transformer
from coilwright.model.site import Site
from coilwright.protection.body import TOUCH_LIMIT_RMS
from coilwright.protection.rules_capacitor import FIXED, MAINS_TOLERANCE, PLUG_PINS
from coilwright.supply.build import build, circuit_of
from coilwright.supply.circuits import (
    CapacitorCircuit,
    ChokeCircuit,
    MainsCircuit,
    PartCircuit,
    TransformerCircuit,
)
from coilwright.supply.low_drive import (
    MOST_UNITS,
    REFERENCE,
    Drive,
    alike_trials_of,
    copper,
    driven,
    joined,
    plug_out,
    reach,
    spread_of,
    trials_of,
    unplugged,
)
from coilwright.supply.network import EARTH, Branch, Network
from coilwright.supply.steady import Steady, rms, solve_networks

Real = NDArray[np.float64]
Pair = tuple[str, str]
Circuits = Mapping[str, PartCircuit]

#: An ohmmeter that shows this or more says "open" [ohm].
OPEN_READS = 1e6
#: Errors taken where the bench names no instrument, and never less: share of the reading and fixed part. Volts: 1 % +
#: 30 mV; ohms: 5 % + 0.05 ohm of contacts (a bond tester of 200 mA or more); amperes: 2 % + 0.1 mA.
VOLTMETER, OHMMETER, AMMETER = (0.01, 0.03), (0.05, 0.05), (0.02, 1e-4)
#: Least half width of a winding's resistance, relative: 15 K of the copper (0.39 %/K).
COPPER_SHARE = 0.06
#: From this separation on the ohmmeter is enough and nothing is fed.
CLEAR = 2.0
#: Volts of the adapter, highest first.
DRIVES = (12.0, 9.0, 6.0, 4.5, 3.0, 2.0, 1.5, 1.0, 0.5)
#: Share of the drive below which a reading is "about nothing".
ABOUT_ZERO = 0.2
#: Two pairs whose separations differ by less than this share are as good as each other.
ALIKE = 0.1


@dataclass
class Bench:
    """What the tests are computed on; ``parts`` are the fitted parts, ``tank`` the bleeder across the whole tank [ohm]
    (inf without one), None where there is no tank.
    """

    design: Design
    w: Wired
    circuits: Circuits
    parts: Mapping[str, PartResult]
    mains: MainsCircuit
    tank: float | None
    memo: dict[object, _Sweep | None] = field(default_factory=dict)

    @property
    def right(self) -> Slip:
        """Return the wiring as it should be."""
        return Slip("", "", "", self.w.arrangement, "")

    @property
    def voltmeter(self) -> tuple[float, float]:
        """Return the error of its voltmeter: share of the reading and fixed part [V]."""
        return self.accuracy("voltage", VOLTMETER)

    def accuracy(self, quantity: str, least: tuple[float, float]) -> tuple[float, float]:
        """Return the coarsest error of the bench's instruments for a quantity, and no less than ``least``."""
        found = [i.accuracy[quantity] for i in self.design.instruments if quantity in i.accuracy]
        return max([least[0], *(a.relative for a in found)]), max([least[1], *(a.absolute for a in found)])


def telltale_of(bench: Bench, slip: Slip) -> Telltale | None:
    """Return the reading that exposes the slip, None where none does."""
    found = list(_resistances(bench, slip))
    best = _best(bench, found, slip)
    if best is not None and best.separation >= CLEAR:
        return best
    found += _fed(bench, slip)
    return _best(bench, found, slip) or _best(bench, list(limited(bench, slip)), slip)


def discharge_rule(site: Site) -> tuple[float, float]:
    """Return to how many volts and in what time a correction capacitor has to drain [V, s]."""
    return FIXED if site.plug.value == "fixed wiring" else PLUG_PINS


def _best(bench: Bench, found: Sequence[Telltale], slip: Slip) -> Telltale | None:
    """Return the reading with the largest separation; of those as good, the one nearest to the slip.

    A reading of about nothing where all is right proves nothing: an open lead shows the same.
    """
    telling = [
        t for t in found if t.separation > 1.0 and not (t.test == "volts" and t.right < ABOUT_ZERO * (t.drive or 0))
    ]
    if not telling:
        return None
    most = max(t.separation for t in telling)
    part = slip.subject.partition(".")[0]

    def near(terminal: str) -> bool:
        return slip.subject in (terminal, bench.w.node(terminal)) or terminal.partition(".")[0] in (part, "tank")

    def plainness(t: Telltale) -> tuple[bool, int, bool, float]:
        named = slip.subject in t.between
        return not named, -sum(map(near, t.between)), not any(p.startswith("mains.") for p in t.between), t.right

    return min((t for t in telling if t.separation >= (1 - ALIKE) * most), key=plainness)


# ---- ohmmeter --------------------------------------------------------------------------------------------------------


def _resistances(bench: Bench, slip: Slip) -> Iterator[Telltale]:
    if slip.unwired:
        yield from _taken_off(bench, slip)
        return
    fixed_wiring = bench.design.site.plug.value == "fixed wiring"
    # behind an isolator the supply's own terminals stay live: no ohmmeter goes there
    live = MAINS_POLES if fixed_wiring else ()
    points = [t for t in bench.w.joint_of if t not in live]
    points += ["tank.a", "tank.b"] if slip.id == "tank-lead-open" else []
    right, wrong = (_ohms(bench, s, points) for s in (bench.right, slip))
    relative, fixed = bench.accuracy("resistance", OHMMETER)
    half = _halves(right, wrong, relative, fixed, 1 + max([COPPER_SHARE, *_copper_bands(bench)]))
    off = np.abs(right - wrong) / (half[0] + half[1])
    meter = f"ohmmeter, {100 * relative:g} % + {fixed:g} ohm"
    dead = "Isolator locked off, the set's side proved dead" if fixed_wiring else "Plug out"
    how = f"{dead}, capacitors drained. An ohmmeter on a winding kicks on release: short the unit's other winding."
    touch = (
        " Touch the leads together before and after: an open lead reads like right. An insulation tester, 500 V DC, "
        "finds a track that an ohmmeter does not."
    )
    for i, j in zip(*np.nonzero(np.triu(off > 1.0, 1)), strict=True):
        ends = (float(half[0][i, j]), float(half[1][i, j]))
        yield Telltale(
            "resistance",
            (points[i], points[j]),
            float(right[i, j]),
            float(wrong[i, j]),
            "ohm",
            *ends,
            meter,
            how + (touch if right[i, j] >= OPEN_READS else ""),
        )


def _halves(right: Real, wrong: Real, relative: float, fixed: float, factor: float) -> tuple[Real, Real]:
    """Return the half widths of both readings on the sides that face each other [ohm]: the meter's error, and the
    copper known to a factor. What reads open does so whatever the copper.
    """
    out = []
    for own, other in ((right, wrong), (wrong, right)):
        towards = np.where(own > other, 1 - 1 / factor, factor - 1)
        copper = np.where(own >= OPEN_READS, 0.0, towards * own)
        out.append(1.96 * (relative * own + fixed) + copper)
    return out[0], out[1]


def _taken_off(bench: Bench, slip: Slip) -> Iterator[Telltale]:
    """Yield the resistance across a capacitor taken off the set: its bleeder, or what the slip leaves: nothing."""
    part, circuit = bench.w.part(slip.unwired), circuit_of(slip.unwired, bench.circuits)
    if not isinstance(part, Capacitor) or not isinstance(circuit, CapacitorCircuit):
        return
    relative, fixed = bench.accuracy("resistance", OHMMETER)
    residual, allowed = discharge_rule(bench.design.site)
    peak = sqrt(2) * MAINS_TOLERANCE * bench.design.site.mains_voltage.value
    largest = allowed / (circuit.capacitance * log(peak / residual))
    right = min(circuit.bleeder or largest, OPEN_READS)
    halves = (1.96 * (relative * right + fixed), 1.96 * (relative * OPEN_READS + fixed))
    yield Telltale(
        "resistance",
        (f"{slip.unwired}.a", f"{slip.unwired}.b"),
        right,
        OPEN_READS,
        "ohm",
        *halves,
        f"ohmmeter, {100 * relative:g} % + {fixed:g} ohm",
        f"{slip.unwired} drained, shorted, then one lead off."
        + ("" if circuit.bleeder else " None is in the file: right is the largest that drains it in the code's time."),
    )


def _copper_bands(bench: Bench) -> Iterator[float]:
    """Yield by how much each wired winding's resistance may be off, as a factor less one."""
    for name in bench.w.instances:
        values = bench.parts[bench.w.part(name).id].values
        for key in ("primary_resistance", "secondary_resistance", "resistance"):
            if key in values and values[key].value > 0:
                known = values[key]
                yield max(known.high / known.value, known.value / max(known.low, 0.1 * known.value)) - 1


def _cold(bench: Bench) -> dict[str, PartCircuit]:
    """Return the circuits with their windings as an ohmmeter finds them, at 20 degC."""
    out = dict(bench.circuits)
    for name in bench.w.instances:
        circuit, values = circuit_of(name, bench.circuits), bench.parts[bench.w.part(name).id].values

        def cold(key: str, warm: float, values: Mapping[str, object] = values) -> float:
            return getattr(values[key], "value", warm / WARM) if key in values else warm / WARM

        if isinstance(circuit, TransformerCircuit):
            out[name] = replace(
                circuit,
                primary_resistance=cold("primary_resistance", circuit.primary_resistance),
                secondary_resistance=cold("secondary_resistance", circuit.secondary_resistance),
            )
        elif isinstance(circuit, ChokeCircuit):
            out[name] = replace(circuit, resistance=cold("resistance", circuit.resistance))
    return out


def _ohms(bench: Bench, slip: Slip, points: Sequence[str]) -> Real:
    """Return what an ohmmeter shows between every two terminals [ohm], plug out, ``OPEN_READS`` at most."""
    network = altered(slip, build(slip.arrangement, _cold(bench), bench.mains))
    joint_of = {t: j for j, ts in slip.arrangement.joints.items() for t in ts}
    links = [(b.a, b.b, max(b.resistance, 1e-4)) for b in network.branches if EARTH not in (b.a, b.b)]
    links += [(p.a, p.b, 1e-4) for p in network.ports]  # iron on a choke's own wire: nothing against direct current
    links += [(w.a, w.b, max(w.resistance, 1e-4)) for w in network.windings if w.a != w.b]
    links += [(c.a, c.b, c.resistance) for c in network.conductances if EARTH not in (c.a, c.b)]
    links = [x for x in links if EARTH not in x[:2]]
    if "tank.a" in points and bench.tank is not None:
        for terminal, end in zip(("tank.a", "tank.b"), bench.w.arrangement.output, strict=True):
            if not (slip.id == "tank-lead-open" and slip.subject == end):
                links.append((terminal, end, 1e-3))
        if bench.tank < inf:
            links.append(("tank.a", "tank.b", bench.tank))
    nodes = list(dict.fromkeys([joint_of.get(t, t) for t in points] + [n for a, b, _ in links for n in (a, b)]))
    place = {n: k for k, n in enumerate(nodes)}
    laplacian = np.zeros((len(nodes), len(nodes)))
    for a, b, r in links:
        i, j = place[a], place[b]
        laplacian[[i, j], [i, j]] += 1 / r
        laplacian[[i, j], [j, i]] -= 1 / r
    # 1 Gohm to a common point settles what nothing else joins; across two of them a meter shows "open" all the same
    inverse = np.linalg.inv(laplacian + 1e-9 * np.eye(len(nodes)))
    at = [place[joint_of.get(t, t)] for t in points]
    found = np.diag(inverse)[:, None] + np.diag(inverse)[None, :] - 2 * inverse
    return np.asarray(np.clip(found[np.ix_(at, at)], 0.0, OPEN_READS))


# ---- a few volts -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Sweep:
    """Readings of one wiring at 1 V: volts at each pair (NaN where copper does not join them), then the current of the
    feed; the spread of each (one standard deviation); the highest volts within reach.
    """

    readings: Real
    spread: Real
    reach: float


def _fed(bench: Bench, slip: Slip) -> Iterator[Telltale]:
    if slip.arrangement == bench.w.arrangement and not (slip.bridges or slip.turns):
        return
    points = [t for t in bench.w.joint_of if not t.startswith("mains.")]
    units = bench.w.of(Transformer)
    points += [f"{n}.high_{end}" for n in units for end in ("start", "finish") if end != bench.w.kept_tie(n)]
    points = list(dict.fromkeys(points))
    pairs = list(combinations(points, 2))
    places: list[tuple[Pair, bool, tuple[str, ...]]] = [(fed, shorted, ()) for fed, shorted in _places(bench)]
    if slip.turns:
        places += _alone(bench, slip.turns)
    for fed, shorted, off in places:
        right = _swept(bench, bench.right, fed, pairs, shorted=shorted, off=off)
        wrong = _swept(bench, slip, fed, pairs, shorted=shorted, off=off)
        if right is None or wrong is None:
            continue
        reach = max(right.reach, wrong.reach, _reach(bench, _joints_of(bench, fed)))
        volts = next((v for v in DRIVES if v * reach <= TOUCH_LIMIT_RMS), None)
        if volts is not None:
            yield from _told(bench, fed, shorted, off, volts, pairs, right, wrong)


def _alone(bench: Bench, unit: str) -> Iterator[tuple[Pair, bool, tuple[str, ...]]]:
    """Yield the feed of one unit's high winding with a lead of its primary off, and the leads of its high winding too
    where others lie in parallel with it: what the rest of the set draws, and its iron, are then out of the reading.
    """
    w = bench.w
    lead = next((t for t in (f"{unit}.primary_start", f"{unit}.primary_finish") if t in w.joint_of), None)
    if lead is None:
        return
    beside = any(unit in group for group in parallel_groups(w))
    ends = [f"{unit}.high_{e}" for e in ("start", "finish") if f"{unit}.high_{e}" in w.joint_of] if beside else []
    ends = [t for t in ends if t != f"{unit}.high_{w.kept_tie(unit)}"]
    start, finish = (
        t if (t := f"{unit}.high_{e}") in ends else joint
        for e, joint in zip(("start", "finish"), w.high_ends(unit), strict=True)
    )
    yield (start, finish), False, (lead, *ends)


def _joints_of(bench: Bench, fed: Pair) -> Pair:
    """Return the joints on which the two points of a feed are while no lead is off."""
    a, b = (bench.w.node(p) if p in bench.w.joint_of else p for p in fed)
    return a, b


def _told(
    bench: Bench,
    fed: Pair,
    shorted: bool,
    off: Sequence[str],
    volts: float,
    pairs: Sequence[Pair],
    right: _Sweep,
    wrong: _Sweep,
) -> Iterator[Telltale]:
    meters = [bench.voltmeter, bench.accuracy("current", AMMETER)]
    share = np.array([m[0] for m in meters])[np.r_[np.zeros(len(pairs), int), 1]]
    fixed = np.array([m[1] for m in meters])[np.r_[np.zeros(len(pairs), int), 1]]
    r, w = volts * right.readings, volts * wrong.readings
    halves = [1.96 * np.sqrt((share * x + fixed) ** 2 + (volts * s.spread) ** 2) for x, s in ((r, right), (w, wrong))]
    with np.errstate(invalid="ignore"):
        telling = np.abs(r - w) > halves[0] + halves[1]
    how = (
        f"Plug out and in sight, correction capacitors and tank off; {volts:g} V AC of a separated adapter, fused 1 A, "
        f"between {fed[0]} and {fed[1]}" + (", output bolted short." if shorted else ".")
    )
    if off:
        how += f" First take {', '.join(off)} off, so that this unit is read alone; put it back and prove the joint."
    for k in np.flatnonzero(telling).tolist():
        current = k == len(pairs)
        name = "ammeter in the feed" if current else "voltmeter"
        meter = f"{name}, {100 * share[k]:g} % + {1e3 * fixed[k]:g} m{'A' if current else 'V'}"
        yield Telltale(
            "feed current" if current else "volts",
            fed if current else pairs[k],
            float(r[k]),
            float(w[k]),
            "A" if current else "V",
            float(halves[0][k]),
            float(halves[1][k]),
            meter,
            how,
            volts,
            fed,
            shorted,
            tuple(off),
        )


def _places(bench: Bench) -> list[tuple[Pair, bool]]:
    """Return where the adapter is put: each high winding's ends, the output, and the plug's pins with the output open
    and shorted; as joints.
    """
    w = bench.w
    out = [(w.high_ends(n), False) for n in w.high_units()]
    out.append((w.arrangement.output, False))
    poles = list(dict.fromkeys(w.joint_of[p] for p in MAINS_POLES if p in w.joint_of))
    if len(poles) > 1:
        pins = (poles[0], poles[-1] if "mains.line_2" not in w.joint_of else w.joint_of["mains.line_2"])
        out += [(pins, False), (pins, True)]
    return out


def _swept(
    bench: Bench, slip: Slip, fed: Pair, pairs: Sequence[Pair], *, shorted: bool, off: tuple[str, ...]
) -> _Sweep | None:
    key = (slip.id, slip.subject, fed, shorted, off)
    if key not in bench.memo:
        bench.memo[key] = _sweep(bench, slip, fed, pairs, shorted=shorted, off=off)
    return bench.memo[key]


def _sweep(
    bench: Bench, slip: Slip, fed: Pair, pairs: Sequence[Pair], *, shorted: bool, off: tuple[str, ...]
) -> _Sweep | None:
    bare = plug_out(parted(slip.arrangement, off) if off else slip.arrangement)
    joint_of = {t: j for j, ts in bare.joints.items() for t in ts}
    named = {t: _node(t, bench.w, joint_of) for t in dict.fromkeys(x for p in (*pairs, fed) for x in p)}
    a, b = named[fed[0]], named[fed[1]]

    def network(circuits: Circuits, ohms: float) -> Network:
        made = altered(replace(slip, arrangement=bare), unplugged(bare, circuits, bench.mains))
        if shorted and made.output is not None:
            made = replace(made, branches=(*made.branches, Branch("output:short", *made.output, REFERENCE)))
        return driven(made, Drive(1.0, (a, b)), ohms)

    units = bench.w.of(Transformer)
    single, alike = trials_of(bench.circuits, units), alike_trials_of(bench.circuits, units)
    networks = [network(circuits, ohms) for circuits, ohms in (*single, *alike, (bench.circuits, 0.0))]
    root = copper(networks[0])
    if a == b or root.get(a) is None or root.get(a) != root.get(b):
        return None
    try:
        states = solve_networks(networks, highest=1, limit=1)
    except SolverError:
        return None
    if any(s is None for s in states):
        return None
    nodes = [(named[p], named[q]) for p, q in pairs]
    solved = [s for s in states if s is not None]
    met = np.array([root.get(p) is not None and root.get(p) == root.get(q) for p, q in nodes] + [True])
    rows = np.array([_read(s, nodes, met) for s in solved])
    base, moved = rows[0], spread_of(rows[: len(single)], rows[len(single) : -1])
    scale = np.append([max(_size(solved[0], p), _size(solved[0], q)) if j else 0.0
                       for (p, q), j in zip(nodes, met, strict=False)], base[-1])  # fmt: skip
    spread = np.sqrt(moved**2 + (MODEL_SHARE * scale) ** 2)
    top = solved[-1]
    highest = max((r for r, j in zip(_read(top, nodes, met)[:-1], met, strict=False) if j), default=1.0)
    return _Sweep(np.where(met, base, np.nan), spread, max(float(highest), 1.0))


def _reach(bench: Bench, fed: Pair) -> float:
    """Return the highest volts between two points that copper joins, per volt fed, over every sense of the windings and
    with no short anywhere: one may fall off.
    """
    key = ("reach", fed)
    if key not in bench.memo:
        node = bench.w.node
        roots = joined(bench.w.arrangement, bench.circuits, bench.mains)
        at = (node(fed[0]), node(fed[1]))
        units = bench.w.high_units()
        units = units if len(units) <= MOST_UNITS else units[:1]
        volts = reach(bench.w.arrangement, bench.circuits, bench.mains, Drive(1.0, at), units, roots)[0]
        bench.memo[key] = _Sweep(np.zeros(0), np.zeros(0), volts)
    known = bench.memo[key]
    return inf if known is None else known.reach


def _node(terminal: str, w: Wired, joint_of: Mapping[str, str]) -> str:
    """Return the node of a terminal, a tied end that is in no joint counted as its core."""
    unit, _, end = terminal.rpartition(".")
    if terminal in joint_of or not end.startswith("high_"):
        return joint_of.get(terminal, terminal)
    kept = w.kept_tie(unit)
    if f"high_{kept}" == end:
        return joint_of.get(f"{unit}.core", f"{unit}.core")
    return terminal


def _size(state: Steady, node: str) -> float:
    return rms(state.potential(node)) if state.has(node) else 0.0


def _read(state: Steady, nodes: Sequence[Pair], joined: NDArray[np.bool_]) -> Real:
    volts = [rms(state.voltage(p, q)) if j else 0.0 for (p, q), j in zip(nodes, joined[:-1], strict=True)]
    return np.array([*volts, rms(state.current("drive"))])
