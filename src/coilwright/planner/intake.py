"""From a design and the circuits of its parts to the planner's inventory, aim and feeds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf, pi, sqrt

import numpy as np

from coilwright.measurement.insulation import InsulationLimits, insulation_limits
from coilwright.measurement.kinds import KINDS
from coilwright.measurement.lamps import lamp_choke
from coilwright.model.design import Design
from coilwright.model.parts import Capacitor, Choke, Transformer, Variable
from coilwright.model.site import Site
from coilwright.planner.inventory import (
    HIGH_KINDS,
    SELF_LIMITING,
    Corrector,
    Element,
    Insulation,
    Inventory,
    Regulator,
    Unit,
    Unusable,
    element_key,
    instances,
    make_inventory,
    rated_choke_current,
    unit_key,
)
from coilwright.planner.score import LEAST_VOLTS, SILENT_SHARE, Aim
from coilwright.planner.stages import Feed
from coilwright.planner.twoport import CURRENTS, Units
from coilwright.protection.rules_supply import CORRECTION_MARGIN, MAINS_TOLERANCE, OLD_CORRECTION_YEAR
from coilwright.supply.circuits import (
    CapacitorCircuit,
    ChokeCircuit,
    PartCircuit,
    ResistorCircuit,
    TransformerCircuit,
    VariableCircuit,
)

#: Correction capacitors that are tried together at most.
CORRECTORS = 6


def take_in(design: Design, circuits: Mapping[str, PartCircuit], why_not: Mapping[str, str]) -> Inventory:
    """Return the inventory of a design.

    ``circuits`` are the identified parts by id; ``why_not`` says in words why a part that has no usable circuit has
    none.
    """
    wanted, avoided = set(design.goal.use), set(design.goal.avoid)
    unusable: list[Unusable] = []
    units: list[Unit] = []
    separators: list[Unit] = []
    elements: list[Element] = []
    correctors: list[Corrector] = []
    regulators: list[Regulator] = []
    for part in design.shelf():
        if part.id in avoided:
            unusable.append(Unusable(part.id, "avoided", "the goal says to avoid it"))
            continue
        circuit = circuits.get(part.id)
        if isinstance(part, Transformer):
            refused = _no_unit(part, circuit, why_not)
            if refused is not None:
                unusable.append(refused)
            elif isinstance(circuit, TransformerCircuit):
                made = _units(part, circuit, design.site, part.id in wanted)
                (separators if part.kind == "isolation" else units).extend(made)
            continue
        if part.id in why_not and circuit is None:
            unusable.append(Unusable(part.id, "unusable", why_not[part.id]))
        elif isinstance(part, Capacitor):
            found = _correctors(part, circuit, design.site)
            correctors += found if isinstance(found, list) else []
            unusable += [found] if isinstance(found, Unusable) else []
        elif isinstance(part, Variable):
            at_setting = circuit if isinstance(circuit, VariableCircuit) else VariableCircuit(1.0)
            rated = part.current.value if part.current else inf
            regulators += [
                Regulator(n, part.id, at_setting, rated, part.price or 0.0) for n in instances(part.id, part.count)
            ]
        elif isinstance(circuit, ChokeCircuit) and isinstance(part, Choke):
            rated = _choke_rating(part, circuit, design.site.frequency.value)
            elements += _elements(part.id, part.count, "choke", circuit, rated, part.price, part.id in wanted)
        elif isinstance(circuit, ResistorCircuit):
            power = getattr(part, "power", None)
            if power is None or circuit.resistance <= 0:
                why = "its watts are not written, so nothing says what it carries as a ballast"
                unusable.append(Unusable(part.id, "unusable", why))
                continue
            rated = sqrt(power.value / circuit.resistance)
            elements += _elements(part.id, part.count, "resistor", circuit, rated, part.price, part.id in wanted)
    return make_inventory(
        units,
        elements,
        separators=separators,
        regulators=regulators,
        correctors=correctors,
        unusable=unusable,
        circuits=circuits,
    )


def _no_unit(part: Transformer, circuit: PartCircuit | None, why_not: Mapping[str, str]) -> Unusable | None:
    if part.kind == "electronic":
        return Unusable(
            part.id,
            "electronic-supply",
            "an electronic supply: it switches, trips on earth current, and gives no mains frequency at its output",
        )
    if part.kind == "lamp autotransformer":
        return Unusable(
            part.id,
            "lamp-autotransformer",
            "a lamp autotransformer is no series choke: its output joint sits on a mains "
            "pole and its winding does not limit as a choke does",
        )
    if part.id in why_not or not isinstance(circuit, TransformerCircuit):
        return Unusable(part.id, "reading-stop", why_not.get(part.id, "its readings give no usable circuit"))
    if part.kind not in HIGH_KINDS and part.kind != "isolation":
        return Unusable(part.id, "unusable", f"a transformer of kind {part.kind} takes no place in a supply")
    return None


def _insulation(limits: InsulationLimits) -> Insulation:
    return Insulation(
        limits.primary_to_core.value,
        limits.start_to_core.value,
        limits.finish_to_core.value,
        limits.high_to_primary.value,
        {
            "primary_to_core": limits.primary_to_core.mark,
            "start_to_core": limits.start_to_core.mark,
            "finish_to_core": limits.finish_to_core.mark,
            "high_to_primary": limits.high_to_primary.mark,
        },
    )


def _units(part: Transformer, circuit: TransformerCircuit, site: Site, wanted: bool) -> list[Unit]:
    volts = part.plate_primary.value if part.plate_primary else site.mains_voltage.value
    power = part.plate_power.value if part.plate_power else None
    if power is None and part.plate_current is not None and part.plate_secondary is not None:
        power = part.plate_current.value * part.plate_secondary.value
    frequency = part.plate_frequency.value if part.plate_frequency else site.frequency.value
    rated = (power or KINDS[part.kind].power) / volts
    if part.kind in SELF_LIMITING and part.shunts not in {"removed", "changed"}:
        rated = max(rated, _shorted_by_design(part, circuit, rated * volts, rated, site.frequency.value))
    one = Unit(
        "",
        part.id,
        part.kind,
        circuit,
        volts,
        frequency,
        rated,
        _insulation(insulation_limits(part, site.mains_voltage.value)),
        _insulation(insulation_limits(part, site.mains_voltage.value, lifted=True)),
        part.core_end_liftable.value if part.core_end_liftable else "unknown",
        part.shunts,
        part.price or 0.0,
    )
    one = replace(one, key=unit_key(one, wanted))
    return [replace(one, instance=n) for n in instances(part.id, part.count)]


def _shorted_by_design(
    part: Transformer, circuit: TransformerCircuit, power: float, guess: float, frequency: float
) -> float:
    """Return the primary current [A] of a unit that limits itself while its shorted secondary carries the plate's
    current.

    It is built for that: the shunts draw their flux from the primary on top of what the plate's volt-amperes say.
    """
    secondary = part.plate_secondary.value if part.plate_secondary else KINDS[part.kind].secondary_voltage
    wanted = part.plate_current.value if part.plate_current else power / secondary
    units, amps = Units.of([circuit], 2 * pi * frequency), guess
    for _ in range(4):  # the shunts' iron changes the ratio of the currents a little
        amps = wanted * abs(units.short_chain(np.array([[max(amps, CURRENTS[0])]]))[0, 0, 1, 1])
    return float(amps)


def _elements(
    id: str,
    count: int,
    kind: str,
    circuit: ChokeCircuit | ResistorCircuit,
    rated: float,
    price: float | None,
    wanted: bool,
) -> list[Element]:
    one = Element("", id, "choke" if kind == "choke" else "resistor", circuit, rated, price or 0.0)
    one = replace(one, key=element_key(one, wanted))
    return [replace(one, instance=n) for n in instances(id, count)]


def _choke_rating(part: Choke, circuit: ChokeCircuit, frequency: float) -> float:
    if part.current is not None:
        return part.current.value
    lamp = lamp_choke(part.lamp) if part.lamp else None
    current = getattr(lamp, "current", None)
    return float(current) if current is not None else rated_choke_current(circuit, frequency)


def _correctors(part: Capacitor, circuit: PartCircuit | None, site: Site) -> list[Corrector] | Unusable | None:
    """Return the correctors a capacitor makes, why it makes none though it is meant to, or None where it is not meant
    to.
    """
    if part.use != "power factor":
        return None
    if part.kind == "oven" or part.rated_kind == "DC":
        return Unusable(
            part.id,
            "pfc-wrong-type",
            "not for standing across the mains: an oven capacitor or one rated for direct voltage",
        )
    if part.made is not None and part.made <= OLD_CORRECTION_YEAR:
        return Unusable(part.id, "pfc-wrong-type", f"made in {part.made}: an old correction capacitor may hold PCB")
    least = CORRECTION_MARGIN * MAINS_TOLERANCE * site.mains_voltage.value
    if part.rated is None or part.rated.value < least:
        rated = "no rating is given" if part.rated is None else f"it is rated {part.rated.value:.0f} V"
        return Unusable(part.id, "pfc-wrong-type", f"correction needs a rating of {least:.0f} V AC or more; {rated}")
    farads = circuit.capacitance if isinstance(circuit, CapacitorCircuit) else part.value.value
    return [Corrector(n, part.id, farads, part.price or 0.0) for n in instances(part.id, min(part.count, CORRECTORS))]


def aim_of(design: Design) -> Aim:
    """Return what the goal wants; what it is silent about is assumed and said."""
    goal, site = design.goal, design.site
    breaker = site.breaker.value.rated_current
    asked = goal.mains_current.value if goal.mains_current else inf
    limit = min(breaker, asked)
    power = goal.power.value if goal.power else SILENT_SHARE * site.mains_voltage.value * limit
    return Aim(
        power,
        goal.voltage_low.value if goal.voltage_low else LEAST_VOLTS,
        goal.voltage_high.value if goal.voltage_high else inf,
        breaker,
        limit,
        goal.power is not None,
        goal.voltage_low is not None,
        goal.budget,
    )


def feeds_of(site: Site, inventory: Inventory) -> tuple[Feed, ...]:
    """Return what the primaries can be fed from: the mains, a part of it, or either behind a regulator or a
    separating unit.
    """
    omega = 2 * pi * site.frequency.value
    z = complex(site.mains_resistance.value, omega * site.mains_inductance.value)
    volts = site.mains_voltage.value
    if site.system.value == "line and neutral":
        plain = [Feed(volts, z, ("line", "neutral"), mains_volts=volts)]
    else:
        part = volts / 2 if site.system.value == "split phase" else volts / sqrt(3)
        plain = [
            Feed(volts, z, ("line", "line_2"), mains_volts=volts),
            Feed(part, z, ("line", "neutral"), words="between line and neutral", mains_volts=part),
        ]
    out = list(plain)
    for feed in plain:
        out += [_behind_regulator(feed, r, omega) for r in inventory.regulators[:2]]
        out += [f for u in inventory.separators[:2] if (f := _behind_separator(feed, u, omega)) is not None]
    return tuple(out)


def _behind_regulator(feed: Feed, r: Regulator, omega: float) -> Feed:
    k = r.circuit.setting
    own = complex(r.circuit.resistance, omega * r.circuit.inductance)
    words = f"{feed.words}, fed by {r.instance}" if feed.words else f"fed by {r.instance}"
    return Feed(feed.volts * k, feed.impedance * k**2 + own, feed.poles, r, words, feed.ratio * k, feed.mains_volts)


def _behind_separator(feed: Feed, u: Unit, omega: float) -> Feed | None:
    """Return the feed behind a separating transformer at its open volts and impedance; None where its plate does not
    suit.
    """
    if not 0.35 <= feed.volts / u.plate_primary <= 1.12:
        return None
    units = Units.of([u.circuit], omega)
    opened = units.open_chain(np.array([[feed.volts]]))[0, 0]
    shorted = units.short_chain(np.array([[max(u.rated_current, CURRENTS[0])]]))[0, 0]
    gain = abs(1 / opened[0, 0])
    own = complex(shorted[0, 1] / shorted[1, 1]) * gain**2
    words = f"{feed.words}, through {u.instance}" if feed.words else f"through {u.instance}"
    return Feed(
        feed.volts * gain, feed.impedance * gain**2 + own, feed.poles, u, words, feed.ratio * gain, feed.mains_volts
    )
