"""Rules without some of their number: what would have been decided if a rule had not spoken."""

from __future__ import annotations

from collections.abc import Collection

from advisor.choices.decide import Decider
from advisor.inference.engine import Engine
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


def without(decider: Decider, silent: Collection[str]) -> Decider:
    """A decider that hears everything but some rules, with a memory of its own for what it decides.

    Only the bands of depth in which clearing is decided still know them; deleting a rule from the base
    (`Knowledge.with_rules`) takes those away too.
    """
    return Decider(_Muted(decider.engine, frozenset(silent)))
