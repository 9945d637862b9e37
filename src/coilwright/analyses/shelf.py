"""What each part on the shelf really is, which readings are doubtful, and which further one would help most."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from coilwright.analyses.facts_of_shelf import shelf_facts
from coilwright.analyses.facts_of_supply import site_facts
from coilwright.analyses.results import NextReading, PartResult, ShelfResult
from coilwright.measurement.choke import choke_bands, fit_choke
from coilwright.measurement.choke import moved as moved_choke
from coilwright.measurement.choke_checks import check_choke
from coilwright.measurement.findings import Finding
from coilwright.measurement.kinds import defaults_of
from coilwright.measurement.next_choke import HAZARD as CHOKE_HAZARD
from coilwright.measurement.next_choke import HAZARD_WORDS as CHOKE_HAZARD_WORDS
from coilwright.measurement.next_choke import next_of_choke
from coilwright.measurement.next_reading import HAZARD_WORDS, WORDS, next_readings
from coilwright.measurement.next_reading import UNITS as ASKED_UNITS
from coilwright.measurement.simple import SimpleStudy, study_capacitor, study_resistor, study_variable
from coilwright.measurement.transformer import NO_CIRCUIT, TransformerStudy, study_transformer
from coilwright.model.design import Design
from coilwright.model.known import Estimate
from coilwright.model.parts import Capacitor, Choke, Instrument, Resistor, Transformer, Variable
from coilwright.protection.rules import collect
from coilwright.protection.rules_shelf import shelf_tags
from coilwright.protection.rules_site import site_tags
from coilwright.supply.circuits import PartCircuit

#: Findings on a choke that keep it off the plan until they are corrected.
IMPOSSIBLE_CHOKE = ("power-above-va", "impossible-x", "resistance-below-dc")

Progress = Callable[[float, str], None]


def shelf(design: Design, *, progress: Progress | None = None) -> ShelfResult:
    """Return circuit, bands, marks and doubtful readings of every part, the readings worth taking next, and the tags.

    Parts that say the same in every key that matters to the fit are fitted once.
    """
    bench = _Bench(
        {i.id: i for i in design.instruments},
        design.site.mains_voltage.value,
        design.site.frequency.value,
        design.goal.power.value if design.goal.power else None,
        sum(t.count for t in design.transformers if t.kind == "oven"),
    )
    done: dict[object, _Studied] = {}
    parts: dict[str, PartResult] = {}
    asked: list[NextReading] = []
    every = list(design.shelf())
    for k, part in enumerate(every):
        if progress is not None:
            progress(k / max(len(every), 1), part.id)
        twin = _same(part)
        if twin not in done:
            done[twin] = _study(part, bench)
        studied = done[twin]
        parts[part.id] = _with_refused(design, _for(part.id, part.where, studied))
        asked += [replace(n, part=part.id) for n in studied.asked]
    if progress is not None:
        progress(1.0, "shelf")
    asked.sort(key=lambda n: (n.hazard, (n.band_after[1] - n.band_after[0]) / (n.band_before[1] - n.band_before[0])))
    unconverged = [name for name, p in parts.items() if p.why_not.startswith(NO_CIRCUIT)]
    tags = collect(
        site_tags(site_facts(design)),
        shelf_tags(shelf_facts(design, parts, asked, unconverged)),
        answers=design.answers,
    )
    return ShelfResult(parts, tuple(asked), tags)


@dataclass(frozen=True)
class _Bench:
    """What every study needs: instruments, mains, the power that is wanted [VA], and how many units would share it."""

    instruments: dict[str, Instrument]
    mains: float
    frequency: float
    power: float | None
    ovens: int

    def working_current(self, part: Transformer, study: TransformerStudy) -> float:
        """Return the primary current [A] that a unit will carry in a short behind its ballast.

        A unit with a current limit of its own carries its short-circuit current at full volts. Of others two share the
        wanted power (one, if there is but one), at 0.8 of the mains volts (a ballast's usual share); without an order
        it is the plate's.
        """
        if defaults_of(part.kind).current_limited:
            return study.values["short_primary_current"].value
        if self.power is not None:
            return self.power / (0.8 * self.mains * min(max(self.ovens, 1), 2))
        fit = study.fit
        return self.mains if fit is None else fit.prior.apparent_power / fit.prior.primary_voltage


@dataclass(frozen=True)
class _Studied:
    """A part as fitted, at the place in the file where it was found first."""

    result: PartResult
    where: str
    asked: tuple[NextReading, ...] = ()


def circuits(result: ShelfResult) -> dict[str, PartCircuit]:
    """Return the circuits of the usable parts, warm, for the network."""
    return {name: p.circuit for name, p in result.parts.items() if p.usable and p.circuit is not None}


def _same(part: Transformer | Choke | Capacitor | Resistor | Variable) -> object:
    """Return what makes two parts equal to the fit: not the id, the place in the file, the price or the insulation."""
    bare = replace(part, id="", where="", price=None, count=1, notes="")
    if isinstance(bare, Transformer):
        bare = replace(
            bare,
            open_test=tuple(replace(t, where="") for t in bare.open_test),
            short_test=tuple(replace(t, where="") for t in bare.short_test),
            low_voltage_test=tuple(replace(t, where="") for t in bare.low_voltage_test),
            insulation=None,
            proof_test=(),
            insulation_test=(),
            bond_test=(),
        )
    elif isinstance(bare, Choke):
        bare = replace(bare, test=tuple(replace(t, where="") for t in bare.test), temperature_test=())
    return repr(bare)


def _for(id: str, where: str, studied: _Studied) -> PartResult:
    """Return the result of an equal part under another id, its findings at the other part's place."""
    result, old = studied.result, studied.where
    if result.id == id:
        return result

    def here(text: str) -> str:
        return text.replace(old, where) if old and where else text.replace(result.id, id)

    return replace(
        result,
        id=id,
        readings=tuple(replace(n, where=here(n.where)) for n in result.readings),
        why_not=here(result.why_not),
    )


def _with_refused(design: Design, result: PartResult) -> PartResult:
    """Return the result with the readings that its file holds and no instrument could have taken."""
    refused = tuple(
        Finding("test-above-meter", "STOP", r.where, r.message, r.hint)
        for r in design.refused_readings
        if r.part == result.id
    )
    return replace(result, readings=(*refused, *result.readings)) if refused else result


def _study(part: Transformer | Choke | Capacitor | Resistor | Variable, bench: _Bench) -> _Studied:
    if isinstance(part, Transformer):
        study = study_transformer(part, bench.instruments, bench.mains, bench.frequency)
        return _Studied(_transformer(part, study), part.where, _next(part, study, bench))
    if isinstance(part, Choke):
        return _choke(part, bench)
    if isinstance(part, Capacitor):
        result = _simple(part.id, part.kind or part.use or "capacitor", study_capacitor(part, bench.frequency))
    elif isinstance(part, Resistor):
        result = _simple(part.id, "resistor", study_resistor(part))
    else:
        result = _simple(part.id, "variable", study_variable(part))
    return _Studied(result, part.where)


def _next(part: Transformer, study: TransformerStudy, bench: _Bench) -> tuple[NextReading, ...]:
    if study.fit is None or not study.values or part.kind == "electronic":
        return ()
    current = bench.working_current(part, study)
    asked = next_readings(part, study.fit, bench.instruments, bench.mains, bench.frequency, current)
    return tuple(
        NextReading(
            part.id,
            a.candidate.what,
            a.candidate.instrument,
            a.candidate.hazard,
            HAZARD_WORDS[a.candidate.hazard],
            WORDS[a.quantity],
            a.before,
            a.after,
            a.candidate.how,
            ASKED_UNITS[a.quantity],
        )
        for a in asked
    )


def _transformer(part: Transformer, study: TransformerStudy) -> PartResult:
    return PartResult(
        part.id,
        part.kind,
        study.values,
        study.findings,
        study.usable,
        study.circuit if study.usable else None,
        study.why_not,
        study.spread if study.usable else (),
    )


def _choke(part: Choke, bench: _Bench) -> _Studied:
    findings = check_choke(part, bench.instruments)
    notes = tuple(findings)
    stopped = frozenset(f.where for f in findings if f.grade == "STOP")
    fit = fit_choke(part, bench.instruments, bench.frequency, bench.mains, stopped)
    why = next(
        (f"{f.where}: {f.message} Correct the reading first." for f in findings if f.code in IMPOSSIBLE_CHOKE), ""
    )
    if fit is None:
        why = why or "neither a test, nor a lamp, nor a current is written, so its reactance is not known"
    elif not fit.solved.converged:
        why = why or f"{NO_CIRCUIT} that its readings agree with"
    if fit is None or not fit.solved.converged:
        return _Studied(PartResult(part.id, "choke", {}, notes, usable=False, why_not=why), part.where)
    units = {"inductance": "H", "impedance": "ohm", "rated_voltage": "V", "mains_current": "A", "resistance": "ohm"}
    values = {}
    for name, (value, low, high) in choke_bands(fit, part, bench.mains).items():
        source = fit.sources["resistance" if name == "resistance" else "inductance"]
        values[name] = Estimate(value, low, high, source.mark, units[name], source.basis)
    result = PartResult(
        part.id,
        "choke",
        values,
        notes,
        usable=not why,
        circuit=None if why else fit.circuit,
        why_not=why,
        spread=() if why else moved_choke(fit, part.gap_ratio),
    )
    asked = next_of_choke(part, fit, bench.instruments, bench.mains)
    if asked is None:
        return _Studied(result, part.where)
    wanted = NextReading(
        part.id,
        asked.what,
        asked.instrument,
        CHOKE_HAZARD,
        CHOKE_HAZARD_WORDS,
        "impedance with the mains across it",
        asked.before,
        asked.after,
        asked.how,
        "ohm",
    )
    return _Studied(result, part.where, (wanted,))


def _simple(id: str, kind: str, study: SimpleStudy) -> PartResult:
    return PartResult(
        id,
        kind,
        study.values,
        study.findings,
        usable=True,
        circuit=study.circuit,
    )
