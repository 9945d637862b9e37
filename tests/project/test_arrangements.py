"""Joints: what they name, what they short-circuit, and whether the mains reaches the output."""

from __future__ import annotations

import pytest

from coilwright.errors import InputError, Problem
from coilwright.project.load import read_text
from coilwright.project.start import demo_text

JOINTS = {
    "live": ["mains.line", "B4.a", "C1.a", "C2.a"],
    "fed": ["B4.b", "T1.primary_start", "T2.primary_finish"],
    "return": ["mains.neutral", "C1.b", "C2.b", "T1.primary_finish", "T2.primary_start"],
    "ground": ["mains.earth", "T1.core", "T2.core"],
    "hot_a": ["T1.high_start"],
    "hot_b": ["T2.high_start"],
}

LIFTED_T1 = [*JOINTS["ground"], "T1.high_finish"]


def project(
    site: str = "", keys: str = "", parts: str = "", output: tuple[str, str] = ("hot_a", "hot_b"), **joints: list[str]
) -> str:
    """Return the demo's shelf with one arrangement; an empty list takes a joint out."""
    shelf = demo_text().split("# ---- the supply")[0].replace("[site]\n", f"[site]\n{site}\n")
    merged = {name: ends for name, ends in {**JOINTS, **joints}.items() if ends or joints.get(name) is None}
    rows = "\n".join(f"{name} = {ends!r}".replace("'", '"') for name, ends in merged.items() if ends)
    outputs = f'["{output[0]}", "{output[1]}"]'
    return f'{shelf}\n{parts}\n[[arrangement]]\nname = "a"\noutput = {outputs}\n{keys}\n[arrangement.joint]\n{rows}\n'


def problems(text: str) -> list[Problem]:
    try:
        read_text(text)
    except InputError as error:
        return list(error.problems)
    return []


def test_the_demo_arrangement_is_accepted() -> None:
    assert problems(project()) == []


@pytest.mark.parametrize(
    ("joint", "ends", "says", "hint"),
    [
        ("hot_a", ["T9.high_start"], "names no part of the shelf", "There are"),
        ("hot_a", ["T1.high_strat"], 'a transformer has no terminal "high_strat"', '"T1.high_start"'),
        ("hot_a", ["t1.high_start"], "names no part of the shelf", '"T1.high_start"'),
        ("hot_a", ["T1.high_tap"], "T1 has no tap", "core_end"),
        ("hot_a", ["C3.a"], "does not say which piece", '"C3.1.a" to "C3.32.a"'),
        ("hot_a", ["C3.33.a"], "names none of its pieces", '"C3.1.a" to "C3.32.a"'),
        ("hot_a", ["T1.1.high_start"], "counts pieces", '"T1.high_start"'),
        ("hot_a", ["mains.lin"], "no terminal of the mains", '"mains.line"'),
        ("hot_a", ["mains.line_2"], "one line and neutral", "split phase"),
        ("hot_a", ["B1"], "names no terminal", '"B1.a"'),
        ("hot_a", ["meter.a"], "which has no terminals", "transformer"),
        ("hot_a", ["T1.core"], "T1.core is in the joint ground as well", "join ground and hot_a"),
        ("hot_a", ["T1.high_start", "T1.high_start"], "twice in this joint", "one of the two"),
        (
            "ground",
            ["mains.earth", "T1.core", "T2.core", "mains.line"],
            "in the joint live as well",
            "join live and ground",
        ),
    ],
)
def test_a_terminal_that_is_not_there_or_twice(joint: str, ends: list[str], says: str, hint: str) -> None:
    (found,) = problems(project(**{joint: ends}))
    assert found.where.startswith(f"arrangement[0].joint.{joint}[")
    assert says in found.message
    assert hint in found.hint


@pytest.mark.parametrize(
    ("name", "section"),
    [("F1", '[[former]]\nid = "F1"\noutside_diameter = "110 mm"'), ("W1", '[[wire]]\nid = "W1"\ndiameter = "26 awg"')],
)
def test_what_has_no_terminals(name: str, section: str) -> None:
    (found,) = problems(project(parts=section, hot_a=[f"{name}.a"]))
    assert "has no terminals" in found.message


def test_the_output_names_two_joints() -> None:
    (found,) = problems(project(output=("hot_a", "hot_c")))
    assert (found.where, found.hint) == ("arrangement[0].output[1]", 'Did you mean "hot_b"?')
    (found,) = problems(project(output=("hot_a", "hot_a")))
    assert "both ends of the output" in found.message


