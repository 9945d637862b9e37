"""An invented supply as the tank stage sees it, without a solver: a sign unit of 10 kV 100 mA on 50 Hz."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

from analyses.workshop import SITE, designed
from coilwright.analyses.tank_plates import plate_places, plates_result
from coilwright.analyses.tank_results import Missing, RatedPlace, SupplySide
from coilwright.analyses.tank_size import size_result
from coilwright.model.known import Estimate, Known
from coilwright.model.machine import Gap, Protection, Tank, TankPlates


def estimate(value: float, unit: str, share: float = 0.05, mark: str = "ink") -> Estimate:
    return Estimate(value, value * (1 - share), value * (1 + share), mark, unit, "invented")


# Invented peaks with the gap missing: they rise with the tank as those of iron that saturates do, without a sharp
# resonance at the 31.8 nF of 100 kohm. Nothing is checked against them; they are what the functions are given.
PEAKS = {5e-9: 15.1e3, 10e-9: 16.6e3, 20e-9: 19.2e3, 31.8e-9: 20.5e3, 45e-9: 21.8e3, 60e-9: 22.9e3}
WINDING = RatedPlace("S1.high start to core", 10e3, "pencil", leg="hot_a")
FIRING = estimate(9e3, "V")


def side(peaks: dict[float, float] = PEAKS, own: float | None = 20e-9) -> SupplySide:
    missing = tuple(Missing(c, v, {"hot_a": v / 2, "hot_b": v / 2}) for c, v in sorted(peaks.items()))
    return SupplySide(
        open_voltage=estimate(10e3, "V"),
        open_peak=estimate(14.2e3, "V"),
        ends_open_peak={"hot_a": 7.1e3, "hot_b": 7.1e3},
        short_current=estimate(0.1, "A"),
        best_power_current=0.07,
        mains_current=estimate(4.0, "A"),
        frequency=50.0,
        legs=("hot_a", "hot_b"),
        windings=(WINDING,),
        missing=missing,
        own_missing=next((m for m in missing if m.capacitance == own), None),
        own_missing_band=None,
        resonant_capacitance=31.8e-9,
        ring_frequency=estimate(200e3, "Hz", 0.5, "pencil"),
        ring_quality=Estimate(15.0, 8.0, 39.0, "pencil", "1", "invented"),
    )


def bench(tank: Tank | None = None, gap: Gap | None = None, protection: Protection | None = None):
    return replace(designed(SITE), tank=tank, gap=gap, protection=protection)


def written(farads: float) -> Tank:
    return Tank(capacitance=Known(farads, "ink"))


def plated(form: str = "flat", dielectric: str = "polyethylene", **changes: float) -> Tank:
    m = {"thickness": 3e-3, "area": 0.09, "count": 33, **changes}
    return Tank(plates=TankPlates(form, dielectric, Known(m["thickness"]), Known(m["area"]), int(m["count"])))


def staged(
    tank: Tank | None,
    gap: Gap | None = None,
    firing: Estimate | None = FIRING,
    seen: SupplySide | None = None,
    protection: Protection | None = None,
):
    """Return size and plates as the stage's result holds them."""
    design, seen = bench(tank, gap, protection), seen or side()
    places = (*seen.windings, *plate_places(design))
    size = size_result(design, seen, places, firing)
    plates = plates_result(design, seen, size, firing)
    return SimpleNamespace(
        name="invented", supply=seen, size=size, plates=plates, protection=SimpleNamespace(stored=())
    )
