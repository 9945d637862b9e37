"""The search for claims finds them, and the texts that ship make none."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from cli.claims import ALLOWED, claims

ROOT = Path(__file__).parents[2]
SHIPPED = sorted([ROOT / "README.md", *(ROOT / "docs").rglob("*.md"), *(ROOT / "src").rglob("*.toml")])


@pytest.mark.parametrize(
    "claim",
    [
        "The output is safe.",
        "the core may be touched safely once it is bonded",
        "it's now completely\nsafe to approach",
        "Safe: 3.2 kV on 3.5 kV",
        "this makes the bench safer",
        "the safest of the four",
        "for your safety the gap fires first",
        "The charge left is harmless.",
        "there is no danger from the tank",
        "it is not dangerous with the bleeder on",
        "no longer dangerous after a minute",
        "no hazard remains",
        "below this there's no risk",
        "a risk-free reading",
        "can be read without danger",
        "10 mA cannot kill",
        "fail-safe",
    ],
)
def test_a_claim_is_found(claim: str) -> None:
    assert len(claims(f"T1 at 230 V. {claim} The safety gap is missing.")) == 1


@pytest.mark.parametrize(
    "text",
    [
        *ALLOWED,
        "safety\ngap: none",
        "STOP safety-gap-missing: tank",
        "within the touch limit of 42.4 V peak",
        "within its rating",
        "the least dangerous first",
        "takes nothing off the output's danger",
        "unsaved",
    ],
)
def test_what_is_no_claim_is_let_through(text: str) -> None:
    assert claims(text) == []


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_shipped_document_claims_anything(path: Path) -> None:
    assert claims(path.read_text(encoding="utf-8")) == []


def test_no_text_in_the_source_claims_anything() -> None:
    # Every string of the program, those included that no test happens to print; docstrings are for programmers.
    found = []
    for path in sorted((ROOT / "src").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        holders = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
        first = [n.body[0] for n in ast.walk(tree) if isinstance(n, holders) and n.body]
        docstrings = {id(n.value) for n in first if isinstance(n, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
                found += [f"{path.name}:{node.lineno}: {c}" for c in claims(node.value)]
    assert found == []
