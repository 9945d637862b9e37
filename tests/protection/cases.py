"""For every hazard facts on the quiet side and on the other side, as near to its limit as the limit is sharp.

``SHARP`` holds hazards with a number: a hair below or at the limit, a hair above. ``PRESENCE`` holds hazards that turn
on a condition: absent, present. Limits are those of the sources named in the catalogue.
"""

from __future__ import annotations

from math import inf, log, sqrt

from coilwright.model.site import Breaker
from coilwright.protection.clearance import required_spacing
from coilwright.protection.facts import (
    FluxFacts,
    HeatFacts,
    ParallelGroup,
    PartCurrent,
    Rating,
    RefusedReading,
    ResistorFacts,
    ShelfFacts,
    SpacingFacts,
    TankUnit,
    VariableFacts,
    WindingEnd,
)
from coilwright.protection.rules import shelf_tags
from coilwright.protection.rules_slips import SlipFacts, slip_tags
from coilwright.protection.tag import Tag
from protection.bench import (
    INNER,
    OUTER,
    chain,
    core,
    correction,
    part,
    reading,
    rotor,
    shock,
    site,
    supply,
    tank,
)

Pair = tuple[tuple[Tag, ...], tuple[Tag, ...]]
NEED = required_spacing(3000.0).clearance
#: Bleeder that takes 40 uF from 230 V x 1.1 x 1.414 to 50 V in exactly 60 s (NEC 460.6), and one for 300 s (460.28).
SIXTY_SECONDS = 60.0 / (40e-6 * log(sqrt(2) * 253.0 / 50.0))
THREE_HUNDRED_SECONDS = 300.0 / (0.2e-6 * log(2000.0 / 50.0))
WHOLE_STRING = 300.0 / (0.2e-6 * log(8 * 2000.0 / 50.0))
LOW_UNITS = 299.0 / (0.2e-6 * log(8 * 300.0 / 50.0))
ONE_SECOND_AT_THE_PLUG = 1.0 / (40e-6 * log(sqrt(2) * 253.0 / 34.0))


def outer(volts: float, peak: float = 0.0) -> tuple[Tag, ...]:
    return supply(windings=(WindingEnd("T1.high start", volts, peak, 2310.0, "stamped"),))


def inner(volts: float, limit: float = 0.0) -> tuple[Tag, ...]:
    return supply(windings=(WindingEnd("T1.high finish", volts, 0.0, limit, "stamped", inner=True),))


def unit(bleeder: float, peak: float = 2000.0, series: int = 1) -> tuple[Tag, ...]:
    return tank(units=(TankUnit("C3.1", 0.2e-6, peak, bleeder, series),))


def parallel(circulating: float, *, alike: bool = True, proved: bool = True) -> tuple[Tag, ...]:
    return supply(parallel=(ParallelGroup("S1, S2", alike, proved, circulating, 0.05),))


def heat(temperature: float, limit: float) -> tuple[Tag, ...]:
    return supply(heat=(HeatFacts("B1", temperature, limit, on_time=300.0, duty=0.5),))


