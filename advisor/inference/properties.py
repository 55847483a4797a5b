"""Tests as numbered properties: a rule becomes a plain conjunction, a situation a bit mask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from advisor.inference.tests import Situation, answer
from advisor.knowledge.rules import Condition, Rule
from advisor.knowledge.vocabulary import Value, Vocabulary

#: So many values of one attribute are remembered at one place, then it begins anew.
MOST_VALUES = 512


@dataclass(frozen=True, slots=True)
class Conjunction:
    """A rule as the matchers see it: its number and the mask of the properties it needs."""

    number: int
    needs: int


@dataclass(frozen=True, slots=True)
class Column:
    """The tests of one attribute, and the bits that each value seen so far makes hold."""

    attribute: str
    tests: tuple[tuple[int, Condition], ...]
    seen: dict[Value | None, int] = field(default_factory=dict, repr=False)

    def bits(self, value: Value | None, vocabulary: Vocabulary) -> int:
        """The bits of the tests that a value passes, worked out and remembered in `seen`."""
        mask = 0
        for bit, condition in self.tests:
            if answer(condition, value, vocabulary) == "yes":
                mask |= bit
        if len(self.seen) >= MOST_VALUES:  # a long batch brings ever new lengths and areas
            self.seen.clear()
        self.seen[value] = mask
        return mask


@dataclass(frozen=True, slots=True)
class PropertyTable:
    """The distinct tests of some rules, one bit each, and the rules as conjunctions of bits.

    The negated `unless` of a rule is one composite property: it holds unless all its conditions
    are answered "yes", so an unknown never silences a rule.
    """

    vocabulary: Vocabulary
    conditions: tuple[Condition, ...]
    silencers: tuple[tuple[int, int], ...]  # (mask of the unless conditions, bit of its negation)
    conjunctions: tuple[Conjunction, ...]
    columns: tuple[Column, ...]
    growing: tuple[Column, ...]  # the columns that decisions and formulas fill in
    settled: tuple[Column, ...]  # the others

    @classmethod
    def of(cls, rules: Sequence[Rule], vocabulary: Vocabulary) -> PropertyTable:
        """Number the distinct tests of the rules in order of first use."""
        bits: dict[Condition, int] = {}
        for rule in rules:
            for condition in (*rule.when, *rule.unless):
                bits.setdefault(condition, 1 << len(bits))
        silencers: dict[int, int] = {}
        conjunctions = []
        for number, rule in enumerate(rules):
            needs = 0
            for condition in rule.when:
                needs |= bits[condition]
            if rule.unless:
                mask = 0
                for condition in rule.unless:
                    mask |= bits[condition]
                silencers.setdefault(mask, 1 << (len(bits) + len(silencers)))
                needs |= silencers[mask]
            conjunctions.append(Conjunction(number, needs))
        grouped: dict[str, list[tuple[int, Condition]]] = {}
        for condition, bit in bits.items():
            grouped.setdefault(condition.attribute, []).append((bit, condition))
        columns = tuple(Column(attribute, tuple(tests)) for attribute, tests in grouped.items())
        return cls(
            vocabulary,
            tuple(bits),
            tuple(silencers.items()),
            tuple(conjunctions),
            columns,
            tuple(column for column in columns if grows(column.attribute, vocabulary)),
            tuple(column for column in columns if not grows(column.attribute, vocabulary)),
        )

    def held(self, situation: Situation) -> int:
        """The situation's signature: two situations with one signature no rule here can tell apart."""
        return self._silenced(self._mask(self.columns, situation))

    def held_by_settled(self, situation: Situation) -> int:
        """The part of the mask that what grows does not touch; for `held_with`."""
        return self._mask(self.settled, situation)

    def held_with(self, settled: int, situation: Situation) -> int:
        """The signature of a situation whose settled part is known already."""
        return self._silenced(settled | self._mask(self.growing, situation))

    def _mask(self, columns: Sequence[Column], situation: Situation) -> int:
        mask = 0
        for column in columns:
            value = situation.get(column.attribute)
            bits = column.seen.get(value)
            mask |= column.bits(value, self.vocabulary) if bits is None else bits
        return mask

    def _silenced(self, mask: int) -> int:
        for unless, bit in self.silencers:
            if mask & unless != unless:
                mask |= bit
        return mask


def grows(attribute: str, vocabulary: Vocabulary) -> bool:
    """Whether an attribute is filled in while a chain is built: by a decision, a formula or the step before."""
    if attribute in vocabulary.decisions or attribute.startswith("previous."):
        return True
    declared = vocabulary.attributes.get(attribute)
    return declared is not None and declared.set_by == "formula"
