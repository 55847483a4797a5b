"""Names every rule that had a part in a sheet, so that a rule which is not named had none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from typing import Any

from advisor.knowledge.base import Knowledge
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.model import Sheet


def weighed(
    sheet: Sheet, plans: Sequence[FeaturePlan], knowledge: Knowledge, heard: Collection[str]
) -> tuple[str, ...]:
    """The rules that had a say and are named nowhere else on the sheet, in the order of the base.

    `heard` are those that spoke to some step or option that was looked at, taken or not. A rule that
    alone sets a depth at which clearing may change hands counts as well, silent or not.
    """
    named = named_rules(sheet)
    spoke = {*heard, *_lone_limits(plans, knowledge, heard)}
    return tuple(rule.id for rule in knowledge.rules if rule.id in spoke and rule.id not in named)


def _lone_limits(plans: Sequence[FeaturePlan], knowledge: Knowledge, heard: Collection[str]) -> Iterator[str]:
    """Silent rules without which a limit of depth inside a defect of this job would not exist."""
    deepest = max((_depth_mm(plan, knowledge) for plan in plans), default=0.0)
    setters = [
        (rule.id, limit)
        for rule in knowledge.rules
        if rule.status != "retired"
        for limit in {
            float(condition.operand[0])
            for condition in (*rule.when, *rule.unless)
            if condition.attribute == "remaining_mm" and condition.operator not in ("known", "in", "not in")
        }
        if limit < deepest
    ]
    count = Counter(limit for _, limit in setters)
    for rule, limit in setters:
        if count[limit] == 1 and rule not in heard:
            yield rule


def _depth_mm(plan: FeaturePlan, knowledge: Knowledge) -> float:
    start = plan.feature.start
    return max(start.depth_mm[0], *(knowledge.tables.defects[key].depth_mm[0] for key in start.defects))


def named_rules(sheet: Sheet) -> frozenset[str]:
    """Every id of a rule that a sheet names, in its reasons, notes, rivals and refusals.

    >>> from advisor.sheet.model import Handling, Knowledge, Note, Program
    >>> named_rules(Sheet(program=Program(version="1"), job={}, knowledge=Knowledge(fingerprint="", rules=1),
    ...                   handling=Handling(value="part-in-hand"), cautions=(Note(text="Mind.", rule="a"),)))
    frozenset({'a'})
    """
    return frozenset(_named(sheet.model_dump(exclude={"job", "names", "ansi", "sources"})))


def _named(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key in ("rule", "by", "kept") and isinstance(inner, str):
                yield inner
            elif key == "rules" and isinstance(inner, tuple):
                yield from inner
            elif key == "waiting":
                yield from (rule for rules in inner.values() for rule in rules)
            else:
                yield from _named(inner)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from _named(each)
