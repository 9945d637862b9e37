"""From what is written of a transformer to tests and observations with their standard deviations.

A meter's stated accuracy is taken as one standard deviation of the logarithm: on the bench the mains wanders, and
digits are read by eye. A tolerance written beside a reading is its 95 % half width.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from coilwright.measurement.findings import Finding, say
from coilwright.measurement.kinds import PLATE_CURRENT_SIGMA, PLATE_VOLTS_SIGMA
from coilwright.measurement.transformer_bench import BenchTest
from coilwright.model.known import Known, Mark
from coilwright.model.parts import Instrument, LowVoltageTest, OpenTest, Read, ShortTest, Stamp, Transformer

What = Literal["current", "power", "secondary", "secondary_current", "read"]

#: Assumed of an instrument that is not named: relative part and fixed part (V, A, W, ohm).
DEFAULT_ACCURACY: Mapping[str, tuple[float, float]] = {
    "voltage": (0.015, 0.0),
    "current": (0.02, 0.0),
    "power": (0.04, 0.0),
    "resistance": (0.03, 0.05),
}
#: The circuit against the real part, in the logarithm: core loss is not quite V^2, iron not quite a power law
#: (assumption).
MODEL_SIGMA: Mapping[tuple[str, str], float] = {
    ("open", "current"): 0.010,
    ("open", "power"): 0.020,
    ("open", "secondary"): 0.003,
    ("short", "current"): 0.005,
    ("short", "power"): 0.020,
    ("short", "secondary_current"): 0.005,
    ("fed low", "read"): 0.005,
    ("fed high", "read"): 0.005,
}
#: Without a rated instrument named, a reading above this is not accepted [V]: a usual meter's rating (common practice).
UNNAMED_RATING = 1000.0
#: A resistance read on the winding against the one that carries current in a test: bridge or meter leads (assumption).
RESISTANCE_SIGMA = 0.02


@dataclass(frozen=True)
class Observation:
    """One number read. ``test`` is its place in ``Bench.tests``; ``sigma`` is the standard deviation of its
    logarithm.
    """

    test: int
    what: What
    value: float
    sigma: float
    where: str
    response: str | None = "true rms"
    plate: bool = False


@dataclass(frozen=True)
class Bench:
    """All tests of one transformer. ``applied_sigma`` (of the logarithm of the applied volts) goes with each test."""

    tests: tuple[BenchTest, ...]
    applied_sigma: tuple[float, ...]
    where: tuple[str, ...]
    observations: tuple[Observation, ...]

    def without(self, places: frozenset[int]) -> Bench:
        """Return the bench without the observations at the given places; tests stay."""
        return replace(self, observations=tuple(o for k, o in enumerate(self.observations) if k not in places))

    def count(self, kind: str) -> int:
        """Return how many tests of a kind carry at least one observation that is no plate figure."""
        used = {o.test for o in self.observations if not o.plate}
        return sum(1 for k in used if self.tests[k].kind == kind)


def log_sigma(read: Read, quantity: str, instrument: Instrument | None) -> float:
    """Return the standard deviation of the logarithm of a reading."""
    size = max(abs(read.value), 1e-12)
    if read.tolerance is not None:
        return max(read.tolerance / 1.96 / size, 1e-4)
    if instrument is not None and quantity in instrument.accuracy:
        accuracy = instrument.accuracy[quantity]
        return max((accuracy.relative * size + accuracy.absolute) / size, 1e-4)
    relative, fixed = DEFAULT_ACCURACY[quantity]
    return relative + fixed / size


def known_sigma(known: Known[float], quantity: str = "resistance") -> float:
    """Return the standard deviation of the logarithm of a value that carries a band or takes the default."""
    if known.low is not None and known.high is not None and known.high > known.low:
        return max((known.high - known.low) / 2 / 1.96 / max(abs(known.value), 1e-12), 1e-4)
    relative, fixed = DEFAULT_ACCURACY[quantity]
    return relative + fixed / max(abs(known.value), 1e-12)


def mark_of(stamp: Stamp) -> Mark:
    """Return stamped for a reading with instrument and date, else ink."""
    return "stamped" if stamp.instrument and stamp.date else "ink"


def _path(test: OpenTest | ShortTest | LowVoltageTest, part: Transformer, key: str, place: int) -> str:
    return test.where or f"{part.where or part.id}.{key}[{place}]"


def above_rating(part: Transformer, instruments: Mapping[str, Instrument]) -> dict[str, Finding]:
    """Return, by key path of the number, the readings that the named instrument could not take."""
    found: dict[str, Finding] = {}

    def look(where: str, volts: float, stamp: Stamp, *, named: bool) -> None:
        instrument = instruments.get(stamp.instrument or "")
        rating = instrument.rating if instrument is not None else None
        if rating is None and not named:
            return
        limit = UNNAMED_RATING if rating is None else rating
        if volts > limit * (1 + 1e-9):
            who = (
                f"{instrument.id}, rated {say(limit, 'V')}"
                if instrument is not None and rating is not None
                else (f"an instrument with no rating written down (up to {say(limit, 'V')} is accepted from one)")
            )
            found[where] = Finding(
                "test-above-meter",
                "STOP",
                where,
                f"{say(volts, 'V')} is above what {who}, can read; the reading is not used.",
                "Take the ratio at low voltage instead; never put a meter where it is not rated.",
            )

    for k, o in enumerate(part.open_test):
        base = _path(o, part, "open_test", k)
        look(f"{base}.applied", o.applied.value, o.stamp, named=False)
        if o.secondary is not None:
            look(f"{base}.secondary", o.secondary.value, o.stamp, named=True)
    for k, s in enumerate(part.short_test):
        look(f"{_path(s, part, 'short_test', k)}.applied", s.applied.value, s.stamp, named=False)
    for k, low in enumerate(part.low_voltage_test):
        base = _path(low, part, "low_voltage_test", k)
        keys = ("applied_high", "low") if low.fed == "high" else ("applied", "secondary")
        look(f"{base}.{keys[0]}", low.applied.value, low.stamp, named=False)
        look(f"{base}.{keys[1]}", low.read.value, low.stamp, named=low.fed == "low")
    return found


class _Collector:
    def __init__(self, instruments: Mapping[str, Instrument], refused: frozenset[str], frequency: float) -> None:
        self.instruments, self.refused, self.frequency = instruments, refused, frequency
        self.tests: list[BenchTest] = []
        self.sigma: list[float] = []
        self.where: list[str] = []
        self.observations: list[Observation] = []

    def test(
        self,
        kind: Literal["open", "short", "fed low", "fed high"],
        applied: Read,
        stamp: Stamp,
        where: str,
        key: str,
        numbers: list[tuple[What, str, str, Read | None]],
    ) -> None:
        """Add a test unless its applied volts are refused; ``numbers`` are (what, quantity, key, read)."""
        if f"{where}.{key}" in self.refused or not applied.value > 0:
            return
        instrument = self.instruments.get(stamp.instrument or "")
        taken = [
            (what, quantity, name, read)
            for what, quantity, name, read in numbers
            if read is not None and read.value > 0 and f"{where}.{name}" not in self.refused
        ]
        if not taken:
            return
        place = len(self.tests)
        self.tests.append(BenchTest(kind, applied.value, self.frequency))
        self.sigma.append(log_sigma(applied, "voltage", instrument))
        self.where.append(f"{where}.{key}")
        for what, quantity, name, read in taken:
            total = (log_sigma(read, quantity, instrument) ** 2 + MODEL_SIGMA[kind, what] ** 2) ** 0.5
            response = instrument.response if instrument is not None else None
            self.observations.append(Observation(place, what, read.value, total, f"{where}.{name}", response))


def bench_of(
    part: Transformer, instruments: Mapping[str, Instrument], frequency: float, refused: frozenset[str] = frozenset()
) -> Bench:
    """Return the tests and observations of a transformer, without the refused key paths.

    Plate figures join as observations of a test at plate volts and plate frequency, where no reading tells the same
    thing: open volts until the ratio was read in both directions, short-circuit current until a short test reached half
    the plate's volts.
    """
    c = _Collector(instruments, refused, frequency)
    for k, o in enumerate(part.open_test):
        c.test(
            "open",
            o.applied,
            o.stamp,
            _path(o, part, "open_test", k),
            "applied",
            [
                ("current", "current", "current", o.current),
                ("power", "power", "power", o.power),
                ("secondary", "voltage", "secondary", o.secondary),
            ],
        )
    for k, s in enumerate(part.short_test):
        c.test(
            "short",
            s.applied,
            s.stamp,
            _path(s, part, "short_test", k),
            "applied",
            [
                ("current", "current", "current", s.current),
                ("power", "power", "power", s.power),
                ("secondary_current", "current", "secondary_current", s.secondary_current),
            ],
        )
    for k, low in enumerate(part.low_voltage_test):
        where = _path(low, part, "low_voltage_test", k)
        if low.fed == "high":
            c.test("fed high", low.applied, low.stamp, where, "applied_high", [("read", "voltage", "low", low.read)])
        else:
            c.test("fed low", low.applied, low.stamp, where, "applied", [("read", "voltage", "secondary", low.read)])
    _plates(c, part)
    return Bench(tuple(c.tests), tuple(c.sigma), tuple(c.where), tuple(c.observations))


def ratio_is_read(tests: Sequence[BenchTest], observations: Sequence[Observation]) -> bool:
    """Return whether readings tell the turns ratio: both directions at low voltage, or the open volts themselves."""
    seen = {"secondary" if o.what == "secondary" else tests[o.test].kind for o in observations if not o.plate}
    return "secondary" in seen or {"fed low", "fed high"} <= seen


def _plates(c: _Collector, part: Transformer) -> None:
    volts = part.plate_primary
    if volts is None:
        return
    frequency = part.plate_frequency.value if part.plate_frequency else c.frequency
    base = part.where or part.id
    if (
        part.plate_secondary is not None
        and not ratio_is_read(c.tests, c.observations)
        and f"{base}.plate_secondary" not in c.refused
    ):
        c.tests.append(BenchTest("open", volts.value, frequency, warm=True))
        c.sigma.append(1e-4)
        c.where.append(f"{base}.plate_primary")
        c.observations.append(
            Observation(
                len(c.tests) - 1,
                "secondary",
                part.plate_secondary.value,
                PLATE_VOLTS_SIGMA,
                f"{base}.plate_secondary",
                plate=True,
            )
        )
    shorted_high = any(t.kind == "short" and t.applied > 0.5 * volts.value for t in c.tests)
    if part.plate_current is not None and not shorted_high and f"{base}.plate_current" not in c.refused:
        c.tests.append(BenchTest("short", volts.value, frequency, warm=True))
        c.sigma.append(1e-4)
        c.where.append(f"{base}.plate_primary")
        c.observations.append(
            Observation(
                len(c.tests) - 1,
                "secondary_current",
                part.plate_current.value,
                PLATE_CURRENT_SIGMA,
                f"{base}.plate_current",
                plate=True,
            )
        )
