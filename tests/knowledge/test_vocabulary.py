"""The vocabulary: every word declared, in one order, with its options drawn from the tables."""

from __future__ import annotations

import pytest

from advisor.errors import Problem
from advisor.knowledge.fields import Faults
from advisor.knowledge.read_vocabulary import read_vocabulary
from advisor.knowledge.strict_yaml import load
from advisor.knowledge.vocabulary import Vocabulary
from tests.small import GRADES, TABLES, small_vocabulary

ATTRIBUTE = {
    "title": "depth",
    "kind": "number",
    "unit": "mm",
    "range": "[0, 50]",
    "set by": "job",
    "means": "Deep.",
}
DECISION = {
    "title": "speed",
    "kind": "number",
    "unit": "m/s",
    "range": "[0, 60]",
    "taken for": "grade",
    "means": "Fast.",
}


def flow(fields: dict[str, str | None]) -> str:
    return "{" + ", ".join(f"{key}: {value}" for key, value in fields.items() if value is not None) + "}"


def read(
    attribute: dict[str, str | None] | None = None,
    decision: dict[str, str | None] | None = None,
    names: tuple[str, str] = ("depth_mm", "speed"),
) -> tuple[Vocabulary, list[Problem]]:
    text = (
        f"attributes:\n  {names[0]}: {flow({**ATTRIBUTE, **(attribute or {})})}\n"
        f"decisions:\n  {names[1]}: {flow({**DECISION, **(decision or {})})}\n"
    )
    faults = Faults("vocabulary.yaml")
    return read_vocabulary(load(text, "vocabulary.yaml"), TABLES, GRADES, faults), faults.found


def test_what_is_declared_is_what_can_be_tested() -> None:
    vocabulary, found = read()
    assert found == []
    assert set(vocabulary.testable) == {"depth_mm", "speed"}
    depth = vocabulary.attributes["depth_mm"]
    assert (depth.kind, depth.unit, depth.low, depth.high, depth.set_by) == ("number", "mm", 0, 50, "job")
    assert vocabulary.testable["speed"].set_by == "decision"


def test_values_from_a_table_are_its_keys() -> None:
    vocabulary = small_vocabulary()
    assert vocabulary.decisions["media"].options == TABLES["media"]


def test_decisions_are_taken_in_the_order_of_the_file() -> None:
    assert small_vocabulary().order == (
        "media",
        "pressure",
        "grain",
        "grade",
        "backing",
        "lubricant",
        "speed",
        "jump",
    )


def test_grades_are_ranked_from_coarse_to_fine_on_their_own_scale() -> None:
    vocabulary = small_vocabulary()
    assert vocabulary.on_scale == {
        "P": ("P60", "P80", "P120", "P180", "P240"),
        "web": ("coarse", "medium", "fine"),
        "compound": ("cut", "colour"),
    }
    assert vocabulary.rank["P120"] == ("P", 2)
    assert vocabulary.rank["colour"] == ("compound", 1)


def test_an_attribute_may_say_what_is_assumed_when_nobody_knows() -> None:
    vocabulary, found = read(
        {"kind": "flag", "unit": None, "range": None, "if unknown": "{assume: true, say: It is assumed.}"}
    )
    assert found == []
    presumed = vocabulary.attributes["depth_mm"].if_unknown
    assert presumed is not None
    assert (presumed.assume, presumed.say) == (True, "It is assumed.")


@pytest.mark.parametrize(
    ("attribute", "what", "nearest"),
    [
        ({"kind": "numbr"}, "unknown kind of attribute", "number"),
        ({"set by": "jobb"}, "unknown setter", "job"),
        ({"titel": "x"}, "unknown key in attribute depth_mm", "title"),
        ({"means": None}, "attribute depth_mm has no 'means'", None),
        ({"kind": "choice"}, "is a choice without values", None),
        ({"kind": "choice", "values from": "mdia"}, "unknown table", "media"),
        ({"unit": None}, "needs a unit and a range", None),
        ({"range": None}, "needs a unit and a range", None),
        ({"range": "[3, 1]"}, "a range is [low, high]", None),
        ({"range": "[3]"}, "a range is [low, high]", None),
        ({"set by": "formula", "needs": "sped"}, "needs an unknown decision", "speed"),
        ({"if unknown": "{assume: deep, say: So.}"}, "is a number in mm", None),
        ({"if unknown": "{assume: 51, say: So.}"}, "outside its range", None),
        ({"if unknown": "{assume: 1}"}, "if unknown has no 'say'", None),
    ],
)
def test_a_fault_in_an_attribute_is_told(
    attribute: dict[str, str | None], what: str, nearest: str | None
) -> None:
    found = read(attribute)[1]
    assert [problem for problem in found if what in problem.what and problem.nearest == nearest], found
    assert all(problem.place.startswith("vocabulary.yaml:2:") for problem in found)


@pytest.mark.parametrize(
    ("decision", "what"),
    [
        ({"kind": "choice"}, "unknown kind of decision"),
        ({"taken for": "nobody"}, "unknown level"),
        ({"kind": "list", "unit": None, "range": None}, "decision speed has no options"),
        ({"unit": None}, "needs a unit and a range"),
    ],
)
def test_a_fault_in_a_decision_is_told(decision: dict[str, str | None], what: str) -> None:
    found = read(None, decision)[1]
    assert any(what in problem.what for problem in found), found
    assert all(problem.place.startswith("vocabulary.yaml:4:") for problem in found)


def test_attributes_and_decisions_share_one_space_of_names() -> None:
    (problem,) = read(names=("speed", "speed"))[1]
    assert "declared as an attribute as well" in problem.what
    assert problem.place == "vocabulary.yaml:4:3"
