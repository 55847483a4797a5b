"""What a sheet says in sentences: notes, assumptions, disagreements, what was passed over, and sources."""

from __future__ import annotations

from advisor.sheet.part import Ids, Part


class Note(Part):
    """A caution, another process or a check: a sentence, the rule that says it and its source."""

    text: str
    rule: str | None = None
    source: str | None = None
    source_kind: str | None = None
    features: tuple[str, ...] = ()
    reasons: Ids = ()


class Assumed(Part):
    """A value nobody gave. `why` says why this one; `measure` how to replace it."""

    field: str
    value: str
    why: str
    measure: str | None = None


class Conflict(Part):
    """Advice that cannot be followed together."""

    text: str
    feature: str | None = None
    step: int | None = None
    decision: str | None = None
    concern: str | None = None
    rules: tuple[str, ...] = ()
    kept: str | None = None
    reasons: Ids = ()


class Dropped(Part):
    """An option passed over, or advice that was hidden or struck out, and why."""

    text: str
    feature: str | None = None
    step: int | None = None
    decision: str | None = None
    option: str | None = None
    concern: str | None = None
    rule: str | None = None
    by: str | None = None
    reasons: Ids = ()


class Source(Part):
    """A source as the trail shows it; `words` says its kind and how much of it was seen."""

    title: str
    words: str
