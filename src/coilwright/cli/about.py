"""`about` and `schema`: what this installation is, and the shape of its JSON."""

from __future__ import annotations

import importlib.util
import os
import platform
import shutil
import sys
import tempfile
from importlib import metadata, resources
from pathlib import Path
from typing import Any

import click

from coilwright import __version__
from coilwright.cli.common import DONE, write_document

#: (distribution, module, what it is for, whether the program needs it)
PARTS = (
    ("click", "click", "command line", True),
    ("numpy", "numpy", "numerics", True),
    ("scipy", "scipy", "numerics", True),
    ("pydantic", "pydantic", "project file", True),
    ("tomlkit", "tomlkit", "project file", True),
    ("rich", "rich", "tables", True),
    ("matplotlib", "matplotlib", "plots of the book", False),
    ("typst", "typst", "pages of the book", False),
)
#: (program, what it is for)
PROGRAMS = (("ngspice", "runs what `export spice` writes"),)


def about(*, as_json: bool) -> int:
    """Show versions, fonts, optional parts and write access."""
    from coilwright.report.json_common import head

    facts = {**head("about"), **installation()}
    if as_json:
        write_document(facts)
        return DONE
    click.echo(f"coilwright {__version__}")
    click.echo(f"python     {facts['python']} on {facts['system']}")
    for name, part in facts["parts"].items():
        need = "" if part["required"] else " (optional)"
        click.echo(f"{name:<10} {part['version'] or 'not installed'}: {part['purpose']}{need}")
    for name, program in facts["programs"].items():
        click.echo(f"{name:<10} {program['path'] or 'not found'}: {program['purpose']} (optional)")
    click.echo(f"fonts      {', '.join(facts['fonts']) or 'none'}")
    access = "can be written" if facts["folder"]["writable"] else "cannot be written"
    click.echo(f"folder     {facts['folder']['path']}: {access}")
    click.echo(f"stdout     {facts['encoding']}")
    return DONE


def installation() -> dict[str, Any]:
    """Return what is installed, as the fields of the document."""
    return {
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.machine()}",
        "encoding": getattr(sys.stdout, "encoding", None),
        "parts": {
            name: {"version": _version(name, module), "purpose": purpose, "required": required}
            for name, module, purpose, required in PARTS
        },
        "programs": {name: {"path": shutil.which(name), "purpose": purpose} for name, purpose in PROGRAMS},
        "fonts": _fonts(),
        "folder": {"path": str(Path.cwd()), "writable": _writable(Path.cwd())},
    }


def schema(name: str | None, *, as_json: bool) -> int:
    """Print one schema, or the names of all."""
    from coilwright.report.json_common import DOCUMENTS, head, schema_text

    if name == "project":
        click.echo(_project_schema())
    elif name is not None:
        click.echo(schema_text(name).rstrip("\n"))
    elif as_json:
        write_document({**head("schema"), "schemas": sorted([*DOCUMENTS, "project"])})
    else:
        click.echo("\n".join(sorted([*DOCUMENTS, "project"])))
    return DONE


def _project_schema() -> str:
    import json

    from coilwright.project.schema import shipped_json_schema

    return json.dumps(shipped_json_schema(), indent=1, ensure_ascii=False)


def _version(distribution: str, module: str) -> str | None:
    try:
        found = metadata.version(distribution)
    except metadata.PackageNotFoundError:
        return None
    return found if importlib.util.find_spec(module) is not None else None


def _fonts() -> list[str]:
    folder = resources.files("coilwright.report") / "fonts"
    if not folder.is_dir():
        return []
    return sorted(item.name.rpartition(".")[0] for item in folder.iterdir() if item.name.endswith((".otf", ".ttf")))


def _writable(folder: Path) -> bool:
    try:
        descriptor, name = tempfile.mkstemp(prefix=".coilwright-", dir=folder)
    except OSError:
        return False
    os.close(descriptor)
    Path(name).unlink()
    return True
