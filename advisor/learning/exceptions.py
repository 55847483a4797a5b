"""Finds where a rule keeps failing: for an alloy, a shape or a media, against all its other trials."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.knowledge.rules import Rule
from advisor.learning.chance import Table, evidence_of_difference, fisher_above, strongest
from advisor.learning.followed import Heard
from advisor.learning.proposal import ALPHA

SCOPES = ("alloy.key", "feature.shape", "media")
#: A rule "keeps failing" where at least every second trial fails.
FAILS = 0.5

Trials = frozenset[str]


@dataclass(frozen=True, slots=True)
class Failing:
    """A rule that fails where an attribute has a value.

    `asked` questions were put to the log in all, and `share` of the chance of a false alarm fell to this one.
    """

    rule: Rule
    attribute: str
    value: str
    table: Table
    inside: tuple[str, ...]
    elsewhere: tuple[str, ...]  # other values of the attribute, under which it was followed too
    e_value: float
    p_value: float
    asked: int
    share: float
    alike: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Question:
    """One table of counts, and every rule and scope that has it: they cannot be told apart."""

    inside: Trials
    outside: Trials


def failing(spoke: Iterable[Heard]) -> tuple[Failing, ...]:
    """Every rule that keeps failing somewhere, the strongest evidence first.

    A question is a set of trials inside a scope against a set outside. Those with the same sets are one
    question. Each gets a share of the chance of a false alarm, by its size alone, and the evidence (an
    e-value) must reach 1 / (0.05 share): then a log without any fault yields a proposal in at most one of
    twenty cases for all questions together, and looking again after every trial costs nothing. Only rules
    that asked for what was used are in question, and never those of safety.
    """
    followed: dict[str, list[Heard]] = {}
    for item in spoke:
        if item.followed and item.wanted and item.rule.concern != "safety" and item.rule.status != "retired":
            followed.setdefault(item.rule.id, []).append(item)
    asked: dict[_Question, list[tuple[Rule, str, str]]] = {}
    failed: set[str] = set()
    for items in followed.values():
        failed |= {item.trial for item in items if item.failed}
        for attribute in SCOPES:
            for question, value in _split(items, attribute):
                asked.setdefault(question, []).append((items[0].rule, attribute, value))
    shares = _shares(asked)
    found = []
    for question, share in shares.items():
        suspects = asked[question]
        table = Table(
            len(question.inside & failed), len(question.inside), len(question.outside & failed),
            len(question.outside),
        )  # fmt: skip
        e_value = evidence_of_difference(table)
        if table.failed_in < FAILS * table.inside or e_value * share < 1.0 / ALPHA or _reversed(table):
            continue
        for rule, attribute, value in suspects:
            others = {item.where[attribute] for item in followed[rule.id]} - {value}
            found.append(
                Failing(
                    rule,
                    attribute,
                    value,
                    table,
                    inside=tuple(sorted(question.inside)),
                    elsewhere=tuple(sorted(others)),
                    e_value=e_value,
                    p_value=fisher_above(table),
                    asked=len(shares),
                    share=share,
                    alike=tuple(sorted({other.id for other, _, _ in suspects} - {rule.id})),
                )
            )
    return tuple(sorted(found, key=lambda item: (-item.e_value, item.rule.id, item.attribute)))


def _split(items: Sequence[Heard], attribute: str) -> Iterable[tuple[_Question, str]]:
    """A question for each value that the attribute had, unless the rule speaks of one value only."""
    by_value: dict[str, set[str]] = {}
    for item in items:
        by_value.setdefault(item.where[attribute], set()).add(item.trial)
    everything = frozenset(item.trial for item in items)
    if len(by_value) < 2:
        return
    for value, inside in sorted(by_value.items()):
        yield _Question(frozenset(inside), everything - inside), value


def _shares(asked: Iterable[_Question]) -> dict[_Question, float]:
    """How the chance of a false alarm is shared out among the questions, by their sizes alone.

    Questions that no outcome could answer get nothing; the others the more, the more trials can answer them.
    """
    sizes = {
        item: (len(item.inside) * len(item.outside) / (len(item.inside) + len(item.outside))) ** 2
        for item in asked
        if strongest(len(item.inside), len(item.outside)) >= 1.0 / ALPHA
    }
    whole = math.fsum(sizes.values())
    return {item: size / whole for item, size in sizes.items()}


def _reversed(table: Table) -> bool:
    """Whether it fails less inside than outside."""
    return table.failed_in * table.outside <= table.failed_out * table.inside
