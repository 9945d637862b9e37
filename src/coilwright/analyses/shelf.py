"""What each part on the shelf really is, which readings are doubtful, and which further one would help most."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from coilwright.analyses.results import Estimate, PartResult, ReadingNote, ShelfResult
from coilwright.measurement.choke import choke_bands, fit_choke
from coilwright.measurement.choke import moved as moved_choke
from coilwright.measurement.findings import Finding, Quantity
from coilwright.measurement.simple import SimpleStudy, study_capacitor, study_resistor, study_variable
from coilwright.measurement.transformer import TransformerStudy, study_transformer
from coilwright.model.design import Design
from coilwright.model.parts import Capacitor, Choke, Instrument, Resistor, Transformer, Variable
from coilwright.supply.circuits import PartCircuit

Progress = Callable[[float, str], None]


def shelf(design: Design, *, progress: Progress | None = None) -> ShelfResult:
    """Return the circuit, bands, marks and doubtful readings of every part.

    Parts that say the same in every key but their id are fitted once.
    """
    instruments = {i.id: i for i in design.instruments}
    mains, frequency = design.site.mains_voltage.value, design.site.frequency.value
    done: dict[object, PartResult] = {}
    parts: dict[str, PartResult] = {}
    every = list(design.shelf())
    for k, part in enumerate(every):
        if progress is not None:
            progress(k / max(len(every), 1), part.id)
        twin = _same(part)
        if twin not in done:
            done[twin] = _study(part, instruments, mains, frequency)
        parts[part.id] = _for(part.id, part.where, done[twin])
    if progress is not None:
        progress(1.0, "shelf")
    return ShelfResult(parts, ())


def circuits(result: ShelfResult) -> dict[str, PartCircuit]:
    """Return the circuits of the usable parts, warm, for the network."""
    return {name: p.circuit for name, p in result.parts.items() if p.usable and p.circuit is not None}


def _same(part: Transformer | Choke | Capacitor | Resistor | Variable) -> object:
    """Return what makes two parts equal: everything but id and place in the file."""
    bare = replace(part, id="", where="")
    if isinstance(bare, Transformer):
        bare = replace(
            bare,
            open_test=tuple(replace(t, where="") for t in bare.open_test),
            short_test=tuple(replace(t, where="") for t in bare.short_test),
            low_voltage_test=tuple(replace(t, where="") for t in bare.low_voltage_test),
        )
    elif isinstance(bare, Choke):
        bare = replace(bare, test=tuple(replace(t, where="") for t in bare.test))
    return repr(bare)


def _for(id: str, where: str, result: PartResult) -> PartResult:
    """Return the result of an equal part under another id, its findings at the other part's place."""
    if result.id == id:
        return result
    old = result.id
    notes = tuple(
        replace(n, where=where + n.where[n.where.index("]") + 1 :] if "]" in n.where else n.where.replace(old, id))
        for n in result.readings
    )
    return replace(result, id=id, readings=notes)


def _study(
    part: Transformer | Choke | Capacitor | Resistor | Variable,
    instruments: dict[str, Instrument],
    mains: float,
    frequency: float,
) -> PartResult:
    if isinstance(part, Transformer):
        return _transformer(part, study_transformer(part, instruments, mains, frequency))
    if isinstance(part, Choke):
        return _choke(part, instruments, mains, frequency)
    if isinstance(part, Capacitor):
        return _simple(part.id, part.kind or part.use or "capacitor", study_capacitor(part, frequency))
    if isinstance(part, Resistor):
        return _simple(part.id, "resistor", study_resistor(part))
    return _simple(part.id, "variable", study_variable(part))


def _estimate(q: Quantity) -> Estimate:
    return Estimate(q.value, q.low, q.high, q.mark, q.unit, q.basis)


def _note(f: Finding) -> ReadingNote:
    return ReadingNote(f.code, f.grade, f.where, f.message, f.hint)


def _transformer(part: Transformer, study: TransformerStudy) -> PartResult:
    return PartResult(
        part.id,
        part.kind,
        {k: _estimate(q) for k, q in study.values.items()},
        tuple(_note(f) for f in study.findings),
        study.usable,
        study.circuit if study.usable else None,
        study.why_not,
        study.spread if study.usable else (),
    )


def _choke(part: Choke, instruments: dict[str, Instrument], mains: float, frequency: float) -> PartResult:
    fit = fit_choke(part, instruments, frequency)
    if fit is None:
        return PartResult(
            part.id,
            "choke",
            {},
            (),
            usable=False,
            why_not="neither a test, nor a lamp, nor a current is written, so its reactance is not known",
        )
    if not fit.solved.converged:
        return PartResult(
            part.id, "choke", {}, (), usable=False, why_not="no circuit was found that its readings agree with"
        )
    units = {"inductance": "H", "impedance": "ohm", "rated_voltage": "V", "mains_current": "A", "resistance": "ohm"}
    values = {}
    for name, (value, low, high) in choke_bands(fit, part, mains).items():
        source = fit.sources["resistance" if name == "resistance" else "inductance"]
        values[name] = Estimate(value, low, high, source.mark, units[name], source.basis)
    return PartResult(
        part.id, "choke", values, (), usable=True, circuit=fit.circuit, spread=moved_choke(fit, part.gap_ratio)
    )


def _simple(id: str, kind: str, study: SimpleStudy) -> PartResult:
    return PartResult(
        id,
        kind,
        {k: _estimate(q) for k, q in study.values.items()},
        tuple(_note(f) for f in study.findings),
        usable=True,
        circuit=study.circuit,
    )
