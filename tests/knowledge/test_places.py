"""Placing: every rule speaks once what it tests is there, and what cannot be placed is refused."""

from __future__ import annotations

from advisor.errors import Problem
from advisor.knowledge.places import Place, place_rules
from tests.small import rule_text, rules_of, small_vocabulary


def place(*texts: str) -> tuple[dict[str, Place], tuple[Problem, ...]]:
    places, problems = place_rules(rules_of("".join(texts)), small_vocabulary())
    return {item.name: item for item in places}, problems


def concluding(identity: str, when: str, then: str, **more: str) -> str:
    return rule_text(rule=identity, when=when, then=f"[{{conclude: {then}}}]", **more)


def before(places: dict[str, Place], first: str, second: str) -> bool:
    names = list(places)
    return names.index(first) < names.index(second)


# ------------------------------------------------------------------ what can be placed


def test_decisions_come_in_their_order_and_notes_last() -> None:
    places, problems = place(rule_text(then="[{caution: Mind the edge.}]"))
    assert problems == ()
    assert list(places) == [
        "media",
        "pressure",
        "grain",
        "grade",
        "backing",
        "lubricant",
        "speed",
        "jump",
        "notes",
    ]
    assert [rule.id for rule in places["notes"].rules] == ["a-case"]


def test_a_conclusion_comes_before_the_decision_that_tests_it_and_after_what_it_tests() -> None:
    places, problems = place(
        concluding("first", "{depth_mm: {above: 1}}", "{demand: heavy}"),
        concluding("second", "{demand: heavy, media: belt}", "{risk: high}"),
        rule_text(rule="third", when="{risk: high}", then="[{should: {backing: J}}]"),
    )
    assert problems == ()
    assert (
        before(places, "demand", "risk")
        and before(places, "media", "risk")
        and before(places, "risk", "backing")
    )


def test_conclusions_may_feed_each_other_in_a_circle_and_share_a_place() -> None:
    places, problems = place(
        concluding("one", "{hot: true}", "{slow: true}"), concluding("two", "{slow: true}", "{hot: true}")
    )
    assert problems == ()
    assert [rule.id for rule in places["hot+slow"].rules] == ["one", "two"]


def test_a_rule_with_several_pieces_of_advice_is_placed_once_for_each() -> None:
    places, problems = place(
        rule_text(then="[{should: {media: belt}}, {avoid: {media: disc}}, {should: {backing: J}}]")
    )
    assert problems == ()
    assert [name for name, item in places.items() if item.rules] == ["media", "backing"]
    assert len(places["media"].rules) == 1


def test_a_retired_rule_speaks_nowhere() -> None:
    places, problems = place(rule_text(status="retired"))
    assert problems == ()
    assert all(item.rules == () for item in places.values())


# ------------------------------------------------------------------ what cannot


def test_advice_on_a_decision_no_later_than_one_its_rule_tests_is_refused_with_the_circle() -> None:
    _, (problem,) = place(rule_text(when="{backing: J}", then="[{should: {grain: sharp}}]"))
    assert problem.place == "rules.yaml:1:9"
    assert problem.what == ("rule a-case makes grain wait for itself: backing -> grain -> grade -> backing")


def test_advice_on_the_decision_that_its_own_rule_tests_is_refused() -> None:
    _, (problem,) = place(rule_text(when="{media: belt}", then="[{should: {media: disc}}]"))
    assert "media wait for itself: media -> media" in problem.what


def test_advice_is_refused_even_where_only_a_formula_waits_for_the_later_decision() -> None:
    _, (problem,) = place(rule_text(when="{reach: {above: 1}}", then="[{should: {media: disc}}]"))
    assert "reach -> media -> reach" in problem.what
    places, problems = place(rule_text(when="{reach: {above: 1}}", then="[{should: {pressure: low}}]"))
    assert problems == ()
    assert [rule.id for rule in places["pressure"].rules] == ["a-case"]


def test_advice_is_refused_where_only_a_conclusion_waits_for_the_later_decision() -> None:
    _, problems = place(
        concluding("late", "{backing: J}", "{risk: high}"),
        rule_text(rule="early", when="{risk: high}", then="[{should: {grain: sharp}}]"),
    )
    assert any("early makes grain wait for itself: risk -> grain" in item.what for item in problems)
    assert all("backing" in item.what for item in problems)


def test_the_step_before_is_known_only_when_the_steps_are_joined() -> None:
    when = "{previous.grade: {above: P80}}"
    assert place(rule_text(when=when, then="[{should: {jump: {at most: 2}}}]"))[1] == ()
    _, (problem,) = place(rule_text(when=when, then="[{should: {backing: J}}]"))
    assert "previous.grade" in problem.what


def test_a_circle_through_unless_is_refused_and_named() -> None:
    _, (problem,) = place(
        concluding("one", "{hot: true}", "{slow: true}"),
        concluding("two", "{wet: true}", "{hot: true}", unless="{slow: true}"),
    )
    assert "rule two makes hot wait for itself: slow -> hot -> slow" in problem.what


def test_a_circle_through_not_is_refused_and_named() -> None:
    _, (problem,) = place(
        concluding("one", "{risk: {not: low}}", "{demand: heavy}"),
        concluding("two", "{demand: heavy}", "{risk: high}"),
    )
    assert "rule one makes demand wait for itself: risk -> demand -> risk" in problem.what


def test_every_circle_is_told_at_once() -> None:
    _, problems = place(
        rule_text(rule="one", when="{backing: J}", then="[{should: {grain: sharp}}]"),
        concluding("two", "{hot: {not: true}}", "{hot: true}"),
    )
    assert {item.what.split()[1] for item in problems} == {"one", "two"}


# ------------------------------------------------------------------ overrides


PLAIN = rule_text(rule="plain-case", then="[{should: {grain: sharp}}]")


def test_a_rule_may_strike_what_is_placed_after_all_that_it_tests() -> None:
    places, problems = place(
        PLAIN,
        rule_text(
            rule="belt-case",
            when="{media: belt}",
            then="[{should: {grain: tough}}]",
            overrides="[plain-case]",
        ),
    )
    assert problems == ()
    assert {rule.id for rule in places["grain"].rules} == {"plain-case", "belt-case"}


def test_a_late_override_is_refused() -> None:
    _, (problem,) = place(
        PLAIN,
        rule_text(
            rule="late-case",
            when="{backing: J}",
            then="[{should: {speed: {aim: low}}}]",
            overrides="[plain-case]",
        ),
    )
    assert problem.what == "overrides plain-case, whose advice is placed before what this rule tests is known"


def test_a_job_value_is_known_from_the_start_wherever_the_striker_speaks() -> None:
    _, problems = place(
        PLAIN,
        rule_text(
            rule="wet-case",
            when="{wet: true}",
            then="[{should: {speed: {aim: low}}}]",
            overrides="[plain-case]",
        ),
    )
    assert problems == ()


def test_what_strikes_a_striker_must_be_known_where_the_striker_strikes() -> None:
    striker = rule_text(
        rule="wet-case", when="{wet: true}", then="[{should: {speed: {aim: low}}}]", overrides="[plain-case]"
    )
    late = rule_text(
        rule="late-case", when="{backing: J}", then="[{should: {speed: {aim: high}}}]", overrides="[wet-case]"
    )
    _, (problem,) = place(PLAIN, striker, late)
    assert problem.what.startswith("overrides wet-case")
