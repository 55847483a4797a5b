"""The whole way from a job to its process sheet, on one page."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from pathlib import Path

from advisor.choices.decide import Decider
from advisor.choices.model import ListChoice
from advisor.figures.coefficients import CoefficientBook
from advisor.figures.learned import Learned
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.job.model import Assumed, Job
from advisor.job.write import canonical_json
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.numbers.job_figures import JobFigures, job_figures
from advisor.sequence.joint import Visit, share_set_ups
from advisor.sequence.memory import PlanMemory
from advisor.sequence.plan import FeaturePlan, decide_handling
from advisor.sheet.build import Planned, build_sheet, planned_with
from advisor.sheet.model import Sheet
from advisor.situations import Facts, job_situation, presumed


class Desk:
    """Opened knowledge: its rules behind a matcher, with all they have answered so far remembered.

    One desk serves any number of jobs; the more alike they are, the faster it answers. `learned` is what
    the shop's own trials say of the published coefficients; without it these stand.
    """

    def __init__(
        self, knowledge: Knowledge, matcher: str | None = None, learned: Learned | None = None
    ) -> None:
        self.knowledge = knowledge
        self.decider = Decider(Engine(knowledge, matcher_maker(matcher)))
        self.book = CoefficientBook(knowledge.tables.coefficients.values(), learned)
        self.plans = PlanMemory(knowledge, self.book)

    def with_learned(self, learned: Learned | None) -> Desk:
        """The same opened rules, with what trials taught."""
        return self._over(self.knowledge, learned)

    def with_rows(self, knowledge: Knowledge) -> Desk:
        """The same opened rules, with the tables of a knowledge that has these rules and other rows."""
        return self._over(knowledge, None)

    def _over(self, knowledge: Knowledge, learned: Learned | None) -> Desk:
        other = copy(self)
        other.knowledge = knowledge
        other.book = CoefficientBook(knowledge.tables.coefficients.values(), learned)
        other.plans = PlanMemory(knowledge, other.book)
        return other

    def close(self) -> None:
        """Give back what the matcher holds."""
        self.decider.engine.close()


def open_desk(folder: Path | None = None, matcher: str | None = None) -> Desk:
    """A desk over a knowledge folder, the packaged one where none is named.

    Raises KnowledgeError with every fault of the folder.
    """
    return Desk(load_knowledge(folder), matcher)


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """Everything found for a job on the way to its sheet; what explains the sheet looks into it."""

    job: Job
    facts: Facts
    handling: ListChoice
    presumptions: Sequence[Assumed]
    alone: Sequence[FeaturePlan]  # each face for itself, before set-ups are shared
    planned: Sequence[Planned]
    set_ups: Sequence[Visit]
    figures: JobFigures
    decider: Decider  # over an engine that has noted which rules spoke


def recommend(job: Job, desk: Desk) -> Sheet:
    """The process sheet for a job.

    A feature without an admissible process has no steps and says what stands in the way.
    """
    return sheet_of(work_out(job, desk), desk.knowledge)


def work_out(job: Job, desk: Desk, draws_of: Job | None = None) -> WorkedOut:
    """The way from a job to its plans and their numbers.

    With `draws_of` the spread of the numbers is drawn as for that job, so that two jobs differ only by
    what was asked.
    """
    knowledge, decider = desk.knowledge, desk.decider.listening()
    facts, presumptions = presumed(job_situation(job, knowledge), knowledge)
    handling = decide_handling(job, decider, facts)
    alone = [desk.plans.plan(job, feature, str(handling.winner), decider) for feature in job.features]
    plans, set_ups = share_set_ups(alone)
    figures = job_figures(job, plans, set_ups, canonical_json(draws_of or job))
    planned = planned_with(plans, figures)
    return WorkedOut(job, facts, handling, presumptions, alone, planned, set_ups, figures, decider)


def sheet_of(found: WorkedOut, knowledge: Knowledge) -> Sheet:
    """The last stop: what was found, as a sheet with the reason of every value."""
    return build_sheet(
        found.job,
        found.facts,
        found.handling,
        found.presumptions,
        found.planned,
        found.set_ups,
        found.figures,
        knowledge,
        found.decider.engine,
    )
