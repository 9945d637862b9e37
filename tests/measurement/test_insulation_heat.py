"""Insulation limits with their marks, and heat where anything is known of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp

import pytest

from coilwright.measurement.heat import HEAT_TRANSFER, LIMIT_RISE, effective_resistance, part_heat
from coilwright.measurement.insulation import insulation_limits
from coilwright.model.known import Known
from coilwright.model.parts import Choke, ProofTest, Read, Stamp, TemperatureTest, Transformer
from measurement.shelf_parts import oven, sign

STAMP = Stamp("tester", date(2026, 3, 1), "a test house")


def test_pencil_limits():
    lim = insulation_limits(oven())
    # Design rule: 1.1 times the plate's primary volts; outer end 1.1 times its secondary volts; inner end nothing.
    assert (lim.primary_to_core.value, lim.primary_to_core.mark) == (pytest.approx(253.0), "pencil")
    assert (lim.start_to_core.value, lim.start_to_core.mark) == (pytest.approx(2310.0), "pencil")
    assert (lim.finish_to_core.value, lim.inner_end) == (0.0, "finish")
    assert lim.high_to_primary.value == pytest.approx(1.1 * 2330)
    tapped = insulation_limits(sign())
    assert tapped.start_to_core.value == tapped.finish_to_core.value == pytest.approx(4400.0)
    assert tapped.inner_end == "tap"


def test_an_end_of_unknown_place_counts_as_inner_once_nothing_ties_it():
    unknown = oven(inner_end=Known("unknown"))
    assert insulation_limits(unknown, lifted=True).start_to_core.value == 0
    # ... but while the tie is on, its far end stands what the maker let it stand.
    assert insulation_limits(unknown).start_to_core.value == pytest.approx(2310.0)
    free = Transformer("V", "measuring", plate_primary=Known(100.0), plate_secondary=Known(10e3))
    lim = insulation_limits(free)
    assert lim.start_to_core.value == lim.finish_to_core.value == 0
    told = insulation_limits(replace(free, inner_end=Known("start")))
    assert told.start_to_core.value == 0 and told.finish_to_core.value == pytest.approx(11e3)


def test_a_written_number_is_ink_and_never_raises_a_limit():
    higher = insulation_limits(oven(insulation={"primary_to_core": Known(2500.0), "high_to_core": Known(9e3)}))
    assert higher.primary_to_core.value == pytest.approx(253.0) and higher.primary_to_core.mark == "pencil"
    assert higher.start_to_core.value == pytest.approx(2310.0)
    lower = insulation_limits(oven(insulation={"primary_to_core": Known(100.0), "high_to_core": Known(1e3)}))
    assert (lower.primary_to_core.value, lower.primary_to_core.mark) == (100.0, "ink")
    assert (lower.start_to_core.value, lower.start_to_core.mark) == (1e3, "ink")


def test_only_a_recorded_proof_test_raises_a_limit():
    # UL 506 (specialty transformers), dielectric test of twice the rated volts and 1000 V for a minute, from memory:
    # a 2300 V winding is tested at 5600 V, so 5600 V counts for 2300 V.
    induced = ProofTest(("high", "core"), 5600.0, 60.0, "induced", STAMP)
    lim = insulation_limits(oven(proof_test=(induced,)))
    assert (lim.start_to_core.value, lim.start_to_core.mark) == (2300.0, "stamped")
    assert "5.60 kV" in lim.start_to_core.basis
    # Induced volts grow along the winding: the inner end saw none.
    assert lim.finish_to_core.value == 0
    applied = replace(induced, method="applied", between=("core", "high"))
    assert insulation_limits(oven(proof_test=(applied,))).finish_to_core.value == 2300.0
    between = replace(applied, between=("high", "primary"))
    assert insulation_limits(oven(proof_test=(between,))).high_to_primary.mark == "pencil"  # 2300 V, below the plate
    more = replace(between, applied=6200.0)
    assert insulation_limits(oven(proof_test=(more,))).high_to_primary.mark == "stamped"


@pytest.mark.parametrize(
    "change",
    [
        {"stamp": Stamp("tester", None, "a test house")},
        {"stamp": Stamp(None, STAMP.date, "a test house")},
        {"stamp": Stamp("tester", STAMP.date)},
        {"duration": None},
        {"duration": 59.0},
        {"method": None},
        {"applied": 1000.0},
    ],
)
def test_a_proof_test_with_a_gap_in_its_record_proves_nothing(change):
    test = ProofTest(("high", "core"), 5600.0, 60.0, "applied", STAMP)
    assert insulation_limits(oven(proof_test=(test,))).finish_to_core.value == 2300.0
    lim = insulation_limits(oven(proof_test=(replace(test, **change),)))
    assert (lim.finish_to_core.value, lim.finish_to_core.mark) == (0.0, "pencil")


def test_induced_volts_prove_nothing_between_primary_and_core():
    test = ProofTest(("primary", "core"), 7000.0, 60.0, "induced", STAMP)
    assert insulation_limits(oven(proof_test=(test,))).primary_to_core.value == pytest.approx(253.0)
    assert insulation_limits(oven(proof_test=(replace(test, method="applied"),))).primary_to_core.value == 3000.0


def test_nothing_known_nothing_said():
    heat = part_heat(oven(), 60.0, 200.0)
    assert heat.temperature_rise is None and heat.on_time is None and heat.duty is None
    assert heat.loss == 60.0 and heat.loss_short == 200.0


@pytest.mark.parametrize(
    ("height", "rise", "total"),
    [(0.1, 20, 11.13), (0.1, 40, 12.64), (0.1, 60, 13.88), (0.2, 20, 10.25), (0.2, 40, 11.61), (0.2, 60, 12.76)],
)
def test_the_heat_transfer_is_that_of_a_vertical_plate(height, rise, total):
    # S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, laminar form (from memory): Nu = 0.68
    # + 0.670 Ra^(1/4) / [1 + (0.492 / Pr)^(9/16)]^(4/9), and a grey body of emissivity 0.9, both in air of 25 degC.
    # ``total`` [W/(m2 K)] was computed apart from this project with the air properties of CoolProp; here with those of
    # F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer, table A.4 (350 K and 300 K, from
    # memory). Good to 15 to 25 % of a real part.
    film = 298.15 + rise / 2
    share = (film - 300) / 50
    nu, k, pr = ((a + share * (b - a)) for a, b in ((15.89e-6, 20.92e-6), (26.3e-3, 30.0e-3), (0.707, 0.700)))
    rayleigh = 9.81 / film * rise * height**3 / nu**2 * pr
    nusselt = 0.68 + 0.670 * rayleigh**0.25 / (1 + (0.492 / pr) ** (9 / 16)) ** (4 / 9)
    radiated = 0.9 * 5.670374e-8 * ((298.15 + rise) ** 4 - 298.15**4) / rise
    assert nusselt * k / height + radiated == pytest.approx(total, rel=0.02)
    assert abs(HEAT_TRANSFER / total - 1) < 0.2


def test_heat_from_mass_and_surface():
    # 57 W on a 4.6 A lamp choke with a 0.039 m2 surface: 122 K, so 57 % duty (own recomputation, h = 12 W/(m2 K)).
    choke = Choke("B", mass=Known(4.0), surface=Known(57 / 12 / 122))
    heat = part_heat(choke, 57.0, 100.0)
    assert heat.temperature_rise.value == pytest.approx(122, rel=1e-6)
    assert heat.temperature_rise.low < 70 < heat.temperature_rise.high and heat.temperature_rise.mark == "pencil"
    assert heat.duty == pytest.approx(0.574, abs=0.005)
    # On time from cold is when the rise reaches its limit, with half the time constant m c / (h A).
    half = 430 * 4.0 / (57 / 122) / 2
    assert 122 * (1 - exp(-heat.on_time.value / half)) == pytest.approx(LIMIT_RISE, rel=1e-9)
    short_run = part_heat(choke, 57.0, 100.0, on_time=300.0)
    assert short_run.temperature_rise.value == pytest.approx(122 * (1 - exp(-300 / half)))
    cool = part_heat(choke, 20.0, 30.0)
    assert cool.on_time is None and cool.duty == 1.0


def test_a_temperature_test_is_stamped_and_sharper():
    bare = Choke("B", resistance=Known(1.5), mass=Known(4.0), surface=Known(0.039))
    read = replace(bare, temperature_test=(TemperatureTest(4.6, 7200.0, Read(60.0, 3.0), STAMP),))
    loss = 4.6**2 * effective_resistance(read)
    heat, guess = part_heat(read, loss, loss), part_heat(bare, loss, loss)
    tau = 430 * 4.0 / (12 * 0.039)
    assert heat.temperature_rise.value == pytest.approx(60 / (1 - exp(-7200 / tau)), rel=1e-6)
    assert heat.temperature_rise.mark == "stamped"
    width = heat.temperature_rise.high / heat.temperature_rise.low
    assert width < guess.temperature_rise.high / guess.temperature_rise.low
