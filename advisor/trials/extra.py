"""A step put in beyond those of the sheet: set up as it ran, on the surface that the plan leaves there."""

from __future__ import annotations

from dataclasses import replace

from advisor.inference.engine import Growing
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.trials.model import Trial
from advisor.trials.run import Barred, run
from advisor.trials.setting_up import asked_alone


def extra_step(trial: Trial, plan: FeaturePlan) -> PlannedStep:
    """The step as the plan would hold it, had it planned it.

    It finds what the sheet's own step before it leaves, and has to leave what the next one was planned to
    find, or the finish where none follows. Where this cell cannot run it, it stays like its neighbour, and
    what stands in its way is found when it is set up.
    """
    path, place = plan.path, trial.step
    neighbour = path[place - 1] if place else path[0]
    before = neighbour.after if place else neighbour.before
    after = path[place].before if place < len(path) else path[-1].after
    stage = neighbour.candidate.stage if place in (0, len(path)) else "refine"
    situation = neighbour.candidate.situation
    if stage != neighbour.candidate.stage:
        facts = {**plan.desk.facts, "stage": stage}
        situation = Growing(plan.desk.decider.engine.conclude(facts).situation)
    step = replace(
        neighbour,
        kind="erase",
        candidate=replace(neighbour.candidate, stage=stage, situation=situation),
        before=before,
        after=after,
        received={},
        strip=None,
        local=False,
        flags=(),
    )
    one = run(plan.desk, step, asked_alone(trial, step, plan.desk), trial.used.wheel_diameter_mm)
    if isinstance(one, Barred):
        return step
    own = replace(
        step.candidate, tool=one.tool, grain=one.grain, grade=one.grade, choices=one.choices, values=one.values,
        setup=one.setup, effect=one.effect,
    )  # fmt: skip
    return replace(
        step,
        kind="blend" if one.tool.media.blends else "erase",
        candidate=own,
        passes=one.passes,
        feed=one.setup.feed,
        removal=one.removal,
    )
