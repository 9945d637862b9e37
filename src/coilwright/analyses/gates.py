"""The supply gates: what is read in which order before mains is connected, and whether it agrees with the models.

They advise. A gate that agrees says that these readings agree with the models, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from coilwright.analyses.charge import charge_rows
from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.gate_bench import GateBench
from coilwright.analyses.gate_rows_dead import (
    AT_THE_SET,
    bond_gate,
    drained_gate,
    insulation_gate,
    resistance_gate,
    stick_gate,
)
from coilwright.analyses.gate_rows_limiter import limiter_gate
from coilwright.analyses.gate_rows_live import reduced_gate, safety_gap_gate, windows_of
from coilwright.analyses.gates_results import Gate, GateRow, GatesResult, GateVerdict, RowVerdict, SparkWindow
from coilwright.analyses.polarity import polarity as polarity_sheet
from coilwright.analyses.polarity_results import PolarityResult
from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.stress import limits_of
from coilwright.analyses.supply import Progress
from coilwright.analyses.supply import supply as compute
from coilwright.analyses.topology import wired_with
from coilwright.errors import InputError, Problem, SolverError
from coilwright.model.design import Arrangement, Design
from coilwright.model.machine import Reading
from coilwright.protection.raising import raise_tag
from coilwright.protection.rules import collect
from coilwright.protection.tag import Tag
from coilwright.protection.wording import amperes, listed, volts_peak, volts_rms
from coilwright.supply.build import mains_circuit

#: Gates in whose course the set is under mains.
LIVE = ("limiter", "reduced volts", "safety gap")
#: STOPs that do not shut them: the tank is off while they are read, and the last one clears them.
CLEARED_HERE = frozenset({"safety-gap-missing", "tank-overvolt-gap-missing"})
#: Gates in which something is tried that no reading shows: they stay open here and are signed on paper.
SIGNED = ("drained", "disconnections")
NOTES = (
    "A gate that agrees says that the readings agree with the models: it does not say that the set may be touched.",
    "Take the gates in order. One that fails keeps those under mains shut until its cause is found.",
    "No gate asks for a meter on the high side while the set is on the mains.",
)


def gates(
    design: Design,
    *,
    arrangement: Arrangement | None = None,
    shelf: ShelfResult | None = None,
    supply: SupplyResult | None = None,
    polarity: PolarityResult | None = None,
    reads: Sequence[Reading] = (),
    progress: Progress | None = None,
) -> GatesResult:
    """Return the gates of one arrangement, judged as far as they were read.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses.
    shelf, supply, polarity
        Results that are at hand already; what is missing is computed.
    reads
        Readings besides the project's: ``what`` resistance, mains current, mains power or voltage, ``where`` the
        row's id.

    Raises
    ------
    InputError
        If there is no arrangement, or a reading names no row.
    SolverError
        If the supply has no converged answer open or short-circuited.
    """
    chosen = arrangement or design.chosen()
    known = shelf or identify(design)
    made = supply or compute(design, arrangement=chosen, shelf=known, progress=progress)
    if chosen is None:
        hint = "Take a row of the plan into the project, or write [[arrangement]]."
        raise InputError([Problem("arrangement", None, "there is no arrangement whose gates could be read", hint)])
    circuits = circuits_of(chosen, design, known)
    w = wired_with(chosen, design, circuits)
    limits = limits_of(w, design.site.mains_voltage.value)
    bench = GateBench(design, w, known, made, circuits, mains_circuit(design.site), limits, (*design.readings, *reads))
    charge, windows = charge_rows(design, w, made), windows_of(bench)
    sheet, polarity_tags = _polarity(bench, chosen, polarity, reads)
    lamp, lamp_tags = limiter_gate(bench)
    found = [
        drained_gate(bench, charge),
        insulation_gate(bench),
        bond_gate(bench),
        resistance_gate(bench),
        sheet,
        stick_gate(bench, charge),
        lamp,
        reduced_gate(bench),
        safety_gap_gate(bench, windows),
    ]
    _check_rows(found, reads)
    tags = collect(made.tags, polarity_tags, lamp_tags, _tags(bench, windows), answers=design.answers)
    return GatesResult(chosen.name, tuple(_judged(found, tags)), charge, windows, tags, NOTES)


def _judged(found: Sequence[Gate], tags: Sequence[Tag]) -> Iterator[Gate]:
    """Yield the gates with their verdicts; a failed one or an open STOP shuts those under mains."""
    failed: Gate | None = None
    for gate in found:
        verdict, words = _verdict(gate)
        shut = ""
        if gate.id in LIVE:
            stops = dict.fromkeys(t.id for t in tags if t.blocks and t.id not in CLEARED_HERE)
            why = [f"gate {failed.number}, {failed.title.lower()}, has failed"] if failed is not None else []
            why += [f"STOP open: {', '.join(stops)}"] if stops else []
            shut = "; ".join(why)
        own = verdict
        if shut and verdict in {"open", "agrees"}:
            verdict = "closed"
        yield replace(gate, verdict=verdict, words=words, closed=shut)
        if own == "fails" and failed is None:
            failed = gate


def _verdict(gate: Gate) -> tuple[GateVerdict, str]:
    if gate.words:
        return gate.verdict, gate.words
    verdicts = [r.verdict for r in gate.rows]
    outside = [r for r in gate.rows if r.verdict == "outside"]
    if outside:
        return "fails", f"does not agree: {listed(r.what for r in outside)}"
    if gate.rows and all(v == "not known" for v in verdicts):
        return "not known", "nothing is known to compare with"
    if gate.id in SIGNED and all(v == "agrees" for v in verdicts):
        read = "the readings agree; " if gate.rows else ""
        return "open", f"{read}what is tried is signed on paper"
    if "open" in verdicts:
        left = [r.what for r in gate.rows if r.verdict == "open"]
        return "open", f"to be read: {listed(left)}"
    unknown = [r.what for r in gate.rows if r.verdict == "not known"]
    if unknown:
        return "open", f"nothing is known to compare with: {listed(unknown)}"
    unstamped = [r.what for r in gate.rows if r.read_mark not in {None, "stamped"}]
    more = f"; without instrument and date: {listed(unstamped)}" if unstamped else ""
    more += f"; to be signed besides: {listed(gate.ticks)}" if gate.ticks else ""
    return ("agrees", f"the readings agree with the models{more}") if gate.rows else ("not known", "nothing to read")


def _polarity(
    bench: GateBench, arrangement: Arrangement, sheet: PolarityResult | None, reads: Sequence[Reading]
) -> tuple[Gate, tuple[Tag, ...]]:
    title, source = "Polarity", "model; touch limit IEC 60335-1 cl. 8.1.4"
    if sheet is None:
        try:
            sheet = polarity_sheet(bench.design, arrangement=arrangement, reads=reads, shelf=bench.shelf)
        except InputError as error:
            words = "; ".join(f"{p.message}. {p.hint}" for p in error.problems)
            return Gate("polarity", 5, title, (), (), 0.0, AT_THE_SET, verdict="not known", words=words), ()
        except SolverError as error:
            words = f"no converged answer, so no number is shown: {error}. Prove each unit by itself."
            return Gate("polarity", 5, title, (), (), 0.0, AT_THE_SET, verdict="not known", words=words), ()
    meter = bench.instrument("voltage", sheet.reachable, "a multimeter")
    verdicts: dict[str, GateVerdict] = {"as wired": "agrees", "reversed": "fails", "nothing fits": "fails"}
    verdict = verdicts.get(sheet.verdict, "open")
    words = sheet.words
    if sheet.next_reading is not None:
        words += f" Next: {sheet.next_reading.why}"
    rows = []
    for r in sheet.rows:
        state: RowVerdict = "open"
        if r.read is not None:
            state = "agrees" if r.right.low <= r.read <= r.right.high else "outside"
        wrong = "; ".join(f"{name} reversed {volts_rms(e.value)}" for name, e in r.reversed.items())
        rows.append(
            GateRow(
                f"{r.between[0]},{r.between[1]}",
                f"{r.between[0]} to {r.between[1]}",
                r.right.value,
                r.right.low,
                r.right.high,
                "V",
                meter,
                r.right.mark,
                r.right.basis,
                r.read,
                None if r.read is None else sheet.mark if sheet.mark != "pencil" else "ink",
                state,
                wrong,
            )
        )
    feed = f"{volts_rms(sheet.drive)} between {sheet.at[0]} and {sheet.at[1]}; within reach at most "
    feed += f"{volts_rms(sheet.reachable)}, {amperes(sheet.body_current)} through 1 kohm."
    gate = Gate(
        "polarity", 5, title, (*sheet.procedure, feed, *(b.words for b in sheet.blind)),
        ("Reversed: swap the primary leads of that unit; its core stays earthed. Then take the whole sheet again.",
         "About 0 V where volts are expected: an open lead reads that too. Prove the lead."),
        0.0, "at the set; nobody holds two points while the adapter is on", tuple(rows), verdict=verdict, words=words,
        source=source,
    )  # fmt: skip
    return gate, sheet.tags


def _check_rows(found: Sequence[Gate], reads: Sequence[Reading]) -> None:
    """Refuse readings typed in that no row asks for.

    Raises
    ------
    InputError
        Naming each, with the rows there are.
    """
    rows = {r.id: r for g in found for r in g.rows}
    problems = []
    for r in reads:
        if r.what == "polarity":
            continue
        where = str(r.where)
        suffix = {"mains current": " current", "mains power": " power"}.get(r.what, "")
        row = rows.get(where + suffix)
        if row is None:
            asked = [i for i in rows if "," not in i]
            problems.append(Problem("--read", None, f'no gate asks for "{where}"', f"rows: {', '.join(asked)}"))
        elif row.unit != r.unit:
            problems.append(
                Problem(
                    "--read", None, f'"{where}" is read in {row.unit}, found {r.unit}', f"Write a value in {row.unit}."
                )
            )
    if problems:
        raise InputError(problems)


def _tags(bench: GateBench, windows: Sequence[SparkWindow]) -> Iterator[Tag]:
    units = [n for n in bench.w.instances if n in bench.limits]
    if units:
        yield raise_tag("dc-kick", listed(units))
        yield raise_tag("short-test-opens", "gate 8, shorted at reduced volts")
    for s in windows:
        if s.is_empty and s.high_peak is not None:
            yield raise_tag(
                "safety-gap-missing",
                f"safety gap at {s.joint}",
                value=f"no setting fits: {volts_peak(s.set_peak)} with its margin",
                limit=f"above {volts_peak(s.low_peak)} (1.05 x open peak to earth), below {volts_peak(s.high_peak)} "
                f"({s.high_where})",
                number=s.set_peak,
                bound=s.high_peak,
                mark=s.high_mark,
                do="Fewer volts, or a better rating of the weakest part; then take this gate again.",
            )


__all__ = ["gates"]
