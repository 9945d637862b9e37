"""What the insulation of a transformer is counted on for: the kind's assumption (pencil) or what a proof test stamped.

On pencil a winding stands 1.1 times the plate's volts where it was made for them: the primary against the core, the
outer end of the high winding against the core (half of the plate for each end of a tapped winding). The inner end
lies next to the core and is counted at 0 V. A number written by hand is ink: it can lower a limit, never raise one.
(Design rule; IEC 61558-1 and IEC 60664-1 from memory.)

A proof test is a withstand: it shows what held for a minute, once, not what may stand there for years. The usual
factory test is twice the working volts and 1 kV for a minute (UL 506, from memory), so a test at V counts for
(V - 1 kV) / 2, and only with all of its record: method, a minute, instrument, date, and by whom.
"""

from __future__ import annotations

from dataclasses import dataclass

from coilwright.measurement.findings import say
from coilwright.measurement.kinds import defaults_of
from coilwright.measurement.parameters import tie_of
from coilwright.measurement.readings import mark_of
from coilwright.model.known import Known
from coilwright.model.parts import ProofTest, Transformer

#: What a winding is counted on for above its plate (design rule).
PLATE_FACTOR = 1.1
#: A withstand test is made at this many times the working volts and so much more [V], for so long at least [s].
PROOF_FACTOR, PROOF_ADDED, PROOF_SECONDS = 2.0, 1000.0, 60.0
#: Primary volts of a part that says nothing at all.
USUAL_MAINS = 230.0
#: Kinds whose second winding is made to ride off the core at both ends.
FULLY_INSULATED = ("isolation",)


@dataclass(frozen=True)
class InsulationLimits:
    """Limits in V rms, each with its mark and basis. ``inner_end`` is start, finish, tap or unknown."""

    primary_to_core: Known[float]
    start_to_core: Known[float]
    finish_to_core: Known[float]
    high_to_primary: Known[float]
    inner_end: str


def insulation_limits(
    part: Transformer, mains_voltage: float | None = None, *, lifted: bool = False
) -> InsulationLimits:
    """Return what each place of insulation is counted on for.

    ``mains_voltage`` stands in for a plate that does not state its primary volts. ``lifted``: the tied end is off its
    core, so that an end whose place in the winding is unknown counts as inner.
    """
    kind = defaults_of(part.kind)
    v1 = part.plate_primary.value if part.plate_primary else (mains_voltage or USUAL_MAINS)
    v2 = part.plate_secondary.value if part.plate_secondary else kind.secondary_voltage
    plate = "plate" if part.plate_secondary else f"usual {part.kind} unit"
    tie = tie_of(part).basis
    inner = _inner_end(part, tie)
    end = v2 / 2 if tie == "tap" else v2
    ends = {
        name: _end_limit(name, tie, inner, end, plate, kind_free=part.kind in FULLY_INSULATED, lifted=lifted)
        for name in ("start", "finish")
    }
    primary = Known(
        PLATE_FACTOR * v1, "pencil", basis=f"1.1 x {'plate' if part.plate_primary else 'mains'} primary volts"
    )
    between = Known(PLATE_FACTOR * (v1 + end), "pencil", basis=f"1.1 x ({plate} volts of one high end + primary volts)")
    written = part.insulation or {}
    primary = _lowered(primary, written.get("primary_to_core"))
    for name, limit in tuple(ends.items()):
        ends[name] = _lowered(limit, written.get("high_inner_to_core" if limit.value == 0 else "high_to_core"))
    for test in part.proof_test:
        pair = frozenset(test.between)
        if pair == {"primary", "core"}:
            # Induced volts stress the turns of a winding, not the whole of it against its core.
            primary = _proved(primary, test) if test.method == "applied" else primary
        elif pair == {"high", "primary"}:
            between = _proved(between, test)
        elif pair == {"high", "core"}:
            for name, limit in tuple(ends.items()):
                # Induced volts grow along the winding: the inner end sees none of them. Applied volts lift the whole
                # of it.
                if test.method == "applied" or inner not in {name, "unknown"}:
                    ends[name] = _proved(limit, test)
    return InsulationLimits(primary, ends["start"], ends["finish"], between, inner)


def _inner_end(part: Transformer, tie: str) -> str:
    if part.inner_end is not None:
        return part.inner_end.value
    return tie if tie in {"start", "finish", "tap"} else "unknown"


def _end_limit(
    name: str, tie: str, inner: str, volts: float, plate: str, *, kind_free: bool, lifted: bool
) -> Known[float]:
    full = Known(PLATE_FACTOR * volts, "pencil", basis=f"1.1 x {plate} secondary volts of this end")
    if tie == "tap" or (kind_free and tie == "none"):
        return full
    if name == inner and not (tie not in {"none", name} and not lifted):
        return Known(0.0, "pencil", basis="inner end of the high winding: next to the core, not made to stand off it")
    if inner == "unknown" and (tie in {"none", name} or lifted):
        return Known(
            0.0, "pencil", basis="which end of the high winding is the inner one is not known: both count as inner"
        )
    return full


def _lowered(limit: Known[float], written: Known[float] | None) -> Known[float]:
    if written is None or written.value >= limit.value:
        return limit
    return Known(written.value, "ink", basis="as written; no proof test")


def working_volts(test: ProofTest) -> float:
    """Return the rms volts that a withstand test lets an insulation be counted on for; 0 with a gap in its record.

    Complete is: instrument, date, by whom, method, and a minute at least. Pencil 1.1 x plate is what 2 x (1.1 x plate)
    + 1 kV would prove.
    """
    stamp = test.stamp
    recorded = mark_of(stamp) == "stamped" and stamp.by is not None and test.method in {"applied", "induced"}
    if not recorded or test.duration is None or test.duration < PROOF_SECONDS:
        return 0.0
    return max(0.0, (test.applied - PROOF_ADDED) / PROOF_FACTOR)


def _proved(limit: Known[float], test: ProofTest) -> Known[float]:
    """Return the limit that a proof test proves. One that proves less than the plate leaves the limit as it is."""
    volts = working_volts(test)
    if volts <= 0 or volts * PLATE_FACTOR < limit.value or (limit.mark == "stamped" and volts <= limit.value):
        return limit
    how = f"{test.method} test at {say(test.applied, 'V')} for {test.duration:.0f} s, {test.stamp.date}"
    return Known(volts, "stamped", basis=f"half of what stands above 1 kV: {how}")
