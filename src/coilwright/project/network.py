"""An arrangement as its checks see it: the pieces on the shelf, and the joint of each terminal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from coilwright.project.checks import Data, Findings, words

TERMINALS: Final[Mapping[str, tuple[str, ...]]] = {
    "transformer": (
        "primary_start",
        "primary_finish",
        "high_start",
        "high_finish",
        "high_tap",
        "heater_start",
        "heater_finish",
        "core",
    ),
    "choke": ("a", "b"),
    "capacitor": ("a", "b"),
    "resistor": ("a", "b"),
    "variable": ("line", "common", "wiper"),
}
WINDINGS: Final = ("primary", "high", "heater")
POLES: Final = ("mains.line", "mains.neutral", "mains.line_2")


@dataclass(frozen=True)
class Unit:
    """One piece of a part: ``T1``, or ``C3.2`` of a part with several."""

    name: str
    kind: str
    table: Data


@dataclass
class Network:
    where: str
    table: Data
    findings: Findings
    units: Mapping[str, Unit]
    split: bool
    #: terminal -> (joint, key path)
    joint_of: dict[str, tuple[str, str]] = field(default_factory=dict)

    def joint(self, terminal: str) -> str | None:
        found = self.joint_of.get(terminal)
        return None if found is None else found[0]

    def path(self, terminal: str) -> str:
        return self.joint_of[terminal][1]

    def names(self, key: str) -> list[str]:
        return [w for _, w in words(self.table, key)]


def tied_to(a: Network, unit: Unit) -> str | None:
    """Return the high terminal that is on the core as the file says, None where it is lifted, none or not said."""
    end = unit.table.get("core_end")
    return (
        f"{unit.name}.high_{end}" if end in {"start", "finish", "tap"} and unit.name not in a.names("lifted") else None
    )
