"""Three readers of the same rules say the same: durable-rules, the plain matcher, and clingo."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.inference.engine import Conclusions, Engine
from advisor.inference.matchers import available, matcher_maker
from advisor.inference.plain_matcher import PlainMatcher
from advisor.inference.properties import Conjunction, PropertyTable
from advisor.inference.tests import conjunction
from advisor.knowledge.base import Knowledge
from advisor.knowledge.places import place_rules
from advisor.knowledge.vocabulary import Value
from tests.small import knowledge_of, rule_text, rules_of, small_vocabulary
from tests.strategies import Words, conjunctions, rule_bases, situations, values_of

MATCHERS = [
    "plain",
    pytest.param(
        "durable-rules",
        marks=pytest.mark.skipif(
            available() != "durable-rules",
            reason="durable-rules does not import here (Python 3.13 and later)",
        ),
    ),
]
Facts = Mapping[str, Value | None]


@contextmanager
def engine_of(knowledge: Knowledge, name: str) -> Iterator[Engine]:
    engine = Engine(knowledge, matcher_maker(name))
    try:
        yield engine
    finally:
        engine.close()


def everything(engine: Engine, facts: Facts) -> tuple[Conclusions, dict[str, set[str]]]:
    """What follows, and which rules fire at each place."""
    follows = engine.conclude(facts)
    places = {
        place.name: {firing.rule.id for firing in engine.consult(place.name, follows.situation)}
        for place in engine.knowledge.places
    }
    return follows, places


@st.composite
def cases(draw: st.DrawFn, most: int = 2) -> tuple[Words, Knowledge, list[dict[str, Value | None]]]:
    drawn, knowledge = draw(rule_bases())
    return drawn, knowledge, [draw(situations(drawn)) for _ in range(draw(st.integers(1, most)))]


@given(cases())
@settings(max_examples=100)
def test_every_drawn_rule_base_can_be_placed(case: tuple[Words, Knowledge, object]) -> None:
    drawn, knowledge, _ = case
    assert place_rules(knowledge.rules, drawn.vocabulary)[1] == ()


@pytest.mark.parametrize("name", MATCHERS)
@given(case=cases())
@settings(max_examples=150)
def test_our_matchers_say_what_clingo_says(
    name: str, case: tuple[Words, Knowledge, list[dict[str, Value | None]]]
) -> None:
    clingo_program = pytest.importorskip("tests.inference.clingo_program")
    drawn, knowledge, facts = case
    with engine_of(knowledge, name) as engine:
        for situation in facts:
            follows, places = everything(engine, situation)
            fired, said, clashes = clingo_program.solve(knowledge.rules, drawn.vocabulary, situation)
            assert set().union(*places.values()) == fired
            assert set(follows.conflicts) == clashes
            concluded = {
                key: clingo_program.term(follows.situation[key])
                for key in (*drawn.row, *drawn.circle)
                if follows.situation[key] is not None
            }
            assert concluded == said


@pytest.mark.skipif(available() != "durable-rules", reason="durable-rules does not import here")
@given(conjunctions(), st.lists(st.integers(0, (1 << 130) - 1), min_size=1, max_size=8))
@settings(max_examples=120)
def test_both_matchers_fire_the_same_rules_on_the_same_properties(
    rules: list[Conjunction], masks: list[int]
) -> None:
    durable, plain = matcher_maker("durable-rules")(rules), PlainMatcher(rules)
    try:
        needed = [rule.needs for rule in rules[:4]]
        for held in (0, (1 << 130) - 1, *masks, *needed):
            assert durable.fire(held) == plain.fire(held)
    finally:
        durable.close()


@given(cases(), st.randoms(use_true_random=False))
@settings(max_examples=100)
def test_the_order_of_the_rules_changes_neither_firings_nor_conclusions(
    case: tuple[Words, Knowledge, list[dict[str, Value | None]]], random: Random
) -> None:
    drawn, knowledge, facts = case
    shuffled = list(knowledge.rules)
    random.shuffle(shuffled)
    with (
        engine_of(knowledge, "plain") as one,
        engine_of(knowledge_of(shuffled, drawn.vocabulary), "plain") as other,
    ):
        for situation in facts:
            (first, fired), (second, fired_too) = everything(one, situation), everything(other, situation)
            assert first.situation == second.situation
            assert first.conflicts == second.conflicts
            assert fired == fired_too


@given(rule_bases(), st.data())
@settings(max_examples=100)
def test_equal_signatures_have_equal_firings_when_the_rules_are_read_literally(
    base: tuple[Words, Knowledge], data: st.DataObject
) -> None:
    drawn, knowledge = base
    first = data.draw(situations(drawn))
    second = dict(first)
    for key in data.draw(st.lists(st.sampled_from(sorted(first)), max_size=2)):
        second[key] = data.draw(st.one_of(st.none(), values_of(drawn.vocabulary.testable[key])))
    for place in knowledge.places:
        table = PropertyTable.of(place.rules, drawn.vocabulary)
        literal = [
            {
                rule.id
                for rule in place.rules
                if conjunction(rule.when, facts, drawn.vocabulary) == "yes"
                and not (rule.unless and conjunction(rule.unless, facts, drawn.vocabulary) == "yes")
            }
            for facts in (first, second)
        ]
        if table.held(first) == table.held(second):
            assert literal[0] == literal[1]
        fired = PlainMatcher(table.conjunctions).fire(table.held(first))
        assert {place.rules[number].id for number in fired} == literal[0]


# ------------------------------------------------------------------ what is unknown, and `unless`


def fired(text: str, **facts: Value) -> tuple[set[str], set[str]]:
    """Which rules about the backing fire, and which of them though their `unless` is not known."""
    vocabulary = small_vocabulary()
    knowledge = knowledge_of(rules_of(text, vocabulary), vocabulary)
    with engine_of(knowledge, available()) as engine:
        found = engine.consult("backing", {**dict.fromkeys(vocabulary.testable), **facts})
    return {item.rule.id for item in found}, {item.rule.id for item in found if item.unless_unknown}


@pytest.mark.parametrize(
    "condition",
    [
        "{defect: scale}",
        "{defect: [scale, burr]}",
        "{defect: {not: burr}}",
        "{depth_mm: {at least: 0}}",
        "{depth_mm: {at most: 50}}",
        "{depth_mm: {above: 0}}",
        "{depth_mm: {below: 50}}",
        "{wet: true}",
        "{wet: false}",
        "{wet: {not: true}}",
        "{grade: {at least: P60}}",
        "{pressure: {at most: high}}",
        "{defect: {known: true}}",
    ],
)
def test_an_unknown_attribute_satisfies_no_condition(condition: str) -> None:
    assert fired(rule_text(when=condition)) == (set(), set())


def test_an_unknown_attribute_satisfies_only_known_false() -> None:
    text = rule_text(when="{defect: {known: false}}")
    assert fired(text)[0] == {"a-case"}
    assert fired(text, defect="scale")[0] == set()


def test_an_unknown_attribute_silences_no_rule_and_the_firing_says_so() -> None:
    text = rule_text(unless="{wet: true}", concern="safety")
    assert fired(text, defect="scale") == ({"a-case"}, {"a-case"})
    assert fired(text, defect="scale", wet=False) == ({"a-case"}, set())
    assert fired(text, defect="scale", wet=True) == (set(), set())


def test_an_unless_of_two_conditions_silences_only_where_both_hold() -> None:
    text = rule_text(unless="{wet: true, depth_mm: {above: 1}}")
    assert fired(text, defect="scale", wet=True, depth_mm=2.0) == (set(), set())
    assert fired(text, defect="scale", wet=True, depth_mm=1.0) == ({"a-case"}, set())
    assert fired(text, defect="scale", wet=True) == ({"a-case"}, {"a-case"})
    assert fired(text, defect="scale", wet=False) == ({"a-case"}, set())  # one no decides


@pytest.mark.parametrize(
    ("operator", "below", "on", "above"),
    [
        ("at least", False, True, True),
        ("at most", True, True, False),
        ("above", False, False, True),
        ("below", True, False, False),
    ],
)
def test_a_numeric_limit_is_exact(operator: str, below: bool, on: bool, above: bool) -> None:
    text = rule_text(when=f"{{depth_mm: {{{operator}: 0.3}}}}")
    for depth, expected in ((0.1 + 0.1999999, below), (0.3, on), (0.3000001, above)):
        assert bool(fired(text, depth_mm=depth)[0]) is expected


def test_a_grade_limit_speaks_of_its_own_scale_and_finer_is_more() -> None:
    text = rule_text(when="{grade: {at least: P120}}")
    assert [bool(fired(text, grade=grade)[0]) for grade in ("P80", "P120", "P180", "fine", "colour")] == [
        False,
        True,
        True,
        False,
        False,
    ]


def test_facts_are_bound_from_the_situation_at_hand_never_from_the_one_remembered() -> None:
    vocabulary = small_vocabulary()
    rules = rules_of(rule_text(when="{depth_mm: {at most: 1}}"), vocabulary)
    with engine_of(knowledge_of(rules, vocabulary), available()) as engine:
        unknown = dict.fromkeys(vocabulary.testable)
        shown = [engine.consult("backing", {**unknown, "depth_mm": depth})[0].facts for depth in (0.2, 0.7)]
        assert engine.signature("backing", {"depth_mm": 0.2}) == engine.signature(
            "backing", {"depth_mm": 0.7}
        )
    assert shown == [{"depth_mm": 0.2}, {"depth_mm": 0.7}]


# ------------------------------------------------------------------ conclusions


def conclusions(text: str, **facts: Value) -> Conclusions:
    vocabulary = small_vocabulary()
    with engine_of(knowledge_of(rules_of(text, vocabulary), vocabulary), available()) as engine:
        return engine.conclude({**dict.fromkeys(vocabulary.testable), **facts})


CHAIN = (
    rule_text(rule="deep", when="{depth_mm: {above: 1}}", then="[{conclude: {demand: heavy}}]")
    + rule_text(rule="then-hot", when="{demand: heavy}", then="[{conclude: {hot: true}}]")
    + rule_text(rule="then-risky", when="{hot: true}", then="[{conclude: {risk: high}}]")
)


def test_conclusions_feed_each_other_until_nothing_new_comes() -> None:
    follows = conclusions(CHAIN, depth_mm=2.0)
    assert [follows.situation[key] for key in ("demand", "hot", "risk")] == ["heavy", True, "high"]
    assert {firing.rule.id for firing in follows.firings} == {"deep", "then-hot", "then-risky"}
    assert conclusions(CHAIN, depth_mm=1.0).situation["risk"] is None


def test_a_circle_of_conclusions_is_entered_from_any_side_and_never_from_nothing() -> None:
    circle = (
        rule_text(rule="hot-is-slow", when="{hot: true}", then="[{conclude: {slow: true}}]")
        + rule_text(rule="slow-is-hot", when="{slow: true}", then="[{conclude: {hot: true}}]")
        + rule_text(rule="dry-is-hot", when="{wet: false}", then="[{conclude: {hot: true}}]")
        + rule_text(rule="scale-is-slow", when="{defect: scale}", then="[{conclude: {slow: true}}]")
    )
    for facts in ({"wet": False}, {"defect": "scale"}):
        follows = conclusions(circle, **facts)
        assert (follows.situation["hot"], follows.situation["slow"]) == (True, True)
    assert conclusions(circle).situation["hot"] is None


def test_two_rules_that_conclude_different_values_are_a_contradiction_with_both_named() -> None:
    text = (
        rule_text(rule="deep", when="{depth_mm: {above: 1}}", then="[{conclude: {risk: high}}]")
        + rule_text(rule="plain-scale", when="{defect: scale}", then="[{conclude: {risk: low}}]")
        + rule_text(rule="still-scale", when="{defect: scale}", then="[{conclude: {risk: low}}]")
    )
    follows = conclusions(text, depth_mm=2.0, defect="scale")
    assert follows.conflicts == {"risk": ("deep", "plain-scale", "still-scale")}
    assert follows.situation["risk"] is None
    assert conclusions(text, defect="scale").conflicts == {}


def test_a_rule_never_overwrites_a_job_or_table_value() -> None:
    from tests.small import read_text_of_rules

    rules, faults = read_text_of_rules(rule_text(then="[{conclude: {texture: bright}}]"), small_vocabulary())
    assert rules == ()
    assert "not an attribute that rules conclude" in str(faults[0])
