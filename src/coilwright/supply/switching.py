"""Switch-on: the first peak of the mains current when the set is connected at the worst instant, stepped in time.

The network equations with the flux of every iron path as a further state::

    G x + C x' + B i(lam) = b(t),      lam' = B^T x

trapezoidal rule with a Newton solution of every step, from rest (no residual flux).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, exp, pi, sin, sqrt

import numpy as np

from coilwright.errors import SolverError
from coilwright.magnetics.iron import Iron
from coilwright.supply.linear import Real, assemble
from coilwright.supply.network import Network

STEPS_PER_CYCLE = 400
NEWTON_STEPS = 40


@dataclass(frozen=True)
class Transient:
    """Time [s] and the current of each mains source [A], shape (t,)."""

    time: Real
    currents: dict[str, Real]

    def peak(self) -> float:
        """Return the highest current of any source [A]."""
        return max(float(np.abs(i).max()) for i in self.currents.values())


def switch_on(network: Network, phase: float, *, cycles: float = 1.0, steps: int = STEPS_PER_CYCLE) -> Transient:
    """Return the first moments after switching on at ``phase`` of the first source [rad; 0 is its zero crossing,
    rising].

    Raises
    ------
    SolverError
        If a step does not converge.
    """
    equations = assemble(network)
    irons = [p.iron for p in network.ports]
    incidence = equations.incidence
    h = 1 / network.frequency / steps
    shift = (
        phase - pi / 2 - (atan2(network.sources[0].peak.imag, network.sources[0].peak.real) if network.sources else 0.0)
    )
    c = equations.capacitance
    x, lam = np.zeros(c.shape[0]), np.zeros(len(irons))
    slope_x = np.zeros_like(x)
    count = round(cycles * steps)
    out = np.zeros((count, len(network.sources)))
    rows = [equations.index[f"element:{s.name}"] for s in network.sources]
    for k in range(1, count + 1):
        drive = (equations.sources * np.exp(1j * (2 * pi * network.frequency * k * h + shift))).real
        begin = x.copy()
        # The first step is backward Euler: the source jumps there, and the trapezoidal rule would take half of the
        # jump.
        share = 1.0 if k == 1 else 0.5
        rate = 1 / (share * h)
        known = drive + c @ (rate * begin + (1 - share) / share * slope_x)
        across = incidence.T @ begin
        x, lam = _step(equations.conductance + rate * c, incidence, irons, known, begin, lam, across, (h, share), k)
        slope_x = rate * (x - begin) - (1 - share) / share * slope_x
        out[k - 1] = x[rows]
    return Transient(
        np.asarray(h * np.arange(1, count + 1), dtype=float), {s.name: out[:, j] for j, s in enumerate(network.sources)}
    )


def _step(
    fixed: Real,
    incidence: Real,
    irons: list[Iron],
    known: Real,
    x: Real,
    lam: Real,
    across: Real,
    step: tuple[float, float],
    number: int,
) -> tuple[Real, Real]:
    h, share = step
    begin, left = lam, float("nan")
    new = x.copy()
    for _ in range(NEWTON_STEPS):
        flux = begin + h * ((1 - share) * across + share * incidence.T @ new)
        current = np.array([float(i.current(f)) for i, f in zip(irons, flux, strict=True)])
        slope = np.array(
            [
                1 / i.inductance + i.knee_current * i.exponent / i.knee_flux * (f / i.knee_flux) ** (i.exponent - 1)
                for i, f in zip(irons, flux, strict=True)
            ]
        )
        residual = fixed @ new + incidence @ current - known
        jacobian = fixed + h * share * (incidence * slope) @ incidence.T
        change = np.linalg.solve(jacobian, -residual)
        swing = (
            np.abs(h * share * incidence.T @ change / np.array([i.knee_flux for i in irons])).max() if irons else 0.0
        )
        scale = min(1.0, 0.5 / swing) if swing > 0.5 else 1.0
        new = new + scale * change
        left = float(np.abs(change).max())
        if scale == 1.0 and left <= 1e-9 * (1.0 + np.abs(new).max()):
            return new, begin + h * ((1 - share) * across + share * incidence.T @ new)
    raise SolverError("switch-on: a time step did not converge", left, number)


def closing_peak(volts_peak: float, capacitance: float, inductance: float, resistance: float) -> float:
    """Return the first current peak when a discharged capacitor is closed onto the mains at its crest [A].

    Series R-L-C from rest onto a voltage that stands still meanwhile (exact textbook form; the crest moves little in
    the fraction of a millisecond that it takes).

    >>> round(closing_peak(325.3, 60e-6, 0.2e-3, 0.35))
    155
    """
    omega0_squared = 1 / (inductance * capacitance)
    alpha = resistance / (2 * inductance)
    if alpha**2 >= omega0_squared:
        return volts_peak / resistance
    wd = sqrt(omega0_squared - alpha**2)
    at = atan2(wd, alpha) / wd
    return volts_peak / (wd * inductance) * exp(-alpha * at) * sin(wd * at)


def worst_first_peak(network: Network, phases: int = 4) -> float:
    """Return the highest first-cycle mains current over switch-on at ``phases`` instants of half a period [A]."""
    return max(switch_on(network, pi * k / phases).peak() for k in range(phases))
