"""Stored charge and energy against the limits for a capacitor that a hand can reach, and how long a bleeder needs."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from coilwright.protection.body import TOUCH_LIMIT_PEAK


@dataclass(frozen=True)
class StoredLimit:
    """One limit on a charged capacitor. ``quantity`` is "F", "C" or "J"; ``value`` and ``limit`` are in it."""

    quantity: str
    value: float
    limit: float
    source: str

    @property
    def exceeded(self) -> bool:
        return self.value > self.limit


def stored_energy(capacitance: float, peak: float) -> float:
    """Return C V^2 / 2 [J]."""
    return capacitance * peak**2 / 2


def stored_limits(capacitance: float, peak: float) -> tuple[StoredLimit, ...]:
    """Return every limit that applies to ``capacitance`` [F] charged to ``peak`` [V].

    IEC 60335-1 cl. 8.1.4 (seen): 0.1 uF from 42.4 to 450 V peak, 45 uC to 15 kV, 350 mJ above. DOE-HDBK-1092 (seen):
    0.25 J startle. NFPA 70E:2021 article 360 (from memory): 1 J from 100 V, 0.25 J from 400 V. Up to the touch limit
    nothing applies.
    """
    energy = stored_energy(capacitance, peak)
    limits: list[StoredLimit] = []
    if peak <= TOUCH_LIMIT_PEAK:
        return ()
    iec = "IEC 60335-1 cl. 8.1.4"
    if peak <= 450:
        limits.append(StoredLimit("F", capacitance, 0.1e-6, iec))
    elif peak <= 15e3:
        limits.append(StoredLimit("C", capacitance * peak, 45e-6, iec))
    else:
        limits.append(StoredLimit("J", energy, 0.350, iec))
    if peak >= 400:
        limits.append(StoredLimit("J", energy, 0.25, "NFPA 70E:2021 art. 360, from memory"))
    elif peak >= 100:
        limits.append(StoredLimit("J", energy, 1.0, "NFPA 70E:2021 art. 360, from memory"))
    limits.append(StoredLimit("J", energy, 0.25, "DOE-HDBK-1092, startle"))
    return tuple(limits)


def people_limits(capacitance: float, peak: float) -> tuple[StoredLimit, ...]:
    """Return the limits of ``stored_limits`` and, from 100 V, the 10 J at which a contact itself is counted deadly.

    10 J: DOE-HDBK-1092-98 fig. 10-1, contact (seen), and a laboratory's electrical manual, shock hazard (seen).
    """
    contact = StoredLimit("J", stored_energy(capacitance, peak), 10.0, "DOE-HDBK-1092, contact")
    return (*stored_limits(capacitance, peak), *((contact,) if peak >= 100 else ()))


def worst_stored_limit(capacitance: float, peak: float) -> StoredLimit | None:
    """Return the applicable limit that is exceeded by the largest factor (or approached the nearest), None where none
    applies.
    """
    return max(stored_limits(capacitance, peak), key=lambda s: s.value / s.limit, default=None)


def drain_time(capacitance: float, bleeder: float, peak: float, residual: float) -> float:
    """Return the time [s] in which ``bleeder`` [ohm] takes ``capacitance`` [F] from ``peak`` to ``residual`` volts."""
    if not (capacitance > 0 and bleeder > 0 and residual > 0):
        raise ValueError(
            f"capacitance, bleeder and residual volts must be positive: {capacitance} F, {bleeder} ohm, {residual} V"
        )
    return 0.0 if peak <= residual else bleeder * capacitance * log(peak / residual)
