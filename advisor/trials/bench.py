"""The step that a trial tried, as the sheet plans it: where it stands in the chain, and what is allowed there."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.errors import InputError, Problem
from advisor.job.model import Job
from advisor.pipeline import Desk
from advisor.sequence.joint import share_set_ups
from advisor.sequence.plan import FeaturePlan, decide_handling, plan_feature
from advisor.sequence.surface import PlannedStep
from advisor.situations import job_situation, presumed
from advisor.trials.extra import extra_step
from advisor.trials.model import Trial


@dataclass(frozen=True, slots=True)
class Bench:
    """A trial beside the plan of its feature.

    `step` is the planned step that it tried, or what stands for a step of its own; `place` is how many
    steps of the plan come before it.
    """

    trial: Trial
    plan: FeaturePlan
    step: PlannedStep
    place: int

    @property
    def last(self) -> bool:
        """Whether the step is the one that leaves the finish."""
        return self.place + (not self.trial.extra) == len(self.plan.path)

    @property
    def before(self) -> PlannedStep | None:
        """The step before, where there is one."""
        return self.plan.path[self.place - 1] if self.place else None


def plans_of(job: Job, desk: Desk) -> tuple[FeaturePlan, ...]:
    """The plan of every feature, as the sheet shows them."""
    knowledge, decider = desk.knowledge, desk.decider
    facts, _ = presumed(job_situation(job, knowledge), knowledge)
    handling = str(decide_handling(job, decider, facts).winner)
    alone = [plan_feature(job, feature, handling, knowledge, decider, desk.book) for feature in job.features]
    return tuple(share_set_ups(alone)[0])


def open_bench(trial: Trial, desk: Desk) -> Bench:
    """The trial beside the plan of today. Raises InputError where the sheet has no such step."""
    plan = next(plan for plan in plans_of(trial.job, desk) if plan.feature.name == trial.feature)
    if trial.step > len(plan.path) or not plan.path:
        raise InputError(no_such_step(trial, len(plan.path)))
    if trial.extra:
        return Bench(trial, plan, extra_step(trial, plan), trial.step)
    return Bench(trial, plan, plan.path[trial.step - 1], trial.step - 1)


def no_such_step(trial: Trial, steps: int) -> Problem:
    """The problem of a trial whose step is not on the sheet."""
    if steps == 0:
        return Problem(
            trial.file or "trial",
            f"step: the sheet of {trial.job.name!r} has no process for {trial.feature!r}, so no step to try; "
            "advisor recommend says what stands in the way",
            str(trial.step),
        )
    allowed = "1" if steps == 1 else f"1 to {steps}"
    what = f"step: the sheet of {trial.job.name!r} has no such step for {trial.feature!r}"
    if not trial.extra:
        allowed += f"; a step of your own that came after step {steps} is written step: {steps}, extra: true"
    return Problem(trial.file or "trial", what, str(trial.step), allowed)
