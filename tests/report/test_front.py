"""The drawing says which devices stand before its first joint, and which of them the project is silent about."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilwright.model.known import Known
from coilwright.model.machine import Protection
from coilwright.model.site import Breaker
from coilwright.report.drawing import front_note
from report import invented_book as made


@pytest.mark.parametrize(
    ("site", "protection", "said"),
    [
        ({}, None, ("breaker 16.0 A, curve B", "device 30.0 mA", "fuse: none stated", "not stated (at")),
        ({"breaker": Known(Breaker(20.0)), "rcd": Known(None)}, None, ("20.0 A, curve not", "device: none stated")),
        ({}, Protection(fuse="10 A slow", disconnections=1), ("fuse 10 A slow", "in series, stated: 1 (at least 2)")),
    ],
)
def test_devices_before_the_first_joint(site, protection, said):
    design = made.design()
    note = front_note(replace(design, site=replace(design.site, **site), protection=protection))
    for words in said:
        assert words in note
    # IEC 60204-1 and NFPA 79, from memory: the protective conductor is never switched.
    assert "never the protective earth" in note and "Local code prevails" in note
