"""The polarity sheet: what a meter shows at low volts for every sense of the windings, and which sense was wired."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.polarity_bench import (
    ADAPTER_VOLTS,
    Bench,
    expected,
    joints_of,
    meter_default,
    meter_of,
    name_of,
    reach_of,
    usual_drive,
)
from coilwright.analyses.polarity_next import blind_of, further_reading
from coilwright.analyses.polarity_results import Decoded, FurtherReading, PolarityResult, PolarityRow, Proof, Verdict
from coilwright.analyses.results import ShelfResult
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.topology import wired_with
from coilwright.errors import InputError, Problem, SolverError
from coilwright.measurement.senses import RAREST, likelihood, possible
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Estimate, Mark
from coilwright.model.machine import Drive as Driven
from coilwright.model.machine import Reading
from coilwright.protection.body import TOUCH_LIMIT_RMS
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules import collect
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, volts_rms
from coilwright.supply.build import mains_circuit
from coilwright.supply.low_drive import MOST_UNITS, Drive, Pair, Sense, joined, senses_of

Real = NDArray[np.float64]

#: Share of the largest reading below which one counts as "about 0 V" and needs the lead proved.
ABOUT_ZERO = 0.2
BODY = 1000.0
#: Verdicts after which it does not matter what the sheet alone could not tell.
SETTLED: tuple[Verdict, ...] = ("as wired", "reversed", "nothing fits")
PROCEDURE = (
    "Mains plug out and in sight; correction capacitors and tank off; every capacitor drained and shorted first.",
    "Feed from a separated adapter, fused 1 A, alternating. Nobody holds two points while it is on.",
    (
        "Read the adapter's own volts first, with nothing on it: a small one shows a quarter more than its label. Give "
        "what it shows with --drive and look at the limit again. Less than it gives: a variable transformer in front "
        "of the adapter, never instead of it."
    ),
    "Prove the meter and its leads on the adapter before and after: an open lead also reads 0 V.",
    "Read each high end to earth first, then across. A reading of about 0 V counts only with both.",
)
NOTES = (
    (
        "At low volts the iron magnetises at a quarter to all of its usual permeability: the bands carry that, the "
        "adapter's sag and 3 % for the model."
    ),
    (
        "All windings reversed together show the same volts: a set and its mirror are one, and the first unit is taken "
        "as right."
    ),
)


def polarity(
    design: Design,
    *,
    arrangement: Arrangement | None = None,
    drive: float | None = None,
    at: Pair | None = None,
    reads: Sequence[Reading] = (),
    shelf: ShelfResult | None = None,
) -> PolarityResult:
    """Return the polarity sheet of one arrangement, decoded as far as it was read.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses. Its polarity readings count.
    drive, at
        Volts of the adapter [V rms] and the two joints that it feeds; by default one high end to earth, at most 12 V,
        lowered until no pair within reach passes the touch limit.
    reads
        Further readings, as typed in; one at a pair that the project has read takes that one's place.

    Raises
    ------
    InputError
        If there is no arrangement, it has no high winding, or a joint does not exist.
    SolverError
        If the low-voltage network did not converge.
    """
    bench = _bench(design, arrangement, shelf)
    typed = {_at(r) for r in reads}
    taken = [r for r in (*(r for r in design.readings if _at(r) not in typed), *reads) if _belongs(r, bench)]
    for r in reads:
        _check_read(bench, r)
    where = at or _usual_place(bench, taken)
    _check_joints(bench, where)
    per_volt, between, plug = reach_of(bench, where)
    volts = drive if drive is not None else usual_drive(where, taken, per_volt)
    fed = Drive(volts, where)
    pairs = _pairs(bench, taken)
    sheet = bench.senses(fed, pairs)
    verdict, words, found, further = _decode(bench, taken)
    here = [r for r in taken if r.drive is not None and set(r.drive.between) == set(where)]
    read = {frozenset(p): r.value for r in here if (p := joints_of(r))}
    mark: Mark = "pencil"
    if verdict == "as wired":
        mark = "stamped" if all(r.instrument and r.date for r in taken) else "ink"
    result = PolarityResult(
        bench.arrangement.name,
        volts,
        where,
        tuple(_row(bench, where, k, p, sheet, read.get(frozenset(p))) for k, p in enumerate(pairs)),
        per_volt * volts,
        between,
        None if plug is None else plug * volts,
        per_volt * volts / BODY,
        verdict,
        words,
        found,
        further,
        () if verdict in SETTLED else blind_of(bench, fed, pairs, sheet),
        mark,
        PROCEDURE,
        notes=NOTES,
    )
    return replace(result, tags=collect(_tags(result), answers=design.answers))


def proof_of(design: Design, arrangement: Arrangement, shelf: ShelfResult) -> Proof:
    """Return what the project's polarity readings prove of an arrangement.

    Without any, or where the sheet cannot be computed, nothing: that is a reading not taken, never a number.
    """
    if not any(r.what == "polarity" for r in design.readings):
        return Proof()
    try:
        result = polarity(design, arrangement=arrangement, shelf=shelf)
    except (InputError, SolverError) as error:
        return Proof(words=str(error))
    return Proof(result.mark, result.words if result.verdict != "open" else "")


# ---- what is on the bench --------------------------------------------------------------------------------------------


def _bench(design: Design, arrangement: Arrangement | None, shelf: ShelfResult | None) -> Bench:
    chosen = arrangement or design.chosen()
    if chosen is None:
        hint = "Take a row of the plan into the project, or write [[arrangement]]."
        raise InputError([Problem("arrangement", None, "there is no arrangement whose polarity could be read", hint)])
    known = shelf or identify(design)
    circuits = circuits_of(chosen, design, known)
    w = wired_with(chosen, design, circuits)
    units = w.high_units()
    where = chosen.where or "arrangement"
    if not units:
        message = "no high winding is wired in this arrangement, so there is no polarity to read"
        raise InputError([Problem(where, design.line_of(where), message, "Wire the high ends into joints first.")])
    if len(units) > MOST_UNITS:
        message = f"{len(units)} units are wired together; every sense is tried, which goes up to {MOST_UNITS}"
        raise InputError([Problem(where, design.line_of(where), message, "Prove it in parts, a few units at a time.")])
    cores = [w.node(f"{u}.core") for u in units]
    ground = w.joint_of.get("mains.earth") or max(cores, key=cores.count)
    mains = mains_circuit(design.site)
    return Bench(design, chosen, circuits, mains, w, units, ground, joined(chosen, circuits, mains))


def _belongs(r: Reading, bench: Bench) -> bool:
    """Return whether a reading is a polarity reading of this arrangement."""
    if r.what != "polarity" or r.drive is None or joints_of(r) is None:
        return False
    named = {*(joints_of(r) or ()), *r.drive.between}
    return named <= set(bench.arrangement.joints)


def _at(r: Reading) -> tuple[object, ...]:
    """Return what makes two readings one and the same: the pair, and where the drive was."""
    return r.what, frozenset(joints_of(r) or ()), frozenset(r.drive.between if r.drive else ())


def _usual_place(bench: Bench, taken: Sequence[Reading]) -> Pair:
    """Return where the drive is fed: where the readings say, else across one high winding alone, from its earthed end
    where it has one.

    With one winding driven every other one is open and shows its own ratio; through several in series, one against
    another would load the adapter.
    """
    for r in taken:
        if r.drive is not None:
            return r.drive.between
    out = bench.arrangement.output

    def rank(pair: Pair) -> tuple[bool, bool, bool]:
        alone = sum({*bench.wired.high_ends(u)} == {*pair} for u in bench.units) == 1
        return pair[1] != bench.ground, not alone, pair[0] not in out

    places = [p for u in bench.units for p in _both_ways(bench.wired.high_ends(u), bench.ground)]
    wired_ends = [p for p in places if all(j in bench.arrangement.joints for j in p)]
    return min(wired_ends, key=rank, default=out)


def _both_ways(ends: Pair, ground: str) -> list[Pair]:
    """Return a winding's two ends as places of the drive, the earthed one last; a tapped one is driven by halves."""
    a, b = ends
    if ground in ends:
        return [(b, a) if a == ground else (a, b)]
    return [(a, b)]


