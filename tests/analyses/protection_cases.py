"""The demonstration's supply on a plug, solved once, and its tags with any protection."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from analyses.gate_cases import base, known
from coilwright.analyses.circuits import circuits_of
from coilwright.analyses.facts_of_supply import supply_tags_of
from coilwright.analyses.polarity import proof_of
from coilwright.analyses.sides import correction_capacitors
from coilwright.analyses.stress import limits_of
from coilwright.analyses.supply import supply
from coilwright.analyses.topology import wired_with
from coilwright.measurement.insulation import insulation_limits
from coilwright.model.known import Known
from coilwright.model.machine import Reading, Tank
from coilwright.model.parts import Capacitor, ProofTest
from coilwright.protection.tag import Tag
from coilwright.supply.build import mains_circuit
from coilwright.supply.characterise import characterise


@lru_cache(maxsize=1)
def plugged():
    design = base()
    return replace(design, site=replace(design.site, plug=Known("as marked")))


@lru_cache(maxsize=1)
def solved():
    return supply(plugged(), shelf=known())


@lru_cache(maxsize=1)
def _parts():
    design = plugged()
    chosen = design.chosen()
    circuits = circuits_of(chosen, design, known())
    mains, w = mains_circuit(design.site), wired_with(chosen, design, circuits)
    result = characterise(chosen, circuits, mains, correction_capacitors(w), ())
    return w, result, circuits, mains, limits_of(w, design.site.mains_voltage.value), proof_of(design, chosen, known())


@lru_cache(maxsize=32)
def tags(
    protection=None,
    tank: Tank | None = None,
    made=None,
    proof_test: ProofTest | None = None,
    shelf: tuple[Capacitor, ...] = (),
    reads: tuple[Reading, ...] = (),
) -> tuple[Tag, ...]:
    """Return every tag of the demonstration's supply with that protection, and that tank in place of its own.

    ``proof_test`` stands in the records of both transformers; ``shelf`` and ``reads`` are further capacitors and
    readings.
    """
    w, result, circuits, mains, limits, proof = _parts()
    if proof_test is not None:
        limits = {n: insulation_limits(replace(w.part(n), proof_test=(proof_test,)), 230.0) for n in limits}
    own = plugged()
    design = replace(
        own,
        protection=protection,
        tank=tank or own.tank,
        capacitors=(*own.capacitors, *shelf),
        readings=(*own.readings, *reads),
    )
    # the shelf's copy of this site tag is of the project without protection; it is raised anew for this one
    fitted = replace(known(), tags=tuple(t for t in known().tags if t.id != "contactor-weld"))
    return supply_tags_of(design, w, result, made or solved(), fitted, circuits, mains, limits, proof)


def ids(*args, **keys) -> set[tuple[str, str]]:
    """Return (id, place) of the open tags."""
    return {(t.id, t.where) for t in tags(*args, **keys) if not t.standing}
