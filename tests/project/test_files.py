"""Files as the disk gives and refuses them: every case one screen of words, and the file keeps every byte."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from coilwright.errors import InputError
from coilwright.project import save as saving
from coilwright.project.load import load, read_text
from coilwright.project.migrate import migrate, migrate_file
from coilwright.project.save import KEPT_VERSIONS, save, versions
from coilwright.project.schema_machine import GapSpec, ProtectionSpec, TankSpec
from coilwright.project.start import blank_text, demo_text, start

DATA = Path(__file__).parent / "data"
CHILD = Path(__file__).with_name("child.py")


def refusal(error: pytest.ExceptionInfo[InputError]) -> str:
    """Return what the builder reads, which must fit on a screen and blame no library."""
    text = "\n".join(f"{p.where}:{p.line}: {p.message} | {p.hint}" for p in error.value.problems)
    assert len(text) < 2000
    assert "Traceback" not in text
    assert all(p.message and p.hint for p in error.value.problems)
    return text


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """Yield a folder that a user without privileges may enter and write in."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o777)
        yield folder
        folder.chmod(0o777)


def child(*arguments: str | Path) -> tuple[int, str]:
    """Run an action as a user without privileges; return its exit code and what it printed."""
    done = subprocess.run(
        [sys.executable, str(CHILD), *map(str, arguments)], capture_output=True, text=True, timeout=60, check=False
    )
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stdout


# ---- reading ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "says", "line"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", "NUL byte", 3),
        (bytes(range(1, 256)), "", None),
        (b"format = 1\nname = '\xe9t\xe9'\n", "the byte 0xe9, which is no UTF-8 text", 2),
        (b"format = 1\n\0\n", "NUL byte", 2),
        ("format = 1\n".encode("utf-16"), "UTF-16", 1),
        (b"\x1f\x8b\x08" + bytes(500), "NUL byte", 1),
        (b"{ this is : not toml }", "", 1),
        (b"format = 1\n" + b"#" * 6000, "a line of 6000 characters; limit 5000", 2),
        (b"x = " + b"[" * 4000, "nested too deeply", None),
        (b"x = " + b"{a=" * 1200, "nested too deeply", None),
        (b"format = 1\nx = " + b"1" * 4500, "too many digits", None),
        (b"", "format is missing", None),
    ],
)  # fmt: skip
def test_bytes_that_are_no_project(tmp_path: Path, raw: bytes, says: str, line: int | None) -> None:
    path = tmp_path / "x.coil.toml"
    path.write_bytes(raw)
    with pytest.raises(InputError) as caught:
        load(path)
    assert says in refusal(caught)
    if line is not None:
        assert caught.value.problems[0].line == line
    assert path.read_bytes() == raw


def test_random_bytes_never_end_in_anything_but_words(tmp_path: Path) -> None:
    import random

    path = tmp_path / "x.coil.toml"
    demo = demo_text().encode()
    for seed in range(60):
        random_bytes = random.Random(seed)
        raw = bytearray(demo)
        for _ in range(random_bytes.randint(1, 12)):
            at = random_bytes.randrange(len(raw))
            raw[at : at + random_bytes.randint(0, 3)] = random_bytes.randbytes(random_bytes.randint(0, 3))
        path.write_bytes(raw)
        try:
            understood = load(path).digest == hashlib.sha256(raw).hexdigest()
        except InputError as error:
            understood = bool(error.problems) and all(p.message and p.hint for p in error.problems)
        assert understood, seed
        assert path.read_bytes() == bytes(raw)


