"""Plans one face again and again under small changes, sharing what the changes leave as it was."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from advisor.choices.decide import Decider
from advisor.figures.coefficients import CoefficientBook
from advisor.inference.tests import answer
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.sequence.candidates import StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.joint import share_set_ups
from advisor.sequence.paths import Path, PathFinder
from advisor.sequence.plan import FeaturePlan, decide_handling, plan_feature
from advisor.situations import Facts, job_situation, presumed

Key = tuple[object, ...]


@dataclass(slots=True)
class Shared:
    """The candidates of stages, kept by all that decides them: what the rules can tell apart, and sizes.

    A rule that is left out counts only where its conditions could hold.
    """

    knowledge: Knowledge
    book: CoefficientBook
    kept: dict[Key, StageField] = field(default_factory=dict)
    planned: dict[Key, FeaturePlan] = field(default_factory=dict)

    def plan(
        self, job: Job, name: str, decider: Decider, silent: Collection[str], wanted: Callable[[Path], bool]
    ) -> FeaturePlan | None:
        """The plan of a feature as the whole recommendation makes it, set-ups shared with the others.

        None where no path of the feature alone is wanted: sharing only picks among a feature's own.
        """
        facts, _ = presumed(job_situation(job, self.knowledge), self.knowledge)
        handling = str(decide_handling(job, decider, facts).winner)
        quiet = frozenset(silent)
        own = self._plan(job, job.feature(name), handling, decider, quiet)
        if not any(wanted(path) for path in (own.path, *(rival.path for rival in own.rivals))):
            return None
        if len(job.features) == 1:
            return own
        alone = [self._plan(job, feature, handling, decider, quiet) for feature in job.features]
        return next(plan for plan in share_set_ups(alone)[0] if plan.feature.name == name)

    def _plan(
        self, job: Job, feature: Feature, handling: str, decider: Decider, silent: frozenset[str]
    ) -> FeaturePlan:
        rest = job.model_copy(update={"features": (feature,), "start": None, "finish": None, "assumed": ()})
        key = (rest.model_dump_json(), handling, silent)
        if key not in self.planned:
            self.planned[key] = plan_feature(
                job,
                feature,
                handling,
                self.knowledge,
                decider,
                self.book,
                lambda desk, _: _Sharing(desk, self, silent),
            )
        return self.planned[key]

    def key(self, desk: FeatureDesk, situation: Facts, concerns: int, silent: frozenset[str]) -> Key:
        """What two situations must have in common to have the same candidates."""
        engine, feature = desk.decider.engine, desk.feature
        places = desk.decider.vocabulary.order[1:]
        return (
            situation["stage"],
            concerns,
            desk.handling,
            desk.job.alloy,
            desk.job.cell.model_dump_json(),
            (feature.shape, feature.radius_mm, feature.width_mm, feature.access_mm, feature.finish.lay, desk.on_edge),
            feature.area_cm2 if feature.width_mm is None else None,
            frozenset(rule for rule in silent if self._could_speak(rule, situation)),
            *(engine.signature(place, situation) for place in places),
        )

    def _could_speak(self, rule: str, situation: Facts) -> bool:
        """Whether a rule may fire once media and the rest are decided."""
        vocabulary = self.knowledge.vocabulary
        return all(
            test.attribute in vocabulary.decisions
            or vocabulary.attributes[test.attribute].set_by == "formula"
            or answer(test, situation.get(test.attribute), vocabulary) != "no"
            for test in self.knowledge.rule[rule].when
        )


class _Sharing(PathFinder):
    """A search that takes the candidates of a stage from what others have worked out."""

    def __init__(self, desk: FeatureDesk, shared: Shared, silent: frozenset[str]) -> None:
        super().__init__(desk, desk.job.batch)
        self._shared, self._silent = shared, silent

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage, worked out here or before."""
        band = sum(1 for limit in self._limits if remaining * 1e3 > limit) if stage == "clear" else -1
        own = (stage, defect, band, concerns)
        if own not in self.fields:
            situation = self._situation(stage, defect, remaining)
            key = self._shared.key(self.desk_for(stage, defect), situation, concerns, self._silent)
            found = self._shared.kept.get(key)
            if found is None:
                found = self._shared.kept[key] = super().field(stage, concerns, defect, remaining)
            self.fields[own] = found
        return self.fields[own]
