"""What is said of tank, gap and protection that cannot be built or used, before anything is computed."""

from __future__ import annotations

import tomllib

import pytest

from coilwright.discharge.air import STANDARD_AIR, air_at
from coilwright.discharge.gap import breakdown_peak, series_spacing_for, spacing_for
from coilwright.errors import InputError, ModelRangeError
from coilwright.project.checks import check_file
from coilwright.project.checks_tank import LEAST_PEAK, LEAST_SPACING, MOST_PEAK, MOST_SPACING
from coilwright.project.load import read_text
from coilwright.protection.clearance import required_spacing

BENCH = """format = 1
[[capacitor]]
id = "K"
use = "tank"
value = "0.15 uF"
rated = "2000 V DC"
dielectric = "polypropylene"
count = 40
[tank]
strings = { part = "K", series = 10, parallel = 1 }
[gap]
kind = "segmented"
electrode = { form = "tube", diameter = "22 mm" }
spacing = "0.7 mm"
segments = 5
[protection]
safety_gap = { voltage = "7 kV" }
filter = { resistance = "1 kohm", capacitance = "470 pF" }
bleeder = { resistance = "100 Mohm" }
fuse = "8 A T"
"""
STRINGS = 'strings = { part = "K", series = 10, parallel = 1 }'
PLATES = 'plates = { form = "flat", dielectric = "polyethylene", thickness = "3 mm", area = "0.1 m2", count = 20 }'
FOUND = tuple[str, bool, str, str]


def changed(*changes: tuple[str, str]) -> str:
    text = BENCH
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def found(text: str) -> list[FOUND]:
    return [(f.where, f.warning, f.message, f.hint) for f in check_file(tomllib.loads(text)).found]


def refused(text: str) -> list[tuple[str, int | None, str, str]]:
    with pytest.raises(InputError) as caught:
        read_text(text)
    return [(p.where, p.line, p.message, p.hint) for p in caught.value.problems]


def test_a_bench_that_can_be_built_passes() -> None:
    assert found(BENCH) == []
    assert found(changed((STRINGS, PLATES))) == []
    design, warnings = read_text(BENCH)
    assert warnings == ()
    assert design.tank is not None and design.tank.strings is not None


@pytest.mark.parametrize(
    ("old", "new", "where", "words"),
    [
        (STRINGS, 'capacitance = "0 nF"', "tank.capacitance", "above zero"),
        (STRINGS, 'capacitance = "-12 nF"', "tank.capacitance", "above zero"),
        (STRINGS, 'capacitance = "12"', "tank.capacitance", "with its unit"),
        (STRINGS, 'capacitance = "0.012 pF"', "tank.capacitance", "windings and leads alone have about 100 pF"),
        ('value = "0.15 uF"', 'value = "0.15 nF"', "tank.strings", "windings and leads alone have about 100 pF"),
        ('part = "K"', 'part = "Z"', "tank.strings.part", "names no capacitor"),
        ("series = 10", "series = 0", "tank.strings.series", "from 1 to"),
        ("parallel = 1", "parallel = 0", "tank.strings.parallel", "from 1 to"),
        ('use = "tank"', 'kind = "oven"', "tank.strings.part", "K is an oven capacitor"),
        (STRINGS, PLATES.replace("polyethylene", "jelly"), "tank.plates.dielectric", 'no dielectric is called "jelly"'),
        (STRINGS, PLATES.replace("3 mm", "30 mm"), "tank.plates", "30 mm thick is not known"),
        (STRINGS, PLATES.replace("0.1 m2", "1 cm2"), "tank.plates", "not thin beside a foil of 1 cm2"),
        ('spacing = "0.7 mm"', 'spacing = "0 mm"', "gap.spacing", "above zero"),
        ('spacing = "0.7 mm"', 'spacing = "-1 mm"', "gap.spacing", "above zero"),
        ('spacing = "0.7 mm"', 'spacing = "7 um"', "gap.spacing", "30 um at least and 100 mm in all"),
        ('spacing = "0.7 mm"', 'spacing = "7 m"', "gap.spacing", "30 um at least and 100 mm in all"),
        ('spacing = "0.7 mm"', 'voltage = "12 V"', "gap.voltage", "below 327 V air breaks down at no spacing"),
        ('spacing = "0.7 mm"', 'voltage = "1.2 kV"', "gap.voltage", "across 5 gaps, 240 V each, expected 2.5 kV"),
        ('spacing = "0.7 mm"', 'voltage = "4 MV"', "gap.voltage", "2.5 kV to 300 kV peak"),
        ("segments = 5", "segments = 0", "gap.segments", "from 1 to"),
        ('{ voltage = "7 kV" }', '"0 mm"', "protection.safety_gap", "above zero"),
        ('{ voltage = "7 kV" }', '"9 m"', "protection.safety_gap", "100 mm in all"),
        ('"7 kV"', '"7 V"', "protection.safety_gap.voltage", "500 V to 300 kV peak"),
        ('fuse = "8 A T"', 'fuse = "a thick wire"', "protection.fuse", "expected a fuse"),
        ('resistance = "1 kohm"', 'resistance = "0 ohm"', "protection.filter.resistance", "above zero"),
        ('capacitance = "470 pF"', 'capacitance = "0 pF"', "protection.filter.capacitance", "above zero"),
        ('resistance = "100 Mohm"', 'resistance = "0 ohm"', "protection.bleeder.resistance", "above zero"),
    ],
)
def test_what_cannot_be_used_is_refused_at_its_line(old: str, new: str, where: str, words: str) -> None:
    text = changed((old, new))
    ((place, line, message, hint),) = refused(text)
    assert (place, words in message) == (where, True), message
    assert hint
    assert line is not None
    assert where.rsplit(".", 1)[-1] in text.split("\n")[line - 1]


