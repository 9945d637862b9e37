"""The protective conductor broken while an output end arcs to earth: what all bonded metal shows, by Kirchhoff."""

from __future__ import annotations

import pytest

from coilwright.analyses.what_ifs import ARC_RESISTANCE, lost_conductor
from coilwright.magnetics.iron import Iron
from coilwright.model.design import Arrangement
from coilwright.supply.circuits import MainsCircuit, TransformerCircuit

MAINS = MainsCircuit(50, {"line": (230, 0.0), "neutral": (0.0, 0.0)}, resistance=1e-6, inductance=1e-9)
VOLTS = 2100.0


def unit() -> TransformerCircuit:
    """Return a transformer of which only the turns count: iron and copper that take nothing, no strays to speak of."""
    limb = Iron(1e4, 10.0, 1e-6, 5)
    return TransformerCircuit(
        VOLTS / 230, 1e-4, 1e-2, limb, limb, 1e9, 1e-6, None, tied="finish",
        high_to_core=1e-13, primary_to_core=1e-13, high_to_primary=1e-13,
    )  # fmt: skip


def single(earthed: bool = True) -> Arrangement:
    joints = {
        "live": ("mains.line", "T1.primary_start"),
        "return": ("mains.neutral", "T1.primary_finish"),
        "ground": ("mains.earth", "T1.core") if earthed else ("T1.core",),
        "hot": ("T1.high_start",),
    }
    return Arrangement("one", joints, ("hot", "ground"))


def pair() -> Arrangement:
    joints = {
        "live": ("mains.line", "T1.primary_start", "T2.primary_finish"),
        "return": ("mains.neutral", "T1.primary_finish", "T2.primary_start"),
        "ground": ("mains.earth", "T1.core", "T2.core"),
        "hot_a": ("T1.high_start",),
        "hot_b": ("T2.high_start",),
    }
    return Arrangement("pair", joints, ("hot_a", "hot_b"))


@pytest.mark.parametrize(("arrangement", "hot"), [(single(), ["hot"]), (pair(), ["hot_a", "hot_b"])])
def test_all_bonded_metal_rises_to_the_volts_of_one_winding(arrangement: Arrangement, hot: list[str]) -> None:
    # Exact: the arc holds the end at earth, the winding stands between it and the core that it is tied to, and nothing
    # else leads from the metal to earth: 2100 V on the metal. A body of 1 kohm there is in series with the arc:
    # 2100 V / (1000 + 10) ohm.
    found = lost_conductor(arrangement, {"T1": unit(), "T2": unit()}, MAINS, hot, 8e3)
    assert found is not None and found.unsolved == ()
    assert found.voltage == pytest.approx(VOLTS, rel=1e-3)
    assert found.current == pytest.approx(VOLTS / (1000 + ARC_RESISTANCE), rel=1e-3)


def test_no_end_to_arc_or_no_conductor_to_lose_is_no_answer() -> None:
    parts = {"T1": unit()}
    assert lost_conductor(single(earthed=False), parts, MAINS, ["hot"], None) is None
    assert lost_conductor(single(), parts, MAINS, [], None) is None
    assert lost_conductor(single(), parts, MAINS, ["ground"], None) is None
