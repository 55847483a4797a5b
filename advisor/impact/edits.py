"""Finds what differs between two knowledge bases."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.impact.model import Edits
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule


def edits_between(old: Knowledge, new: Knowledge) -> Edits:
    """Rules, rows and words of the vocabulary that are not the same; where a rule stands does not count."""
    if old.fingerprint == new.fingerprint:
        return Edits()
    before = {rule.id: _content(rule) for rule in old.rules}
    after = {rule.id: _content(rule) for rule in new.rules}
    return Edits(
        added=tuple(sorted(after.keys() - before.keys())),
        removed=tuple(sorted(before.keys() - after.keys())),
        edited=tuple(sorted(key for key in before.keys() & after.keys() if before[key] != after[key])),
        rows=tuple(_rows(old, new)),
        vocabulary=tuple(_words(old, new)),
    )


def _content(rule: Rule) -> Any:
    unplaced: Any = {"place": True, "topic": True, "examples": True, "evidence": True, "allows": True}
    return rule.model_dump(exclude=unplaced)


def _rows(old: Knowledge, new: Knowledge) -> Iterator[str]:
    for table in type(new.tables).model_fields:
        for key in _unequal(old.tables[table], new.tables[table]):
            yield f"{table}: {key}"
    for key in _unequal(old.sources, new.sources):
        yield f"sources: {key}"


def _words(old: Knowledge, new: Knowledge) -> Iterator[str]:
    yield from _unequal(old.vocabulary.attributes, new.vocabulary.attributes)
    yield from _unequal(old.vocabulary.decisions, new.vocabulary.decisions)


def _unequal(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for key in dict.fromkeys((*old, *new)):
        if old.get(key) != new.get(key):
            yield key
