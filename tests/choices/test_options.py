"""The standing of the options of a list decision, sentence by sentence as the design has it."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from advisor.choices.decide import Decider
from advisor.choices.listed import choose_listed
from advisor.choices.model import ListChoice, Spoken
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.knowledge.vocabulary import Value
from tests.small import knowledge_of, rule_text, rules_of, says, small_vocabulary

ALL = ("J", "X", "Y")


def choose(*spoken: Sequence[Spoken], offered: Sequence[str] = ALL, usual: str | None = None) -> ListChoice:
    return choose_listed("backing", offered, [item for group in spoken for item in group], usual=usual)


def value(choice: ListChoice, option: str, concern: str) -> int:
    order = ("safety", "specification", "corrosion", "form", "look", "economy")
    return choice.of(option).values[order.index(concern)]


# ------------------------------------------------------------------ never and must


def test_never_removes_an_option() -> None:
    choice = choose(
        says("wanted", "form", "{should: {backing: J}}"),
        says("spoils", "form", "{never: {backing: J}}"),
        usual="X",
    )
    assert choice.of("J").standing == "removed"
    assert choice.of("J").lost_on == "never"
    assert choice.winner == "X"


def test_if_any_must_speaks_only_what_all_musts_name_stays() -> None:
    choice = choose(
        says("one", "safety", "{must: {backing: [J, X]}}"),
        says("two", "form", "{must: {backing: [X, 'Y']}}"),
        says("wish", "safety", "{should: {backing: [J, 'Y']}}"),
    )
    assert choice.winner == "X"
    assert [choice.of(option).lost_on for option in ("J", "Y")] == ["must", "must"]


def test_if_nothing_stays_that_is_a_contradiction_that_names_the_rules() -> None:
    choice = choose(
        says("one", "safety", "{must: {backing: J}}"),
        says("two", "form", "{must: {backing: X}}"),
        says("bystander", "form", "{should: {backing: J}}"),
    )
    assert choice.winner is None
    assert choice.conflict is not None
    assert [rule.id for rule in choice.conflict.rules] == ["one", "two"]
    assert not choice.conflict.hidden


def test_a_never_against_a_must_is_a_contradiction_as_well() -> None:
    choice = choose(
        says("one", "safety", "{must: {backing: J}}"), says("two", "form", "{never: {backing: J}}")
    )
    assert choice.conflict is not None
    assert not choice.conflict.hidden


def test_what_one_rule_forbids_alone_is_put_down_to_it_alone() -> None:
    choice = choose(
        says("one", "form", "{never: {backing: J}}"),
        says("two", "safety", "{never: {backing: [J, X]}}"),
        offered=("J", "X"),
    )
    assert choice.conflict is not None
    assert [rule.id for rule in choice.conflict.rules] == ["two"]
    assert choice.conflict.what == "J or X may not be taken for backing, and nothing else is to be had here"


def test_what_is_required_and_forbidden_is_said_to_be_so() -> None:
    choice = choose(
        says("one", "form", "{must: {backing: J}}"),
        says("two", "safety", "{never: {backing: J}}"),
        offered=("J", "X"),
    )
    assert choice.conflict is not None
    assert [rule.id for rule in choice.conflict.rules] == ["one", "two"]
    assert choice.conflict.what == "J is required for backing and forbidden as well"


def test_a_contradiction_is_told_apart_from_not_in_this_cell() -> None:
    choice = choose(says("one", "safety", "{must: {backing: J}}"), offered=("X", "Y"))
    assert choice.conflict is not None
    assert choice.conflict.hidden
    assert "not to be had here" in choice.conflict.what


@pytest.mark.parametrize(
    ("concern", "shown"),
    [
        ("safety", True),
        ("specification", True),
        ("corrosion", True),
        ("form", False),
        ("economy", False),
    ],
)
def test_hidden_advice_of_safety_specification_or_corrosion_is_kept_for_the_sheet(
    concern: str, shown: bool
) -> None:
    choice = choose(says("one", concern, "{should: {backing: J}}"), offered=("X", "Y"), usual="X")
    assert [item.rule.id for item in choice.hidden] == (["one"] if shown else [])
    assert choice.winner == "X"


# ------------------------------------------------------------------ the rest, by strength and concern


def test_minus_one_where_some_avoid_names_it_and_no_should() -> None:
    choice = choose(
        says("one", "form", "{avoid: {backing: J}}"), says("two", "look", "{should: {backing: J}}")
    )
    assert value(choice, "J", "form") == -1
    assert value(choice, "X", "form") == 0


def test_contested_where_both_speak_and_shown_as_such() -> None:
    choice = choose(
        says("one", "form", "{avoid: {backing: J}}"), says("two", "form", "{should: {backing: J}}")
    )
    assert value(choice, "J", "form") == 0
    assert choice.of("J").contested == ("form",)
    assert choice.of("X").contested == ()


def test_a_may_does_not_contest_an_avoid() -> None:
    choice = choose(says("one", "form", "{avoid: {backing: J}}"), says("two", "form", "{may: {backing: J}}"))
    assert value(choice, "J", "form") == -1
    assert choice.of("J").contested == ()


def test_plus_one_goes_to_the_options_named_by_every_should_that_speaks_there() -> None:
    choice = choose(
        says("broad", "form", "{should: {backing: [J, X]}}"),
        says("narrow", "form", "{should: {backing: [X]}}"),
    )
    assert [value(choice, option, "form") for option in ALL] == [0, 1, 0]
    assert choice.winner == "X"


def test_otherwise_plus_one_goes_to_those_named_by_any() -> None:
    choice = choose(
        says("one", "form", "{should: {backing: J}}"), says("two", "form", "{should: {backing: X}}")
    )
    assert [value(choice, option, "form") for option in ALL] == [1, 1, 0]


def test_what_all_name_counts_only_if_any_of_it_is_uncontested() -> None:
    choice = choose(
        says("broad", "form", "{should: {backing: [J, X]}}"),
        says("narrow", "form", "{should: {backing: [X]}}"),
        says("against", "form", "{avoid: {backing: X}}"),
    )
    assert [value(choice, option, "form") for option in ALL] == [1, 0, 0]
    assert choice.of("X").contested == ("form",)


def test_the_values_are_compared_in_the_order_of_the_concerns() -> None:
    choice = choose(
        says("cheap", "economy", "{should: {backing: J}}"),
        says("nice", "look", "{should: {backing: J}}"),
        says("exact", "form", "{should: {backing: X}}"),
    )
    assert choice.winner == "X"
    assert choice.of("J").lost_on == "form"


def test_strength_comes_before_concern() -> None:
    choice = choose(
        says("nice", "safety", "{may: {backing: J}}"), says("cheap", "economy", "{should: {backing: X}}")
    )
    assert choice.winner == "X"
    assert choice.of("J").lost_on == "economy"


def test_only_if_all_are_equal_does_may_decide_in_the_same_way() -> None:
    choice = choose(
        says("both", "form", "{should: {backing: [J, X]}}"),
        says("cheap", "economy", "{may: {backing: J}}"),
        says("nice", "look", "{may: {backing: X}}"),
    )
    assert choice.winner == "X"
    assert choice.of("J").lost_on == "look"


def test_ten_rules_that_say_the_same_weigh_as_one() -> None:
    ten = [says(f"ten-{i}", "form", "{should: {backing: J}}") for i in range(10)]
    choice = choose(*ten, says("one", "form", "{should: {backing: X}}"), usual="X")
    assert choice.of("J").values == choice.of("X").values
    assert choice.winner == "X"


# ------------------------------------------------------------------ ties


def test_only_options_of_the_highest_standing_become_candidates() -> None:
    choice = choose(
        says("one", "form", "{should: {backing: [J, X]}}"), says("two", "economy", "{may: {backing: 'Y'}}")
    )
    assert choice.candidates(7) == ("J", "X")
    assert choice.of("Y").standing == "lost"


def test_any_other_tie_takes_the_usual_row() -> None:
    choice = choose(says("one", "form", "{should: {backing: [J, 'Y']}}"), usual="Y")
    assert choice.winner == "Y"
    assert choice.of("J").standing == "equal"


def test_without_a_usual_row_a_tie_goes_to_the_order_of_the_table() -> None:
    spoken = says("one", "form", "{should: {backing: [J, X]}}")
    assert choose(spoken, offered=("Y", "X", "J")).winner == "X"


def test_candidates_are_widened_from_the_lowest_concern_upward() -> None:
    choice = choose(
        says("form", "form", "{should: {backing: [J, X]}}"),
        says("cost", "economy", "{should: {backing: J}}"),
        says("rest", "look", "{may: {backing: 'Y'}}"),
    )
    assert choice.candidates(7) == choice.candidates(6) == ("J",)
    assert choice.candidates(5) == ("J", "X")
    assert choice.candidates(4) == ("J", "X")
    assert choice.candidates(3) == ("J", "X", "Y")


# ------------------------------------------------------------------ silence is not suitability


def decide(
    text: str, decision: str, offered: Sequence[str], facts: dict[str, Value], **more: object
) -> ListChoice:
    vocabulary = small_vocabulary()
    engine = Engine(knowledge_of(rules_of(text), vocabulary), matcher_maker("plain"))
    situation = {**dict.fromkeys(vocabulary.testable), **facts}
    return Decider(engine).listed(decision, situation, offered, **more)  # type: ignore[arg-type]


MILD = rule_text(rule="round-face", when="{radius_mm: {at most: 40}}", then="[{should: {media: disc}}]")
SPOKEN = rule_text(rule="scale-to-go", when="{defect: scale}", then="[{may: {media: belt}}]")
MEDIA = ("belt", "disc", "brush")


def test_when_clearing_a_media_is_eligible_only_by_a_rule_that_tests_the_defect() -> None:
    facts: dict[str, Value] = {"radius_mm": 10.0, "defect": "scale"}
    choice = decide(MILD + SPOKEN, "media", MEDIA, facts, spoken_by=frozenset({"defect"}))
    assert choice.winner == "belt"  # though the mild preference of shape has the stronger word
    assert choice.of("disc").standing == "not spoken for"
    assert choice.of("disc").lost_on == "silence"


def test_when_finishing_a_media_is_eligible_only_by_a_rule_that_tests_the_finish() -> None:
    finish = rule_text(rule="satin", when="{texture: satin}", then="[{should: {media: brush}}]")
    facts: dict[str, Value] = {"radius_mm": 10.0, "defect": "scale", "texture": "satin"}
    choice = decide(MILD + SPOKEN + finish, "media", MEDIA, facts, spoken_by=frozenset({"texture"}))
    assert choice.winner == "brush"
    assert choice.candidates(0) == ("brush",)


def test_a_word_against_or_a_test_in_unless_does_not_make_a_media_eligible() -> None:
    against = rule_text(rule="not-this", when="{defect: scale}", then="[{avoid: {media: disc}}]")
    indirect = rule_text(
        rule="aside", when="{wet: true}", unless="{defect: burr}", then="[{should: {media: brush}}]"
    )
    facts: dict[str, Value] = {"defect": "scale", "wet": True}
    choice = decide(against + indirect, "media", MEDIA, facts, spoken_by=frozenset({"defect"}))
    assert choice.winner is None
    assert {item.standing for item in choice.options} == {"not spoken for"}


def test_a_grain_must_be_spoken_for_by_any_rule() -> None:
    text = rule_text(rule="sharp-for-wet", when="{wet: true}", then="[{may: {grain: sharp}}]")
    choice = decide(text, "grain", ("tough", "sharp"), {"wet": True}, spoken_by=frozenset())
    assert choice.winner == "sharp"
    assert decide(text, "grain", ("tough", "sharp"), {"wet": False}, spoken_by=frozenset()).winner is None


def test_every_other_option_must_be_spoken_for_or_be_the_usual_row() -> None:
    silent = choose(usual="Y")
    assert silent.winner == "Y"
    assert [silent.of(option).standing for option in ("J", "X")] == ["not spoken for", "not spoken for"]
    assert choose().winner is None


def test_an_option_spoken_for_beats_the_usual_row_that_nobody_names() -> None:
    assert choose(says("one", "look", "{may: {backing: J}}"), usual="Y").winner == "J"


def test_the_usual_row_that_is_avoided_falls_behind() -> None:
    choice = choose(
        says("one", "look", "{avoid: {backing: 'Y'}}"),
        says("two", "economy", "{may: {backing: J}}"),
        usual="Y",
    )
    assert choice.winner == "J"


def test_a_struck_rule_makes_nothing_eligible() -> None:
    text = rule_text(
        rule="plain-scale", when="{defect: scale}", then="[{should: {media: belt}}]"
    ) + rule_text(
        rule="wet-scale",
        when="{defect: scale, wet: true}",
        then="[{should: {media: disc}}]",
        overrides="[plain-scale]",
    )
    choice = decide(text, "media", MEDIA, {"defect": "scale", "wet": True}, spoken_by=frozenset({"defect"}))
    assert choice.winner == "disc"
    assert choice.of("belt").standing == "not spoken for"
    assert [(item.spoken.rule.id, item.by) for item in choice.struck] == [("plain-scale", "wet-scale")]
