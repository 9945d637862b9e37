"""`slips` as its user meets it: real runs on a supply of one unit."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from analyses.slip_benches import SINGLE, TEXTS, bench
from cli.claims import claims
from cli.doors import Done, assert_valid
from coilwright.report.json_slips import slips_document

Run = Callable[..., Done]


@pytest.fixture
def single(tmp_path: Path) -> Path:
    path = tmp_path / "single.coil.toml"
    path.write_text(SINGLE, encoding="utf-8")
    return path


@pytest.mark.slow
def test_the_document_has_the_promised_keys(run: Run, single: Path) -> None:
    done = run("slips", single, "--json")
    document = done.document
    assert_valid(document, "slips")
    assert done.code == 1  # nothing of this bench is proved: STOPs are open
    rows = document["slips"]
    assert {"core-off", "ballast-bypassed", "branch-open", "body-contact"} <= {r["id"] for r in rows}
    assert [r["harm"] for r in rows] == sorted((r["harm"] for r in rows), reverse=True)
    loose = next(r for r in rows if r["id"] == "core-off")
    assert loose["lethal"] is True and loose["touches"][0]["taken_for_earthed"] is True
    assert loose["touches"][0]["where"] == "T1.core"
    told = loose["telltale"]
    assert (told["between"], told["unit"]) == (["mains.earth", "T1.core"], "ohm")
    assert told["right"] < 0.1
    assert told["wrong"] > 1e5
    assert document["right"]["open_voltage"] > 1000
    where = {t["where"] for t in document["tags"] if t["id"] == "no-telltale"}
    assert where == {"body-contact, hot"}
    assert document["tags"][0]["id"] == "local-code"


@pytest.mark.slow
def test_the_tables_name_right_and_wrong_side_by_side_and_claim_nothing(run: Run, single: Path) -> None:
    done = run("slips", single, "--arrangement", "a")
    assert done.out.startswith("NOTE local-code: ")
    assert claims(done.out) == []
    assert max(map(len, done.out.splitlines())) <= 80
    assert re.search(r"[\x00-\x08\x0b-\x1f\x7f]", done.out) is None
    text = " ".join(done.out.split())
    assert "Telltale between mains.earth and T1.core: right 0 ohm, wrong open (1 Mohm or more)" in text
    assert "kills at T1.core, taken for earthed" in text
    assert "Telltale: none. No reading within the touch limit" in text
    assert text.index("CAUTION no-telltale") < text.index("Slips of")  # hazards first


def test_an_arrangement_that_is_not_there_is_refused(run: Run, single: Path) -> None:
    done = run("slips", single, "--arrangement", "b")
    assert done.code == 2
    assert 'no arrangement "b"' in done.said


@pytest.mark.slow
@pytest.mark.parametrize("name", ["demo", *TEXTS])
def test_every_document_follows_the_schema(name: str) -> None:
    done = bench(name)
    document = slips_document(done.design, done.result)
    assert_valid(document, "slips")
    every = " ".join(str(r[key]) for r in document["slips"] for key in ("sees", "done", "assumption", "telltale"))
    assert claims(every) == []
    assert "nan" not in every and "inf" not in every.split()