def _check_joints(bench: Bench, where: Pair) -> None:
    known = bench.arrangement.joints
    missing = [j for j in where if j not in known]
    hint = "joints of the arrangement: " + ", ".join(known)
    if missing or where[0] == where[1]:
        message = f"there is no joint {missing[0]}" if missing else f"both ends are the joint {where[0]}"
        raise InputError([Problem("--at", None, message, hint)])
    if bench.copper.get(where[0]) != bench.copper.get(where[1]):
        message = f"no winding joins {where[0]} and {where[1]} with the plug out: a drive between them tests insulation"
        raise InputError(
            [Problem("--at", None, message, "feed two joints of one winding, one high end to earth at best")]
        )


def _check_read(bench: Bench, r: Reading) -> None:
    """Refuse a typed reading between joints that the arrangement does not have."""
    known = bench.arrangement.joints
    missing = [j for j in joints_of(r) or () if j not in known]
    if missing:
        hint = "joints of the arrangement: " + ", ".join(known)
        raise InputError([Problem("--read", None, f"there is no joint {missing[0]}", hint)])


def _pairs(bench: Bench, taken: Sequence[Reading]) -> list[Pair]:
    """Return the pairs of the sheet: each high joint to earth, across the output, then whatever else was read.

    A joint that no copper joins to earth is read against another one of its own circuit.
    """
    ends = dict.fromkeys(e for u in bench.units for e in bench.wired.high_ends(u))
    high = [e for e in ends if e in bench.arrangement.joints and e != bench.ground]
    pairs: dict[frozenset[str], Pair] = {}
    for e in high:
        mates = [bench.ground, *(o for o in high if o != e)]
        mate = next((m for m in mates if m in bench.copper and bench.copper[m] == bench.copper.get(e)), None)
        if mate is not None:
            pairs.setdefault(frozenset((e, mate)), (e, mate))
    out = bench.arrangement.output
    if bench.copper.get(out[0]) == bench.copper.get(out[1]):
        pairs.setdefault(frozenset(out), out)
    for r in taken:
        p = joints_of(r)
        if p is not None:
            pairs.setdefault(frozenset(p), p)
    return list(pairs.values())