def test_humidity_below_nothing_is_refused() -> None:
    text = BENCH.replace("format = 1\n", 'format = 1\n[site]\nair = { humidity = "-10 %" }\n')
    ((place, line, message, _),) = refused(text)
    assert (place, line) == ("site.air.humidity", 3)
    assert "zero or more" in message


def test_a_dielectric_that_is_not_known_names_the_near_one_and_all() -> None:
    text = changed((STRINGS, PLATES.replace("polyethylene", "Polyethilene")))
    hint = refused(text)[0][3]
    assert hint.startswith('Did you mean "polyethylene"? Known: acrylic, ')
    assert "ptfe" in hint
    assert found(changed((STRINGS, PLATES.replace("polyethylene", "PET")))) == []  # by another of its names


@pytest.mark.parametrize(
    ("old", "new", "where", "words"),
    [
        ('dielectric = "polypropylene"', 'dielectric = "electrolytic"', "tank.strings.part", "one polarity only"),
        ('dielectric = "polypropylene"', 'dielectric = "polyester"', "tank.strings.part", "unfit for a tank"),
        ('"polypropylene"', '"unobtainium"', "capacitor[0].dielectric", 'no dielectric is called "unobtainium"'),
        ('use = "tank"', 'use = "power factor"', "tank.strings.part", 'use = "power factor"'),
        ("count = 40", "count = 8", "tank.strings", "the shelf has 8"),
        ("segments = 5\n", "", "gap", "counted as one gap"),
        ('kind = "segmented"', 'kind = "static"', "gap.segments", "counted as 5 gaps in series"),
        ('kind = "segmented"', 'kind = "synchronous rotary"', "gap", "without speed and presentations"),
    ],
)
def test_what_can_be_used_all_the_same_is_a_warning(old: str, new: str, where: str, words: str) -> None:
    text = changed((old, new))
    assert [(w, warning, words in message) for w, warning, message, _ in found(text)] == [(where, True, True)]
    read_text(text)


def test_the_bounds_lie_within_the_laws() -> None:
    # The laws themselves say where they end; at the greatest altitude that a site may have the air is the thinnest.
    thin = air_at(313.15, 0.6, 9000.0, None)
    for air in (STANDARD_AIR, thin):
        for spacing in (LEAST_SPACING, MOST_SPACING):
            assert breakdown_peak("plate", None, spacing, air).peak < MOST_PEAK
    with pytest.raises(ModelRangeError):
        breakdown_peak("plate", None, 0.7 * LEAST_SPACING, thin)
    assert required_spacing(MOST_PEAK, thin.density_ratio).clearance > 2.0
    with pytest.raises(ModelRangeError):
        required_spacing(1.5 * MOST_PEAK, thin.density_ratio)
    # 327 V: the minimum of Paschen's curve in air (J. D. Cobine, Gaseous Conductors (1941), from memory)
    assert spacing_for("plate", None, LEAST_PEAK, thin).spacing > 0
    with pytest.raises(ModelRangeError):
        spacing_for("plate", None, 327.0)


