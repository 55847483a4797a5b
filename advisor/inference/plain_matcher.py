"""Reads rules literally; where the other matcher differs from this one, this one is right."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.inference.properties import Conjunction


class PlainMatcher:
    """Fires every rule whose properties all hold."""

    name = "plain"

    def __init__(self, rules: Sequence[Conjunction]) -> None:
        self._rules = tuple(rules)

    def fire(self, held: int) -> frozenset[int]:
        """The rules whose properties are all among those that hold (a bit mask)."""
        return frozenset(rule.number for rule in self._rules if rule.needs & held == rule.needs)

    def close(self) -> None:
        """Nothing to give back."""
