"""The bare choice for a job: which steps each face gets, without numbers, bands and words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.job.model import Feature, Job
from advisor.pipeline import Desk
from advisor.sequence.candidate import Candidate
from advisor.sequence.joint import share_set_ups
from advisor.sequence.plan import FeaturePlan, decide_handling, plan_feature
from advisor.situations import job_situation, presumed

_SET_UP = (
    "pressure", "build", "coat", "top_coat", "backing", "wheel_cover", "wheel_hardness", "wheel_face",
    "wheel_width", "lubricant",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class StepChoice:
    """What is chosen for one step: the abrasive, and the set-up around it as (decision, value)."""

    stage: str
    media: str
    grain: str | None
    grade: str | None
    set_up: tuple[tuple[str, str], ...] = ()

    @property
    def abrasive(self) -> tuple[str, str, str | None, str | None]:
        """Stage, media, grain and grade."""
        return self.stage, self.media, self.grain, self.grade

    def says(self) -> str:
        """The step in two words."""
        return " ".join(filter(None, (self.grade, self.media)))


@dataclass(frozen=True, slots=True)
class FaceChoice:
    """The steps of one face; none where there is no process."""

    name: str
    steps: tuple[StepChoice, ...]

    @property
    def chain(self) -> tuple[tuple[str, str, str | None, str | None], ...]:
        """The first choice: stage, media, grain and grade of each step."""
        return tuple(step.abrasive for step in self.steps)

    def says(self) -> str:
        """The chain in a few words."""
        return ", ".join(step.says() for step in self.steps) or "no process"


@dataclass(frozen=True, slots=True)
class JobChoice:
    """The handling and the steps of every face."""

    handling: str
    faces: tuple[FaceChoice, ...]

    @property
    def chains(self) -> tuple[object, ...]:
        """What is compared where only the chain counts."""
        return self.handling, *(face.chain for face in self.faces)


class Chooser:
    """Chooses for many jobs that are nearly alike; a face that is the same again is not planned again.

    The object belongs to one question and is thrown away with it.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._plans: dict[tuple[str, str, str], FeaturePlan] = {}

    def choice(self, job: Job) -> JobChoice:
        """The choice that `recommend` makes for a job."""
        knowledge = self.desk.knowledge
        facts, _ = presumed(job_situation(job, knowledge), knowledge)
        handling = str(decide_handling(job, self.desk.decider, facts).winner)
        around = _around(job)
        plans, _ = share_set_ups([self._plan(job, feature, handling, around) for feature in job.features])
        return choice_of(handling, plans)

    def _plan(self, job: Job, feature: Feature, handling: str, around: str) -> FeaturePlan:
        key = (around, feature.model_dump_json(), handling)
        if key not in self._plans:
            desk = self.desk
            self._plans[key] = plan_feature(job, feature, handling, desk.knowledge, desk.decider, desk.book)
        return self._plans[key]


def _around(job: Job) -> str:
    return job.model_dump_json(include={"alloy", "part", "environment", "after", "cell", "batch"})


def chain_of(plan: FeaturePlan) -> tuple[StepChoice, ...]:
    """The steps of a plan as they are chosen, without the set-up."""
    return tuple(StepChoice(step.candidate.stage, *step.candidate.key) for step in plan.path)


def choice_of(handling: str, plans: Sequence[FeaturePlan]) -> JobChoice:
    """The choice that some plans make."""
    return JobChoice(handling, tuple(map(_face, plans)))


def _face(plan: FeaturePlan) -> FaceChoice:
    return FaceChoice(plan.feature.name, tuple(_step(step.candidate) for step in plan.path))


def _step(candidate: Candidate) -> StepChoice:
    media, grain, grade = candidate.key
    values = candidate.values
    set_up = tuple((name, str(values[name])) for name in _SET_UP if values.get(name) is not None)
    return StepChoice(candidate.stage, media, grain, grade, (("station", candidate.tool.station.name), *set_up))
