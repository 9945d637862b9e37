"""A core that has come off earth in a stack of lifted units: what stands on it, and what a hand there takes."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.quick import oven_design
from coilwright.analyses.shelf import shelf
from coilwright.analyses.slips import slips
from coilwright.model.design import Design
from coilwright.supply.circuits import TransformerCircuit


def _stack() -> Design:
    design = oven_design(2, 1000.0, None, 8.0, 230.0, 50.0)
    joints = dict(design.arrangements[0].joints)
    joints["ground"] = (*(t for t in joints["ground"] if t != "T2.core"), "T2.core", "T1.high_finish")
    joints |= {"hot_a": ("T1.high_start", "T2.high_finish"), "hot_b": ("T2.high_start",)}
    joints = {j: ts for j, ts in joints.items() if ts}
    units = tuple(replace(t, core_end=replace(t.core_end, value="none")) for t in design.transformers)
    made = replace(
        design.arrangements[0], joints={**joints, "live": ("mains.line", "B1.a"),
        "fed": ("B1.b", "T1.primary_start", "T2.primary_start"),
        "return": ("mains.neutral", "T1.primary_finish", "T2.primary_finish")}, output=("hot_b", "ground"),
    )  # fmt: skip
    return replace(design, transformers=units, arrangements=(made,))


def test_a_body_at_a_loose_core_of_a_stack_by_hand() -> None:
    design = _stack()
    result = slips(design)
    known = shelf(design)
    circuits = circuits_of(design.arrangements[0], design, known)
    for unit, share in (("T1", 0.5), ("T2", 1.5)):
        row = next(r for r in result.rows if (r.id, r.subject) == ("core-off", f"{unit}.core"))
        touch, c = row.core_touches[unit], circuits[unit]
        assert isinstance(c, TransformerCircuit)
        # By hand: a winding whose middle stands at ``share`` of a unit's volts drives its whole capacitance to the core
        # through a body, which is nothing against that capacitance's reactance: I = 2 pi f C V; the primary's part is
        # small, its volts being the mains' at most.
        one = result.right.open_circuit.voltage / 2
        by_hand = 2 * pi * 50.0 * c.high_to_core * share * one
        assert touch.current_1000 == pytest.approx(by_hand, rel=0.15)
        assert touch.where == f"{unit}.core" and touch.metal
        assert row.cores[unit] == pytest.approx(touch.voltage, rel=0.02)
        micro = f"{1e6 * touch.current:.0f} uA"
        assert f"Core of {unit} at" in row.sees and f"{micro} through a body there, output open" in row.sees
    earthed = next(r for r in result.rows if r.id == "turns-shorted")
    assert "through a body there" not in earthed.sees  # every core at earth: nothing to say
