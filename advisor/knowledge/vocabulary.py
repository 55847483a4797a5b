"""The declared words: every attribute and decision that rules may test, conclude or advise."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Literal

from pydantic import Field

from advisor.knowledge.reference import Frozen, Grade

Kind = Literal["choice", "number", "flag", "grade", "list", "ordered"]
SetBy = Literal["job", "table", "plan", "formula", "rule", "decision"]
Value = str | float | bool
Strength = Literal["must", "should", "may", "avoid", "never"]
Concern = Literal["safety", "specification", "corrosion", "form", "look", "economy"]

#: In order of precedence; the first four may carry `must` and `never`.
CONCERNS: tuple[Concern, ...] = ("safety", "specification", "corrosion", "form", "look", "economy")
BINDING_CONCERNS: frozenset[Concern] = frozenset(CONCERNS[:4])
STRENGTHS: tuple[Strength, ...] = ("must", "should", "may", "avoid", "never")


class Presumption(Frozen):
    """What is assumed of an attribute that nobody knows, and the sentence that says so."""

    assume: Value
    say: str


class Attribute(Frozen):
    """A property of a situation: its title in shop words, its kind, and who sets it."""

    key: str
    title: str
    means: str
    kind: Kind
    set_by: SetBy
    values: tuple[str, ...] = ()
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    needs: tuple[str, ...] = ()  # for a formula: the decisions it waits for
    if_unknown: Presumption | None = None


class Decision(Frozen):
    """Something the advisor decides; later rules may test it as an attribute of the same name."""

    key: str
    title: str
    means: str
    kind: Literal["list", "ordered", "grade", "number"]
    options: tuple[str, ...] = ()
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    taken_for: Literal["job", "feature", "media", "grain", "grade", "step"]
    order: int

    def as_attribute(self) -> Attribute:
        """The decision's result, seen as an attribute by the rules that come later."""
        return Attribute(
            key=self.key,
            title=self.title,
            means=self.means,
            kind=self.kind,
            set_by="decision",
            values=self.options,
            unit=self.unit,
            low=self.low,
            high=self.high,
        )


class Vocabulary(Frozen):
    """All attributes and decisions, by key, and the place of each grade on its scale."""

    attributes: dict[str, Attribute]
    decisions: dict[str, Decision]
    grades: dict[str, Grade] = Field(default_factory=dict)

    @cached_property
    def testable(self) -> Mapping[str, Attribute]:
        """Everything a condition may name: attributes, and the decisions as attributes."""
        return {**self.attributes, **{key: d.as_attribute() for key, d in self.decisions.items()}}

    @cached_property
    def rank(self) -> Mapping[str, tuple[str, int]]:
        """Scale and place of a grade, coarse to fine."""
        placed: dict[str, tuple[str, int]] = {}
        for scale in ("P", "web", "compound"):
            on_scale = [grade for grade in self.grades.values() if grade.scale == scale]
            for index, grade in enumerate(sorted(on_scale, key=lambda grade: -grade.um)):
                placed[grade.key] = (scale, index)
        return placed

    @cached_property
    def on_scale(self) -> Mapping[str, tuple[str, ...]]:
        """Grades of each scale, coarse to fine."""
        scales: dict[str, list[str]] = {}
        for key, (scale, _) in sorted(self.rank.items(), key=lambda item: item[1]):
            scales.setdefault(scale, []).append(key)
        return {scale: tuple(keys) for scale, keys in scales.items()}

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Decisions in the order in which they are taken."""
        return tuple(sorted(self.decisions, key=lambda key: self.decisions[key].order))
