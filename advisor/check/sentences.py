"""Looks at the sentences of rules: soft words that say nothing, and numbers that nothing carries."""

from __future__ import annotations

import re
from collections.abc import Iterator

from advisor.check.finding import Code, Finding
from advisor.check.meaning import Meaning
from advisor.knowledge.rules import Note, Rule, show_value

SOFT_WORD = Code(
    "K701", "soft-word", "warning",
    "A sentence uses a word that leaves the reader as wise as before (optimal, proper, suitable, adequate).",
    "The technician cannot set a machine by it.",
    "Say what is meant: a value, a limit, or how one sees that it is right.",
)  # fmt: skip
UNCARRIED = Code(
    "K702", "number-nothing-carries", "note",
    "A sentence gives a number that stands in no condition, no advice and no source place of the rule.",
    "A number in prose is not checked, not converted and not found when the figure changes.",
    "Put it into a condition or the advice, name the place in the source, or leave it out.",
)  # fmt: skip

_SOFT = re.compile(
    r"\b(optimal|optimum|proper|properly|suitable|appropriate|adequate|good quality|as needed)\b", re.I
)
_NUMBER = re.compile(r"(?<![\w.])\d+(?:[.,]\d+)?(?![\w])")


def soft_words(base: Meaning) -> Iterator[Finding]:
    """Words that say nothing."""
    for rule in base.rules:
        for text in (rule.title, *_sentences(rule)):
            found = _SOFT.search(text)
            if found:
                yield SOFT_WORD.at(rule, f"{rule.id} says '{found.group(0)}': {text}")


def uncarried_numbers(base: Meaning) -> Iterator[Finding]:
    """Numbers in prose that no other part of the rule carries."""
    for rule in base.rules:
        carried = set(_NUMBER.findall(_elsewhere(rule, base)))
        loose = [
            number for text in _sentences(rule) for number in _NUMBER.findall(text) if number not in carried
        ]
        if loose:
            yield UNCARRIED.at(
                rule, f"{rule.id} says {', '.join(dict.fromkeys(loose))}, and nothing carries it"
            )


def _sentences(rule: Rule) -> tuple[str, ...]:
    return (rule.because, *(item.text for item in rule.then if isinstance(item, Note)))


def _elsewhere(rule: Rule, base: Meaning) -> str:
    """Everything of a rule that is data: conditions, advice, source places, and its sources' titles."""
    said = [show_value(value) for item in (*rule.when, *rule.unless) for value in item.operand]
    for advice in rule.advice():
        if advice.span:
            said += [show_value(end) for end in (advice.span.low, advice.span.high) if end is not None]
    for citation in rule.source:
        source = base.knowledge.sources[citation.source]
        said += [citation.place or "", source.title, source.note or ""]
    return " ; ".join(said)
