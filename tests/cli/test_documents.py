"""The JSON documents: the keys that scripts rely on, null where there is no number, and the shipped schemas."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from importlib import resources
from typing import Any

import jsonschema
import pytest

from cli.doors import CAUTION, KILLS, LOCAL, OPEN_STOP, assert_valid, plan_result, shelf_result, supply_result, tag
from coilwright.errors import InputError
from coilwright.model.design import Design
from coilwright.report.json_common import DOCUMENTS, schema_text
from coilwright.report.json_results import plan_document, shelf_document, supply_document


def test_supply_has_the_promised_keys(design: Design) -> None:
    document = supply_document(design, supply_result())
    assert_valid(document, "supply")
    opened, shorted = document["open_circuit"], document["short_circuit"]
    assert (opened["voltage"], opened["mains_current"], opened["power"]) == (3590.0, 3.4, 60.0)
    assert (shorted["current"], shorted["mains_current"], shorted["power"]) == (0.405, 3.4, 60.0)
    loaded = document["droop"][1]
    assert (loaded["load_resistance"], loaded["voltage"], loaded["current"]) == (8000.0, 2000.0, 0.25)
    assert (loaded["mains_current"], loaded["power_factor"]) == (3.4, 0.57)
    assert document["states"][1] == {"voltage": 4100.0, "voltage_peak": 6100.0, "mains_current": 3.0}
    missing = document["gap_missing"][0]
    assert (missing["capacitance"], missing["peak"], missing["ends"]["hot_a_peak"]) == (50e-9, 10_750.0, 5400.0)
    assert document["mains_current_uncorrected"] == 7.96
    assert document["cores"]["T1"]["voltage_to_earth"] == 0.4
    high = document["windings"]["T1"]["high"]
    assert (high["start_to_core"], high["finish_to_core"]) == (1795.0, 0.0)
    assert document["marks"]["open_circuit"] == "stamped"
    assert document["bands"]["open_circuit.voltage"] == [3511.0, 3672.0]
    assert [t["id"] for t in document["tags"]] == ["local-code", "supply-kills"]


def test_shelf_has_the_promised_keys(design: Design) -> None:
    document = shelf_document(design, shelf_result())
    assert_valid(document, "shelf")
    part = document["parts"]["T1"]
    assert part["values"] == {
        "open_voltage": 2100.0,
        "ratio": 9.54,
        "secondary_resistance": 90.5,
        "primary_to_core": 253.0,
    }
    assert part["bands"]["ratio"] == [9.46, 9.62]
    assert part["marks"] == {
        "open_voltage": "stamped",
        "ratio": "stamped",
        "secondary_resistance": "ink",
        "primary_to_core": "pencil",
    }
    note = document["parts"]["T4"]["readings"][0]
    assert {"code", "grade", "message"} <= set(note)
    assert {"part", "what", "instrument", "hazard", "narrows"} <= set(document["next_reading"][0])


def test_plan_has_the_promised_keys_and_numbers_its_rows_through(design: Design) -> None:
    document = plan_document(design, plan_result())
    assert_valid(document, "plan")
    assert {document["marks"][f"ranked[{k}]"] for k in (0, 1)} == {"ink"}
    assert {document["marks"][f"ranked[{k}].{name}"] for k in (0, 1) for name in ("open_voltage", "short_current")} == {
        "stamped"
    }
    promised = {"name", "score", "open_voltage", "short_current", "mains_current", "parts"}
    assert all(promised <= set(row) for row in document["ranked"])
    assert [row["number"] for row in document["ranked"] + document["refused"]] == [1, 2, 3]
    assert document["refused"][0]["reasons"] == ["a mains pole is in the high-voltage circuit"]
    assert document["ranked"][0]["tags"][0]["id"] == "wiring-current"


def test_no_number_from_an_unconverged_solve(design: Design) -> None:
    document = supply_document(design, supply_result(converged=False))
    assert_valid(document, "supply")
    unknown = document["gap_missing"][0]
    assert (unknown["converged"], unknown["peak"], unknown["ends"]) == (
        False,
        None,
        {"hot_a_peak": None, "hot_b_peak": None},
    )
    assert [t["id"] for t in document["tags"]].count("not-converged") == 1
    assert "NaN" not in json.dumps(document, allow_nan=False)


def test_a_number_beside_exact_false_is_not_shown(design: Design) -> None:
    result = supply_result()
    missing = result.gap_missing
    assert missing is not None
    claimed = replace(missing.points[0], exact=False)
    document = supply_document(
        design, replace(result, gap_missing=replace(missing, points=(claimed,), own=None, worst=None))
    )
    assert document["gap_missing"][0]["peak"] is None
    assert document["gap_missing"][0]["states_peak"] == []


def test_not_converged_is_said_once(design: Design) -> None:
    given = tag("not-converged", "CAUTION", where="tank")
    document = supply_document(design, supply_result(converged=False, tags=(given, LOCAL)))
    assert [(t["id"], t["where"]) for t in document["tags"]] == [("local-code", ""), ("not-converged", "tank")]


def test_every_converged_number_is_kept(design: Design) -> None:
    assert all(t["id"] != "not-converged" for t in supply_document(design, supply_result())["tags"])


def test_tags_stand_in_order_and_are_counted_apart(design: Design) -> None:
    document = supply_document(design, supply_result(tags=(KILLS, CAUTION, LOCAL, OPEN_STOP, OPEN_STOP)))
    assert [t["id"] for t in document["tags"]] == ["local-code", "safety-gap-missing", "supply-kills", "wiring-current"]
    assert document["tag_counts"] == {
        "open": {"STOP": 1, "CAUTION": 1, "NOTE": 0},
        "standing": {"STOP": 1, "CAUTION": 0, "NOTE": 1},
    }


@pytest.mark.parametrize("name", DOCUMENTS)
def test_schemas_are_draft_2020_12_and_strict(name: str) -> None:
    schema = json.loads(schema_text(name))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    loose = [path for path, node in _objects(schema, "") if "additionalProperties" not in node]
    assert loose == []
    optional = [
        path for path, node in _objects(schema, "") if set(node.get("properties", {})) != set(node.get("required", []))
    ]
    assert optional == []


def test_shipped_schemas_are_the_documents() -> None:
    files = {f.name for f in (resources.files("coilwright.report") / "schemas").iterdir() if f.name.endswith(".json")}
    assert files == {f"{name}.json" for name in DOCUMENTS}


def test_definitions_agree_between_schemas() -> None:
    seen: dict[str, Any] = {}
    for name in DOCUMENTS:
        for key, definition in json.loads(schema_text(name)).get("$defs", {}).items():
            assert seen.setdefault(key, definition) == definition, f"{name}: {key}"
    assert "tag" in seen


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("tags", 0, "grade"), "stop"),
        (("tags", 0, "source"), ""),
        (("open_circuit", "voltage"), "3.59 kV"),
        (("marks", "open_circuit"), "guess"),
        (("bands", "open_circuit.voltage"), [1.0]),
        (("format",), 2),
        (("extra",), 1),
    ],
)
def test_schema_refuses_what_it_should(design: Design, path: tuple[Any, ...], value: object) -> None:
    document = supply_document(design, supply_result())
    assert_valid(document, "supply")
    broken = copy.deepcopy(document)
    place = broken
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    with pytest.raises(AssertionError):
        assert_valid(broken, "supply")


def test_unknown_schema_names_those_there_are() -> None:
    with pytest.raises(InputError) as caught:
        schema_text("../secrets")
    assert "supply" in caught.value.problems[0].hint


def _objects(node: Any, path: str) -> list[tuple[str, dict[str, Any]]]:
    found: list[tuple[str, dict[str, Any]]] = []
    if isinstance(node, dict):
        if node.get("type") == "object":
            found.append((path, node))
        for key, item in node.items():
            found += _objects(item, f"{path}/{key}")
    elif isinstance(node, list):
        for i, item in enumerate(node):
            found += _objects(item, f"{path}[{i}]")
    return found
