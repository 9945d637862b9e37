"""What the records of the results say of themselves."""

from __future__ import annotations

import pytest

from coilwright.analyses.results import GapMissing, GapMissingPoint


def scan(peaks: tuple[float, ...], *, exact: bool = True) -> GapMissing:
    points = tuple(GapMissingPoint(1e-8 * (k + 1), peak, {}, (), exact) for k, peak in enumerate(peaks))
    solved = [p for p in points if p.exact]
    return GapMissing(1e-7, points, None, 3e3, "T1.high", "pencil", max(solved, key=lambda p: p.peak, default=None))


@pytest.mark.parametrize(
    ("peaks", "rising"), [((1.0, 2.0, 3.0), True), ((1.0, 3.0, 2.0), False), ((3.0, 2.0, 1.0), False), ((1.0,), False)]
)
def test_a_worst_tank_at_the_end_of_the_scan_is_told(peaks: tuple[float, ...], rising: bool) -> None:
    assert scan(peaks).still_rising is rising


def test_nothing_solved_rises_nowhere() -> None:
    assert scan((1.0, 2.0), exact=False).still_rising is False
