"""Parts of the demonstration bench, written out for tests, and ways of spoiling a reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from coilwright.model.known import Known
from coilwright.model.parts import Accuracy, Instrument, LowVoltageTest, OpenTest, Read, ShortTest, Stamp, Transformer

METER = Instrument("meter", {"voltage": Accuracy(0.01), "current": Accuracy(0.015)}, "true rms", 600.0)
WALL = Instrument(
    "wall meter", {"voltage": Accuracy(0.01), "current": Accuracy(0.015), "power": Accuracy(0.03)}, "true rms", 250.0
)
INSTRUMENTS = {i.id: i for i in (METER, WALL)}
DAY = date(2026, 2, 14)
BASE = "transformer[0]"


def opens(*rows: tuple[float, float, float]) -> tuple[OpenTest, ...]:
    return tuple(
        OpenTest(Read(v), Read(i), Read(p), stamp=Stamp("wall meter", DAY), where=f"{BASE}.open_test[{k}]")
        for k, (v, i, p) in enumerate(rows)
    )


def shorts(*rows: tuple[float, float, float]) -> tuple[ShortTest, ...]:
    return tuple(
        ShortTest(Read(v), Read(i), Read(p), stamp=Stamp("wall meter", DAY), where=f"{BASE}.short_test[{k}]")
        for k, (v, i, p) in enumerate(rows)
    )


def ratios(high: tuple[float, float], low: tuple[float, float]) -> tuple[LowVoltageTest, ...]:
    stamp = Stamp("meter", DAY)
    return (
        LowVoltageTest("high", Read(high[0]), Read(high[1]), stamp, f"{BASE}.low_voltage_test[0]"),
        LowVoltageTest("low", Read(low[0]), Read(low[1]), stamp, f"{BASE}.low_voltage_test[1]"),
    )


def oven(**changes: Any) -> Transformer:
    """The first transformer of the demonstration: turns ratio 9.55 in truth, 1.96 A into a short at 230 V."""
    part = Transformer(
        "T1",
        "oven",
        plate_primary=Known(230.0),
        plate_secondary=Known(2100.0),
        plate_power=Known(1000.0),
        primary_resistance=Known(0.789),
        secondary_resistance=Known(88.8),
        core_end=Known("finish"),
        open_test=opens((115, 0.398, 12.4), (180, 0.726, 30), (230, 1.74, 51.2)),
        short_test=shorts((24, 1.58, 6.09), (40, 2.67, 16.8)),
        low_voltage_test=ratios((24.0, 2.39), (3.00, 27.2)),
        where=BASE,
    )
    return replace(part, **changes)


def sign(**changes: Any) -> Transformer:
    """The sign transformer of the demonstration: turns ratio 39.3 in truth, 50 mA into a short."""
    part = Transformer(
        "S1",
        "sign",
        plate_primary=Known(230.0),
        plate_secondary=Known(8000.0),
        plate_power=Known(400.0),
        plate_current=Known(0.05),
        primary_resistance=Known(16.3),
        secondary_resistance=Known(7900.0),
        core_end=Known("tap"),
        open_test=opens((115, 0.221, 8.8), (230, 0.511, 36.2)),
        short_test=shorts((40, 0.382, 4.3), (115, 1.10, 35.5)),
        low_voltage_test=ratios((24.0, 0.497), (0.750, 23.9)),
        where=BASE,
    )
    return replace(part, **changes)


def scaled(test: str, place: int, **factors: float) -> Callable[[Transformer], Transformer]:
    """Return a spoiler that multiplies numbers of one test."""

    def spoil(part: Transformer) -> Transformer:
        tests = list(getattr(part, test))
        row = tests[place]
        tests[place] = replace(
            row, **{k: replace(getattr(row, k), value=getattr(row, k).value * f) for k, f in factors.items()}
        )
        return replace(part, **{test: tuple(tests)})

    return spoil


def resistance(key: str, factor: float) -> Callable[[Transformer], Transformer]:
    """Return a spoiler that multiplies a winding's resistance."""
    return lambda part: replace(part, **{key: Known(getattr(part, key).value * factor)})
