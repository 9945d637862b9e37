"""Slips: every single mistake that can be made in the wiring of the chosen supply, solved, with what it looks like,
what it does to a hand, and the reading that exposes it before the mains is on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import inf, isfinite

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.marks import mains_mark, output_mark
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.sides import correction_capacitors, low_side
from coilwright.analyses.slip_bands import Spreads, slip_bands, spreads_of
from coilwright.analyses.slip_networks import Slip, network_of, node_of, slips_of
from coilwright.analyses.slip_words import harm_of, sees
from coilwright.analyses.slips_results import Charge, SlipRow, SlipsResult
from coilwright.analyses.supply import supply
from coilwright.analyses.tank import tank_capacitance, tank_unit
from coilwright.analyses.telltales import Bench, discharge_rule, telltale_of
from coilwright.analyses.topology import Wired, wired_with
from coilwright.analyses.what_ifs import Touch, loaded, solved, touches
from coilwright.errors import InputError, Problem, SolverError
from coilwright.model.design import Arrangement, Design
from coilwright.model.parts import Capacitor, Transformer
from coilwright.protection.body import LET_GO_CURRENT
from coilwright.protection.energy import drain_time, stored_energy
from coilwright.protection.rules import collect
from coilwright.protection.rules_slips import SlipFacts, slip_tags
from coilwright.protection.wording import amperes, volts_rms
from coilwright.supply.build import mains_circuit
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.gap_missing import at as at_tank
from coilwright.supply.network import EARTH, Network
from coilwright.supply.operating import Operating, operating
from coilwright.supply.steady import Steady, all_states, rms

Progress = Callable[[float, str], None]

#: Starts of the search where a mistake may leave more than one steady state.
STARTS = 24
#: Touch limit for a charge that stays [V DC]: EN 50191, from memory.
TOUCH_DC = 60.0
#: Slips that leave something afloat: its volts hang on stray capacitances, which nobody has measured.
FLOATING = ("core-off", "earth-lost")
NOTES = (
    "One mistake at a time; two at once can hide each other's telltale and add up their harm.",
    (
        "Mains current: output open, correction capacitors out of circuit. Worst: the largest from open to short, with "
        "and without them."
    ),
    (
        "The body is 575 to 1000 ohm from one place to earth, or across the output. A high end kills with no slip at "
        "all: the rows say where else, and where nobody expects it."
    ),
    (
        "Bands are those of the parts' spread, solved on the altered wiring; the stray capacitances, which nobody has "
        "measured, are taken as known to a factor of 2. What the slip itself assumes is not in them."
    ),
    "Steady states: switching on, arcs that come and go, and what an overheated part does next are not in the numbers.",
    (
        "Telltales are read with the plug out, but for those across a limiter. One that agrees rules out its own slip "
        "and no other."
    ),
    "A protective conductor broken in the house shows only in an electrician's loop test.",
)


@dataclass(frozen=True)
class _Bench:
    """What every slip is solved on."""

    design: Design
    w: Wired
    circuits: Mapping[str, PartCircuit]
    mains: MainsCircuit
    corrections: frozenset[str]
    right: SupplyResult
    tank: float | None
    spreads: Spreads | None

    @property
    def best(self) -> float | None:
        return self.right.best_power.load_resistance


@dataclass(frozen=True)
class _Solved:
    """The states of one slip: ``wired`` with its correction capacitors, ``bare`` without, by load."""

    wired: Mapping[str, tuple[Steady, Operating]]
    bare: Mapping[str, tuple[Steady, Operating]]
    unsolved: tuple[str, ...]

    def pick(self, load: str, *, bare: bool = False) -> tuple[Steady, Operating] | None:
        return (self.bare if bare else self.wired).get(load)


def slips(
    design: Design,
    *,
    arrangement: Arrangement | None = None,
    shelf: ShelfResult | None = None,
    right: SupplyResult | None = None,
    progress: Progress | None = None,
) -> SlipsResult:
    """Return every single mistake that one arrangement lets one make, the worst first.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses.
    shelf, right
        The shelf, and the supply without any mistake, if they are at hand already.
    progress
        Called with a fraction 0..1 and what is being done.

    Raises
    ------
    InputError
        If there is no arrangement, it uses a part that has no circuit, or it has no high winding.
    SolverError
        If the supply itself has no converged answer.
    """
    say = progress or (lambda _fraction, _word: None)
    say(0.0, "fitting the shelf")
    known = shelf or identify(design)
    tank = tank_capacitance(design)
    made = right or supply(
        design,
        arrangement=arrangement,
        gap_missing=tank is not None,
        shelf=known,
        progress=lambda f, word: say(0.05 + 0.35 * f, word),
    )
    chosen = arrangement or next((a for a in design.arrangements if a.name == made.name), None)
    if chosen is None:
        raise InputError([Problem("arrangement", None, f'there is no arrangement "{made.name}"', "Name another.")])
    circuits, mains = circuits_of(chosen, design, known), mains_circuit(design.site)
    w = wired_with(chosen, design, circuits)
    if not w.high_units():
        where = chosen.where or "arrangement"
        hint = "Wire the high ends into joints first."
        raise InputError([Problem(where, design.line_of(where), "no high winding is wired in this arrangement", hint)])
    spreads = spreads_of(w, circuits, mains, known.parts)
    bench = _Bench(design, w, circuits, mains, correction_capacitors(w), made, tank, spreads)
    tests = Bench(design, w, circuits, known.parts, mains, _tank_bleeder(design))
    every = slips_of(w, tank=tank is not None, fixed=design.site.plug.value == "fixed wiring")
    rows = []
    for k, slip in enumerate(every):
        say(0.4 + 0.58 * k / len(every), f"{slip.id}, {slip.subject}")
        rows.append(_row(bench, tests, slip, known))
    ordered = tuple(sorted(rows, key=lambda r: -r.harm))
    say(1.0, "done")
    result = SlipsResult(chosen.name, made, ordered, notes=NOTES)
    return replace(result, tags=collect(made.tags, slip_tags(map(_facts, ordered)), answers=design.answers))


def _row(bench: _Bench, tests: Bench, slip: Slip, known: ShelfResult) -> SlipRow:
    tank = slip.id == "safety-gap-missing"
    got = _solve(bench, slip, with_tank=tank)
    opened, shorted = got.pick("output open"), got.pick("output shorted")
    idle = got.pick("output open", bare=True)
    every = [o for found in (got.wired, got.bare) for _, o in found.values()]
    found, missing = _touches(bench, slip, got)
    output = slip.arrangement.output
    assumed = bool(slip.assumption) or slip.id in FLOATING
    row = SlipRow(
        id=slip.id,
        subject=slip.subject,
        done=slip.done,
        tag=slip.tag,
        harm=0.0,
        lethal=any(t.current > LET_GO_CURRENT for t in found) if found else None,
        sees="",
        open_voltage=opened[1].voltage if opened else None,
        ends={j: rms(opened[0].potential(j)) for j in output if opened[0].has(j)} if opened else {},
        short_current=shorted[1].current if shorted and not tank else None,
        mains_current=idle[1].mains_current if idle else None,
        mains_current_corrected=opened[1].mains_current if opened else None,
        mains_current_worst=None if got.unsolved else max((o.mains_current for o in every), default=None),
        cores=_cores(bench, slip, got),
        residual_current=None if got.unsolved else max((o.residual_current for o in every), default=None),
        core_touches={n: t for n in bench.w.of(Transformer) for t in found if t.where == _core(slip, n)},
        touches=found,
        charge=_charge(bench, slip, got),
        peak=opened[1].voltage_peak if tank and opened else None,
        assumption=slip.assumption,
        mark="pencil" if assumed else output_mark(known.parts, bench.w.instances),
        mains_mark="pencil" if slip.assumption else mains_mark(known.parts, bench.w.instances),
        unsolved=(*got.unsolved, *missing),
    )
    row = replace(row, telltale=telltale_of(tests, slip), tag=_tag_of(bench, row), bands=_bands(bench, slip, got, row))
    low = _low_side(bench, got)
    right, site = bench.right, bench.design.site
    return replace(row, harm=harm_of(row, right, site, low), sees=sees(row, right, site, low))


def _solve(bench: _Bench, slip: Slip, *, with_tank: bool) -> _Solved:
    out = _out(bench, slip)
    wired, lost = _states(bench, slip, frozenset(), with_tank=with_tank)
    if not out:
        return _Solved(wired, wired, lost)
    bare, lost_too = _states(bench, slip, out, with_tank=with_tank)
    return _Solved(wired, bare, tuple(dict.fromkeys((*lost, *lost_too))))


def _out(bench: _Bench, slip: Slip) -> frozenset[str]:
    """Return the correction capacitors that are out of circuit for the uncorrected current: not those on the wrong side
    of the ballast.
    """
    moved = {p.strip() for p in slip.subject.split(",")} if slip.id == "pfc-behind-ballast" else set()
    return bench.corrections - moved


def _states(
    bench: _Bench, slip: Slip, without: frozenset[str], *, with_tank: bool
) -> tuple[dict[str, tuple[Steady, Operating]], tuple[str, ...]]:
    """Return the states by load, the one with the highest output where a capacitor lets there be several."""
    network = network_of(slip, bench.circuits, bench.mains, without=without)
    what = f"{slip.id}, {slip.subject}"
    if with_tank and bench.tank is not None:
        loads = {"output open": network.with_capacitor(bench.tank)}
        states: list[Steady | None] = [_highest(network, bench.tank)]
    else:
        loads = loaded(network, bench.best)
        states = solved(list(loads.values()))
        if slip.id == "pfc-behind-ballast":
            states[0] = _highest(network, None)
    found, lost = {}, []
    for load, state in zip(loads, states, strict=True):
        if state is None:
            lost.append(f"{what}, {load}")
            continue
        ohms = {"output open": None, "output shorted": 0.0}.get(load, bench.best)
        found[load] = (state, operating(state, ohms))
    return found, tuple(lost)


def _bands(bench: _Bench, slip: Slip, got: _Solved, row: SlipRow) -> dict[str, tuple[float, float]]:
    opened, idle, tank = got.pick("output open"), got.pick("output open", bare=True), slip.id == "safety-gap-missing"
    return slip_bands(
        bench.spreads,
        slip,
        without=_out(bench, slip),
        best=bench.best,
        tank=bench.tank if tank else None,
        opened=opened[0] if opened else None,
        idle=idle[0] if idle else None,
        several=tank or slip.id == "pfc-behind-ballast",
        touch=row.touch,
        figures={
            "open_voltage": row.open_voltage,
            "mains_current": row.mains_current,
            "mains_current_corrected": row.mains_current_corrected,
            "body_current": row.touch.current if row.touch else None,
        },
    )


def _highest(network: Network, tank: float | None) -> Steady | None:
    """Return the steady state with the highest peak across the output, None where the search found none."""
    try:
        states = all_states(network, starts=STARTS) if tank is None else at_tank(network, tank)[1]
    except SolverError:
        return None
    return states[0] if states else None


def _core(slip: Slip, unit: str) -> str:
    return node_of(slip.arrangement, f"{unit}.core")


def _cores(bench: _Bench, slip: Slip, got: _Solved) -> dict[str, float]:
    """Return the highest potential of each core to earth over the loads [V rms]."""
    nodes = {n: _core(slip, n) for n in bench.w.of(Transformer)}
    states = [s for s, _ in got.wired.values()]
    return {n: max(rms(s.potential(core)) for s in states) for n, core in nodes.items() if states}


def _touches(bench: _Bench, slip: Slip, got: _Solved) -> tuple[tuple[Touch, ...], tuple[str, ...]]:
    """Return a body at every core, at the earth joint, at every end of the output and across it, the worst first.

    In a body contact it is the one that the slip is, found with nobody else in the circuit.
    """
    opened = got.pick("output open")
    if opened is None:
        return (), ()
    state, output = opened[0], slip.arrangement.output
    contact = slip.id == "body-contact"
    network = network_of(replace(slip, live=()) if contact else slip, bench.circuits, bench.mains)
    metal = {_core(slip, n) for n in bench.w.of(Transformer)}
    metal |= {bench.w.earth} if state.has(bench.w.earth) else set()
    across = {}
    if contact:
        end = slip.subject
        volts = {end: bench.right.joints[end].to_earth if end in bench.right.joints else float("nan")}
    else:
        places = [*sorted(metal), *(j for j in output if j not in metal)]
        volts = {p: rms(state.potential(p)) for p in places}
        across = {output: opened[1].voltage}
    if slip.id == "safety-gap-missing" and bench.tank is not None:
        network = network.with_capacitor(bench.tank)
    found, missing = touches(network, bench.best, volts, across)
    rows = [replace(t, metal=t.where in metal) for t in found]
    rows.sort(key=lambda t: (t.current <= LET_GO_CURRENT, not t.metal, t.across, -t.current))
    return tuple(rows), tuple(f"{slip.id}, {slip.subject}: {m}" for m in missing)


def _low_side(bench: _Bench, got: _Solved) -> dict[str, float]:
    """Return the potentials to earth of the joints on the mains side with the output open [V rms]."""
    opened = got.pick("output open")
    if opened is None:
        return {}
    low = low_side(bench.w) - {bench.w.earth, EARTH}
    return {j: rms(opened[0].potential(j)) for j in sorted(low) if opened[0].has(j)}


def _charge(bench: _Bench, slip: Slip, got: _Solved) -> Charge | None:
    """Return what a capacitor keeps after this slip, by the highest peak that stands across it."""
    if slip.id == "pfc-no-bleeder":
        part = bench.w.part(slip.unwired)
        ends = [bench.w.node(f"{slip.unwired}.{e}") for e in ("a", "b")]
        if not isinstance(part, Capacitor):
            return None
        peaks = [s.peak(s.voltage(*ends)) for s, _ in got.wired.values()]
        if not peaks or got.unsolved:
            return None
        residual, farads, peak = discharge_rule(bench.design.site)[0], part.value.value, max(peaks)
        time = drain_time(farads, part.bleeder.value, peak, residual) if part.bleeder else None
        return Charge(peak, stored_energy(farads, peak), residual, None, time)
    if slip.id == "tank-lead-open" and bench.tank is not None:
        missing = bench.right.gap_missing
        own = missing.own if missing else None
        if own is None or not own.exact:
            return None
        bleeder = _tank_bleeder(bench.design)
        time = drain_time(bench.tank, bleeder, own.peak, TOUCH_DC) if bleeder is not None and bleeder < inf else None
        return Charge(own.peak, stored_energy(bench.tank, own.peak), TOUCH_DC, time, time)
    return None


def _tank_bleeder(design: Design) -> float | None:
    """Return the bleeders of the tank as one resistance across it [ohm], inf without any, None without a tank."""
    tank = design.tank
    if tank is None:
        return None
    unit = tank_unit(design)
    if tank.strings is None or unit is None:
        return inf
    fitted = tank.strings.bleeder or unit.bleeder
    return fitted.value * tank.strings.series / tank.strings.parallel if fitted else inf


def _tag_of(bench: _Bench, row: SlipRow) -> str:
    breaker, missing = bench.design.site.breaker.value, bench.right.gap_missing
    if row.id == "secondary-shorted" and (row.mains_current_worst or 0.0) > breaker.rated_current:
        return "no-current-limit"
    if row.id == "safety-gap-missing" and missing is not None and row.peak is not None:
        ends = missing.own.ends_peak.values() if missing.own is not None else ()
        return "tank-overvolt-gap-missing" if max(ends, default=0.0) > missing.limit_peak else row.tag
    return row.tag


def _facts(row: SlipRow) -> SlipFacts:
    touch, value = row.touch, None
    if touch is not None:
        value = f"{amperes(touch.current)} through a body at {touch.where}"
        value += f", {volts_rms(touch.voltage)}" if isfinite(touch.voltage) else ""
    where = f"{row.id}, {row.subject}"
    told = row.telltale is not None and row.telltale.test != "limiter"  # that one is read with the mains on
    return SlipFacts(where, row.lethal, told, value, row.unsolved, row.mark)


__all__ = ["NOTES", "slips"]
