"""What the rules about a running gap look at: the rotor that may burst, and the room. None means "not known"."""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.model.known import Mark


@dataclass(frozen=True)
class RotorFacts:
    """A rotary gap.

    ``speed`` [rev/s] is the highest that the motor can reach; ``force`` [N] is on each electrode at that speed, and
    ``spin_test_force`` at 1.2 times it. ``disc_factor`` and ``bolt_factor`` are strength over stress at that speed,
    ``factor_wanted`` what is asked of both. ``tip_speed`` [m/s] is the rim's; ``tip_limit`` that of the material, 0
    where the material is not taken at all, None where stress alone judges it. ``shield`` [m] and ``shield_wanted`` [m]
    are of ``shield_material``; ``shield_wanted`` is infinite where no thickness of it serves.
    ``missing`` names in words what the project does not state. ``mark`` is that of the weakest strength or load.
    """

    where: str = "gap"
    speed: float | None = None
    force: float | None = None
    spin_test_force: float | None = None
    disc_material: str = ""
    disc_factor: float | None = None
    bolt_factor: float | None = None
    factor_wanted: float = 4.0
    tip_speed: float | None = None
    tip_limit: float | None = None
    shield: float | None = None
    shield_material: str = ""
    shield_wanted: float | None = None
    shield_all_round: bool | None = None
    missing: tuple[str, ...] = ()
    mark: Mark = "pencil"


@dataclass(frozen=True)
class RoomFacts:
    """The air and the noise of a room with a running gap.

    ``ozone`` is the volume fraction in the steady state as (value, low, high), ``ozone_limit`` what it is held against,
    ``time_to_limit`` [s] likewise. ``noise`` [dB at 1 m] and ``noise_peak`` [dB peak at 1 m] are (value, low, high).
    """

    ozone: tuple[float, float, float] | None = None
    ozone_limit: float = 0.1e-6
    time_to_limit: tuple[float, float, float] | None = None
    noise: tuple[float, float, float] | None = None
    noise_peak: tuple[float, float, float] | None = None
    noise_limit: float = 85.0
