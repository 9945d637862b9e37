"""Candidates solved as networks: the fundamental of many at once, and every harmonic of the few that are shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from coilwright.errors import InternalError, SolverError
from coilwright.model.design import Arrangement
from coilwright.planner.candidate import Candidate, arrangement_of
from coilwright.planner.inventory import Corrector, Regulator, Unit
from coilwright.planner.refuse import LEAD_DROP, Reason, of_solved
from coilwright.planner.score import Aim, Figures, score, terms
from coilwright.supply.build import build
from coilwright.supply.characterise import LOAD_STEPS, best_power
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.linear import Complex, Reduced
from coilwright.supply.loads import Output
from coilwright.supply.network import EARTH, Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import FIRST_ORDER, HIGHEST_ORDER, Steady, rms, solve_networks, solve_reduced


@dataclass(frozen=True)
class Solved:
    """One candidate with its numbers [V, A rms, var]. ``exact``: every harmonic solved, else the fundamental alone."""

    candidate: Candidate
    open_voltage: float
    short_current: float
    mains_current: float  # largest of open, best power, short; correction capacitors failed open
    mains_short: float
    load: float  # worst current over rating, output shorted
    power_factor: float  # at best power, corrected
    reactive_power: float  # at best power, of the fundamental, uncorrected
    conditions: tuple[str, ...]
    score: float
    reasons: tuple[Reason, ...] = ()
    mains_corrected: float = 0.0
    stresses: Mapping[str, Stress] = field(default_factory=dict)
    exact: bool = False
    circulating: float = 0.0  # of windings in parallel with the output open, over rated

    @property
    def apparent_power(self) -> float:
        """Return open volts times short amperes [VA]."""
        return self.open_voltage * self.short_current


@dataclass(frozen=True)
class Context:
    """What solving needs beside the candidate."""

    aim: Aim
    mains: MainsCircuit
    circuits: Mapping[str, PartCircuit]
    correctors: tuple[Corrector, ...] = ()
    needed_correctors: frozenset[str] = frozenset()

    @property
    def omega(self) -> float:
        """Return the angular frequency of the mains [rad/s]."""
        return float(2 * np.pi * self.mains.frequency)


def conditions_of(c: Candidate, circulating: float) -> tuple[str, ...]:
    """Return what is allowed but counts against a candidate, in words."""
    out = []
    if any(e.kind == "resistor" for e in c.elements):
        out.append("a resistor as ballast turns its share of the power into heat")
    spares = [e.instance for e in c.elements if e.kind == "spare"]
    if spares:
        out.append(f"{', '.join(spares)} as a choke: kilovolts stand there if the short across its high winding opens")
    if circulating > 0.25:
        out.append(
            f"unlike windings in parallel: {circulating:.0%} of the rated current circulates with nothing connected"
        )
    return tuple(out)


def best_correction(context: Context, reactive_power: float, mains_volts: float) -> tuple[tuple[Corrector, ...], float]:
    """Return the correction capacitors whose reactive power comes nearest, and that power [var]; those that are asked
    for always.
    """
    per_farad = context.omega * mains_volts**2
    needed = tuple(c for c in context.correctors if c.id in context.needed_correctors)
    free = tuple(c for c in context.correctors if c.id not in context.needed_correctors)
    best: tuple[float, int, tuple[Corrector, ...]] | None = None
    for size in range(len(free) + 1):
        for chosen in combinations(free, size):
            total = per_farad * sum(c.capacitance for c in (*needed, *chosen))
            if best is None or abs(reactive_power - total) < best[0] - 0.01 * abs(reactive_power):
                best = (abs(reactive_power - total), size, (*needed, *chosen))
    picked = best[2] if best else ()
    return picked, per_farad * sum(c.capacitance for c in picked)


def _outputs(candidates: Sequence[Candidate], context: Context, *, corrected: bool = False) -> list[Output | None]:
    """Return each candidate's network with its output kept open for loads, None where part of it hangs free."""
    out: list[Output | None] = []
    for c in candidates:
        bare = c if corrected else replace(c, correctors=())
        try:
            out.append(Output(build(arrangement_of(bare), context.circuits, context.mains)))
        except SolverError:
            out.append(None)
    return out


