"""How well a supply is known: no better than the parts that decide it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from coilwright.analyses.results import PartResult
from coilwright.model.known import Mark, weakest

#: The values of a part that decide what the output shows.
OUTPUT = ("open_voltage", "short_current", "reactance", "resistance", "capacitance")
#: The mains side also carries what magnetises and heats the parts.
MAINS = (*OUTPUT, "open_current", "open_power", "short_primary_current")
#: Key paths of a supply that rest on `OUTPUT` alone; everything else rests on `MAINS`.
OUTPUT_PATHS = ("open_circuit.voltage", "open_circuit.voltage_peak", "short_circuit.current")


def part_of_instance(parts: Mapping[str, PartResult], instance: str) -> PartResult:
    """Return the part of an instance (``C3.1`` is an instance of ``C3``)."""
    return parts[instance] if instance in parts else parts[instance.rpartition(".")[0]]


def output_mark(parts: Mapping[str, PartResult], used: Iterable[str]) -> Mark:
    """Return the weakest mark of what the output of a supply of these instances rests on; pencil where nothing says."""
    return _weakest(parts, used, OUTPUT)


def mains_mark(parts: Mapping[str, PartResult], used: Iterable[str]) -> Mark:
    """Return the weakest mark of what its mains current, power and heat rest on; pencil where nothing says."""
    return _weakest(parts, used, MAINS)


def _weakest(parts: Mapping[str, PartResult], used: Iterable[str], names: tuple[str, ...]) -> Mark:
    found = [part_of_instance(parts, instance).values for instance in used]
    marks = [values[name].mark for values in found for name in names if name in values]
    return weakest(*marks) if marks else "pencil"
