"""Chokes: reference ballasts of lamps, closed forms, regapping, bad readings, and what to read next."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from coilwright.magnetics.iron import Iron, true_rms
from coilwright.measurement.choke import choke_bands, choke_currents, fit_choke, for_setting
from coilwright.measurement.choke_checks import check_choke
from coilwright.measurement.lamps import _ROWS, lamp_choke
from coilwright.measurement.next_choke import next_of_choke
from coilwright.model.known import Known
from coilwright.model.parts import Accuracy, Choke, ChokeTest, Instrument, Read, Stamp
from coilwright.supply.circuits import ChokeCircuit
from measurement.shelf_parts import DAY, INSTRUMENTS


def rows_of(*rows: tuple[float, float, float]) -> tuple[ChokeTest, ...]:
    stamp = Stamp("wall meter", DAY)
    return tuple(ChokeTest(Read(v), Read(i), Read(p), stamp, f"choke[0].test[{k}]") for k, (v, i, p) in enumerate(rows))


B1 = Choke(
    "B1",
    resistance=Known(1.49),
    current=Known(4.6),
    test=rows_of((90, 2.23, 12.2), (160, 4.01, 39), (205, 5.44, 69.8)),
    where="choke[0]",
)


@pytest.mark.parametrize(
    ("lamp", "current", "impedance"),
    [
        # Reference ballasts at 220 V 50 Hz: IEC 60662, 60188, 61167 and 60081 data sheets, all from memory, and so is
        # the table under test; the check that is not from memory is the lamp circuit below.
        ("sodium 400 W", 4.45, 39.0),
        ("mercury 1000 W", 7.5, 18.5),
        ("metal halide 250 W", 3.0, 60.0),
        ("fluorescent 36 W", 0.43, 390.0),
    ],
)
def test_a_lamp_gives_the_choke(lamp, current, impedance):
    fifty = fit_choke(Choke("B", lamp=lamp), {}, 50.0)
    assert fifty.rated_current == pytest.approx(current)
    volts = np.array([current * impedance])
    assert choke_currents(fifty.circuit, volts, 50.0)[0] == pytest.approx(current, rel=0.05)
    # Volts over current is w L: at 60 Hz the same choke has 1.2 times the reactance.
    sixty = fit_choke(Choke("B", lamp=lamp), {}, 60.0)
    assert sixty.circuit.inductance == pytest.approx(fifty.circuit.inductance, rel=1e-9)


def square_arc(volts: float, arc: float) -> tuple[float, float]:
    """Return rms amperes times ohms of a lossless choke, and the lamp's watts over the volt-amperes of the mains.

    Sine mains, the arc a square wave of ``arc`` volts in phase with its current, which is zero when it turns.
    """
    peak = sqrt(2) * volts
    lag = np.arccos(pi * arc / (2 * peak))  # so that the current is zero again after half a period
    turn = np.linspace(0, pi, 2001)
    current = peak * (np.cos(lag) - np.cos(turn + lag)) - arc * turn
    amperes = sqrt(float(np.trapezoid(current**2, turn)) / pi)
    return amperes, arc * float(np.trapezoid(current, turn)) / pi / (volts * amperes)


@pytest.mark.parametrize("lamp", [f"{kind} {watts} W" for kind, (_, rows) in _ROWS.items() for watts in rows])
def test_every_choke_of_the_table_fits_the_watts_of_its_lamp(lamp):
    # A second basis, derived and not from memory: watts and current of the lamp give, by the lamp circuit on 220 V with
    # a square arc (the usual idealisation), the only reactance that lets both be true. A real arc is no square: it
    # strikes again with a spike and its choke has loss, which lays the rows 4 to 20 % below the ideal choke; an
    # impedance that is wrong by a fifth falls outside.
    choke = lamp_choke(lamp)
    watts = float(lamp.split()[-2])
    found = [square_arc(220.0, arc) for arc in np.arange(20.0, 152.0, 0.5)]
    ohm_amperes, _ = min(found, key=lambda f: abs(f[1] - watts / (220.0 * choke.current)))
    ideal = ohm_amperes / choke.current
    assert 1.02 < ideal / choke.impedance < 1.22


def test_lamp_current_against_a_published_circuit():
    # Sodium 50 W circuit at 230 V with 8 uF: runs on 0.31 A and 65 W (a luminaire maker's technical guide, table
    # "starting current and running current", seen; year not kept, maker not named because no brand is named here). The
    # lamp's current from the table gives the line current from its active part and what the capacitor leaves of the
    # rest.
    lamp, w = lamp_choke("sodium 50 W"), 2 * pi * 50
    active = 65 / 230
    reactive = sqrt(lamp.current**2 - active**2) - w * 8e-6 * 230
    assert sqrt(active**2 + reactive**2) == pytest.approx(0.31, rel=0.03)


def test_unsaturated_choke_is_volts_over_impedance():
    linear = ChokeCircuit(1.8, Iron(0.124, 1.0, 0.0, 9), 0.004, None)
    expected = 200 / abs(complex(1.8, 2 * pi * 50 * 0.128))
    assert choke_currents(linear, np.array([200.0]), 50.0)[0] == pytest.approx(expected, rel=1e-9)


def test_saturated_choke_follows_the_closed_form():
    # Resistance and air inductance negligible: the flux is a sine, the true rms known in closed form.
    iron = Iron(0.124, 0.83, 0.4, 9)
    bare = ChokeCircuit(1e-6, iron, 1e-9, None)
    for volts in (150.0, 200.0, 230.0):
        flux = sqrt(2) * volts / (2 * pi * 50)
        assert choke_currents(bare, np.array([volts]), 50.0)[0] == pytest.approx(true_rms(iron, flux), rel=5e-3)


def test_tests_are_fitted_and_extended():
    fit = fit_choke(B1, INSTRUMENTS, 50.0)
    for t in B1.test:
        assert choke_currents(fit.circuit, np.array([t.voltage.value]), 50.0)[0] == pytest.approx(
            t.current.value, rel=0.02
        )
    # Across 230 V with its gap times 1, 1.5, 2 and 3: 6.68, 9.26, 11.76, 16.56 A (own recomputation of the same kind of
    # choke, 185 V at 4.6 A, behind a mains of some tenths of an ohm, hence 6 %; kept as regression figures). The
    # currents themselves are held against scipy in the next test.
    for gap, amperes in ((1.0, 6.68), (1.5, 9.26), (2.0, 11.76), (3.0, 16.56)):
        regapped = fit_choke(replace(B1, gap_ratio=gap), INSTRUMENTS, 50.0)
        assert choke_currents(regapped.circuit, np.array([230.0]), 50.0)[0] == pytest.approx(amperes, rel=0.06)
    assert fit.circuit.regapped(2.0).iron.inductance == pytest.approx(fit.circuit.iron.inductance / 2)


@pytest.mark.parametrize("gap", [1.0, 2.0])
def test_a_saturated_choke_stepped_in_time_carries_the_same_current(gap):
    # The same circuit as a differential equation, integrated by scipy from rest until the first transient is gone:
    # V = R i + La di/dt + dF/dt,  i = i_iron(F) + (dF/dt) / Rc.
    c = fit_choke(replace(B1, gap_ratio=gap), INSTRUMENTS, 50.0).circuit
    w, volts = 2 * pi * 50, 230.0

    def slope(t: float, y: np.ndarray) -> list[float]:
        flux, current = y
        iron = c.loss_resistance * (current - float(c.iron.current(flux)))
        applied = sqrt(2) * volts * np.sin(w * t + pi / 2)
        return [iron, (applied - c.resistance * current - iron) / c.air_inductance]

    cycles, steps = 40, 400
    t = np.linspace((cycles - 1) / 50, cycles / 50, steps + 1)
    done = solve_ivp(slope, (0.0, cycles / 50), [0.0, 0.0], "LSODA", t_eval=t[:-1], rtol=1e-7, atol=1e-9)
    stepped = sqrt(float(np.mean(done.y[1] ** 2)))
    assert choke_currents(c, np.array([volts]), 50.0)[0] == pytest.approx(stepped, rel=5e-3)


def test_a_current_alone_is_wide_and_pencil():
    bare = Choke("B", current=Known(4.6))
    fit = fit_choke(bare, {}, 50.0, 230.0)
    value, low, high = choke_bands(fit, bare, 230.0)["rated_voltage"]
    assert fit.sources["inductance"].mark == "pencil"
    # Chokes of the reference table drop 139 to 200 V on 220 V mains (IEC data sheets, from memory).
    assert low < 139 and high > 200 and low < value < high
    assert fit_choke(Choke("B"), {}, 50.0) is None


def test_settings_of_a_tapped_choke():
    welder = Choke("W", settings=(60.0, 90.0))
    low, high = (fit_choke(for_setting(welder, s), {}, 50.0, 230.0) for s in (60.0, 90.0))
    assert low.circuit.inductance / high.circuit.inductance == pytest.approx(1.5, rel=1e-6)
    assert fit_choke(welder, {}, 50.0, 230.0).circuit.inductance == pytest.approx(low.circuit.inductance)
    with pytest.raises(ValueError, match="60 A, 90 A"):
        for_setting(welder, 75.0)


def _spoiled(place: int, **factors: float) -> Choke:
    tests = list(B1.test)
    row = tests[place]
    tests[place] = replace(row, **{k: Read(getattr(row, k).value * f) for k, f in factors.items()})
    return replace(B1, test=tuple(tests))


@pytest.mark.parametrize(
    ("choke", "where", "code"),
    [
        (_spoiled(1, power=20), "choke[0].test[1].power", "power-above-va"),
        (_spoiled(1, current=0.05), "choke[0].test[1].current", "power-above-va"),
        (_spoiled(0, current=40), "choke[0].test[0].current", "impossible-x"),
        (_spoiled(2, power=0.3), "choke[0].test[2].power", "resistance-below-dc"),
        (_spoiled(2, current=0.7), "choke[0].test[2].current", "choke-shape"),
        (_spoiled(2, voltage=1.25), "choke[0].test[2].voltage", "test-above-meter"),
    ],
)
def test_a_bad_reading_is_named(choke, where, code):
    assert (where, code) in {(f.where, f.code) for f in check_choke(choke, INSTRUMENTS)}


def test_honest_readings_raise_nothing():
    assert not check_choke(B1, INSTRUMENTS)


def test_next_reading_is_within_meter_and_mains():
    bare = Choke("B", current=Known(4.6))
    fit = fit_choke(bare, INSTRUMENTS, 50.0, 230.0)
    asked = next_of_choke(bare, fit, INSTRUMENTS, 230.0)
    assert asked.instrument == "wall meter"
    assert asked.after[1] - asked.after[0] < 0.5 * (asked.before[1] - asked.before[0])
    small = {"small": Instrument("small", {"voltage": Accuracy(0.01), "current": Accuracy(0.01)}, "true rms", 50.0)}
    limited = next_of_choke(bare, fit_choke(bare, small, 50.0, 230.0), small, 230.0)
    assert "not above 50.0 V" in limited.how
    assert next_of_choke(B1, fit_choke(B1, INSTRUMENTS, 50.0), INSTRUMENTS, 230.0) is None
