"""The best string of a shelf: what is ranked, what is refused and why, and how long it takes."""

from __future__ import annotations

import random
import time
from math import sqrt

import pytest

from coilwright.capacitors.choose import Choice, Wanted, choose, least_series
from coilwright.capacitors.film import FilmUnit, unit_of
from coilwright.capacitors.strings import Duty, dynamic_share
from coilwright.errors import InputError
from coilwright.model.known import Estimate, Known
from coilwright.model.parts import Capacitor

WANTED = Wanted(50e-9, 25e-9, 100e-9)


def sure(value: float, unit: str) -> Estimate:
    return Estimate(value, value, value, "stamped", unit)


def duty(peak: float = 5e3, missing: float | None = 7e3) -> Duty:
    return Duty(sure(200e3, "Hz"), sure(15.0, "1"), 50.0, peak, missing, sure(200.0, "1/s"), 2.5e3)


def kind(id: str = "C1", nano: float = 150.0, volts: float = 700.0, count: int = 60, **more: object) -> FilmUnit:
    values: dict[str, object] = {
        "value": Known(nano * 1e-9),
        "rated": Known(volts, "ink"),
        "rated_kind": "AC",
        "dielectric": "polypropylene",
        "count": count,
        "tolerance": 0.05,
        "dv_dt": Known(3000e6, "ink"),
    }
    return unit_of(Capacitor(id, **(values | more)))  # type: ignore[arg-type]


def chosen(*kinds: FilmUnit, peak: float = 5e3, missing: float | None = 7e3, wanted: Wanted = WANTED) -> Choice:
    return choose(kinds, wanted, lambda _: duty(peak, missing))


def test_every_ranked_bank_is_there_holds_and_is_wanted() -> None:
    found = chosen(kind("C1"), kind("C2", 47.0, 1000.0, 80))
    assert {r.figures.unit.id for r in found.ranked} == {"C1", "C2"} and not found.refused
    for r in found.ranked:
        s = r.figures
        assert s.units <= s.unit.count and 25e-9 <= s.capacitance.value <= 100e-9
        assert s.unit.rated_peak is not None and s.missing_each is not None
        assert s.missing_each <= s.unit.rated_peak.value and s.verdict == "within" and r.why
    assert [r.score for r in found.ranked] == sorted(r.score for r in found.ranked)


def test_the_exact_value_with_few_units_comes_first() -> None:
    # 450 nF of 1000 V AC: 7 kV needs 6 in series with 5 % of spread, which gives 75 nF; 9 give 50 nF exactly
    best = chosen(kind("C1", 450.0, 1000.0, 60)).ranked[0].figures
    assert (best.series, best.parallel) == (9, 1)


def test_no_bank_is_missed_by_brute_force() -> None:
    unit = kind("C1", 100.0, 700.0, 40)
    found = {(r.figures.series, r.figures.parallel) for r in chosen(unit).ranked}
    every = {
        (s, p)
        for s in range(1, 41)
        for p in range(1, 41)
        if s * p <= 40
        and 25e-9 <= 100e-9 * p / s <= 100e-9
        and 7e3 * dynamic_share(s, 0.05) <= 700 * sqrt(2)
    }  # fmt: skip
    assert found and found <= every and len(found) == min(len(every), 6)


def test_unlike_units_never_share_a_string() -> None:
    # 4 of one kind and 4 of another would make 8 in series together; neither alone holds
    found = chosen(kind("A", 400.0, 700.0, 4), kind("B", 400.0, 700.0, 4))
    assert not found.ranked and {r.unit.id for r in found.refused} == {"A", "B"}


def test_too_few_units_are_told_how_many_it_takes() -> None:
    found = chosen(
        kind("C1", 100.0, 600.0, 12, rated_kind="DC"), peak=15e3, missing=15e3, wanted=Wanted(1e-8, 8e-9, 2e-8)
    )
    assert not found.ranked
    words = " ".join(found.refused[0].reasons)
    need = least_series(found.refused[0].unit, 15e3)
    assert need is not None and f"needs {need} in series" in words and "the shelf has 12" in words
    assert 15e3 * dynamic_share(need, 0.05) <= found.refused[0].unit.rated_peak.value  # type: ignore[union-attr]
    assert 15e3 * dynamic_share(need - 1, 0.05) > found.refused[0].unit.rated_peak.value  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("given_", "word"),
    [
        ({"kind": "oven"}, "oven"),
        ({"dielectric": "X7R ceramic"}, "class 2 ceramic"),
        ({"dielectric": "polyester"}, "polyester"),
        ({"dielectric": "PVC"}, "pvc"),
        ({"dielectric": None, "rated_kind": "DC"}, "electrolytic"),
        ({"rated": None}, "no rating"),
    ],
)
def test_unfit_kinds_are_refused_with_their_reason(given_: dict[str, object], word: str) -> None:
    found = chosen(kind("C1", **given_))  # type: ignore[arg-type]
    assert not found.ranked and any(word in r for r in found.refused[0].reasons)


def test_a_value_out_of_reach_is_refused_in_words() -> None:
    found = chosen(kind("C1", 0.1, 15000.0, 3))
    assert not found.ranked and "no capacitance from 25 nF to 100 nF" in found.refused[0].reasons[0]


def test_heat_refuses_where_volts_would_not() -> None:
    found = chosen(kind("C1", esr=Known(20.0, "ink")))
    assert not found.ranked and any("temperature rise" in r for r in found.refused[0].reasons)


def test_doubts_cost_and_are_told() -> None:
    sound, doubtful = kind("A"), kind("B", dv_dt=None)
    found = chosen(sound, doubtful)
    assert found.ranked[0].figures.unit.id == "A"
    told = next(r for r in found.ranked if r.figures.unit.id == "B")
    assert any("in doubt: voltage slope" in w for w in told.why)


def test_an_empty_shelf_and_a_capacitance_of_nothing() -> None:
    assert chosen() == Choice((), (), 0)
    with pytest.raises(InputError, match="no range of capacitances"):
        chosen(kind(), wanted=Wanted(0.0, 0.0, 0.0))


def test_a_shelf_of_200_capacitors_takes_less_than_a_fifth_of_a_second() -> None:
    rng = random.Random(7)
    values, ratings = [47.0, 100.0, 150.0, 220.0, 470.0, 1000.0], [250.0, 700.0, 1000.0, 2000.0]
    mixed = [kind(f"C{k}", rng.choice(values), rng.choice(ratings), 5) for k in range(40)]
    for shelf in (mixed, [kind("C1", 150.0, 700.0, 200)]):
        assert sum(u.count for u in shelf) == 200
        seconds = []
        for _ in range(3):
            start = time.perf_counter()
            found = chosen(*shelf)
            seconds.append(time.perf_counter() - start)
        assert found.ranked and min(seconds) < 0.2
