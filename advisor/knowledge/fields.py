"""Reading declared fields out of a parsed file, so that every fault is found and told in one way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from advisor.errors import Problem, listing, nearest
from advisor.knowledge.rules import show_value
from advisor.knowledge.strict_yaml import Node
from advisor.knowledge.vocabulary import Attribute, Decision, Value, Vocabulary

#: Kinds of faults that a check tells apart: a value that the vocabulary does not let be, a source that
#: is not listed, one id for two things.
NOT_DECLARED = "value-outside-the-vocabulary"
SOURCE_MISSING = "source-missing"
TWICE = "id-stands-twice"


@dataclass
class Faults:
    """The faults of one file, gathered while it is read."""

    file: str
    found: list[Problem] = field(default_factory=list)

    def add(
        self,
        node: Node,
        what: str,
        allowed: Iterable[str] | None = None,
        given: str | None = None,
        kind: str | None = None,
    ) -> None:
        """Note a fault at a value."""
        self.at(node.place(self.file), what, allowed, given if given is not None else _given(node), kind)

    def at(
        self,
        place: str,
        what: str,
        allowed: Iterable[str] | None,
        given: str | None,
        kind: str | None = None,
    ) -> None:
        """Note a fault at a place; `kind` as in `Problem`."""
        options = list(allowed) if allowed is not None else []
        told, close = listing(options) if options else None, nearest(given or "", options)
        self.found.append(Problem(place, what, given, told, close, kind))

    def mapping(
        self, node: Node, what: str, required: Iterable[str], optional: Iterable[str] = ()
    ) -> dict[str, Node]:
        """The fields of a mapping; unknown and missing ones are faults."""
        if not isinstance(node.value, dict):
            self.add(node, f"{what} is not a mapping")
            return {}
        required = list(required)
        known = [*required, *optional]
        for key in node.value:
            if key not in known:
                self.at(node.key_place(key, self.file), f"unknown key in {what}", known, key)
        for key in required:
            if key not in node.value:
                self.at(node.place(self.file), f"{what} has no '{key}'", None, None)
        return {key: item for key, item in node.value.items() if key in known}

    def items(self, node: Node, what: str) -> list[Node]:
        """The items of a list."""
        if isinstance(node.value, list):
            return list(node.value)
        self.add(node, f"{what} is not a list")
        return []

    def text(self, node: Node | None, what: str) -> str:
        """One line of text; an empty one is a fault."""
        if node is None:
            return ""
        if isinstance(node.value, str) and node.value.strip():
            return " ".join(node.value.split())
        self.add(node, f"{what} is not text")
        return ""

    def texts(self, node: Node | None, what: str) -> tuple[str, ...]:
        """One text or a list of them."""
        if node is None:
            return ()
        items = node.value if isinstance(node.value, list) else [node]
        return tuple(text for item in items if (text := self.text(item, what)))

    def choice(
        self, node: Node | None, what: str, allowed: Iterable[str], kind: str | None = None
    ) -> str:
        """One of the allowed words."""
        options = list(allowed)
        word = self.text(node, what)
        if node is not None and word and word not in options:
            self.add(node, f"unknown {what}", options, kind=kind)
            return ""
        return word

    def number(self, node: Node | None, what: str) -> float | None:
        """A finite number."""
        if node is None:
            return None
        if isinstance(node.value, (int, float)) and not isinstance(node.value, bool):
            return float(node.value)
        self.add(node, f"{what} is not a number")
        return None

    def value(self, node: Node, what: str) -> Value | None:
        """A scalar: text, number or true/false."""
        if isinstance(node.value, (str, bool)):
            return node.value
        if isinstance(node.value, (int, float)):
            return float(node.value)
        self.add(node, f"{what} is not a single value")
        return None


def check_value(attribute: Attribute, node: Node, vocabulary: Vocabulary, faults: Faults) -> Value | None:
    """A value that the attribute can have; anything else is a fault."""
    value = faults.value(node, attribute.key)
    if value is None:
        return None
    if attribute.kind == "flag":
        if not isinstance(value, bool):
            faults.add(node, f"{attribute.key} is a flag", ("true", "false"), kind=NOT_DECLARED)
            return None
    elif attribute.kind == "number":
        if isinstance(value, (bool, str)):
            faults.add(node, f"{attribute.key} is a number in {attribute.unit}", kind=NOT_DECLARED)
            return None
        check_range(attribute, value, node, faults)
    else:
        allowed = vocabulary.grades if attribute.kind == "grade" else attribute.values
        if value not in allowed:
            faults.add(node, f"unknown value of {attribute.key}", allowed, kind=NOT_DECLARED)
            return None
    return value


def check_range(declared: Attribute | Decision, value: float, node: Node, faults: Faults) -> None:
    """A number outside the declared range is a fault."""
    if declared.low is None or declared.high is None or declared.low <= value <= declared.high:
        return
    allowed = f"{declared.low:g} to {declared.high:g} {declared.unit}"
    faults.add(node, f"{declared.key} lies outside its range", [allowed], kind=NOT_DECLARED)


def fields(node: Node) -> Mapping[str, Node]:
    """The entries of a mapping that has been checked to be one."""
    return node.value if isinstance(node.value, dict) else {}


def _given(node: Node) -> str | None:
    if node.value is None:
        return "nothing"
    if isinstance(node.value, (dict, list)):
        return "a mapping" if isinstance(node.value, dict) else "a list"
    return node.raw or show_value(node.value)
