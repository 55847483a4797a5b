"""What an accepted proposal would do to the worked jobs: only those that it can touch are worked out."""

from __future__ import annotations

from collections.abc import Sequence
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

#: So many changed lines are shown of one proposal.
MOST_LINES = 12


class ImpactBench:
    """The worked jobs of a folder under the knowledge as it is, worked out once for all proposals."""

    def __init__(self, desk: Desk, folder: Path) -> None:
        self._desk = desk
        self._cases: Sequence[Case] = ()
        try:
            found, _ = cases(folder, folder)  # a job that cannot be read is not this command's business
            self._cases = [case for case in found if not case.key.startswith("trials/")]
        except AdvisorError:
            self._cases = ()  # a folder without worked jobs, or with broken ones, has none to look at
        self._sheets: dict[str, Sheet] = {}

    def impact(self, proposal: Proposal, changed: Knowledge) -> Impact:
        """The worked jobs whose sheet differs with the knowledge changed."""
        jobs = [
            (case, job) for case in self._cases if isinstance(job := case.read(self._desk.knowledge), Job)
        ]
        touched = [(case, job) for case, job in jobs if self._touched(proposal, case, job)]
        other = Desk(changed)
        moved, lines = [], []
        try:
            for case, job in touched:
                found = differences(self._sheet(case, job), recommend(job, other))
                if found:
                    moved.append(case.key)
                    lines += [f"{case.key}: {line(item)}" for item in found]
        finally:
            other.close()
        if len(lines) > MOST_LINES:
            lines = [*lines[:MOST_LINES], f"and {len(lines) - MOST_LINES} more differences"]
        return Impact(looked_at=len(jobs), changed=tuple(moved), lines=tuple(lines))

    def _touched(self, proposal: Proposal, case: Case, job: Job) -> bool:
        """Whether a change can reach a job at all: told from the rules on its sheet, or from its metal."""
        if proposal.kind in ("promotion", "draft"):
            return False  # a rule on trial speaks as loud as a trusted one, and a sheet has no symptoms yet
        if proposal.kind == "coefficient":
            row = self._desk.knowledge.tables.coefficients[proposal.rule]
            alloy = self._desk.knowledge.tables.alloys[job.alloy]
            own = {"alloy": alloy.key, "family": alloy.family, "group": alloy.group}
            return all(row.scope.get(name, value) == value for name, value in own.items())
        if "alloy.key" in proposal.where and job.alloy != proposal.where["alloy.key"]:
            return False
        shapes = {feature.shape for feature in job.features}
        if proposal.where.get("feature.shape", next(iter(shapes))) not in shapes:
            return False
        sheet = self._sheet(case, job)
        return any(reason.rule == proposal.rule for reason in sheet.reasons.values())

    def _sheet(self, case: Case, job: Job) -> Sheet:
        if case.key not in self._sheets:
            self._sheets[case.key] = recommend(job, self._desk)
        return self._sheets[case.key]
