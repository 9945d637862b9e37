"""Resonances of a distributed winding with everything around it, by a spectral method.

On the winding x runs from -1 (base) to 1 (top). The current is a sum of Legendre polynomials P_k, the potential one of
their integrals W_j from the base, so that the base is at 0 V and the top at 2 v_0. With L the inductance and C the
capacitance in these functions (charges from boundary elements) the modes are those of D L^-1 D v = w^2 C v,
D = diag 2/(2j + 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg

from coilwright.fields.boundary import Charges
from coilwright.fields.loops import Real, ring_self_inductance
from coilwright.fields.turns import Turns

#: Functions along the winding: 14 leave 1e-9 of the first frequency and 2e-6 of the third.
FUNCTIONS = 14


def legendre(x: Real, count: int) -> Real:
    """Return P_0 .. P_(count-1) at x, shape (count, n)."""
    out = np.empty((max(count, 2), x.size))
    out[0], out[1] = 1.0, x
    for k in range(1, count - 1):
        out[k + 1] = ((2 * k + 1) * x * out[k] - k * out[k - 1]) / (k + 1)
    return out[:count]


def potentials(x: Real, count: int) -> Real:
    """Return W_j, the integrals of P_j from -1 to x, shape (count, n): (P_(j+1) - P_(j-1)) / (2j + 1), W_0 = 1 + x."""
    p = legendre(x, count + 1)
    out = np.empty((count, x.size))
    out[0] = 1 + x
    j = np.arange(1, count)[:, None]
    out[1:] = (p[2:] - p[:-2]) / (2 * j + 1)
    return out


def places(turns: Turns) -> Real:
    """Return where each turn of a uniform winding lies, -1 + (2 i - 1)/n."""
    n = turns.radius.size
    return np.asarray((2 * np.arange(n) + 1) / n - 1)


def modal_inductance(turns: Turns, offsets: Real, count: int = FUNCTIONS) -> Real:
    """Return L_kl = sum over turns of P_k(x_i) M_ij P_l(x_j), shape (count, count) [H].

    ``offsets`` (n,) are the inductances of a turn with itself and each further one; the product is a convolution.
    """
    p = legendre(places(turns), count)
    n = p.shape[1]
    size = 1 << (2 * n - 1).bit_length()
    kernel = np.zeros(size)
    kernel[:n] = offsets
    kernel[size - n + 1 :] = offsets[:0:-1]
    spread = np.fft.irfft(np.fft.rfft(p, size, axis=1) * np.fft.rfft(kernel), size, axis=1)[:, :n]
    out = p @ spread.T
    return np.asarray((out + out.T) / 2)


@dataclass(frozen=True)
class ModalCapacitance:
    """C in the functions of the winding (count, count) [F], and the charges (nodes, count) [C] of each function."""

    matrix: Real
    charges: Real


def modal_capacitance(charges: Charges, winding: int, top: int | None, count: int = FUNCTIONS) -> ModalCapacitance:
    """Return the capacitance of a winding with everything else, base and all other bodies at 0 V, the top load joined
    to the winding's upper end.

    ``winding`` and ``top`` are numbers of conductors; ``top`` None: the winding ends free.
    """
    body = charges.body
    on = body == winding
    z = charges.mesh.z[on[: charges.mesh.size]]
    held = np.zeros((body.size, count))
    low, high = _ends(charges, winding)
    held[on] = potentials(2 * (z - low) / (high - low) - 1, count).T
    if top is not None:
        held[body == top, 0] = 2.0  # W_0(1); every other W is 0 there
    q = charges.of(held)
    c = held.T @ q
    return ModalCapacitance(np.asarray((c + c.T) / 2), q)


def _ends(charges: Charges, body: int) -> tuple[float, float]:
    curve = next(c for c in charges.mesh.curves if c.body == body)
    return min(curve.b, curve.d), max(curve.b, curve.d)


def gradient_energy(count: int = FUNCTIONS) -> Real:
    """Return the integral of V'^2 over x for each function, diag 2/(2j + 1), as a matrix: what a dielectric skin or the
    capacitance from turn to turn multiplies.
    """
    return np.diag(2.0 / (2 * np.arange(count) + 1))


@dataclass(frozen=True)
class Mode:
    """One resonance with 1 V at the top (or the largest along the winding where the top is a node).

    ``voltage`` (count,) and ``current`` (count,) are the coefficients of W_j and P_k [V, A]; ``effective_capacitance``
    = v'Cv and ``effective_inductance`` = 1/(w^2 C) at that voltage; ``base_inductance`` = i'Li / I_base^2.
    """

    frequency: float
    voltage: Real
    current: Real
    effective_capacitance: float
    effective_inductance: float
    base_inductance: float
    base_current: float


def modes(inductance: Real, capacitance: Real, count: int = 3) -> tuple[Mode, ...]:
    """Return the lowest resonances, lowest first."""
    n = inductance.shape[0]
    d = 2.0 / (2 * np.arange(n) + 1)
    stiffness = d[:, None] * linalg.inv(inductance, check_finite=False) * d
    squares, vectors = linalg.eigh(stiffness, capacitance, subset_by_index=[0, count - 1], check_finite=False)
    return tuple(
        _mode(float(w2), vectors[:, k], inductance, capacitance, d) for k, w2 in enumerate(np.asarray(squares))
    )


def _mode(square: float, v: Real, inductance: Real, capacitance: Real, d: Real) -> Mode:
    omega = float(np.sqrt(square))
    top = 2 * float(v[0])
    x = np.linspace(-1, 1, 101)
    along = v @ potentials(x, v.size)
    largest = float(np.abs(along).max())
    scale = top if abs(top) > 1e-3 * largest else largest
    v = v / scale
    i = linalg.solve(inductance, d * v, assume_a="pos") / omega
    energy = float(v @ capacitance @ v)
    base = float(i @ ((-1.0) ** np.arange(v.size)))
    return Mode(
        omega / (2 * np.pi),
        v,
        i,
        energy,
        1 / (square * energy),
        float(i @ inductance @ i) / base**2 if base else float("inf"),
        base,
    )


def profile(mode: Mode, x: Real) -> tuple[Real, Real]:
    """Return potential [V] and current [A] along the winding at x in -1 .. 1, for 1 V at the top."""
    n = mode.voltage.size
    return np.asarray(mode.voltage @ potentials(x, n)), np.asarray(mode.current @ legendre(x, n))


def surface_offsets(turns: Turns, offsets: Real, internal: float) -> Real:
    """Return the offsets with the self term of another share of internal inductance."""
    out = offsets.copy()
    out[0] = float(ring_self_inductance(turns.radius[0], turns.wire_radius, internal))
    return out


__all__ = [
    "FUNCTIONS",
    "ModalCapacitance",
    "Mode",
    "gradient_energy",
    "legendre",
    "modal_capacitance",
    "modal_inductance",
    "modes",
    "places",
    "potentials",
    "profile",
    "surface_offsets",
]