@pytest.mark.parametrize(
    ("keys", "where", "says"),
    [
        ('reversed = ["T2"]', "reversed[0]", "names no winding"),
        ('reversed = ["T2.core"]', "reversed[0]", "names no winding"),
        ('reversed = ["B1.primary"]', "reversed[0]", "names no winding"),
        ('reversed = ["T2.primary", "T2.primary"]', "reversed", "stands there twice"),
        ('lifted = ["B1"]', "lifted[0]", "names no transformer"),
        ('lifted = ["T3"]', "lifted[0]", "cannot be lifted"),
        ('shorted = ["T3.high"]', "shorted[0]", "not short-circuited by any joint"),
        ('shorted = ["B1.high"]', "shorted[0]", "names no winding"),
    ],
)
def test_crossings_that_name_nothing(keys: str, where: str, says: str) -> None:
    (found,) = problems(project(keys=keys))
    assert found.where == f"arrangement[0].{where}"
    assert says in found.message


def test_an_end_that_is_not_tied_cannot_be_lifted() -> None:
    text = project(keys='lifted = ["T1"]', ground=LIFTED_T1).replace('core_end = "finish"', 'core_end = "none"', 1)
    (found,) = problems(text)
    assert "has no end to lift" in found.message


@pytest.mark.parametrize(
    ("keys", "ground"),
    [
        ('reversed = ["T2.primary", "T1.high", "T1.heater"]', JOINTS["ground"]),
        # T1 says "unknown" of its tie; the lifted end is led to the joint that its core is in
        ('lifted = ["T1"]', LIFTED_T1),
    ],
)
def test_crossings_that_are_accepted(keys: str, ground: list[str]) -> None:
    assert problems(project(keys=keys, ground=ground)) == []


def test_an_end_lifted_and_led_nowhere_leaves_the_output_floating() -> None:
    (found,) = problems(project(keys='lifted = ["T1"]'))
    assert found.where == "arrangement[0].output"
    assert "nothing that the mains feeds lies between hot_a and hot_b" in found.message


@pytest.mark.parametrize(
    ("joints", "says"),
    [
        ({"hot_a": ["T1.high_start", "T1.high_finish"]}, "short-circuits T1.high: T1.high_start and T1.high_finish"),
        (
            {
                "fed": ["B4.b", "T1.primary_start", "T1.primary_finish", "T2.primary_finish"],
                "return": ["mains.neutral", "C1.b", "C2.b", "T2.primary_start"],
            },
            "short-circuits T1.primary",
        ),
        (
            {"ground": ["mains.earth", "T1.core", "T2.core", "T1.high_start"], "hot_a": ["T1.heater_start"]},
            "T1.core and T1.high_start meet there (T1.core is where the tied end is)",
        ),
        ({"hot_a": ["T1.high_start", "T1.heater_start", "T1.heater_finish"]}, "short-circuits T1.heater"),
        (
            {"live": ["mains.line", "B4.a", "B4.b"], "fed": ["C1.a", "T1.primary_start", "T2.primary_finish"]},
            "short-circuits B4",
        ),
        (
            {
                "live": ["mains.line", "B4.a", "C1.a", "C1.b", "C2.a"],
                "return": ["mains.neutral", "T1.primary_finish", "T2.primary_start", "C2.b"],
            },
            "short-circuits C1",
        ),
        (
            {
                "live": ["mains.line", "mains.neutral", "B4.a"],
                "return": ["C1.b", "T1.primary_finish", "T2.primary_start"],
            },
            "short-circuits the mains: line and neutral",
        ),
        (
            {"live": ["mains.line", "mains.earth", "B4.a"], "ground": ["T1.core", "T2.core"]},
            "short-circuits the mains: line and earth",
        ),
    ],
)
def test_short_circuits(joints: dict[str, list[str]], says: str) -> None:
    assert any(says in p.message for p in problems(project(**joints))), problems(project(**joints))


def test_a_half_of_a_tapped_winding_short_circuited() -> None:
    # S1 is tied at its tap
    joints = {
        "fed": ["B4.b", "S1.primary_start"],
        "return": ["mains.neutral", "S1.primary_finish"],
        "ground": ["mains.earth", "S1.core", "S1.high_start"],
        "hot_a": ["S1.high_finish"],
        "hot_b": ["T2.core"],
        "live": ["mains.line", "B4.a"],
    }
    found = problems(project(output=("hot_a", "ground"), **joints))
    assert any("short-circuits S1.high" in p.message for p in found)


def test_a_variable_transformer_short_circuited() -> None:
    part = '[[variable]]\nid = "V1"'
    found = problems(
        project(parts=part, live=["mains.line", "V1.line", "V1.common", "C1.a", "C2.a"], tail=["V1.wiper", "B4.a"])
    )
    assert any("short-circuits V1: line and common" in p.message for p in found)
    assert (
        problems(
            project(
                parts=part,
                live=["mains.line", "V1.line", "C1.a", "C2.a"],
                tail=["V1.wiper", "B4.a"],
                **{"return": [*JOINTS["return"], "V1.common"]},
            )
        )
        == []
    )


