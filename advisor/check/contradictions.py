"""What rules may not say together: no option left, no window left, two conclusions for one attribute."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from advisor.check.finding import Code, Finding, shown
from advisor.check.meaning import Meaning, joined
from advisor.check.solver import Budget, Case, SpentError
from advisor.check.space import Box
from advisor.knowledge.rules import Advice, Rule, Span
from advisor.knowledge.vocabulary import CONCERNS

NOTHING_LEFT = Code(
    "K301", "contradiction", "error",
    "Some situation lets rules fire whose `must` and `never` leave nothing to choose. The situation is shown.",
    "In that situation there is no answer: the sheet can only name the rules and stop.",
    "Narrow one rule, make the weaker demand a `should` or an `avoid`, or let the rule that knows better override "
    "the other.",
)  # fmt: skip
TWO_CONCLUSIONS = Code(
    "K302", "two-conclusions", "error",
    "Some situation lets two rules conclude different values for one attribute. The situation is shown.",
    "The attribute then stays unknown, and every rule that tests it is silent.",
    "Give one rule the cases and the other the rest, with an `unless` that names the first rule's case.",
)  # fmt: skip
WINDOWS_APART = Code(
    "K303", "windows-apart", "warning",
    "Two `should` windows of one concern, from safety to form, do not meet in some situation. It is shown.",
    "From safety to form such windows count as a contradiction, and the candidate is dropped.",
    "Widen a window, split the cases, or let the narrower rule override the broader one.",
)  # fmt: skip
CUT_SHORT = Code(
    "K304", "search-cut-short", "note",
    "The search for contradictions among three rules or more was stopped before its end.",
    "Every two rules were looked at; a contradiction that takes more rules may be left.",
    "Use fewer `must` and `never` on one decision, or narrow them.",
)  # fmt: skip
CODES = (NOTHING_LEFT, TWO_CONCLUSIONS, WINDOWS_APART, CUT_SHORT)

#: Boxes that the search for contradictions of many rules may open for one decision.
MOST_BOXES = 20_000
_SHARP = CONCERNS[:4]


@dataclass(frozen=True, slots=True)
class _Word:
    rule: Rule
    advice: Advice


def nothing_left(base: Meaning) -> Iterator[Finding]:
    """Every smallest set of rules that can fire together and leave no option or no stretch."""
    for decision, declared in base.vocabulary.decisions.items():
        words = [
            _Word(rule, item) for rule in base.rules for item in rule.advice() if item.decision == decision
        ]
        words = [word for word in words if word.advice.strength in ("must", "never")]
        if declared.kind == "list":
            yield from _no_option(base, decision, words)
        else:
            yield from _no_stretch(base, decision, words, ("must", "never"), NOTHING_LEFT)


def windows_apart(base: Meaning) -> Iterator[Finding]:
    """Pairs of `should` windows of one of the first four concerns that cannot be met together."""
    for decision, declared in base.vocabulary.decisions.items():
        if declared.kind == "list":
            continue
        for concern in _SHARP:
            words = [
                _Word(rule, item)
                for rule in base.rules
                if rule.concern == concern
                for item in rule.advice()
                if item.decision == decision and item.strength in ("should", "avoid")
            ]
            yield from _no_stretch(base, decision, words, ("should", "avoid"), WINDOWS_APART)


def two_conclusions(base: Meaning) -> Iterator[Finding]:
    """Pairs of rules that can conclude different values of one attribute in one situation."""
    for attribute, rules in base.concluding.items():
        for (rule, cell), (other, theirs) in combinations(rules, 2):
            if cell == theirs or rule is other:
                continue
            point = _together(base, (rule, other))
            if point is not None:
                witness = base.witness(point, rule, other)
                says = f"{rule.id} and {other.id} conclude different values of {attribute}: {shown(witness)}"
                yield TWO_CONCLUSIONS.at(rule, says, other, witness=witness)


def _together(base: Meaning, rules: Sequence[Rule], budget: Budget | None = None) -> Box | None:
    """A point in which some rules fire and none of them is struck out."""
    quick: Box | None = {}
    for rule in rules:
        quick = base.space.narrowed(quick or {}, base.literals(rule))
        if quick is None:
            return None
    fires = base.both(*rules)
    struck = tuple(clause for rule in rules for clause in base.not_struck(rule))
    return base.find(joined(fires, Case((), struck)), budget)


def _tell(base: Meaning, code: Code, decision: str, rules: Sequence[Rule], point: Box) -> Finding:
    witness = base.witness(point, *rules)
    names = " and ".join(rule.id for rule in rules)
    what = {
        "K301": f"{names} leave nothing for {decision}",
        "K303": f"the windows of {names} for {decision} do not meet",
    }
    return code.at(rules[0], f"{what[code.code]}: {shown(witness)}", *rules[1:], witness=witness)


# ---------------------------------------------------------------------- options of a list


def _no_option(base: Meaning, decision: str, words: Sequence[_Word]) -> Iterator[Finding]:
    options = frozenset(base.vocabulary.decisions[decision].options)
    told: list[frozenset[str]] = []
    budget = Budget(MOST_BOXES)
    clashing = [pair for pair in combinations(_leaving(words, options), 2) if not pair[0][1] & pair[1][1]]
    for (rule, _), (other, _) in clashing:
        point = _together(base, (rule, other)) if rule is not other else None
        if point is not None and frozenset((rule.id, other.id)) not in told:
            told.append(frozenset((rule.id, other.id)))
            yield _tell(base, NOTHING_LEFT, decision, (rule, other), point)
    try:
        for rules, point in _many(base, _leaving(words, options), options, told, budget):
            told.append(frozenset(rule.id for rule in rules))
            yield _tell(base, NOTHING_LEFT, decision, rules, point)
    except SpentError:
        yield Finding(CUT_SHORT, "", f"the rules on {decision} allow more combinations than were looked at")


def _leaving(words: Iterable[_Word], options: frozenset[str]) -> list[tuple[Rule, frozenset[str]]]:
    """Each rule with the options that it leaves."""
    left: dict[str, tuple[Rule, frozenset[str]]] = {}
    for word in words:
        named = frozenset(word.advice.options)
        rule, before = left.get(word.rule.id, (word.rule, options))
        left[rule.id] = (rule, before & named if word.advice.strength == "must" else before - named)
    return list(left.values())


def _many(
    base: Meaning,
    leaving: Sequence[tuple[Rule, frozenset[str]]],
    options: frozenset[str],
    told: Sequence[frozenset[str]],
    budget: Budget,
) -> Iterator[tuple[tuple[Rule, ...], Box]]:
    """Sets of three rules or more that together leave nothing, smallest first within each start."""

    def extend(
        chosen: tuple[Rule, ...], alive: frozenset[str], box: Box, start: int
    ) -> Iterator[tuple[Rule, ...]]:
        for at in range(start, len(leaving)):
            rule, left = leaving[at]
            rest = alive & left
            if rest == alive:
                continue
            budget.take()
            inner = base.space.narrowed(box, base.literals(rule))
            if inner is None:
                continue
            more = (*chosen, rule)
            if rest:
                yield from extend(more, rest, inner, at + 1)
            elif len(more) > 2:
                yield more

    for rules in extend((), options, {}, 0):
        names = frozenset(rule.id for rule in rules)
        if any(smaller <= names for smaller in told):
            continue
        point = _together(base, rules, budget)
        if point is not None:
            yield rules, point


# ---------------------------------------------------------------------- stretches


def _no_stretch(
    base: Meaning, decision: str, words: Sequence[_Word], strengths: tuple[str, str], code: Code
) -> Iterator[Finding]:
    """Pairs of windows that do not meet; stretches that meet two by two meet all together (Helly 1923)."""
    windows = [
        (word, window) for word in words if (window := _window(base, word.advice, strengths)) is not None
    ]
    told: set[frozenset[str]] = set()
    for (word, (low, high)), (other, (bottom, top)) in combinations(windows, 2):
        if word.advice.scale != other.advice.scale or (low <= top and bottom <= high):
            continue
        key = frozenset((word.rule.id, other.rule.id))
        if word.rule is other.rule or key in told:
            continue
        point = _together(base, (word.rule, other.rule))
        if point is not None:
            told.add(key)
            yield _tell(base, code, decision, (word.rule, other.rule), point)


def _window(base: Meaning, advice: Advice, strengths: tuple[str, str]) -> tuple[float, float] | None:
    """The stretch that a piece of advice leaves; None where it bounds nothing or leaves two pieces."""
    declared = base.vocabulary.decisions[advice.decision]
    span = advice.span
    if declared.kind == "ordered" and advice.options:
        places = [declared.options.index(option) for option in advice.options]
        span = Span(
            low=min(places) if min(places) > 0 else None,
            high=max(places) if max(places) < len(declared.options) - 1 else None,
        )
    if span is None:
        return None
    step = 1.0 if declared.kind in ("ordered", "grade") else 1e-9
    low = -math.inf if span.low is None else span.low + step * span.low_open
    high = math.inf if span.high is None else span.high - step * span.high_open
    if advice.strength == strengths[0]:
        return low, high
    if span.low is None and span.high is not None:
        return (span.high if span.high_open else span.high + step), math.inf
    if span.high is None and span.low is not None:
        return -math.inf, (span.low if span.low_open else span.low - step)
    return None
