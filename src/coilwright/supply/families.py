"""Problems of one shape that are solved as one batch, and how each problem's steady state follows from the outcome."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coilwright.supply.balance import Balance, Batch
from coilwright.supply.linear import Complex, Reduced, Terminal, assemble, reduce_with_output
from coilwright.supply.network import Branch, Network
from coilwright.supply.waves import Steady

Places = NDArray[np.int64]
Reducer = Callable[[NDArray[np.int64]], Reduced]


class Family(Protocol):
    """Problems with the same number of ports, numbered from 0."""

    @property
    def count(self) -> int:
        """Return how many problems there are."""

    def batch(self, harmonics: NDArray[np.int64], places: Places) -> Batch:
        """Return some of the problems at the given harmonics."""

    def steady(self, harmonics: NDArray[np.int64], places: Places, result: Balance, rows: Places) -> list[Steady]:
        """Return the steady states of some problems: ``rows`` says where each stands in the result."""


def batch_of(reduced: Sequence[Reduced]) -> Batch:
    """Return the ports of several networks with the same number of ports as one batch."""
    if len(reduced) == 1:
        one = reduced[0]
        flux, current, exponent = one.equations.iron
        return Batch(
            np.array([one.equations.omega]),
            one.harmonics,
            one.open[None],
            one.impedance[None],
            flux[None],
            current[None],
            exponent[None],
        )
    irons = [r.equations.iron for r in reduced]
    return Batch(
        np.array([r.equations.omega for r in reduced]),
        reduced[0].harmonics,
        np.stack([r.open for r in reduced]),
        np.stack([r.impedance for r in reduced]),
        np.stack([i[0] for i in irons]),
        np.stack([i[1] for i in irons]),
        np.stack([i[2] for i in irons]),
    )


class Networks:
    """Unlike networks, each given by what its ports see at any set of harmonics."""

    def __init__(self, reducers: Sequence[Reducer]) -> None:
        self._reducers = reducers
        self._reduced: dict[tuple[int, int], Reduced] = {}

    @property
    def count(self) -> int:
        """Return how many problems there are."""
        return len(self._reducers)

    def _at(self, harmonics: NDArray[np.int64], k: int) -> Reduced:
        key = (int(harmonics[-1]), k)
        if key not in self._reduced:
            self._reduced[key] = self._reducers[k](harmonics)
        return self._reduced[key]

    def batch(self, harmonics: NDArray[np.int64], places: Places) -> Batch:
        """Return some of the problems at the given harmonics."""
        return batch_of([self._at(harmonics, k) for k in places.tolist()])

    def steady(self, harmonics: NDArray[np.int64], places: Places, result: Balance, rows: Places) -> list[Steady]:
        """Return the steady states of some problems: ``rows`` says where each stands in the result."""
        out = []
        for k, row in zip(places.tolist(), rows.tolist(), strict=True):
            r = self._at(harmonics, k)
            x = r.rest - np.matmul(r.transfer, result.current[row][:, :, None])[:, :, 0]
            out.append(Steady(r.equations.network, harmonics, x, result.flux[row], float(result.residual[row])))
        return out


class Variants:
    """One network with different elements across its output: what its ports see changes by one row and column.

    Exact: an element draws I = (V_open - z I_ports) / (Z_out + Z), which is put back into the port equations.
    """

    def __init__(self, networks: Sequence[Network]) -> None:
        origins = [n.origin for n in networks]
        self.networks = networks
        self._elements = [o[1] for o in origins if o is not None]
        #: Resistance, inductance and inverse capacitance of each element.
        self._parts = np.array(
            [
                (e.resistance, e.inductance, 0.0) if isinstance(e, Branch) else (0.0, 0.0, 1 / e.capacitance)
                for e in self._elements
            ]
        )
        first = origins[0] if origins else None
        if first is None or any(o is None or o[0] is not first[0] for o in origins):
            raise ValueError("variants are one network with one element across its output each")
        self._base = assemble(first[0])
        self._drawn: dict[tuple[bytes, bytes], Complex] = {}

    @property
    def count(self) -> int:
        """Return how many problems there are."""
        return len(self.networks)

    def _draws(self, harmonics: NDArray[np.int64], places: Places) -> tuple[Reduced, Terminal, Complex]:
        """Return the plain view, the output's, and the admittance of output and element in series, (k, h)."""
        plain, output = reduce_with_output(self._base, harmonics)
        key = harmonics.tobytes(), places.tobytes()
        if key not in self._drawn:
            resistance, inductance, elastance = self._parts[places].T[:, :, None]
            s = 1j * self._base.omega * harmonics
            z = resistance + s * inductance + elastance / s
            self._drawn[key] = np.asarray(1 / (output.impedance + z))
        return plain, output, self._drawn[key]

    def batch(self, harmonics: NDArray[np.int64], places: Places) -> Batch:
        """Return some of the problems at the given harmonics."""
        plain, output, y = self._draws(harmonics, places)
        k = places.size
        flux, current, exponent = self._base.iron
        return Batch(
            np.full(k, self._base.omega),
            harmonics,
            plain.open - output.from_ports * (y * output.open)[:, :, None],
            plain.impedance - output.through * y[:, :, None, None],
            np.repeat(flux[None], k, axis=0),
            np.repeat(current[None], k, axis=0),
            np.repeat(exponent[None], k, axis=0),
        )

    def steady(self, harmonics: NDArray[np.int64], places: Places, result: Balance, rows: Places) -> list[Steady]:
        """Return the steady states of some problems: ``rows`` says where each stands in the result."""
        plain, output, y = self._draws(harmonics, places)
        current = result.current[rows]
        drawn = y * (output.open - (current * output.to_ports).sum(axis=2))  # the element's current, (k, h)
        x = plain.rest - np.matmul(plain.transfer, current.transpose(1, 2, 0)).transpose(2, 0, 1)
        x -= output.x * drawn[:, :, None]
        with_row = np.concatenate([x, drawn[:, :, None]], axis=2)
        out = []
        for m, (k, row) in enumerate(zip(places.tolist(), rows.tolist(), strict=True)):
            whole = with_row[m] if isinstance(self._elements[k], Branch) else x[m]
            out.append(Steady(self.networks[k], harmonics, whole, result.flux[row], float(result.residual[row])))
        return out
