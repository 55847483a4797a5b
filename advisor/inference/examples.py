"""Runs the examples kept beside a rule, and says which cases are missing among them."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.errors import Problem
from advisor.inference.tests import answer, conjunction
from advisor.knowledge.rules import Condition, Example, Rule
from advisor.knowledge.vocabulary import Value, Vocabulary

_LIMITS = ("at least", "at most", "above", "below")
#: "Just past" a number is no farther from it than this share of it; for a grade it is the next one.
_JUST = 0.5


def fires(rule: Rule, example: Example, vocabulary: Vocabulary) -> bool:
    """Whether a rule fires on what an example gives; what it does not give is not known."""
    matched = conjunction(rule.when, example.given, vocabulary) == "yes"
    return matched and not silenced(rule, example, vocabulary)


def silenced(rule: Rule, example: Example, vocabulary: Vocabulary) -> bool:
    """Whether the `unless` of a rule holds in an example."""
    return bool(rule.unless) and conjunction(rule.unless, example.given, vocabulary) == "yes"


def run_examples(rule: Rule, vocabulary: Vocabulary) -> list[Problem]:
    """Every example that does not come out as it says, at its own line."""
    problems = []
    for example in rule.examples:
        said = "fires" if fires(rule, example, vocabulary) else "silent"
        if said != example.expect:
            what = f"the example of {rule.id} expects '{example.expect}' and the rule is '{said}'"
            problems.append(Problem(_place(rule, example), what, kind="example-does-not-hold"))
    return problems


def missing_cases(rule: Rule, vocabulary: Vocabulary) -> list[Problem]:
    """A rule shows itself firing and silent, and each `unless` silencing it once."""
    problems = []
    for expect, words in (("fires", "in which it fires"), ("silent", "in which it is silent")):
        if all(example.expect != expect for example in rule.examples):
            what = f"{rule.id} has no example {words}"
            problems.append(Problem(rule.place, what, kind="case-missing"))
    if rule.unless and not any(
        conjunction(rule.when, example.given, vocabulary) == "yes" and silenced(rule, example, vocabulary)
        for example in rule.examples
    ):
        what = f"{rule.id} has no example that its 'unless' silences"
        problems.append(Problem(rule.place, what, kind="case-missing"))
    return problems


def limit_cases(rule: Rule, vocabulary: Vocabulary) -> list[Problem]:
    """Every limit in `when` and `unless` has an example exactly on it and one past it.

    An example shows a limit only where all other conditions beside it hold, so that the limit alone
    decides.
    """
    problems = []
    for side, conditions in (("when", rule.when), ("unless", rule.unless)):
        for condition in conditions:
            if condition.operator not in _LIMITS:
                continue
            others = tuple(item for item in conditions if item != condition)
            shown = {
                _against(condition, example.given[condition.attribute], vocabulary)
                for example in _deciding(rule, side, vocabulary)
                if condition.attribute in example.given
                and conjunction(others, example.given, vocabulary) == "yes"
            }
            for case in ("exactly on", "just past"):
                if case not in shown:
                    what = f"{rule.id} has no example {case} the limit in its '{side}': {condition.text()}"
                    problems.append(Problem(rule.place, what, kind="limit-without-case"))
    return problems


def _deciding(rule: Rule, side: str, vocabulary: Vocabulary) -> Iterator[Example]:
    """The examples in which the other half of the rule lets this half decide."""
    for example in rule.examples:
        if side == "when" and not silenced(rule, example, vocabulary):
            yield example
        if side == "unless" and conjunction(rule.when, example.given, vocabulary) == "yes":
            yield example


def _against(condition: Condition, value: Value, vocabulary: Vocabulary) -> str:
    """Where a value lies: on the limit, past it (where the answer is another than on it), or inside."""
    limit = condition.operand[0]
    if value == limit:
        return "exactly on"
    graded = vocabulary.testable[condition.attribute].kind == "grade"
    if graded and _scale(value, vocabulary) != _scale(limit, vocabulary):
        return "on another scale"
    if answer(condition, value, vocabulary) == answer(condition, limit, vocabulary):
        return "well inside"
    return "just past" if _near(condition.attribute, value, limit, vocabulary) else "far past"


def _near(attribute: str, value: Value, limit: Value, vocabulary: Vocabulary) -> bool:
    declared = vocabulary.testable[attribute]
    if declared.kind == "grade":
        return abs(vocabulary.rank[str(value)][1] - vocabulary.rank[str(limit)][1]) == 1
    if declared.kind == "ordered":
        return abs(declared.values.index(str(value)) - declared.values.index(str(limit))) == 1
    return not limit or abs(float(value) - float(limit)) <= _JUST * abs(float(limit)) + 1e-9


def _scale(value: Value, vocabulary: Vocabulary) -> str:
    return vocabulary.rank[str(value)][0]


def _place(rule: Rule, example: Example) -> str:
    file = rule.place.rsplit(":", 2)[0]
    return f"{file}:{example.line}" if example.line else rule.place
