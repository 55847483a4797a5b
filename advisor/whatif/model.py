"""What a what-if answers: a comparison for single changes, stretches and switches for a range."""

from __future__ import annotations

from pydantic import Field

from advisor.comparison.model import Comparison
from advisor.knowledge.reference import Frozen


class Asked(Frozen):
    """One change as it was asked for: the field as in the job file, and its new value."""

    field: str
    value: str


class WhatIf(Frozen):
    """What changes of single fields do: `first` of the comparison is the job as given, `second` as changed.

    The predictions of both rest on the same draws, so that they differ only by what was changed.
    """

    name: str
    changes: tuple[Asked, ...]
    comparison: Comparison
    refused_before: bool = False
    refused_after: bool = False


class StepSays(Frozen):
    """One step as it is chosen in a stretch."""

    stage: str
    media: str
    grain: str | None = None
    grade: str | None = None
    set_up: dict[str, str] = Field(default_factory=dict)


class FaceSays(Frozen):
    """The steps of a face in a stretch; none where there is no process."""

    name: str
    steps: tuple[StepSays, ...] = ()

    def text(self) -> str:
        """The chain in a few words."""
        return ", ".join(" ".join(filter(None, (step.grade, step.media))) for step in self.steps) or "no process"


class StretchSays(Frozen):
    """What is recommended from `low` to `high`, both of them worked out."""

    low: float
    high: float
    handling: str
    faces: tuple[FaceSays, ...]


class SwitchSays(Frozen):
    """Where the recommendation goes over to another, between `below` and `above`.

    `limits` are limits of rules and tables that lie there, `rules` the rules that draw them; none where
    the switch comes from costs. The comparison holds only what a person would set otherwise.
    """

    below: float
    above: float
    limits: tuple[float, ...] = ()
    rules: tuple[str, ...] = ()
    comparison: Comparison


class WhatIfRange(Frozen):
    """What a range of one field does, ends included, with `changes` made besides.

    `asked` is how many points were worked out. `given` is the value in the job, where it has one.
    """

    name: str
    field: str
    low: float
    high: float
    unit: str
    given: float | None = None
    changes: tuple[Asked, ...] = ()
    stretches: tuple[StretchSays, ...]
    switches: tuple[SwitchSays, ...] = ()
    asked: int