def test_what_check_takes_across_segments_the_law_of_gaps_takes() -> None:
    thin = air_at(313.15, 0.6, 9000.0, None)
    for count in (2, 5, 20, 60):
        for form in ("plate", "tube", "rod", "sphere"):
            for earthed in (True, False):
                found = series_spacing_for(form, 0.02, count * LEAST_PEAK, count, thin, earthed=earthed)
                assert found.spacing > 0
        with pytest.raises(ModelRangeError):
            series_spacing_for("plate", None, 300.0, count)


def test_a_shelf_capacitor_of_no_known_dielectric_names_those_there_are() -> None:
    ((_, _, _, hint),) = found(changed(('"polypropylene"', '"polypropilene"')))
    assert hint.startswith('Did you mean "polypropylene')
    for name in ("polyester", "class 2 ceramic", "mica", "electrolytic"):
        assert name in hint
    for known in ("unknown", "MKP", "paper in oil", "X7R ceramic", "polystyrene"):
        assert not [f for f in found(changed(('"polypropylene"', f'"{known}"'))) if f[0] == "capacitor[0].dielectric"]


@pytest.mark.parametrize(
    ("old", "new", "where", "example"),
    [
        ('{ voltage = "7 kV" }', '"0.6"', "protection.safety_gap", '"0.6 mm"'),
        ('{ voltage = "7 kV" }', '"wide"', "protection.safety_gap", '"0.6 mm"'),
        ('spacing = "0.7 mm"', 'spacing = "close"', "gap.spacing", '"0.7 mm"'),
        ('spacing = "0.7 mm"', 'shield = { material = "steel", thickness = 3 }', "gap.shield.thickness", '"3 mm"'),
        (STRINGS, PLATES.replace('"3 mm"', '"thin"'), "tank.plates.thickness", '"3 mm"'),
    ],
)
def test_examples_are_of_a_size_that_fits(old: str, new: str, where: str, example: str) -> None:
    ((place, _, _, hint),) = refused(changed((old, new)))
    assert place == where
    assert example in hint and "12.5 cm" not in hint


def test_the_widest_gap_counts_every_segment() -> None:
    assert found(changed(('"0.7 mm"', '"20 mm"'))) == []  # 5 x 20 mm = 100 mm
    ((where, _, message, _),) = found(changed(('"0.7 mm"', '"21 mm"')))
    assert (where, "5 times" in message) == ("gap.spacing", True)
    rotor = changed(('"0.7 mm"', '"51 mm"'), ("segments = 5", 'speed = "50 Hz"\npresentations = 8'),
                    ('kind = "segmented"', 'kind = "asynchronous rotary"'))  # fmt: skip
    assert [(w, "2 times" in m) for w, _, m, _ in found(rotor)] == [("gap.spacing", True)]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (STRINGS, 'strings = "K"'),
        (STRINGS, PLATES.replace("20 }", '"20" }')),
        (STRINGS, PLATES.replace('"3 mm"', "3")),
        (STRINGS, PLATES.replace('"flat"', '"round"')),
        ('spacing = "0.7 mm"', "spacing = 0.7"),
        ('{ voltage = "7 kV" }', "{ voltage = 7 }"),
        ("segments = 5", 'segments = "5"'),
        ("parallel = 1", 'parallel = "1"'),
        ('value = "0.15 uF"', "value = 0.15"),
    ],
)
def test_malformed_values_are_left_to_the_schema(old: str, new: str) -> None:
    text = changed((old, new))
    assert found(text) == []
    assert refused(text)


SITE = '[site]\nmains = "240 V"\nsystem = "split phase"\n'


@pytest.mark.parametrize(
    ("mains", "system", "halved"),
    [
        # split phase and two phases count from line to line: a socket's 120 V there would be 60 V to neutral
        ("120 V", "split phase", "60.0 V"),
        ("179 V", "split phase", "89.5 V"),
        ("180 V", "split phase", None),
        ("240 V", "split phase", None),
        ("120 V", "two phases", "69.3 V"),
        ("208 V", "two phases", None),
        ("120 V", "line and neutral", None),
    ],
)
def test_a_site_of_two_lines_is_not_halved_unseen(mains, system, halved):
    text = f"format = 1\n{SITE}".replace('"240 V"', f'"{mains}"').replace('"split phase"', f'"{system}"')
    rows = [f for f in found(text) if f[0] == "site.mains"]
    assert [warning for _, warning, _, _ in rows] == ([] if halved is None else [False])
    if halved is not None:
        [(where, line, message, hint)] = refused(text)
        assert (where, line) == ("site.mains", 3)
        assert f"{halved} from line to neutral" in message and '"line and neutral"' in hint
