"""How far the numbers of a slip may lie off because the parts are known only so well: the whole spread, solved on the
altered network.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from math import exp, log

from coilwright.analyses.results import PartResult
from coilwright.analyses.slip_networks import Slip, network_of
from coilwright.analyses.topology import Wired
from coilwright.analyses.uncertainty import COVERAGE, ORDER, followed, half_width, moved_circuits
from coilwright.analyses.what_ifs import BODY_LOW, BODY_USUAL, Touch, loaded
from coilwright.errors import SolverError
from coilwright.supply.circuits import MainsCircuit, PartCircuit, TransformerCircuit
from coilwright.supply.network import EARTH, Branch, Network
from coilwright.supply.steady import Steady, rms, solve_networks

#: One standard deviation of the logarithm of all stray capacitances together: nobody has measured them, and 95 % lie
#: between half and double (assumption).
STRAY_SPREAD = log(2.0) / COVERAGE

Circuits = Mapping[str, PartCircuit]
Band = tuple[float, float]
Values = list[float | None]
Table = list[tuple[float, float] | None]


@dataclass
class Spreads:
    """The circuits as fitted, then moved by one standard deviation along each axis of their fit, the stray capacitances
    last. Slips that leave one network alike share what was solved of it in ``memo``.
    """

    moved: Sequence[Circuits]
    mains: MainsCircuit
    memo: dict[str, Table] = field(default_factory=dict)

    def networks(self, slip: Slip, without: frozenset[str]) -> list[Network]:
        """Return the altered network of each."""
        return [network_of(slip, c, self.mains, without=without) for c in self.moved]


def spreads_of(w: Wired, circuits: Circuits, mains: MainsCircuit, parts: Mapping[str, PartResult]) -> Spreads | None:
    """Return what the slips' bands are solved on, None where nothing is known of the parts' spread."""
    moved: list[Circuits] = list(moved_circuits(circuits, parts, w.instances))
    if len(moved) == 1:
        return None
    return Spreads([*moved, {name: _with_strays(c) for name, c in circuits.items()}], mains)


def _with_strays(circuit: PartCircuit) -> PartCircuit:
    if not isinstance(circuit, TransformerCircuit):
        return circuit
    names = ("high_to_core", "primary_to_core", "high_to_primary")
    return replace(circuit, **{n: getattr(circuit, n) * exp(STRAY_SPREAD) for n in names})


def slip_bands(
    spreads: Spreads | None,
    slip: Slip,
    *,
    without: frozenset[str],
    best: float | None,
    tank: float | None,
    opened: Steady | None,
    idle: Steady | None,
    several: bool,
    touch: Touch | None,
    figures: Mapping[str, float | None],
) -> dict[str, Band]:
    """Return the 95 % bands of ``figures`` by their names: open_voltage, mains_current, mains_current_corrected and
    body_current.

    Parameters
    ----------
    without
        Correction capacitors that are out of circuit for ``mains_current``.
    tank
        What lies across the output in this slip [F], None without.
    opened, idle, several
        The states with the output open, with and without those capacitors, and whether each is the highest of several:
        then it is followed from there.
    touch
        The body whose current is meant, at its load and its place.
    """
    if spreads is None:
        return {}
    key = repr((slip.arrangement.joints, slip.arrangement.reversed, slip.arrangement.output, slip.bridges, slip.turns))
    live = f"{key} {slip.live} {tank}"

    @cache
    def networks(off: frozenset[str], bodiless: bool) -> list[Network]:
        made = spreads.networks(replace(slip, live=()) if bodiless else slip, off)
        return made if tank is None else [n.with_capacitor(tank) for n in made]

    out: dict[str, Values] = {}
    if opened is not None:
        table = _solved(spreads, live, lambda: networks(frozenset(), False), opened if several else None, _output)
        out |= {"open_voltage": _column(table, 0), "mains_current_corrected": _column(table, 1)}
    if not without:
        out |= {"mains_current": out["mains_current_corrected"]} if out else {}
    elif idle is not None:
        start = idle if several else None
        table = _solved(spreads, f"{live} {sorted(without)}", lambda: networks(without, False), start, _output)
        out["mains_current"] = _column(table, 1)
    if touch is not None:
        contact = slip.id == "body-contact"  # the body is in the circuit already: it is taken out and put there anew
        who = f"{key} {() if contact else slip.live} {tank} {touch.where} {touch.load}"
        table = _solved(
            spreads,
            who,
            lambda: [_touched(n, touch, best) for n in networks(frozenset(), contact)],
            None,
            lambda s: (rms(s.current("body")), 0.0),
        )
        out["body_current"] = _column(table, 0)
    found = {}
    for name, values in out.items():
        value, half = figures.get(name), half_width(values) if values else None
        if value is not None and half is not None:
            found[name] = (max(0.0, value - half), value + half)
    return found


def _touched(network: Network, touch: Touch, best: float | None) -> Network:
    """Return the network at the load of a touch, with the body that carries the larger of its two currents."""
    at = loaded(network, best)[touch.load]
    a, _, b = touch.where.partition(" to ") if touch.across else (touch.where, "", EARTH)
    ohms = BODY_LOW if touch.current_575 >= touch.current_1000 else BODY_USUAL
    return replace(at, branches=(*at.branches, Branch("body", a, b, ohms)))


def _solved(
    spreads: Spreads,
    key: str,
    networks: Callable[[], Sequence[Network]],
    start: Steady | None,
    read: Callable[[Steady], tuple[float, float]],
) -> Table:
    """Return what is read of each network, None where it did not converge: once for slips that leave one network
    alike.
    """
    if key not in spreads.memo:
        made = networks()
        try:
            states = solve_networks(made, highest=ORDER, limit=ORDER) if start is None else followed(made, start)
        except SolverError:
            states = []
        spreads.memo[key] = [None if s is None else read(s) for s in states]
    return spreads.memo[key]


def _output(state: Steady) -> tuple[float, float]:
    """Return the volts across the output and the mains current, the larger of the poles."""
    across = state.network.output
    volts = rms(state.voltage(*across)) if across is not None else 0.0
    return volts, max((rms(state.current(n)) for n in state.mains_poles), default=0.0)


def _column(table: Table, place: int) -> Values:
    return [None if row is None else row[place] for row in table]
