"""What the repository promises as a whole: locks, set-up script, documents, file sizes, wording, lazy imports."""

from __future__ import annotations

import os
import platform
import re
import stat
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

import coilwright

ROOT = Path(__file__).resolve().parents[1]
LOCKS = ("boot", "run", "dev")
CLAIM = re.compile(r"\b(?:is|are|it's|now|completely|perfectly)\s+safe\b", re.IGNORECASE)
HEAVY = {"numpy", "scipy", "pydantic", "matplotlib", "rich"}
SOURCES = sorted((ROOT / "src").rglob("*.py"))
Runner = Callable[..., subprocess.CompletedProcess[str]]
DOCUMENTS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])


def canonical(name: str) -> str:
    """Return a distribution's name in its one spelling (Python packaging specification, "Names and normalization")."""
    return re.sub(r"[-_.]+", "-", name).lower()


def requirements(lock: str) -> dict[str, str]:
    """Return each requirement of a lock, name to its whole text with the continued lines joined."""
    text = (ROOT / "requirements" / f"{lock}.txt").read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line.strip() for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    found: dict[str, str] = {}
    for line in lines:
        match = re.match(r"([A-Za-z0-9._-]+)(?:\[[^]]*\])?==", line)
        assert match, f"{lock}: not pinned to one version: {line[:80]}"
        found[canonical(match[1])] = found.get(canonical(match[1]), "") + line + "\n"
    return found


def declared() -> dict[str, set[str]]:
    """Return the distributions that pyproject.toml asks for, by the lock that must hold them."""
    pyproject = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    name = re.compile(r"[A-Za-z0-9._-]+")

    def names(texts: list[str]) -> set[str]:
        return {canonical(found[0]) for text in texts if (found := name.match(text))} - {"coilwright"}

    extras = pyproject["project"]["optional-dependencies"]
    groups = pyproject["dependency-groups"]
    optional = [text for texts in extras.values() for text in texts]
    run = names([*pyproject["project"]["dependencies"], *optional, *groups["build"]])
    return {"boot": {"uv"}, "run": run, "dev": run | names(groups["dev"])}


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_names_no_host(lock: str) -> None:
    text = (ROOT / "requirements" / f"{lock}.txt").read_text(encoding="utf-8")
    # pip's options that would name an index or a place to find files, and any address
    options = r"--(?:index-url|extra-index-url|find-links|trusted-host)"
    assert not re.search(rf"://|^\s*-(?:i|f)\b|{options}|@\s*file:", text, re.MULTILINE)
    assert not re.search(r"\b[\w-]+\.(?:org|com|net|io|dev|local)\b", text)


@pytest.mark.parametrize("lock", LOCKS)
def test_every_requirement_is_pinned_and_hashed(lock: str) -> None:
    for name, text in requirements(lock).items():
        for line in text.splitlines():
            assert re.search(r"--hash=sha256:[0-9a-f]{64}(?:\s|$)", line), f"{lock}: {name} has no hash"


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_holds_what_is_declared(lock: str) -> None:
    assert declared()[lock] <= set(requirements(lock))


def test_dev_lock_agrees_with_run_lock() -> None:
    run, dev = requirements("run"), requirements("dev")
    version = re.compile(r"==(\S+)")
    assert {n: version.findall(t) for n, t in run.items()} == {n: version.findall(dev[n]) for n in run}


@pytest.mark.parametrize("name", ["run", ".ci/run"])
def test_scripts_are_executable(name: str) -> None:
    assert (ROOT / name).stat().st_mode & stat.S_IXUSR


