"""Capacitors, resistors and variable transformers: circuits from what is written."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from coilwright.measurement.findings import Finding
from coilwright.model.known import Estimate, Known
from coilwright.model.parts import Capacitor, Resistor, Variable
from coilwright.supply.circuits import CapacitorCircuit, ResistorCircuit, VariableCircuit

#: Tolerances where none is written, 95 % (common practice): capacitors of motors and lamps, resistors.
CAPACITANCE_TOLERANCE = 0.06
RESISTANCE_TOLERANCE = 0.05
#: Loss tangents at mains frequency by dielectric (from memory); the first is for a dielectric that is not known.
LOSS = {
    "unknown": 2e-3,
    "polypropylene": 2e-4,
    "paper": 4e-3,
    "oil": 4e-3,
    "polyester": 4e-3,
    "mica": 3e-4,
    "ceramic": 5e-3,
}
#: A variable transformer of which nothing is written: its own impedance at full setting (assumption).
VARIABLE_RESISTANCE, VARIABLE_INDUCTANCE = 0.3, 0.5e-3


@dataclass(frozen=True)
class SimpleStudy:
    """What a part of one element is."""

    values: dict[str, Estimate]
    findings: tuple[Finding, ...]
    circuit: CapacitorCircuit | ResistorCircuit | VariableCircuit


def quantity(known: Known[float], unit: str, tolerance: float, basis: str = "as written") -> Estimate:
    """Return a written value with its band, or with the tolerance of its kind where it carries none."""
    low = known.low if known.low is not None else known.value * (1 - tolerance)
    high = known.high if known.high is not None else known.value * (1 + tolerance)
    return Estimate(known.value, low, high, known.mark, unit, known.basis or basis)


def study_capacitor(part: Capacitor, frequency: float) -> SimpleStudy:
    """Return a capacitor's circuit; its loss tangent is turned into a series resistance at mains frequency."""
    written = part.dielectric or "unknown"
    tangent = part.loss if part.loss is not None else LOSS.get(written, LOSS["unknown"])
    series = part.esr.value if part.esr else tangent / (2 * pi * frequency * part.value.value)
    values = {"capacitance": quantity(part.value, "F", CAPACITANCE_TOLERANCE)}
    if part.rated is not None:
        values["rated_voltage"] = quantity(part.rated, "V", 0.0)
    values["series_resistance"] = Estimate(
        series,
        series / 3,
        series * 3,
        "ink" if part.loss or part.esr else "pencil",
        "ohm",
        "as written" if part.loss or part.esr else f"usual loss of {written} dielectric",
    )
    findings = []
    where = part.where or part.id
    if part.bleeder is None:
        findings.append(
            Finding(
                "no-bleeder", "NOTE", where, "No bleeder is written: count it as charged until it has been drained.", ""
            )
        )
    return SimpleStudy(
        values,
        tuple(findings),
        CapacitorCircuit(part.value.value, series, part.bleeder.value if part.bleeder else None),
    )


def study_resistor(part: Resistor) -> SimpleStudy:
    """Return a resistor's circuit."""
    values = {"resistance": quantity(part.resistance, "ohm", RESISTANCE_TOLERANCE)}
    if part.power is not None:
        values["rated_power"] = quantity(part.power, "W", 0.0)
    return SimpleStudy(values, (), ResistorCircuit(part.resistance.value))


def study_variable(part: Variable) -> SimpleStudy:
    """Return a variable transformer's circuit at its setting (full where none is written).

    Its series impedance falls with the brush's rated current (assumption: 5 % of volts over amperes, a third of it
    copper).
    """
    setting = part.setting.value if part.setting else 1.0
    resistance, inductance, mark = VARIABLE_RESISTANCE, VARIABLE_INDUCTANCE, "not known, usual of a small one"
    if part.current is not None and part.voltage is not None:
        base = part.voltage.value / part.current.value
        resistance, inductance, mark = 0.015 * base, 0.04 * base / 314.0, "5 % of rated volts over rated amperes"
    values = {
        "setting": Estimate(
            setting,
            setting * 0.98,
            setting * 1.02,
            part.setting.mark if part.setting else "pencil",
            "1",
            "as written" if part.setting else "full setting",
        ),
        "series_resistance": Estimate(resistance, resistance / 2, resistance * 2, "pencil", "ohm", mark),
    }
    if part.current is not None:
        values["rated_current"] = quantity(part.current, "A", 0.0)
    return SimpleStudy(values, (), VariableCircuit(setting, resistance, inductance))
