"""A written answer that names no hazard tag: said with its line and what was probably meant."""

from __future__ import annotations

import pytest

from coilwright.project.load import read_text
from coilwright.protection.catalogue import CATALOGUE

HEAD = 'format = 1\n[project]\nname = "made up"\n'


def answer(tag: str) -> str:
    return f'[[answer]]\ntag = "{tag}"\nreason = "looked at it"\n'


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("safety-gap-mising", "safety-gap-missing"),
        ("Safety_Gap_Missing", "safety-gap-missing"),
        ("rcd blind", "rcd-blind"),
        ("zero-is-not-of", "zero-is-not-off"),
    ],
)
def test_a_misspelt_tag_is_named_with_its_line_and_the_likely_ones(written: str, meant: str) -> None:
    assert meant in CATALOGUE
    design, warnings = read_text(HEAD + answer("wiring-current") + answer(written))
    assert [(w.where, w.line) for w in warnings] == [("answer[1].tag", 8)]
    assert f'"{written}" names no tag that there is' in warnings[0].message
    assert warnings[0].hint.startswith(f"Did you mean {meant}")
    assert design.answers[1].tag == written  # kept as written: it is the builder's text


def test_a_word_like_none_of_them_has_no_guess() -> None:
    _, warnings = read_text(HEAD + answer("xyzzy"))
    assert [w.where for w in warnings] == ["answer[0].tag"]
    assert "Did you mean" not in warnings[0].hint


def test_every_tag_that_there_is_can_be_answered() -> None:
    _, warnings = read_text(HEAD + "".join(map(answer, CATALOGUE)))
    assert warnings == ()
