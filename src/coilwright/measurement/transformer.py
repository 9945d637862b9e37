"""One transformer of the shelf: readings checked, circuit fitted, quantities with bands and marks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from coilwright.measurement.checks import check_readings
from coilwright.measurement.findings import GRADES, Finding, say
from coilwright.measurement.identify import CONTRADICTORY, Fit, bands, fit, misfit, moved
from coilwright.measurement.outliers import find_outliers, furthest_off
from coilwright.measurement.parameters import Prior, circuit, prior_of
from coilwright.measurement.readings import Bench, above_rating, bench_of, mark_of, ratio_is_read
from coilwright.model.known import Estimate, Mark, weakest
from coilwright.model.parts import Instrument, LowVoltageTest, OpenTest, ShortTest, Stamp, Transformer
from coilwright.supply.circuits import TransformerCircuit

UNITS = {
    "open_voltage": "V",
    "open_current": "A",
    "open_power": "W",
    "short_current": "A",
    "short_primary_current": "A",
    "short_power": "W",
    "ratio": "1",
    "leakage_inductance": "H",
    "magnetising_inductance": "H",
    "core_loss_resistance": "ohm",
    "primary_resistance": "ohm",
    "secondary_resistance": "ohm",
}

NO_CIRCUIT = "no circuit was found"


@dataclass(frozen=True)
class TransformerStudy:
    """What one transformer really is. ``fit`` is None for a kind that has no circuit at mains frequency."""

    values: Mapping[str, Estimate]
    findings: tuple[Finding, ...]
    usable: bool
    circuit: TransformerCircuit | None
    why_not: str
    fit: Fit | None = None
    spread: tuple[TransformerCircuit, ...] = ()


def study_transformer(
    part: Transformer, instruments: Mapping[str, Instrument], mains_voltage: float, frequency: float
) -> TransformerStudy:
    """Return the study of a transformer; readings that cannot be true are left out of the fit and make the part
    unusable.
    """
    refused = above_rating(part, instruments)
    findings = [*refused.values(), *check_readings(part)]
    stopped = frozenset(f.where for f in findings if f.grade == "STOP" or f.code == "swapped-windings")
    prior = prior_of(_without_resistances(part, stopped), mains_voltage, frequency)
    bench = bench_of(part, instruments, frequency, stopped)
    result = fit(prior, bench)
    if result.solved.converged:
        result, outliers = find_outliers(part, result)
        if misfit(result) > CONTRADICTORY * len(result.bench.observations):
            outliers = (*outliers, *furthest_off(prior, result.bench))
        findings = merged(findings, outliers)
    if not result.solved.converged:
        findings += furthest_off(prior, bench)
        why = f"{NO_CIRCUIT} that its readings agree with; the numbers are not shown"
        return TransformerStudy({}, tuple(findings), usable=False, circuit=None, why_not=why, fit=result)
    raw = bands(result, mains_voltage, frequency)
    findings += plate_findings(part, result, raw, mains_voltage, frequency)
    findings += _meter_notes(bench)
    values = {name: _quantity(part, prior, bench, name, raw[name]) for name in UNITS}
    why_not = _why_not(part, findings)
    return TransformerStudy(
        values,
        tuple(findings),
        not why_not,
        circuit(result.theta, prior, result.exponent),
        why_not,
        result,
        moved(result),
    )


def _without_resistances(part: Transformer, stopped: frozenset[str]) -> Transformer:
    """Return the part without the winding resistances that cannot be true."""
    base = part.where or part.id
    if f"{base}.primary_resistance" in stopped:
        part = replace(part, primary_resistance=None)
    if f"{base}.secondary_resistance" in stopped:
        part = replace(part, secondary_resistance=None)
    if f"{base}.secondary_resistance_halves" in stopped:
        part = replace(part, secondary_resistance_halves=None)
    return part


#: Doubts from two tests at a time; where the fit names the culprit, it sees further than they do.
SHAPES = ("iron-shape", "leakage-shape", "stray-loss", "ratio-low-voltage", "resistance-ratio")


def merged(findings: Sequence[Finding], outliers: Sequence[Finding]) -> list[Finding]:
    """Return the findings with the outliers of the fit: each place once, shapes only where the fit names none."""
    places = {o.where for o in outliers}
    kept = [f for f in findings if not (outliers and f.code in SHAPES and f.where not in places)]
    out: dict[tuple[str, bool], Finding] = {}
    for finding in sorted((*kept, *outliers), key=lambda f: GRADES.index(f.grade)):
        doubt = finding.grade != "NOTE"
        out.setdefault((finding.where, True) if doubt else (f"{finding.where} {finding.code}", False), finding)
    return list(out.values())


def _why_not(part: Transformer, findings: list[Finding]) -> str:
    if part.kind == "electronic":
        return (
            "an electronic supply works at high frequency behind a rectifier; it is no mains transformer and takes no "
            "place here"
        )
    # A reading that its meter could not take is left out; the others may still be true.
    stops = [f for f in findings if f.grade == "STOP" and f.code != "test-above-meter"]
    if stops:
        return f"{stops[0].where}: {stops[0].message} Correct the reading first."
    return ""


def _quantity(part: Transformer, prior: Prior, bench: Bench, name: str, band: tuple[float, float, float]) -> Estimate:
    mark, basis = _basis(part, prior, bench, name)
    return Estimate(band[0], band[1], band[2], mark, UNITS[name], basis)


def _basis(part: Transformer, prior: Prior, bench: Bench, name: str) -> tuple[Mark, str]:
    """Return the mark and basis of a quantity: the weakest of what it rests on."""
    if name in {"primary_resistance", "secondary_resistance"}:
        source = prior.sources.get(name)
        return (source.mark, source.basis) if source else ("pencil", f"usual of kind {part.kind!r}")
    ratio = _tests(part, bench, {"fed low", "fed high"}, {"read"}) or _tests(part, bench, {"open"}, {"secondary"})
    opens = _tests(part, bench, {"open"}, {"current"})
    shorts = _tests(part, bench, {"short"}, {"current"})
    plate = prior.sources["secondary_voltage"]
    by_ratio = (ratio[0], ratio[1]) if ratio else (plate.mark, plate.basis)
    if name in {"ratio", "open_voltage"}:
        return by_ratio
    if name in {"open_current", "open_power", "magnetising_inductance", "core_loss_resistance"}:
        return opens or ("pencil", f"usual of kind {part.kind!r}, scaled by its plate")
    if shorts:
        reach = max(
            bench.tests[o.test].applied
            for o in bench.observations
            if bench.tests[o.test].kind == "short" and not o.plate
        )
        if name != "leakage_inductance" and prior.shunted and reach < 0.5 * prior.primary_voltage:
            return "pencil", f"{shorts[1]} up to {say(reach, 'V')}; saturation of the shunts beyond it is assumed"
        return (weakest(shorts[0], by_ratio[0]), shorts[1]) if name == "short_current" else shorts
    if any(o.plate and o.what == "secondary_current" for o in bench.observations) and part.plate_current:
        return part.plate_current.mark, "name plate: open volts and short-circuit current"
    return "pencil", f"usual of kind {part.kind!r}, scaled by its plate"


def _tests(part: Transformer, bench: Bench, kinds: set[str], whats: set[str]) -> tuple[Mark, str] | None:
    seen = [o for o in bench.observations if bench.tests[o.test].kind in kinds and o.what in whats and not o.plate]
    if not seen:
        return None
    paths = {o.where.rpartition(".")[0] for o in seen}
    marks = [mark_of(stamp) for path, stamp in _stamps(part) if path in paths]
    names = sorted({p.rpartition(".")[2].split("[")[0].replace("_", " ") for p in paths})
    return weakest(*marks) if marks else "ink", f"{len(paths)} x {', '.join(names)}"


def _stamps(part: Transformer) -> list[tuple[str, Stamp]]:
    base = part.where or part.id
    tests: tuple[tuple[str, Sequence[OpenTest | ShortTest | LowVoltageTest]], ...] = (
        ("open_test", part.open_test),
        ("short_test", part.short_test),
        ("low_voltage_test", part.low_voltage_test),
    )
    return [(t.where or f"{base}.{key}[{k}]", t.stamp) for key, rows in tests for k, t in enumerate(rows)]


def _meter_notes(bench: Bench) -> list[Finding]:
    places = [o for o in bench.observations if o.what == "current" and bench.tests[o.test].kind == "open"]
    averaging = [o for o in places if o.response == "average"]
    unknown = [o for o in places if o.response is None]
    found = []
    if averaging:
        found.append(
            Finding(
                "average-meter",
                "NOTE",
                averaging[0].where,
                "An average-responding meter shows too little of a peaked no-load current (at rated flux about 0.83 "
                "of the true rms for an oven unit); the fit predicts what such a meter shows.",
                "",
            )
        )
    if unknown:
        found.append(
            Finding(
                "average-meter",
                "NOTE",
                unknown[0].where,
                "Whether this meter responds to the average or to the true rms is not written; the band allows for "
                "both.",
                "Write `response` beside the instrument.",
            )
        )
    return found


def plate_findings(
    part: Transformer,
    result: Fit,
    raw: Mapping[str, tuple[float, float, float]],
    mains_voltage: float,
    frequency: float,
) -> list[Finding]:
    """Return where plate and readings disagree: a note from 4 % on, a caution from 12 % on, beyond both bands."""
    if part.plate_primary is None:
        return []
    base, volts = part.where or part.id, part.plate_primary.value
    plate_frequency = part.plate_frequency.value if part.plate_frequency else frequency
    same = abs(volts / mains_voltage - 1) < 1e-6 and abs(plate_frequency / frequency - 1) < 1e-6
    at_plate = raw if same else bands(result, volts, plate_frequency)
    found = []
    read = ratio_is_read(result.bench.tests, result.bench.observations)
    if part.plate_secondary is not None and read:
        found += _against_plate(
            at_plate["open_voltage"], part.plate_secondary.value, f"{base}.plate_secondary", volts, "open", "V"
        )
    shorted = any(
        o.what in {"current", "secondary_current"}
        and result.bench.tests[o.test].kind == "short"
        and result.bench.tests[o.test].applied > 0.5 * volts
        and not o.plate
        for o in result.bench.observations
    )
    if part.plate_current is not None and shorted:
        found += _against_plate(
            at_plate["short_current"], part.plate_current.value, f"{base}.plate_current", volts, "short", "A"
        )
    return found


def _against_plate(
    band: tuple[float, float, float], plate: float, where: str, volts: float, test: str, unit: str
) -> list[Finding]:
    value, low, high = band
    if abs(value / plate - 1) < 0.04 or low <= plate <= high:
        return []
    what = "open volts" if test == "open" else "short-circuit current"
    message = (
        f"The readings imply {what} of {say(value, unit)} ({say(low, unit)} to {say(high, unit)}) "
        f"at {say(volts, 'V')}, "
        f"the plate says {say(plate, unit)}: {100 * (value / plate - 1):+.0f} %."
    )
    big = (
        test == "open"
        and not 0.88 <= value / plate <= 1.12
        and not 0.88 <= (low if value > plate else high) / plate <= 1.12
    )
    if big:
        return [
            Finding(
                "ratio-plate",
                "CAUTION",
                where,
                message,
                "The readings are used. Is the plate of another part, or is one side of the low-voltage test misread?",
            )
        ]
    return [
        Finding(
            "plate-and-readings-disagree",
            "NOTE",
            where,
            message,
            "The readings are used, neither is bent to the other."
            + (" Each ratio read once more would show a misread one." if test == "open" else ""),
        )
    ]
