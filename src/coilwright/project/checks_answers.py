"""Answers: each names a tag that there is, or it answers nothing and nobody would notice."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from coilwright.project.checks import Data, Findings, sections
from coilwright.protection.catalogue import CATALOGUE
from coilwright.units import quote

_SHOWN = 3


def check_answers(data: Data) -> Findings:
    """Return a warning for every answer whose tag the catalogue does not know."""
    findings = Findings()
    for where, table in sections(data, "answer"):
        tag = table.get("tag")
        if not isinstance(tag, str) or tag in CATALOGUE:
            continue
        near = _near(tag, CATALOGUE)
        findings.warning(
            f"{where}.tag",
            f"{quote(tag)} names no tag that there is: this answer stands beside nothing",
            f"Did you mean {' or '.join(near)}?" if near else "Copy the tag's name from the output of a command.",
        )
    return findings


def _near(word: str, known: Iterable[str]) -> list[str]:
    """Return the tags that were probably meant, the likeliest first."""
    plain = word.strip().lower().replace("_", "-").replace(" ", "-")
    return difflib.get_close_matches(plain, list(known), n=_SHOWN, cutoff=0.6)