@pytest.mark.slow
@pytest.mark.parametrize("length", [400, 990])
def test_keys_that_go_on_for_ever(tmp_path: Path, length: int) -> None:
    # two hundred lines of dotted keys, nearly a megabyte: a reader that is quadratic in it would hang
    path = tmp_path / "x.coil.toml"
    rows = [f"k{n}." + ".".join("a" * length) + " = 1" for n in range(400_000 // (2 * length))]
    path.write_text("format = 1\n" + "\n".join(rows), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    assert len(caught.value.problems) == len(rows)


def test_a_megabyte_is_refused_by_its_size(tmp_path: Path) -> None:
    path = tmp_path / "big.coil.toml"
    path.write_bytes(demo_text().encode() + b"# padding\n" * 150_000)
    with pytest.raises(InputError) as caught:
        load(path)
    assert "too large: 1.5 MB; limit 1 MB" in refusal(caught)


@pytest.mark.slow
def test_a_thousand_parts_work(tmp_path: Path) -> None:
    path = tmp_path / "many.coil.toml"
    parts = [
        f'[[capacitor]]\nid = "C{n}"\nvalue = "{n + 1} nF"\nrated = "450 V AC"\nuse = "tank"\n' for n in range(1000)
    ]
    path.write_text("format = 1\n" + "".join(parts), encoding="utf-8")
    assert len(load(path).design.capacitors) == 1000


@pytest.mark.slow
def test_a_thousand_faults_are_all_told(tmp_path: Path) -> None:
    path = tmp_path / "many.coil.toml"
    path.write_text("format = 1\n" + '[[choke]]\nid = "B"\ncurent = "1 A"\n' * 1000, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    assert len(caught.value.problems) == 1999  # each key, and all but the first id


def test_what_is_no_file(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.coil.toml"
    os.mkfifo(pipe)
    for path, says in (
        (tmp_path / "none.coil.toml", "there is no such file"),
        (tmp_path, "found a folder"),
        (pipe, "a device or a pipe"),
        (Path(os.devnull), "a device or a pipe"),
        (tmp_path / ("n" * 300), "cannot be opened"),
        (tmp_path / "a\0b", "cannot be opened"),
        (pipe / "x.coil.toml", "cannot be opened"),
    ):
        with pytest.raises(InputError) as caught:
            load(path)
        assert says in refusal(caught)


def test_a_name_without_its_ending_is_recognised(tmp_path: Path) -> None:
    start(tmp_path / "pylon")
    with pytest.raises(InputError, match="no such file") as caught:
        load(tmp_path / "pylon")
    assert "pylon.coil.toml" in refusal(caught)


def test_a_byte_order_mark_and_carriage_returns_are_read(tmp_path: Path) -> None:
    path = tmp_path / "x.coil.toml"
    path.write_bytes(b"\xef\xbb\xbf" + demo_text().replace("\n", "\r\n").encode())
    assert load(path).design.name == "Shed column"


def test_a_file_that_may_not_be_read(open_folder: Path) -> None:
    path = open_folder / "x.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    path.chmod(0o000)
    code, said = child("load", path)
    assert code == 2
    assert "may not be read by this user" in said
    path.chmod(0o644)
    assert child("load", path) == (0, "")


# ---- saving ----------------------------------------------------------------------------------------------------------


def test_a_save_keeps_comments_and_the_old_file(tmp_path: Path) -> None:
    path = start(tmp_path / "x", demo=True)
    path.chmod(0o640)
    loaded = load(path)
    new = loaded.text.replace('"B16"', '"C20"') + "# a thought\n"
    saved = save(path, new, loaded.digest)
    assert path.read_text(encoding="utf-8") == new
    assert saved.digest == hashlib.sha256(new.encode()).hexdigest() == load(path).digest
    assert saved.backup is not None
    assert saved.backup.read_text(encoding="utf-8") == demo_text()
    assert path.stat().st_mode & 0o777 == 0o640
    assert sorted(p.name for p in tmp_path.iterdir()) == ["x.coil.toml", "x.coil.toml.~1~"]


def test_ten_versions_are_kept(tmp_path: Path) -> None:
    path = start(tmp_path / "x", demo=True)
    neighbour = tmp_path / "x.coil.toml.~old~"
    neighbour.write_text("not one of ours", encoding="utf-8")
    for number in range(14):
        loaded = load(path)
        save(path, f"{demo_text()}# {number}\n", loaded.digest)
    kept = versions(path)
    assert KEPT_VERSIONS == 10
    assert [p.name for p in kept] == [f"x.coil.toml.~{n}~" for n in range(14, 4, -1)]
    assert [p.read_text(encoding="utf-8").split("# ")[-1] for p in kept] == [f"{n}\n" for n in range(12, 2, -1)]
    assert neighbour.exists()


def test_a_save_without_a_change_writes_nothing(tmp_path: Path) -> None:
    path = start(tmp_path / "x", demo=True)
    before = path.stat()
    assert save(path, demo_text(), load(path).digest).backup is None
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert versions(path) == []


@pytest.mark.parametrize("gone", [False, True])
def test_a_file_that_changed_since_it_was_read_is_not_overwritten(tmp_path: Path, gone: bool) -> None:
    path = start(tmp_path / "x", demo=True)
    loaded = load(path)
    if gone:
        path.unlink()
    else:
        path.write_text(demo_text() + "# by another hand\n", encoding="utf-8")
    with pytest.raises(InputError, match="since it was read") as caught:
        save(path, loaded.text + "# mine\n", loaded.digest)
    refusal(caught)
    assert [p.name for p in tmp_path.iterdir()] == ([] if gone else ["x.coil.toml"])
    assert gone or path.read_text(encoding="utf-8").endswith("# by another hand\n")


def test_a_file_that_changes_during_the_save_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = start(tmp_path / "x", demo=True)
    loaded = load(path)
    keep = saving._keep_version

    def meddle(target: Path) -> Path:
        # an editor that writes a new file and renames it, at the worst moment
        backup = keep(target)
        other = target.with_name("editor.tmp")
        other.write_text(demo_text() + "# by another hand\n", encoding="utf-8")
        other.replace(target)
        return backup

    monkeypatch.setattr(saving, "_keep_version", meddle)
    with pytest.raises(InputError, match="changed on disk"):
        save(path, loaded.text + "# mine\n", loaded.digest)
    assert path.read_text(encoding="utf-8").endswith("# by another hand\n")
    assert [p.name for p in tmp_path.iterdir()] == ["x.coil.toml"]


def test_what_would_not_load_is_not_saved(tmp_path: Path) -> None:
    path = start(tmp_path / "x", demo=True)
    loaded = load(path)
    for text in ("nonsense", loaded.text.replace('"B16"', '"Z16"'), loaded.text + "# padding\n" * 120_000):
        with pytest.raises(InputError):
            save(path, text, loaded.digest)
    assert path.read_text(encoding="utf-8") == demo_text()
    assert versions(path) == []


def test_a_link_is_followed(tmp_path: Path) -> None:
    path = start(tmp_path / "x", demo=True)
    link = tmp_path / "link.coil.toml"
    link.symlink_to(path)
    save(link, demo_text() + "# more\n", load(link).digest)
    assert link.is_symlink()
    assert path.read_text(encoding="utf-8").endswith("# more\n")


def test_a_read_only_folder(open_folder: Path) -> None:
    path = open_folder / "x.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    path.chmod(0o666)
    open_folder.chmod(0o555)
    code, said = child("save", path)
    assert code == 2
    assert "is read-only; nothing was written and the file is as it was" in said
    code, said = child("start", open_folder / "new")
    assert code == 2
    assert "is read-only" in said
    assert [p.name for p in open_folder.iterdir()] == ["x.coil.toml"]
    assert path.read_text(encoding="utf-8") == demo_text()


def test_a_read_only_file(open_folder: Path) -> None:
    path = open_folder / "x.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    path.chmod(0o444)
    code, said = child("save", path)
    assert code == 2
    assert "the file is read-only" in said
    assert path.read_text(encoding="utf-8") == demo_text()
    assert len(list(open_folder.iterdir())) == 1


def test_a_disk_that_takes_no_more(open_folder: Path) -> None:
    # the kernel itself cuts the write off, as on a full disk, after a part of the file
    path = open_folder / "x.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    path.chmod(0o666)
    for action, name in (("save", path), ("start", open_folder / "new")):
        code, said = child(action, name, "4096")
        assert code == 2
        assert "the disk is full; nothing was written" in said
    assert path.read_text(encoding="utf-8") == demo_text()
    assert [p.name for p in open_folder.iterdir()] == ["x.coil.toml"]
    assert child("save", path)[0] == 0
    assert path.read_text(encoding="utf-8") == demo_text() + "# changed\n"


@pytest.mark.parametrize("name", ["fsync", "link", "chmod"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EDQUOT, errno.EROFS])
def test_a_disk_that_fails_at_any_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, code: int) -> None:
    path = start(tmp_path / "x", demo=True)
    loaded = load(path)

    def fail(*_: Any, **__: Any) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, name, fail)
    if name == "link":
        monkeypatch.setattr(saving.shutil, "copy2", fail)
    with pytest.raises(InputError) as caught:
        save(path, loaded.text + "# mine\n", loaded.digest)
    assert "nothing was written and the file is as it was" in refusal(caught)
    monkeypatch.undo()
    assert path.read_text(encoding="utf-8") == demo_text()
    assert [p.name for p in tmp_path.iterdir()] == ["x.coil.toml"]


def test_a_disk_without_links_keeps_a_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: Any, **__: Any) -> None:
        raise OSError(errno.EPERM, "no links on this disk")

    monkeypatch.setattr(os, "link", no_links)
    path = start(tmp_path / "x", demo=True)
    saved = save(path, demo_text() + "# more\n", load(path).digest)
    assert saved.backup is not None
    assert saved.backup.read_text(encoding="utf-8") == demo_text()
    with pytest.raises(InputError, match="exists already"):
        start(tmp_path / "x")


# ---- starting --------------------------------------------------------------------------------------------------------


def test_start_writes_a_project_that_loads(tmp_path: Path) -> None:
    for given, name in (("pylon", "pylon"), ("a.coil.toml", "a"), ("b.toml", "b"), ('odd "name"', 'odd "name"')):
        path = start(tmp_path / given)
        assert path == tmp_path / f"{name}.coil.toml"
        assert load(path).design.name == name
        assert path.read_text(encoding="utf-8") == blank_text(name)
    assert load(start(tmp_path / "demo", demo=True)).design.name == "Shed column"


def test_the_blank_project_is_short_and_its_examples_load(tmp_path: Path) -> None:
    text = blank_text("x")
    assert len(text.split("\n")) < 100

    def taken(line: str) -> str:
        """Return an example line without its #, as the file invites to do."""
        is_example = line.startswith("# [") or (line.startswith("# ") and line.split()[2:3] == ["="])
        return line.removeprefix("# ") if is_example else line

    path = tmp_path / "x.coil.toml"
    path.write_text("\n".join(map(taken, text.split("\n"))), encoding="utf-8")
    loaded = load(path)
    assert loaded.warnings == ()
    assert [p.id for p in loaded.design.shelf()] == ["T1", "B1", "C1", "K1"]
    assert loaded.design.tank is not None and loaded.design.gap is not None
    assert loaded.design.protection is not None and loaded.design.protection.interlock
    assert loaded.design.goal.power is not None
    assert loaded.design.site.earthing.mark == "ink"


def test_the_blank_project_shows_every_key_of_tank_gap_and_protection() -> None:
    text = blank_text("x")
    shown = {s: text[text.index(f"# [{s}]") :].partition("\n\n")[0] for s in ("tank", "gap", "protection")}
    for name, spec in (("tank", TankSpec), ("gap", GapSpec), ("protection", ProtectionSpec)):
        for key in spec.model_fields:
            assert re.search(rf"^#.*\b{key} = ", shown[name], re.MULTILINE), key
    # what a rotary gap has besides loads once both signs are off
    rotor = "\n".join(x.removeprefix("## ") for x in shown["gap"].split("\n") if x.startswith("## "))
    gap = f'format = 1\n[gap]\nkind = "synchronous rotary"\n{rotor}\n'
    design, warnings = read_text(gap, "rotor")
    assert warnings == () and design.gap is not None and design.gap.disc is not None and design.gap.shield is not None


@pytest.mark.parametrize("there", ["file", "link", "folder"])
def test_start_never_overwrites(tmp_path: Path, there: str) -> None:
    path = tmp_path / "x.coil.toml"
    if there == "file":
        path.write_text("mine", encoding="utf-8")
    elif there == "link":
        path.symlink_to(tmp_path / "nowhere")
    else:
        path.mkdir()
    with pytest.raises(InputError) as caught:
        start(tmp_path / "x")
    refusal(caught)
    assert [p.name for p in tmp_path.iterdir()] == ["x.coil.toml"]
    assert there != "file" or path.read_text(encoding="utf-8") == "mine"


def test_start_in_a_place_that_is_not_there(tmp_path: Path) -> None:
    for path, says in (
        (tmp_path / "no" / "x", "does not exist"),
        (tmp_path, "found a folder"),
        (Path(), "found a folder"),
    ):
        with pytest.raises(InputError) as caught:
            start(path)
        assert says in refusal(caught)


# ---- older formats ---------------------------------------------------------------------------------------------------


def test_an_older_format_is_read_with_new_names() -> None:
    loaded = load(DATA / "format_0.coil.toml")
    design = loaded.design
    assert loaded.migrated_from == 0
    assert [w.where for w in loaded.warnings] == ["format"]
    assert design.site.mains_resistance.value == 0.3
    assert design.goal.power is not None
    assert design.goal.power.value == 800
    (unit,), (choke,) = design.transformers, design.chokes
    assert (unit.id, choke.id) == ("T1", "B1")
    assert unit.primary_resistance is not None
    assert unit.secondary_resistance is not None
    assert choke.resistance is not None
    values = (unit.primary_resistance.value, unit.secondary_resistance.value, choke.resistance.value)
    assert values == (0.82, 90.0, 1.6)


def test_a_migration_touches_names_and_nothing_else() -> None:
    old = (DATA / "format_0.coil.toml").read_text(encoding="utf-8")
    new = migrate(old)
    assert new.count("\n") == old.count("\n")
    assert [line.partition("#")[2] for line in new.split("\n")] == [line.partition("#")[2] for line in old.split("\n")]
    assert migrate(new) == new
    with pytest.raises(InputError, match="this version does not know"):
        migrate("format = -1\n")


def test_a_migrated_file_keeps_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "x.coil.toml"
    old = (DATA / "format_0.coil.toml").read_bytes()
    path.write_bytes(old)
    load(path)
    assert path.read_bytes() == old  # reading writes nothing
    done = migrate_file(path)
    assert (done.from_format, done.backup) == (0, tmp_path / "x.coil.toml.~1~")
    assert done.backup is not None
    assert done.backup.read_bytes() == old
    loaded = load(path)
    assert (loaded.migrated_from, loaded.warnings) == (None, ())
    assert migrate_file(path).backup is None


def test_a_migration_on_a_full_disk_leaves_the_old_file(open_folder: Path) -> None:
    path = open_folder / "x.coil.toml"
    old = (DATA / "format_0.coil.toml").read_bytes()
    path.write_bytes(old)
    path.chmod(0o666)
    code, said = child("migrate", path, "100")
    assert code == 2
    assert "the disk is full" in said
    assert path.read_bytes() == old
    assert len(list(open_folder.iterdir())) == 1


def test_a_newer_format_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.coil.toml"
    path.write_text("format = 7\n[future]\nx = 1\n", encoding="utf-8")
    with pytest.raises(InputError, match="found format 7, this version reads up to 1"):
        load(path)
