"""The coil stage from a project: what the fields package answers, in the builder's words; bad geometry in words."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from coilwright.analyses.coil import coil
from coilwright.analyses.coil_results import CoilResult
from coilwright.errors import InputError
from coilwright.project.load import read_text

SITE = '[site]\nmains = "230 V"\nfrequency = "50 Hz"\n'
SECONDARY = (
    '[secondary]\nwinding_diameter = "11 cm"\nturns = 1000\nwire_diameter = "0.4 mm"\npitch = "0.5 mm"\n'
    'base_elevation = "25 cm"\n'
)
PRIMARY = (
    '[primary]\nform = "flat spiral"\ninner_diameter = "18 cm"\npitch = "12.5 mm"\nturns = 12\n'
    'conductor_diameter = "6 mm"\nelevation = "0 mm"\n'
)
TOP = '[[top_load]]\nform = "toroid"\nring_diameter = "30 cm"\ntube_diameter = "10 cm"\nelevation = "10 cm"\n'
TANK = '[tank]\ncapacitance = "12 nF"\n'
RAIL = (
    '[[surrounding]]\nform = "strike rail"\nring_diameter = "56 cm"\nconductor_diameter = "6 mm"\nelevation = "5 cm"\n'
    "closed = {closed}\n"
)


def _coil(*parts: str) -> CoilResult:
    text = 'format = 1\n[project]\nname = "coil"\n' + SITE + "".join(parts)
    return coil(read_text(text, "coil")[0])


@pytest.fixture(scope="module")
def whole() -> CoilResult:
    return _coil(TANK, PRIMARY, SECONDARY, TOP, RAIL.format(closed="false"))


def test_the_whole_set(whole: CoilResult) -> None:
    """The formulation in other code: 238.6 kHz, 82.7 ohm, Q 355, 0.130 coupling with the whole primary, 344 kV for a
    toroid of 100 mm tube (computed apart; breakout by the law of Peek for a cylinder of 5 cm, 3.4 kV/mm, from memory).
    """
    assert whole.modes[0].frequency.value == pytest.approx(238.6e3, rel=1e-3)
    assert whole.secondary.ac_resistance.value == pytest.approx(82.7, rel=0.01)
    assert whole.secondary.quality.value == pytest.approx(355.0, rel=0.01)
    assert whole.secondary.low_frequency_inductance.value / whole.secondary.inductance.value - 1 == pytest.approx(
        1e-3, abs=5e-4
    )
    assert whole.secondary.wire_length == pytest.approx(pi * 0.11 * 1000, rel=1e-4)
    assert whole.top_load is not None
    assert whole.top_load.breakout_voltage_peak is not None
    assert whole.top_load.isolated_capacitance == pytest.approx(17.2003e-12, rel=1e-5)  # exact series, N. N. Lebedev
    field = whole.top_load.breakout_voltage_peak.value * whole.top_load.peak_field_per_volt
    assert field == pytest.approx(3.4e6, rel=0.03)
    assert all(a.frequency.value < b.frequency.value for a, b in zip(whole.modes, whole.modes[1:], strict=False))


def test_tuning_makes_both_resonances_one(whole: CoilResult) -> None:
    t, p = whole.tuning, whole.primary
    assert t is not None
    assert p is not None
    assert t.tap_turns is not None
    assert t.loaded_tap_turns is not None
    assert t.loaded_tap_turns > t.tap_turns  # the streamer lowers the secondary
    assert p.tap == t.loaded_tap_turns
    assert 1 / (2 * pi * sqrt(p.inductance.value * 12e-9)) == pytest.approx(t.loaded_frequency, rel=1e-4)
    assert [r.inductance for r in p.taps] == sorted(r.inductance for r in p.taps)
    assert all(r.inductance < r.low_frequency_inductance for r in p.taps)
    assert p.taps[-1].along == pytest.approx(2 * pi * 12 * (0.09 + 6 * 0.0125), rel=1e-9)


def test_range_that_runs_out_says_so() -> None:
    found = _coil('[tank]\ncapacitance = "2 nF"\n', PRIMARY, SECONDARY, TOP)
    assert found.tuning is not None
    assert found.tuning.tap_turns is None
    assert any("range runs out" in line for line in found.tuning.words)


def test_closed_rail_is_a_shorted_turn(whole: CoilResult) -> None:
    """Closed rail of 0.28 m radius 5 cm above a flat primary of 12 turns: 9 % of its inductance and 15 % of the mutual
    one are gone (computed apart).
    """
    shut = _coil(TANK, PRIMARY, SECONDARY, TOP, RAIL.format(closed="true"))
    assert shut.primary is not None
    assert whole.primary is not None
    last, open_ = shut.primary.taps[-1], whole.primary.taps[-1]
    assert last.inductance / open_.inductance - 1 == pytest.approx(-0.092, abs=0.005)
    assert last.mutual_inductance / open_.mutual_inductance - 1 == pytest.approx(-0.15, abs=0.01)
    assert any("shorted turn" in note for note in shut.notes)
    assert not any("shorted turn" in note for note in whole.notes)


def test_mirror_is_the_mirrored_one_whatever_the_set_says(whole: CoilResult) -> None:
    """A plane that mirrors the magnetic field too takes inductance: the first mode is higher (images of Maxwell)."""
    plane = _coil("[earth]\nmagnetic_plane = true\n", TANK, PRIMARY, SECONDARY, TOP, RAIL.format(closed="false"))
    assert plane.modes[0].mirrored_frequency == pytest.approx(plane.modes[0].frequency.value)
    assert plane.modes[0].mirrored_frequency == pytest.approx(whole.modes[0].mirrored_frequency)
    assert whole.modes[0].mirrored_frequency > whole.modes[0].frequency.value


def test_sharp_edge_has_no_breakout_volts() -> None:
    """The rim of a thin disc: the field has no bound there (common knowledge of edges, no source)."""
    edge = _coil(SECONDARY, '[[top_load]]\nform = "disc"\ndiameter = "30 cm"\nelevation = "10 cm"\n')
    assert edge.top_load is not None
    assert edge.top_load.breakout_voltage_peak is None
    assert any("sharp edge" in line for line in edge.top_load.words)


def test_runs_without_primary_tank_and_top() -> None:
    """A bare secondary over the plane: 394.0 kHz for these sheets (computed apart), less what enamel and air hold."""
    found = _coil(SECONDARY)
    assert found.modes[0].frequency.value == pytest.approx(393.6e3, rel=2e-3)
    assert found.primary is None
    assert found.top_load is None
    assert found.tuning is None
    assert len([m for m in found.missing if m.startswith("[")]) == 4


BAD = (
    ("", "no [secondary]"),
    (SECONDARY.replace("turns = 1000", "turns = 90000"), "90000 turns cannot be solved"),
    (SECONDARY.replace('pitch = "0.5 mm"', 'pitch = "0.3 mm"'), "turns overlap"),
    (SECONDARY.replace('winding_diameter = "11 cm"', 'winding_diameter = "11 km"'), "no size of a coil"),
    (SECONDARY.replace('base_elevation = "25 cm"', 'base_elevation = "-1 cm"'), "not above the ground plane"),
    (
        SECONDARY + TOP.replace('elevation = "10 cm"', 'elevation = "-30 cm"').replace('"30 cm"', '"14 cm"'),
        "reaches into",
    ),
    (SECONDARY + PRIMARY.replace('inner_diameter = "18 cm"', 'inner_diameter = "9 cm"'), "goes through the secondary"),
    (SECONDARY + PRIMARY.replace('pitch = "12.5 mm"', 'pitch = "5 mm"'), "turns touch"),
)


@pytest.mark.parametrize(("text", "words"), BAD)
def test_bad_geometry_is_said_in_the_builders_quantity(text: str, words: str) -> None:
    with pytest.raises(InputError) as refused:
        _coil(text)
    assert any(words in p.message for p in refused.value.problems), refused.value.problems
    assert all(p.hint for p in refused.value.problems)
