"""The whole way from a job to its process sheet, on one page."""

from __future__ import annotations

from pathlib import Path

from advisor.choices.decide import Decider
from advisor.figures.coefficients import Draws
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.job.model import Job
from advisor.job.write import canonical_json
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.numbers.path_bands import path_bands
from advisor.sequence.joint import share_set_ups
from advisor.sequence.plan import decide_handling, plan_feature
from advisor.sheet.build import Planned, build_sheet
from advisor.sheet.model import Sheet
from advisor.situations import job_situation, presumed


class Desk:
    """Opened knowledge: its rules behind a matcher, with all they have answered so far remembered.

    One desk serves any number of jobs; the more alike they are, the faster it answers.
    """

    def __init__(self, knowledge: Knowledge, matcher: str | None = None) -> None:
        self.knowledge = knowledge
        self.decider = Decider(Engine(knowledge, matcher_maker(matcher)))

    def close(self) -> None:
        """Give back what the matcher holds."""
        self.decider.engine.close()


def open_desk(folder: Path | None = None, matcher: str | None = None) -> Desk:
    """A desk over a knowledge folder, the packaged one where none is named.

    Raises KnowledgeError with every fault of the folder.
    """
    return Desk(load_knowledge(folder), matcher)


def recommend(job: Job, desk: Desk) -> Sheet:
    """The process sheet for a job.

    A feature without an admissible process has no steps and says what stands in the way.
    """
    knowledge, decider = desk.knowledge, desk.decider
    facts, presumptions = presumed(job_situation(job, knowledge), knowledge)
    handling = decide_handling(job, decider, facts)
    drawn = Draws(canonical_json(job))
    alone = [plan_feature(job, feature, str(handling.winner), knowledge, decider) for feature in job.features]
    plans, set_ups = share_set_ups(alone)
    planned = [
        Planned(plan, path_bands(plan.desk, plan.path, drawn) if plan.path else None) for plan in plans
    ]
    return build_sheet(job, facts, handling, presumptions, planned, set_ups, knowledge, decider.engine)
