"""Remembers what was planned: a face that comes back is not searched again, nor are candidates made twice.

A plan follows from the face and from what the job says beside its faces. The candidates of a stage follow
from less: how deep a defect is, or how rough the face, matters to them only as far as some rule can tell.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace

from advisor.choices.decide import Decider
from advisor.figures.coefficients import CoefficientBook
from advisor.inference.engine import Asked, Growing
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.sequence.candidates import StageField, stage_field
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.kept_fields import circumstances, tellable
from advisor.sequence.paths import PathFinder
from advisor.sequence.plan import FeaturePlan, plan_feature
from advisor.situations import Facts

#: So many plans are kept, the last used; each weighs about a megabyte with all that it was chosen from.
MOST_PLANS = 12
#: So many stages with their candidates.
MOST_FIELDS = 24


@dataclass(frozen=True, slots=True)
class _KeptField:
    """The candidates of a stage, and what the rules were asked on the way to them."""

    field: StageField
    asked: Asked


@dataclass(frozen=True, slots=True)
class _Kept:
    """A plan, and what the rules were asked on the way to it."""

    plan: FeaturePlan
    asked: Asked


class PlanMemory:
    """Plans faces by one knowledge base and one book of coefficients, and keeps the last few plans.

    A plan follows from the face and from what the job says beside its faces, and from nothing else. So a
    part of which one face was changed has only that face planned anew.
    """

    def __init__(self, knowledge: Knowledge, book: CoefficientBook) -> None:
        self._knowledge = knowledge
        self._book = book
        self._kept: OrderedDict[tuple[str, str], _Kept] = OrderedDict()
        self._fields: OrderedDict[tuple[object, ...], _KeptField] = OrderedDict()

    def plan(self, job: Job, feature: Feature, handling: str, decider: Decider) -> FeaturePlan:
        """The plan of a face, as `plan_feature` makes it; a listening decider notes what it rests on."""
        key = (circumstances(job, feature), handling)
        kept = self._kept.get(key)
        if kept is None:
            ear = decider.listening()
            plan = plan_feature(
                job, feature, handling, self._knowledge, ear, self._book,
                lambda desk, _: _Remembering(desk, self),
            )  # fmt: skip
            kept = self._kept[key] = _Kept(plan, ear.engine.asked)
            if len(self._kept) > MOST_PLANS:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        decider.engine.note(kept.asked)
        desk = replace(kept.plan.desk, job=job, feature=feature, decider=decider)
        return replace(kept.plan, desk=desk, feature=feature)

    def field(self, desk: FeatureDesk, situation: Facts, concerns: int) -> StageField:
        """The candidates of a stage, as `stage_field` makes them."""
        key = (tellable(desk, situation), concerns)
        kept = self._fields.get(key)
        if kept is None:
            ear = desk.decider.listening()
            field = stage_field(replace(desk, decider=ear), situation, concerns)
            kept = self._fields[key] = _KeptField(field, ear.engine.asked)
            if len(self._fields) > MOST_FIELDS:
                self._fields.popitem(last=False)
        self._fields.move_to_end(key)
        desk.decider.engine.note(kept.asked)
        return kept.field if kept.field.situation == situation else _as_now(kept.field, situation)


class _Remembering(PathFinder):
    """A search that takes the candidates of a stage from the memory."""

    def __init__(self, desk: FeatureDesk, memory: PlanMemory) -> None:
        super().__init__(desk, desk.job.batch)
        self._memory = memory

    def found(self, desk: FeatureDesk, situation: Facts, concerns: int) -> StageField:
        """The candidates in a situation, remembered or made."""
        return self._memory.field(desk, situation, concerns)


def _as_now(field: StageField, situation: Facts) -> StageField:
    """The same candidates with the facts of today: what they rest on is told from these."""
    grown = Growing(situation)
    return replace(
        field,
        situation=situation,
        candidates=tuple(
            replace(
                each,
                situation=grown.grown(
                    {
                        name: value
                        for name, value in each.situation.items()
                        if value != field.situation.get(name)
                    }
                ),
            )
            for each in field.candidates
        ),
    )
