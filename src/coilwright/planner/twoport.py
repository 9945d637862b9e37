"""Parts as two-ports at the fundamental, many at once: the planner's quick estimate.

A chain (A, B, C, D) relates ``V1 = A V2 + B I2``, ``I1 = C V2 + D I2`` with I2 leaving the output. Iron is replaced
by the inductance that draws the same fundamental at the same flux (describing function), so that open and short
circuit of one saturating part come out within some per cent; finalists are solved exactly. All volts and amperes are
rms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilwright.magnetics.iron import Iron, mean_even_power
from coilwright.supply.circuits import ChokeCircuit, ResistorCircuit, TransformerCircuit

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: Currents of every current table [A rms], equal steps of the logarithm.
CURRENTS: Real = np.geomspace(0.02, 400.0, 56)
_LOG_FIRST = float(np.log(CURRENTS[0]))
_LOG_STEP = float(np.log(CURRENTS[1] / CURRENTS[0]))


def at_current(table: Complex | Real, current: Real) -> Complex | Real:
    """Interpolate rows of a table over ``CURRENTS``. ``table`` (..., 56), ``current`` (..., m); both are broadcast
    but for the last axis.
    """
    place = np.clip((np.log(np.maximum(current, 1e-9)) - _LOG_FIRST) / _LOG_STEP, 0.0, CURRENTS.size - 1.001)
    k = place.astype(np.int64)
    part = place - k
    shape = np.broadcast_shapes(table.shape[:-1], current.shape[:-1])
    full = np.broadcast_to(table, (*shape, table.shape[-1]))
    k = np.broadcast_to(k, (*shape, k.shape[-1]))
    low, high = np.take_along_axis(full, k, -1), np.take_along_axis(full, k + 1, -1)
    return np.asarray(low + (high - low) * part)


def nearest(current: Real) -> NDArray[np.int64]:
    """Return the place in ``CURRENTS`` that is nearest by ratio, elementwise."""
    place = np.rint((np.log(np.maximum(current, 1e-9)) - _LOG_FIRST) / _LOG_STEP)
    return np.clip(place, 0, CURRENTS.size - 1).astype(np.int64)


@dataclass(frozen=True)
class Irons:
    """Iron paths side by side, arrays of one shape."""

    inductance: Real
    knee_flux: Real
    knee_current: Real
    exponent: NDArray[np.int64]
    gain: Real  # 2 x mean of sin^(n+1)

    @classmethod
    def of(cls, irons: Sequence[Iron | None]) -> Irons:
        """Stack irons; None counts as a path without iron, of no inductance."""
        rows = [i or Iron(1e-9, 1.0, 1e-9, 5) for i in irons]
        return cls(
            np.array([i.inductance for i in rows]),
            np.array([i.knee_flux for i in rows]),
            np.array([i.knee_current for i in rows]),
            np.array([i.exponent for i in rows], dtype=np.int64),
            np.array([2 * mean_even_power(i.exponent + 1) for i in rows]),
        )

    def expand(self) -> Irons:
        """Return the same with one more axis at the end."""
        return Irons(
            self.inductance[..., None],
            self.knee_flux[..., None],
            self.knee_current[..., None],
            self.exponent[..., None],
            self.gain[..., None],
        )

    def inductance_at_flux(self, flux_peak: Real) -> Real:
        """Return the inductance that draws the same fundamental at that peak flux linkage [H]."""
        x = np.maximum(np.abs(flux_peak), 1e-12) / self.knee_flux
        return np.asarray(
            1 / (1 / self.inductance + self.gain * self.knee_current / self.knee_flux * x ** (self.exponent - 1))
        )

    def inductance_at_current(self, current_peak: Real) -> Real:
        """Return the inductance at that peak of the fundamental current [H]: Newton from above on a convex curve."""
        i = np.maximum(current_peak, 1e-12)
        flux = np.minimum(
            i * self.inductance, self.knee_flux * (i / (self.gain * self.knee_current)) ** (1.0 / self.exponent)
        )
        for _ in range(6):
            power = self.gain * self.knee_current * (flux / self.knee_flux) ** self.exponent
            flux -= (flux / self.inductance + power - i) / (1 / self.inductance + self.exponent * power / flux)
        return np.asarray(flux / i)


def choke_impedance(chokes: Sequence[ChokeCircuit], omega: float) -> Complex:
    """Return the impedance of each choke over ``CURRENTS``, shape (chokes, 56) [ohm]."""
    if not chokes:
        return np.zeros((0, CURRENTS.size), dtype=complex)
    iron = Irons.of([c.iron for c in chokes]).expand()
    air = np.array([c.air_inductance for c in chokes])[:, None]
    resistance = np.array([c.resistance for c in chokes])[:, None]
    loss = np.array([c.loss_resistance or np.inf for c in chokes])[:, None]
    x = 1j * omega * iron.inductance_at_current(np.sqrt(2) * CURRENTS[None, :])
    return np.asarray(resistance + 1j * omega * air + 1 / (1 / x + 1 / loss))


@dataclass(frozen=True)
class Units:
    """Transformers side by side; each array has one row per unit."""

    ratio: Real
    primary_resistance: Real
    secondary_resistance: Real
    loss_admittance: Real  # of one limb
    air: Real
    primary_limb: Irons
    secondary_limb: Irons
    shunt: Irons
    omega: float

    @classmethod
    def of(cls, circuits: Sequence[TransformerCircuit], omega: float) -> Units:
        """Stack circuits. A tapped winding is taken end to end, which is exact while both halves carry the same."""
        return cls(
            np.array([c.ratio for c in circuits]),
            np.array([c.primary_resistance for c in circuits]),
            np.array([c.secondary_resistance for c in circuits]),
            np.array([0.5 / c.core_loss_resistance for c in circuits]),
            np.array([c.air_leakage for c in circuits]),
            Irons.of([c.primary_limb for c in circuits]),
            Irons.of([c.secondary_limb for c in circuits]),
            Irons.of([c.shunt for c in circuits]),
            omega,
        )

    def chain(self, limb_primary: Real, limb_secondary: Real, leakage_current: Real) -> Complex:
        """Return chains (..., 2, 2) with the iron at the given rms volts of both limbs and rms amperes of leakage,
        (units, m).
        """
        w, root = self.omega, np.sqrt(2)
        y_p = self._limb(self.primary_limb, root * limb_primary / w)
        y_s = self._limb(self.secondary_limb, root * limb_secondary / w)
        z = 1j * w * (self.air[:, None] + self.shunt.expand().inductance_at_current(root * leakage_current))
        r_p, r_s, n = self.primary_resistance[:, None], self.secondary_resistance[:, None], self.ratio[:, None]
        a, b = 1 + z * y_s, z + 0 * y_p  # leakage, then the secondary limb
        c, d = y_p * a + y_s, 1 + y_p * b  # the primary limb before them
        a, b = a + r_p * c, b + r_p * d  # the primary's resistance before that
        a, c, b, d = a / n, c / n, b * n, d * n  # the turns
        out = np.empty((*a.shape, 2, 2), dtype=complex)
        out[..., 0, 0], out[..., 0, 1], out[..., 1, 0], out[..., 1, 1] = a, b + a * r_s, c, d + c * r_s
        return out

    def _limb(self, iron: Irons, flux_peak: Real) -> Complex:
        return np.asarray(
            1 / (1j * self.omega * iron.expand().inductance_at_flux(flux_peak)) + self.loss_admittance[:, None]
        )

    def open_chain(self, volts: Real) -> Complex:
        """Return chains with the secondary open and that voltage on the primary, ``volts`` (units, m) [V rms].

        Counted from the secondary limb's volts outwards, where nothing needs iterating, and read off at the volts
        asked for.
        """
        w, root = self.omega, np.sqrt(2)
        limb_s = np.geomspace(0.02, 4.0, _STEPS) * volts.max(axis=1)[:, None]
        amps = limb_s * self._limb(self.secondary_limb, root * limb_s / w)
        z = 1j * w * (self.air[:, None] + self.shunt.expand().inductance_at_current(root * np.abs(amps)))
        limb_p = limb_s + z * amps
        total = amps + limb_p * self._limb(self.primary_limb, root * np.abs(limb_p) / w)
        at_terminals = np.abs(limb_p + self.primary_resistance[:, None] * total)
        return self.chain(*(_read_off(volts, at_terminals, np.abs(v)) for v in (limb_p, limb_s, amps)))

    def short_chain(self, current: Real) -> Complex:
        """Return chains with the secondary shorted and that current in the primary, ``current`` (units, m) [A rms].

        Counted from the leakage path's current outwards, as ``open_chain`` is.
        """
        w, root = self.omega, np.sqrt(2)
        amps = np.geomspace(1e-3, 1.0, _STEPS) * current.max(axis=1)[:, None]
        r_s = (self.secondary_resistance / self.ratio**2)[:, None]
        z = 1j * w * (self.air[:, None] + self.shunt.expand().inductance_at_current(root * amps))
        limb_s = amps * r_s
        limb_p = np.abs(limb_s + z * amps)
        turn = np.exp(1j * np.angle(limb_s + z * amps))
        total = np.abs(amps + limb_p * turn * self._limb(self.primary_limb, root * limb_p / w))
        return self.chain(*(_read_off(current, total, v) for v in (limb_p, limb_s, amps)))


_STEPS = 80


def _read_off(wanted: Real, x: Real, y: Real) -> Real:
    """Return y (units, steps) at ``wanted`` (units, m) of the rising x (units, steps), on logarithmic scales."""
    rows = zip(np.log(wanted), np.log(x), np.log(np.maximum(y, 1e-30)), strict=True)
    return np.exp([np.interp(w, a, b) for w, a, b in rows])


def shorted_impedance(circuits: Sequence[TransformerCircuit], omega: float) -> Complex:
    """Return what each primary shows with its high winding shorted over ``CURRENTS``, shape (units, 56) [ohm]."""
    if not circuits:
        return np.zeros((0, CURRENTS.size), dtype=complex)
    units = Units.of(circuits, omega)
    chain = units.short_chain(np.broadcast_to(CURRENTS, (len(circuits), CURRENTS.size)))
    return np.asarray(chain[..., 0, 1] / chain[..., 1, 1])


def resistor_impedance(resistors: Sequence[ResistorCircuit]) -> Complex:
    """Return the resistances over ``CURRENTS``, shape (resistors, 56) [ohm]."""
    ohms = np.array([r.resistance for r in resistors], dtype=complex)
    return np.asarray(ohms[:, None] * np.ones(CURRENTS.size))
