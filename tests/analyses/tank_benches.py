"""An invented supply side, tank and gap for the rotor, the electrodes and the room: round numbers, nothing solved."""

from __future__ import annotations

from dataclasses import replace

from coilwright.analyses.tank_results import (
    GapCurvePoint,
    GapResult,
    Missing,
    SizeResult,
    SupplySide,
)
from coilwright.model.design import Design
from coilwright.model.known import Estimate
from coilwright.project.load import read_text

ROTOR = """format = 1
[site]
mains = "230 V"
frequency = "50 Hz"
room = { ceiling = "2.6 m", length = "5 m", width = "4 m" }
[gap]
kind = "synchronous rotary"
electrode = { form = "rod", diameter = "6 mm" }
spacing = "3 mm"
speed = "3000 rpm"
presentations = 8
phase = "20 deg"
electrode_radius = "100 mm"
electrode_mass = "8 g"
electrode_material = "brass"
disc = { material = "glass-epoxy", diameter = "240 mm", thickness = "10 mm", bore = "12 mm" }
bolt = "6 mm"
shield = { material = "steel", thickness = "3 mm", all_round = true }
"""
STATIC = ROTOR.partition("[gap]")[0] + '[gap]\nkind = "static"\nelectrode = { form = "rod", diameter = "8 mm" }\n'


def ink(value: float, unit: str) -> Estimate:
    return Estimate(value, value, value, "ink", unit, "invented")


SUPPLY = SupplySide(
    open_voltage=ink(7071.0, "V"),
    open_peak=ink(10e3, "V"),
    ends_open_peak={"hot": 10e3},
    short_current=ink(0.06, "A"),
    best_power_current=0.04,
    mains_current=ink(3.0, "A"),
    frequency=50.0,
    legs=("hot",),
    windings=(),
    missing=(),
    own_missing=Missing(20e-9, 18e3, {"hot": 18e3}),
    own_missing_band=None,
    resonant_capacitance=27e-9,
    ring_frequency=Estimate(200e3, 80e3, 500e3, "pencil", "Hz"),
    ring_quality=Estimate(15.0, 8.0, 39.0, "pencil", "1"),
)
#: 3 kV for each millimetre of the two gaps together, up to 40 kV.
GAP = GapResult(
    kind="synchronous rotary",
    form="rod",
    diameter=6e-3,
    segments=2,
    air_density_ratio=1.0,
    humidity=0.0085,
    breakdown_peak=ink(9e3, "V"),
    spacing=ink(3e-3, "m"),
    spacing_each=ink(1.5e-3, "m"),
    spread=0.05,
    hot_peak=None,
    high_frequency_factor=None,
    largest_setting=None,
    largest_spacing=None,
    limited_by="",
    widest_that_fires=None,
    fires=True,
    curve=tuple(GapCurvePoint(s, 6e6 * s, 5e6 * s, 7e6 * s) for s in (0.5e-3, 1e-3, 2e-3, 4e-3, 7e-3)),
)
SIZE = SizeResult(
    capacitance=ink(20e-9, "F"),
    how="as written",
    resonant_capacitance=27e-9,
    advised=None,
    gap_missing_peak=ink(18e3, "V"),
    firing_peak=ink(9e3, "V"),
    energy_per_bang=ink(0.81, "J"),
    charge=ink(180e-6, "C"),
    energy_missing=None,
    charge_missing=None,
    break_rate=ink(400.0, "1/s"),
    power=ink(324.0, "W"),
    power_share=0.76,
)


def project(text: str = ROTOR, *changes: tuple[str, str]) -> Design:
    """Return the design of the text with words exchanged."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return read_text(text)[0]


def without(text: str, *keys: str) -> str:
    """Return the text without the lines of these keys."""
    return "\n".join(line for line in text.split("\n") if line.partition(" =")[0] not in keys)


__all__ = ["GAP", "ROTOR", "SIZE", "STATIC", "SUPPLY", "ink", "project", "replace", "without"]
