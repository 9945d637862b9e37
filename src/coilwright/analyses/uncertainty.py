"""How far the supply's numbers may lie off because its parts are known only so well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from coilwright.analyses.results import Estimate, PartResult
from coilwright.model.design import Arrangement
from coilwright.model.known import Mark, weakest
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.network import Network
from coilwright.supply.operating import operating
from coilwright.supply.steady import Steady, solve_networks

#: Half width of a 95 % band in standard deviations.
COVERAGE = 1.96
#: Harmonics of the difference between two nearly equal networks; what is left out cancels.
ORDER = 9


@dataclass(frozen=True)
class Spread:
    """Key path -> relative half width of the 95 % band, and the weakest mark among the parts that carry current."""

    relative: Mapping[str, float]
    mark: Mark


def supply_spread(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    parts: Mapping[str, PartResult],
    used: tuple[str, ...],
    best_load: float,
    corrections: frozenset[str],
) -> Spread:
    """Return the bands of the open, short and best-power figures, part by part along the independent axes of its fit.

    One standard deviation is applied at a time and the changes are added in squares: first order, independent parts.
    Where a moved network does not converge its axis is counted as wide as the widest one that did.
    """
    moved: list[dict[str, PartCircuit]] = [dict(circuits)]
    for part in dict.fromkeys(u if u in parts else u.rpartition(".")[0] for u in used):
        moved += [{**circuits, part: variant} for variant in parts[part].spread]
    marks = [e.mark for u in used for e in _leading(parts, u)]
    if len(moved) == 1:
        return Spread({}, weakest(*marks))
    full = [build(arrangement, m, mains) for m in moved]
    bare = [build(arrangement, m, mains, without=corrections) for m in moved]
    rows = [_figures(full, None), _figures(full, 0.0), _figures(full, best_load), _figures(bare, 0.0)]
    names = (
        {"voltage": "open_circuit.voltage", "mains_current": "open_circuit.mains_current", "power": ""},
        {"current": "short_circuit.current", "mains_current": "short_circuit.mains_current"},
        {"power": "best_power.power", "voltage": "best_power.voltage", "mains_current": "best_power.mains_current"},
        {"mains_current": "mains_current_uncorrected"},
    )
    out: dict[str, float] = {}
    for table, keys in zip(rows, names, strict=True):
        for figure, path in keys.items():
            width = _width([row[figure] if row else None for row in table])
            if path and width is not None:
                out[path] = width
    return Spread(out, weakest(*marks))


def _leading(parts: Mapping[str, PartResult], instance: str) -> list[Estimate]:
    part = parts[instance] if instance in parts else parts[instance.rpartition(".")[0]]
    wanted = ("open_voltage", "short_current", "reactance", "resistance", "capacitance")
    return [part.values[w] for w in wanted if w in part.values]


def _figures(networks: list[Network], load: float | None) -> list[dict[str, float] | None]:
    loaded = networks if load is None else [n.with_load(load) for n in networks]
    return [_of(s, load) for s in solve_networks(loaded, highest=ORDER, limit=ORDER)]


def _of(state: Steady | None, load: float | None) -> dict[str, float] | None:
    if state is None:
        return None
    o = operating(state, load)
    return {"voltage": o.voltage, "current": o.current, "mains_current": o.mains_current, "power": o.power}


def _width(values: list[float | None]) -> float | None:
    base = values[0]
    if not base:
        return None
    changes = np.array([abs(v / base - 1) for v in values[1:] if v is not None])
    if changes.size == 0:
        return None
    lost = len(values) - 1 - changes.size
    return float(COVERAGE * np.sqrt((changes**2).sum() + lost * changes.max() ** 2))