def _states(
    outputs: Sequence[Output | None], loads: Sequence[Sequence[float | None]], highest: int, limit: int
) -> list[list[Steady | None]]:
    """Return the states of each network under its loads (None: open), everything with the same number of ports in one
    batch.
    """
    out: list[list[Steady | None]] = [[None] * len(ls) for ls in loads]
    alike: dict[int, list[tuple[int, int]]] = {}
    for k, output in enumerate(outputs):
        if output is not None:
            n_ports = len(output.equations.network.ports)
            alike.setdefault(n_ports, []).extend((k, m) for m in range(len(loads[k])))
    for places in alike.values():
        reducers = [_reducer(outputs[k], loads[k][m]) for k, m in places]
        try:
            found = solve_reduced(reducers, highest=highest, limit=limit)
        except SolverError:
            continue
        for (k, m), state in zip(places, found, strict=True):
            out[k][m] = state
    return out


def _reducer(output: Output | None, load: float | None) -> Callable[[NDArray[np.int64]], Reduced]:
    if output is None:
        raise InternalError("a network that was not built cannot be solved")
    if load is None:
        return lambda harmonics: output.view(harmonics)[0]
    return lambda harmonics: output.with_resistance(load, harmonics)


def solve_fundamental(
    candidates: Sequence[Candidate], context: Context, circulating: Sequence[float]
) -> list[Solved | None]:
    """Return each candidate solved at the fundamental, None where nothing converged."""
    states = _states(_outputs(candidates, context), [(None, 0.0)] * len(candidates), 1, 1)
    return [
        _read(c, o, s, context, mark) if o is not None and s is not None else None
        for c, (o, s), mark in zip(candidates, states, circulating, strict=True)
    ]


def _read(c: Candidate, opened: Steady, shorted: Steady, context: Context, circulating: float) -> Solved:
    output = opened.equations.network.output or ("", "")
    v_open = complex(opened.voltage(*output)[0])
    i_short = complex(shorted.current("load")[0])
    source = opened.equations.network.sources[0]
    i_open, i_full = complex(opened.current(source.name)[0]), complex(shorted.current(source.name)[0])
    z_out = v_open / i_short if i_short else complex(np.inf)
    i_best = i_open + (i_full - i_open) * z_out / (z_out + abs(z_out))
    turn = np.exp(
        -1j
        * np.angle(
            source.peak - (opened.equations.network.sources[1].peak if len(opened.equations.network.sources) > 1 else 0)
        )
    )
    i_best *= turn
    amps = max(abs(i_open), abs(i_full), abs(i_best)) / np.sqrt(2)
    watts = c.feed.mains_volts * i_best.real / np.sqrt(2)
    var = -c.feed.mains_volts * i_best.imag / np.sqrt(2)
    picked, corrected = best_correction(context, var, c.feed.mains_volts)
    left = var - corrected
    factor = watts / np.hypot(watts, left) if watts > 0 else 0.0
    load = max((current / rated for current, rated in _loads(c, shorted)), default=0.0)
    return judged(
        c,
        picked,
        context,
        open_voltage=abs(v_open) / np.sqrt(2),
        short_current=abs(i_short) / np.sqrt(2),
        mains_current=float(amps),
        mains_short=abs(i_full) / np.sqrt(2),
        load=load,
        power_factor=float(factor),
        reactive_power=float(var),
        circulating=circulating,
    )


def _loads(c: Candidate, shorted: Steady) -> list[tuple[float, float]]:
    """Return current and rating of every part that carries the mains-side current."""
    out = [(rms(shorted.current(f"{u.instance}.primary")), u.rated_current) for u in c.units]
    names = [(f"{e.instance}.primary" if e.kind == "spare" else e.instance, e.rated_current) for e in c.elements]
    out += [(rms(shorted.current(name)), rated) for name, rated in names]
    front = c.front
    if isinstance(front, Regulator):
        out.append((rms(shorted.current(front.instance)), front.rated_current))
    elif isinstance(front, Unit):
        out.append((rms(shorted.current(f"{front.instance}.primary")), front.rated_current))
    return out


