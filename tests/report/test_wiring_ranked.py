"""Whatever the planner ranks on a shelf that nobody has seen can be drawn: the drawing read back is the netlist."""

from __future__ import annotations

import random
from itertools import combinations

import pytest
from benchmarks.planner_shelves import Shelf, scattered

from coilwright.analyses.plan import plan
from coilwright.report.drawing import front_note, label_boxes, read_back, wiring_parts, wiring_svg


def shelf(seed: int) -> Shelf:
    """Return a random shelf: 50 and 60 Hz, ovens, tapped sign transformers, chokes, capacitors, at times a resistor or
    a variable transformer.
    """
    rng = random.Random(1000 + seed)
    volts, frequency, breaker = rng.choice(((230.0, 50.0, 16.0), (120.0, 60.0, 20.0), (240.0, 60.0, 20.0)))
    signs = rng.randint(0, 2)
    made = scattered(
        rng.randint(0 if signs else 2, 4),
        rng.randint(1, 4),
        seed,
        signs=signs,
        capacitors=rng.randint(0, 2),
        alike=rng.random() < 0.3,
        volts=volts,
        frequency=frequency,
        power=rng.choice((600.0, 1500.0)),
        breaker=breaker,
    )
    if rng.random() < 0.3:
        made.variable("V1", 0.9, 8.0)
    if rng.random() < 0.3:
        made.resistor("R1", 20.0, 1500.0)
    return made


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(4))
def test_every_ranked_row_of_random_shelves_reads_back_as_its_netlist(batch: int) -> None:
    rows = 0
    for seed in range(5 * batch, 5 * batch + 5):
        made = shelf(seed)
        design = made.design()
        found = plan(design, shelf=made.result())
        for arrangement in found.arrangements:
            svg = wiring_svg(arrangement, wiring_parts(design, made.circuits), notes=(front_note(design),))
            joints = {joint: frozenset(terminals) for joint, terminals in arrangement.joints.items()}
            assert read_back(svg) == joints, (seed, arrangement.name)
            crossing = [(a.content, b.content) for a, b in combinations(label_boxes(svg), 2) if a.box.overlaps(b.box)]
            assert crossing == [], (seed, arrangement.name)
        rows += len(found.ranked)
    assert rows >= 5  # the shelves are such that supplies can be made of most
