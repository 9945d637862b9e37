"""Steady states of a network: solved, checked, and handed out with as many harmonics as they need."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from coilwright.errors import SolverError
from coilwright.supply.families import Family, Networks, Reducer, Variants, batch_of
from coilwright.supply.linear import Complex, assemble, reduce
from coilwright.supply.network import Network
from coilwright.supply.search import Search, refined
from coilwright.supply.solving import (
    FIRST_ORDER,
    HIGHEST_ORDER,
    TAIL,
    linear_start,
    odd,
    solve_family,
)
from coilwright.supply.waves import WAVE_SAMPLES, Steady, peak, power, rms, waveform


def solve_networks(
    networks: Sequence[Network], *, highest: int = FIRST_ORDER, limit: int = HIGHEST_ORDER, tail: float = TAIL
) -> list[Steady | None]:
    """Return the steady state of each network from its linear start, None where nothing converged.

    The networks must have the same number of ports. Harmonics are added until the two highest carry less than
    ``tail`` of the knee flux of every port, or ``limit`` is reached.
    """
    return solve_family(family_of(networks), highest=highest, limit=limit, tail=tail)


def family_of(networks: Sequence[Network]) -> Family:
    """Return the networks as a family: as variants where they are one network with different elements across its
    output.
    """
    origins = [n.origin for n in networks]
    first = origins[0] if origins else None
    if first is not None and all(o is not None and o[0] is first[0] for o in origins):
        return Variants(networks)
    return Networks([partial(reduce, assemble(n)) for n in networks])


def solve_reduced(
    reducers: Sequence[Reducer], *, highest: int = FIRST_ORDER, limit: int = HIGHEST_ORDER, tail: float = TAIL
) -> list[Steady | None]:
    """Return the same as ``solve_networks`` for problems given by what their ports see at any set of harmonics."""
    return solve_family(Networks(reducers), highest=highest, limit=limit, tail=tail)


def solve_network(network: Network, *, highest: int = FIRST_ORDER, limit: int = HIGHEST_ORDER) -> Steady:
    """Return one steady state of the network.

    Raises
    ------
    SolverError
        If nothing converged. There is no number to show then.
    """
    state = solve_networks([network], highest=highest, limit=limit)[0]
    if state is None:
        raise SolverError("no steady state was found for this network")
    return state


def all_states(
    network: Network,
    *,
    starts: int = 60,
    seed: int = 0,
    highest: int = 25,
    seeds: Sequence[Complex] = (),
    measure: Callable[[Steady], float] | None = None,
) -> list[Steady]:
    """Return every steady state that a search from many starts finds, highest ``measure`` first (default: peak
    output).

    ``seeds`` are fluxes (h, p) of solved neighbours to start from besides; see ``Search``. An empty list means that
    nothing converged.
    """
    search = Search(family_of([network]), highest=highest)
    search.from_many_starts(starts, seed)
    search.add([list(seeds)])
    return sorted(search.states(0), key=measure or output_peak, reverse=True)


def output_peak(state: Steady) -> float:
    """Return the highest instantaneous voltage across the output [V]; 0 where there is none."""
    output = state.network.output
    return state.peak(state.voltage(*output)) if output else 0.0


__all__ = [
    "FIRST_ORDER",
    "HIGHEST_ORDER",
    "TAIL",
    "WAVE_SAMPLES",
    "Steady",
    "all_states",
    "batch_of",
    "family_of",
    "linear_start",
    "odd",
    "output_peak",
    "peak",
    "power",
    "refined",
    "rms",
    "solve_family",
    "solve_network",
    "solve_networks",
    "solve_reduced",
    "waveform",
]
