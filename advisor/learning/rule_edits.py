"""The edits that a proposal makes to a rule: an exception, another status; always with its evidence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from advisor.errors import InputError, Problem
from advisor.knowledge.rules import Condition, Rule, Status
from advisor.knowledge.vocabulary import Value
from advisor.learning.yaml_edit import Block, Stretch, find_block, flow, listed, replaced, scalar


def with_exception(
    text: str, rule: Rule, attribute: str, value: str, other: str, trials: Sequence[str]
) -> str:
    """The file with a rule that no longer speaks where an attribute has a value.

    A rule without exceptions gets an `unless`. One that has some cannot: `unless` is a conjunction, and
    another condition would narrow it; so its `when` excludes the value, and its examples, which say
    nothing of the attribute, get `other`, a value under which it was followed well. Raises InputError where
    the file is laid out otherwise.
    """
    block = find_block(text, f"rule: {rule.id}", rule.place)
    changes: dict[Stretch, list[str]] = {}
    tested = [item for item in rule.when if item.attribute == attribute]
    firing = next(example for example in rule.examples if example.expect == "fires")
    if not rule.unless and not tested:
        after_when = _field(block, "when", rule).stop
        changes[Stretch(after_when, after_when)] = ["  unless:", f"    {attribute}: {scalar(value)}"]
        examples: Iterable[Mapping[str, Value]] = ()
    else:
        changes.update(_narrowed(block, rule, attribute, value, tested))
        examples = (example.given for example in rule.examples if attribute not in example.given)
    place = _field(block, "examples", rule)
    silent = [
        f"    - given: {flow({**firing.given, attribute: value})}", "      expect: silent",
    ]  # fmt: skip
    known = list(examples)
    if known:
        changes[place] = ["  examples:", *_examples(rule, attribute, other), *silent]
    else:
        changes[Stretch(place.stop, place.stop)] = silent
    changes.update(_evidence(block, rule, trials))
    return replaced(block, changes)


def with_status(text: str, rule: Rule, status: Status, trials: Sequence[str]) -> str:
    """The file with another status of a rule. Raises InputError where the file is laid out otherwise."""
    block = find_block(text, f"rule: {rule.id}", rule.place)
    place = block.field("status")
    if place is None:
        before = _field(block, "examples", rule).start
        place = Stretch(before, before)
    changes = {place: [f"  status: {status}"]}
    evidence = _evidence(block, rule, trials)
    for where, lines in evidence.items():
        if where.start == where.stop == place.stop:
            changes[place] = [*changes[place], *lines]
        else:
            changes[where] = lines
    return replaced(block, changes)


def _narrowed(
    block: Block, rule: Rule, attribute: str, value: str, tested: Sequence[Condition]
) -> dict[Stretch, list[str]]:
    """`when` without one value of an attribute."""
    if not tested:
        stop = _field(block, "when", rule).stop
        return {Stretch(stop, stop): [f"    {attribute}: {{not: {scalar(value)}}}"]}
    condition = tested[0]
    own = [
        number
        for number in range(*_field(block, "when", rule))
        if block.lines[number].strip().startswith(f"{attribute}:")
    ]
    if len(tested) > 1 or len(own) != 1 or condition.operator not in ("in", "not in"):
        raise InputError(
            Problem(rule.place, f"when: {attribute} is laid out in another way: edit it by hand")
        )
    if condition.operator == "in":
        left = [str(item) for item in condition.operand if item != value]
        written = scalar(left[0]) if len(left) == 1 else listed(left)
    else:
        written = f"{{not: {listed([*map(str, condition.operand), value])}}}"
    return {Stretch(own[0], own[0] + 1): [f"    {attribute}: {written}"]}


def _examples(rule: Rule, attribute: str, other: str) -> Iterable[str]:
    """The rule's own examples, each with a value of the attribute."""
    for example in rule.examples:
        yield f"    - given: {flow({**example.given, attribute: example.given.get(attribute, other)})}"
        yield f"      expect: {example.expect}"


def _evidence(block: Block, rule: Rule, trials: Sequence[str]) -> dict[Stretch, list[str]]:
    """The line of evidence with these trials added."""
    line = f"  evidence: {listed(dict.fromkeys((*rule.evidence, *trials)))}"
    place = block.field("evidence")
    if place is None:
        before = _field(block, "examples", rule).start
        place = Stretch(before, before)
    return {place: [line]}


def _field(block: Block, name: str, rule: Rule) -> Stretch:
    place = block.field(name)
    if place is None:
        raise InputError(
            Problem(rule.place, f"'{name}' does not stand on a line of its own: edit it by hand")
        )
    return place