SHARP: dict[str, tuple[Pair, ...]] = {
    # 5 mA: IEC TS 60479-1:2018 (from memory), DOE-HDBK-1092 figure 10-1 (seen)
    "body-current": ((supply(shocks=shock(4.99e-3)), supply(shocks=shock(5.01e-3))),),
    "lamp-still-deadly": (
        (
            supply(shocks=shock(4.99e-3), series_resistors=("R1",)),
            supply(shocks=shock(5.01e-3), series_resistors=("R1",)),
        ),
    ),
    # rated current of a B16, and 1.5 times a part's 4.3 A
    "no-current-limit": (
        (supply(ballast=False, mains_short=15.99), supply(ballast=False, mains_short=16.01)),
        (
            supply(ballast=False, part_currents=(PartCurrent("T1", 6.44, 4.3),)),
            supply(ballast=False, part_currents=(PartCurrent("T1", 6.46, 4.3),)),
        ),
    ),
    "breaker-overload": ((supply(mains_uncorrected=15.99), supply(mains_uncorrected=16.01)),),
    # 0.1 ohm with 200 mA: IEC 60364-6 and IEC 60335-1 cl. 27.5, from memory
    "core-not-bonded": (
        (core(bond_resistance=0.1), core(bond_resistance=0.1001)),
        (core(bond_current=0.2), core(bond_current=0.199)),
    ),
    "floating-core": (
        (
            core(earthed=False, tied=False, primary_to_core=252.9),
            core(earthed=False, tied=False, primary_to_core=253.1),
        ),
    ),
    "inner-end-lifted": ((inner(0.99), inner(1.01)), (inner(499.0, 500.0), inner(501.0, 500.0))),
    "winding-overvolt": (
        (outer(2309.0), outer(2311.0)),
        (outer(2000.0, 2309.0 * sqrt(2)), outer(2000.0, 2311.0 * sqrt(2))),
    ),
    "high-to-primary": ((core(high_to_primary=2309.0), core(high_to_primary=2311.0)),),
    "parallel-mismatch": ((parallel(0.0499), parallel(0.0501)),),
    # 1.05 x plate V/f: an assumption
    "frequency-mismatch": (
        (part(flux_ratio=1.049), part(flux_ratio=1.051)),
        (supply(flux=(FluxFacts("T1", 1.049),)), supply(flux=(FluxFacts("T1", 1.051),))),
    ),
    # IEC 60898-1: B from 3, C from 5, D from 10 times the rated current r.m.s., which is sqrt(2) times that in the peak
    "breaker-inrush": (
        (supply(inrush_peak=sqrt(2) * 47.9), supply(inrush_peak=sqrt(2) * 48.1)),
        (
            supply(inrush_peak=sqrt(2) * 79.9, breaker=Breaker(16.0, "C")),
            supply(inrush_peak=sqrt(2) * 80.1, breaker=Breaker(16.0, "C")),
        ),
        (
            supply(inrush_peak=sqrt(2) * 159.9, breaker=Breaker(16.0, "D")),
            supply(inrush_peak=sqrt(2) * 160.1, breaker=Breaker(16.0, "D")),
        ),
        (supply(closing_peak=sqrt(2) * 47.9), supply(closing_peak=sqrt(2) * 48.1)),
    ),
    # 1.1 x (230 V + 10 %) = 278.3 V: IEC 60252-1 and EN 50160, from memory
    "pfc-wrong-type": (
        (correction(rated=278.4), correction(rated=278.2)),
        (correction(made=1980), correction(made=1979)),
    ),
    "bleeder-missing": (
        (correction(bleeder=SIXTY_SECONDS * 0.999), correction(bleeder=SIXTY_SECONDS * 1.001)),
        (unit(THREE_HUNDRED_SECONDS * 0.999), unit(THREE_HUNDRED_SECONDS * 1.001)),
        # 8 such units in series: 50 V left across all of them, not across each
        (unit(WHOLE_STRING * 0.999, series=8), unit(WHOLE_STRING * 1.001, series=8)),
        # 300 V on each of 8 are 2.4 kV as a whole, which the code gives 300 s; by itself each has 60 s
        (unit(LOW_UNITS, peak=300.0, series=8), unit(LOW_UNITS, peak=300.0)),
        (
            correction(at_plug_pins=True, bleeder=ONE_SECOND_AT_THE_PLUG * 0.999),
            correction(at_plug_pins=True, bleeder=ONE_SECOND_AT_THE_PLUG * 1.001),
        ),
        (correction(), correction(bleeder=None)),
    ),
    "tank-overvolt-gap-missing": (
        (
            tank(safety_gap=None, ratings=(Rating("T1.high", 3249.0, 3250.0, "pencil"),)),
            tank(safety_gap=None, ratings=(Rating("T1.high", 3251.0, 3250.0, "pencil"),)),
        ),
        (
            tank(safety_gap=3249.0, ratings=(Rating("T1.high", 5400.0, 3250.0, "pencil"),)),
            tank(safety_gap=3250.0, ratings=(Rating("T1.high", 5400.0, 3250.0, "pencil"),)),
        ),
        # the upper end of the gap's band decides, not its middle
        (
            tank(safety_gap_high=3249.0, ratings=(Rating("T1.high", 5400.0, 3250.0, "pencil"),)),
            tank(safety_gap_high=3250.0, ratings=(Rating("T1.high", 5400.0, 3250.0, "pencil"),)),
        ),
        # the worst share of a string, not its label
        (
            tank(safety_gap=None, ratings=(Rating("string", 2999.0, 3250.0, "ink", across=True, worst_limit=3000.0),)),
            tank(safety_gap=None, ratings=(Rating("string", 3001.0, 3250.0, "ink", across=True, worst_limit=3000.0),)),
        ),
        (
            tank(safety_gap=1624.0, ratings=(Rating("string", 5400.0, 3250.0, "ink", across=True),)),
            tank(safety_gap=1625.0, ratings=(Rating("string", 5400.0, 3250.0, "ink", across=True),)),
        ),
    ),
    "safety-gap-missing": (
        (tank(safety_gap=3249.0), tank(safety_gap=3250.0)),
        (tank(safety_gap_high=3249.0), tank(safety_gap_high=3250.0)),
        (tank(safety_gap=1.0501 * 2640.0), tank(safety_gap=1.0499 * 2640.0)),
        (tank(), tank(safety_gap=None)),
    ),
    # IEC 60335-1 cl. 8.1.4 (seen): 45 uC; 0.1 uF below 450 V; 350 mJ above 15 kV.
    # NFPA 70E article 360 (from memory) and DOE-HDBK-1092 (seen): 0.25 J
    "stored-energy-tank": (
        (tank(capacitance=44.9e-6 / 2000.0), tank(capacitance=45.1e-6 / 2000.0)),
        (tank(capacitance=0.0999e-6, peak=400.0), tank(capacitance=0.1001e-6, peak=400.0)),
        (tank(capacitance=2 * 0.2499 / 20e3**2, peak=20e3), tank(capacitance=2 * 0.2501 / 20e3**2, peak=20e3)),
    ),
    # a string of 3.25 kV across; an end of 3.25 kV that takes 0.6 of what stands across
    "main-gap-too-wide": (
        (
            tank(main_gap=3249.0, ratings=(Rating("string", 2e3, 3250.0, "ink", across=True),)),
            tank(main_gap=3251.0, ratings=(Rating("string", 2e3, 3250.0, "ink", across=True),)),
        ),
        (tank(main_gap=6499.0), tank(main_gap=6501.0)),
        (tank(main_gap=3249.0 / 0.6, end_share=0.6), tank(main_gap=3251.0 / 0.6, end_share=0.6)),
        (tank(main_gap=3249.0, legs=1, safety_gap=None), tank(main_gap=3251.0, legs=1, safety_gap=None)),
        (tank(main_gap=None), tank(main_gap=20e3)),
    ),
    "heat-duty": ((heat(273.15 + 104.9, 273.15 + 105), heat(273.15 + 105.1, 273.15 + 105)),),
    "clearance": (
        (
            supply(spacings=(SpacingFacts("hot_a", NEED * 1.001, 3000.0),)),
            supply(spacings=(SpacingFacts("hot_a", NEED * 0.999, 3000.0),)),
        ),
    ),
    # rating of the instrument: IEC 61010-031, from memory
    "test-above-meter": (
        (
            reading("open", instrument="meter", volts=600.0, rating=600.0),
            reading("open", instrument="meter", volts=600.1, rating=600.0),
        ),
    ),
    # IEC 60335-1 cl. 8.1.4 (seen): 42.4 V peak, which is 30 V rms
    "test-drive-live": (
        (reading("low voltage", reachable=42.4 / sqrt(2)), reading("low voltage", reachable=30.1)),
        (reading("polarity", reachable=29.9), reading("polarity", reachable=30.1)),
    ),
    "short-test-opens": ((reading("short", open_volts=29.9), reading("short", open_volts=30.1)),),
    "proof-test": (
        (reading("insulation", test_volts=1000.0), reading("insulation", test_volts=1001.0)),
        (reading("insulation", test_volts=500.0), reading("proof", test_volts=500.0)),
    ),
    # IEC 60364-6, table 6A: 1 Mohm at 500 V DC for circuits up to 500 V, from memory
    "insulation-low": (
        (
            reading("insulation", test_volts=500.0, insulation=1.0e6),
            reading("insulation", test_volts=500.0, insulation=0.999e6),
        ),
        (
            reading("insulation", test_volts=250.0, insulation=0.5e6),
            reading("insulation", test_volts=500.0, insulation=0.5e6),
        ),
    ),
    # a resistor's own ratings
    "resistor-overload": (
        (
            supply(resistors=(ResistorFacts("R1", 99.9, 100.0),)),
            supply(resistors=(ResistorFacts("R1", 100.1, 100.0),)),
        ),
        (
            supply(resistors=(ResistorFacts("R1", 1.0, 100.0, 349.0, 350.0),)),
            supply(resistors=(ResistorFacts("R1", 1.0, 100.0, 351.0, 350.0),)),
        ),
        (supply(resistors=(ResistorFacts("R1", 500.0),)), supply(resistors=(ResistorFacts("R1", 500.0, 100.0),))),
    ),
    # 20 kg per person: ISO 11228-1, from memory
    "lifting": ((part(mass=20.0), part(mass=20.1)),),
    "old-oil-pcb": (
        (part(filling="oil", made=1986), part(filling="oil", made=1985)),
        (part(filling="resin"), part(filling="tar")),
        (part("capacitor", dielectric="polypropylene"), part("capacitor")),
        (part("capacitor", dielectric="paper in oil", made=1990), part("capacitor", dielectric="paper in oil")),
    ),
    "contactor-weld": (
        (site(disconnections=2), site(disconnections=1)),
        (site(disconnections=2), site(disconnections=None)),
    ),
    "noise": ((site(gap=True, gap_power=100.0), site(gap=True, gap_power=101.0)), (site(), site(gap=True))),
    # factor 4: a rule of ours; 80 m/s: EN 12413, from memory; shield: as thick as is asked
    "rotor-burst": (
        (rotor(disc_factor=4.0), rotor(disc_factor=3.99)),
        (rotor(bolt_factor=4.0), rotor(bolt_factor=3.99)),
        (rotor(tip_speed=79.9), rotor(tip_speed=80.1)),
        (rotor(shield_wanted=2.99e-3), rotor(shield_wanted=3.01e-3)),
        (rotor(), rotor(disc_factor=None)),
        (rotor(), rotor(bolt_factor=None)),
        (rotor(tip_limit=None, tip_speed=500.0), rotor(tip_limit=None, tip_speed=None)),
        (rotor(), rotor(tip_limit=0.0)),
        (rotor(), rotor(shield=None)),
        (rotor(), rotor(shield_wanted=None)),
        (rotor(), rotor(shield_wanted=inf)),
        (rotor(), rotor(shield_all_round=None)),
        (rotor(), rotor(shield_all_round=False)),
        (rotor(), rotor(missing=("highest speed of the motor not stated",))),
    ),
    # from the largest steady current (7.96 A) up to the breaker (B16); both ends hold
    "fuse-missing": (
        (chain(), chain(fuse=None, fuse_current=None)),
        (chain(fuse_current=7.96), chain(fuse_current=7.95)),
        (chain(fuse="16 A T", fuse_current=16.0), chain(fuse="20 A T", fuse_current=20.0)),
        (chain(gap=False, fuse=None), chain(fuse=None)),
    ),
    # twice the streamer: a factor-of-two rule, no source
    "strike-to-mains": (
        (
            site(coil=True, wall_distance=3.001, streamer_length=1.5),
            site(coil=True, wall_distance=2.999, streamer_length=1.5),
        ),
        (
            site(coil=True, wall_distance=9.0, ceiling=3.001, streamer_length=1.5),
            site(coil=True, wall_distance=9.0, ceiling=2.999, streamer_length=1.5),
        ),
        (
            site(coil=True, wall_distance=1.0, streamer_length=1.5, outdoors=True),
            site(coil=True, wall_distance=1.0, streamer_length=1.5),
        ),
    ),
    "shunts-touched": ((part(shunts="as built"), part(shunts="removed")), (part(), part(shunts="changed"))),
}

