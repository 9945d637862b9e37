"""Start a project: a short file with comments, or the demonstration."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from coilwright.errors import InputError, Problem
from coilwright.project.load import read_text
from coilwright.project.save import write_new

SUFFIX = ".coil.toml"


def blank_text(name: str = "Unnamed project") -> str:
    """Return the text of an empty project of that name."""
    from coilwright.project.edit import edit

    return edit(_packaged("blank.coil.toml"), {"project.name": name})


def demo_text() -> str:
    """Return the text of the demonstration project."""
    return _packaged("demo.coil.toml")


def start(path: str | Path, demo: bool = False) -> Path:
    """Write a new project and return its path; the ending .coil.toml is added where it is missing.

    Raises
    ------
    InputError
        If the file exists already (it is never overwritten), or cannot be written.
    """
    target = Path(path)
    if target.name in {"", ".", ".."} or target.is_dir():
        raise InputError(
            [
                Problem(
                    str(path),
                    None,
                    "found a folder, expected the name of a new project",
                    f"Write for example: coilwright start {target / 'pylon'}",
                )
            ]
        )
    if not target.name.endswith(SUFFIX):
        target = target.with_name(target.name.removesuffix(".toml").removesuffix(".coil") + SUFFIX)
    text = demo_text() if demo else blank_text(target.name.removesuffix(SUFFIX)[:120] or "Unnamed project")
    read_text(text, target.name)
    write_new(target, text.encode("utf-8"))
    return target


def _packaged(name: str) -> str:
    return files("coilwright.project").joinpath(name).read_text(encoding="utf-8")
