"""Consults the rules place by place, and remembers what it has seen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from itertools import chain
from typing import Protocol

from advisor.inference.properties import Conjunction, PropertyTable
from advisor.inference.tests import Situation, conjunction
from advisor.knowledge.base import Knowledge
from advisor.knowledge.places import NOTES, Place
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value

#: So many signatures are remembered at one place, then it begins anew: a long batch must not fill the memory.
MOST_SIGNATURES = 10_000


class Growing(dict[str, "Value | None"]):
    """A situation to which decisions are added one by one, while everything else in it stays.

    Only what `properties.grows` names may be set. What the rest makes hold is worked out once for all the
    situations that grow from one another.
    """

    __slots__ = ("masks",)

    def __init__(self, situation: Situation, masks: dict[str, int] | None = None) -> None:
        super().__init__(situation)
        self.masks: dict[str, int] = {} if masks is None else masks

    def grown(self, more: Situation) -> Growing:
        """A copy with more decided."""
        further = Growing(self, self.masks)
        further.update(more)
        return further


class Matcher(Protocol):
    """Anything that tells which conjunctions hold, given the properties that hold."""

    name: str

    def fire(self, held: int) -> frozenset[int]:
        """The numbers of the rules whose properties are all in the mask."""

    def close(self) -> None:
        """Give back what the matcher holds."""


MatcherMaker = Callable[[Sequence[Conjunction]], Matcher]
#: The signatures that a listening engine was asked about, each with its place.
Asked = frozenset[tuple[str, int]]


@dataclass(frozen=True, slots=True)
class Firing:
    """A rule that fired, the facts it matched, and whether it fired though its `unless` is unknown."""

    rule: Rule
    facts: Mapping[str, Value | None]
    unless_unknown: bool


@dataclass(frozen=True, slots=True)
class Conclusions:
    """A situation with what follows from it, who said so, and where the rules disagree."""

    situation: Mapping[str, Value | None]
    firings: tuple[Firing, ...]
    conflicts: Mapping[str, tuple[str, ...]]


class _Stop:
    """One place with its compiled rules and the firings remembered by signature."""

    def __init__(self, place: Place, table: PropertyTable, make: MatcherMaker) -> None:
        self.place = place
        self.table = table
        self._make = make
        self._matcher: Matcher | None = None
        self._fired: dict[int, tuple[Rule, ...]] = {}

    def fire(self, held: int) -> tuple[Rule, ...]:
        fired = self._fired.get(held)
        if fired is None:
            if self._matcher is None:
                self._matcher = self._make(self.table.conjunctions)
            numbers = self._matcher.fire(held)
            fired = tuple(rule for number, rule in enumerate(self.place.rules) if number in numbers)
            if len(self._fired) >= MOST_SIGNATURES:
                self._fired.clear()
            self._fired[held] = fired
        return fired

    def close(self) -> None:
        if self._matcher is not None:
            self._matcher.close()
            self._matcher = None


class Engine:
    """The rules of one knowledge base behind one matcher.

    Rules are compiled the first time their place is consulted. The ids of the rules that fire are
    remembered by the situation's signature; facts are bound afterwards from the situation itself.
    """

    def __init__(self, knowledge: Knowledge, make: MatcherMaker) -> None:
        self.knowledge = knowledge
        self._stops = {
            place.name: _Stop(place, PropertyTable.of(place.rules, knowledge.vocabulary), make)
            for place in knowledge.places
        }
        self._asked: set[tuple[str, int]] | None = None
        self._conclusions = tuple(
            place
            for place in knowledge.places
            if place.names[0] not in knowledge.vocabulary.decisions and place.names != (NOTES,)
        )

    def signature(self, place: str, situation: Situation) -> int:
        """The bit mask of the tests of a place that hold; equal masks cannot be told apart there."""
        mask = self.mask(place, situation)
        if self._asked is not None:
            self._asked.add((place, mask))
        return mask

    def mask(self, place: str, situation: Situation) -> int:
        """The signature, without counting as having asked the rules."""
        table = self._stops[place].table
        if isinstance(situation, Growing):
            settled = situation.masks.get(place)
            if settled is None:
                settled = situation.masks[place] = table.held_by_settled(situation)
            return table.held_with(settled, situation)
        return table.held(situation)

    def table(self, place: str) -> PropertyTable:
        """The tests of a place, each with its bit in the signature, and the rules that need them."""
        return self._stops[place].table

    def rules(self, place: str, signature: int) -> tuple[Rule, ...]:
        """The rules of a place that fire under a signature, in the order of the base."""
        return self._stops[place].fire(signature)

    def listening(self) -> Engine:
        """The same engine with the same memory, that also notes what it is asked from now on.

        So the rules that had a say in one job can be named, whichever jobs the memory has served.
        """
        ear = copy(self)
        ear._asked = set()
        return ear

    @property
    def asked(self) -> Asked:
        """What a listening engine was asked so far; nothing from one that does not listen."""
        return frozenset(self._asked or ())

    def note(self, asked: Asked) -> None:
        """Count as asked what another engine with the same memory was asked, if this one listens."""
        if self._asked is not None:
            self._asked |= asked

    def heard(self) -> frozenset[str]:
        """The ids of the rules that spoke to a listening engine, for whatever step or option."""
        return frozenset(
            rule.id for place, signature in self._asked or () for rule in self.rules(place, signature)
        )

    def consult(self, place: str, situation: Situation) -> tuple[Firing, ...]:
        """The rules of a place that fire in a situation, with the facts they matched."""
        fired = self.rules(place, self.signature(place, situation))
        return tuple(self.bind(rule, situation) for rule in fired)

    def bind(self, rule: Rule, situation: Situation) -> Firing:
        """A fired rule with the values of this situation."""
        facts = {item.attribute: situation.get(item.attribute) for item in rule.when}
        open_end = bool(rule.unless) and (
            conjunction(rule.unless, situation, self.knowledge.vocabulary) == "unknown"
        )
        return Firing(rule, facts, open_end)

    def conclude(self, situation: Situation) -> Conclusions:
        """The situation with all conclusions that follow, and the rules that drew them.

        Conclusions that feed each other are drawn in rounds until nothing new comes, so the order
        of the rules does not matter. Where two rules conclude different values, the attribute stays
        unknown and the rules are named as a conflict.
        """
        known = dict(situation)
        drawn: dict[str, Firing] = {}
        conflicts: dict[str, tuple[str, ...]] = {}
        for place in self._conclusions:
            while True:
                fired = self.consult(place.name, known)
                drawn.update({firing.rule.id: firing for firing in fired if firing.rule.id not in drawn})
                said = _said(drawn.values(), place.names)
                for attribute, by_value in said.items():
                    if len(by_value) > 1:
                        conflicts[attribute] = tuple(sorted(chain(*by_value.values())))
                merged = {**known, **{name: _agreed(values) for name, values in said.items()}}
                if merged == known:
                    break
                known = merged
        return Conclusions(known, tuple(drawn.values()), conflicts)

    def close(self) -> None:
        """Give back the matchers' memory."""
        for stop in self._stops.values():
            stop.close()


def _said(firings: Iterable[Firing], names: Sequence[str]) -> dict[str, dict[Value, list[str]]]:
    """What has been said of each attribute: value -> the rules that conclude it."""
    said: dict[str, dict[Value, list[str]]] = {}
    for firing in firings:
        for item in firing.rule.conclusions():
            if item.attribute in names:
                said.setdefault(item.attribute, {}).setdefault(item.value, []).append(firing.rule.id)
    return said


def _agreed(by_value: Mapping[Value, object]) -> Value | None:
    return next(iter(by_value)) if len(by_value) == 1 else None