PRESENCE: dict[str, tuple[Pair, ...]] = {
    "supply-kills": ((site(high_voltage=False), site()), (supply(high_voltage=False), supply())),
    "rcd-blind": ((site(high_voltage=False), site()), (supply(high_voltage=False), supply())),
    "keep-out": ((site(high_voltage=False), site()), (site(high_voltage=False), site(high_voltage=False, coil=True))),
    "fire": ((site(high_voltage=False), site()),),
    "skin-effect-myth": ((site(), site(coil=True)),),
    "audience": ((site(), site(coil=True)),),
    "ground-fault-unit": (
        (part(kind="sign", secondary_protection="none"), part(kind="sign", secondary_protection="ground fault")),
        (part(kind="sign"), part(kind="sign", secondary_protection="unknown")),
    ),
    "fumes-varnish": ((shelf_tags(ShelfFacts()), shelf_tags(ShelfFacts(to_wind=("W1",)))),),
    "gap-uv": ((site(), site(gap=True)),),
    "ozone-nox": ((site(gap=True, outdoors=True), site(gap=True)), (site(), site(coil=True))),
    "interference": ((site(), site(gap=True)), (site(), site(coil=True))),
    "electronics": ((site(), site(gap=True)), (site(), site(coil=True))),
    "system-unknown": (
        (site(), site(earthing="unknown")),
        (site(), site(earthing_mark="pencil")),
        (site(), site(system_mark="pencil")),
    ),
    "reading-refused": (
        (
            shelf_tags(ShelfFacts()),
            shelf_tags(ShelfFacts(refused=(RefusedReading("transformer[3].short_test[1].power", "159 W > 86 VA"),))),
        ),
    ),
    "oven-scavenge": ((part(kind="sign", filling="resin"), part(kind="oven")),),
    "beryllia": ((part(kind="sign", filling="resin"), part(kind="oven")),),
    "oven-capacitor": (
        (part("capacitor", dielectric="polypropylene"), part("capacitor", kind="oven")),
        (part("transformer", kind="oven"), part("capacitor", kind="oven", capacitance=1e-6, rated_peak=3e3)),
    ),
    "electronic-supply": ((part(kind="sign"), part(kind="electronic")),),
    "asbestos-mercury-thoria": (
        (part("choke", lamp="sodium 400 W"), part("choke", lamp="mercury 250 W")),
        (part(made=1986), part(made=1985)),
    ),
    "unpotting": (
        (part(kind="sign", filling="resin"), part(kind="sign", filling="tar")),
        (part(kind="oven", filling="unknown"), part(kind="sign", filling="unknown")),
    ),
    "dc-kick": ((reading("open"), reading("resistance")), (reading("open"), reading("insulation", test_volts=500.0))),
    "capacitance-meter": ((reading("open"), reading("capacitance")),),
    "not-modelled": ((shelf_tags(ShelfFacts()), shelf_tags(ShelfFacts(not_modelled=("T9",)))),),
    "not-converged": (
        (shelf_tags(ShelfFacts()), shelf_tags(ShelfFacts(unconverged=("T1",)))),
        (supply(), supply(unconverged=("short circuit",))),
        (tank(), tank(unconverged=("gap missing",))),
        (slip_tags([SlipFacts("a", True, True)]), slip_tags([SlipFacts("a", True, True, unsolved=("open",))])),
    ),
    "no-telltale": (
        (slip_tags([SlipFacts("a", True, True)]), slip_tags([SlipFacts("a", True, False)])),
        (slip_tags([SlipFacts("a", False, False)]), slip_tags([SlipFacts("a", None, False)])),
    ),
    "mains-in-series": ((supply(), supply(mains_in_series=True, mains_gain=0.027)),),
    "core-not-bonded": (
        (core(), core(earthed=False)),
        (core(), core(bond_resistance=None)),
        (core(), core(bond_mark="ink")),
        (core(tied=False, earthed=False), core(earthed=False)),
        (core(), core(bond_current=None)),
    ),
    "pe-lost": (
        (supply(), supply(plug_in=True)),
        (supply(plug_in=True, second_protective_conductor=True), supply(plug_in=True)),
        (supply(plug_in=True, cores=()), supply(plug_in=True)),
    ),
    "floating-core": (
        (core(), core(earthed=False, primary_mark="pencil")),
        (core(), core(earthed=False, primary_mark="ink")),
        (core(), core(earthed=False, primary_limit=None)),
    ),
    "tapped-in-series": ((supply(), supply(tapped_in_series=("S1", "S2"))),),
    "lamp-autotransformer": ((supply(), supply(lamp_autotransformers=("A1",))),),
    "zero-is-not-off": (
        (supply(), supply(polarity_mark="pencil", ends=(("hot_a", 1929.0),))),
        (supply(), supply(polarity_mark="ink")),
        (supply(pair=False, polarity_mark="pencil"), supply(polarity_mark="pencil")),
    ),
    "parallel-mismatch": ((parallel(0.0), parallel(0.0, alike=False)), (parallel(0.0), parallel(0.0, proved=False))),
    "isolation-transformer-myth": ((supply(), supply(separating=("I1",))),),
    "variable-not-isolating": (
        (supply(), supply(variables=(VariableFacts("V1", 8.0, 10.0),))),
        (supply(), supply(variables=(VariableFacts("V1"),))),
    ),
    "wiring-current": ((supply(), correction()),),
    "pfc-behind-ballast": ((correction(), correction(behind_ballast=True)),),
    "pfc-wrong-type": (
        (correction(), correction(rated=None)),
        (correction(), correction(rated_kind="DC")),
        (correction(), correction(kind="oven")),
    ),
    "pfc-overcorrected": ((correction(), supply(idle_leading=True, idle_power_factor=0.12)),),
    "two-working-points": (
        (supply(states=(18.2e3,)), supply(states=(18.2e3, 10.2e3))),
        (tank(states=(9e3,)), tank(states=(9e3, 5e3))),
    ),
    "pencil-under-stop": (
        (supply(), supply(windings=(WindingEnd("T1.high start", 1930.0, 0.0, 2310.0, "pencil"),))),
        (supply(), supply(windings=(WindingEnd("T1.high finish", 900.0, 0.0, 0.0, "pencil", inner=True),))),
        (supply(windings=(OUTER, INNER)), core(high_to_primary_mark="pencil")),
        (tank(), tank(ratings=(Rating("T1.high", 2640.0, 3250.0, "pencil"),))),
        (supply(), supply(mains_mark="pencil")),
        (rotor(), rotor(mark="pencil")),
    ),
    "filter-missing": (
        (chain(), chain(filter=False)),
        (chain(gap=False, filter=False), chain(filter=False)),
        (chain(filter_time=101e-9), chain(filter_time=99e-9)),
    ),
    "interlock-missing": (
        (chain(), chain(interlock=False)),
        (chain(), chain(interlock=None)),
        (chain(gap=False, interlock=None), chain(interlock=None)),
    ),
    "rf-ground": (
        (site(rod="own"), site(rod="house")),
        (site(rod="own"), site(rod="none")),
        (site(), site(secondary=True)),
        (site(secondary=True, rod="own"), site(secondary=True, rod="house")),
    ),
    "underground": ((site(), site(rod="own")), (site(rod="house"), site(rod="own"))),
    "string-zero-is-not-dead": ((tank(series=1), tank(series=2)),),
    "tank-unfit-capacitor": ((tank(), tank(unfit=("D4 in the tank", "class 2 ceramic: loses 30 to 80 %"))),),
    "earthing-tt-it": (
        (site(earthing="TN"), site(earthing="IT")),
        (site(earthing="unknown"), site(earthing="TT")),
        (site(earthing="TN", rcd=0.03), site(earthing="TT", rcd=0.03)),
    ),
    "homebuilt-capacitor": ((tank(), tank(plates=True, field=10e6)),),
    "test-above-meter": ((reading("open", volts=230.0), reading("open", volts=230.0, refused=True)),),
}

ALWAYS = ("local-code", "isolate-drain-short", "not-alone", "medical-implant", "animals-children", "storage")
__all__ = ["ALWAYS", "PRESENCE", "SHARP"]
