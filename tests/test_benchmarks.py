"""The reports are run by hand: that they still fit the package is seen here."""

from __future__ import annotations

import importlib
from pathlib import Path

import benchmarks
import pytest

MODULES = sorted(p.stem for p in Path(benchmarks.__path__[0]).glob("*.py") if not p.stem.startswith("__"))


@pytest.mark.parametrize("name", [*MODULES, "__main__"])
def test_every_module_of_the_reports_can_be_loaded(name: str) -> None:
    module = importlib.import_module(f"benchmarks.{name}")
    assert module.__doc__


@pytest.mark.slow
def test_arrangements_of_the_accuracy_report_are_those_of_the_plan() -> None:
    from benchmarks.arrangements import PER_SHELF, _chosen

    shelf = Path(benchmarks.__path__[0]) / "shelves" / "mixed.coil.toml"
    rows = list(_chosen(shelf))
    assert len(rows) == PER_SHELF
    assert all(network.output for _, _, network in rows)
