"""The plan of a face in which some step takes an option that lost, where that is admissible at all."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, replace

from advisor.choices.decide import Decider, Room
from advisor.choices.model import ListChoice, RangeChoice
from advisor.inference.tests import Situation
from advisor.knowledge.rules import Advice
from advisor.knowledge.vocabulary import Value, Vocabulary
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import StageField, stage_field
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.paths import Path, PathFinder, PathLabel, Scope, steps_of, target_window
from advisor.sequence.plan import FeaturePlan, winner
from advisor.sequence.surface import PlannedStep


@dataclass(frozen=True, slots=True)
class Wish:
    """An option that some step of a stage is to take. Numbers are in the unit of the decision."""

    stage: str
    decision: str
    option: Value

    def met_by(self, candidate: Candidate) -> bool:
        """Whether a candidate takes the option at this stage."""
        if candidate.stage != self.stage:
            return False
        return same_option(candidate.values.get(self.decision), self.option)

    def met_in(self, path: Path) -> bool:
        """Whether some step of a path takes it."""
        return any(self.met_by(step.candidate) for step in path)


def same_option(value: Value | None, option: Value) -> bool:
    """Whether a decided value is the option; numbers within what figures lose by being calculated."""
    if isinstance(option, float) and isinstance(value, (int, float)):
        return abs(value - option) <= 1e-6 * max(1.0, abs(option))
    return value == option


def forced_path(plan: FeaturePlan, wish: Wish) -> Path:
    """The cheapest admissible chain with the wish in it; empty where there is none.

    What a `never` or another's `must` forbids is not admissible, nor what is not to be had here. An
    option that no rule speaks for may be tried: the cost is what is asked about.
    """
    finder = _Finder(plan.desk, wish)
    finish = plan.feature.finish
    # As many concerns as the plan taken could keep; where no chain has the wish then, none counts.
    for concerns, inner in ((plan.concerns, True), (plan.concerns, False), (0, False)):
        if not finder.can_take_it(concerns):
            continue
        target = target_window(finish.ra_low_um, finish.ra_high_um, inner)
        found = finder.search(Scope(concerns, target))
        if found:
            return steps_of(winner(found))
    return ()


class _Finder(PathFinder):
    """A search whose paths must take the wish on the way."""

    def __init__(self, desk: FeatureDesk, wish: Wish) -> None:
        super().__init__(desk, desk.job.batch)
        self._wish = wish
        self._forcing = copy(desk)
        self._forcing.decider = _Forcing(desk.decider, wish)
        self._with_wish: dict[int, StageField] = {}

    def can_take_it(self, concerns: int) -> bool:
        """Whether any candidate of the stage takes the wish, at whatever depth of whatever defect."""
        stage = self._wish.stage
        if stage != "clear":
            return any(map(self._wish.met_by, self.field(stage, concerns).candidates))
        return any(
            self._wish.met_by(candidate)
            for row, defect in enumerate(self.defects)
            for depth in (
                defect.depth,
                *(limit / 1e3 for limit in self._limits if limit / 1e3 < defect.depth),
            )
            for candidate in self.field(stage, concerns, row, depth).candidates
        )

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage, and at the stage of the wish those that take it beside them."""
        field = super().field(stage, concerns, defect, remaining)
        if stage != self._wish.stage:
            return field
        if id(field) not in self._with_wish:
            extra = stage_field(self._forcing, field.situation, concerns).candidates
            others = [item for item in field.candidates if not self._wish.met_by(item)]
            taking = [item for item in extra if self._wish.met_by(item)]
            self._with_wish[id(field)] = replace(field, candidates=(*others, *taking))
        return self._with_wish[id(field)]

    def _label(self, parent: PathLabel, planned: PlannedStep, steps: int) -> PathLabel:
        label = super()._label(parent, planned, steps)
        met = _met(parent) or self._wish.met_by(planned.candidate)
        return replace(label, node=(label.node, met))

    def _done(self, label: PathLabel, scope: Scope) -> bool:
        return _met(label) and super()._done(label, scope)


def _met(label: PathLabel) -> bool:
    return isinstance(label.node, tuple) and bool(label.node[1])


class _Forcing(Decider):
    """A decider that takes one option at one stage wherever nothing forbids it."""

    def __init__(self, base: Decider, wish: Wish) -> None:
        super().__init__(base.engine)
        self._wish = wish

    def _asked(self, decision: str, situation: Situation) -> bool:
        return decision == self._wish.decision and situation.get("stage") in (None, self._wish.stage)

    def listed(
        self,
        decision: str,
        situation: Situation,
        offered: Sequence[str],
        usual: str | None = None,
        spoken_by: frozenset[str] | None = None,
    ) -> ListChoice:
        """The choice with the wish in front, where it is offered and not forbidden."""
        choice = super().listed(decision, situation, offered, usual, spoken_by)
        if not self._asked(decision, situation):
            return choice
        row = next((row for row in choice.options if row.option == self._wish.option), None)
        if row is None or row.standing == "removed":
            return choice
        rest = [replace(other, standing="removed") for other in choice.options if other is not row]
        return replace(choice, options=(replace(row, standing="winner"), *rest), winner=row.option)

    def stretch(
        self, decision: str, situation: Situation, room: Room, scale: str | None = None
    ) -> RangeChoice:
        """The window closed on the wish, where the room holds it and nothing binding forbids it."""
        choice = super().stretch(decision, situation, room, scale)
        if not self._asked(decision, situation) or choice.conflict:
            return choice
        value = place_of(self._wish.option, decision, self.vocabulary, scale)
        if value is None or not room_holds(room, value) or forbidden(choice, value, self.vocabulary):
            return choice
        return replace(choice, low=value, high=value, value=value)


def place_of(option: Value, decision: str, vocabulary: Vocabulary, scale: str | None) -> float | None:
    """An option of a stretch as a number: its place in the order or on the scale, or itself."""
    declared = vocabulary.decisions[decision]
    if declared.kind == "grade":
        found = vocabulary.rank.get(str(option))
        return float(found[1]) if found and found[0] == scale else None
    if declared.kind == "ordered":
        return float(declared.options.index(str(option))) if option in declared.options else None
    return float(option) if isinstance(option, (int, float)) else None


def room_holds(room: Room, value: float) -> bool:
    """Whether a value can be had at all."""
    if room.values is not None and all(abs(value - each) > 1e-6 for each in room.values):
        return False
    return room.low - 1e-6 <= value <= room.high + 1e-6


def forbidden(choice: RangeChoice, value: float, vocabulary: Vocabulary) -> bool:
    """Whether a `must` or `never` keeps a value out, or a window of safety does."""
    return any(
        outside(item, value, vocabulary)
        for rule in choice.shaped_by
        for item in rule.advice()
        if item.decision == choice.decision
        and (item.strength in ("must", "never") or rule.concern == "safety")
        and item.strength != "may"
    )


def outside(advice: Advice, value: float, vocabulary: Vocabulary) -> bool:
    """Whether a piece of advice speaks against a value: outside what it asks for, inside what it forbids."""
    declared = vocabulary.decisions[advice.decision]
    if declared.kind == "ordered":
        inside = declared.options[int(value)] in advice.options
    elif advice.span is None:
        return False
    else:
        span = advice.span
        above = span.low is None or value > span.low or (value == span.low and not span.low_open)
        below = span.high is None or value < span.high or (value == span.high and not span.high_open)
        inside = above and below
    return inside if advice.strength in ("never", "avoid") else not inside
