"""Equivalent circuits of the parts, the only thing that the network solver knows of a part. SI, rms where a volt is
alternating.

Everything of a transformer is referred to the turns of its primary. The two-limb form::

    p1 -Rp- [primary limb: iron || 2 Rc] --Lair--[shunt iron]-- [secondary limb: iron || 2 Rc] -ratio, Rs- s1, s2

keeps the magnetising currents of both limbs apart with the leakage between them, which is what a magnetic shunt
makes: in a short circuit the secondary limb carries no flux while the primary limb still carries all of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from coilwright.magnetics.iron import Iron


@dataclass(frozen=True)
class TransformerCircuit:
    """Two-limb equivalent circuit of one transformer.

    ``ratio`` is high turns end to end over primary turns; ``secondary_resistance`` is end to end, both warm [ohm].
    ``core_loss_resistance`` [ohm] is the whole core's, on primary turns. ``air_leakage`` [H] and ``shunt`` (iron with
    its gap) are the leakage path, in series. With ``tapped`` the high winding is two halves, each on a limb of its
    own. ``shunt`` is None where the leakage path holds no iron. Capacitances in F: from the whole high winding to the
    core, from the primary to the core, and from the high winding to the primary.
    """

    ratio: float
    primary_resistance: float
    secondary_resistance: float
    primary_limb: Iron
    secondary_limb: Iron
    core_loss_resistance: float
    air_leakage: float
    shunt: Iron | None
    tapped: bool = False
    heater_ratio: float | None = None
    tied: str = "none"  # start | finish | tap | none
    high_to_core: float = 0.8e-9
    primary_to_core: float = 0.4e-9
    high_to_primary: float = 0.2e-9

    @property
    def leakage_inductance(self) -> float:
        """Return the small-signal leakage inductance on primary turns [H]."""
        return self.air_leakage + (self.shunt.inductance if self.shunt else 0.0)

    @property
    def magnetising_inductance(self) -> float:
        """Return the small-signal magnetising inductance of both limbs in parallel [H]."""
        p, s = self.primary_limb.inductance, self.secondary_limb.inductance
        return p * s / (p + s)


@dataclass(frozen=True)
class ChokeCircuit:
    """A gapped choke: winding resistance, iron with its gap, air inductance in series (what is left in deep
    saturation).

    ``loss_resistance`` [ohm] lies across the iron; None where no loss but the copper's is known.
    """

    resistance: float
    iron: Iron
    air_inductance: float
    loss_resistance: float | None = None

    @property
    def inductance(self) -> float:
        """Return the small-signal inductance [H]."""
        return self.iron.inductance + self.air_inductance

    def regapped(self, gap_ratio: float) -> ChokeCircuit:
        """Return the choke with its effective gap scaled: inductance / g, knee current x g, the same flux at the
        knee.
        """
        iron = self.iron
        return replace(
            self, iron=replace(iron, inductance=iron.inductance / gap_ratio, knee_current=iron.knee_current * gap_ratio)
        )


@dataclass(frozen=True)
class CapacitorCircuit:
    """A capacitor with its loss as a series resistance [F, ohm] and its bleeder [ohm], if any."""

    capacitance: float
    series_resistance: float = 0.0
    bleeder: float | None = None


@dataclass(frozen=True)
class ResistorCircuit:
    resistance: float


@dataclass(frozen=True)
class VariableCircuit:
    """A variable autotransformer at one setting (output over input), as an ideal ratio behind a series impedance."""

    setting: float
    resistance: float = 0.3
    inductance: float = 0.5e-3


PartCircuit = TransformerCircuit | ChokeCircuit | CapacitorCircuit | ResistorCircuit | VariableCircuit


@dataclass(frozen=True)
class MainsCircuit:
    """The mains as the network sees it.

    ``poles`` maps a terminal (line, neutral, line_2) to its ideal voltage to the supply's own star point as (rms,
    phase in radians); ``star_to_earth`` [ohm] bonds that star point to earth (very large for IT).
    ``earth_resistance`` is what lies between mains.earth of the set and the star point's earth: near 0 for TN, the
    local electrode for TT.
    """

    frequency: float
    poles: dict[str, tuple[float, float]] = field(default_factory=dict)
    resistance: float = 0.35  # loop, shared equally by the two poles in use
    inductance: float = 0.2e-3
    star_to_earth: float = 0.01
    earth_resistance: float = 0.2
