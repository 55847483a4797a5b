"""What a comparison of two sheets says."""

from __future__ import annotations

from typing import Literal

from pydantic import JsonValue

from advisor.knowledge.reference import Frozen
from advisor.reasons import Fact, Kind

#: `setting` is what a person sets or fits, `prediction` what is expected of it.
ChangeKind = Literal["setting", "prediction", "sentence", "refusal"]


class Apart(Frozen):
    """One fact or input that stands otherwise on the two sheets; None is not known or not there."""

    name: str
    first: Fact = None
    second: Fact = None
    unit: str | None = None


class Cause(Frozen):
    """One reason behind a difference.

    `on` says which sheet gives it. Where it is `both`, one formula speaks on both, and `apart` tells which
    inputs make the difference; without a formula the value follows from what the step is. Where it is
    `first` or `second`, the other sheet does not have it, and `apart` tells which facts of a rule are
    other ones there, as far as that sheet tells them.
    """

    on: Literal["first", "second", "both"]
    kind: Kind
    text: str
    rule: str | None = None
    formula: str | None = None
    source: str | None = None
    apart: tuple[Apart, ...] = ()


class Change(Frozen):
    """One value that differs. `field` is its name in the sheet, `unit` that of its numbers."""

    kind: ChangeKind
    field: str
    first: JsonValue = None
    second: JsonValue = None
    unit: str | None = None
    causes: tuple[Cause, ...] = ()


class StepPair(Frozen):
    """Two steps that answer each other, or one that has no counterpart (its number there is None)."""

    first: int | None
    second: int | None
    first_says: str | None = None
    second_says: str | None = None
    changes: tuple[Change, ...] = ()


class FacePair(Frozen):
    """A face on both sheets, or on one of them (its name on the other is None)."""

    first: str | None
    second: str | None
    steps: tuple[StepPair, ...] = ()
    changes: tuple[Change, ...] = ()

    @property
    def same(self) -> bool:
        """Whether nothing of it differs."""
        return (
            self.first is not None
            and self.second is not None
            and not self.changes
            and all(not pair.changes and None not in (pair.first, pair.second) for pair in self.steps)
        )


class FieldChange(Frozen):
    """A field of the job that is not the same, named as in the job file; None is not given."""

    field: str
    first: JsonValue = None
    second: JsonValue = None


class Side(Frozen):
    """Where a sheet comes from."""

    name: str
    program: str
    fingerprint: str
    rules: int


class Comparison(Frozen):
    """Everything that differs between two sheets, faces in the order of the second.

    `within_draws` counts predictions that differ by no more than the spread of the draws behind them.
    """

    first: Side
    second: Side
    job: tuple[FieldChange, ...] = ()
    whole: tuple[Change, ...] = ()
    faces: tuple[FacePair, ...] = ()
    within_draws: int = 0

    @property
    def same(self) -> bool:
        """Whether the two advise the same, whatever was asked."""
        return not self.whole and all(face.same for face in self.faces)
