"""The doors: each command hands the right design to its analysis, shows the result both ways, exits as promised."""

from __future__ import annotations

import importlib
import json
import os
import pty
import re
import select
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import click
import pytest

from cli.doors import (
    KILLS,
    LOCAL,
    OPEN_STOP,
    Done,
    assert_one_screen,
    assert_valid,
    plan_result,
    shelf_result,
    supply_result,
)
from coilwright import __version__
from coilwright.analyses.slips_results import SlipsResult
from coilwright.cli.app import program
from coilwright.model.design import Design
from coilwright.project.start import demo_text
from coilwright.protection.raising import raise_tag
from coilwright.protection.tag import Tag
from coilwright.report.json_common import COMMANDS, DOCUMENTS

Run = Callable[..., Done]
ROOT = Path(__file__).resolve().parents[2]
PROGRAM = [sys.executable, "-c", "import sys; from coilwright.cli import main; sys.exit(main())"]


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    path = tmp_path / "bench.coil.toml"
    path.write_text(demo_text(), encoding="utf-8")
    return path


class Stages:
    """Stands in place of the analyses, with results that a test can choose, and keeps what it was called with."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.shelf, self.plan, self.supply = shelf_result(), plan_result(), supply_result()
        self.called: list[tuple[str, Design, dict[str, Any]]] = []
        for name in ("shelf", "plan", "supply"):
            module = importlib.import_module(f"coilwright.analyses.{name}")
            monkeypatch.setattr(module, name, self._stand_in(name))
        book = importlib.import_module("coilwright.report.book")
        monkeypatch.setattr(book, "write_book", self._write_book)

    def _stand_in(self, name: str) -> Callable[..., object]:
        def analysis(design: Design, **options: Any) -> object:
            self.called.append((name, design, options))
            if options.get("progress"):
                options["progress"](0.5, "half way")
            return getattr(self, name)

        return analysis

    def _write_book(
        self, design: Design, shelf: object, plan: object, supply: object, path: Path, **options: Any
    ) -> Path:
        self.called.append(("book", design, {"shelf": shelf, "plan": plan, "supply": supply, **options}))
        path.write_bytes(b"%PDF-made up")
        return path

    def of(self, name: str) -> tuple[Design, dict[str, Any]]:
        return next((design, options) for called, design, options in self.called if called == name)


@pytest.fixture
def stages(monkeypatch: pytest.MonkeyPatch) -> Stages:
    return Stages(monkeypatch)


# ---- each command in both ways ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["shelf", "plan", "supply"])
def test_stage_gets_the_design_of_the_file(run: Run, stages: Stages, bench: Path, command: str) -> None:
    done = run(command, bench, "--json")
    assert done.code == 0
    assert_valid(done.document, command)
    assert done.document["command"] == command
    assert done.document["version"] == __version__
    design, _ = stages.of(command)
    assert design.name == "Shed column"
    assert [t.id for t in design.transformers] == ["T1", "T2", "T3", "T4", "S1"]
    assert done.document["design"] == design.digest
    assert run(command, bench).out.startswith("NOTE local-code: ")


@pytest.mark.parametrize("command", ["check", "shelf", "plan", "supply", "book", "export"])
def test_hazards_stand_in_every_output(run: Run, stages: Stages, bench: Path, command: str) -> None:
    stages.shelf, stages.plan, stages.supply = shelf_result(tags=()), plan_result(tags=()), supply_result(tags=())
    more = ("svg",) if command == "export" else ()
    ids = [tag["id"] for tag in run(command, bench, *more, "--json").document["tags"]]
    assert ids[0] == "local-code"
    assert {"supply-kills", "isolate-drain-short", "medical-implant", "not-alone"} <= set(ids)
    done = run(command, bench, *more)
    text = done.err if command == "export" else done.out  # an exported file holds nothing else
    assert text.startswith("NOTE local-code: ")
    standing = raise_tag("isolate-drain-short")
    assert standing.do in " ".join(text.split())


def test_hazards_cannot_be_switched_off() -> None:
    names = {option for command in program.commands.values() for p in command.params for option in p.opts}
    assert {o for o in names if re.search(r"quiet|no-|hide|suppress|ignore|force", o)} == set()


def test_supply_gets_loads_in_ohm_and_the_arrangement(run: Run, stages: Stages, bench: Path) -> None:
    assert run("supply", bench, "--load", "8 kohm", "--load", "470 ohm").code == 0
    _, options = stages.of("supply")
    assert options["loads"] == (8000.0, 470.0)
    assert options["arrangement"].name == "pair, midpoint earthed"


def test_supply_of_a_named_arrangement(run: Run, stages: Stages, bench: Path) -> None:
    text = demo_text().replace(
        "[supply]",
        '[[arrangement]]\nname = "one"\noutput = ["hot", "ground"]\n[arrangement.joint]\n'
        'live = ["mains.line", "B4.a"]\nfed = ["B4.b", "T1.primary_start"]\n'
        'return = ["mains.neutral", "T1.primary_finish"]\nground = ["mains.earth", "T1.core"]\n'
        'hot = ["T1.high_start"]\n\n[supply]',
    )
    bench.write_text(text, encoding="utf-8")
    assert run("supply", bench, "--arrangement", "one").code == 0
    assert stages.of("supply")[1]["arrangement"].name == "one"


def test_plan_uses_the_shelf_that_was_identified(run: Run, stages: Stages, bench: Path) -> None:
    run("plan", bench)
    assert stages.of("plan")[1]["shelf"] is stages.shelf


@pytest.mark.parametrize("paper", ["a4", "letter", "Letter"])
def test_book_is_written_beside_the_project(run: Run, stages: Stages, bench: Path, paper: str) -> None:
    done = run("book", bench, "--paper", paper, "--json")
    assert done.code == 0
    assert_valid(done.document, "book")
    assert done.document["file"] == str(bench.with_name("bench.pdf"))
    assert bench.with_name("bench.pdf").read_bytes() == b"%PDF-made up"
    design, options = stages.of("book")
    assert design.name == "Shed column"
    assert (options["shelf"], options["plan"], options["supply"]) == (stages.shelf, stages.plan, stages.supply)
    assert options["paper"] == {"a4": "A4"}.get(paper, "letter")
    assert options["wiring_svg"].startswith("<svg")
    assert "supply-kills" in {tag.id for tag in options["tags"]}


def test_book_goes_where_it_is_told(run: Run, stages: Stages, bench: Path, tmp_path: Path) -> None:
    done = run("book", bench, "--out", tmp_path / "sheets.pdf")
    assert (done.code, done.out.splitlines()[-1]) == (0, f"wrote {tmp_path / 'sheets.pdf'}")
    assert (tmp_path / "sheets.pdf").exists()


def test_book_of_a_shelf_without_an_arrangement(run: Run, stages: Stages, tmp_path: Path) -> None:
    path = tmp_path / "new.coil.toml"
    assert run("start", path).code == 0
    stages.plan = plan_result(empty=True)
    assert run("book", path).code == 0
    assert stages.of("book")[1]["supply"] is None
    assert stages.of("book")[1]["wiring_svg"] is None


def test_export_in_either_order(run: Run, bench: Path) -> None:
    first = run("export", bench, "spice")
    assert first.code == 1  # as with `supply`: STOPs of the demo are open
    assert "* NOT FOR BUILDING, " in first.out
    assert "zero-is-not-off" in first.err
    assert first.out.startswith("* Shed column: pair, midpoint earthed")
    assert first.out.rstrip().endswith(".end")
    assert run("export", "spice", bench).out == first.out
    drawing = run("export", bench, "svg")
    assert drawing.out.startswith("<svg") and drawing.out.rstrip().endswith("</svg>")
    assert 'data-terminal="T1.high_start"' in drawing.out
    assert "NOT FOR BUILDING" in drawing.out


def test_export_of_a_part_that_has_no_circuit(run: Run, stages: Stages, bench: Path) -> None:
    done = run("export", bench, "spice")  # the made-up shelf knows no circuit of any part
    assert (done.code, done.out) == (2, "")
    assert "B4 cannot be part of a supply: it is not on the shelf" in done.said
    assert_one_screen(done.err)


def test_export_to_a_file_and_as_json(run: Run, bench: Path, tmp_path: Path) -> None:
    text = run("export", bench, "spice").out
    target = tmp_path / "net.cir"
    done = run("export", bench, "spice", "--out", target)
    assert (done.code, done.out) == (1, f"wrote {target}\n")
    assert target.read_text(encoding="utf-8") == text
    inline = run("export", bench, "spice", "--json").document
    assert_valid(inline, "export")
    assert (inline["text"], inline["file"]) == (text, None)
    written = run("export", bench, "spice", "--out", target, "--json").document
    assert_valid(written, "export")
    assert (written["text"], written["file"]) == (None, str(target))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bench.coil.toml", "net.cir"]


def test_start_empty_and_demo(run: Run, tmp_path: Path) -> None:
    done = run("start", tmp_path / "shed")
    path = tmp_path / "shed.coil.toml"
    assert (done.code, done.out.splitlines()[0]) == (0, f"wrote {path}")
    assert run("check", path).code == 0
    demo = run("start", tmp_path / "second.coil.toml", "--demo", "--json")
    assert_valid(demo.document, "start")
    assert demo.document["path"] == str(tmp_path / "second.coil.toml")
    assert (tmp_path / "second.coil.toml").read_text(encoding="utf-8") == demo_text()


def test_check_counts_what_it_read(run: Run, bench: Path) -> None:
    document = run("check", bench, "--json").document
    assert_valid(document, "check")
    assert document["counts"]["transformers"] == 5
    assert document["counts"]["chokes"] == 4
    assert document["problems"] == []
    assert "5 transformers, 4 chokes, 3 capacitors" in run("check", bench).out


def test_check_warns_of_what_can_be_used_all_the_same(run: Run, bench: Path) -> None:
    # a reading on a secondary at mains, above the 600 V of the instrument it names, is refused and the rest is used
    bench.write_text(
        demo_text().replace(
            'power = "12.4 W", instrument = "wall meter"',
            'power = "12.4 W", secondary = "1050 V", instrument = "meter"',
            1,
        ),
        encoding="utf-8",
    )
    done = run("check", bench)
    assert done.code in {0, 1}
    assert "transformer[0].open_test[0]" in done.said
    warnings = run("check", bench, "--json").document["warnings"]
    assert [w["where"] for w in warnings if w["where"].startswith("transformer[0].open_test[0]")] != []


def test_a_name_is_not_taken_for_markup(run: Run, stages: Stages, bench: Path) -> None:
    odd = "[red]pair[/red] :fire: [link"
    stages.plan = replace(stages.plan, ranked=(replace(stages.plan.ranked[0], name=odd, why=(), twins=(), tags=()),))
    assert odd in " ".join(run("plan", bench).out.split())


# ---- exit codes ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["shelf", "plan", "supply", "book"])
@pytest.mark.parametrize("answered", [None, "measured, and it holds"])
def test_an_open_stop_exits_with_one(run: Run, stages: Stages, bench: Path, command: str, answered: str | None) -> None:
    stop = replace(OPEN_STOP, answered=answered)
    stages.shelf = shelf_result(tags=(LOCAL, stop if command in {"shelf", "book"} else KILLS))
    stages.plan = plan_result(tags=(LOCAL, stop if command == "plan" else KILLS))
    stages.supply = supply_result(tags=(LOCAL, stop if command == "supply" else KILLS))
    assert run(command, bench).code == 1
    as_json = run(command, bench, "--json")
    assert as_json.code == 1
    assert as_json.document["tag_counts"]["open"]["STOP"] == 1


@pytest.mark.parametrize("stop", [OPEN_STOP, KILLS])
def test_a_stop_of_the_slips_counts_in_the_book(
    run: Run, stages: Stages, bench: Path, monkeypatch: pytest.MonkeyPatch, stop: Tag
) -> None:
    rows = SlipsResult("pair", stages.supply, (), tags=(LOCAL, replace(stop, where="a slip of its own")))
    monkeypatch.setattr(importlib.import_module("coilwright.analyses.slips"), "slips", lambda *_, **__: rows)
    done = run("book", bench, "--json")
    assert done.code == (1 if stop is OPEN_STOP else 0)
    assert (stop.id, "a slip of its own") in {(t["id"], t["where"]) for t in done.document["tags"]}
    assert "a slip of its own" in {t.where for t in stages.of("book")[1]["tags"]}


@pytest.mark.parametrize("command", ["shelf", "plan", "supply", "book"])
def test_standing_stops_never_block(run: Run, stages: Stages, bench: Path, command: str) -> None:
    done = run(command, bench, "--json")
    assert (done.code, done.document["tag_counts"]["open"]["STOP"]) == (0, 0)
    assert done.document["tag_counts"]["standing"]["STOP"] >= 1


def test_a_reading_that_is_a_stop_exits_with_one(run: Run, stages: Stages, bench: Path) -> None:
    stages.shelf = shelf_result(stop=True)
    assert run("shelf", bench).code == 1


def test_nothing_ranked_exits_with_one(run: Run, stages: Stages, bench: Path) -> None:
    stages.plan = plan_result(empty=True)
    done = run("plan", bench)
    assert done.code == 1
    assert "Nothing could be ranked." in done.out
    assert run("plan", bench, "--take", "1").code == 2


def test_an_empty_shelf_ranks_nothing(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "empty.coil.toml"
    run("start", path)
    done = run("plan", path)
    assert done.code == 1
    assert "Nothing could be ranked." in done.out
    document = run("plan", path, "--json").document
    assert_valid(document, "plan")
    assert document["ranked"] == []
    assert run("shelf", path).code == 0
    supply = run("supply", path)
    assert supply.code == 2
    assert "no arrangement" in supply.said


def test_demo_exits_with_zero_although_stops_are_open(run: Run, stages: Stages, tmp_path: Path) -> None:
    stages.supply = supply_result(tags=(LOCAL, OPEN_STOP))
    done = run("demo", tmp_path / "new" / "bench")
    assert done.code == 0
    assert "STOP    safety-gap-missing at hot_a (open)" in done.out
    path = tmp_path / "new" / "bench" / "demo.coil.toml"
    assert path.read_text(encoding="utf-8") == demo_text()
    assert f"wrote {path}" in done.out
    assert path.with_name("demo.pdf").exists()
    again = run("demo", path.parent, "--json")
    assert again.code == 0
    assert_valid(again.document, "demo")
    assert again.document["written"] is False
    assert again.document["tags"][0]["id"] == "local-code"


# ---- about, schema, version, help ------------------------------------------------------------------------------------


def test_about_says_what_is_here(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    document = run("about", "--json").document
    assert_valid(document, "about")
    assert document["parts"]["numpy"]["version"] == importlib.import_module("numpy").__version__
    assert document["folder"] == {"path": str(tmp_path), "writable": True}
    assert list(tmp_path.iterdir()) == []
    text = run("about").out
    assert text.startswith(f"coilwright {__version__}\n")
    assert "B612-Regular" in text and "can be written" in text


def test_about_names_what_is_missing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == "typst" else object())
    text = run("about").out
    assert "typst      not installed" in text
    assert "ngspice    not found" in text


@pytest.mark.parametrize("name", [*DOCUMENTS, "project"])
def test_schema_prints_each(run: Run, name: str) -> None:
    done = run("schema", name)
    assert done.code == 0
    assert json.loads(done.out)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert name in run("schema").out.split()


def test_book_without_its_optional_parts(
    run: Run, stages: Stages, bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == "typst" else object())
    for words in (("book", bench), ("demo", tmp_path / "demo")):
        done = run(*words)
        assert (done.code, done.out) == (2, "")
        assert "the book needs typst, not installed here" in done.said
        assert "coilwright[book]" in done.said
    assert stages.called == []
    assert [p.name for p in tmp_path.iterdir()] == [bench.name]


def test_schema_names_as_json(run: Run) -> None:
    document = run("schema", "--json").document
    assert_valid(document, "schema")
    assert set(document["schemas"]) == {*DOCUMENTS, "project"}


def test_version_and_help(run: Run) -> None:
    assert run("--version") == Done(0, f"coilwright, version {__version__}\n", "")
    whole = run("--help").out
    assert run().out == whole
    for name in program.commands:
        assert re.search(rf"^  {name} ", whole, re.MULTILINE), name
        done = run(name, "--help")
        assert (done.code, done.err) == (0, "")
        assert len(done.out.split("Options:")[0].split()) > 8, f"{name} is not explained"


def test_every_command_has_json_and_a_schema() -> None:
    assert set(program.commands) == set(COMMANDS)
    for name, command in program.commands.items():
        assert "--json" in [option for p in command.params for option in p.opts], name
        undocumented = [p.name for p in command.params if isinstance(p, click.Option) and not p.help]
        assert undocumented == [], name


def test_every_command_and_option_is_in_the_manual() -> None:
    text = (ROOT / "docs" / "cli.md").read_text(encoding="utf-8")
    for name, command in program.commands.items():
        section = re.search(rf"^## `coilwright {name}\b.*?(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
        assert section is not None, name
        for parameter in command.params:
            for option in parameter.opts if isinstance(parameter, click.Option) else ():
                assert option in section[0], f"{name} {option}"
    written = set(re.findall(r"^## `coilwright (\w+)", text, re.MULTILINE))
    assert written == set(program.commands)


# ---- how it looks where it runs --------------------------------------------------------------------------------------


def test_piped_output_holds_no_escapes(spawn: Run, tmp_path: Path) -> None:
    spawn("start", "bench", "--demo")
    done = spawn("check", "bench", env={"TERM": "xterm-256color"})
    assert done.code == 1  # a reading of the demo is a STOP
    assert "\x1b" not in done.out + done.err
    assert max(map(len, done.out.splitlines()[:-1])) <= 80


def on_terminal(words: list[str], cwd: Path, env: dict[str, str]) -> str:
    """Return what a command writes to a terminal."""
    leader, follower = pty.openpty()
    started = subprocess.Popen(
        [*PROGRAM, *words],
        stdout=follower,
        stderr=subprocess.DEVNULL,  # progress comes and goes with the clock
        stdin=follower,
        cwd=cwd,
        env={**os.environ, **env},
    )
    os.close(follower)
    parts: list[bytes] = []
    while select.select([leader], [], [], 60)[0]:
        try:
            part = os.read(leader, 65536)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        parts.append(part)
    os.close(leader)
    assert started.wait(60) == 1  # a reading of the demo is a STOP
    return b"".join(parts).decode("utf-8")


def test_no_color_is_heeded_and_nothing_is_lost(spawn: Run, tmp_path: Path) -> None:
    spawn("start", "bench", "--demo")
    plain = on_terminal(["check", "bench"], tmp_path, {"TERM": "xterm-256color", "NO_COLOR": "1", "COLUMNS": "80"})
    coloured = on_terminal(["check", "bench"], tmp_path, {"TERM": "xterm-256color", "COLUMNS": "80"})
    colour = re.compile(r"\x1b\[[0-9;]*(?:3[0-7]|9[0-7])m")
    assert colour.search(coloured)
    assert not colour.search(plain)
    escapes = re.compile(r"\x1b\[[0-9;]*m")
    assert escapes.sub("", coloured) == escapes.sub("", plain)


def test_progress_is_sparse_where_nobody_watches(
    run: Run, stages: Stages, bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("supply", bench).err == "", "quick work says nothing"
    monkeypatch.setattr("coilwright.cli.progress.BETWEEN_LINES", 0.0)
    done = run("supply", bench, "--json")
    assert done.err == "supply: 50 % half way\n"
    assert_valid(done.document, "supply")
