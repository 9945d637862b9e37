"""Numbers as they are printed in a tag: the only place beside the edges that knows unit strings."""

from __future__ import annotations

from collections.abc import Iterable

from coilwright.units import show


def volts(value: float) -> str:
    return show(value, "voltage")


def volts_rms(value: float) -> str:
    return f"{show(value, 'voltage')} rms" if value >= 1e-3 or value == 0 else "below 1 mV rms"


def volts_peak(value: float) -> str:
    return f"{show(value, 'voltage')} peak"


def amperes(value: float) -> str:
    return show(value, "current")


def residual(value: float) -> str:
    """Return a residual current; below 1 uA it is what the solver leaves, not a number."""
    return amperes(value) if value >= 1e-6 else "below 1 uA"


def ohms(value: float) -> str:
    return show(value, "resistance")


def farads(value: float) -> str:
    return show(value, "capacitance")


def volts_per_second(value: float) -> str:
    return show(value, "voltage slope")


def coulombs(value: float) -> str:
    return show(value, "charge")


def joules(value: float) -> str:
    return show(value, "energy")


def watts(value: float) -> str:
    return show(value, "power")


def kilograms(value: float) -> str:
    return show(value, "mass")


def metres(value: float) -> str:
    return show(value, "length")


def seconds(value: float) -> str:
    return show(value, "time")


def celsius(kelvin: float) -> str:
    return show(kelvin, "temperature")


def percent(fraction: float) -> str:
    return show(fraction, "ratio")


def newtons(value: float) -> str:
    return f"{value:.0f} N" if value >= 100 else f"{value:.3g} N"


def revolutions(per_second: float) -> str:
    return show(per_second, "speed", trim=True)


def metres_per_second(value: float) -> str:
    return f"{value:.3g} m/s"


def millionths(fraction: float) -> str:
    """Return a volume fraction in parts per million."""
    parts = 1e6 * fraction
    return f"{parts:.0f} ppm" if parts >= 99.5 else f"{parts:.2g} ppm"


def decibels(value: float) -> str:
    return f"{value:.0f} dB"


def listed(names: Iterable[str]) -> str:
    """Return the names in their order, each once, joined by commas."""
    return ", ".join(dict.fromkeys(n for n in names if n))