# ---- the sheet -------------------------------------------------------------------------------------------------------


def _row(bench: Bench, at: Pair, k: int, pair: Pair, sheet: Sequence[Sense], read: float | None) -> PolarityRow:
    def estimate(sense: Sense) -> Estimate:
        value = float(sense.readings[k])
        one = expected(bench, at, sense, [pair for _ in sense.readings]).pick([k])
        half = 1.96 * float(one.covariance(meter_default(one.readings), 0.0)[0, 0]) ** 0.5
        return Estimate(value, max(0.0, value - half), value + half, "pencil", "V", "low-voltage network")

    others = {name_of(s.reversed): estimate(s) for s in sheet[1:]}
    return PolarityRow(pair, estimate(sheet[0]), others, read)


# ---- decoding --------------------------------------------------------------------------------------------------------


def _decode(bench: Bench, taken: Sequence[Reading]) -> tuple[Verdict, str, tuple[Decoded, ...], FurtherReading | None]:
    if not taken:
        return "open", "Nothing was read yet.", (), None
    groups: dict[tuple[Pair, float], list[Reading]] = {}
    for r in taken:
        if r.drive is not None:
            groups.setdefault((r.drive.between, r.drive.voltage), []).append(r)
    waiting = next((w for rs in groups.values() if (w := _unproved(bench, rs)) is not None), None)
    if waiting is not None:
        return "waiting", waiting.why, (), waiting
    sets = senses_of(bench.units)
    alive, chance = set(range(len(sets))), np.ones(len(sets))
    for (place, volts), rows in groups.items():
        pairs = [p for r in rows if (p := joints_of(r)) is not None]
        senses = [expected(bench, place, s, pairs) for s in bench.senses(Drive(volts, place), pairs)]
        read, meter = np.array([r.value for r in rows]), np.array([meter_of(r, bench.design) for r in rows])
        alive &= set(possible(read, senses, meter))
        chance = np.minimum(chance, [likelihood(read, s, meter) for s in senses])
    order = sorted(alive, key=lambda k: (-chance[k], k))
    found = tuple(Decoded(sets[k], _remedy(bench, sets[k]), float(chance[k])) for k in order)
    if not found:
        words = (
            "No set of reversed windings gives these readings: an open lead, a dead or shorted winding, another joint, "
            "or a drive that is not what was written. Prove the lead, then read each end to earth again."
        )
        return "nothing fits", words, (), None
    if len(found) == 1:
        if not found[0].reversed:
            return "as wired", "The readings agree with the wiring as it is drawn.", found, None
        return "reversed", f"{name_of(found[0].reversed)} reads reversed. {found[0].remedy}", found, None
    further = further_reading(bench, groups, [sets[k] for k in order])
    names = "; ".join(name_of(d.reversed) or "as wired" for d in found)
    return "ambiguous", f"The readings leave open: {names}.", found, further


