"""How a number of the supply is known."""

from __future__ import annotations

from coilwright.analyses.results import SupplyResult
from coilwright.model.known import Mark, weakest


def mark_of(result: SupplyResult, *keys: str) -> Mark:
    """Return the mark of the first key that has one, or whose enclosing key has; else the weakest of the result."""
    for key in keys:
        path = key
        while path:
            if path in result.marks:
                return result.marks[path]
            path = path.rpartition(".")[0]
    return weakest(*result.marks.values()) if result.marks else "pencil"
