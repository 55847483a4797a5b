"""Rules without some of their number: what would have been decided if a rule had not spoken."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from advisor.choices.decide import Decider, Room
from advisor.choices.model import ListChoice, RangeChoice
from advisor.inference.engine import Engine
from advisor.inference.tests import Situation
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule


class _Muted(Engine):
    """An engine with the memory of another in which some rules never speak."""

    def __init__(self, engine: Engine, silent: frozenset[str]) -> None:
        self.__dict__.update(engine.__dict__)
        self._asked = None
        self._silent = silent

    def rules(self, place: str, signature: int) -> tuple[Rule, ...]:
        """The rules of a place that fire under a signature and are not muted."""
        return tuple(rule for rule in super().rules(place, signature) if rule.id not in self._silent)


class _HardOfHearing(Decider):
    """A decider that does not hear some rules; where none of them would have spoken it asks the one that does."""

    def __init__(self, base: Decider, silent: frozenset[str]) -> None:
        super().__init__(_Muted(base.engine, silent))
        self._base, self._silent = base, silent
        self._misses: dict[tuple[str, int], bool] = {}

    def _misses_something(self, decision: str, situation: Situation) -> bool:
        engine = self._base.engine
        key = (decision, engine.signature(decision, situation))
        if key not in self._misses:
            self._misses[key] = not self._silent.isdisjoint(rule.id for rule in engine.rules(*key))
        return self._misses[key]

    def listed(
        self,
        decision: str,
        situation: Situation,
        offered: Sequence[str],
        usual: str | None = None,
        spoken_by: frozenset[str] | None = None,
    ) -> ListChoice:
        """The choice without the silent rules."""
        if self._misses_something(decision, situation):
            return super().listed(decision, situation, offered, usual, spoken_by)
        return self._base.listed(decision, situation, offered, usual, spoken_by)

    def stretch(
        self, decision: str, situation: Situation, room: Room, scale: str | None = None
    ) -> RangeChoice:
        """The window without the silent rules."""
        if self._misses_something(decision, situation):
            return super().stretch(decision, situation, room, scale)
        return self._base.stretch(decision, situation, room, scale)


def without(decider: Decider, silent: Collection[str]) -> Decider:
    """A decider that hears everything but some rules.

    Only the bands of depth in which clearing is decided still know them; `lacking` takes those away too.
    """
    return _HardOfHearing(decider, frozenset(silent)) if silent else decider


def lacking(knowledge: Knowledge, silent: Collection[str]) -> Knowledge:
    """The knowledge with some rules deleted, every other rule where it was; for working out, not for storing.

    `Knowledge.with_rules` does the same and gives it a fingerprint of its own, which takes longer.
    """
    if not silent:
        return knowledge
    kept = [rule for rule in knowledge.rules if rule.id not in silent]
    rows = {rule.id: row for row, rule in enumerate(kept)}
    layout = tuple(
        (place.names, tuple(rows[rule.id] for rule in place.rules if rule.id in rows))
        for place in knowledge.places
    )
    return Knowledge.model_construct(
        vocabulary=knowledge.vocabulary,
        sources=knowledge.sources,
        tables=knowledge.tables,
        rules=tuple(kept),
        words=knowledge.words,
        fingerprint="",
        layout=layout,
    )
