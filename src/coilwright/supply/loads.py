"""Many loads across the output of one network: the network is solved once, each load changes what its ports see by
one row.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from coilwright.supply.families import Variants
from coilwright.supply.linear import Reduced, Terminal, assemble, loaded, reduce_with_output
from coilwright.supply.network import Network
from coilwright.supply.solving import FIRST_ORDER, HIGHEST_ORDER, TAIL, solve_family
from coilwright.supply.waves import Steady


class Output:
    """One network with its output kept open for loads."""

    def __init__(self, network: Network) -> None:
        self.equations = assemble(network)

    def view(self, harmonics: NDArray[np.int64]) -> tuple[Reduced, Terminal]:
        """Return the ports' and the output's view at the harmonics."""
        return reduce_with_output(self.equations, harmonics)

    def with_resistance(self, resistance: float, harmonics: NDArray[np.int64]) -> Reduced:
        """Return the ports' view with a resistance across the output [ohm]; its current is the branch "load"."""
        plain, output = self.view(harmonics)
        equations = assemble(self.equations.network.with_load(resistance))
        return loaded(plain, output, np.full(harmonics.size, resistance, dtype=complex), equations)


def solve_loads(
    network: Network,
    resistances: Sequence[float],
    *,
    highest: int = FIRST_ORDER,
    limit: int = HIGHEST_ORDER,
    tail: float = TAIL,
) -> list[Steady | None]:
    """Return the steady state with each resistance [ohm] across the output, None where nothing converged.

    The same as ``solve_networks`` of ``network.with_load(r)``, which it calls. The load's current is the branch "load".
    """
    if not resistances:
        return []
    variants = Variants([network.with_load(r) for r in resistances])
    return solve_family(variants, highest=highest, limit=limit, tail=tail)
