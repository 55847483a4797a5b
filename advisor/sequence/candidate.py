"""A candidate: one way to take a step, fully decided and calculated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from advisor.choices.model import Choice
from advisor.figures.effect import Effect
from advisor.figures.media_life import MediaLife
from advisor.figures.setup import Setup
from advisor.inference.engine import Growing
from advisor.knowledge.reference import Grade
from advisor.knowledge.vocabulary import Value
from advisor.sequence.offers import Tool


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to take a step, fully decided and calculated."""

    stage: str
    tool: Tool
    grain: str | None
    grade: Grade | None
    choices: Mapping[str, Choice]
    values: Mapping[str, Value | None]
    situation: Growing
    setup: Setup
    effect: Effect
    life: MediaLife

    @property
    def key(self) -> tuple[str, str | None, str | None]:
        """What makes two steps the same set-up of abrasive."""
        return self.tool.media.key, self.grain, self.grade.key if self.grade else None
