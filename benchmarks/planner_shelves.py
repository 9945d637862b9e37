"""Made-up shelves for benchmarks and tests: circuits of invented parts and the design that goes with them.

No part here exists. Circuits follow the kinds' usual per-unit figures (base impedance V^2 / S), with a seed to
scatter them.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from math import pi, sqrt

from coilwright.analyses.results import PartResult, ShelfResult
from coilwright.magnetics.iron import Iron
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.model.parts import Capacitor, Choke, Resistor, Transformer, Variable
from coilwright.model.site import Air, Breaker, Goal, Room, Site
from coilwright.supply.circuits import (
    CapacitorCircuit,
    ChokeCircuit,
    PartCircuit,
    ResistorCircuit,
    TransformerCircuit,
    VariableCircuit,
)


def known(value: object) -> Known:
    """Return the value in ink."""
    return Known(value)


def site(
    volts: float = 230.0,
    frequency: float = 50.0,
    breaker: float = 16.0,
    curve: str | None = "B",
    system: str = "line and neutral",
) -> Site:
    """Return a site of which everything is known."""
    return Site(
        known(volts),
        known(frequency),
        known(0.35),
        known(0.2e-3),
        known(Breaker(breaker, curve)),
        known(0.03),
        known(system),
        known("TN"),
        known("fixed wiring"),
        known(0.0),
        Air(known(293.15), known(101325.0), known(0.5)),
        Room(),
    )


def shunted(
    ratio: float,
    power: float,
    volts: float,
    frequency: float,
    *,
    leakage: float,
    magnetising: float,
    saturation: float,
    resistance: float,
    shunt_knee: float,
    tied: str,
) -> TransformerCircuit:
    """Return a circuit from per-unit figures."""
    z = volts**2 / power
    w = 2 * pi * frequency
    knee, amps = volts * sqrt(2) / w, sqrt(2) * power / volts
    limb = Iron(2 * z / magnetising / w, knee, 0.5 * saturation * magnetising * amps)
    gap = 0.55 * leakage * z / w
    flux = shunt_knee * knee
    return TransformerCircuit(
        ratio,
        0.5 * resistance * z,
        0.5 * resistance * z * ratio**2,
        limb,
        limb,
        20 * z,
        0.45 * leakage * z / w,
        Iron(gap, flux, 0.5 * flux / gap),
        tapped=tied == "tap",
        tied=tied,
    )


def oven_circuit(ratio: float, power: float, volts: float = 230.0, frequency: float = 50.0) -> TransformerCircuit:
    """Return an oven transformer: weak shunts, saturated iron."""
    return shunted(
        ratio,
        power,
        volts,
        frequency,
        leakage=0.27,
        magnetising=0.2,
        saturation=1.8,
        resistance=0.04,
        shunt_knee=0.5,
        tied="finish",
    )


def sign_circuit(
    ratio: float, power: float, volts: float = 230.0, frequency: float = 50.0, tied: str = "tap"
) -> TransformerCircuit:
    """Return a sign transformer: strong shunts that limit its current."""
    return shunted(
        ratio,
        power,
        volts,
        frequency,
        leakage=0.85,
        magnetising=0.25,
        saturation=0.4,
        resistance=0.16,
        shunt_knee=0.9,
        tied=tied,
    )


def choke_circuit(reactance: float, amperes: float, frequency: float = 50.0) -> ChokeCircuit:
    """Return a lamp choke that has begun to saturate at its rated current."""
    w = 2 * pi * frequency
    inductance = reactance / w
    return ChokeCircuit(
        0.035 * reactance,
        Iron(0.97 * inductance, 1.15 * sqrt(2) * inductance * amperes, 0.25 * amperes),
        0.03 * inductance,
        50 * reactance,
    )


@dataclass
class Shelf:
    """A shelf under construction: the design's parts and their circuits."""

    volts: float = 230.0
    frequency: float = 50.0
    breaker: float = 16.0
    system: str = "line and neutral"
    goal: Goal = field(default_factory=Goal)
    transformers: list[Transformer] = field(default_factory=list)
    chokes: list[Choke] = field(default_factory=list)
    capacitors: list[Capacitor] = field(default_factory=list)
    resistors: list[Resistor] = field(default_factory=list)
    variables: list[Variable] = field(default_factory=list)
    circuits: dict[str, PartCircuit] = field(default_factory=dict)
    unusable: dict[str, str] = field(default_factory=dict)

    def oven(
        self,
        id: str,
        ratio: float,
        power: float,
        volts: float | None = None,
        *,
        liftable: str = "unknown",
        **more: object,
    ) -> Shelf:
        """Add an oven transformer."""
        v = volts or self.volts
        self.circuits[id] = oven_circuit(ratio, power, v, self.frequency)
        self.transformers.append(
            Transformer(
                id,
                "oven",
                known(v),
                known(round(v * ratio / 1.04)),
                known(power),
                core_end=known("finish"),
                core_end_liftable=known(liftable),
                **more,
            )
        )
        return self

    def sign(
        self, id: str, ratio: float, power: float, volts: float | None = None, *, tied: str = "tap", kind: str = "sign"
    ) -> Shelf:
        """Add a sign or ignition transformer."""
        v = volts or self.volts
        self.circuits[id] = sign_circuit(ratio, power, v, self.frequency, tied)
        self.transformers.append(
            Transformer(
                id,
                kind,
                known(v),
                known(round(v * ratio / 1.1)),
                known(power),
                core_end=known(tied),
                core_end_liftable=known("no"),
            )
        )
        return self

    def choke(self, id: str, reactance: float, amperes: float, price: float | None = None) -> Shelf:
        """Add a choke."""
        self.circuits[id] = choke_circuit(reactance, amperes, self.frequency)
        self.chokes.append(Choke(id, current=known(amperes), price=price))
        return self

    def capacitor(self, id: str, farads: float, rated: float = 450.0, kind: str = "AC") -> Shelf:
        """Add a capacitor for power factor correction."""
        self.circuits[id] = CapacitorCircuit(farads)
        self.capacitors.append(Capacitor(id, known(farads), "power factor", None, known(rated), kind))
        return self

    def resistor(self, id: str, ohms: float, watts: float) -> Shelf:
        """Add a resistor."""
        self.circuits[id] = ResistorCircuit(ohms)
        self.resistors.append(Resistor(id, known(ohms), known(watts)))
        return self

    def variable(self, id: str, setting: float, amperes: float) -> Shelf:
        """Add a variable transformer."""
        self.circuits[id] = VariableCircuit(setting)
        self.variables.append(Variable(id, known(self.volts), known(amperes), known(setting)))
        return self

    def design(self) -> Design:
        """Return the design."""
        return Design(
            "made up",
            site(self.volts, self.frequency, self.breaker, system=self.system),
            self.goal,
            transformers=tuple(self.transformers),
            chokes=tuple(self.chokes),
            capacitors=tuple(self.capacitors),
            resistors=tuple(self.resistors),
            variables=tuple(self.variables),
        )

    def result(self) -> ShelfResult:
        """Return the shelf as identification would hand it over."""
        parts = {k: PartResult(k, "", {}, circuit=c) for k, c in self.circuits.items() if k not in self.unusable}
        parts |= {k: PartResult(k, "", {}, usable=False, why_not=why) for k, why in self.unusable.items()}
        return ShelfResult(parts, ())


