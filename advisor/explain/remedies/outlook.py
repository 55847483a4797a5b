"""Whether an option could win under some changes, and whether it does: the cheap questions, and the whole run."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from advisor.explain.forced import Wish
from advisor.explain.muted import lacking, without
from advisor.explain.remedies.change import Change, left_out
from advisor.explain.remedies.decided import Decided
from advisor.explain.remedies.jobs import Jobs
from advisor.explain.remedies.replan import Face, Replanner, worked_at
from advisor.figures.coefficients import CoefficientBook
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.pipeline import WorkedOut
from advisor.sequence.joint import share_set_ups
from advisor.sequence.plan import decide_handling, plan_feature
from advisor.situations import job_situation, presumed


@dataclass(slots=True)
class Outlook:
    """Asks of one option of one feature what changes would do for it."""

    found: WorkedOut
    knowledge: Knowledge
    feature: str
    wish: Wish
    replanner: Replanner
    jobs: Jobs
    decided: Decided = field(init=False)
    reruns: int = 0
    _won: dict[object, bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Open what remembers the decisions up to the one in question."""
        self.decided = Decided(self.wish, self.knowledge, self.replanner.voices)

    def face(self, changes: Collection[Change]) -> Face | None:
        """The face under some changes; None where they make no job."""
        job = self.jobs.alone(changes)
        return None if job is None else self.replanner.face(job, job.features[0], left_out(changes))

    def could_win(self, face: Face, concerns: int | None = None) -> bool:
        """Whether the option is among the candidates of its stage, whatever they cost.

        What this denies cannot win while so many concerns count, as many as in the plan taken where nothing
        is said: a plan is made of candidates only.
        """
        if self.wish.decision == "handling":
            return face.desk.handling == self.wish.option
        concerns = self.replanner.reach if concerns is None else concerns
        if not self._may_be_had(face, concerns):
            return False
        return any(map(self.wish.met_by, self.replanner.candidates(face, self.wish.stage, concerns)))

    def could_win_widened(self, face: Face) -> bool:
        """Whether the option might win for want of any plan while all concerns count."""
        if self.wish.decision == "handling" or not self._may_be_had(face, 0):
            return False
        chain = next(plan.path for plan in self.found.alone if plan.feature.name == self.feature)
        if chain and self.replanner.still_planned(face, chain):
            return False
        return self.could_win(face, 0)

    def _may_be_had(self, face: Face, concerns: int) -> bool:
        """The cheap part of `could_win`: whether the option comes out of its decision, limits aside."""
        return bool(face.desk.tools) and any(
            self.decided.comes_out(worked_at(face.desk, each), each, concerns, face.silent)
            for each in self.replanner.situations(face, self.wish.stage)
        )

    def wins(self, changes: Collection[Change], face: Face | None = None) -> bool:
        """Whether the option is taken, with what the changes leave as it was not worked out again."""
        face = face or self.face(changes)
        if face is None:
            return False
        if self.wish.decision == "handling":
            return self.could_win(face)
        if not self.replanner.offered(face, self.wish.met_in):
            return False
        silent = left_out(changes)
        job = face.job if len(self.found.job.features) == 1 else self.jobs.whole(changes)
        plan = None if job is None else self.replanner.shared(job, self.feature, silent)
        return plan is not None and self.wish.met_in(plan.path)

    def proved(self, changes: Iterable[Change]) -> bool:
        """Whether a whole recommendation, worked out anew from the changed job and knowledge, takes the option."""
        named = tuple(changes)
        key = frozenset(map(str, named))
        known = self._won.get(key)
        if known is None:
            self.reruns += 1
            job = self.jobs.whole(named)
            known = self._won[key] = job is not None and self._rerun(job, left_out(named))
        return known

    def _rerun(self, job: Job, silent: frozenset[str]) -> bool:
        """The way of `pipeline.work_out` up to the plans; the spread of their numbers decides nothing."""
        base, decider = lacking(self.knowledge, silent), without(self.found.decider, silent)
        facts, _ = presumed(job_situation(job, base), base)
        handling = str(decide_handling(job, decider, facts).winner)
        if self.wish.decision == "handling":
            return handling == self.wish.option
        book = CoefficientBook(base.tables.coefficients.values())
        plans, _ = share_set_ups(
            [plan_feature(job, each, handling, base, decider, book) for each in job.features]
        )
        return any(plan.feature.name == self.feature and self.wish.met_in(plan.path) for plan in plans)
