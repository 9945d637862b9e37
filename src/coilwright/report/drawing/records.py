"""What the wiring drawing knows of a part, and where it takes it from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.report.quantities import quantity
from coilwright.supply.circuits import PartCircuit, TransformerCircuit

TWO_TERMINAL = frozenset({"choke", "capacitor", "resistor"})
HIGH = ("high_start", "high_tap", "high_finish")


@dataclass(frozen=True)
class WiringPart:
    """One part on the drawing.

    ``kind`` is a transformer kind ("oven", "sign" ...), "choke", "capacitor", "resistor" or "variable"; ``tied`` is the
    end of the high winding that the maker tied to the core (none | start | finish | tap). ``label`` holds the lines
    beside the symbol; the part's id is drawn before the first of them. ``step_up`` is false for a transformer that is
    known to give no more than 1000 V, such as a separating one: its wires are no heavier than the mains'.
    """

    kind: str
    tapped: bool = False
    tied: str = "none"
    label: tuple[str, ...] = ()
    step_up: bool = True

    @property
    def is_transformer(self) -> bool:
        """Return whether the part has a core and windings of its own."""
        return self.kind not in TWO_TERMINAL and self.kind != "variable"


def wiring_parts(design: Design, circuits: Mapping[str, PartCircuit] | None = None) -> dict[str, WiringPart]:
    """Return the record of every part of the shelf that can take a place in the supply, by id.

    A part with a count has one record; its pieces ``C3.1``, ``C3.2`` ... are looked up under ``C3``. Where the file
    does not say which end is tied to the core, the end that ``circuits`` assumes is drawn, and the label says so.
    """
    parts: dict[str, WiringPart] = {}
    for item in design.shelf():
        if isinstance(item, Transformer):
            parts[item.id] = _transformer(item, (circuits or {}).get(item.id))
        elif isinstance(item, Choke):
            parts[item.id] = WiringPart("choke", label=_lines(_join("choke", _value(item.current, "A"))))
        elif isinstance(item, Capacitor):
            rated = f"{_volts(item.rated)} {item.rated_kind or ''}".strip() if item.rated else ""
            parts[item.id] = WiringPart("capacitor", label=_lines(_value(item.value, "F"), rated))
        elif isinstance(item, Resistor):
            rating = _value(item.power, "W")
            parts[item.id] = WiringPart("resistor", label=_lines(_value(item.resistance, "ohm"), rating))
        else:
            parts[item.id] = _variable(item)
    return parts


def piece(parts: Mapping[str, WiringPart], id: str) -> WiringPart | None:
    """Return the record of the part, or of the part of which it is a piece (``C3.1`` is a piece of ``C3``)."""
    if id in parts:
        return parts[id]
    head, dot, index = id.rpartition(".")
    return parts.get(head) if dot and index.isdigit() else None


def _transformer(item: Transformer, circuit: PartCircuit | None) -> WiringPart:
    assumed = circuit if isinstance(circuit, TransformerCircuit) else None
    tied = item.core_end.value if item.core_end else assumed.tied if assumed else "none"
    tapped = tied == "tap" or item.secondary_resistance_halves is not None or (assumed is not None and assumed.tapped)
    volts = " / ".join(v for v in (_volts(item.plate_primary), _volts(item.plate_secondary)) if v)
    rating = _value(item.plate_current, "A") if item.kind == "sign" else _value(item.plate_power, "VA")
    doubt = "" if item.core_end else "tied end assumed" if assumed and tied != "none" else "tied end not known"
    # IEC 60038: high voltage is above 1000 V alternating.
    low = item.plate_secondary is not None and item.plate_secondary.value <= 1000.0
    return WiringPart(item.kind, tapped, tied, _lines(_join(item.kind, rating), volts, doubt), step_up=not low)


def _variable(item: Variable) -> WiringPart:
    setting = f"set to {100 * item.setting.value:.3g} %" if item.setting else ""
    return WiringPart("variable", label=_lines(_join("variable", _value(item.current, "A")), setting))


def _lines(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)


def _join(*words: str) -> str:
    return " ".join(word for word in words if word)


def _value(known: Known[float] | None, unit: str) -> str:
    # As on a plate: 40 uF, not 40.00 uF.
    if known is None:
        return ""
    text, _, name = str(quantity(known.value, unit, digits=4)).partition(" ")
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {name}"


def _volts(known: Known[float] | None) -> str:
    # A plate says 2100 V, and so does the drawing.
    return f"{known.value:.5g} V" if known else ""


__all__ = ["HIGH", "TWO_TERMINAL", "WiringPart", "piece", "wiring_parts"]
