"""What an accepted proposal would do to the worked jobs: only those that it can touch are worked out again.

While a job is worked out under the knowledge as it is, the rules that spoke and the rows of coefficients
that were looked up are noted, for every option that was weighed and not only for the one taken. A change of
a rule that never spoke there, or of a row that nobody looked up, leaves the sheet as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from advisor.errors import AdvisorError
from advisor.impact.compare import differences
from advisor.impact.corpus import Case, cases
from advisor.impact.show import line
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.learning.proposal import Impact, Proposal
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet
from advisor.sheet.weighed import named_rules

#: So many changed lines are shown of one proposal.
MOST_LINES = 12
_MATCHER = "plain"  # both matchers give the same answers, and this one opens at once

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Known:
    """A worked job under the knowledge as it is, with everything that had a say in it."""

    key: str
    job: Job
    sheet: Sheet
    rules: frozenset[str]
    rows: frozenset[str]


class ImpactBench:
    """The worked jobs of a folder under the knowledge as it is, worked out once for all proposals."""

    def __init__(self, knowledge: Knowledge, folder: Path, progress: Progress = lambda done, of: None) -> None:
        self._knowledge = knowledge
        self._progress = progress
        self._desk = Desk(knowledge, _MATCHER)
        self._cases: Sequence[Case] = ()
        try:
            found, _ = cases(folder, folder)  # a job that cannot be read is not this command's business
            self._cases = [case for case in found if not case.key.startswith("trials/")]
        except AdvisorError:
            self._cases = ()  # a folder without worked jobs, or with broken ones, has none to look at

    def impact(self, proposal: Proposal, changed: Knowledge) -> Impact:
        """The worked jobs whose sheet differs with the knowledge changed."""
        touched = self.touched(proposal)
        if not touched:
            return Impact(looked_at=len(self.known))
        other = self._with_rows(changed) if proposal.kind == "coefficient" else Desk(changed, _MATCHER)
        moved: list[str] = []
        lines: list[str] = []
        for known in touched:
            found = differences(known.sheet, recommend(known.job, other))
            if found:
                moved.append(known.key)
                lines += [f"{known.key}: {line(item)}" for item in found]
        if len(lines) > MOST_LINES:
            lines = [*lines[:MOST_LINES], f"and {len(lines) - MOST_LINES} more differences"]
        return Impact(looked_at=len(self.known), changed=tuple(moved), lines=tuple(lines))

    def touched(self, proposal: Proposal) -> list[Known]:
        """The worked jobs that a change can reach at all; the sheet of every other stays as it is."""
        return [known for known in self.known if _touches(proposal, known)]

    @cached_property
    def known(self) -> tuple[Known, ...]:
        """Every worked job that can be read, worked out."""
        found = []
        for number, case in enumerate(self._cases):
            self._progress(number, len(self._cases))
            job = case.read(self._knowledge)
            if isinstance(job, Job):
                desk = self._with_rows(self._knowledge)  # a book of its own notes what this job looks up
                sheet = recommend(job, desk)
                spoke = frozenset(sheet.weighed) | named_rules(sheet)
                found.append(Known(case.key, job, sheet, spoke, desk.book.looked_up()))
        self._progress(len(self._cases), len(self._cases))
        return tuple(found)

    def _with_rows(self, knowledge: Knowledge) -> Desk:
        """The desk with the tables of another knowledge that has the same rules, and all the rules remember."""
        return self._desk.with_rows(knowledge)


def _touches(proposal: Proposal, known: Known) -> bool:
    """Whether a change can reach a job at all.

    A draft speaks of a symptom, and a sheet has none yet; a rule on trial speaks as loud as a trusted one.
    """
    if proposal.kind in ("promotion", "draft"):
        return False
    if proposal.kind == "coefficient":
        return proposal.rule in known.rows
    shapes: set[str] = {face.shape for face in known.job.features}
    here = {"alloy.key": {known.job.alloy}, "feature.shape": shapes}
    within = all(value in here[name] for name, value in proposal.where.items() if name in here)
    return within and proposal.rule in known.rules
