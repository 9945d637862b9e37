"""`shelf`, `plan` and `supply`: one analysis each, imported once the project is read."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from coilwright.cli.common import (
    chosen_arrangement,
    console,
    exit_code,
    has_stopped_reading,
    hazards,
    project_path,
    write_document,
)
from coilwright.cli.failure import concerning
from coilwright.cli.files import open_project
from coilwright.cli.progress import progress
from coilwright.errors import InputError, Problem

if TYPE_CHECKING:
    from coilwright.analyses.limiter_results import Wanted
    from coilwright.analyses.results import PlanResult
    from coilwright.model.design import Arrangement
    from coilwright.project.load import Loaded


def shelf(project: str, *, as_json: bool) -> int:
    """Identify every part of the shelf."""
    path = project_path(project)
    loaded = open_project(path)
    from coilwright.analyses.shelf import shelf as identify

    with concerning(path), progress("shelf") as report:
        result = identify(loaded.design, progress=report)
    result = replace(result, tags=hazards(loaded.design, result.tags))
    if as_json:
        from coilwright.report.json_results import shelf_document

        write_document(shelf_document(loaded.design, result))
    else:
        from coilwright.report.console_shelf import print_shelf

        print_shelf(console(), result)
    return exit_code(result.tags, failed=has_stopped_reading(result))


def plan(project: str, *, take: str | None, as_json: bool) -> int:
    """Rank the supplies, and write one of them into the project where asked to."""
    path = project_path(project)
    loaded = open_project(path)
    from coilwright.analyses.plan import plan as rank
    from coilwright.analyses.shelf import shelf as identify

    with concerning(path), progress("plan") as report:
        parts = identify(loaded.design)
        result = rank(loaded.design, shelf=parts, progress=report)
    result = replace(result, tags=hazards(loaded.design, result.tags, parts.tags))
    taken = None if take is None else _take(loaded, path, result, take)
    if as_json:
        from coilwright.report.json_results import plan_document

        write_document(plan_document(loaded.design, result, taken))
    else:
        from coilwright.report.console_plan import print_plan

        print_plan(console(), result)
        if taken is not None:
            click.echo(
                f'wrote row {take}, "{taken["name"]}", into {path} as the supply in use; '
                f"`coilwright supply {path}` repeats its numbers"
            )
    return exit_code(result.tags, failed=not result.ranked)


def _take(loaded: Loaded, path: str, result: PlanResult, take: str) -> dict[str, Any]:
    from coilwright.project.edit import with_arrangement
    from coilwright.project.save import save

    arrangement = _wanted(result, take)
    with concerning(path):
        save(path, with_arrangement(loaded.text, arrangement), loaded.digest)
    return {"name": arrangement.name, "path": path}


def _wanted(result: PlanResult, take: str) -> Arrangement:
    """Return the arrangement that ``--take`` names by number, or by the name of a row or of its near twin."""
    count = len(result.ranked)
    arrangements: dict[str, Any] = {getattr(a, "name", ""): a for a in result.arrangements}
    refused = {name: row for row in result.refused for name in (row.name, *row.names)}
    if take.isdecimal():
        number = int(take)
        if 1 <= number <= count:
            index = result.ranked[number - 1].arrangement_index
            chosen: Arrangement = result.arrangements[index]  # type: ignore[assignment]
            return chosen
        if count < number <= count + len(result.refused):
            raise _refusal(take, result.refused[number - count - 1].reasons)
    elif take in refused and take not in arrangements:
        raise _refusal(take, refused[take].reasons)
    elif take in arrangements:
        named: Arrangement = arrangements[take]
        return named
    way_out = f"ranked rows are 1 to {count}" if count else "nothing is ranked, so nothing can be taken"
    raise InputError(
        [Problem("--take", None, f"the plan has no ranked row {take}", f"{way_out}; `coilwright plan` lists them")]
    )


def _refusal(take: str, reasons: tuple[str, ...]) -> InputError:
    return InputError(
        [
            Problem(
                "--take",
                None,
                f"row {take} is refused and is not written: {'; '.join(reasons)}",
                "take a ranked row, or change what it is refused for",
            )
        ]
    )


def supply(
    project: str, *, loads: tuple[str, ...], arrangement: str | None, through: str = "none", as_json: bool
) -> int:
    """Compute one arrangement, and what a lamp or heater in series with it shows where asked."""
    path = project_path(project)
    loaded = open_project(path)
    resistances = load_resistances(loads)
    wanted = wanted_limiter(through)
    with concerning(path):
        chosen = chosen_arrangement(loaded.design, arrangement)
        from coilwright.analyses.supply import supply as compute

        with progress("supply") as report:
            result = compute(loaded.design, arrangement=chosen, loads=resistances, progress=report)
        if wanted is not None:
            from coilwright.analyses.limiter import limiter

            limited = limiter(loaded.design, wanted, arrangement=chosen)
            result = replace(result, limiter=limited, tags=(*result.tags, *limited.tags))
    result = replace(result, tags=hazards(loaded.design, result.tags))
    if as_json:
        from coilwright.report.json_results import supply_document

        write_document(supply_document(loaded.design, result))
    else:
        from coilwright.report.console_supply import print_supply

        print_supply(console(), result)
    return exit_code(result.tags)


def load_resistances(texts: tuple[str, ...]) -> tuple[float, ...]:
    """Return the load resistances in ohm.

    Raises
    ------
    InputError
        Where one is not a positive resistance with its unit.
    """
    from coilwright import units

    found: list[float] = []
    problems: list[Problem] = []
    for text in texts:
        try:
            found.append(units.parse(text, "resistance", "positive"))
        except units.UnitError as error:
            problems.append(Problem("--load", None, error.message, error.hint))
    if problems:
        raise InputError(problems)
    return tuple(found)


def wanted_limiter(text: str, where: str = "--through") -> Wanted | None:
    """Return the lamp or heater that a text such as "500 W", "60 W lamp" or "1 kW heater" means; None for "none".

    Raises
    ------
    InputError
        Where it is neither.
    """
    from coilwright import units
    from coilwright.analyses.limiter_results import Wanted

    words = text.split()
    if words == ["none"]:
        return None
    kind = words.pop().lower() if words and words[-1].lower() in {"lamp", "heater"} else "lamp"
    try:
        power = units.parse(" ".join(words), "power", "positive")
    except units.UnitError as error:
        hint = f'{error.hint} A lamp is "500 W", a heater "1 kW heater"; "none" is no limiter.'
        raise InputError([Problem(where, None, error.message, hint)]) from error
    return Wanted(kind, power)
