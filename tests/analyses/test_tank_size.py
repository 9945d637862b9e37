"""Size of the tank capacitor: hand values, the ranges that hold, and what is said of larger and smaller ones."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from math import sqrt

import pytest

from analyses.tank_size_bench import FIRING, PEAKS, WINDING, bench, estimate, plated, side, staged, written
from coilwright.analyses.tank import tank_capacitance
from coilwright.analyses.tank_gap import gap_result
from coilwright.analyses.tank_results import Missing, RatedPlace, SizeRow
from coilwright.analyses.tank_running import running_at, with_rotor_verdict
from coilwright.analyses.tank_size import over, ranges, size_result
from coilwright.model.known import Known
from coilwright.model.machine import Electrode, Gap, Protection, Tank, TankStrings
from coilwright.model.parts import Capacitor
from coilwright.supply.gap_missing import resonant_capacitance
from coilwright.supply.operating import correction_capacitance

# Exact, derived (wL = V/I): C = I/(2 pi f V) at 50 and 60 Hz, and its energy at the crest of V. 30-digit arithmetic.
RESONANT = """V_rms,I_mA,C50_nF,C60_nF,E_J_50
4000,20,15.9154943091895,13.2629119243246,0.254647908947033
6000,60,31.8309886183791,26.5258238486492,1.14591559026165
7500,30,12.7323954473516,10.6103295394597,0.716197243913529
9000,60,21.2206590789194,17.6838825657661,1.71887338539247
12000,30,7.95774715459477,6.63145596216231,1.14591559026165
15000,60,12.7323954473516,10.6103295394597,2.86478897565412
15000,100,21.2206590789194,17.6838825657661,4.77464829275686
"""


@pytest.mark.parametrize("row", list(csv.DictReader(io.StringIO(RESONANT))), ids=lambda r: f"{r['V_rms']}-{r['I_mA']}")
def test_mains_resonant_value(row):
    volts, amps = float(row["V_rms"]), float(row["I_mA"]) / 1e3
    for hertz, key in ((50, "C50_nF"), (60, "C60_nF")):
        assert resonant_capacitance(volts, amps, hertz) * 1e9 == pytest.approx(float(row[key]), rel=1e-12)
    farads = resonant_capacitance(volts, amps, 50)
    assert farads * (sqrt(2) * volts) ** 2 / 2 == pytest.approx(float(row["E_J_50"]), rel=1e-12)


def test_hand_values():
    # By hand: 0.072 / (2 pi 60 9300) = 20.536 nF; 850 / (2 pi 60 240^2) = 39.144 uF.
    assert resonant_capacitance(9.3e3, 0.072, 60) * 1e9 == pytest.approx(20.536, abs=5e-4)
    assert correction_capacitance(850.0, 240.0, 60) * 1e6 == pytest.approx(39.144, abs=5e-4)


def test_energy_and_charge_at_the_crest_by_hand():
    # By hand: 12 nF at 9 kV rms, crest 12.728 kV: 0.972 J and 152.7 uC.
    size = staged(written(12e-9), firing=estimate(9e3 * sqrt(2), "V")).size
    assert size.energy_per_bang.value == pytest.approx(0.972, rel=1e-9)
    assert size.charge.value == pytest.approx(152.7e-6, rel=1e-3)
    assert size.energy_per_bang.low < size.energy_per_bang.value < size.energy_per_bang.high


def test_volts_with_the_gap_missing_are_the_scans():
    size = staged(written(20e-9)).size
    assert size.gap_missing_peak.value == PEAKS[20e-9]
    assert size.energy_missing == pytest.approx(20e-9 * 19.2e3**2 / 2)
    assert [r.missing_peak for r in size.rows] == list(PEAKS.values())


def test_power_and_rate_agree_with_energy_and_lie_in_their_bands():
    size = staged(written(20e-9)).size
    assert size.power.value == pytest.approx(size.break_rate.value * size.energy_per_bang.value, rel=1e-6)
    for e in (size.power, size.break_rate):
        # the supply of this bench is ink throughout: a figure of the linear charging model is pencil all the same
        assert e.low < e.value < e.high and e.mark == "pencil"
    low, high = FIRING.low / FIRING.value, FIRING.high / FIRING.value
    assert (size.power.low, size.power.high) == pytest.approx(
        (0.7 * low * size.power.value, 1.05 * high * size.power.value)
    )
    assert size.power_share == pytest.approx(size.power.value / 1000.0)
    assert size.supply_loss > 0 and size.firing_spread == 0.0


def test_ranges_end_at_points_that_hold():
    def row(farads: float, *, within: bool) -> SizeRow:
        return SizeRow(farads, 1.0, {}, within, () if within else ("x",))

    rows = [row(c, within=c not in {3.0, 6.0}) for c in (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0)]
    found = ranges(rows)
    assert [(r.low, r.high) for r in found] == [(1.0, 2.0), (4.0, 5.0), (7.0, 7.0)]
    assert [(r.low_is_scan_end, r.high_is_scan_end) for r in found] == [(True, False), (False, False), (False, True)]
    assert ranges([row(1.0, within=False)]) == ()


def test_a_leg_counts_to_earth_and_a_string_across():
    missing = Missing(20e-9, 19.2e3, {"hot_a": 9e3, "hot_b": 10.2e3})
    assert over((WINDING,), missing) == ()
    assert over((RatedPlace("b", 10e3, "ink", leg="hot_b"),), missing) == ("b",)
    assert over((RatedPlace("inside", 10e3, "ink"),), missing) == ("inside",)  # no leg of its own: the higher end
    assert over((RatedPlace("string", 19e3, "ink", across=True),), missing) == ("string",)
    assert over((RatedPlace("string", 19.3e3, "ink", across=True),), missing) == ()


def test_the_winding_of_10_kv_per_leg_holds_up_to_20_kv_across():
    result = staged(written(20e-9)).size
    assert [(r.low, r.high) for r in result.ranges] == [(5e-9, 20e-9)]
    assert [r.capacitance for r in result.rows if not r.within] == [31.8e-9, 45e-9, 60e-9]
    assert result.advised.value == 20e-9 and "nearest to 47.7 nF" in result.advised.basis
    assert "no safety gap counted" in result.advised.basis
    words = " ".join(result.words)
    assert "5.00 nF (end of the scan) to 20.0 nF" in words
    assert "Still rising at the end of the scan" in words


def test_with_a_higher_rating_the_usual_multiple_is_advised():
    high = (RatedPlace("w", 50e3, "ink", leg="hot_a"),)
    size = size_result(bench(written(20e-9)), side(), high, FIRING)
    assert size.advised.value == 45e-9  # 1.5 x 31.8 = 47.7 nF
    assert "1.5 x" in size.advised.basis and "nearest" not in size.advised.basis


def test_nothing_holds_and_nothing_is_advised():
    low = (RatedPlace("w", 5e3, "ink", leg="hot_a"),)
    size = size_result(bench(written(20e-9)), side(), low, FIRING)
    assert size.ranges == () and size.advised is None
    assert any("no capacitance of the scan holds" in w for w in size.words)
    assert size.advised_held is None  # the window of a safety gap is empty too: 7.46 kV to 5 kV
    assert any("only a safety gap stands between" in w for w in size.words)


def test_words_name_the_way_out_of_a_tank_that_passes():
    peaks = {**PEAKS, 12e-9: 25e3}  # a harmonic resonance
    result = staged(written(12e-9), seen=side(peaks, 12e-9)).size
    words = " ".join(result.words)
    assert "passes S1.high start to core; nearest that hold: 10.0 nF and 20.0 nF" in words
    assert "rings with the tank on a harmonic" in words
    assert "22.2 kV peak in each half-cycle" in words  # pi/2 x sqrt 2 x 10 kV, the lossless growth (exact, derived)


def test_a_gap_set_too_wide_is_answered_in_words():
    size = staged(written(20e-9), firing=estimate(21e3, "V")).size
    assert size.break_rate is None and size.power is None
    assert any("never fires" in w for w in size.words)
    fires = [r for r in size.rows if r.break_rate is not None]
    assert all(r.missing_peak >= 21e3 for r in fires)


def test_without_a_gap_or_a_tank_nothing_is_made_up():
    size = staged(written(20e-9), firing=None).size
    assert (size.energy_per_bang, size.break_rate, size.power, size.firing_peak) == (None,) * 4
    none = staged(None).size
    assert (none.capacitance, none.energy_per_bang, none.how) == (None, None, "")
    assert none.advised is not None and none.rows[0].power is not None


def test_a_locked_rotor_fires_at_its_presentations():
    gap = Gap("synchronous rotary", speed=Known(25.0), presentations=4, phase=Known(1.2))
    size = staged(written(12e-9), gap, firing=None, seen=side({**PEAKS, 12e-9: 40e3}, 12e-9)).size
    assert size.break_rate.value == pytest.approx(100.0)
    assert size.firing_peak.low < size.firing_peak.value < size.firing_peak.high
    assert size.energy_per_bang.value == pytest.approx(12e-9 * size.firing_peak.value**2 / 2)


def test_a_free_rotor_has_bangs_that_differ_and_a_mean_energy():
    gap = Gap("asynchronous rotary", speed=Known(30.0), presentations=8)
    size = staged(written(5e-9), gap, firing=None, seen=side({**PEAKS, 5e-9: 40e3}, 5e-9)).size
    volts = size.firing_peak.value
    assert size.firing_spread > 0.1 * volts
    # The mean of squares is above the square of the mean by the variance: exact.
    assert size.energy_per_bang.value == pytest.approx(5e-9 / 2 * (volts**2 + size.firing_spread**2), rel=1e-9)
    assert size.power.value == pytest.approx(size.energy_per_bang.value * size.break_rate.value, rel=1e-9)


def test_a_rotor_whose_linear_volts_pass_the_scan_shows_none():
    # Far above what the iron lets through: the linear supply resonates, the scan says 20 kV.
    gap = Gap("synchronous rotary", speed=Known(25.0), presentations=4, phase=Known(0.0))
    size = staged(written(31.8e-9), gap, firing=None, seen=side(own=31.8e-9)).size
    assert size.break_rate is None
    assert all(r.power is None for r in size.rows if r.capacitance == 31.8e-9)


def test_capacitance_of_each_way_to_state_it():
    assert tank_capacitance(bench(written(12e-9))) == 12e-9
    assert tank_capacitance(bench(None)) is None
    assert tank_capacitance(bench(Tank(strings=TankStrings("none", 8, 2)))) is None
    # By hand: 33 x 8.854e-12 x 2.28 x 0.09 / 3e-3 = 20.0 nF; the fringe of the edges adds about 1 %.
    assert tank_capacitance(bench(plated())) == pytest.approx(20.0e-9, rel=0.02)
    assert tank_capacitance(bench(plated(dielectric="unobtainium"))) is None


def test_what_it_says_of_its_limits():
    limits = " ".join(staged(written(20e-9)).size.limits)
    assert "no saturation" in limits and "scan" in limits


# ---- what to aim at --------------------------------------------------------------------------------------------------


def test_without_a_safety_gap_both_values_are_given():
    size = staged(written(20e-9)).size
    assert size.advised.value == 20e-9
    # 1.5 x 31.8 nF, which this winding bears only behind a safety gap: 8 % more spacing than fires at 7.1 kV
    assert size.advised_held.value == pytest.approx(47.7e-9)
    assert "ONLY with a safety gap, none is fitted" in size.advised_held.basis
    (words,) = [w for w in size.words if w.startswith("To aim at")]
    assert "20.0 nF without a safety gap, 47.7 nF only with one" in words


def test_a_fitted_safety_gap_holds_what_is_aimed_at():
    # 8 kV a leg: above 1.05 x 7.1 kV, below the 10 kV of the winding; the legs add to 16 kV across.
    size = staged(written(20e-9), protection=Protection(safety_gap_voltage=Known(8e3))).size
    assert size.advised.value == pytest.approx(47.7e-9) and size.advised_held is None
    assert "with the safety gap at 8.00 kV peak a leg, 16.0 kV peak across" in size.advised.basis
    assert 16e3 < size.held_peak < 17.5e3
    assert [(r.low, r.high) for r in size.holding] == [(5e-9, 60e-9)]
    assert [(r.low, r.high) for r in size.ranges] == [(5e-9, 20e-9)]  # the table itself counts no safety gap


@pytest.mark.parametrize("volts", [7.2e3, 10.5e3], ids=["fires on the open supply", "above the winding's rating"])
def test_a_safety_gap_outside_its_window_is_not_counted(volts):
    size = staged(written(20e-9), protection=Protection(safety_gap_voltage=Known(volts))).size
    assert size.held_peak is None and size.advised.value == 20e-9
    assert "no safety gap counted" in size.advised.basis


def test_a_gap_set_above_the_safety_gap_is_not_aimed_at():
    # 18 kV across against 2 x 8 kV: the safety gap would fire in its place, so only what holds bare is left.
    high = estimate(18e3, "V")
    size = staged(written(20e-9), firing=high, protection=Protection(safety_gap_voltage=Known(8e3))).size
    assert size.advised.value == 20e-9 and "no safety gap counted" in size.advised.basis


@pytest.mark.parametrize("what", ["string", "plates"])
def test_an_underrated_capacitor_of_ones_own_does_not_take_the_advice_away(what):
    weak = RatedPlace(f"own {what}", 1e3, "ink", across=True, what=what)
    bare = size_result(bench(written(20e-9)), side(), (WINDING,), FIRING)
    size = size_result(bench(written(20e-9)), side(), (WINDING, weak), FIRING)
    assert size.advised == bare.advised and size.advised_held == bare.advised_held
    assert size.ranges == () and size.holding == bare.ranges
    assert any(f"passes own {what}; every winding holds: a capacitor that stands 19.2 kV" in w for w in size.words)


# ---- marks -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pencil", ["open_voltage", "short_current", "mains_current"])
def test_the_scan_is_no_better_known_than_what_it_rests_on(pencil):
    seen = side()
    assert staged(written(20e-9), seen=seen).size.gap_missing_peak.mark == "ink"
    weak = replace(seen, **{pencil: replace(getattr(seen, pencil), mark="pencil")})
    size = staged(written(20e-9), seen=weak).size
    assert size.gap_missing_peak.mark == size.scan_mark == "pencil"


# ---- a rotor's volts -------------------------------------------------------------------------------------------------

FREE = Gap("asynchronous rotary", speed=Known(30.0), presentations=8)
HIGH = {c: 3 * v for c, v in PEAKS.items()}  # a supply that the linear one stays below


def test_rows_of_a_rotor_carry_its_volts_and_none_above_the_scan():
    rows = staged(written(20e-9), FREE, firing=estimate(4e3, "V"), seen=side(HIGH)).size.rows
    shown = [r for r in rows if r.firing_highest is not None]
    assert len(shown) >= 3
    for r in shown:
        assert 4e3 < r.firing_peak < r.firing_highest <= r.highest_peak <= r.missing_peak
        assert r.why_none == ""
    # the same rotor where the scan's own peaks are lower: what passes them is not shown, and the row says why
    low = staged(written(20e-9), FREE, firing=estimate(4e3, "V"), seen=side()).size
    for r in low.rows:
        assert r.highest_peak is None or r.highest_peak <= r.missing_peak
    gone = [r for r in low.rows if r.highest_peak is None]
    assert gone and all("the linear supply would reach" in r.why_none and r.power is None for r in gone)
    assert any("No running figures at" in w and "the iron does not let happen" in w for w in low.words)


def test_a_rotor_is_never_taken_to_fire_at_its_cold_breakdown():
    cold = estimate(4e3, "V")
    size = staged(written(20e-9), FREE, firing=cold, seen=side(HIGH)).size
    assert size.by_rotor and size.firing_peak.value > 1.5 * cold.value
    assert size.firing_peak.value < size.firing_highest.value <= size.highest_peak
    assert size.firing_highest.high <= HIGH[20e-9]
    hidden = staged(written(20e-9), FREE, firing=cold, seen=side()).size  # the linear model passes the scan
    assert (hidden.firing_peak, hidden.firing_highest, hidden.energy_per_bang, hidden.power) == (None,) * 4


def test_what_runs_at_any_capacitance_is_the_higher_neighbour():
    size = staged(written(20e-9), FREE, firing=estimate(4e3, "V"), seen=side(HIGH)).size
    low, high = (r for r in size.rows if r.capacitance in {10e-9, 20e-9})
    at = running_at(size, 14e-9)
    assert at.firing_highest == max(low.firing_highest, high.firing_highest)
    assert running_at(size, 20e-9).firing_highest == high.firing_highest
    assert running_at(size, 20e-9).firing_rms == pytest.approx(sqrt(2 * high.energy_per_bang / 20e-9))
    assert running_at(size, 1e-9) is None and running_at(size, 1e-6) is None
    blind = replace(size, rows=tuple(replace(r, firing_highest=None) if r is low else r for r in size.rows))
    assert running_at(blind, 14e-9) is None  # one neighbour with nothing to show: nothing


def rotor(peaks, limit, **gap_changes):
    """Return the gap's words and the size behind a winding of that rating across [V peak]."""
    gap = replace(FREE, electrode=Electrode("rod", Known(6e-3)), spacing=Known(0.5e-3), **gap_changes)
    seen = side(peaks)
    places = (RatedPlace("S1.high start to core", limit, "ink", across=True),)
    design = bench(written(20e-9), gap)
    cold = gap_result(design, seen, places)
    size = size_result(design, seen, places, cold.breakdown_peak)
    return cold, with_rotor_verdict(cold, size, seen, places), size


