"""Bad input of every kind: one screen, exit code 2, no traceback, and the file keeps every byte."""

from __future__ import annotations

import errno
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from cli.doors import Done, assert_one_screen, assert_valid, plan_result, shelf_result
from coilwright.analyses.results import PlanResult
from coilwright.model.design import Arrangement
from coilwright.project.load import load
from coilwright.project.start import demo_text

Run = Callable[..., Done]

#: what is wrong: (what stands in the demo project, what is put there, words of the message)
WRONG = {
    "wrong unit": ('plate_secondary = "2100 V"', 'plate_secondary = "2100 A"', "transformer[0].plate_secondary"),
    "missing unit": ('plate_power = "1000 VA"', "plate_power = 1000", "with its unit"),
    "unit within quotes": ('plate_power = "1000 VA"', 'plate_power = "1000"', "with its unit"),
    "negative": ('resistance = "1.49 ohm"', 'resistance = "-1.49 ohm"', "choke[0].resistance"),
    "not a number": ('resistance = "1.49 ohm"', 'resistance = "nan ohm"', "finite"),
    "bare not a number": ('resistance = "1.49 ohm"', "resistance = nan", "choke[0].resistance"),
    "unknown key": ('core_end = "finish"', 'core_ent = "finish"', "core_end"),
    "unknown section": ("[[choke]]", "[[shoke]]", "choke"),
    "duplicate id": ('id = "T2"', 'id = "T1"', "T1"),
    "joint that names nothing": ('"B4.a", ', '"B9.a", ', "B9"),
    "terminal that is none": ('"B4.a", ', '"B4.middle", ', "B4.middle"),
    "winding short-circuited": ('hot_a  = ["T1.high_start"]', 'hot_a  = ["T1.high_start", "T1.high_finish"]', "T1"),
    "floating network": ('live   = ["mains.line", "B4.a", "C1.a", "C2.a"]', 'live   = ["B4.a", "C1.a", "C2.a"]', ""),
    "no such arrangement": ('use = "pair, midpoint earthed"', 'use = "pair"', "supply.use"),
    "not TOML": ("[goal]", "[goal", ""),
    "newer format": ("format = 1", "format = 99", "99"),
}


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes the demo project with one thing changed."""

    def make(old: str = "", new: str = "", name: str = "bench.coil.toml") -> Path:
        text = demo_text()
        assert old in text
        path = tmp_path / name
        path.write_text(text.replace(old, new, 1) if old else text, encoding="utf-8")
        return path

    return make


@pytest.mark.parametrize("kind", WRONG)
@pytest.mark.parametrize("command", ["check", "supply"])
def test_wrong_file_is_named_by_line_and_place(run: Run, write: Callable[..., Path], command: str, kind: str) -> None:
    old, new, words = WRONG[kind]
    path = write(old, new)
    before = path.read_bytes()
    done = run(command, path)
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert words in done.said
    assert re.search(rf"{re.escape(str(path))}:\d+:\s", done.err), "no line is named"
    assert "->" in done.said
    document = run(command, path, "--json")
    assert document.code == 2
    assert_valid(document.document, "problems")
    line = document.document["problems"][0]["line"]
    assert line is not None and 1 <= line <= len(before.splitlines())
    assert path.read_bytes() == before


def test_the_line_is_the_one_in_the_file(run: Run, write: Callable[..., Path]) -> None:
    path = write('plate_secondary = "2200 V"', 'plate_secondary = "2200 kohm"')
    lines = path.read_text(encoding="utf-8").splitlines()
    number = next(i for i, line in enumerate(lines, start=1) if "2200 kohm" in line)
    problem = run("check", path, "--json").document["problems"][0]
    assert (problem["where"], problem["line"]) == ("transformer[2].plate_secondary", number)


def test_every_problem_at_once(run: Run, tmp_path: Path) -> None:
    text = demo_text()
    changes = [WRONG[kind] for kind in ("wrong unit", "negative", "unknown key", "no such arrangement")]
    for old, new, _ in changes:
        text = text.replace(old, new, 1)
    path = tmp_path / "many.coil.toml"
    path.write_text(text, encoding="utf-8")
    found = {problem["where"] for problem in run("check", path, "--json").document["problems"]}
    assert {"transformer[0].plate_secondary", "choke[0].resistance", "transformer[0].core_ent", "supply.use"} <= found


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (bytes(range(256)) * 40, ""),
        (b"\x00" * 1000, ""),
        (b"\xff\xfef\x00o\x00", "UTF-16"),
        (b"format = 1\n[[[[[[" + b"[" * 3000, ""),
        (b"format = 1\nx = " + b"[" * 4000 + b"\n", ""),
        (b"", "format"),
        (b"# " + b"x" * 1_200_000, "1 MB"),
        (b"format = 1\n" + b"[[choke]]\n" * 5_000, ""),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", ""),
    ],
    ids=["every byte", "zeros", "utf-16", "brackets", "nested", "empty", "megabyte", "many sections", "pdf"],
)
def test_garbage_gets_one_screen(run: Run, tmp_path: Path, raw: bytes, words: str) -> None:
    path = tmp_path / "garbage.coil.toml"
    path.write_bytes(raw)
    done = run("check", path)
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert words in done.said
    assert_valid(run("check", path, "--json").document, "problems")
    assert path.read_bytes() == raw


@pytest.mark.parametrize("command", ["check", "shelf", "plan", "supply", "tank", "book", "export"])
def test_what_is_not_there_or_no_file(run: Run, tmp_path: Path, command: str) -> None:
    more = ("spice",) if command == "export" else ()
    for name in (tmp_path / "nothing", tmp_path, Path("/dev/null"), Path("a" * 5000), Path("line\nbreak")):
        done = run(command, name, *more)
        assert (done.code, done.out) == (2, ""), name
        assert_one_screen(done.err)


def test_a_folder_with_one_project_means_that_project(run: Run, write: Callable[..., Path]) -> None:
    path = write()
    assert f"{path}: no problem found" in run("check", path.parent).out
    assert f"{path}: no problem found" in run("check", path.parent / "bench").out


def test_a_folder_with_several_projects_names_them(run: Run, write: Callable[..., Path]) -> None:
    path = write()
    (path.parent / "second.coil.toml").write_bytes(path.read_bytes())
    done = run("check", path.parent)
    assert (done.code, done.out) == (2, "")
    assert "the folder holds 2 projects" in done.said and "bench.coil.toml, second.coil.toml" in done.said


def test_demo_into_what_is_a_file(run: Run, write: Callable[..., Path]) -> None:
    path = write()
    before = path.read_bytes()
    done = run("demo", path)
    assert (done.code, done.out) == (2, "")
    assert "found a file, expected a folder" in done.said
    assert path.read_bytes() == before


@pytest.mark.parametrize("text", ["8", "8 V", "-8 kohm", "nan ohm", "0 ohm", "", "8 kohm ± 5 %", "eight ohm"])
def test_load_that_is_no_resistance(run: Run, write: Callable[..., Path], text: str) -> None:
    done = run("supply", write(), "--load", text)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith("--load: ")
    assert_one_screen(done.err)


def test_arrangement_that_is_not_there_suggests_the_near_one(run: Run, write: Callable[..., Path]) -> None:
    for command in (("supply",), ("export",)):
        done = run(
            *command, write(), *(("spice",) if command == ("export",) else ()), "--arrangement", "pair, midpoint earthd"
        )
        assert done.code == 2
        assert 'did you mean "pair, midpoint earthed"?' in done.said


def test_export_to_what_is_no_format(run: Run, write: Callable[..., Path]) -> None:
    done = run("export", write(), "pdf")
    assert done.code == 2
    assert "formats: spice, svg" in done.said


# ---- places that cannot be written, as a user whom the system does not let through -----------------------------------

#: Runs once in a folder of its own before the privileges go, so that the test does not hang on who may read the Python
#: that runs it.
CHILD = """
import contextlib, os, sys, tempfile
from coilwright.cli import main
with tempfile.TemporaryDirectory() as warm, open(os.devnull, "w") as nowhere:
    with contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
        main(["start", warm + "/bench", "--demo"])
        main(["check", warm + "/bench"])
        main(["check", warm + "/nothing"])
        if sys.argv[1] == "export":
            main(["export", warm + "/bench", "svg"])
