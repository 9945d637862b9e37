"""Many loads across the output of one network: the network is solved once, each load changes what its ports see by
one row.

(Exact: a load draws I = (V_open - z I_ports) / (Z_out + Z_load), which is put back into the port equations.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilwright.supply.linear import Equations, Reduced, Terminal, assemble, loaded, reduce_with_output
from coilwright.supply.network import Network
from coilwright.supply.steady import FIRST_ORDER, HIGHEST_ORDER, TAIL, Steady, solve_reduced


class Output:
    """One network with its output kept open for loads; what was computed for one set of harmonics is kept."""

    def __init__(self, network: Network) -> None:
        self.equations = assemble(network)
        self._views: dict[int, tuple[Reduced, Terminal]] = {}

    def view(self, harmonics: NDArray[np.int64]) -> tuple[Reduced, Terminal]:
        """Return the ports' and the output's view at the harmonics."""
        key = int(harmonics[-1])
        if key not in self._views:
            self._views[key] = reduce_with_output(self.equations, harmonics)
        return self._views[key]

    def with_resistance(self, resistance: float, harmonics: NDArray[np.int64]) -> Reduced:
        """Return the ports' view with a resistance across the output [ohm]; its current is the branch "load"."""
        plain, output = self.view(harmonics)
        equations = _named(self.equations, resistance)
        return loaded(plain, output, np.full(harmonics.size, resistance, dtype=complex), equations)


def _named(equations: Equations, resistance: float) -> Equations:
    """Return the same equations under the loaded network's name, with a place for the load's current behind the
    others.
    """
    index = {**equations.index, "element:load": equations.sources.size}
    return replace(equations, network=equations.network.with_load(resistance), index=index)


def solve_loads(
    network: Network,
    resistances: Sequence[float],
    *,
    highest: int = FIRST_ORDER,
    limit: int = HIGHEST_ORDER,
    tail: float = TAIL,
) -> list[Steady | None]:
    """Return the steady state with each resistance [ohm] across the output, None where nothing converged.

    The same as ``solve_networks`` of ``network.with_load(r)``, for a fraction of the work. The load's current is the
    branch "load". A state from here has the equations of the open network: it can be read out, not refined.
    """
    output = Output(network)

    def reducer(resistance: float) -> Callable[[NDArray[np.int64]], Reduced]:
        return lambda harmonics: output.with_resistance(resistance, harmonics)

    return solve_reduced([reducer(r) for r in resistances], highest=highest, limit=limit, tail=tail)
