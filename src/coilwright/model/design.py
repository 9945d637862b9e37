"""A Design: everything that one project file says, frozen and in SI units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from coilwright.model.known import Known
from coilwright.model.machine import Answer, Coil, Earth, Gap, Protection, Reading, RefusedReading, Tank, TopLoad
from coilwright.model.parts import (
    Capacitor,
    Choke,
    Former,
    Instrument,
    Resistor,
    Transformer,
    Variable,
    Wire,
)
from coilwright.model.site import Goal, Site


@dataclass(frozen=True)
class Arrangement:
    """One way of interconnecting the parts: joints (sets of terminals), and what is crossed or lifted.

    Terminals are written ``PART.terminal``; a part with ``count`` above one is ``PART.index.terminal`` (index from
    1). ``reversed`` holds winding names (``T1.primary``, ``T1.high``, ``T1.heater``); ``lifted`` holds transformer
    ids. ``output`` names the two joints between which the tank will sit. ``shorted`` holds high windings whose two
    ends share a joint on purpose (``T3.high``), which makes the primary a choke.
    """

    name: str
    joints: Mapping[str, tuple[str, ...]]
    output: tuple[str, str]
    reversed: tuple[str, ...] = ()
    lifted: tuple[str, ...] = ()
    where: str = ""
    shorted: tuple[str, ...] = ()


@dataclass(frozen=True)
class Design:
    """One project. ``lines`` maps key paths to lines of the file (empty for a design made in memory)."""

    name: str
    site: Site
    goal: Goal = Goal()
    notes: str = ""
    instruments: tuple[Instrument, ...] = ()
    transformers: tuple[Transformer, ...] = ()
    chokes: tuple[Choke, ...] = ()
    capacitors: tuple[Capacitor, ...] = ()
    resistors: tuple[Resistor, ...] = ()
    variables: tuple[Variable, ...] = ()
    wires: tuple[Wire, ...] = ()
    formers: tuple[Former, ...] = ()
    tops: tuple[TopLoad, ...] = ()
    arrangements: tuple[Arrangement, ...] = ()
    use_arrangement: str | None = None
    tank: Tank | None = None
    gap: Gap | None = None
    coil: Coil = Coil()
    earth: Earth | None = None
    protection: Protection | None = None
    answers: tuple[Answer, ...] = ()
    readings: tuple[Reading, ...] = ()
    refused_readings: tuple[RefusedReading, ...] = ()
    path: str | None = None
    digest: str = ""
    lines: Mapping[str, int] = field(default_factory=dict)

    def chosen(self) -> Arrangement | None:
        """Return the arrangement that [supply] uses, the only one there is, or None."""
        if self.use_arrangement is None:
            return self.arrangements[0] if len(self.arrangements) == 1 else None
        return next((a for a in self.arrangements if a.name == self.use_arrangement), None)

    def shelf(self) -> Iterator[Transformer | Choke | Capacitor | Resistor | Variable]:
        """Yield every part that can take a place in the supply, in the order of the file's sections."""
        yield from self.transformers
        yield from self.chokes
        yield from self.capacitors
        yield from self.resistors
        yield from self.variables

    def instrument(self, id: str | None) -> Instrument | None:
        """Return the instrument of that id, or None."""
        return next((i for i in self.instruments if i.id == id), None)

    def line_of(self, where: str) -> int | None:
        """Return the line of the key path, or of the nearest enclosing key that has one."""
        while where:
            if where in self.lines:
                return self.lines[where]
            cut = max(where.rfind("."), where.rfind("["))
            if cut <= 0:
                return None
            where = where[:cut]
        return None


__all__ = ["Answer", "Arrangement", "Coil", "Design", "Known"]