import coilwright.cli.demo, coilwright.project.edit, coilwright.project.save
if os.geteuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
sys.exit(main())
"""


@dataclass(frozen=True)
class Nobody:
    """Runs the program without privileges, in a folder that is its own."""

    home: Path

    def __call__(self, *words: object) -> Done:
        program = [sys.executable, "-c", CHILD, *map(str, words)]
        done = subprocess.run(program, capture_output=True, text=True, check=False, cwd=self.home, timeout=100)
        return Done(done.returncode, done.stdout, done.stderr)

    def project(self) -> Path:
        path = self.home / "bench.coil.toml"
        path.write_text(demo_text(), encoding="utf-8")
        return path


@pytest.fixture
def nobody() -> Iterator[Nobody]:
    # a folder of its own at the top: the ones that pytest makes are closed to other users
    home = Path(tempfile.mkdtemp(prefix="coilwright-test-"))
    home.chmod(0o777)
    yield Nobody(home)
    for folder in (home, *(f for f in home.rglob("*") if f.is_dir())):
        folder.chmod(0o777)
    shutil.rmtree(home)


def test_start_in_a_read_only_folder(nobody: Nobody) -> None:
    nobody.home.chmod(0o555)
    done = nobody("start", "bench")
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert "read-only" in done.said
    assert list(nobody.home.iterdir()) == []


def test_demo_in_a_read_only_folder(nobody: Nobody) -> None:
    nobody.home.chmod(0o555)
    done = nobody("demo")
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert list(nobody.home.iterdir()) == []


def test_a_project_that_may_not_be_read(nobody: Nobody) -> None:
    path = nobody.project()
    path.chmod(0)
    done = nobody("check", path.name)
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert "may not be read" in done.said


def test_a_project_in_a_read_only_folder_can_still_be_checked(nobody: Nobody) -> None:
    path = nobody.project()
    path.chmod(0o444)
    nobody.home.chmod(0o555)
    done = nobody("check", path.name)
    assert done.code == 1  # a reading of the demo is a STOP
    assert "no problem found" in done.out


def test_export_into_a_read_only_folder(nobody: Nobody) -> None:
    path = nobody.project()
    closed = nobody.home / "closed"
    closed.mkdir()
    closed.chmod(0o555)
    done = nobody("export", path.name, "svg", "--out", "closed/wiring.svg")
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert list(closed.iterdir()) == []


# ---- saving: `plan --take` -------------------------------------------------------------------------------------------


@pytest.fixture
def taking(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], None]], None]:
    """Put a made-up plan in place of the planner, and do something to the file while it is at work."""
    import coilwright.analyses.plan
    import coilwright.analyses.shelf

    def arrange(meanwhile: Callable[[], None]) -> None:
        def plan(*_: object, **__: object) -> PlanResult:
            meanwhile()
            return replace(plan_result(), arrangements=(TAKEN, TAKEN, TAKEN))

        monkeypatch.setattr(coilwright.analyses.plan, "plan", plan)
        monkeypatch.setattr(coilwright.analyses.shelf, "shelf", lambda *_, **__: shelf_result())

    return arrange


TAKEN = Arrangement(
    "pair behind two chokes",
    {
        "live": ("mains.line", "B1.a", "B2.a"),
        "fed": ("B1.b", "B2.b", "T1.primary_start", "T2.primary_finish"),
        "return": ("mains.neutral", "T1.primary_finish", "T2.primary_start"),
        "ground": ("mains.earth", "T1.core", "T2.core"),
        "hot_a": ("T1.high_start",),
        "hot_b": ("T2.high_start",),
    },
    ("hot_a", "hot_b"),
)


def test_taking_a_row_keeps_every_comment(run: Run, write: Callable[..., Path], taking: Callable[..., None]) -> None:
    path = write()
    before = path.read_text(encoding="utf-8")
    taking(lambda: None)
    done = run("plan", path, "--take", "1")
    assert done.code == 0
    assert "wrote row 1" in done.out
    after = path.read_text(encoding="utf-8")
    comments = re.findall(r"#.*", before)
    assert len(comments) > 20
    assert [c for c in comments if c not in after] == []
    assert load(path).design.chosen() == replace(TAKEN, where="arrangement[1]")
    kept = path.with_name(path.name + ".~1~")
    assert kept.read_text(encoding="utf-8") == before


def test_taking_into_a_file_that_changed_meanwhile(
    run: Run, write: Callable[..., Path], taking: Callable[..., None]
) -> None:
    path = write()
    changed = path.read_bytes() + b"# someone else was here\n"
    taking(lambda: path.write_bytes(changed) and None)
    done = run("plan", path, "--take", "1")
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert "changed on disk" in done.said
    assert path.read_bytes() == changed
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_taking_into_a_file_that_has_gone_meanwhile(
    run: Run, write: Callable[..., Path], taking: Callable[..., None]
) -> None:
    path = write()
    taking(path.unlink)
    done = run("plan", path, "--take", "1")
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert list(path.parent.iterdir()) == []


def test_taking_onto_a_full_disk(
    run: Run, write: Callable[..., Path], taking: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write()
    before = path.read_bytes()
    taking(lambda: None)

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    done = run("plan", path, "--take", "1")
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert "disk is full" in done.said
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_really_full_disk_leaves_nothing_behind(spawn: Run, tmp_path: Path) -> None:
    # a limit on the size of files stops the write half way, as a full disk does
    code = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (512, 512)); from coilwright.cli import main; sys.exit(main())"
    )
    program = [sys.executable, "-B", "-c", code, "start", "bench", "--demo"]
    done = subprocess.run(program, capture_output=True, text=True, check=False, cwd=tmp_path, timeout=100)
    assert (done.returncode, done.stdout) == (2, "")
    assert_one_screen(done.stderr)
    assert "disk is full" in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("3", "refused"),
        ("series A", "refused"),
        ("9", "no ranked row 9"),
        ("0", "no ranked row"),
        ("-1", "no ranked row"),
        ("one", "no ranked row"),
        ("²", "no ranked row"),
    ],
)
def test_rows_that_cannot_be_taken(
    run: Run, write: Callable[..., Path], taking: Callable[..., None], number: str, words: str
) -> None:
    path = write()
    before = path.read_bytes()
    taking(lambda: None)
    done = run("plan", path, f"--take={number}")
    assert (done.code, done.out) == (2, "")
    assert words in done.said
    assert_one_screen(done.err)
    assert path.read_bytes() == before


def test_start_never_overwrites(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "bench.coil.toml"
    path.write_text("mine", encoding="utf-8")
    for name in ("bench", "bench.coil.toml"):
        done = run("start", tmp_path / name)
        assert (done.code, done.out) == (2, "")
        assert_one_screen(done.err)
    assert path.read_text(encoding="utf-8") == "mine"


def test_demo_never_overwrites(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "demo.coil.toml"
    path.write_text("mine", encoding="utf-8")
    done = run("demo", tmp_path)
    assert (done.code, done.out) == (2, "")
    assert "not overwritten" in done.said
    assert path.read_text(encoding="utf-8") == "mine"
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_no_output_overwrites_a_project(run: Run, write: Callable[..., Path]) -> None:
    path = write()
    before = path.read_bytes()
    for words in (("book", path), ("export", path, "spice")):
        for out in (path, path.with_name("other.coil.toml"), path.parent):
            done = run(*words, "--out", out)
            assert (done.code, done.out) == (2, "")
            assert done.err.startswith("--out: ")
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_no_output_overwrites_the_project_under_another_ending(run: Run, write: Callable[..., Path]) -> None:
    path = write(name="bench.toml")
    before = path.read_bytes()
    link = path.with_name("same.svg")
    link.symlink_to(path)
    for out in (path, link):
        done = run("export", path, "svg", "--out", out)
        assert (done.code, done.out) == (2, "")
        assert "would be overwritten" in done.said
    assert path.read_bytes() == before


def test_export_onto_a_full_disk_leaves_what_was_there(
    run: Run, write: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write()
    target = path.with_name("wiring.svg")
    target.write_text("the one from yesterday", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    done = run("export", path, "svg", "--out", target)
    assert (done.code, done.out) == (2, "")
    assert_one_screen(done.err)
    assert "No space left on device" in done.said
    assert target.read_text(encoding="utf-8") == "the one from yesterday"
    assert sorted(p.name for p in path.parent.iterdir()) == [path.name, target.name]
