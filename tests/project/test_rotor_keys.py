"""What is said of a rotor in [gap] that cannot be built or judged."""

from __future__ import annotations

import tomllib

import pytest

from coilwright.errors import InputError
from coilwright.project.checks import check_file
from coilwright.project.load import read_text

ROTOR = """format = 1
[gap]
kind = "asynchronous rotary"
electrode = { form = "rod", diameter = "6 mm" }
speed = "3000 rpm"
presentations = 8
electrode_radius = "100 mm"
disc = { material = "glass-epoxy", diameter = "240 mm", thickness = "10 mm", bore = "12 mm" }
motor_speed_max = "3600 rpm"
"""


def found(text: str) -> list[tuple[str, bool, str]]:
    return [(f.where, f.warning, f.message) for f in check_file(tomllib.loads(text)).found]


def test_a_rotor_that_can_be_built_passes():
    assert found(ROTOR) == []
    disc = read_text(ROTOR)[0].gap
    assert disc is not None
    assert disc.disc is not None
    assert disc.disc.bore is not None


@pytest.mark.parametrize(
    ("old", "new", "where", "words"),
    [
        (
            'motor_speed_max = "3600 rpm"',
            'motor_speed_max = "2900 rpm"',
            "gap.motor_speed_max",
            "less than the speed of",
        ),
        (
            'diameter = "240 mm"',
            'diameter = "206 mm"',
            "gap.electrode_radius",
            "break through the rim of a disc of 206 mm",
        ),
        ('bore = "12 mm"', 'bore = "240 mm"', "gap.disc.bore", "not smaller than the disc's diameter"),
        ("presentations = 8", "presentations = 105", "gap.presentations", "105 electrodes of 6.00 mm do not fit"),
    ],
)
def test_what_cannot_be_built_is_refused_with_its_numbers(old, new, where, words):
    text = ROTOR.replace(old, new)
    assert text != ROTOR
    assert [(w, warning) for w, warning, _ in found(text)] == [(where, False)]
    assert words in found(text)[0][2]
    with pytest.raises(InputError, match=words.split()[0]):
        read_text(text)


def test_a_hair_inside_the_rim_and_the_last_pin_that_fits_pass():
    # geometry: 2 x 100 + 6 = 206 mm of disc; 2 pi 100 / 6 = 104.7 pins
    assert found(ROTOR.replace('"240 mm"', '"207 mm"')) == []
    assert found(ROTOR.replace("presentations = 8", "presentations = 104")) == []


@pytest.mark.parametrize("key", ["speed", "presentations"])
def test_a_rotary_gap_without_its_timing_is_only_warned_of(key):
    text = "\n".join(line for line in ROTOR.split("\n") if not line.startswith(f"{key} ="))
    assert [(where, warning) for where, warning, _ in found(text)] == [("gap", True)]
    assert key in found(text)[0][2]


def test_rotor_keys_in_a_gap_that_does_not_turn_are_named():
    ((where, warning, message),) = found(ROTOR.replace("asynchronous rotary", "static"))
    assert (where, warning) == ("gap", True)
    assert message.startswith("speed, presentations, electrode_radius, disc, motor_speed_max: only a rotary gap")


def test_malformed_values_are_left_to_the_schema():
    assert found(ROTOR.replace('"240 mm"', '"240"').replace('"3000 rpm"', "3000").replace("= 8", '= "8"')) == []
