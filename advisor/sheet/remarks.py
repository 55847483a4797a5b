"""What a sheet says in sentences: notes, assumptions, disagreements, what was passed over, and sources."""

from __future__ import annotations

from advisor.sheet.part import Ids, Part, Window


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


class Hold(Part):
    """How far one quantity may be off before the first choice for a face changes.

    `field` is named as in the job file (`alloy.hardness` is that of the alloy's row), `value` is what the
    sheet was made with, in `unit`, and `given` whether the job says it. From `low` to `high` handling and
    the chains of media, grain and grade stayed the same at every one of the `checked` points; `below` and
    `above` say what is chosen beyond, and are None where nothing else was found as far as `looked_at`
    reaches. `rules` speak on one side only or draw the limit; none where it is what the chains cost.
    The few with a change that lies nearest come first and are known to one per cent.
    """

    field: str
    feature: str
    value: float
    unit: str
    given: bool
    low: float
    high: float
    below: str | None = None
    above: str | None = None
    looked_at: Window
    checked: int
    text: str
    rules: tuple[str, ...] = ()


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


class Past(Part):
    """A trial of a job like this one: how near it is and why, what was tried and what came of it.

    `feature` is the face of this job that it is held against, `worked` the face that was tried. An
    `extra` step is none of the sheet's: it came after `step`, or before the first where that is 0.
    """

    feature: str
    trial: str
    date: str | None = None
    job: str
    worked: str
    step: int
    extra: bool = False
    points: float
    because: tuple[str, ...] = ()
    tried: str
    found: tuple[str, ...] = ()
    verdict: str
    note: str | None = None

    @property
    def step_words(self) -> str:
        """Which step it was, as people say it."""
        return step_words(self.step, self.extra)


def step_words(step: int, extra: bool) -> str:
    """A step as people say it.

    >>> step_words(2, False), step_words(2, True), step_words(0, True)
    ('step 2', 'extra step after step 2', 'extra step before step 1')
    """
    if not extra:
        return f"step {step}"
    return f"extra step after step {step}" if step else "extra step before step 1"


class TrialLog(Part):
    """The trial log that a sheet was made with: the SHA-256 of its trials, and how many there were."""

    fingerprint: str
    trials: int


class Source(Part):
    """A source as the trail shows it; `words` says its kind and how much of it was seen."""

    title: str
    words: str
