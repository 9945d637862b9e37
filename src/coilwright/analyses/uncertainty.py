"""How far the supply's numbers may lie off because its parts are known only so well."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coilwright.analyses.marks import mains_mark, output_mark
from coilwright.analyses.results import PartResult
from coilwright.model.design import Arrangement
from coilwright.model.known import Mark
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.network import Network
from coilwright.supply.operating import Operating, operating
from coilwright.supply.search import Search
from coilwright.supply.steady import Steady, all_states, family_of, output_peak, solve_networks

#: Half width of a 95 % band in standard deviations.
COVERAGE = 1.96
#: Harmonics of the difference between two nearly equal networks; what is left out cancels.
ORDER = 9


#: Figure of an operating point -> its key in the printed results, where power alone is the socket's.
FIGURES = {
    "voltage": "voltage",
    "voltage_peak": "voltage_peak",
    "current": "current",
    "power": "load_power",
    "mains_current": "mains_current",
    "mains_current_peak": "mains_current_peak",
    "mains_power": "power",
    "apparent_power": "apparent_power",
    "reactive_power": "reactive_power",
    "power_factor": "power_factor",
}
#: What is zero by its nature, open and short-circuited, and has no band.
NOTHING = {"open_circuit": ("current", "power"), "short_circuit": ("voltage", "voltage_peak", "power")}


@dataclass(frozen=True)
class Spread:
    """Key path -> half width of the 95 % band, SI; and the weakest marks of the parts: for the output, for the rest."""

    half: Mapping[str, float]
    output: Mark
    mains: Mark


def supply_spread(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    parts: Mapping[str, PartResult],
    used: tuple[str, ...],
    best_load: float,
    corrections: frozenset[str],
) -> Spread:
    """Return the bands of every figure of the open, short and best-power points, part by part along the independent
    axes of its fit.

    One standard deviation is applied at a time and the changes are added in squares: first order, independent parts.
    Where a moved network does not converge its axis is counted as wide as the widest one that did.
    """
    moved = moved_circuits(circuits, parts, used)
    marks = output_mark(parts, used), mains_mark(parts, used)
    if len(moved) == 1:
        return Spread({}, *marks)
    full = [build(arrangement, m, mains) for m in moved]
    bare = [build(arrangement, m, mains, without=corrections) for m in moved] if corrections else full
    out: dict[str, float] = {}
    worst: tuple[float, float | None] = (0.0, None)
    for name, load in (("open_circuit", None), ("short_circuit", 0.0), ("best_power", best_load)):
        table = _operating(full, load)
        for figure, key in FIGURES.items():
            if figure in NOTHING.get(name, ()):
                continue
            _put(out, f"{name}.{key}", half_width([None if o is None else getattr(o, figure) for o in table]))
        amps = [None if o is None else o.mains_current for o in (_operating(bare, load) if corrections else table)]
        _put(out, f"{name}.mains_current_uncorrected", half_width(amps))
        worst = max(worst, (amps[0] or 0.0, half_width(amps)), key=lambda w: w[0])
    _put(out, "mains_current_uncorrected", worst[1])
    for key, of in (("idle_current", "mains_current"), ("idle_power_factor", "power_factor")):
        _put(out, f"correction.{key}", out.get(f"open_circuit.{of}"))
    return Spread(out, *marks)


def gap_missing_spread(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    parts: Mapping[str, PartResult],
    used: tuple[str, ...],
    capacitance: float,
    filter_capacitance: float = 0.0,
) -> dict[str, float]:
    """Return the 95 % half widths [V peak] of the highest state with a tank of that capacitance and the gap missing:
    across the output (key "") and of each output joint to earth.

    ``filter_capacitance`` [F] stands from each output end to earth. The state is followed from the fitted parts to the
    moved ones. Empty where nothing is known of the parts' spread, or nothing converged.
    """
    moved = moved_circuits(circuits, parts, used)
    bare = [build(arrangement, m, mains, filter_capacitance=filter_capacitance) for m in moved]
    networks = [n.with_capacitor(capacitance) for n in bare]
    found = all_states(networks[0], starts=24, highest=ORDER)
    if not found or len(moved) == 1:
        return {}
    tops = followed(networks, found[0])
    if tops[0] is None:
        return {}
    output = networks[0].output or ()
    readings: dict[str, list[float | None]] = {"": [None if s is None else output_peak(s) for s in tops]}
    for joint in output:
        readings[joint] = [None if s is None else s.peak(s.potential(joint)) for s in tops]
    widths = {key: half_width(values) for key, values in readings.items()}
    return {key: w for key, w in widths.items() if w is not None}


def followed(networks: Sequence[Network], state: Steady) -> list[Steady | None]:
    """Return the highest state of each network that is found from one of the first's, None where none converged.

    Near a fold it may jump: then the change is as large as the jump, which is what may happen.
    """
    search = Search(family_of(networks), highest=ORDER, limit=ORDER)
    search.add([[state.flux]] * len(networks))
    return [max(search.states(k), key=output_peak, default=None) for k in range(len(networks))]


def moved_circuits(
    circuits: Mapping[str, PartCircuit], parts: Mapping[str, PartResult], used: tuple[str, ...]
) -> list[dict[str, PartCircuit]]:
    """Return the circuits as fitted, then with each part moved by one standard deviation along each axis of its fit."""
    moved: list[dict[str, PartCircuit]] = [dict(circuits)]
    for part in dict.fromkeys(u if u in parts else u.rpartition(".")[0] for u in used):
        moved += [{**circuits, part: variant} for variant in parts[part].spread]
    return moved


def _put(out: dict[str, float], path: str, width: float | None) -> None:
    if width is not None:
        out[path] = width


def _operating(networks: list[Network], load: float | None) -> list[Operating | None]:
    loaded = networks if load is None else [n.with_load(load) for n in networks]
    states = solve_networks(loaded, highest=ORDER, limit=ORDER)
    return [None if s is None else operating(s, load) for s in states]


def half_width(values: Sequence[float | None]) -> float | None:
    """Return the half width of the 95 % band of a figure: ``values`` in the order of ``moved_circuits``, None where a
    moved network did not converge (counted as the widest that did). None where the figure is 0 or nothing was moved.
    """
    base = values[0]
    if not base:
        return None
    changes = np.array([abs(v - base) for v in values[1:] if v is not None])
    if changes.size == 0:
        return None
    lost = len(values) - 1 - changes.size
    return float(COVERAGE * np.sqrt((changes**2).sum() + lost * changes.max() ** 2))
