"""The standing of stretches, sentence by sentence as the design has it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from advisor.choices.decide import Decider, Room
from advisor.choices.model import RangeChoice, Spoken
from advisor.choices.ranges import choose_range
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from tests.small import knowledge_of, rule_text, rules_of, says, small_vocabulary

Words = tuple[str, str]


def choose(*spoken: Sequence[Spoken], aim: str = "middle", **more: Any) -> RangeChoice:
    return choose_range("speed", 10.0, 50.0, [item for group in spoken for item in group], aim, **more)


def window(choice: RangeChoice) -> tuple[float, float]:
    assert choice.conflict is None, choice.conflict
    return round(choice.low, 6), round(choice.high, 6)


def speed(identity: str, concern: str, strength: str, span: str) -> tuple[Spoken, ...]:
    return says(identity, concern, f"{{{strength}: {{speed: {span}}}}}")


# ------------------------------------------------------------------ bounds and windows


def test_must_and_a_one_sided_never_bound_the_range() -> None:
    choice = choose(
        speed("must", "safety", "must", "{at most: 40}"), speed("never", "form", "never", "{below: 20}")
    )
    assert window(choice) == (20, 40)
    assert [rule.id for rule in choice.shaped_by] == ["must", "never"]


def test_musts_that_do_not_meet_are_a_contradiction() -> None:
    choice = choose(
        speed("one", "form", "must", "{at most: 20}"), speed("two", "safety", "must", "{above: 30}")
    )
    assert choice.conflict is not None
    assert {rule.id for rule in choice.conflict.rules} == {"one", "two"}
    assert not choice.conflict.hidden


def test_a_must_outside_the_room_is_hidden_not_contradicted() -> None:
    choice = choose(speed("one", "form", "must", "{at least: 55}"))
    assert choice.conflict is not None
    assert choice.conflict.hidden


def test_avoid_is_a_should_for_the_rest() -> None:
    assert window(choose(speed("one", "form", "avoid", "{above: 30}"))) == (10, 30)
    assert window(choose(speed("one", "form", "avoid", "{at most: 30}"))) == (30, 50)


def test_may_only_sets_the_aim() -> None:
    choice = choose(speed("one", "form", "may", "{at least: 20, at most: 30}"))
    assert window(choice) == (10, 50)
    assert choice.value == pytest.approx(25)
    assert choice.aim == "may"


def test_the_windows_of_one_concern_are_taken_together() -> None:
    choice = choose(
        speed("one", "look", "should", "{at least: 15, at most: 35}"),
        speed("two", "look", "should", "{at least: 25}"),
    )
    assert window(choice) == (25, 35)


@pytest.mark.parametrize("concern", ["safety", "specification", "corrosion", "form"])
def test_windows_that_do_not_meet_are_a_contradiction_from_safety_to_form(concern: str) -> None:
    choice = choose(
        speed("one", concern, "should", "{at most: 20}"), speed("two", concern, "should", "{at least: 30}")
    )
    assert choice.conflict is not None
    assert {rule.id for rule in choice.conflict.rules} == {"one", "two"}


@pytest.mark.parametrize("concern", ["look", "economy"])
def test_below_that_all_of_them_are_set_aside_as_contested(concern: str) -> None:
    choice = choose(
        speed("one", concern, "should", "{at most: 20}"),
        speed("two", concern, "should", "{at least: 30}"),
        speed("three", concern, "should", "{at least: 15}"),
    )
    assert window(choice) == (10, 50)
    assert {item.rule.id for item in choice.contested} == {"one", "two", "three"}


def test_concern_after_concern_narrows_what_is_left() -> None:
    choice = choose(
        speed("cost", "economy", "should", "{at least: 25}"),
        speed("form", "form", "should", "{at most: 35}"),
        speed("look", "look", "should", "{at least: 20}"),
    )
    assert window(choice) == (25, 35)


def test_a_window_that_would_leave_nothing_is_struck_out_with_the_rule_that_won() -> None:
    choice = choose(
        speed("wet", "corrosion", "should", "{at most: 40}"),
        speed("form", "form", "should", "{at most: 20}"),
        speed("cost", "economy", "should", "{at least: 30}"),
    )
    assert window(choice) == (10, 20)
    assert [(item.spoken.rule.id, item.by) for item in choice.struck] == [("cost", "form")]


def test_a_struck_window_pulls_the_aim_to_its_nearer_end() -> None:
    form = speed("form", "form", "should", "{at least: 20, at most: 30}")
    assert choose(form, speed("cost", "economy", "should", "{at least: 40}")).value == 30
    assert choose(form, speed("cost", "economy", "should", "{at most: 15}")).value == 20


def test_of_two_struck_windows_the_higher_concern_pulls() -> None:
    choice = choose(
        speed("form", "form", "should", "{at least: 20, at most: 30}"),
        speed("cost", "economy", "should", "{at most: 15}"),
        speed("look", "look", "should", "{at least: 40}"),
    )
    assert choice.value == 30


def test_a_pull_stays_inside_what_later_concerns_leave() -> None:
    choice = choose(
        speed("form", "form", "should", "{at most: 40}"),
        speed("look", "look", "should", "{at least: 45}"),
        speed("cost", "economy", "should", "{at most: 25}"),
    )
    assert window(choice) == (10, 25)
    assert choice.value == 25


def test_nothing_is_pulled_against_a_safety_window() -> None:
    choice = choose(
        speed("guard", "safety", "should", "{at most: 30}"),
        speed("cost", "economy", "should", "{at least: 40}"),
    )
    assert choice.value == 20  # the middle of what is left, not its end
    assert [item.by for item in choice.struck] == ["guard"]


def test_a_pull_to_the_other_end_than_safety_set_is_followed() -> None:
    choice = choose(
        speed("guard", "safety", "must", "{at most: 40}"),
        speed("spec", "specification", "should", "{at least: 20}"),
        speed("cost", "economy", "should", "{at most: 15}"),
    )
    assert choice.value == 20
    assert [item.by for item in choice.struck] == ["spec"]


def test_a_window_between_two_values_on_the_shelf_pulls_to_the_nearer() -> None:
    choice = choose(speed("form", "form", "should", "{at least: 22, at most: 26}"), values=(20.0, 45.0))
    assert choice.value == 20
    assert [item.by for item in choice.struck] == ["what the cell and the tables offer"]


# ------------------------------------------------------------------ the aim


@pytest.mark.parametrize(("aim", "expected"), [("low", 20), ("middle", 30), ("high", 40)])
def test_inside_what_is_left_the_aim_decides(aim: str, expected: float) -> None:
    choice = choose(
        speed("form", "form", "should", "{at least: 20, at most: 40}"),
        speed("aim", "look", "may", f"{{aim: {aim}}}"),
    )
    assert choice.value == pytest.approx(expected)
    assert "aim" in [rule.id for rule in choice.shaped_by]


def test_else_the_middle_when_clearing_the_lower_third_when_finishing() -> None:
    assert choose(aim="middle").value == pytest.approx(30)
    assert choose(aim="third").value == pytest.approx(10 + 40 / 3)


def test_the_aim_of_the_higher_concern_decides() -> None:
    choice = choose(
        speed("cost", "economy", "may", "{aim: high}"), speed("look", "look", "may", "{aim: low}")
    )
    assert choice.value == 10


def test_aims_of_one_concern_that_differ_cancel_out() -> None:
    choice = choose(
        speed("one", "look", "may", "{aim: high}"),
        speed("two", "look", "may", "{aim: low}"),
        speed("cost", "economy", "may", "{aim: high}"),
    )
    assert choice.value == 50


def test_a_may_window_outside_what_is_left_aims_at_its_nearer_end() -> None:
    choice = choose(
        speed("form", "form", "should", "{at most: 30}"),
        speed("look", "look", "may", "{at least: 40, at most: 45}"),
    )
    assert window(choice) == (10, 30)
    assert choice.value == 30


def test_the_wanted_value_is_taken_where_no_rule_aims_and_kept_inside_the_window() -> None:
    assert choose(wanted=42.0).value == 42
    assert choose(speed("form", "form", "should", "{at most: 30}"), wanted=42.0).value == 30
    assert choose(speed("look", "look", "may", "{aim: low}"), wanted=42.0).value == 10


def test_only_what_lies_on_the_shelf_is_taken() -> None:
    choice = choose(speed("form", "form", "should", "{at least: 15, at most: 45}"), values=(12.0, 20.0, 44.0))
    assert (choice.low, choice.high) == (20, 44)
    assert choice.value in (20, 44)


# ------------------------------------------------------------------ ordered classes and grades


def decide(decision: str, room: Room, *texts: str, scale: str | None = None) -> RangeChoice:
    vocabulary = small_vocabulary()
    engine = Engine(knowledge_of(rules_of("".join(texts) or "[]"), vocabulary), matcher_maker("plain"))
    situation = {**dict.fromkeys(vocabulary.testable), "defect": "scale"}
    return Decider(engine).stretch(decision, situation, room, scale)


def advice(identity: str, text: str, concern: str = "form") -> str:
    return rule_text(rule=identity, then=f"[{{{text}}}]", concern=concern)


CLASSES = Room(0, 2, (0, 1, 2), "middle")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("never: {pressure: low}", (1, 2)),
        ("never: {pressure: high}", (0, 1)),
        ("never: {pressure: [low, medium]}", (2, 2)),
        ("avoid: {pressure: low}", (1, 2)),
        ("avoid: {pressure: [medium, high]}", (0, 0)),
        ("should: {pressure: medium}", (1, 1)),
        ("must: {pressure: {at least: medium}}", (1, 2)),
        ("should: {pressure: {above: low}}", (1, 2)),
        ("never: {pressure: {above: medium}}", (0, 1)),
    ],
)
def test_the_pressure_class_is_an_ordered_range(text: str, expected: tuple[float, float]) -> None:
    assert window(decide("pressure", CLASSES, advice("one", text))) == expected


P_ROOM = Room(0, 4, (0.0, 1.0, 2.0, 3.0, 4.0), "coarse")  # P60 P80 P120 P180 P240


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("should: {grade: {at least: P80, at most: P120}}", (1, 2)),
        ("should: {grade: {above: P80}}", (2, 4)),
        ("avoid: {grade: {at least: P180}}", (0, 2)),
        ("never: {grade: {below: P120}}", (2, 4)),
        ("should: {grade: [P80, P120]}", (1, 2)),
        ("never: {grade: P60}", (1, 4)),
        ("avoid: {grade: P240}", (0, 3)),
    ],
)
def test_grade_advice_bounds_the_grades_of_its_scale(text: str, expected: tuple[float, float]) -> None:
    assert window(decide("grade", P_ROOM, advice("one", text), scale="P")) == expected


def test_grade_advice_is_silent_on_another_scale() -> None:
    web = advice("web", "must: {grade: {at least: medium}}")
    assert window(decide("grade", P_ROOM, web, scale="P")) == (0, 4)
    assert window(decide("grade", Room(0, 2, (0.0, 1.0, 2.0), "coarse"), web, scale="web")) == (1, 2)


def test_silence_about_the_grade_means_the_whole_table() -> None:
    assert window(decide("grade", P_ROOM, scale="P")) == (0, 4)


@pytest.mark.parametrize(("aim", "expected"), [("coarse", 1), ("fine", 2)])
def test_the_aim_of_a_grade_is_fine_or_coarse(aim: str, expected: float) -> None:
    text = advice("one", f"should: {{grade: {{at least: P80, at most: P120, aim: {aim}}}}}")
    assert decide("grade", P_ROOM, text, scale="P").value == expected


def test_a_grade_that_is_not_in_the_table_is_snapped_to_one_that_is() -> None:
    room = Room(0, 4, (0.0, 1.0, 3.0, 4.0), "middle")
    choice = decide(
        "grade", room, advice("one", "should: {grade: {at least: P80, at most: P180}}"), scale="P"
    )
    assert choice.value in (1, 3)