def judged(
    c: Candidate,
    correctors: tuple[Corrector, ...],
    context: Context,
    *,
    open_voltage: float,
    short_current: float,
    mains_current: float,
    mains_short: float,
    load: float,
    power_factor: float,
    reactive_power: float,
    circulating: float,
    mains_corrected: float = 0.0,
    stresses: Mapping[str, Stress] | None = None,
    more: Sequence[Reason] = (),
) -> Solved:
    """Return the candidate with its score and what is held against it."""
    conditions = conditions_of(c, circulating)
    figures = Figures(
        open_voltage, short_current, mains_current, load, power_factor, c.n_parts, len(correctors), len(conditions)
    )
    c = replace(c, correctors=correctors)
    reasons = of_solved(
        c, open_voltage=open_voltage, mains_current=mains_current, load=load, aim=context.aim, mains_short=mains_short
    )
    return Solved(
        c,
        open_voltage,
        short_current,
        mains_current,
        mains_short,
        load,
        power_factor,
        reactive_power,
        conditions,
        float(score(figures, context.aim)),
        (*reasons, *more),
        mains_corrected,
        stresses or {},
        stresses is not None,
        circulating,
    )


def solve_exact(found: Sequence[Solved], context: Context, circulating: Sequence[float]) -> list[Solved | None]:
    """Return the candidates with every harmonic solved, open, shorted and at best power; None where something did not
    converge.

    The best load is taken as open volts over short amperes, which is where the fundamental has it.
    """
    candidates = [s.candidate for s in found]
    loads = [(None, 0.0, s.open_voltage / s.short_current) for s in found]
    bare = _states(_outputs(candidates, context), loads, FIRST_ORDER, HIGHEST_ORDER)
    fitted = [k for k, c in enumerate(candidates) if c.correctors]
    corrected = _states(
        _outputs([candidates[k] for k in fitted], context, corrected=True),
        [loads[k] for k in fitted],
        FIRST_ORDER,
        HIGHEST_ORDER,
    )
    full = dict(zip(fitted, corrected, strict=True))
    return [_exact(s, bare[k], full.get(k, bare[k]), loads[k], context, circulating[k]) for k, s in enumerate(found)]


def _exact(
    s: Solved,
    bare: list[Steady | None],
    full: list[Steady | None],
    loads: Sequence[float | None],
    context: Context,
    circulating: float,
) -> Solved | None:
    c = s.candidate
    plain = [state for state in bare if state is not None]
    with_caps = [state for state in full if state is not None]
    if len(plain) < len(loads) or len(with_caps) < len(loads):
        return None
    points = [operating(state, load) for state, load in zip(plain, loads, strict=True)]
    wired = points if full is bare else [operating(state, load) for state, load in zip(with_caps, loads, strict=True)]
    load = max((current / rated for current, rated in _loads(c, plain[1])), default=0.0)
    states = plain if full is bare else [*plain, *with_caps]
    stresses = {u.instance: _stress(u, arrangement_of(c), states) for u in c.units}
    return judged(
        c,
        c.correctors,
        context,
        open_voltage=wired[0].voltage,
        short_current=wired[1].current,
        mains_current=max(p.mains_current for p in points),
        mains_short=points[1].mains_current,
        load=load,
        power_factor=wired[2].power_factor,
        reactive_power=points[2].reactive_power,
        circulating=circulating,
        mains_corrected=max(p.mains_current for p in wired),
        stresses=stresses,
        more=insulation_reasons(c, stresses),
    )


def settled(s: Solved, context: Context) -> Solved:
    """Return a solved candidate with its best-power figures at the load where the power really is the best.

    While many are compared the load is open volts over short amperes, which is near it; what is shown is what `supply`
    computes of the same joints. The candidate as it was where that point does not converge.
    """
    c = s.candidate
    full = build(arrangement_of(c), context.circuits, context.mains)
    bare = build(arrangement_of(replace(c, correctors=())), context.circuits, context.mains) if c.correctors else full
    try:
        opened, short = (operating(_known(x), r) for x, r in zip(_ends(full), (None, 0.0), strict=True))
        load, _, best, points = best_power(full, opened, short, LOAD_STEPS[4:11])
        if best.power in {points[0][1].power, points[-1][1].power}:  # at the end of what was tried
            load, _, best, _ = best_power(full, opened, short)
        plain = [opened, short, best]
        if bare is not full:
            states = solve_networks([bare, *(bare.with_load(r) for r in (0.0, load))])
            plain = [operating(_known(x), r) for x, r in zip(states, (None, 0.0, load), strict=True)]
    except SolverError:
        return s
    return judged(
        c,
        c.correctors,
        context,
        open_voltage=opened.voltage,
        short_current=short.current,
        mains_current=max(p.mains_current for p in plain),
        mains_short=plain[1].mains_current,
        load=s.load,
        power_factor=best.power_factor,
        reactive_power=plain[2].reactive_power,
        circulating=s.circulating,
        mains_corrected=max(p.mains_current for p in (opened, best, short)),
        stresses=s.stresses,
    )


