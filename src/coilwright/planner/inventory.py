"""What the shelf offers a supply: units, ballast elements, front ends and correction capacitors, sorted into classes.

Everything that follows depends on what a part *is*, never on its id or its place in the file: parts are ordered by
their electrical data, and parts whose data fall into the same 5 % bins are one class. Ids are used for names alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite, log, sqrt
from typing import Literal, TypeVar

from coilwright.magnetics.iron import Iron
from coilwright.model.known import Mark
from coilwright.supply.circuits import (
    CapacitorCircuit,
    ChokeCircuit,
    PartCircuit,
    ResistorCircuit,
    TransformerCircuit,
    VariableCircuit,
)

#: Two figures in the same bin of this relative width count as equal.
BIN = 0.05
#: Kinds whose own magnetic shunts limit the current.
SELF_LIMITING = ("sign", "ignition")
#: Kinds whose high winding is a high-voltage one.
HIGH_KINDS = ("oven", "sign", "ignition", "measuring", "distribution", "wound")


@dataclass(frozen=True)
class Insulation:
    """What the insulation of a transformer is counted on for [V rms], with how it is known."""

    primary_to_core: float
    start_to_core: float
    finish_to_core: float
    high_to_primary: float
    marks: Mapping[str, Mark] = field(
        default_factory=dict
    )  # primary_to_core | start_to_core | finish_to_core | high_to_primary

    def proved(self, what: str) -> bool:
        """Return whether that limit is stamped by a proof test."""
        return self.marks.get(what) == "stamped"


@dataclass(frozen=True)
class Unit:
    """One usable transformer. Volts and amperes rms; ``rated_current`` is on the primary; ``open_volts`` is at plate
    primary volts.
    """

    instance: str
    id: str
    kind: str
    circuit: TransformerCircuit
    plate_primary: float
    plate_frequency: float
    rated_current: float
    insulation: Insulation
    lifted: Insulation | None = None  # with the tied end off the core
    liftable: str = "unknown"
    shunts: str = "as built"
    price: float = 0.0
    key: tuple[object, ...] = ()

    @property
    def tied(self) -> str:
        """Return which high-voltage end is on the core: start, finish, tap or none."""
        return self.circuit.tied

    @property
    def open_volts(self) -> float:
        """Return the open volts at plate primary volts, leakage over magnetising counted [V rms]."""
        c = self.circuit
        limb = c.secondary_limb.inductance
        return c.ratio * self.plate_primary * limb / (limb + c.leakage_inductance)

    @property
    def limits_itself(self) -> bool:
        """Return whether shunts as built limit its current."""
        return self.kind in SELF_LIMITING and self.shunts not in {"removed", "changed"}

    @property
    def earthed_end(self) -> str:
        """Return which end stands on the core when it is wired plainly: the tied one, else the inner one."""
        if self.tied in {"start", "finish"}:
            return self.tied
        return "start" if self.insulation.start_to_core < self.insulation.finish_to_core else "finish"


ElementKind = Literal["choke", "spare", "resistor"]


@dataclass(frozen=True)
class Element:
    """One thing that can limit a current: a choke, a resistor, or a spare transformer's primary with its high winding
    shorted.
    """

    instance: str
    id: str
    kind: ElementKind
    circuit: ChokeCircuit | ResistorCircuit | TransformerCircuit
    rated_current: float
    price: float = 0.0
    key: tuple[object, ...] = ()


@dataclass(frozen=True)
class Corrector:
    """A capacitor fit for standing across the mains."""

    instance: str
    id: str
    capacitance: float
    price: float = 0.0


@dataclass(frozen=True)
class Regulator:
    """A variable transformer. ``rated_current`` of its brush [A], infinite where nobody knows."""

    instance: str
    id: str
    circuit: VariableCircuit
    rated_current: float
    price: float = 0.0


@dataclass(frozen=True)
class Unusable:
    """A part that takes no place in any supply: ``code`` groups it, ``why`` says it in words."""

    id: str
    code: str
    why: str


@dataclass(frozen=True)
class Inventory:
    """The shelf as the planner sees it. ``unit_classes`` and ``element_classes`` list members of each class, best
    known order.
    """

    unit_classes: tuple[tuple[Unit, ...], ...]
    element_classes: tuple[tuple[Element, ...], ...]
    separators: tuple[Unit, ...]
    regulators: tuple[Regulator, ...]
    correctors: tuple[Corrector, ...]
    unusable: tuple[Unusable, ...]
    circuits: Mapping[str, PartCircuit]
    spare_class: tuple[int, ...] = ()  # unit class -> element class of the same transformers used as chokes

    @property
    def units(self) -> tuple[Unit, ...]:
        """Return every usable transformer with a high-voltage winding."""
        return tuple(u for members in self.unit_classes for u in members)


def bin_of(value: float) -> int | None:
    """Return the number of the 5 % bin a figure falls into; None for 0."""
    return round(log(abs(value)) / log(1 + BIN)) if value and isfinite(value) else None


def instances(id: str, count: int) -> tuple[str, ...]:
    """Return the names of a part's instances: its id, or ``id.1``, ``id.2`` ... where there are several."""
    return (id,) if count <= 1 else tuple(f"{id}.{k}" for k in range(1, count + 1))


def _iron(i: Iron | None) -> tuple[float, ...]:
    return () if i is None else (i.inductance, i.knee_flux, i.knee_current, i.exponent)