def _unproved(bench: Bench, rows: Sequence[Reading]) -> FurtherReading | None:
    """Return the reading without which one of about 0 V does not count: each of its ends to earth, the same drive."""
    largest = max(r.value for r in rows)
    read = {frozenset(p) for r in rows if (p := joints_of(r)) is not None}
    base = bench.ground
    for r in rows:
        pair = joints_of(r)
        if pair is None or (largest > 0 and r.value >= ABOUT_ZERO * largest and r.value > 0):
            continue
        for end in pair:
            if bench.copper.get(end) != bench.copper.get(base):
                continue  # another circuit: a meter to earth shows its stray capacitance alone
            if end != base and frozenset((end, base)) not in read and frozenset((end, base)) != frozenset(pair):
                why = (
                    f"{volts_rms(r.value)} between {pair[0]} and {pair[1]} counts only once {end} to {base} was read: "
                    "an open lead reads 0 V too."
                )
                drive = r.drive or Driven(0.0, pair)
                return FurtherReading((end, base), drive.between, drive.voltage, {}, 0, why)
    return None


def _remedy(bench: Bench, reversed_: Sequence[str]) -> str:
    """Return what to do: a tied winding's unit has its primary leads swapped, the core stays earthed."""
    if not reversed_:
        return "Nothing to change."
    parts = []
    for winding in reversed_:
        unit = winding.rpartition(".")[0]
        if bench.wired.kept_tie(unit) == "none":
            parts.append(f"Swap the two primary leads of {unit}, or the two ends of its high winding.")
        else:
            parts.append(f"Swap the two primary leads of {unit}: its high winding is on its core, which stays earthed.")
    mirror = [u for u in bench.units if f"{u}.high" not in reversed_]
    if len(mirror) == 1 and len(bench.units) == 2:
        parts.append(f"(Those of {mirror[0]} instead would do as well, not both.)")
    parts.append("Then take the whole sheet again.")
    return " ".join(parts)


def _tags(result: PolarityResult) -> tuple[Tag, ...]:
    found = []
    if result.reachable > TOUCH_LIMIT_RMS:
        a, b = result.reachable_between
        value = f"{volts_rms(result.reachable)} between {a} and {b}, {amperes(result.body_current)} through 1 kohm"
        found.append(
            raise_tag(
                "test-drive-live",
                f"drive of {volts_rms(result.drive)} at {result.at[0]}, {result.at[1]}",
                value=value,
                number=result.reachable,
                bound=TOUCH_LIMIT_RMS,
            )
        )
    if len(result.rows) and result.rows[0].reversed and result.mark != "stamped":
        found.append(raise_tag("zero-is-not-off", result.arrangement, value=result.words, mark=result.mark))
    return tuple(found)


__all__ = ["ADAPTER_VOLTS", "RAREST", "polarity", "proof_of"]