def goal(power: float | None = 1500.0, low: float | None = 3000.0, high: float | None = 9000.0, **more: object) -> Goal:
    """Return a goal in watts and volts."""
    return Goal(*(None if v is None else known(v) for v in (power, low, high)), **more)


def demonstration() -> Shelf:
    """Return a shelf like that of the demonstration, circuits invented afresh."""
    shelf = Shelf(goal=goal())
    shelf.oven("T1", 9.55, 1000.0).oven("T2", 9.60, 985.0).oven("T3", 10.02, 850.0, liftable="no").sign(
        "S1", 39.3, 400.0
    )
    for name, reactance, amperes in (("B1", 40.0, 4.6), ("B2", 40.1, 4.6), ("B3", 60.5, 3.0), ("B4", 24.5, 8.2)):
        shelf.choke(name, reactance, amperes)
    return shelf.capacitor("C1", 40e-6).capacitor("C2", 20e-6)


def scattered(
    ovens: int,
    chokes: int,
    seed: int,
    *,
    signs: int = 0,
    capacitors: int = 0,
    alike: bool = False,
    volts: float = 230.0,
    frequency: float = 50.0,
    power: float = 1500.0,
    breaker: float = 16.0,
) -> Shelf:
    """Return a shelf of that many parts; ``alike`` draws them from two or three kinds, else every part is unlike
    every other.
    """
    rng = random.Random(seed)
    shelf = Shelf(volts, frequency, breaker, goal=goal(power))
    scale = 230.0 / volts
    for k in range(ovens):
        step = k % 2 if alike else k
        ratio = scale * (9.0 + 0.35 * step if alike else rng.uniform(8.5, 11.0))
        shelf.oven(f"T{k + 1}", ratio, 1000.0 - 150.0 * step if alike else rng.uniform(600.0, 1300.0))
    for k in range(signs):
        shelf.sign(f"S{k + 1}", scale * rng.uniform(25.0, 45.0), rng.uniform(200.0, 500.0))
    for k in range(chokes):
        amperes = (2.0, 3.0, 4.6)[k % 3] if alike else rng.uniform(1.5, 8.5)
        shelf.choke(
            f"B{k + 1}",
            rng.uniform(0.95, 1.05) * 185.0 / scale / amperes if not alike else 185.0 / scale / amperes,
            amperes,
        )
    for k in range(capacitors):
        shelf.capacitor(f"C{k + 1}", (20e-6, 40e-6)[k % 2], rated=450.0)
    return shelf
