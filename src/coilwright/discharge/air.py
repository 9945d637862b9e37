"""The air a gap breaks down in: its density over that of the standard reference atmosphere, and its moisture.

Reference atmosphere of the laws in this package: 20 degC, 101.325 kPa, 8.5 g of water per cubic metre (IEC 60052:2002,
from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, isfinite

from coilwright.errors import ModelRangeError

REFERENCE_PRESSURE = 101325.0  # Pa
REFERENCE_TEMPERATURE = 293.15  # K
REFERENCE_HUMIDITY = 8.5e-3  # kg/m3, IEC 60052:2002, from memory
#: Relative rise of the breakdown voltage per g/m3 of moisture over density, IEC 60052:2002, from memory.
HUMIDITY_SLOPE = 0.002
#: Density ratios over which the laws were compared with measurements: IEC 52:1960 corrects from 0.70 to 1.15 (from
#: memory); a hot gap is reckoned further down, with a wide band.
DENSITY_LIMITS = (0.1, 1.5)
WATER_GAS_CONSTANT = 461.5  # J/(kg K)


@dataclass(frozen=True)
class Air:
    """Air as breakdown laws see it: ``density_ratio`` over the reference, ``humidity`` absolute [kg/m3].

    Raises
    ------
    ValueError
        If the humidity is negative or no number.
    ModelRangeError
        If the density ratio is outside 0.1 to 1.5.
    """

    density_ratio: float = 1.0
    humidity: float = REFERENCE_HUMIDITY

    def __post_init__(self) -> None:
        if not isfinite(self.humidity) or self.humidity < 0:
            raise ValueError(f"humidity must be a number from 0 up: got {self.humidity * 1e3:g} g/m3")
        low, high = DENSITY_LIMITS
        if not low <= self.density_ratio <= high:
            raise ModelRangeError(f"air density ratio {self.density_ratio:g} is outside {low:g} to {high:g}")

    @property
    def humidity_factor(self) -> float:
        """Return the factor on the breakdown voltage: 1 + 0.002 (h / delta - 8.5), h in g/m3.

        IEC 60052:2002 clause 5, from memory; for sphere gaps and, by our assumption, every nearly uniform gap.
        """
        grams = self.humidity / self.density_ratio * 1e3
        return 1 + HUMIDITY_SLOPE * (grams - REFERENCE_HUMIDITY * 1e3)


STANDARD_AIR = Air()


def air_density_ratio(altitude: float, temperature: float, pressure: float | None = None) -> float:
    """Return the density of the air over that at 20 degC and 101.325 kPa.

    Parameters
    ----------
    altitude : float, [m]
        Used where no pressure is given: the standard atmosphere (ICAO Doc 7488, below 11 km).
    temperature : float, [K] pressure : float or None, [Pa]
        Absolute pressure at the place.

    Raises
    ------
    ValueError
        If temperature or pressure is not positive.
    ModelRangeError
        If the altitude lies outside -500 m to 11 km.
    """
    if not temperature > 0 or not (pressure is None or pressure > 0):
        raise ValueError(f"temperature and pressure must be positive: got {temperature} K, {pressure} Pa")
    if pressure is None:
        if not -500 <= altitude <= 11e3:
            raise ModelRangeError(f"altitude {altitude:g} m is outside -500 m to 11 km: give the air pressure instead")
        pressure = REFERENCE_PRESSURE * (1 - 2.25577e-5 * altitude) ** 5.25588
    return pressure / REFERENCE_PRESSURE * REFERENCE_TEMPERATURE / temperature


def absolute_humidity(relative_humidity: float, temperature: float) -> float:
    """Return the moisture of the air [kg/m3] from its relative humidity (0 to 1) and temperature [K].

    Saturation pressure over water by Magnus' formula, 611.2 exp(17.62 t / (243.12 + t)) Pa, t in degC (WMO-No. 8,
    Guide to Instruments and Methods of Observation, Annex 4.B, from memory), -45 to 60 degC; then the gas law.

    Raises
    ------
    ValueError
        If the humidity is not within 0 to 1.
    ModelRangeError
        If the temperature is outside the formula's range.

    Saturated air at 20 degC holds 17.3 g/m3 by steam tables; the formula is 0.3 % below.

    >>> round(absolute_humidity(1.0, 293.15) * 1e3, 2)
    17.24
    """
    if not 0 <= relative_humidity <= 1:
        raise ValueError(f"relative humidity must lie between 0 and 100 %: got {relative_humidity * 100:g} %")
    celsius = temperature - 273.15
    if not -45 <= celsius <= 60:
        raise ModelRangeError(f"air temperature {celsius:g} degC is outside -45 to 60 degC of Magnus' formula")
    saturation = 611.2 * exp(17.62 * celsius / (243.12 + celsius))
    return relative_humidity * saturation / (WATER_GAS_CONSTANT * temperature)


def air_at(temperature: float, relative_humidity: float, altitude: float = 0.0, pressure: float | None = None) -> Air:
    """Return the air of a site: K, 0 to 1, m, Pa (pressure None: from the altitude). Errors as its two parts."""
    return Air(air_density_ratio(altitude, temperature, pressure), absolute_humidity(relative_humidity, temperature))


__all__ = ["Air", "STANDARD_AIR", "absolute_humidity", "air_at", "air_density_ratio"]
