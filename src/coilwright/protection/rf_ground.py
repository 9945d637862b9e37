"""The radio-frequency ground of the coil: what a strap to a rod of its own does to the volts on it.

Whether and how that rod is bonded to the earth of the installation is decided by the code of the place. The protective
conductor of cores and cases is another thing: it is never lifted, never replaced by the rod, never thinned. Safety gaps
and filter end on it and not on the rod: their currents come from the supply and go back to its cores.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, log, pi, sqrt

from coilwright.model.constants import MU_0

#: Resistivity of copper at 20 degC [ohm m], IEC 60028, from memory.
COPPER = 1.724e-8
#: Where the earthed side of the safety gaps and of the filter goes. Source: common practice, no source.
SAFETY_EARTH = (
    "Safety gaps and filter capacitors end on the earthed metal of cores and cases (protective conductor), not on the "
    "coil's radio-frequency rod, unless the local code says otherwise."
)
#: Volts on the strap that are pointed out: the touch limit, IEC 60335-1 cl. 8.1.4.
TOUCH_PEAK = 42.4


@dataclass(frozen=True)
class Strap:
    """A strap at one frequency: inductance [H], its impedance [ohm] without and with the rod's resistance."""

    inductance: float
    resistance: float
    reactance: float
    impedance: float

    def volts(self, current: float) -> float:
        """Return the volts at the coil's end of the strap for ``current`` [A], rms or peak as that is."""
        return self.impedance * current


def strap_inductance(length: float, width: float) -> float:
    """Return the inductance of a thin straight strap alone in space [H].

    L = 2e-7 l (ln(2 l / w) + 1/2): Grover, Inductance Calculations (1946), straight conductor with the geometric mean
    distance of a line, w exp(-3/2); from memory. For a strap at least twice as long as wide.

    Raises
    ------
    ValueError
        If a measure is not positive, or the strap is shorter than twice its width.
    """
    if not (isfinite(length) and isfinite(width) and length > 0 and width > 0):
        raise ValueError(f"length and width must be positive: got {length} m, {width} m")
    if length < 2 * width:
        raise ValueError(f"a strap {length} m long and {width} m wide is a plate: the length must be 2 x width")
    return 2e-7 * length * (log(2 * length / width) + 0.5)


def wire_inductance(length: float, diameter: float) -> float:
    """Return the inductance of a straight round wire at high frequency [H]: 2e-7 l (ln(4 l / d) - 1), Rosa 1908."""
    if not (length > 0 and diameter > 0 and length > diameter):
        raise ValueError(f"a wire is longer than thick: got {length} m, {diameter} m")
    return 2e-7 * length * (log(4 * length / diameter) - 1)


def skin_depth(frequency: float) -> float:
    """Return the skin depth of copper [m]."""
    if not frequency > 0:
        raise ValueError(f"frequency must be positive: got {frequency} Hz")
    return sqrt(COPPER / (pi * frequency * MU_0))


def strap(length: float, width: float, frequency: float, rod: float = 0.0) -> Strap:
    """Return a copper strap at ``frequency`` [Hz] in series with a rod's resistance to earth [ohm].

    The current flows in one skin depth on both sides (thickness above two of them).
    """
    if not rod >= 0:
        raise ValueError(f"resistance of the rod must not be negative: got {rod} ohm")
    inductance = strap_inductance(length, width)
    resistance = COPPER * length / (2 * width * skin_depth(frequency)) + rod
    reactance = 2 * pi * frequency * inductance
    return Strap(inductance, resistance, reactance, sqrt(resistance**2 + reactance**2))


__all__ = ["SAFETY_EARTH", "Strap", "skin_depth", "strap", "strap_inductance", "wire_inductance"]
