"""Reads vocabulary.yaml: the declared attributes and decisions, with options drawn from the tables."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.knowledge.fields import Faults, check_value, fields
from advisor.knowledge.reference import Grade
from advisor.knowledge.strict_yaml import Node
from advisor.knowledge.vocabulary import Attribute, Decision, Presumption, Vocabulary

ATTRIBUTE_KINDS = ("choice", "number", "flag", "grade")
DECISION_KINDS = ("list", "ordered", "grade", "number")
SETTERS = ("job", "table", "plan", "formula", "rule")
TAKEN_FOR = ("job", "feature", "media", "grain", "grade", "step")

TableKeys = Mapping[str, tuple[str, ...]]


def read_vocabulary(node: Node, tables: TableKeys, grades: Mapping[str, Grade], faults: Faults) -> Vocabulary:
    """The vocabulary, `values from` filled with the keys of the table it names."""
    top = faults.mapping(node, "the vocabulary", ["attributes", "decisions"])
    attributes = {}
    for key, item in fields(top.get("attributes", node)).items():
        attributes[key] = _attribute(key, item, tables, faults)
    decisions = {}
    for order, (key, item) in enumerate(fields(top.get("decisions", node)).items()):
        decisions[key] = _decision(key, order, item, tables, faults)
    _check_names(top, decisions, attributes, faults)
    return Vocabulary(
        attributes={key: _resolved(item, decisions) for key, item in attributes.items() if item},
        decisions={key: item for key, item in decisions.items() if item},
        grades=dict(grades),
    )


def _check_names(
    top: Mapping[str, Node],
    decisions: Mapping[str, Decision | None],
    attributes: Mapping[str, Attribute | None],
    faults: Faults,
) -> None:
    """Attributes and decisions share one space of names, and a formula waits for decisions only."""
    for key in decisions:
        if key in attributes:
            place = top["decisions"].key_place(key, faults.file)
            faults.at(place, "the name is declared as an attribute as well", None, key)
    for key, attribute in attributes.items():
        for need in attribute.needs if attribute else ():
            if need not in decisions:
                node = fields(fields(top["attributes"])[key])["needs"]
                faults.add(node, f"{key} needs an unknown decision", decisions, given=need)


def _resolved(attribute: Attribute, decisions: Mapping[str, Decision | None]) -> Attribute:
    """The attribute without needs that nothing answers, so that reading can go on and find more faults."""
    known = tuple(need for need in attribute.needs if decisions.get(need))
    return attribute.model_copy(update={"needs": known})


def _attribute(key: str, node: Node, tables: TableKeys, faults: Faults) -> Attribute | None:
    optional = ("values", "values from", "unit", "range", "needs", "if unknown")
    item = faults.mapping(node, f"attribute {key}", ["title", "kind", "set by", "means"], optional)
    kind = faults.choice(item.get("kind"), "kind of attribute", ATTRIBUTE_KINDS)
    set_by = faults.choice(item.get("set by"), "setter", SETTERS)
    if not kind or not set_by:
        return None
    low, high = _range(item.get("range"), faults)
    if kind == "choice" and not ({"values", "values from"} & set(item)):
        faults.add(node, f"attribute {key} is a choice without values")
    _check_number(key, kind, item, node, faults)
    attribute = Attribute.model_validate(
        {
            "key": key,
            "title": faults.text(item.get("title"), "title"),
            "means": faults.text(item.get("means"), "means"),
            "kind": kind,
            "set_by": set_by,
            "values": _options(item, "values", "values from", tables, faults),
            "unit": faults.text(item.get("unit"), "unit") or None,
            "low": low,
            "high": high,
            "needs": faults.texts(item.get("needs"), "needs"),
        }
    )
    if "if unknown" not in item:
        return attribute
    presumed = faults.mapping(item["if unknown"], "if unknown", ["assume", "say"])
    if not {"assume", "say"} <= set(presumed):
        return attribute
    assume = check_value(attribute, presumed["assume"], Vocabulary(attributes={}, decisions={}), faults)
    say = faults.text(presumed["say"], "say")
    if assume is None:
        return attribute
    return attribute.model_copy(update={"if_unknown": Presumption(assume=assume, say=say)})


def _check_number(key: str, kind: str, item: Mapping[str, Node], node: Node, faults: Faults) -> None:
    if kind == "number" and not {"unit", "range"} <= set(item):
        faults.add(node, f"{key} is a number and needs a unit and a range")


def _decision(key: str, order: int, node: Node, tables: TableKeys, faults: Faults) -> Decision | None:
    optional = ("options", "options from", "unit", "range")
    item = faults.mapping(node, f"decision {key}", ["title", "kind", "taken for", "means"], optional)
    kind = faults.choice(item.get("kind"), "kind of decision", DECISION_KINDS)
    taken_for = faults.choice(item.get("taken for"), "level", TAKEN_FOR)
    if not kind or not taken_for:
        return None
    _check_number(key, kind, item, node, faults)
    if kind in ("list", "ordered") and not ({"options", "options from"} & set(item)):
        faults.add(node, f"decision {key} has no options")
    low, high = _range(item.get("range"), faults)
    return Decision.model_validate(
        {
            "key": key,
            "title": faults.text(item.get("title"), "title"),
            "means": faults.text(item.get("means"), "means"),
            "kind": kind,
            "options": _options(item, "options", "options from", tables, faults),
            "unit": faults.text(item.get("unit"), "unit") or None,
            "low": low,
            "high": high,
            "taken_for": taken_for,
            "order": order,
        }
    )


def _options(
    item: Mapping[str, Node], own: str, drawn: str, tables: TableKeys, faults: Faults
) -> tuple[str, ...]:
    if drawn in item:
        table = faults.choice(item[drawn], "table", tables)
        return tables.get(table, ())
    return faults.texts(item.get(own), own)


def _range(node: Node | None, faults: Faults) -> tuple[float | None, float | None]:
    if node is None:
        return None, None
    ends = [faults.number(item, "range") for item in faults.items(node, "range")]
    if len(ends) != 2 or ends[0] is None or ends[1] is None or ends[0] > ends[1]:
        faults.add(node, "a range is [low, high]")
        return None, None
    return ends[0], ends[1]
