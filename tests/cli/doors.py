"""Made-up results for the tests of the doors: small, and with every kind of value that a real one can hold."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import jsonschema

from coilwright.analyses.results import (
    CoreStress,
    Correction,
    EndStress,
    GapMissing,
    GapMissingPoint,
    Heat,
    Inrush,
    JointClearance,
    JointStress,
    NextReading,
    OperatingPoint,
    PartResult,
    PlanResult,
    RankedRow,
    RefusedRow,
    ShelfResult,
    SteadyState,
    SupplyResult,
    WindingStress,
)
from coilwright.measurement.findings import Finding
from coilwright.model.design import Arrangement
from coilwright.model.known import Estimate
from coilwright.protection.tag import Tag
from coilwright.report.json_common import schema_text


def tag(id: str, grade: str = "STOP", *, standing: bool = False, **fields: Any) -> Tag:
    base = {
        "where": "",
        "what": f"What of {id}.",
        "why": f"Why of {id}.",
        "value": None,
        "limit": "-",
        "do": f"Way out of {id}.",
        "source": "made up",
    }
    return Tag(id=id, grade=grade, standing=standing, **{**base, **fields})  # type: ignore[arg-type]


LOCAL = tag("local-code", "NOTE", standing=True)
KILLS = tag("supply-kills", "STOP", standing=True, value="405 mA", limit="5 mA rms", number=0.405, bound=0.005)
OPEN_STOP = tag("safety-gap-missing", "STOP", where="hot_a")
CAUTION = tag("wiring-current", "CAUTION", value="7.9 A", limit="10 A", number=7.9, bound=10.0)


def shelf_result(*, stop: bool = False, tags: tuple[Tag, ...] = (KILLS, LOCAL)) -> ShelfResult:
    note = Finding(
        "power-above-va",
        "STOP" if stop else "CAUTION",
        "transformer[3].short_test[1].power",
        "159 W is above 86.4 VA",
        "was it 15.9 W?",
    )
    return ShelfResult(
        parts={
            "T1": PartResult(
                "T1",
                "oven",
                {
                    "open_voltage": Estimate(2100.0, 2080.0, 2120.0, "stamped", "V", "two low-voltage ratios"),
                    "ratio": Estimate(9.54, 9.46, 9.62, "stamped", "1", "two low-voltage ratios"),
                    "secondary_resistance": Estimate(90.5, 88.0, 93.0, "ink", "ohm", "file"),
                    "primary_to_core": Estimate(253.0, 200.0, 300.0, "pencil", "V", "1.1 x plate"),
                },
            ),
            "T4": PartResult("T4", "oven", {}, (note,), usable=not stop, why_not="a reading is a STOP" if stop else ""),
        },
        next_reading=(
            NextReading(
                "T1",
                "short test at 115 V",
                "wall meter",
                1,
                "mains side only",
                "short current",
                (1.6, 2.4),
                (1.9, 2.1),
                "short bolted to the core",
                "A",
            ),
        ),
        tags=tags,
    )


def point(load: float | None, voltage: float, current: float) -> OperatingPoint:
    return OperatingPoint(
        load_resistance=load,
        voltage=voltage,
        voltage_peak=1.45 * voltage,
        current=current,
        power=voltage * current,
        mains_current=3.4,
        mains_current_peak=5.1,
        mains_power=voltage * current + 60.0,
        apparent_power=782.0,
        power_factor=0.57,
        reactive_power=600.0,
        mains_harmonics={1: 3.3, 3: 0.4},
        residual_current=1e-4,
        mains_current_uncorrected=5.9,
    )


def supply_result(*, converged: bool = True, tags: tuple[Tag, ...] = (KILLS, LOCAL)) -> SupplyResult:
    nan = float("nan")
    bad = GapMissingPoint(20e-9, nan, {"hot_a": nan, "hot_b": nan}, (), exact=False)
    own = GapMissingPoint(50e-9, 10_750.0, {"hot_a": 5400.0, "hot_b": 5350.0}, (10_750.0, 6000.0))
    end = EndStress(1795.0, 2640.0, 1795.0, 2640.0)
    return SupplyResult(
        name="pair, midpoint earthed",
        open_circuit=point(None, 3590.0, 0.0),
        short_circuit=point(0.0, 0.0, 0.405),
        best_power=point(8000.0, 2000.0, 0.25),
        droop=(point(None, 3590.0, 0.0), point(8000.0, 2000.0, 0.25), point(0.0, 0.0, 0.405)),
        states=(SteadyState(3590.0, 5260.0, 1.7), SteadyState(4100.0, 6100.0, 3.0)),
        cores={"T1": CoreStress(0.4, 0.6, 230.0, 2000.0, 253.0, "pencil")},
        windings={"T1.high": WindingStress(end, EndStress(0.4, 0.6, 0.0, 0.0), 2310.0, 0.0, "pencil", "finish")},
        joints={"hot_a": JointStress(1795.0, 2640.0, high=True), "fed": JointStress(230.0, 325.0, high=False)},
        heat={
            "T1": Heat(60.0, 80.0),
            "B4": Heat(
                40.0,
                70.0,
                Estimate(60.0, 30.0, 120.0, "pencil", "K"),
                Estimate(300.0, 100.0, 900.0, "pencil", "s"),
                0.4,
                "guess",
            ),
        },
        correction=Correction(60e-6, 58e-6, 2.7, 0.12, idle_leading=True, closing_peak=150.0),
        inrush=Inrush(90.0, 11.0, 48.0, 80.0, may_trip=True),
        clearances=(JointClearance("hot_a", 2640.0, 0.004, 0.012, "IEC 60664-1", 1.5),),
        gap_missing=GapMissing(600e-9, (own,) if converged else (bad, own), own, 3253.0, "T1.high", "pencil", own),
        mains_current_uncorrected=7.96,
        bands={"open_circuit.voltage": (3511.0, 3672.0)},
        marks={"open_circuit": "stamped", "short_circuit": "ink", "cores.T1": "pencil"},
        tags=tags,
        fast_error=0.031,
        notes=("no hysteresis",),
    )


def arrangement(name: str) -> Arrangement:
    return Arrangement(name, {"live": ("mains.line", "B1.a")}, ("hot_a", "hot_b"))


def ranked(name: str, index: int) -> RankedRow:
    return RankedRow(
        name,
        0.31 + index,
        3590.0,
        0.405,
        7.96,
        3.7,
        1455.0,
        0.57,
        ("T1", "B4"),
        {"T1": 0.4},
        ("voltage in the window",),
        arrangement_index=index,
        twins=("T3 + T1 behind B4",) if index == 0 else (),
        tags=(CAUTION,) if index == 0 else (),
        output_mark="stamped",
        mains_mark="ink",
    )


def plan_result(*, empty: bool = False, tags: tuple[Tag, ...] = (KILLS, LOCAL)) -> PlanResult:
    refused = RefusedRow(
        "mains in series", ("a mains pole is in the high-voltage circuit",), ("series A", "series B"), "mains-in-series"
    )
    if empty:
        return PlanResult((), (refused,), (), 2, 0.01, "Nothing works: one choke of 12 ohm would do.", tags)
    names = ("T1 + T2 behind B4", "T1 behind B1")
    return PlanResult(
        tuple(ranked(n, i) for i, n in enumerate(names)),
        (refused,),
        tuple(arrangement(n) for n in (*names, "T3 + T1 behind B4")),
        18,
        0.4,
        "",
        tags,
    )


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """The message without its folding into lines."""
        return " ".join(self.err.split())

    @property
    def document(self) -> Any:
        return json.loads(self.out)


@lru_cache
def validator(name: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json.loads(schema_text(name)))


def assert_valid(document: Any, name: str) -> None:
    """Assert that the document follows the shipped schema."""
    errors = [
        f"{'.'.join(map(str, e.absolute_path))}: {e.message[:200]}" for e in validator(name).iter_errors(document)
    ]
    assert errors == []


def assert_one_screen(text: str) -> None:
    """Assert that a message fits a screen of 24 lines, holds no traceback and no control characters."""
    lines = text.splitlines()
    assert 0 < len(lines) <= 24
    assert max(map(len, lines)) <= 200
    assert "Traceback" not in text
    assert re.search(r"[\x00-\x08\x0b-\x1f\x7f]", text) is None


def assert_every_tag(text: str, tags: list[dict[str, Any]]) -> None:
    """Assert that a short screen names every tag at its place: whole where it stops, else in a few words."""
    flat = " ".join(text.split())
    assert flat.startswith("NOTE local-code: ")
    assert len(tags) >= 6
    for t in tags:
        name = f"{t['id']} at {t['where']}" if t["where"] else t["id"]
        assert name in flat, name
        stops = t["grade"] == "STOP" and not t["standing"]
        if stops or t["id"] == "isolate-drain-short":
            needed = [t["grade"], t["what"], t["value"], t["limit"], t["do"]]
        else:
            needed = [t["grade"], t["what"] if t["standing"] or t["value"] in GENERIC else t["value"][1:]]
        assert [w for w in needed if w not in {None, "-"} and " ".join(w.split()) not in flat] == [], name


GENERIC = (None, "none", "not stated")
