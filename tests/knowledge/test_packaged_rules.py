"""Every rule of the packaged knowledge shows itself: its examples hold and none that is needed is missing."""

from __future__ import annotations

import pytest

from advisor.inference.examples import limit_cases, missing_cases, run_examples
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Rule
from tests.small import rule_text, rules_of, small_vocabulary

KNOWLEDGE = load_knowledge()


@pytest.mark.parametrize("rule", KNOWLEDGE.rules, ids=lambda rule: rule.id)
def test_the_examples_of_a_rule_hold(rule: Rule) -> None:
    assert run_examples(rule, KNOWLEDGE.vocabulary) == []


@pytest.mark.parametrize("rule", KNOWLEDGE.rules, ids=lambda rule: rule.id)
def test_a_rule_fires_once_is_silent_once_and_each_unless_silences_once(rule: Rule) -> None:
    assert missing_cases(rule, KNOWLEDGE.vocabulary) == []


@pytest.mark.parametrize("rule", KNOWLEDGE.rules, ids=lambda rule: rule.id)
def test_every_limit_has_an_example_exactly_on_it_and_one_just_past_it(rule: Rule) -> None:
    assert limit_cases(rule, KNOWLEDGE.vocabulary) == []


# ------------------------------------------------------------------ the checks themselves can fail


def test_an_example_that_comes_out_otherwise_is_told_at_its_line() -> None:
    text = rule_text(
        examples="\n  - given: {defect: burr}\n    expect: fires\n  - {given: {}, expect: silent}"
    )
    (rule,) = rules_of(text)
    (problem,) = run_examples(rule, small_vocabulary())
    assert problem.place == "rules.yaml:10"
    assert problem.what == "the example of a-case expects 'fires' and the rule is 'silent'"


def test_a_rule_without_a_silent_or_a_firing_example_is_told() -> None:
    vocabulary = small_vocabulary()
    (only_fires,) = rules_of(rule_text(examples="[{given: {defect: scale}, expect: fires}]"))
    (only_silent,) = rules_of(rule_text(examples="[{given: {defect: burr}, expect: silent}]"))
    assert ["silent" in item.what for item in missing_cases(only_fires, vocabulary)] == [True]
    assert ["fires" in item.what for item in missing_cases(only_silent, vocabulary)] == [True]


def test_an_unless_that_no_example_shows_is_told() -> None:
    (rule,) = rules_of(rule_text(unless="{wet: true}"))
    assert ["unless" in item.what for item in missing_cases(rule, small_vocabulary())] == [True]
    cases = "{given: {defect: scale}, expect: fires}, {given: {defect: scale, wet: true}, expect: silent}"
    (shown,) = rules_of(rule_text(unless="{wet: true}", examples=f"[{cases}]"))
    assert missing_cases(shown, small_vocabulary()) == []


@pytest.mark.parametrize(
    ("limit", "values", "missing"),
    [
        ("at most", (3, 3.1), []),
        ("at most", (2, 3.1), ["exactly on"]),
        ("at most", (3, 2.9), ["just past"]),
        ("at most", (3, 9), ["just past"]),
        ("above", (3, 3.1), []),
        ("above", (3, 2.9), ["just past"]),
        ("at least", (3, 2.9), []),
        ("at least", (3, 3.1), ["just past"]),
        ("below", (3, 2.9), []),
    ],
)
def test_a_limit_is_shown_by_a_value_on_it_and_one_just_past_it(
    limit: str, values: tuple[float, float], missing: list[str]
) -> None:
    cases = ", ".join(f"{{given: {{defect: scale, depth_mm: {value}}}, expect: fires}}" for value in values)
    (rule,) = rules_of(rule_text(when=f"{{defect: scale, depth_mm: {{{limit}: 3}}}}", examples=f"[{cases}]"))
    found = [item.what for item in limit_cases(rule, small_vocabulary())]
    assert [next(word for word in ("exactly on", "just past") if word in what) for what in found] == missing


def test_a_value_shows_a_limit_only_where_everything_else_holds() -> None:
    cases = ", ".join(f"{{given: {{defect: burr, depth_mm: {value}}}, expect: silent}}" for value in (3, 3.1))
    (rule,) = rules_of(rule_text(when="{defect: scale, depth_mm: {at most: 3}}", examples=f"[{cases}]"))
    assert len(limit_cases(rule, small_vocabulary())) == 2


def test_a_grade_limit_is_shown_by_its_neighbour_on_the_same_scale() -> None:
    vocabulary = small_vocabulary()
    for past, count in (("P80", 0), ("P60", 1), ("fine", 1)):
        cases = ", ".join(f"{{given: {{grade: {grade}}}, expect: fires}}" for grade in ("P120", past))
        (rule,) = rules_of(rule_text(when="{grade: {at least: P120}}", examples=f"[{cases}]"))
        assert len(limit_cases(rule, vocabulary)) == count


def test_a_limit_in_unless_is_shown_as_well() -> None:
    given = ("{defect: scale, depth_mm: 3}", "{defect: scale, depth_mm: 2.9}")
    cases = ", ".join(f"{{given: {item}, expect: silent}}" for item in given)
    (rule,) = rules_of(rule_text(unless="{depth_mm: {at least: 3}}", examples=f"[{cases}]"))
    assert limit_cases(rule, small_vocabulary()) == []
    (bare,) = rules_of(rule_text(unless="{depth_mm: {at least: 3}}"))
    assert len(limit_cases(bare, small_vocabulary())) == 2
