"""The first test on the mains: the set behind a lamp or a heater. Which one tells right from wrong, what each mistake
shows, and what a touch still does: all of it solved.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import hypot

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.limiter_results import (
    LimitedPoint,
    LimitedSlip,
    LimitedTouch,
    LimiterChoice,
    LimiterResult,
    Wanted,
)
from coilwright.analyses.results import ShelfResult
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.sides import correction_capacitors, floating_pairs, low_side
from coilwright.analyses.slip_networks import network_of, slips_of
from coilwright.analyses.topology import Wired, wired_with
from coilwright.analyses.uncertainty import half_width, moved_circuits
from coilwright.errors import InputError, Problem, SolverError
from coilwright.model.design import Arrangement, Design
from coilwright.protection.body import BODY_RESISTANCES, LET_GO_CURRENT
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules import collect
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, listed, residual, volts_rms
from coilwright.supply.build import build, mains_circuit
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.limiter import LIMITER, LINE_SIDE, Limiter, LimiterKind, mains_volts, settle
from coilwright.supply.network import EARTH, Branch, Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, rms

#: Our rule for telling two readings apart by eye and by any meter, and for a limiter that lets the set wake at all:
#: shorted it shows at least half as much again as open, and open it takes at most 45 % of the mains. No published
#: source.
SHORT_OVER_OPEN = 1.5
OPEN_SHARE = 0.45
#: Lamps and heaters that are sold [W].
USUAL_POWERS = (25.0, 40.0, 60.0, 100.0, 150.0, 200.0, 300.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0)
KINDS: tuple[LimiterKind, ...] = ("lamp", "heater")
#: How far a lamp or a heater may be off its rated watts (assumption; heaters: +5 to -10 % by IEC 60335-1 cl. 10.1,
#: from memory).
RATING_TOLERANCE = 0.10
#: Volts by which two readings at the limiter must differ besides (assumption: less is nothing to the eye).
LEAST_DIFFERENCE = 10.0
#: Slips that cannot be there in this test: capacitors are off, and a body is told of by itself.
NOT_HERE = frozenset({"pfc-no-bleeder", "pfc-behind-ballast", "body-contact"})
#: Volts and amperes below this are the solver's rest of nothing.
NOTHING = 1e-6
OPEN, SHORTED = "output open", "output shorted"

NOTES = (
    "Correction capacitors and tank are off in these figures; one left on changes both readings.",
    "A lamp or heater is taken as rated for this mains, at its usual colour; read it once it has settled.",
    "Separates: shorted at least 1.5 x the volts of open, and open at most 45 % of the mains. Our rule, no source.",
)

Circuits = Mapping[str, PartCircuit]


def limiter(
    design: Design, wanted: Wanted, *, arrangement: Arrangement | None = None, shelf: ShelfResult | None = None
) -> LimiterResult:
    """Return what a lamp or heater in series with the line shows, and which others would tell right from wrong.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses.
    wanted
        The limiter. It is taken as rated for the mains of the site.
    shelf
        The shelf result, if it is at hand already.

    Raises
    ------
    InputError
        If there is no arrangement, it uses a part that has no circuit, or no mains pole is wired.
    SolverError
        If open or short circuit behind this limiter has no converged answer; no number is shown then.
    """
    chosen = arrangement or design.chosen()
    if chosen is None:
        hint = "Take a row of the plan into the project, or write [[arrangement]]."
        raise InputError([Problem("arrangement", None, "there is no arrangement to put a limiter in front of", hint)])
    known = shelf or identify(design)
    circuits = circuits_of(chosen, design, known)
    mains = mains_circuit(design.site)
    w = wired_with(chosen, design, circuits)
    off = correction_capacitors(w)
    network = build(chosen, circuits, mains, without=off)
    if not network.sources:
        where = chosen.where or "arrangement"
        message = "no mains pole is in any joint, so nothing can stand in series with it"
        raise InputError([Problem(where, design.line_of(where), message, "Wire mains.line into a joint.")])
    supply = mains_volts(network)
    device = Limiter(_kind(wanted.kind), wanted.power, supply)
    states = {OPEN: network, SHORTED: network.with_load(0.0)}
    moved = [build(chosen, c, mains, without=off) for c in moved_circuits(circuits, known.parts, w.instances)[1:]]
    opened, shorted = _points(
        {OPEN: [network, *moved], SHORTED: [n.with_load(0.0) for n in (network, *moved)]}, device, w
    )
    separates, words = _verdict(opened.limiter_voltage, shorted.limiter_voltage, supply)
    touches, untouched = _touches(network, device, w)
    fixed = design.site.plug.value == "fixed wiring"
    slips = _slips(w, circuits, mains, off, device, (opened, shorted), fixed=fixed)
    choices = _choices(states, supply)
    unconverged = (
        *untouched,
        *(s.done for s in slips if s.open_voltage is None or s.short_voltage is None),
        *(f"{c.kind} of {c.power:g} W" for c in choices if c.separates is None),
    )
    result = LimiterResult(
        chosen.name,
        device.kind,
        device.power,
        device.voltage,
        device.resistance(0.0),
        device.resistance(device.voltage),
        supply,
        opened,
        shorted,
        separates,
        words,
        choices,
        slips,
        touches,
        _deadly(touches),
        tuple(sorted(off)),
        unconverged=unconverged,
        notes=NOTES,
    )
    return replace(result, tags=collect(_tags(result), answers=design.answers))


def _kind(word: str) -> LimiterKind:
    if word not in KINDS:
        raise InputError([Problem("--through", None, f'found "{word}"', "expected a lamp or a heater")])
    return "lamp" if word == "lamp" else "heater"


def behind(networks: Mapping[str, Network], device: Limiter) -> dict[str, float | None]:
    """Return what the limiter shows in front of each network [V rms], None where nothing converged."""
    out: dict[str, float | None] = dict.fromkeys(networks)
    for paths in {len(n.ports) for n in networks.values()}:
        names = [name for name, n in networks.items() if len(n.ports) == paths]
        states = settle([(networks[name], device) for name in names])
        out |= {n: None if s is None else _across(s) for n, s in zip(names, states, strict=True)}
    return out


def tells_apart(a: float | None, b: float | None) -> bool | None:
    """Return whether two readings at the limiter differ by the rule; None where one of them is not known."""
    if a is None or b is None:
        return None
    low, high = sorted((a, b))
    return high >= SHORT_OVER_OPEN * low and high - low >= LEAST_DIFFERENCE


def _across(state: Steady) -> float:
    return rms(state.voltage(LINE_SIDE, _set_node(state)))


def _set_node(state: Steady) -> str:
    return next(b.b for b in state.network.branches if b.name == LIMITER)


# ---- right -----------------------------------------------------------------------------------------------------------


def _points(states: Mapping[str, Sequence[Network]], device: Limiter, w: Wired) -> tuple[LimitedPoint, LimitedPoint]:
    """Return open and shorted. ``states`` hold each network as fitted, then with its parts moved one by one."""
    scales = (1 / (1 + RATING_TOLERANCE), 1 / (1 - RATING_TOLERANCE))
    cases = [(n, device) for networks in states.values() for n in networks]
    cases += [(networks[0], replace(device, scale=k)) for networks in states.values() for k in scales]
    made, off = settle(cases), [len(networks) for networks in states.values()]
    points = []
    for place, name in enumerate(states):
        first = sum(off[:place])
        middle, *parts = made[first : first + off[place]]
        rated = made[sum(off) + 2 * place :][:2]
        if middle is None:
            raise SolverError(f"no steady state behind the limiter with the {name}")
        load = None if name == OPEN else 0.0
        figures = _figures(middle, load, w)
        others = [[None if s is None else _figures(s, load, w) for s in found] for found in (parts, rated)]
        bands: dict[str, tuple[float, float]] = {}
        for key, value in figures.items():
            moved, ends = ([None if f is None else f[key] for f in found] for found in others)
            band = _band(value, moved, [v for v in ends if v is not None])
            bands |= {key: band} if band is not None else {}
        points.append(LimitedPoint(**figures, bands=bands))
    return points[0], points[1]


def _figures(state: Steady, load: float | None, w: Wired) -> dict[str, float]:
    at, last = operating(state, load), state.network.sources[-1].a
    return {
        "limiter_voltage": _across(state),
        "set_voltage": rms(state.voltage(_set_node(state), last if last != LINE_SIDE else w.earth)),
        "current": rms(state.current(LIMITER)),
        "output_voltage": at.voltage,
        "output_peak": at.voltage_peak,
        "output_current": at.current,
    }


def _band(value: float, moved: Sequence[float | None], rated: Sequence[float]) -> tuple[float, float] | None:
    """Return the 95 % band: what the parts leave open and what the limiter's rating does, added in squares on either
    side. None for nothing, or where a limiter off its rating has no answer.
    """
    if len(rated) < 2 or abs(value) < NOTHING:
        return None
    parts = half_width([value, *moved]) or 0.0
    return max(0.0, value - hypot(value - min(value, *rated), parts)), value + hypot(max(value, *rated) - value, parts)


def _separates(opened: float, shorted: float, supply: float) -> bool:
    return shorted >= SHORT_OVER_OPEN * opened and opened <= OPEN_SHARE * supply


def _verdict(opened: float, shorted: float, supply: float) -> tuple[bool, str]:
    """Return whether the limiter tells open from shorted, and why in words."""
    seen = f"{volts_rms(opened)} across it with the output open, {volts_rms(shorted)} shorted"
    if _separates(opened, shorted, supply):
        return True, f"It tells the two apart: {seen}."
    if shorted < SHORT_OVER_OPEN * opened:
        reason = "the two are too alike for the eye, and near for a meter"
    else:
        reason = f"open it already takes {100 * opened / supply:.0f} % of the mains, so the set hardly wakes"
    return False, f"It tells nothing: {seen}; {reason}."


def _choices(states: Mapping[str, Network], supply: float) -> tuple[LimiterChoice, ...]:
    """Return every usual lamp and heater with its verdict."""
    devices = [Limiter(kind, power, supply) for kind in KINDS for power in USUAL_POWERS]
    made = settle([(n, d) for d in devices for n in (states[OPEN], states[SHORTED])])
    out = []
    for k, device in enumerate(devices):
        pair = made[2 * k : 2 * k + 2]
        opened, shorted = (None if s is None else _across(s) for s in pair)
        verdict = None if opened is None or shorted is None else _separates(opened, shorted, supply)
        out.append(LimiterChoice(device.kind, device.power, opened, shorted, verdict))
    return tuple(out)


# ---- wrong -----------------------------------------------------------------------------------------------------------


def _slips(
    w: Wired,
    circuits: Circuits,
    mains: MainsCircuit,
    off: frozenset[str],
    device: Limiter,
    right: tuple[LimitedPoint, LimitedPoint],
    *,
    fixed: bool,
) -> tuple[LimitedSlip, ...]:
    """Return every single mistake that can be there before this test, with the output open and shorted."""
    slips = [s for s in slips_of(w, tank=False, fixed=fixed) if s.id not in NOT_HERE]
    networks = [network_of(s, circuits, mains, without=off) for s in slips]
    cases = {f"{k} open": n for k, n in enumerate(networks)}
    cases |= {f"{k} short": n.with_load(0.0) for k, n in enumerate(networks)}
    volts = behind(cases, device)
    out = []
    for k, slip in enumerate(slips):
        opened, shorted = volts[f"{k} open"], volts[f"{k} short"]
        tells = (tells_apart(opened, right[0].limiter_voltage), tells_apart(shorted, right[1].limiter_voltage))
        out.append(LimitedSlip(slip.id, slip.subject, slip.done, opened, shorted, *tells))
    return tuple(out)


# ---- people ----------------------------------------------------------------------------------------------------------


def _touches(network: Network, device: Limiter, w: Wired) -> tuple[tuple[LimitedTouch, ...], tuple[str, ...]]:
    """Return what a body meets at the output with the limiter in the line, the heaviest first, and what was not
    solved.
    """
    low = low_side(w)
    ends = [j for j in w.arrangement.output if j != w.earth and j not in low]
    places: list[tuple[str, str, str]] = [(j, j, EARTH) for j in ends]
    places += [(f"{a} to {b}", a, b) for a, b in floating_pairs(w)]
    free = settle([(network, device)])[0]
    asked = [_body(network, a, b, ohms) for _, a, b in places for ohms in BODY_RESISTANCES]
    states = iter(settle([(n, device) for n in asked]))
    found, missing = [], []
    for where, a, b in places:
        low_ohms, usual = next(states), next(states)
        if free is None or low_ohms is None or usual is None:
            missing.append(f"body at {where} behind the limiter")
            continue
        amps = rms(low_ohms.current("body")), rms(usual.current("body"))
        leaking = operating(low_ohms, None).residual_current
        found.append(LimitedTouch(where, rms(free.voltage(a, b)), *amps, leaking, b != EARTH))
    return tuple(sorted(found, key=lambda t: -t.current)), tuple(missing)


def _body(network: Network, a: str, b: str, ohms: float) -> Network:
    return replace(network, branches=(*network.branches, Branch("body", a, b, ohms)))


def _deadly(touches: Sequence[LimitedTouch]) -> str:
    """Return what is said beside every figure: the limiter takes nothing off the output's danger."""
    if not touches:
        return "What a touch draws behind the limiter is not known: count every high-voltage end as deadly."
    worst = touches[0]
    drawn = f"{amperes(worst.current)} through a body at {worst.where}, the limiter in the line"
    if worst.current > LET_GO_CURRENT:
        times = worst.current / LET_GO_CURRENT
        return f"The output is STILL DEADLY: {drawn}; that is {times:.0f} x the 5 mA at which a hand may not let go."
    return f"Keep off the output all the same: {drawn}. Another load, lamp or fault changes that figure."


def _tags(result: LimiterResult) -> tuple[Tag, ...]:
    found, where = [], f"output behind the {result.power:g} W {result.kind}"
    if result.touches:
        worst = result.touches[0]
        said = f"{volts_rms(worst.voltage)}, {amperes(worst.current)} through a body at {worst.where}"
        found.append(raise_tag("supply-kills", where, value=said, number=worst.current, bound=LET_GO_CURRENT))
        sees = f"sees {residual(worst.residual)} of it"
        found.append(raise_tag("rcd-blind", where, value=sees, number=worst.residual))
    if result.unconverged:
        found.append(raise_tag("not-converged", "limiter", value=listed(result.unconverged)))
    return tuple(found)


__all__ = ["OPEN_SHARE", "SHORT_OVER_OPEN", "USUAL_POWERS", "behind", "limiter", "tells_apart"]
