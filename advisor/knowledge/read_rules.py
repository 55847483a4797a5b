"""Reads a file of rules; every name is resolved and every fault reported with its place."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from advisor.knowledge.fields import SOURCE_MISSING, Faults, check_value, fields
from advisor.knowledge.read_consequences import read_consequence
from advisor.knowledge.rules import Citation, Condition, Consequence, Example, Operator, Rule
from advisor.knowledge.strict_yaml import Node
from advisor.knowledge.vocabulary import BINDING_CONCERNS, CONCERNS, Attribute, Value, Vocabulary

REQUIRED = ("rule", "title", "when", "then", "concern", "because", "not for", "source", "examples")
OPTIONAL = ("unless", "status", "overrides", "allows", "evidence")
_NUMERIC: tuple[Operator, ...] = ("at least", "at most", "above", "below")
STATUS = ("on trial", "trusted", "retired")
_EMPTY = "conditions-exclude-each-other"
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
FILLERS = frozenset({"none", "unknown", "n/a", "na", "nothing", "-", "tbd"})


@dataclass(frozen=True, slots=True)
class Names:
    """What a rule may name."""

    vocabulary: Vocabulary
    sources: Collection[str]


def read_rules(node: Node, topic: str, names: Names, faults: Faults) -> tuple[Rule, ...]:
    """The rules of one file, in its order; a faulty rule is left out and its faults are noted."""
    rules = []
    for item in faults.items(node, "a file of rules"):
        before = len(faults.found)
        rule = _read_rule(item, topic, names, faults)
        if rule is not None and len(faults.found) == before:
            rules.append(rule)
    return tuple(rules)


def _read_rule(node: Node, topic: str, names: Names, faults: Faults) -> Rule | None:
    item = faults.mapping(node, "a rule", REQUIRED, OPTIONAL)
    if not set(REQUIRED) <= set(item):
        return None
    identity = faults.text(item["rule"], "rule id")
    if identity and not _ID.fullmatch(identity):
        faults.add(item["rule"], "a rule id is small words joined by hyphens")
    not_for = faults.text(item["not for"], "not for")
    if not_for.strip(" .").lower() in FILLERS:
        faults.add(item["not for"], "'not for' must say where the rule misleads")
    concern = faults.choice(item["concern"], "concern", CONCERNS)
    when = _conditions(item["when"], names, faults)
    then = _consequences(item["then"], names, faults)
    _check_strength(item["then"], then, concern, faults)
    _check_remedy(item["then"], then, when, faults)
    return Rule.model_validate(
        {
            "id": identity,
            "title": faults.text(item["title"], "title"),
            "when": when,
            "unless": _unless(item.get("unless"), names, faults),
            "then": then,
            "concern": concern or "look",
            "because": _because(item["because"], when, faults),
            "not_for": not_for,
            "source": _citations(item["source"], names, faults),
            "status": faults.choice(item.get("status"), "status", STATUS) or "trusted",
            "overrides": faults.texts(item.get("overrides"), "overrides"),
            "allows": {key: faults.text(why, "reason") for key, why in fields(item["allows"]).items()}
            if "allows" in item
            else {},
            "evidence": faults.texts(item.get("evidence"), "evidence"),
            "examples": tuple(
                _example(case, names, faults) for case in faults.items(item["examples"], "examples")
            ),
            "topic": topic,
            "place": item["rule"].place(faults.file),
        }
    )


def _unless(node: Node | None, names: Names, faults: Faults) -> tuple[Condition, ...]:
    if node is None:
        return ()
    if node.value == {}:
        faults.add(node, "an 'unless' tests nothing")
    return _conditions(node, names, faults)


def _conditions(node: Node, names: Names, faults: Faults) -> tuple[Condition, ...]:
    if not isinstance(node.value, dict):
        faults.add(node, "conditions are not a mapping")
        return ()
    found: list[Condition] = []
    for key, item in node.value.items():
        attribute = names.vocabulary.testable.get(key)
        if attribute is None:
            faults.at(node.key_place(key, faults.file), "unknown attribute", names.vocabulary.testable, key)
            continue
        found += _tests(attribute, item, names.vocabulary, faults)
    return tuple(found)


def _tests(attribute: Attribute, node: Node, vocabulary: Vocabulary, faults: Faults) -> list[Condition]:
    if not isinstance(node.value, dict):
        return [_membership(attribute, "in", node, vocabulary, faults)]
    tests: list[Condition] = []
    if not node.value:
        faults.add(node, f"nothing is asked of {attribute.key}", (*_NUMERIC, "not", "known"))
    for word, item in node.value.items():
        if word == "not":
            tests.append(_membership(attribute, "not in", item, vocabulary, faults))
        elif word == "known":
            if attribute.set_by not in ("job", "table") or not isinstance(item.value, bool):
                what = f"only a job's or table's attribute may be tested as known, not {attribute.key}"
                faults.add(item, what, ("true", "false"))
            tests.append(Condition(attribute=attribute.key, operator="known", operand=(bool(item.value),)))
        elif word in _NUMERIC:
            limit = check_value(attribute, item, vocabulary, faults)
            if attribute.kind not in ("number", "grade", "ordered"):
                faults.add(item, f"{attribute.key} has no order, so '{word}' means nothing")
            elif limit is not None:
                operator = next(operator for operator in _NUMERIC if operator == word)
                tests.append(Condition(attribute=attribute.key, operator=operator, operand=(limit,)))
        else:
            place = node.key_place(word, faults.file)
            faults.at(place, "unknown comparison", (*_NUMERIC, "not", "known"), word)
    _check_sense(node, attribute, tests, vocabulary, faults)
    return tests


def _check_sense(
    node: Node, attribute: Attribute, tests: list[Condition], vocabulary: Vocabulary, faults: Faults
) -> None:
    """Two lower limits, or limits that leave nothing between them, make no sense together."""
    limits = {
        test.operator: _place(attribute, test.operand[0], vocabulary)
        for test in tests
        if test.operator in _NUMERIC
    }
    lower = [(place, word == "above") for word, place in limits.items() if word in ("at least", "above")]
    upper = [(place, word == "below") for word, place in limits.items() if word in ("at most", "below")]
    if len(lower) > 1 or len(upper) > 1:
        faults.add(node, "one end is given twice", given=" and ".join(limits), kind=_EMPTY)
    elif lower and upper:
        ((scale, low), low_open), ((other, high), high_open) = lower[0], upper[0]
        if scale != other:
            faults.add(node, "the limits are of two scales", given=f"{scale} and {other}", kind=_EMPTY)
        elif low > high or (low == high and (low_open or high_open)):
            faults.add(node, "no value lies between the limits", given=" and ".join(limits), kind=_EMPTY)


def _place(attribute: Attribute, limit: Value, vocabulary: Vocabulary) -> tuple[str, float]:
    """The scale of a limit and its place on it."""
    if attribute.kind == "grade":
        return vocabulary.rank[str(limit)]
    if attribute.kind == "ordered":
        return "", attribute.values.index(str(limit))
    return "", float(limit)


def _membership(
    attribute: Attribute, operator: Operator, node: Node, vocabulary: Vocabulary, faults: Faults
) -> Condition:
    items = node.value if isinstance(node.value, list) else [node]
    if not items:
        faults.add(node, f"an empty list asks nothing of {attribute.key}", kind=_EMPTY)
    values = [check_value(attribute, item, vocabulary, faults) for item in items]
    operand = tuple(value for value in values if value is not None)
    return Condition(attribute=attribute.key, operator=operator, operand=operand)


def _consequences(node: Node, names: Names, faults: Faults) -> tuple[Consequence, ...]:
    found = [read_consequence(item, names.vocabulary, faults) for item in faults.items(node, "then")]
    if not found:
        faults.add(node, "a rule must say something")
    return tuple(item for item in found if item is not None)


def _check_strength(node: Node, then: tuple[Consequence, ...], concern: str, faults: Faults) -> None:
    binding = any(item.type == "advice" and item.strength in ("must", "never") for item in then)
    if binding and concern and concern not in BINDING_CONCERNS:
        what = f"'must' and 'never' are not for {concern}"
        kind = "demand-of-a-weak-concern"
        faults.add(node, what, sorted(BINDING_CONCERNS), given=concern, kind=kind)


def _check_remedy(
    node: Node, then: tuple[Consequence, ...], when: tuple[Condition, ...], faults: Faults
) -> None:
    remedies = any(item.type == "note" and item.kind == "remedy" for item in then)
    if remedies and all(condition.attribute != "symptom" for condition in when):
        faults.add(node, "a remedy answers a symptom, and the rule tests none", given="remedy")


def _because(node: Node, when: tuple[Condition, ...], faults: Faults) -> str:
    text = faults.text(node, "because")
    shown = [part.split("}")[0] for part in text.split("{")[1:]]
    tested = [condition.attribute for condition in when]
    for name in shown:
        if name not in tested:
            faults.add(node, "the sentence shows a value that the rule does not test", tested, given=name)
    return text


def _citations(node: Node, names: Names, faults: Faults) -> tuple[Citation, ...]:
    items = node.value if isinstance(node.value, list) else [node]
    citations = []
    if not items:
        faults.add(node, "a rule names no source", names.sources)
    for item in items:
        place = None
        if isinstance(item.value, dict):
            entry = faults.mapping(item, "a source", ["source"], ["place"])
            if "source" not in entry:
                continue
            place = faults.text(entry.get("place"), "place") or None
            item = entry["source"]
        key = faults.choice(item, "source", names.sources, kind=SOURCE_MISSING)
        citations.append(Citation(source=key, place=place))
    return tuple(citations)


def _example(node: Node, names: Names, faults: Faults) -> Example:
    item = faults.mapping(node, "an example", ["given", "expect"], ["note"])
    given: dict[str, Value] = {}
    if "given" in item and not isinstance(item["given"].value, dict):
        faults.add(item["given"], "what an example gives is not a mapping")
    for key, value in fields(item["given"]).items() if "given" in item else ():
        attribute = names.vocabulary.testable.get(key)
        if attribute is None:
            place = item["given"].key_place(key, faults.file)
            faults.at(place, "unknown attribute", names.vocabulary.testable, key)
            continue
        checked = check_value(attribute, value, names.vocabulary, faults)
        if checked is not None:
            given[key] = checked
    expect = faults.choice(item.get("expect"), "expectation", ("fires", "silent")) or "fires"
    return Example.model_validate({"given": given, "expect": expect, "line": node.line})