def _ends(network: Network) -> list[Steady | None]:
    return solve_networks([network, network.with_load(0.0)])


def _known(state: Steady | None) -> Steady:
    """Return the state.

    Raises
    ------
    SolverError
        Where there is none.
    """
    if state is None:
        raise SolverError("no steady state was found")
    return state


@dataclass(frozen=True)
class Stress:
    """What one transformer's insulation sees, the largest of open, best power and short: rms, or peak over sqrt(2)
    where that is more.
    """

    core_to_earth: float
    primary_to_core: float
    high_to_primary: float
    start_to_core: float
    finish_to_core: float


def _stress(u: Unit, arrangement: Arrangement, states: Sequence[Steady]) -> Stress:
    joint_of = {t: joint for joint, terminals in arrangement.joints.items() for t in terminals}
    core, start, finish, first, last = (
        joint_of.get(t, t)
        for t in (
            f"{u.instance}.core",
            f"{u.instance}.high_start",
            f"{u.instance}.high_finish",
            f"{u.instance}.primary_start",
            f"{u.instance}.primary_finish",
        )
    )

    def most(a: str, b: str, *, by_peak: bool) -> float:
        return max(_severity(s, s.voltage(a, b), by_peak=by_peak) for s in states)

    return Stress(
        most(core, EARTH, by_peak=False),
        max(most(p, core, by_peak=False) for p in (first, last)),
        max(most(h, p, by_peak=False) for h in (start, finish) for p in (first, last)),
        most(start, core, by_peak=True),
        most(finish, core, by_peak=True),
    )


@lru_cache(maxsize=16)
def _instants(harmonics: tuple[int, ...]) -> Complex:
    angle = np.pi * np.arange(256)[:, None] / 256 * np.array(harmonics)
    return np.asarray(np.exp(1j * angle))


def _severity(state: Steady, volts: Complex, *, by_peak: bool) -> float:
    if not by_peak:
        return rms(volts)
    wave = (_instants(tuple(int(h) for h in state.harmonics)) @ volts).real
    return max(rms(volts), float(np.abs(wave).max()) / float(np.sqrt(2)))


def insulation_reasons(c: Candidate, stresses: Mapping[str, Stress]) -> list[Reason]:
    """Return where the solved stresses pass what the insulation is counted on for."""
    out = []
    raised = {u.instance for side in (c.up, c.down) for g in side[1:] for u in g}
    for u in c.units:
        stress = stresses[u.instance]
        lifted = c.cores == "lifted" and u.instance in raised
        limits = (u.lifted or u.insulation) if lifted else u.insulation
        for end, volts, limit in (
            ("start", stress.start_to_core, limits.start_to_core),
            ("finish", stress.finish_to_core, limits.finish_to_core),
        ):
            if not lifted and (
                end == u.tied or (u.tied == "none" and end == u.earthed_end and u.instance not in raised)
            ):
                continue
            if volts > max(limit, LEAD_DROP):
                out.append(Reason("winding-overvolt", volts, "V"))
        if stress.high_to_primary > limits.high_to_primary:
            out.append(Reason("high-to-primary", stress.high_to_primary, "V"))
        if (
            u.instance in raised
            and c.cores == "floating"
            and not (limits.proved("primary_to_core") and stress.primary_to_core <= limits.primary_to_core)
        ):
            out.append(Reason("floating-core", stress.core_to_earth, "V"))
    return out


def score_terms(s: Solved, aim: Aim) -> dict[str, float]:
    """Return the terms of a solved candidate's score."""
    c = s.candidate
    figures = Figures(
        s.open_voltage,
        s.short_current,
        s.mains_current,
        s.load,
        s.power_factor,
        c.n_parts,
        len(c.correctors),
        len(s.conditions),
    )
    return {name: float(value) for name, value in terms(figures, aim).items()}
