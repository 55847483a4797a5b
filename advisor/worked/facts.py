"""The words in which an expectation is written, and their strict reading."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import get_args

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.knowledge.fields import Faults
from advisor.knowledge.reference import Grade, Handling
from advisor.knowledge.rules import Span, show_value
from advisor.knowledge.strict_yaml import Node
from advisor.units import DIMENSIONS, parse_quantity
from advisor.worked.model import Fact

#: Facts of a step whose value is a key, and the table that holds the keys.
STEP_KEYS: dict[str, str] = {
    "media": "media",
    "grain": "grains",
    "build": "builds",
    "coat": "coats",
    "top_coat": "top_coats",
    "backing": "backings",
    "wheel_cover": "covers",
    "wheel_face": "faces",
    "lubricant": "lubricants",
}
#: Facts of a step whose value is a number, and what it measures (None: a bare number).
STEP_NUMBERS: dict[str, str | None] = {
    "wheel_hardness": None,
    "surface_speed": "speed",
    "force": "force",
    "ra": "roughness",
}
STEP_FACTS = (*STEP_KEYS, "pressure", "grade", *STEP_NUMBERS, "direction")
PLAN_NUMBERS: dict[str, str | None] = {"steps": None, "jump": None}
#: Facts of the plan that are sentences of the sheet; an item is a rule's id or words of the sentence.
NOTES = ("caution", "outside", "after", "check", "blocked", "assumed")
PLAN_FACTS = (*PLAN_NUMBERS, "handling", "refused", *NOTES)
_BOUNDS = ("at least", "at most", "above", "below")
_PRESSURES = ("low", "medium", "high")
_RULE_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")


class FactReader:
    """Reads the mappings of facts of one file; every fault goes to the file's list."""

    def __init__(self, knowledge: Knowledge, faults: Faults) -> None:
        self.knowledge = knowledge
        self.faults = faults

    def facts(self, node: Node | None, what: str, allowed: Iterable[str]) -> tuple[Fact, ...]:
        """The facts of one mapping; an empty one is a fault."""
        if node is None:
            return ()
        entries = self.faults.mapping(node, what, (), allowed)
        if not entries and isinstance(node.value, dict) and not node.value:
            self.faults.add(node, f"{what} holds no fact", allowed)
        found = (self.fact(name, item) for name, item in entries.items())
        return tuple(fact for fact in found if fact is not None)

    def fact(self, name: str, node: Node) -> Fact | None:
        """One fact, or None and a fault."""
        tables = self.knowledge.tables
        if name == "grade":
            return self.grade(node)
        if name in STEP_KEYS:
            return self.keys(name, node, tables[STEP_KEYS[name]])
        if name in ("pressure", "handling"):
            return self.keys(name, node, _PRESSURES if name == "pressure" else get_args(Handling))
        if name == "refused":
            return self.flag(name, node)
        if name == "direction":
            return self.sentences(name, node)
        if name in NOTES:
            return self.notes(name, node)
        return self.number(name, node, {**STEP_NUMBERS, **PLAN_NUMBERS}[name])

    def keys(self, name: str, node: Node, allowed: Iterable[str]) -> Fact | None:
        """A fact that names keys of a table."""
        items = node.value if isinstance(node.value, list) else [node]
        options = [self.faults.choice(item, name, allowed) for item in items]
        if not options or not all(options):
            if not options:
                self.faults.add(node, f"{name} names nothing", allowed)
            return None
        return Fact(name=name, kind="key", options=tuple(options), text=" or ".join(options))

    def flag(self, name: str, node: Node) -> Fact | None:
        """A fact that is yes or no."""
        if not isinstance(node.value, bool):
            self.faults.add(node, f"{name} is true or false", ("true", "false"))
            return None
        word = str(node.value).lower()
        return Fact(name=name, kind="flag", options=(word,), text=word)

    def sentences(self, name: str, node: Node) -> Fact | None:
        """A fact about the words of a sentence."""
        items = self.faults.texts(node, name)
        if not items:
            return None
        return Fact(name=name, kind="words", options=items, text=" or ".join(f"'{item}'" for item in items))

    def notes(self, name: str, node: Node) -> Fact | None:
        """A fact about the notes of a sheet."""
        items = self.faults.texts(node, name)
        for item in items:
            if name != "assumed" and _RULE_ID.fullmatch(item) and item not in self.knowledge.rule:
                self.faults.add(node, "no rule has this id", tuple(self.knowledge.rule), item)
        if not items:
            return None
        return Fact(name=name, kind="notes", options=items, text=" and ".join(f"'{item}'" for item in items))

    def number(self, name: str, node: Node, dimension: str | None) -> Fact | None:
        """A fact about a quantity."""
        bounds = self.bounds(name, node)
        if not bounds:
            return None
        values = {word: self.amount(name, item, dimension) for word, item in bounds.items()}
        if any(value is None for value in values.values()):
            return None
        span = _span({word: value for word, value in values.items() if value is not None})
        if _is_empty(span):
            self.faults.add(node, f"no number is {_written(bounds)}", given=_written(bounds))
            return None
        return Fact(name=name, kind="number", span=span, text=_written(bounds))

    def amount(self, name: str, node: Node, dimension: str | None) -> float | None:
        """One end of a quantity, with its unit where it has one."""
        if dimension is None:
            return self.faults.number(node, name)
        if not isinstance(node.value, str):
            units = DIMENSIONS[dimension].offered
            self.faults.add(node, f"{name} is {DIMENSIONS[dimension].article} with its unit", units)
            return None
        try:
            return parse_quantity(node.value, dimension, node.place(self.faults.file))
        except InputError as error:
            self.faults.found += error.problems
            return None

    def grade(self, node: Node) -> Fact | None:
        """A fact about a grade."""
        grades = self.knowledge.tables.grades
        if not isinstance(node.value, dict):
            return self.keys("grade", node, grades)
        bounds = self.bounds("grade", node)
        named = {word: self.faults.choice(item, "grade", grades) for word, item in bounds.items()}
        if not named or not all(named.values()):
            return None
        scales = {grades[key].scale for key in named.values()}
        if len(scales) > 1:
            self.faults.add(node, f"grades of two scales: {' and '.join(sorted(scales))}")
            return None
        # A higher place is a finer grade, as in the rules: at least P60 is P60 or finer.
        span = _span({word: -grades[key].um for word, key in named.items()})
        held = tuple(key for key, row in _in_order(grades) if row.scale in scales and holds(span, -row.um))
        if not held:
            self.faults.add(node, f"no grade is {_written(bounds)}", given=_written(bounds))
            return None
        return Fact(name="grade", kind="key", options=held, text=_written(bounds))

    def bounds(self, name: str, node: Node) -> dict[str, Node]:
        """The ends that a fact gives."""
        found = self.faults.mapping(node, f"the bounds of {name}", (), _BOUNDS)
        if not found and isinstance(node.value, dict) and not node.value:
            self.faults.add(node, f"{name} has no bound", _BOUNDS)
        for first, second in (("at least", "above"), ("at most", "below")):
            if first in found and second in found:
                self.faults.add(node, f"{name} is bounded twice on one side: {first} and {second}")
                return {}
        return found


def holds(span: Span, value: float) -> bool:
    """Whether a value lies in a span.

    >>> holds(Span(low=1, high=2, high_open=True), 1), holds(Span(low=1, high=2, high_open=True), 2)
    (True, False)
    """
    above = span.low is None or value > span.low or (value == span.low and not span.low_open)
    below = span.high is None or value < span.high or (value == span.high and not span.high_open)
    return above and below


def _span(bounds: dict[str, float]) -> Span:
    return Span(
        low=bounds.get("at least", bounds.get("above")),
        high=bounds.get("at most", bounds.get("below")),
        low_open="above" in bounds,
        high_open="below" in bounds,
    )


def _is_empty(span: Span) -> bool:
    if span.low is None or span.high is None:
        return False
    return span.low > span.high or (span.low == span.high and (span.low_open or span.high_open))


def _in_order(grades: dict[str, Grade]) -> list[tuple[str, Grade]]:
    return sorted(grades.items(), key=lambda item: -item[1].um)


def _written(bounds: dict[str, Node]) -> str:
    return ", ".join(f"{word} {item.raw or show_value(item.value)}" for word, item in bounds.items())