@pytest.mark.parametrize(("name", "shell"), [("run", "sh"), (".ci/run", "bash")])
def test_scripts_parse(name: str, shell: str) -> None:
    done = subprocess.run([shell, "-n", str(ROOT / name)], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_continuous_integration_runs_what_a_developer_runs() -> None:
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    commands = [line for line in lines if line and not line.startswith("#")]
    assert commands == ["set -euo pipefail", 'cd "$(dirname "$0")/.."', "./run test"]


@pytest.fixture
def stand_in(tmp_path: Path) -> Runner:
    """Return a function that runs `./run ARGUMENTS` with stand-in tools that only say they ran, set-up being current.

    Keywords give a tool's exit code; nothing is installed.
    """
    made = tmp_path / "venv"

    def run(*arguments: str, **codes: int) -> subprocess.CompletedProcess[str]:
        (made / "bin").mkdir(parents=True, exist_ok=True)
        for tool in ("ruff", "mypy", "lint-imports", "python", "coilwright", "ngspice"):
            script = f'#!/bin/sh\necho "{tool} $* required=$COILWRIGHT_REQUIRE_TOOLS"\nexit {codes.get(tool, 0)}\n'
            (made / "bin" / tool).write_text(script, encoding="utf-8")
            (made / "bin" / tool).chmod(0o755)
        locked = "cat requirements/dev.txt pyproject.toml | cksum"
        checksum = subprocess.run(["sh", "-c", locked], cwd=ROOT, capture_output=True, text=True, check=True).stdout
        stamp = f"{checksum.strip()} Python {platform.python_version()} {ROOT}\n"
        (made / ".stamp-dev").write_text(stamp, encoding="utf-8")
        env = {k: v for k, v in os.environ.items() if k != "COILWRIGHT_REQUIRE_TOOLS"}
        env |= {"COILWRIGHT_VENV": str(made), "PYTHON": sys.executable, "PATH": f"{made / 'bin'}:{os.environ['PATH']}"}
        return subprocess.run(
            [ROOT / "run", *arguments], env=env, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=60
        )

    return run


def test_run_test_runs_every_check_with_tools_required(stand_in: Runner) -> None:
    done = stand_in("test", "-k", "locks")
    ran = done.stdout.splitlines()
    assert [line.split()[0] for line in ran] == ["ruff", "mypy", "lint-imports", "python"], done.stderr
    assert ran[-1].startswith("python -m pytest") and ran[-1].endswith("-k locks required=1")
    assert done.returncode == 0


@pytest.mark.parametrize(("tool", "order"), [("ruff", 1), ("mypy", 2), ("lint-imports", 3), ("python", 4)])
def test_a_red_check_makes_the_run_red(stand_in: Runner, tool: str, order: int) -> None:
    done = stand_in("test", **{tool: 7})
    assert (done.returncode, len(done.stdout.splitlines())) == (7, order), done.stderr


def test_run_hands_other_commands_and_exit_codes_through(stand_in: Runner) -> None:
    done = stand_in("check", "two words.coil.toml", "--json", coilwright=2)
    assert (done.returncode, done.stdout) == (2, "coilwright check two words.coil.toml --json required=\n"), done.stderr
    assert stand_in().stdout == "coilwright demo required=\n"


def test_changelog_has_this_version_or_unreleased() -> None:
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## \[?(\S+?)\]?(?:\s|$)", text, re.MULTILINE)
    assert headings, "the changelog has no section"
    assert headings[0] in {"Unreleased", coilwright.__version__}


def test_version_is_a_release_number() -> None:
    # Semantic Versioning 2.0.0, clause 2: MAJOR.MINOR.PATCH without leading zeros
    assert re.fullmatch(r"(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)", coilwright.__version__)


def test_readme_begins_with_the_job_and_the_two_commands() -> None:
    title, job, commands = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")[:3]
    assert title == "# coilwright"
    assert job.startswith("You have a shelf of salvaged iron") and len(job) > 300
    assert re.findall(r"^\./run (\w+)", commands, re.MULTILINE) == ["demo", "test"]


def test_files_stay_short() -> None:
    assert len(SOURCES) > 5
    lengths = {str(p.relative_to(ROOT)): len(p.read_text(encoding="utf-8").splitlines()) for p in SOURCES}
    assert {name: n for name, n in lengths.items() if n >= 500} == {}


def test_claim_pattern_tells_a_claim_from_a_name() -> None:
    for text in ("the set is safe", "It's SAFE to touch", "now\nsafe", "completely  safe"):
        assert CLAIM.search(text), text
    for text in ("set the safety gap", "is safeguarded", "this safe", "nothing unsafe", "within the touch limit"):
        assert not CLAIM.search(text), text


@pytest.mark.parametrize("path", [*SOURCES, *DOCUMENTS], ids=lambda p: str(p.relative_to(ROOT)))
def test_nothing_is_claimed_to_hold_no_danger(path: Path) -> None:
    found = CLAIM.search(path.read_text(encoding="utf-8"))
    assert found is None, f"{path.name}: say what is within which limit, instead of {found[0]!r}"


def test_source_leaves_nothing_unfinished() -> None:
    unfinished = re.compile(r"\b(?:TODO|FIXME|XXX)\b|raise NotImplementedError")
    assert [str(p) for p in [*SOURCES, *DOCUMENTS] if unfinished.search(p.read_text(encoding="utf-8"))] == []


def test_glossary_rows_are_whole_and_terms_unique() -> None:
    text = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    assert len(rows) > 50
    assert [row for row in rows if len(row) not in {2, 4} or not all(row)] == []
    terms = [row[0] for row in rows if row[0] not in {"term", "---"}]
    assert sorted({t for t in terms if terms.count(t) > 1}) == []


def test_decision_records_say_what_why_and_the_price() -> None:
    records = sorted((ROOT / "docs" / "decisions").glob("*.md"))
    assert [p.name[:4] for p in records] == [f"{n:04d}" for n in range(1, len(records) + 1)]
    for path in records:
        text = path.read_text(encoding="utf-8")
        assert text.startswith(f"# {path.name[:4]} "), path.name
        assert all(f"**{part}" in text for part in ("What.", "Why", "What we gave up.")), path.name


def test_command_line_imports_nothing_heavy() -> None:
    """`coilwright --help` answers in under 0.3 s only while these stay out of the door's own imports."""
    command = [sys.executable, "-X", "importtime", "-c", "import coilwright.cli"]
    env = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=True)
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines() if line.startswith("import time:")}
    assert {"coilwright", "coilwright.cli"} <= loaded
    assert {name.partition(".")[0] for name in loaded} & HEAVY == set()