def fingerprint(circuit: PartCircuit) -> tuple[float, ...]:
    """Return the numbers of a circuit in a fixed order: what orders parts without looking at their ids."""
    if isinstance(circuit, TransformerCircuit):
        return (
            circuit.ratio,
            circuit.primary_resistance,
            circuit.secondary_resistance,
            circuit.air_leakage,
            circuit.core_loss_resistance,
            *_iron(circuit.primary_limb),
            *_iron(circuit.secondary_limb),
            *_iron(circuit.shunt),
        )
    if isinstance(circuit, ChokeCircuit):
        return (circuit.inductance, circuit.resistance, *_iron(circuit.iron), circuit.loss_resistance or 0.0)
    if isinstance(circuit, ResistorCircuit):
        return (circuit.resistance,)
    if isinstance(circuit, CapacitorCircuit):
        return (circuit.capacitance, circuit.series_resistance)
    return (circuit.setting, circuit.resistance, circuit.inductance)


def unit_key(u: Unit, wanted: bool) -> tuple[object, ...]:
    """Return what makes two transformers interchangeable: kind, ties, and 5 % bins of volts, ratio, leakage and
    resistance.
    """
    c = u.circuit
    resistance = c.primary_resistance + c.secondary_resistance / c.ratio**2
    insulation = u.insulation
    limits = (
        insulation.primary_to_core,
        insulation.start_to_core,
        insulation.finish_to_core,
        insulation.high_to_primary,
    )
    return (
        u.kind,
        u.tied,
        u.liftable,
        u.limits_itself,
        wanted,
        bin_of(u.plate_primary),
        bin_of(u.plate_frequency),
        bin_of(c.ratio),
        bin_of(c.leakage_inductance),
        bin_of(resistance),
        bin_of(c.magnetising_inductance),
        bin_of(u.rated_current),
        tuple(map(bin_of, limits)),
        tuple(sorted(k for k, m in insulation.marks.items() if m == "stamped")),
    )


def element_key(e: Element, wanted: bool) -> tuple[object, ...]:
    """Return what makes two ballast elements interchangeable."""
    if isinstance(e.circuit, ChokeCircuit):
        c = e.circuit
        return (
            "choke",
            wanted,
            bin_of(c.inductance),
            bin_of(c.resistance),
            bin_of(c.iron.knee_flux),
            bin_of(e.rated_current),
        )
    if isinstance(e.circuit, ResistorCircuit):
        return ("resistor", wanted, bin_of(e.circuit.resistance), bin_of(e.rated_current))
    return ("spare", *e.key)


def rated_choke_current(c: ChokeCircuit, frequency: float) -> float:
    """Return the rms current at which a choke's iron reaches 0.8 of its knee flux: a rating where the plate has none
    (assumption).
    """
    flux = 0.8 * c.iron.knee_flux
    return float(c.iron.current(flux)) / sqrt(2) if frequency > 0 else 0.0


Member = TypeVar("Member", Unit, Element)


def classes_of(members: Iterable[Member]) -> tuple[tuple[Member, ...], ...]:
    """Return the members by class. Cheapest first within a class, then by their data; ids only part what is equal in
    all.
    """
    groups: dict[tuple[object, ...], list[Member]] = {}
    for m in members:
        groups.setdefault(m.key, []).append(m)
    for group in groups.values():
        group.sort(key=lambda m: (m.price, fingerprint(m.circuit), natural(m.instance)))
    ordered = sorted(groups.values(), key=lambda g: (fingerprint(g[0].circuit), g[0].rated_current, repr(g[0].key)))
    return tuple(tuple(g) for g in ordered)


def natural(text: str) -> tuple[object, ...]:
    """Return a sort key under which T2 comes before T10.

    >>> sorted(["T10", "T2"], key=natural)
    ['T2', 'T10']
    """
    out: list[object] = []
    digits = ""
    for ch in text + "\0":
        if ch.isdigit():
            digits += ch
            continue
        if digits:
            out.append((0, int(digits), ""))
            digits = ""
        out.append((1, 0, ch))
    return tuple(out)


def make_inventory(
    units: Sequence[Unit],
    elements: Sequence[Element],
    *,
    separators: Sequence[Unit] = (),
    regulators: Sequence[Regulator] = (),
    correctors: Sequence[Corrector] = (),
    unusable: Sequence[Unusable] = (),
    circuits: Mapping[str, PartCircuit] | None = None,
) -> Inventory:
    """Return the inventory of units and elements whose keys are set; spare transformers are added to the elements."""
    spares = [Element(u.instance, u.id, "spare", u.circuit, u.rated_current, u.price, ("spare", *u.key)) for u in units]
    unit_classes, element_classes = classes_of(units), classes_of([*elements, *spares])
    place = {g[0].key: k for k, g in enumerate(element_classes)}
    spare_class = tuple(place["spare", *g[0].key] for g in unit_classes)
    known: dict[str, PartCircuit] = {u.instance: u.circuit for u in (*units, *separators)}
    known |= {e.instance: e.circuit for e in elements} | {r.instance: r.circuit for r in regulators}
    known.update(circuits or {})
    return Inventory(
        unit_classes,
        element_classes,
        tuple(sorted(separators, key=lambda u: fingerprint(u.circuit))),
        tuple(sorted(regulators, key=lambda r: fingerprint(r.circuit))),
        tuple(sorted(correctors, key=lambda c: (c.capacitance, c.price, natural(c.instance)))),
        tuple(unusable),
        known,
        spare_class,
    )


def with_more(inventory: Inventory, *, units: Sequence[Unit] = (), elements: Sequence[Element] = ()) -> Inventory:
    """Return the inventory with further parts on the shelf."""
    kept = [e for members in inventory.element_classes for e in members if e.kind != "spare"]
    return make_inventory(
        [*inventory.units, *units],
        [*kept, *elements],
        separators=inventory.separators,
        regulators=inventory.regulators,
        correctors=inventory.correctors,
        unusable=inventory.unusable,
        circuits=inventory.circuits,
    )
