"""From an arrangement and the circuits of its parts to one network of primitive elements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import cos, pi, sin, sqrt

from coilwright.model.design import Arrangement
from coilwright.model.site import Site
from coilwright.supply.circuits import (
    CapacitorCircuit,
    ChokeCircuit,
    MainsCircuit,
    PartCircuit,
    ResistorCircuit,
    TransformerCircuit,
    VariableCircuit,
)
from coilwright.supply.network import (
    EARTH,
    Branch,
    Capacitance,
    Conductance,
    Network,
    Port,
    Source,
    Winding,
)

#: Contact of a tied end with its core [ohm]: small against every winding, large enough to keep the equations well
#: scaled.
TIE_RESISTANCE = 1e-3
#: Least leakage inductance [H]: keeps the two limbs apart when a fit drives the leakage to nothing.
LEAST_LEAKAGE = 1e-7


def part_of(terminal: str) -> tuple[str, str]:
    """Split ``C3.1.a`` into the instance ``C3.1`` and the terminal ``a``."""
    instance, _, name = terminal.rpartition(".")
    return instance, name


def circuit_of(instance: str, circuits: Mapping[str, PartCircuit]) -> PartCircuit:
    """Return the circuit of an instance; ``C3.1`` is an instance of the part ``C3``."""
    if instance in circuits:
        return circuits[instance]
    return circuits[instance.rpartition(".")[0]]


def mains_circuit(site: Site) -> MainsCircuit:
    """Return the mains of a site. Line-to-line volts for split phase (180 degrees) and two phases (120 degrees)."""
    volts = site.mains_voltage.value
    if site.system.value == "split phase":
        poles = {"line": (volts / 2, 0.0), "line_2": (volts / 2, pi), "neutral": (0.0, 0.0)}
    elif site.system.value == "two phases":
        phase_volts = volts / sqrt(3)
        poles = {"line": (phase_volts, 0.0), "line_2": (phase_volts, 2 * pi / 3), "neutral": (0.0, 0.0)}
    else:
        poles = {"line": (volts, 0.0), "neutral": (0.0, 0.0)}
    star, local = {"TN": (0.01, 0.2), "TT": (2.0, 30.0), "IT": (1e5, 30.0)}.get(site.earthing.value, (0.01, 0.2))
    return MainsCircuit(
        site.frequency.value, poles, site.mains_resistance.value, site.mains_inductance.value, star, local
    )


@dataclass
class _Builder:
    """Collects elements; ``node`` gives the node on which a terminal lies."""

    joint_of: Mapping[str, str]
    branches: list[Branch] = field(default_factory=list)
    conductances: list[Conductance] = field(default_factory=list)
    capacitances: list[Capacitance] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    windings: list[Winding] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)

    def node(self, terminal: str) -> str:
        return self.joint_of.get(terminal, terminal)

    def transformer(self, name: str, t: TransformerCircuit, reversed_: frozenset[str], lifted: bool) -> None:
        p1, p2 = self._ends(f"{name}.primary", reversed_)
        h1, h2 = self._ends(f"{name}.high", reversed_)
        core = self.node(f"{name}.core")
        limb_p = f"{name}:primary limb"
        self.windings.append(Winding(f"{name}.primary", p1, p2, limb_p, EARTH, 1.0, t.primary_resistance))
        self._limb(f"{name}:primary", limb_p, t, 1.0)
        halves = 2 if t.tapped else 1
        tap = self.node(f"{name}.high_tap")
        joints = [(h1, tap), (tap, h2)] if t.tapped else [(h1, h2)]
        for k, (a, b) in enumerate(joints, start=1):
            suffix = f" {k}" if t.tapped else ""
            limb = f"{name}:secondary limb{suffix}"
            self._leakage(f"{name}{suffix}", limb_p, limb, t, float(halves))
            self._limb(f"{name}:secondary{suffix}", limb, t, float(halves))
            self.windings.append(
                Winding(f"{name}.high{suffix}", a, b, limb, EARTH, t.ratio / halves, t.secondary_resistance / halves)
            )
        if f"{name}.heater_start" in self.joint_of or f"{name}.heater_finish" in self.joint_of:
            a, b = self._ends(f"{name}.heater", reversed_)
            limb = f"{name}:secondary limb" + (" 1" if t.tapped else "")
            self.windings.append(Winding(f"{name}.heater", a, b, limb, EARTH, t.heater_ratio or 0.0145, 5e-3))
            self.capacitances += [Capacitance(f"{name}:heater {k}", n, core, 0.1e-9) for k, n in enumerate((a, b))]
        if t.tied != "none" and not lifted:
            tied = {"start": self.node(f"{name}.high_start"), "finish": self.node(f"{name}.high_finish"), "tap": tap}[
                t.tied
            ]
            if tied != core:
                self.branches.append(Branch(f"{name}:tie", tied, core, TIE_RESISTANCE))
        self._stray(name, t, core, (p1, p2), (h1, h2))

    def _ends(self, winding: str, reversed_: frozenset[str]) -> tuple[str, str]:
        start, finish = self.node(f"{winding}_start"), self.node(f"{winding}_finish")
        return (finish, start) if winding in reversed_ else (start, finish)

    def _limb(self, name: str, node: str, t: TransformerCircuit, impedance: float) -> None:
        iron = t.primary_limb if ":primary" in name else t.secondary_limb.scaled(impedance)
        self.ports.append(Port(f"{name} iron", node, EARTH, iron))
        self.conductances.append(Conductance(f"{name} loss", node, EARTH, 2 * impedance * t.core_loss_resistance))

    def _leakage(self, name: str, p: str, s: str, t: TransformerCircuit, impedance: float) -> None:
        air = max(t.air_leakage, LEAST_LEAKAGE) * impedance
        if t.shunt is None:
            self.branches.append(Branch(f"{name}:leakage", p, s, 0.0, air))
            return
        middle = f"{name}:leakage"
        self.branches.append(Branch(f"{name}:leakage", p, middle, 0.0, air))
        self.ports.append(Port(f"{name}:shunt", middle, s, t.shunt.scaled(impedance)))

    def _stray(
        self, name: str, t: TransformerCircuit, core: str, primary: tuple[str, str], high: tuple[str, str]
    ) -> None:
        pairs = [
            ("high to core", high, (core, core), t.high_to_core),
            ("primary to core", primary, (core, core), t.primary_to_core),
            ("high to primary", high, primary, t.high_to_primary),
        ]
        for what, side, other, total in pairs:
            for k in (0, 1):
                if side[k] != other[k]:
                    self.capacitances.append(Capacitance(f"{name}:{what} {k + 1}", side[k], other[k], total / 2))

    def choke(self, name: str, c: ChokeCircuit) -> None:
        inner = f"{name}:iron"
        self.branches.append(Branch(name, self.node(f"{name}.a"), inner, c.resistance, c.air_inductance))
        self.ports.append(Port(f"{name}:iron", inner, self.node(f"{name}.b"), c.iron))
        if c.loss_resistance is not None:
            self.conductances.append(Conductance(f"{name}:loss", inner, self.node(f"{name}.b"), c.loss_resistance))

    def capacitor(self, name: str, c: CapacitorCircuit) -> None:
        a, b = self.node(f"{name}.a"), self.node(f"{name}.b")
        inner = f"{name}:plate"
        self.branches.append(Branch(name, a, inner, c.series_resistance))
        self.capacitances.append(Capacitance(f"{name}:capacitance", inner, b, c.capacitance))
        if c.bleeder:
            self.conductances.append(Conductance(f"{name}:bleeder", a, b, c.bleeder))

    def variable(self, name: str, v: VariableCircuit) -> None:
        line, common, wiper = (self.node(f"{name}.{t}") for t in ("line", "common", "wiper"))
        self.windings.append(Winding(name, wiper, common, line, common, v.setting, v.resistance, v.inductance))

    def filter(self, output: tuple[str, str], farads: float) -> None:
        earth = self.joint_of.get("mains.earth", EARTH)
        self.capacitances += [Capacitance(f"filter {j}", j, earth, farads) for j in output if j != earth]

    def mains(self, mains: MainsCircuit, used: frozenset[str]) -> None:
        self.conductances.append(Conductance("mains:star", "mains:star", EARTH, mains.star_to_earth))
        for pole, (rms, phase) in mains.poles.items():
            if f"mains.{pole}" in used:
                peak = sqrt(2) * rms * complex(cos(phase), sin(phase))
                self.sources.append(
                    Source(
                        f"mains.{pole}",
                        self.node(f"mains.{pole}"),
                        "mains:star",
                        peak,
                        mains.resistance / 2,
                        mains.inductance / 2,
                    )
                )
        if "mains.earth" in used:
            self.branches.append(Branch("mains.earth", self.node("mains.earth"), EARTH, mains.earth_resistance))


def build(
    arrangement: Arrangement,
    circuits: Mapping[str, PartCircuit],
    mains: MainsCircuit,
    *,
    without: frozenset[str] = frozenset(),
    filter_capacitance: float = 0.0,
) -> Network:
    """Return the network of an arrangement.

    ``without`` names instances that are left out although they are wired (a correction capacitor failed open).
    ``filter_capacitance`` [F] stands from each output joint off earth to the joint of the protective conductor: the
    filter of each leg. Its resistor, small against its capacitor at mains harmonics, is left out.
    Terminals in no joint hang free. A part none of whose terminals is in a joint is not in the network.
    """
    joint_of = {terminal: joint for joint, terminals in arrangement.joints.items() for terminal in terminals}
    made = _Builder(joint_of)
    made.mains(mains, frozenset(t for t in joint_of if t.startswith("mains.")))
    reversed_ = frozenset(arrangement.reversed)
    instances = dict.fromkeys(part_of(t)[0] for t in joint_of if not t.startswith("mains."))
    for name in instances:
        if name in without:
            continue
        circuit = circuit_of(name, circuits)
        if isinstance(circuit, TransformerCircuit):
            made.transformer(name, circuit, reversed_, name in arrangement.lifted)
        elif isinstance(circuit, ChokeCircuit):
            made.choke(name, circuit)
        elif isinstance(circuit, CapacitorCircuit):
            made.capacitor(name, circuit)
        elif isinstance(circuit, ResistorCircuit):
            made.branches.append(Branch(name, made.node(f"{name}.a"), made.node(f"{name}.b"), circuit.resistance))
        else:
            made.variable(name, circuit)
    if filter_capacitance > 0:
        made.filter(arrangement.output, filter_capacitance)
    return Network(
        mains.frequency,
        tuple(made.branches),
        tuple(made.conductances),
        tuple(made.capacitances),
        tuple(made.sources),
        tuple(made.windings),
        tuple(made.ports),
        arrangement.output,
    )
