"""Where the capacitors lie: nothing overlaps, everything has its clearance, and the loop's inductance."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.capacitors.film import FilmUnit, unit_of
from coilwright.capacitors.layout import Body, Layout, layout, rectangle_inductance
from coilwright.model.known import Known
from coilwright.model.parts import Capacitor

PEAK = 12e3


def spacing(volts: float) -> float:
    return 1.5e-6 * volts  # 1.5 mm per kV, enough for a test


def unit(length: float = 41.5e-3, width: float = 20e-3) -> FilmUnit:
    size = (Known(length), Known(width), Known(39.5e-3))
    return unit_of(
        Capacitor("C1", Known(0.15e-6), rated=Known(700.0), rated_kind="AC", size=size, dielectric="polypropylene")
    )


def apart(a: Body, b: Body) -> float:
    dx = max(a.x - b.x - b.length, b.x - a.x - a.length, 0.0)
    dy = max(a.y - b.y - b.width, b.y - a.y - a.width, 0.0)
    return float(np.hypot(dx, dy))


def difference(a: Body, b: Body) -> float:
    """The most volts between any two leads of two bodies, as a share of the string's."""
    return max(abs(x - y) for x in a.volts for y in b.volts)


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 18), st.integers(1, 4))
def test_every_body_is_there_once_and_none_touches_another(series: int, parallel: int) -> None:
    made = layout(unit(), series, parallel, PEAK, spacing)
    assert {(b.string, b.place) for b in made.bodies} == {(s, k) for s in range(parallel) for k in range(series)}
    assert len(made.bodies) == series * parallel
    for a, b in combinations(made.bodies, 2):
        assert apart(a, b) >= 5e-3 - 1e-9
        assert min(a.x, a.y) >= 0 and a.x + a.length <= made.length and a.y + a.width <= made.width


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 24), st.integers(1, 3), st.floats(3e3, 30e3))
def test_rows_keep_the_clearance_of_their_volts(series: int, parallel: int, peak: float) -> None:
    made = layout(unit(), series, parallel, peak, spacing)
    for a, b in combinations(made.bodies, 2):
        neighbours = a.string == b.string and abs(a.place - b.place) == 1
        if not neighbours and a.place != b.place and difference(a, b) > 2 / series + 1e-9:
            assert apart(a, b) >= spacing(peak * difference(a, b)) - 1e-9 or same_row(a, b)


def same_row(a: Body, b: Body) -> bool:
    """In one row the volts grow along it, as they do over the bodies themselves."""
    return abs(a.y - b.y) < 0.2 and abs(a.x - b.x) >= 41.5e-3 * (abs(a.place - b.place) - 1)


def test_leads_meet_in_series_and_straps_carry_one_potential() -> None:
    made = layout(unit(), 6, 2, PEAK, spacing)
    at = {(b.string, b.place): b for b in made.bodies}
    for string in range(2):
        for k in range(5):
            a, b = at[string, k], at[string, k + 1]
            joined = [s for s in made.straps if s.points[0] == a.finish and s.points[-1] == b.start]
            assert len(joined) == 1 and joined[0].volts == pytest.approx(a.volts[1]) == pytest.approx(b.volts[0])
    ends = [s for s in made.straps if s.volts == 0.0]
    assert len(ends) == 1 and set(ends[0].points) == {at[0, 0].start, at[1, 0].start}


@given(st.integers(1, 12))
@settings(max_examples=12, deadline=None)
def test_wires_around_a_turn_do_not_cross(parallel: int) -> None:
    made = layout(unit(), 8, parallel, PEAK, spacing)
    turns = [s for s in made.straps if len(s.points) == 4]
    for s, t in combinations(turns, 2):
        if s.volts != t.volts:
            continue
        (x0, low0), (_, high0) = s.points[1], s.points[2]
        (x1, low1), (_, high1) = t.points[1], t.points[2]
        inner, outer = sorted(((x0, low0, high0), (x1, low1, high1)), key=lambda w: abs(w[2] - w[1]))
        assert outer[1] < inner[1] and inner[2] < outer[2]  # one lies within the other, so neither crosses


