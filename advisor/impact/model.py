"""What an impact report says: what differs between two knowledge bases, and which jobs change by it."""

from __future__ import annotations

from typing import Literal

from advisor.knowledge.reference import Frozen

Kind = Literal[
    "job", "handling", "steps", "refusal", "media", "grain", "grade", "setting", "window", "prediction",
    "caution", "check", "remedy", "outside", "afterwards", "conflict",
]  # fmt: skip


class Difference(Frozen):
    """One thing that stands differently in two sheets of one job.

    `old` and `new` are what the sheets say, None where they say nothing. `field` names the setting or
    the list; `feature` and `step` (counted in the new sheet) are None where it is the whole sheet's.
    """

    kind: Kind
    field: str
    feature: str | None = None
    step: int | None = None
    old: str | None = None
    new: str | None = None


class Change(Frozen):
    """A difference and where it comes from.

    `rules` are ids of rules that differ between the two bases. Where `shown` is true, taking back any
    one of them alone takes the difference back or alters it; where it is false they only spoke on this
    job. `rows` are rows of tables, named where no rule explains the difference.
    """

    difference: Difference
    rules: tuple[str, ...] = ()
    shown: bool = False
    rows: tuple[str, ...] = ()


class JobImpact(Frozen):
    """A job whose recommendation changes."""

    key: str
    title: str
    changes: tuple[Change, ...]


class Edits(Frozen):
    """What differs between two knowledge bases, by id and by `table: key`."""

    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    edited: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()
    vocabulary: tuple[str, ...] = ()

    @property
    def rules(self) -> tuple[str, ...]:
        """Every rule that is not the same in both."""
        return tuple(sorted({*self.added, *self.removed, *self.edited}))

    @property
    def none(self) -> bool:
        """Whether the two bases decide alike for certain."""
        return self == Edits()


class Report(Frozen):
    """Both fingerprints, what differs, how many jobs were looked at, and those that change.

    `left_out` names trial files that could not be read, each with why.
    """

    old: str
    new: str
    edits: Edits
    jobs: int
    changed: tuple[JobImpact, ...]
    left_out: tuple[str, ...] = ()
