"""One bank: sharing, currents, heat; identities that hold whatever the constants are."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.capacitors.film import FilmUnit, unit_of
from coilwright.capacitors.strings import (
    Duty,
    StringFigures,
    dynamic_share,
    evaluate,
    exposed_surface,
    peak_current,
    ring_current_rms,
    slow_share,
    string_capacitance,
)
from coilwright.errors import InputError
from coilwright.model.known import Estimate, Known
from coilwright.model.parts import Capacitor

counts = st.integers(1, 40)
farads = st.floats(1e-10, 1e-6)


def sure(value: float, unit: str) -> Estimate:
    return Estimate(value, value, value, "stamped", unit)


def unit(**given_: object) -> FilmUnit:
    values: dict[str, object] = {
        "value": Known(0.15e-6),
        "rated": Known(700.0, "ink"),
        "rated_kind": "AC",
        "dielectric": "polypropylene",
        "count": 200,
        "tolerance": 0.05,
        "size": (Known(41.5e-3), Known(20e-3), Known(39.5e-3)),
        "lead_pitch": Known(37.5e-3),
    }
    return unit_of(Capacitor("C1", **(values | given_)))  # type: ignore[arg-type]


def duty(**given_: object) -> Duty:
    values: dict[str, object] = {
        "frequency": sure(200e3, "Hz"),
        "quality": sure(15.0, "1"),
        "mains_frequency": 50.0,
        "firing_peak": 9e3,
        "missing_peak": 12e3,
        "break_rate": sure(200.0, "1/s"),
        "mains_rms": 6e3,
    }
    return Duty(**(values | given_))  # type: ignore[arg-type]


@given(farads, counts, counts)
def test_strings_scale(c: float, series: int, parallel: int) -> None:
    one = string_capacitance(c, series, parallel)
    assert string_capacitance(c, 2 * series, 2 * parallel) == pytest.approx(one)
    assert string_capacitance(c, series, 2 * parallel) == pytest.approx(2 * one)
    assert string_capacitance(c, 2 * series, parallel) == pytest.approx(one / 2)
    # energy of the bank is that of its units at equal share
    assert one * 1e4**2 == pytest.approx(series * parallel * c * (1e4 / series) ** 2)


@given(st.integers(1, 30), st.integers(1, 12))
def test_currents_and_heat_scale_with_the_bank(series: int, parallel: int) -> None:
    plain = duty(mains_rms=None)
    made, wide = evaluate(unit(), series, parallel, plain), evaluate(unit(), series, 2 * parallel, plain)
    assert made.current_peak and made.current_rms and wide.current_peak and made.loss and wide.loss
    assert wide.current_peak.value == pytest.approx(made.current_peak.value)  # each unit keeps its own
    assert wide.loss.value == pytest.approx(made.loss.value)
    assert wide.inductance.value == pytest.approx(made.inductance.value / 2)
    assert wide.capacitance.value == pytest.approx(2 * made.capacitance.value)
    twice = evaluate(unit(), series, parallel, duty(mains_rms=None, firing_peak=18e3, missing_peak=24e3))
    assert twice.current_peak and twice.loss and twice.dv_dt and made.dv_dt
    assert twice.current_peak.value == pytest.approx(2 * made.current_peak.value)
    assert twice.dv_dt.value == pytest.approx(2 * made.dv_dt.value)
    assert twice.loss.value == pytest.approx(4 * made.loss.value)


@given(st.integers(2, 9), st.floats(0.0, 0.4), st.integers(0, 2**9 - 1))
def test_no_scatter_within_the_tolerance_loads_a_unit_more(series: int, tolerance: float, pattern: int) -> None:
    # series capacitors carry one charge, so the volts go as 1/C (textbook identity)
    c = [1 + tolerance * (1 if pattern >> k & 1 else -1) for k in range(series)]
    volts = np.array([1 / x for x in c])
    assert volts.max() / volts.sum() <= dynamic_share(series, tolerance) * (1 + 1e-12)
    worst = np.array([1 / (1 - tolerance), *[1 / (1 + tolerance)] * (series - 1)])
    assert worst.max() / worst.sum() == pytest.approx(dynamic_share(series, tolerance))


def test_steady_volts_are_shared_by_the_bleeders_and_not_by_leakage() -> None:
    c, bleeder = 0.2e-6, 10e6
    bare, held = slow_share(8, c, None), slow_share(8, c, bleeder)
    assert held < 0.14 and bare > 0.5
    # every corner of 5 % resistors with the leakage on the low ones, by the divider rule
    corners = []
    for high, *rest in product((0.95, 1.05), repeat=4):
        ohms = [high * bleeder, *[1 / (1 / (r * bleeder) + c / 1e3) for r in rest]]
        corners.append(ohms[0] / sum(ohms))
    assert max(corners) == pytest.approx(slow_share(4, c, bleeder))


def test_peak_current_two_ways() -> None:
    # 12 nF at 12.728 kV with 50 uH: V sqrt(C/L) = 197.2 A; the same as 2 pi f C V at f = 1 / (2 pi sqrt(L C))
    c, ell, v = 12e-9, 50e-6, 9e3 * sqrt(2)
    f = 1 / (2 * pi * sqrt(ell * c))
    assert peak_current(v, c, ell) == pytest.approx(2 * pi * f * c * v) == pytest.approx(197.18, abs=0.01)
    # energy and charge at the crest, by hand: 0.972 J and 152.7 uC
    assert c * v**2 / 2 == pytest.approx(0.972, abs=5e-4) and c * v == pytest.approx(152.7e-6, abs=5e-8)


@given(st.floats(2e4, 1e6), st.floats(5.0, 80.0), st.floats(20.0, 1000.0), st.floats(1e-9, 2e-7))
def test_the_rms_current_burns_exactly_the_energy_of_the_bangs(f: float, q: float, rate: float, c: float) -> None:
    # all of C V^2 / 2 per bang ends in the ring's resistance w L / Q (conservation of energy)
    v, w = 8e3, 2 * pi * f
    ell = 1 / (w**2 * c)
    rms = ring_current_rms(w * c * v, f, q, rate)
    assert rms**2 * w * ell / q == pytest.approx(rate * c * v**2 / 2)


def test_the_rms_current_against_the_wave_itself() -> None:
    f, q, rate, peak = 150e3, 20.0, 240.0, 100.0
    t = np.linspace(0, 40 * q / (2 * pi * f), 400_001)
    wave = peak * np.exp(-2 * pi * f * t / (2 * q)) * np.sin(2 * pi * f * t)
    square = float(np.trapezoid(wave**2, t)) * rate
    # the closed form leaves out 1/(4 Q^2) of itself
    assert ring_current_rms(peak, f, q, rate) == pytest.approx(sqrt(square), rel=1 / q**2)


def test_figures_of_one_bank_by_hand() -> None:
    s = evaluate(unit(), 15, 3, duty())
    assert s.capacitance.value == pytest.approx(30e-9) and s.units == 45
    string = 10e-9
    assert s.current_peak is not None and s.current_peak.value == pytest.approx(2 * pi * 200e3 * string * 9e3)
    assert s.mains_current == pytest.approx(2 * pi * 50 * string * 6e3)
    share = 1.05 / (1.05 + 14 * 0.95)
    assert s.share == pytest.approx(share) and s.firing_each == pytest.approx(9e3 * share)
    assert s.missing_each == pytest.approx(12e3 * share)
    assert s.dv_dt is not None and s.dv_dt.value == pytest.approx(2 * pi * 200e3 * 9e3 * share)
    assert s.inductance.value == pytest.approx(37.5e-9 * 15 / 3)  # data sheet: at most 1 nH per mm of lead pitch
    assert s.loss is not None and s.temperature_rise is not None
    assert s.temperature_rise.value == pytest.approx(s.loss.value / (10.0 * exposed_surface(unit())))
    assert s.temperature_rise.low < s.temperature_rise.value < s.temperature_rise.high
    assert exposed_surface(unit()) == pytest.approx(41.5e-3 * 20e-3 + 2 * 20e-3 * 39.5e-3 + 41.5e-3 * 39.5e-3)


def test_loss_is_the_rms_current_through_the_series_resistance() -> None:
    s = evaluate(unit(esr=Known(0.01, "ink")), 15, 3, duty(mains_rms=None))
    assert s.loss is not None and s.current_rms is not None
    assert s.loss.value == pytest.approx(s.current_rms.value**2 * 0.01)


def verdicts(s: StringFigures) -> dict[str, str]:
    return {c.what: c.verdict for c in s.checks}


def test_volts_are_judged_on_the_worst_unit_just_below_and_just_above() -> None:
    limit = 700 * sqrt(2)
    share = dynamic_share(15, 0.05)
    missing = "volts of a unit with the gap missing"
    below = evaluate(unit(), 15, 3, duty(missing_peak=limit / share * 0.999))
    above = evaluate(unit(), 15, 3, duty(missing_peak=limit / share * 1.001))
    assert verdicts(below)[missing] == "within" and verdicts(above)[missing] == "over" == above.verdict
    guessed = evaluate(unit(tolerance=None), 15, 3, duty(missing_peak=limit * 15 * 0.99))
    assert verdicts(guessed)[missing] == "doubtful"  # equal shares hold; only the assumed tolerance does not


def test_a_600_volt_string_on_15_kilovolts_is_over() -> None:
    s = evaluate(unit(rated=Known(600.0), rated_kind="DC"), 1, 1, duty(firing_peak=15e3, missing_peak=15e3))
    assert s.verdict == "over" and s.missing_each == 15e3


def test_slope_current_and_heat_are_judged() -> None:
    hot = evaluate(unit(esr=Known(5.0, "ink")), 15, 3, duty())
    assert verdicts(hot)["temperature rise"] == "over"
    weak = evaluate(unit(ripple_current=Known(0.1), dv_dt=Known(10e6, "ink")), 15, 3, duty())
    assert verdicts(weak)["rms current"] == "over" and verdicts(weak)["voltage slope"] == "over"
    strong = evaluate(unit(ripple_current=Known(50.0), dv_dt=Known(5000e6, "ink")), 15, 3, duty())
    assert verdicts(strong)["rms current"] == "within" and verdicts(strong)["voltage slope"] == "within"


def test_a_warm_room_takes_from_the_rating() -> None:
    cold, warm = evaluate(unit(), 15, 3, duty()), evaluate(unit(), 15, 3, duty(ambient=273.15 + 95))
    assert cold.rated_each and warm.rated_each and warm.temperature_rise
    gone = 0.0225 * (10 + warm.temperature_rise.value)
    assert warm.rated_each.value == pytest.approx(cold.rated_each.value * (1 - gone))


def test_what_is_not_known_stays_unknown_and_is_said() -> None:
    s = evaluate(unit(), 15, 3, duty(firing_peak=None, missing_peak=None, break_rate=None, mains_rms=None))
    assert s.current_peak is s.current_rms is s.loss is s.temperature_rise is s.bleeder is None
    assert verdicts(s)["volts of a unit with the gap missing"] == "not known" == s.verdict


def test_bands_widen_with_the_ring() -> None:
    sharp = evaluate(unit(), 15, 3, duty())
    vague = evaluate(unit(), 15, 3, replace(duty(), frequency=Estimate(200e3, 80e3, 500e3, "pencil", "Hz")))
    assert sharp.current_peak and vague.current_peak and vague.current_rms and sharp.current_rms
    assert vague.current_peak.low < sharp.current_peak.value < vague.current_peak.high
    assert vague.current_rms.low < sharp.current_rms.value < vague.current_rms.high


def test_a_string_of_nothing_is_answered_in_words() -> None:
    with pytest.raises(InputError, match="no string"):
        evaluate(unit(), 0, 1, duty())
    with pytest.raises(ValueError, match="count from one"):
        string_capacitance(1e-9, 1, 0)
    with pytest.raises(ValueError, match="tolerance"):
        dynamic_share(3, 1.0)