def test_bleeders_lie_from_lead_to_lead() -> None:
    made = layout(unit(), 8, 2, PEAK, spacing, resistors=7)
    assert len(made.bleeders) == 16 and {b.resistors for b in made.bleeders} == {7}
    assert {(b.start, b.finish) for b in made.bleeders} == {(b.start, b.finish) for b in made.bodies}
    assert not layout(unit(), 8, 2, PEAK, spacing).bleeders


def test_a_long_string_is_folded_and_a_short_one_is_not() -> None:
    long, short = layout(unit(), 24, 1, PEAK, spacing), layout(unit(), 1, 1, PEAK, spacing)
    assert long.folds > 1 and short.folds == 1
    assert max(long.length, long.width) < 24 * 47.5e-3


def loop_by_filaments(a: float, b: float, radius: float) -> float:
    """Flux of a rectangle of thin wire up to the wire's surface, from Biot and Savart's field of its four sides."""
    corners = np.array([(0, 0), (a, 0), (a, b), (0, b)])

    def field(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        total = np.zeros_like(x)
        for p, q in pairwise([*corners, corners[0]]):
            along = (q - p) / np.hypot(*(q - p))
            s0 = (x - p[0]) * along[0] + (y - p[1]) * along[1]
            s1 = s0 - np.hypot(*(q - p))
            h = along[0] * (y - p[1]) - along[1] * (x - p[0])
            total += 1e-7 / h * (s0 / np.hypot(s0, h) - s1 / np.hypot(s1, h))
        return total

    def nodes(length: float) -> tuple[np.ndarray, np.ndarray]:
        # Gauss points in a stretched variable, for the field grows as 1/h towards the wires
        g, w = np.polynomial.legendre.leggauss(200)
        u = (g + 1) / 2 * log((length / 2) / radius)
        x = radius * np.exp(u)
        weight = w / 2 * log((length / 2) / radius) * x
        return np.concatenate([x, length - x]), np.concatenate([weight, weight])

    (x, wx), (y, wy) = nodes(a), nodes(b)
    return float(np.einsum("i,j,ij->", wx, wy, field(*np.meshgrid(x, y, indexing="ij"))))


@pytest.mark.parametrize(("a", "b", "radius"), [(0.4, 0.1, 1e-4), (0.2, 0.2, 5e-4), (1.0, 0.05, 1e-4)])
def test_rectangle_against_the_field_of_its_sides(a: float, b: float, radius: float) -> None:
    # Biot and Savart, flux inside the wire's inner edge. The next term is of order r over the shorter side.
    assert rectangle_inductance(a, b, radius) == pytest.approx(
        loop_by_filaments(a, b, radius), rel=4 * radius / b + 1e-3
    )


def test_square_against_the_handbook_constant() -> None:
    # F. W. Grover, Inductance Calculations (1946), ch. 8, from memory: square, L = 2 mu0 s / pi (ln(s/r) - 0.774)
    assert rectangle_inductance(0.3, 0.3, 1e-3) == pytest.approx(8e-7 * 0.3 * (log(300) - 0.77401), rel=1e-5)
    assert rectangle_inductance(0.2, 0.5, 1e-3) == pytest.approx(rectangle_inductance(0.5, 0.2, 1e-3))
    with pytest.raises(ValueError, match="thinner"):
        rectangle_inductance(0.1, 0.1, 0.06)


def test_inductance_holds_the_units_and_the_loop() -> None:
    made = layout(unit(), 8, 2, PEAK, spacing)
    assert made.inductance.value == pytest.approx(37.5e-9 * 8 / 2 + made.loop_inductance.value)
    assert made.inductance.low < made.inductance.value < made.inductance.high and made.loop_area > 0
    ring = 4e-7 * pi * sqrt(made.loop_area / pi)  # a loop of that area is some mu0 x its radius, within an order
    assert 0.5 * ring < made.loop_inductance.value < 10 * ring


@given(st.floats(1.0, 3.0))
@settings(max_examples=15, deadline=None)
def test_more_volts_never_give_a_narrower_board(factor: float) -> None:
    def board(peak: float) -> Layout:
        return layout(unit(), 12, 2, peak, spacing)

    low, high = board(PEAK), board(PEAK * factor)
    assert np.hypot(high.length, high.width) >= np.hypot(low.length, low.width) - 1e-9


def test_a_bank_of_nothing() -> None:
    with pytest.raises(ValueError, match="count from one"):
        layout(unit(), 0, 1, PEAK, spacing)
