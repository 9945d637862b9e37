"""What a running gap does to the room: ozone, nitrogen dioxide and noise, each as a wide band with its assumption.

No yield of an open gap was found in a source. The bands hold what corona and spark reactors are known to give, from
memory, and are there to show whether minutes or hours are the question, not to be leaned on.
"""

from __future__ import annotations

from math import exp, inf, log, log10, pi, sqrt

#: Grams for each kilowatt-hour that the gap turns over: value, low, high. Ozone: hot sparks destroy most of what they
#: make, cold streamers make tens of g/kWh. Nitric oxide: 5e16 to 15e16 molecules/J of sparks (laboratory lightning),
#: 9 to 27 g/kWh. Both from memory.
OZONE_YIELD = (2.0, 0.1, 30.0)
NITRIC_OXIDE_YIELD = (14.0, 5.0, 30.0)
#: Share of the nitric oxide that has become nitrogen dioxide (assumption: air alone takes hours, ozone an instant).
SHARE_TURNED = (0.3, 0.05, 1.0)
#: Half-life of ozone in a room by itself [s], walls and goods taking it up: 15 min, 5 to 30 min (C. J. Weschler, Indoor
#: Air 10 (2000) 269, from memory). Nitrogen dioxide lasts about an hour.
OZONE_HALF_LIFE = (900.0, 300.0, 1800.0)
DIOXIDE_HALF_LIFE = (3600.0, 1800.0, 7200.0)
#: Air changes of a closed room [1/s]: 0.5, 0.2 to 1 an hour (common practice, no source).
CLOSED_ROOM = (0.5 / 3600, 0.2 / 3600, 1.0 / 3600)
OZONE_MASS, DIOXIDE_MASS, OXIDE_MASS = 48.0e-3, 46.0e-3, 30.0e-3  # kg/mol
OZONE_LIMIT = 0.1e-6  # OSHA 29 CFR 1910.1000 Table Z-1, 8 h, and NIOSH ceiling, both seen
DIOXIDE_LIMIT, DIOXIDE_CEILING = 1e-6, 5e-6  # NIOSH 15 min, from memory; OSHA ceiling, seen
#: Share of the gap's power that becomes sound: 0.01 to 1 %, an assumption.
SOUND_SHARE = (1e-3, 1e-4, 1e-2)
#: Length of the pressure pulse of one bang [s]: an assumption (a spark of a centimetre; sound takes 30 us through it).
PULSE = (100e-6, 30e-6, 300e-6)
NOISE_LIMIT, NOISE_DAY, NOISE_EXCHANGE = 85.0, 8 * 3600.0, 3.0  # NIOSH, from memory
_GAS = 8.314462618
_IMPEDANCE = 413.0  # Pa s/m of air at 20 degC
_WATT, _PASCAL = 1e-12, 20e-6  # reference sound power and pressure, ISO 80000-8


def mass_of_fraction(fraction: float, molar_mass: float, pressure: float, temperature: float) -> float:
    """Return the mass in a cubic metre [kg/m3] of a gas with this volume fraction.

    Examples
    --------
    >>> print(f"{mass_of_fraction(1e-6, OZONE_MASS, 101325.0, 298.15) * 1e6:.2f} mg/m3")
    1.96 mg/m3
    """
    return fraction * molar_mass * pressure / (_GAS * temperature)


def production(power: float, grams_per_kilowatt_hour: float) -> float:
    """Return the gas made [kg/s] by ``power`` [W]."""
    return power * grams_per_kilowatt_hour / 3.6e9


def removal(air_changes: float, half_life: float) -> float:
    """Return the share that leaves a second [1/s] with the air and by decay."""
    return air_changes + log(2) / half_life


def steady_mass(source: float, volume: float, leaving: float) -> float:
    """Return the mass in a cubic metre [kg/m3] at which a well-mixed room settles.

    ``source`` is in kg/s, ``leaving`` in 1/s. Near the gap it is more than that.
    """
    if volume <= 0 or leaving <= 0:
        raise ValueError(f"needs a room and some loss: got {volume} m3, {leaving} 1/s")
    return source / (volume * leaving)


def mass_after(time: float, source: float, volume: float, leaving: float) -> float:
    """Return the mass in a cubic metre [kg/m3] so long [s] after the start in clean air."""
    return steady_mass(source, volume, leaving) * (1 - exp(-leaving * time))


def time_to(limit: float, source: float, volume: float, leaving: float) -> float:
    """Return when clean air has reached ``limit`` [kg/m3]; infinity where it never does."""
    share = limit / steady_mass(source, volume, leaving) if source > 0 else inf
    return -log(1 - share) / leaving if share < 1 else inf


def wanted_air_changes(limit: float, source: float, volume: float, half_life: float) -> float:
    """Return the air changes [1/s] that keep the room at ``limit`` [kg/m3]; 0 where decay alone does."""
    return max(source / (volume * limit) - log(2) / half_life, 0.0)


# ---- noise -----------------------------------------------------------------------------------------------------------


def sound_level(acoustic_power: float, distance: float) -> float:
    """Return the sound pressure level [dB] of a point source in the open, no floor or wall sending it back."""
    if acoustic_power <= 0 or distance <= 0:
        raise ValueError(f"power and distance must be positive: got {acoustic_power} W, {distance} m")
    return 10 * log10(acoustic_power / _WATT) - 10 * log10(4 * pi * distance**2)


def peak_level(acoustic_energy: float, pulse: float, distance: float) -> float:
    """Return the peak level [dB] of a bang of this sound energy [J] spread over ``pulse`` [s] as half a sine wave."""
    mean_square = _IMPEDANCE * acoustic_energy / (4 * pi * distance**2 * pulse)
    return 20 * log10(sqrt(2 * mean_square) / _PASCAL)


def allowed_time(level: float) -> float:
    """Return how long an unprotected ear may meet ``level`` [dBA] in a day [s]: NIOSH, 85 dBA for 8 h, 3 dB exchange.

    Examples
    --------
    >>> allowed_time(100.0) / 60
    15.0
    """
    return float(NOISE_DAY / 2 ** ((level - NOISE_LIMIT) / NOISE_EXCHANGE))


def distance_for(acoustic_power: float, level: float) -> float:
    """Return the distance [m] at which a point source in the open has come down to ``level`` [dB]."""
    return sqrt(acoustic_power / (4 * pi * _WATT * 10 ** (level / 10)))


__all__ = [
    "CLOSED_ROOM",
    "DIOXIDE_CEILING",
    "DIOXIDE_HALF_LIFE",
    "DIOXIDE_LIMIT",
    "DIOXIDE_MASS",
    "NITRIC_OXIDE_YIELD",
    "OXIDE_MASS",
    "OZONE_HALF_LIFE",
    "OZONE_LIMIT",
    "OZONE_MASS",
    "OZONE_YIELD",
    "PULSE",
    "SHARE_TURNED",
    "SOUND_SHARE",
    "allowed_time",
    "distance_for",
    "mass_after",
    "mass_of_fraction",
    "peak_level",
    "production",
    "removal",
    "sound_level",
    "steady_mass",
    "time_to",
    "wanted_air_changes",
]
