"""The circuits that an arrangement is solved with."""

from __future__ import annotations

from coilwright.analyses.results import ShelfResult
from coilwright.errors import InputError, Problem
from coilwright.model.design import Arrangement, Design
from coilwright.supply.circuits import PartCircuit


def circuits_of(arrangement: Arrangement, design: Design, known: ShelfResult) -> dict[str, PartCircuit]:
    """Return the circuits of the whole shelf.

    Raises
    ------
    InputError
        Names every wired part that has none, and why.
    """
    circuits = {name: p.circuit for name, p in known.parts.items() if p.circuit is not None}
    problems: dict[str, Problem] = {}
    for joint, terminals in arrangement.joints.items():
        for terminal in terminals:
            part = terminal.rpartition(".")[0]
            part = part if part in known.parts else part.rpartition(".")[0] or part
            if terminal.startswith("mains.") or part in circuits or part in problems:
                continue
            why = known.parts[part].why_not if part in known.parts else "it is not on the shelf"
            where = f"{arrangement.where or 'arrangement'}.joint.{joint}"
            problems[part] = Problem(
                where,
                design.line_of(where),
                f"{part} cannot be part of a supply: {why}",
                "Take it out of the joints, or correct what the shelf says of it.",
            )
    if problems:
        raise InputError(list(problems.values()))
    return circuits
