"""What the sheet cannot tell, said before any reading: units whose high windings lie side by side read alike."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO

import pytest
from rich.console import Console

from analyses.slip_benches import PAIR_120, SIGNS, bench
from analyses.workshop import designed
from coilwright.analyses.polarity import polarity
from coilwright.model.design import Design
from coilwright.model.machine import Drive as Driven
from coilwright.model.machine import Reading
from coilwright.report.blocks import Paragraph
from coilwright.report.book.gates import polarity_blocks
from coilwright.report.console_polarity import print_polarity
from coilwright.report.json_polarity import polarity_document


@pytest.fixture(scope="module")
def signs() -> Design:
    return designed(SIGNS)


def _typed(at: tuple[str, str], between: tuple[str, str], value: float) -> Reading:
    return Reading("polarity", between, value, "V", drive=Driven(12.0, at))


def test_two_in_parallel_read_alike_and_the_plugs_pins_tell(signs: Design) -> None:
    result = polarity(signs)
    assert len(result.blind) == 1
    blind = result.blind[0]
    assert blind.senses == ((), ("S2.high",))
    for row in result.rows:  # by symmetry: half the drive at each end, either way
        assert row.right.value == pytest.approx(row.reversed["S2.high"].value, rel=1e-3)
    # Faraday: two windings side by side share their volts, so a reversed one drives the joined primaries against the
    # other: 0 V between them. Right, they show the drive over the ratio, less what the bridge of strays takes.
    assert blind.reading is not None and set(blind.reading.between) == {"live", "return"}
    ratio = bench("signs in parallel").circuits["S1"].ratio  # type: ignore[union-attr]
    assert 0.5 * 12.0 / ratio < blind.reading.expected["as wired"] < 1.1 * 12.0 / ratio
    assert blind.reading.expected["S2.high"] < 1e-3
    assert blind.reading.singles_out == 2
    assert "S2.high" in blind.words and "live to return" in blind.words and "leads proved" in blind.words


def test_the_reading_that_is_named_decides(signs: Design) -> None:
    result = polarity(signs)
    at, rows = result.at, [_typed(result.at, r.between, r.right.value) for r in result.rows]
    assert polarity(signs, reads=rows).verdict == "ambiguous"
    extra = result.blind[0].reading
    assert extra is not None and extra.at == at
    right = [*rows, _typed(at, extra.between, extra.expected["as wired"])]
    wrong = [*rows, _typed(at, extra.between, 0.0)]
    settled = polarity(signs, reads=right)
    assert (settled.verdict, settled.blind) == ("as wired", ())
    found = polarity(signs, reads=wrong)
    assert (found.verdict, found.decoded[0].reversed) == ("reversed", ("S2.high",))


@pytest.mark.parametrize("name", ["demo", "pair", "one"])
def test_a_sheet_that_tells_everything_says_nothing(name: str) -> None:
    design = {"demo": lambda: bench("demo").design, "pair": lambda: designed(PAIR_120)}.get(name)
    chosen = design() if design else bench("one unit").design
    assert polarity(replace(chosen, readings=())).blind == ()


def test_it_is_said_before_the_readings_everywhere(signs: Design) -> None:
    result = polarity(signs)
    words = result.blind[0].words
    out = StringIO()
    print_polarity(Console(file=out, width=80), result, tags=False)
    text = " ".join(out.getvalue().split())
    assert words in text and text.index(words) < text.index("What the meter shows")
    blocks = [b.text for b in polarity_blocks(result) if isinstance(b, Paragraph) and b.text == words]
    assert blocks == [words]
    document = polarity_document(signs, result)
    assert document["blind"][0]["sets"] == [[], ["S2.high"]]
    assert set(document["blind"][0]["reading"]["between"]) == {"live", "return"}
