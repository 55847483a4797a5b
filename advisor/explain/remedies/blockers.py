"""What keeps a media out, and what a change must touch to have any say in that.

A rule that fires goes on firing, and a limit that is not met stays unmet, while nothing changes that it
looks at. So a set of changes that brings a media in must touch every one of its blockers; of all pairs of
changes only those that do are worth a look.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from advisor.choices.model import ListChoice
from advisor.explain.remedies.change import Change
from advisor.explain.remedies.replan import Face, Replanner
from advisor.knowledge.rules import Rule
from advisor.sequence.candidates import SPOKEN_BY
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.offers import fits, tools

#: One blocker: the rules and inputs of which a change must touch one to lift it.
Blocker = frozenset[str]
#: The limit that a media fails -> the inputs that it looks at. What serves to do a stage is no input.
_INPUTS = {
    "station": ("takes", "cell"),
    "handling": ("handling", "takes", "cell"),
    "surface speed": ("speed", "wheel_diameter", "takes", "cell"),
    "stage": (),
    "shape": ("feature.shape",),
    "access": ("feature.access_mm",),
    "reach": ("feature.radius_mm", "feature.shape", "wheel_diameter", "takes", "cell"),
    "lay": ("finish.key",),
}
_OFFER = frozenset(name for inputs in _INPUTS.values() for name in inputs)


@dataclass(slots=True)
class Blockers:
    """The blockers of one media at one stage, under any changes."""

    replanner: Replanner
    stage: str
    media: str
    base: Face
    _testing: dict[str, frozenset[str]] = field(default_factory=dict)
    _touched: dict[Change, frozenset[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Turn the rules round: from an attribute to what tests it."""
        testing: dict[str, set[str]] = {}
        for rule in self.replanner.knowledge.rules:
            for test in (*rule.when, *rule.unless):
                testing.setdefault(test.attribute, set()).add(rule.id)
        self._testing = {key: frozenset(rules) for key, rules in testing.items()}

    # ------------------------------------------------------------------ what stands in the way
    def of(self, face: Face) -> tuple[tuple[Blocker, ...], ...]:
        """For each situation of the stage everything that must be lifted; nothing where the media is in."""
        return tuple(
            tuple(self._of_choice(desk, choice)) for desk, choice in self.replanner.media(face, self.stage)
        )

    def _of_choice(self, desk: FeatureDesk, choice: ListChoice) -> Iterator[Blocker]:
        row = next((row for row in choice.options if row.option == self.media), None)
        if row is None:
            yield frozenset(self._not_offered(desk))
            return
        if self.media in choice.candidates(self.replanner.reach):
            return
        if row.standing == "removed":
            for rule in row.speaks_against:
                if any(
                    item.strength in ("must", "never") for item in rule.advice() if item.decision == "media"
                ):
                    yield self._with_strikers((rule,))
        elif row.standing == "not spoken for":
            yield self._with_strikers(self._speakers())
        else:
            # Anything that speaks of media, or takes a better one away, may turn the comparison.
            yield frozenset(rule.id for rule in self._heard()) | _OFFER

    def _not_offered(self, desk: FeatureDesk) -> Iterator[str]:
        """The inputs of the limit that the media fails: on every station that has it, if any runs it."""
        tables = self.replanner.knowledge.tables
        for tool in desk.tools.get(self.media, ()):
            failed = fits(tool, desk.feature, self.stage, tables)
            yield from _INPUTS[failed.limit] if failed else ()
        if self.media not in desk.tools:
            for item in tools(desk.job.cell, desk.handling, tables)[1]:
                if item.media == self.media:
                    yield from _INPUTS[item.limit] if self.stage in tables.media[self.media].stages else ()

    def _speakers(self) -> Iterator[Rule]:
        """The rules by whose word the media may serve the stage."""
        wanted = SPOKEN_BY[self.stage]
        for rule in self._heard():
            if any(test.attribute in wanted for test in rule.when) and any(
                item.strength in ("must", "should", "may") and self.media in item.options
                for item in rule.advice()
                if item.decision == "media"
            ):
                yield rule

    def _heard(self) -> Iterator[Rule]:
        return (
            rule for place in self.replanner.knowledge.places if place.name == "media" for rule in place.rules
        )

    def _with_strikers(self, rules: Iterable[Rule]) -> Blocker:
        """Rules, and whatever may strike them out or keep them from being struck."""
        found = {rule.id for rule in rules}
        while True:
            more = {rule.id for rule in self._heard() if found.intersection(rule.overrides)} - found
            if not more:
                return frozenset(found)
            found |= more

    # ------------------------------------------------------------------ what a change touches
    def touched(self, change: Change, face: Face) -> frozenset[str]:
        """The rules and inputs that a change can have a say in, alone or with others; `face` is under it."""
        known = self._touched.get(change)
        if known is None:
            known = self._touched[change] = frozenset(self._touches(change, face))
        return known

    def _touches(self, change: Change, face: Face) -> Iterator[str]:
        before, after = self.base.desk, face.desk
        attributes = {key for key, value in after.facts.items() if before.facts.get(key) != value}
        if change.rule is not None:
            rule = self.replanner.knowledge.rule[change.rule]
            yield rule.id
            attributes |= {item.attribute for item in rule.conclusions()}
            attributes |= {"handling"} & {item.decision for item in rule.advice()}
            attributes |= {"remaining_mm"} & {test.attribute for test in (*rule.when, *rule.unless)}
        elif before.feature.start != after.feature.start:
            attributes |= {"defect", "defect.local", "defect.kind", "depth_mm", "remaining_mm"}
        attributes = self._followed(attributes)
        yield from attributes
        for attribute in attributes:
            yield from self._testing.get(attribute, ())
        if change.field == "cell":
            yield from ("cell", "takes", "speed", "wheel_diameter", "handling")
        elif change.field.startswith("cell."):
            yield change.field.rpartition(".")[2]

    def _followed(self, attributes: set[str]) -> set[str]:
        """Attributes, and all that rules conclude from them, step by step."""
        knowledge = self.replanner.knowledge
        while True:
            touched = {rule for key in attributes for rule in self._testing.get(key, ())}
            more = {
                item.attribute for rule in touched for item in knowledge.rule[rule].conclusions()
            } - attributes
            decided = {item.decision for rule in touched for item in knowledge.rule[rule].advice()}
            more |= {"handling"} & decided - attributes
            if not more:
                return attributes
            attributes = attributes | more


def lifts(touched: frozenset[str], blockers: tuple[tuple[Blocker, ...], ...]) -> bool:
    """Whether touching this may lift every blocker of some situation."""
    return any(all(not touched.isdisjoint(each) for each in situation) for situation in blockers)
