"""The demonstration's supply put right, solved once, and its gates."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import lru_cache
from unittest import mock

from analyses.workshop import designed
from coilwright.analyses.gates import gates
from coilwright.analyses.limiter import limiter
from coilwright.analyses.limiter_results import Wanted
from coilwright.analyses.polarity import polarity
from coilwright.analyses.shelf import shelf
from coilwright.analyses.supply import supply
from coilwright.model.machine import Reading
from coilwright.project.start import demo_text

DAY = date(2026, 3, 1)


@lru_cache(maxsize=1)
def base():
    design = designed(demo_text())
    # the set as it should be: the sheet reads as wired, and the part that no supply uses carries no false reading
    reads = tuple(replace(r, value=21.7) if r.where == ("hot_a", "hot_b") else r for r in design.readings)
    transformers = tuple(replace(t, short_test=t.short_test[:1]) if t.id == "T4" else t for t in design.transformers)
    return replace(design, readings=reads, transformers=transformers)


@lru_cache(maxsize=1)
def known():
    return shelf(base())


@lru_cache(maxsize=1)
def supplied():
    return supply(base(), shelf=known())


@lru_cache(maxsize=1)
def as_wired():
    return polarity(base(), shelf=known())


@lru_cache(maxsize=1)
def lamp():
    return limiter(base(), Wanted("lamp", 500.0), shelf=known())


def judged(*reads, design=None, sheet=None, made=None):
    """Return the gates of the demonstration's supply; sheet and limiter, half of the work, are computed once."""
    own = design or base()
    with mock.patch("coilwright.analyses.gate_rows_limiter.limiter", return_value=lamp()):
        return gates(own, shelf=known(), supply=made or supplied(), polarity=sheet or as_wired(), reads=reads)


def read(what, where, value, unit):
    return Reading(what, where, value, unit, instrument="meter", date=DAY)


def gate(result, id):
    return next(g for g in result.gates if g.id == id)


def row(result, id):
    return next(r for g in result.gates for r in g.rows if r.id == id)
