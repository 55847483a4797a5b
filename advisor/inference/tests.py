"""A test asks one thing of one attribute and is answered yes, no, or not known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from advisor.knowledge.rules import Condition
from advisor.knowledge.vocabulary import Value, Vocabulary

Answer = Literal["yes", "no", "unknown"]
Situation = Mapping[str, Value | None]

_COMPARE: Mapping[str, Callable[[float, float], bool]] = {
    "at least": lambda value, limit: value >= limit,
    "at most": lambda value, limit: value <= limit,
    "above": lambda value, limit: value > limit,
    "below": lambda value, limit: value < limit,
}


def answer(condition: Condition, value: Value | None, vocabulary: Vocabulary) -> Answer:
    """Whether a value meets a condition.

    An unknown value is answered "unknown" by everything but `known`. Grades compare on their own
    scale, finer being more; a grade of another scale is answered "no".
    """
    if condition.operator == "known":
        return "yes" if (value is not None) == condition.operand[0] else "no"
    if value is None:
        return "unknown"
    if condition.operator == "in":
        return "yes" if value in condition.operand else "no"
    if condition.operator == "not in":
        return "no" if value in condition.operand else "yes"
    return "yes" if _compares(condition, value, vocabulary) else "no"


def _compares(condition: Condition, value: Value, vocabulary: Vocabulary) -> bool:
    compare = _COMPARE[condition.operator]
    limit = condition.operand[0]
    attribute = vocabulary.testable[condition.attribute]
    if attribute.kind == "grade":
        (scale, place), (limit_scale, limit_place) = vocabulary.rank[str(value)], vocabulary.rank[str(limit)]
        return scale == limit_scale and compare(place, limit_place)
    if attribute.kind == "ordered":
        return compare(attribute.values.index(str(value)), attribute.values.index(str(limit)))
    return compare(float(value), float(limit))


def conjunction(conditions: tuple[Condition, ...], situation: Situation, vocabulary: Vocabulary) -> Answer:
    """All of them: one "no" decides, otherwise one "unknown" leaves it open."""
    answers = {answer(item, situation.get(item.attribute), vocabulary) for item in conditions}
    if "no" in answers:
        return "no"
    return "unknown" if "unknown" in answers else "yes"
