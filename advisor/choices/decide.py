"""Takes one decision: asks the rules of its place and weighs what they say."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from typing import TypeVar

from advisor.choices.listed import choose_listed
from advisor.choices.model import ListChoice, RangeChoice, Spoken
from advisor.choices.overrides import heard
from advisor.choices.ranges import choose_range
from advisor.inference.engine import Engine
from advisor.inference.tests import Situation
from advisor.knowledge.rules import Advice, Rule, Span
from advisor.knowledge.vocabulary import Decision

Made = TypeVar("Made", ListChoice, RangeChoice)
#: So many choices of a kind are remembered.
MOST_CHOICES = 20_000
_POSITIVE = ("must", "should", "may")


@dataclass(frozen=True, slots=True)
class Room:
    """The room a stretch decision has before any rule speaks: its ends, and what can be had in it."""

    low: float
    high: float
    values: tuple[float, ...] | None = None
    aim: str = "middle"
    wanted: float | None = None  # the value aimed at where no rule sets the aim


class Decider:
    """Decides, and remembers: equal signatures and equal offers give equal choices."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.vocabulary = engine.knowledge.vocabulary
        self._listed: dict[tuple[object, ...], ListChoice] = {}
        self._ranges: dict[tuple[object, ...], RangeChoice] = {}

    def listening(self) -> Decider:
        """The same decider with the same memory, over an engine that notes which rules speak."""
        ear = copy(self)
        ear.engine = self.engine.listening()
        return ear

    def listed(
        self,
        decision: str,
        situation: Situation,
        offered: Sequence[str],
        usual: str | None = None,
        spoken_by: frozenset[str] | None = None,
    ) -> ListChoice:
        """A list decision among what is offered.

        `spoken_by` names attributes of which a rule must test one for its word to make an option
        eligible; None lets any rule do so, and the usual option too.
        """
        signature = self.engine.signature(decision, situation)
        key = (decision, signature, tuple(offered), usual, spoken_by)
        choice = self._listed.get(key)
        if choice is None:
            spoken, struck = heard(self.engine.rules(decision, signature), decision)
            eligible = None if spoken_by is None else _spoken_for(spoken, spoken_by)
            choice = choose_listed(decision, offered, spoken, struck, eligible, usual)
            _remember(self._listed, key, choice)
        return choice

    def stretch(
        self, decision: str, situation: Situation, room: Room, scale: str | None = None
    ) -> RangeChoice:
        """A stretch decision inside its room; grade advice on another scale is not heard."""
        signature = self.engine.signature(decision, situation)
        key = (decision, signature, room, scale)
        choice = self._ranges.get(key)
        if choice is None:
            declared = self.vocabulary.decisions[decision]
            spoken, struck = heard(self.engine.rules(decision, signature), decision)
            on_scale = [item for item in spoken if item.advice.scale in (None, scale)]
            placed = [Spoken(item.rule, _placed(item.advice, declared)) for item in on_scale]
            whole = declared.kind in ("ordered", "grade") or decision == "passes"
            choice = choose_range(
                decision, room.low, room.high, placed, room.aim, struck, room.values, whole, room.wanted
            )
            _remember(self._ranges, key, choice)
        return choice


def _remember(memory: dict[tuple[object, ...], Made], key: tuple[object, ...], choice: Made) -> None:
    """Keep a choice; a memory that is full begins anew, so that no batch is too long for it."""
    if len(memory) >= MOST_CHOICES:
        memory.clear()
    memory[key] = choice


def _spoken_for(spoken: Sequence[Spoken], attributes: frozenset[str]) -> frozenset[str]:
    """Options named by a rule that tests one of some attributes: silence is not suitability."""
    return frozenset(
        option
        for item in spoken
        if item.advice.strength in _POSITIVE and tests_any(item.rule, attributes)
        for option in item.advice.options
    )


def tests_any(rule: Rule, attributes: frozenset[str]) -> bool:
    """Whether a rule's `when` tests one of some attributes.

    An empty set asks nothing.
    """
    return not attributes or any(condition.attribute in attributes for condition in rule.when)


def _placed(advice: Advice, decision: Decision) -> Advice:
    """Advice on an ordered decision as a stretch of places, open where the order itself ends."""
    if decision.kind != "ordered" or not advice.options:
        return advice
    places = [decision.options.index(option) for option in advice.options]
    low = min(places) if min(places) > 0 else None
    high = max(places) if max(places) < len(decision.options) - 1 else None
    return advice.model_copy(update={"span": Span(low=low, high=high)})
