"""What an overriding rule strikes out, and what it never does."""

from __future__ import annotations

import pytest

from advisor.choices.overrides import heard
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from tests.small import knowledge_of, rule_text, rules_of, small_vocabulary

PLAIN = rule_text(rule="plain-case", then="[{should: {backing: J}}, {caution: Mind the edge.}]")


def said(*texts: str) -> tuple[list[str], dict[str, str]]:
    """Who is heard on the backing, and who is struck by whom."""
    spoken, struck = heard(rules_of("".join(texts)), "backing")
    return [item.rule.id for item in spoken], {item.spoken.rule.id: item.by for item in struck}


def over(identity: str, *others: str, concern: str = "form", option: str = "X") -> str:
    return rule_text(
        rule=identity,
        overrides=f"[{', '.join(others)}]",
        concern=concern,
        then=f"[{{should: {{backing: {option}}}}}]",
    )


def test_when_both_fire_the_named_rules_advice_is_struck_out_and_shown_so() -> None:
    assert said(PLAIN, over("special", "plain-case")) == (["special"], {"plain-case": "special"})


def test_the_order_of_the_two_rules_does_not_matter() -> None:
    assert said(over("special", "plain-case"), PLAIN) == (["special"], {"plain-case": "special"})


def test_a_rule_that_does_not_fire_strikes_nothing() -> None:
    assert said(PLAIN) == (["plain-case"], {})


@pytest.mark.parametrize(
    ("concern", "strikes"),
    [
        ("safety", True),
        ("corrosion", True),
        ("form", True),
        ("look", False),
        ("economy", False),
    ],
)
def test_advice_of_a_higher_concern_is_never_struck(concern: str, strikes: bool) -> None:
    assert bool(said(PLAIN, over("special", "plain-case", concern=concern))[1]) is strikes


def test_a_struck_rule_strikes_nothing() -> None:
    heard_ones, struck = said(PLAIN, over("special", "plain-case"), over("very-special", "special"))
    assert heard_ones == ["plain-case", "very-special"]
    assert struck == {"special": "very-special"}


def test_overrides_strike_advice_only_never_cautions_or_conclusions() -> None:
    vocabulary = small_vocabulary()
    risky = rule_text(rule="risky", then="[{should: {backing: J}}, {conclude: {risk: high}}]")
    text = PLAIN + risky + over("special", "plain-case", "risky")
    engine = Engine(knowledge_of(rules_of(text), vocabulary), matcher_maker("plain"))
    situation = {**dict.fromkeys(vocabulary.testable), "defect": "scale"}
    assert engine.conclude(situation).situation["risk"] == "high"
    notes = {firing.rule.id for firing in engine.consult("notes", situation)}
    assert notes == {"plain-case"}
    spoken, struck = heard(engine.rules("backing", engine.signature("backing", situation)), "backing")
    assert [item.rule.id for item in spoken] == ["special"]
    assert {item.spoken.rule.id for item in struck} == {"plain-case", "risky"}


def test_a_rule_that_speaks_elsewhere_is_heard_where_it_strikes() -> None:
    vocabulary = small_vocabulary()
    elsewhere = rule_text(
        rule="dry-shop", when="{wet: false}", then="[{should: {lubricant: dry}}]", overrides="[plain-case]"
    )
    engine = Engine(knowledge_of(rules_of(PLAIN + elsewhere), vocabulary), matcher_maker("plain"))
    situation = {**dict.fromkeys(vocabulary.testable), "defect": "scale", "wet": False}
    spoken, struck = heard(engine.rules("backing", engine.signature("backing", situation)), "backing")
    assert spoken == ()
    assert [item.by for item in struck] == ["dry-shop"]
