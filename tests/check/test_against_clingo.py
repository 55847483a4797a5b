"""Whether rules can fire, fire together, or swallow one another: decided here and by clingo alike.

The translation of rules is the one that also holds the matchers equal; it shares no code with the check.
Clingo chooses a value for every attribute that a situation may give, derives the conclusions by its own
semantics, and is asked for a model.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import clingo
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from advisor.check.meaning import Meaning, joined
from advisor.check.repeats import _fires_within
from advisor.inference.engine import Engine
from advisor.inference.examples import fires
from advisor.inference.matchers import matcher_maker
from advisor.knowledge.base import Knowledge
from advisor.knowledge.places import place_rules
from advisor.knowledge.rules import Condition, Example, Note, Rule
from advisor.knowledge.vocabulary import Attribute, Vocabulary
from tests.inference.clingo_program import _facts, _rule, term
from tests.small import knowledge_of
from tests.strategies import BOUNDS, NUMBERS, Words, conditions, rule_bases, words

_GENERAL = """
known(A) :- value(A, _).
value(A, V) :- said(A, V), not clash(A).
clash(A) :- said(A, V), said(A, W), V != W.
"""
#: Limits are drawn from NUMBERS, so these and the values between and beside them are all there is to try.
_TRIED = tuple(sorted({*NUMBERS, *(value + 0.25 for value in NUMBERS), -1.0}))


def _choices(vocabulary: Vocabulary) -> Iterator[str]:
    """Any one value, or none, for everything that rules do not conclude."""
    for key, attribute in vocabulary.testable.items():
        if attribute.set_by == "rule":
            continue
        options = "; ".join(f'value("{key}", {term(value)})' for value in _values(attribute, vocabulary))
        yield f"{{ {options} }} 1."


def _values(attribute: Attribute, vocabulary: Vocabulary) -> Sequence[str | float | bool]:
    if attribute.kind == "flag":
        return (True, False)
    if attribute.kind == "number":
        return _TRIED
    return tuple(vocabulary.grades) if attribute.kind == "grade" else attribute.values


def possible(rules: Sequence[Rule], vocabulary: Vocabulary, wanted: Sequence[str]) -> bool:
    """Whether clingo finds a situation that meets some constraints (bodies that must hold)."""
    lines = [_GENERAL, *_choices(vocabulary), *_facts(vocabulary, {})]
    lines += [line for number, rule in enumerate(rules) for line in _rule(number, rule, vocabulary)]
    lines += [f":- not {body}." for body in wanted]
    control = clingo.Control(["--warn=none", "1"])
    control.add("base", [], "\n".join(lines))
    control.ground([("base", [])])
    return bool(control.solve().satisfiable)


def _placed(base: Knowledge) -> bool:
    return not place_rules(base.rules, base.vocabulary)[1]


@settings(max_examples=150)
@given(rule_bases(most=8))
def test_which_rules_can_fire(drawn: tuple[Words, Knowledge]) -> None:
    _, base = drawn
    assume(_placed(base))
    meaning = Meaning(base)
    for number, rule in enumerate(base.rules):
        ours = meaning.find(meaning.fires(rule)) is not None
        assert ours == possible(base.rules, base.vocabulary, [f"fires({number})"]), rule.id


_BOUND = st.builds(
    lambda operator, limit: Condition(attribute="number0", operator=operator, operand=(limit,)),
    st.sampled_from(BOUNDS),
    st.sampled_from(NUMBERS),
)


@st.composite
def _limits(draw: st.DrawFn) -> tuple[Knowledge, Rule]:
    """One rule with several limits on one number and on one grade, so that stretches open and close."""
    vocabulary = draw(words()).vocabulary
    grades = st.lists(conditions(vocabulary.testable["found.grade"]), max_size=1)
    when = [*draw(st.lists(_BOUND, min_size=1, max_size=3)), *draw(grades)]
    unless = [*draw(st.lists(_BOUND, max_size=2)), *draw(grades)]
    drawn = draw(rule_bases(most=1))[1].rules[0]
    then = (Note(kind="caution", text="Mind this."),)
    rule = drawn.model_copy(
        update={"when": tuple(when), "unless": tuple(unless), "then": then, "overrides": ()}
    )
    return knowledge_of([rule], vocabulary), rule


@settings(max_examples=400)
@given(_limits())
def test_which_limits_leave_a_value(drawn: tuple[Knowledge, Rule]) -> None:
    base, rule = drawn
    meaning = Meaning(base)
    ours = meaning.find(meaning.fires(rule)) is not None
    assert ours == possible(base.rules, base.vocabulary, ["fires(0)"])


@settings(max_examples=100)
@given(rule_bases(most=7))
def test_which_rules_can_fire_together(drawn: tuple[Words, Knowledge]) -> None:
    _, base = drawn
    assume(len(base.rules) > 1 and _placed(base))
    meaning = Meaning(base)
    for number, rule in enumerate(base.rules[:-1]):
        ours = meaning.find(meaning.both(rule, base.rules[-1])) is not None
        wanted = [f"fires({number})", f"fires({len(base.rules) - 1})"]
        assert ours == possible(base.rules, base.vocabulary, wanted), rule.id


@settings(max_examples=100)
@given(rule_bases(most=6))
def test_which_exceptions_can_ever_hold(drawn: tuple[Words, Knowledge]) -> None:
    _, base = drawn
    assume(_placed(base))
    meaning = Meaning(base)
    for number, rule in enumerate(base.rules):
        if rule.unless:
            ours = meaning.find(joined(meaning.matches(rule), meaning.silences(rule))) is not None
            wanted = [*(f"when({number}, {at})" for at in range(len(rule.when))), f"silenced({number})"]
            assert ours == possible(base.rules, base.vocabulary, wanted), rule.id


@settings(max_examples=100)
@given(rule_bases(most=6))
def test_which_rules_fire_only_where_another_does(drawn: tuple[Words, Knowledge]) -> None:
    _, base = drawn
    assume(len(base.rules) > 1 and _placed(base))
    meaning, last = Meaning(base), len(base.rules) - 1
    for number, rule in enumerate(base.rules[:-1]):
        alone = possible(base.rules, base.vocabulary, [f"fires({number})", f"not fires({last})"])
        at_all = possible(base.rules, base.vocabulary, [f"fires({number})"])
        assert _fires_within(meaning, rule, base.rules[last]) == (at_all and not alone), rule.id


@settings(max_examples=150)
@given(rule_bases(most=8), st.data())
def test_a_witness_makes_its_rules_fire_in_the_real_inference(
    drawn: tuple[Words, Knowledge], data: st.DataObject
) -> None:
    _, base = drawn
    assume(_placed(base))
    meaning = Meaning(base)
    rule = data.draw(st.sampled_from(base.rules))
    point = meaning.find(meaning.fires(rule))
    assume(point is not None)
    assert point is not None
    said = meaning.space.situation({k: v for k, v in point.items() if k not in meaning.concluding})
    situation = {**dict.fromkeys(base.vocabulary.testable), **said}
    engine = Engine(base, matcher_maker("plain"))
    known = engine.conclude(situation).situation
    engine.close()
    given_ = {key: value for key, value in known.items() if value is not None}
    assert fires(rule, Example(given=given_, expect="fires"), base.vocabulary)