def test_a_rotors_setting_is_judged_at_the_volts_at_which_it_fires():
    cold, told, size = rotor(HIGH, 12e3)
    assert cold.breakdown_peak.value < 12e3 < size.highest_peak  # its cold breakdown is within, what it fires at is not
    assert not any("within every known rating" in w for w in told.words)
    assert any("ABOVE the 12.0 kV peak of S1.high start to core" in w for w in told.words)
    _, told, size = rotor(HIGH, 60e3)
    assert any("within every known rating: 60.0 kV peak" in w for w in told.words)
    assert any(f"at up to {size.firing_highest.value / 1e3:.1f} kV" in w for w in told.words)
    _, told, _ = rotor(PEAKS, 12e3)
    assert any("What it fires at while it turns is not known here: the linear supply" in w for w in told.words)
    static = replace(cold, kind="static")
    assert with_rotor_verdict(static, staged(written(20e-9)).size, side(), (WINDING,)) is static


# ---- drained ---------------------------------------------------------------------------------------------------------


def test_the_whole_tank_drains_to_50_volts_across_it():
    unit = Capacitor("C", Known(0.16e-6), rated=Known(1000.0), rated_kind="AC", dielectric="polypropylene", count=16)
    tank = Tank(strings=TankStrings("C", 8, 1, Known(10e6)))
    design = replace(bench(tank), capacitors=(unit,))
    size = size_result(design, side(), (WINDING,), FIRING)
    # 20 nF, eight bleeders of 10 Mohm in series: R C = 80 Mohm x 20 nF = 1.6 s; ln(19.2 kV / 50 V) = 5.9506
    assert size.discharge_residual == 50.0 and size.discharge_time == pytest.approx(1.6 * 5.9506, rel=1e-4)
    assert staged(written(20e-9)).size.discharge_time is None
