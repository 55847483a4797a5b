"""What a rule is: conditions, consequences, a reason, a source, and cases that show it."""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field

from advisor.knowledge.reference import Frozen
from advisor.knowledge.vocabulary import Concern, Strength, Value

Operator = Literal["in", "not in", "at least", "at most", "above", "below", "known"]
NoteKind = Literal["caution", "check", "remedy", "outside", "afterwards"]
Aim = Literal["low", "middle", "high", "fine", "coarse"]
Status = Literal["on trial", "trusted", "retired"]


class Condition(Frozen):
    """One test of one attribute. `{at least: 1, at most: 3}` is two of them."""

    attribute: str
    operator: Operator
    operand: tuple[Value, ...]

    def text(self) -> str:
        """The condition as it reads in a rule.

        >>> Condition(attribute="depth_mm", operator="at most", operand=(0.2,)).text()
        'depth_mm at most 0.2'
        """
        shown = " or ".join(show_value(value) for value in self.operand)
        words = {"in": "is", "not in": "is not", "known": "is known:"}
        return f"{self.attribute} {words.get(self.operator, self.operator)} {shown}"


class Span(Frozen):
    """A stretch of an ordered quantity; None is open to that side, `*_open` leaves the end out."""

    low: float | None = None
    high: float | None = None
    low_open: bool = False
    high_open: bool = False


class Advice(Frozen):
    """For or against something in one decision.

    Options hold keys for a list decision and the ordered stretch for an ordered one; a number or
    a grade has a span (for grades: places on `scale`, coarse to fine). `aim` pulls within it.
    """

    type: Literal["advice"] = "advice"
    strength: Strength
    decision: str
    options: tuple[str, ...] = ()
    span: Span | None = None
    scale: str | None = None
    aim: Aim | None = None


class Conclusion(Frozen):
    """A derived attribute."""

    type: Literal["conclusion"] = "conclusion"
    attribute: str
    value: Value


class Note(Frozen):
    """A sentence for the sheet: a caution, a check, a remedy, another process, or what comes afterwards."""

    type: Literal["note"] = "note"
    kind: NoteKind
    text: str
    change: dict[str, str] = Field(default_factory=dict)


Consequence = Annotated[Advice | Conclusion | Note, Field(discriminator="type")]


class Citation(Frozen):
    """A key of the sources table and, where known, the place in it."""

    source: str
    place: str | None = None


class Example(Frozen):
    """A case kept beside its rule and run as a test."""

    given: dict[str, Value]
    expect: Literal["fires", "silent"]
    line: int = 0


class Rule(Frozen):
    """A trade rule with its reason, where it misleads, its sources and its cases."""

    id: str
    title: str
    when: tuple[Condition, ...]
    unless: tuple[Condition, ...] = ()
    then: tuple[Consequence, ...]
    concern: Concern
    because: str
    not_for: str
    source: tuple[Citation, ...]
    status: Status = "trusted"
    overrides: tuple[str, ...] = ()
    allows: dict[str, str] = Field(default_factory=dict)  # check code -> why this rule may break it
    evidence: tuple[str, ...] = ()
    examples: tuple[Example, ...]
    topic: str
    place: str  # file:line:column

    def __hash__(self) -> int:
        """Ids are unique in a knowledge base."""
        return hash(self.id)

    @cached_property
    def tested(self) -> frozenset[str]:
        """The attributes that `when` tests."""
        return frozenset(condition.attribute for condition in self.when)

    def advice(self) -> tuple[Advice, ...]:
        """The consequences that speak for or against something."""
        return tuple(item for item in self.then if isinstance(item, Advice))

    def conclusions(self) -> tuple[Conclusion, ...]:
        """The attributes that follow."""
        return tuple(item for item in self.then if isinstance(item, Conclusion))

    def notes(self, kind: NoteKind) -> tuple[Note, ...]:
        """The sentences of one kind."""
        return tuple(item for item in self.then if isinstance(item, Note) and item.kind == kind)


def show_value(value: Value | None) -> str:
    """A value as a rule writes it; what nobody knows is never shown as "no".

    >>> show_value(True), show_value(0.20), show_value(None)
    ('yes', '0.2', 'not known')
    """
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, (int, float)) else value
