"""Which advice is struck out by a rule that overrides it."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.choices.model import Spoken, Struck
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import CONCERNS


def heard(rules: Sequence[Rule], decision: str) -> tuple[tuple[Spoken, ...], tuple[Struck, ...]]:
    """The advice of fired rules on a decision that stands, and the advice that is struck out.

    A struck rule strikes nothing, and no rule strikes advice of a higher concern than its own.
    """
    struck_by = _struck(rules)
    standing: list[Spoken] = []
    struck: list[Struck] = []
    for rule in rules:
        for advice in rule.advice():
            if advice.decision != decision:
                continue
            if rule.id in struck_by:
                struck.append(Struck(Spoken(rule, advice), struck_by[rule.id]))
            else:
                standing.append(Spoken(rule, advice))
    return tuple(standing), tuple(struck)


def _struck(rules: Sequence[Rule]) -> dict[str, str]:
    """Struck rules and what strikes them.

    The relation has no circles, so each is settled once its own strikers are.
    """
    fired = {rule.id: rule for rule in rules}
    strikers: dict[str, list[Rule]] = {}
    for rule in rules:
        for other in rule.overrides:
            if other in fired and CONCERNS.index(rule.concern) <= CONCERNS.index(fired[other].concern):
                strikers.setdefault(other, []).append(rule)
    settled: dict[str, str | None] = {}

    def settle(identity: str) -> str | None:
        if identity not in settled:
            settled[identity] = next(
                (rule.id for rule in strikers.get(identity, ()) if settle(rule.id) is None), None
            )
        return settled[identity]

    return {rule.id: by for rule in rules if (by := settle(rule.id)) is not None}
