"""`check` names an answer that stands beside no tag."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cli.doors import Done, assert_valid

TEXT = 'format = 1\n[project]\nname = "made up"\n[[answer]]\ntag = "rcd-blimd"\nreason = "known"\n'


def test_check_warns_of_an_answer_to_nothing(run: Callable[..., Done], tmp_path: Path) -> None:
    path = tmp_path / "made-up.coil.toml"
    path.write_text(TEXT, encoding="utf-8")
    done = run("check", path)
    assert done.code == 0
    assert "made-up.coil.toml:5: answer[0].tag:" in done.said
    assert '"rcd-blimd" names no tag that there is' in done.said and "Did you mean rcd-blind" in done.said
    document = run("check", path, "--json").document
    assert_valid(document, "check")
    assert [(w["where"], w["line"]) for w in document["warnings"]] == [("answer[0].tag", 5)]
