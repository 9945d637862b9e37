"""The exception tree, and the record of one problem in what the builder wrote.

CoilwrightError
    InputError(ValueError)        the builder's file or words; carries every Problem found
    ModelRangeError(ValueError)   a formula asked outside the range in which it is known
    SolverError(ArithmeticError)  no converged answer, hence no number
    InternalError                 our own mistake
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in the input: where it stands, what it is, and the way out.

    ``where`` is a key path such as ``transformer[0].open_test[1].current``; ``line`` is the line in the project file
    (1-based), or None where no line belongs to it.
    """

    where: str
    line: int | None
    message: str
    hint: str


class CoilwrightError(Exception):
    """Base of everything that coilwright raises on purpose."""


class InputError(CoilwrightError, ValueError):
    """What the builder wrote cannot be used; ``problems`` lists all of it at once."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("; ".join(f"{p.where}: {p.message}" for p in self.problems))


class ModelRangeError(CoilwrightError, ValueError):
    """A formula was asked for a case outside the range its source covers."""


class SolverError(CoilwrightError, ArithmeticError):
    """A solver did not converge. Nothing that it computed may be shown."""

    def __init__(self, message: str, residual: float = float("nan"), iterations: int = 0) -> None:
        self.residual = residual
        self.iterations = iterations
        super().__init__(message)


class InternalError(CoilwrightError):
    """A mistake in coilwright itself."""