def test_a_unit_shorted_on_purpose_is_a_choke() -> None:
    joints = {
        "fed": ["B4.b", "T4.primary_start"],
        "behind": ["T4.primary_finish", "T1.primary_start", "T2.primary_finish"],
        "stub": ["T4.high_start", "T4.high_finish"],
        "ground": ["mains.earth", "T1.core", "T2.core", "T4.core"],
    }
    (found,) = problems(project(**joints))
    assert 'shorted = ["T4.high"]' in found.hint
    assert problems(project(keys='shorted = ["T4.high"]', **joints)) == []


@pytest.mark.parametrize(
    ("joints", "says"),
    [
        (
            {"live": ["B4.a", "C1.a", "C2.a"], "return": ["C1.b", "C2.b", "T1.primary_finish", "T2.primary_start"]},
            "the joints name no terminal of the mains but earth",
        ),
        (
            {
                "live": ["B4.a", "C1.a", "C2.a"],
                "return": ["C1.b", "C2.b", "T1.primary_finish", "T2.primary_start"],
                "ground": ["T1.core", "T2.core"],
            },
            "the joints name no terminal of the mains",
        ),
        ({"return": ["C1.b", "C2.b", "T1.primary_finish", "T2.primary_start"]}, "the joints name only mains.line"),
        (
            {"fed": ["B4.b", "T1.primary_start"], "return": ["mains.neutral", "C1.b", "C2.b", "T1.primary_finish"]},
            "the primary of T2 floats: T2.primary_start and T2.primary_finish are in no joint",
        ),
        ({"fed": ["B4.b", "T1.primary_start"], "away": ["T2.primary_finish"]}, "the primary of T2 floats: no loop"),
        ({"hot_b": ["C3.1.a"]}, "the output hot_b floats"),
        (
            {
                "live": ["mains.line"],
                "gap": ["B4.a", "C1.a", "C2.a"],
                "return": ["mains.neutral", "T1.primary_finish", "T2.primary_start"],
                "loose": ["C1.b", "C2.b"],
            },
            "the output hot_a floats",
        ),
    ],
)
def test_floating_networks(joints: dict[str, list[str]], says: str) -> None:
    assert any(says in p.message for p in problems(project(**joints))), problems(project(**joints))


def test_a_separating_transformer_in_front_feeds_what_is_behind() -> None:
    part = '[[transformer]]\nid = "I1"\nkind = "isolation"\ncore_end = "none"'
    joints = {
        "live": ["mains.line", "C1.a", "C2.a", "I1.primary_start"],
        "clean": ["I1.high_start", "B4.a"],
        "clean_back": ["I1.high_finish", "T1.primary_finish", "T2.primary_start"],
        "return": ["mains.neutral", "C1.b", "C2.b", "I1.primary_finish"],
        "ground": ["mains.earth", "T1.core", "T2.core", "I1.core"],
    }
    assert problems(project(parts=part, **joints)) == []


def test_split_phase_has_a_second_line() -> None:
    joints = {"return": ["mains.line_2", *JOINTS["return"][1:]]}
    assert problems(project(site='system = "split phase"', **joints)) == []
    assert any("mains.line_2 does not exist" in p.message for p in problems(project(**joints)))


def test_joints_have_plain_names_and_something_in_them() -> None:
    text = project().replace("hot_a =", '"hot a" =').replace('"hot_a", "hot_b"', '"hot a", "hot_b"')
    assert any("has no plain name" in p.message for p in problems(text))
    text = project().replace("[arrangement.joint]", "[arrangement.joint]\nspare = []")
    assert [p.message for p in problems(text)] == ["the joint spare is empty"]


def test_a_loose_end_is_worth_knowing() -> None:
    _, warnings = read_text(project(live=["mains.line", "B4.a", "C1.a", "C2.a", "B1.a"]))
    assert [(w.where, w.message) for w in warnings] == [
        ("arrangement[0].joint.live[4]", "B1 carries no current: only B1.a is in a joint")
    ]


def test_neutral_tied_to_earth_inside_the_set_is_worth_knowing() -> None:
    joints = {"return": [*JOINTS["return"], "mains.earth"], "ground": ["T1.core", "T2.core"]}
    _, warnings = read_text(project(**joints))
    assert [w.message for w in warnings] == ["the joint return ties neutral to earth inside the set"]


def test_pieces_of_a_part_are_counted() -> None:
    assert (
        problems(
            project(hot_a=["T1.high_start", "C3.1.a"], middle=["C3.1.b", "C3.32.a"], hot_b=["T2.high_start", "C3.32.b"])
        )
        == []
    )
