"""The sheet against 200 supplies wired at random: never wrong, and unique after the reading that it asks for.

The truth's iron is not the model's: each unit magnetises at 0.25 to 1 of its fitted inductance, leakage and core loss
are off, the adapter sags by its own impedance, the meter is a usual one (1 % + 30 mV; common practice, no source).
"""

from __future__ import annotations

from collections import Counter

import pytest

from analyses.polarity_cases import Case, case
from coilwright.analyses.polarity import polarity
from coilwright.analyses.polarity_results import PolarityResult


def sheet(made: Case, reads=()) -> PolarityResult:
    return polarity(made.design, arrangement=made.arrangement, shelf=made.shelf, reads=reads)


def judge(made: Case) -> tuple[str, int]:
    """Return how the sheet ends for one case, and how many readings it asked for besides its own."""
    empty = sheet(made)
    reads = made.read(empty.at, empty.drive, [row.between for row in empty.rows])
    for asked in range(4):
        result = sheet(made, reads)
        left = [frozenset(d.reversed) for d in result.decoded]
        if made.mirror() not in left:
            return "wrong", asked
        if len(left) == 1:
            return "unique", asked
        further = result.next_reading
        if further is None:
            return "said to be ambiguous", asked
        reads += made.read(further.at, further.volts, [further.between])
    return "ambiguous", 4


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(10))
def test_twenty_supplies_wired_at_random(batch: int) -> None:
    ends = Counter(judge(case(seed)) for seed in range(20 * batch, 20 * batch + 20))
    assert not [end for end in ends if end[0] == "wrong"]
    assert sum(n for (end, asked), n in ends.items() if end == "unique" and asked <= 1) == 20, ends
