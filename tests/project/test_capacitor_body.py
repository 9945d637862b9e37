"""Body, lead pitch and tolerance of a capacitor: read, or refused in words."""

from __future__ import annotations

import pytest

from coilwright.errors import InputError
from coilwright.project.load import read_text

HEAD = """format = 1
[project]
name = "x"
[site]
mains = "230 V"
frequency = "50 Hz"
[[capacitor]]
id = "C1"
value = "1 uF"
"""


def test_a_body_is_read_in_metres() -> None:
    text = HEAD + 'size = ["31.5 mm", "1.8 cm", "33 mm"]\nlead_pitch = "27.5 mm"\ntolerance = 0.1\n'
    part = read_text(text, "x")[0].capacitors[0]
    assert part.size is not None and part.lead_pitch is not None
    assert [s.value for s in part.size] == pytest.approx([31.5e-3, 18e-3, 33e-3])
    assert {s.mark for s in part.size} == {"ink"}
    assert part.lead_pitch.value == pytest.approx(27.5e-3) and part.tolerance == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('size = ["31.5 mm", "18 mm"]', "list of three lengths"),
        ('size = "31.5 mm"', "list of three lengths"),
        ('size = ["31.5 mm", "18 mm", "0 mm"]', "0 mm"),
        ("size = [31.5, 18, 33]", "31.5"),
        ('lead_pitch = "-5 mm"', "-5 mm"),
        ('tolerance = "95 %"', "at most 90"),
    ],
)  # fmt: skip
def test_what_is_no_body_is_refused_in_words(line: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        read_text(HEAD + line + "\n", "x")
    assert words in str(caught.value) and all(p.hint for p in caught.value.problems)
    assert caught.value.problems[0].where.startswith("capacitor[0].")
