"""Recommends every known job with two knowledge bases and finds what changes, and through which rules.

Which rules spoke on a job is noted while it is worked out. Where few of those differ between the two
bases, each is taken back alone and the job worked out again: the change that moves is that rule's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from advisor.choices.decide import Decider
from advisor.errors import AdvisorError, KnowledgeError
from advisor.impact.compare import differences
from advisor.impact.corpus import cases
from advisor.impact.edits import edits_between
from advisor.impact.model import Change, Difference, Edits, JobImpact, Report
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.inference.tests import Situation
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Rule
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet

#: More rules than this are not taken back one by one; those that spoke are named instead.
MOST_TAKEN_BACK = 12
_MATCHER = "plain"  # both give the same answers, and this one opens at once

Progress = Callable[[int, int], None]


class _Noting(Engine):
    """An engine that notes under which signature each place was consulted."""

    noted: set[tuple[str, int]]

    def signature(self, place: str, situation: Situation) -> int:
        mask = super().signature(place, situation)
        self.noted.add((place, mask))
        return mask


class _Side:
    """One knowledge base at work: sheets, and the rules that spoke on the last one."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.engine = _Noting(knowledge, matcher_maker(_MATCHER))
        self.desk = Desk(knowledge, _MATCHER)
        self.desk.decider = Decider(self.engine)

    def sheet(self, job: Job) -> tuple[Sheet, frozenset[str]]:
        self.engine.noted = set()
        sheet = recommend(job, self.desk)
        fired = (rule.id for place, mask in self.engine.noted for rule in self.engine.rules(place, mask))
        return sheet, frozenset(fired)


def impact(old: Path, new: Path, log: Path | None = None, progress: Progress | None = None) -> Report:
    """What changes on the way from the knowledge in one folder to that in another.

    Looked at are the worked jobs and the jobs of the trials in both folders, and of a trial `log` where
    one is named. `progress` is told how many jobs are done and how many there are. Raises KnowledgeError
    where a folder cannot be loaded, InputError where there is no job to look at or one that neither
    base reads.
    """
    before, after = load_knowledge(old), load_knowledge(new)
    edits = edits_between(before, after)
    corpus, left_out = cases(old, new, log)
    found: list[JobImpact] = []
    unread = list(left_out)
    if not edits.none:
        bench = _Bench(before, after, edits)
        for number, case in enumerate(corpus):
            if progress is not None:
                progress(number, len(corpus))
            jobs = case.read(before), case.read(after)
            if isinstance(jobs[0], AdvisorError) and isinstance(jobs[1], AdvisorError):
                if not case.of_trial:
                    raise KnowledgeError(jobs[1].problems)
                unread += jobs[1].problems
                continue
            changes = bench.changes(*jobs)
            if changes:
                found.append(JobImpact(key=case.key, title=case.title, changes=changes))
        if progress is not None:
            progress(len(corpus), len(corpus))
    return Report(
        old=before.fingerprint,
        new=after.fingerprint,
        edits=edits,
        jobs=len(corpus),
        changed=tuple(found),
        left_out=tuple(map(str, unread)),
    )


class _Bench:
    """Both bases side by side, and the new one with single rules taken back."""

    def __init__(self, old: Knowledge, new: Knowledge, edits: Edits) -> None:
        self.old, self.new = _Side(old), _Side(new)
        self.edits = edits
        self._back: dict[str, _Side] = {}

    def changes(self, before: Job | AdvisorError, after: Job | AdvisorError) -> tuple[Change, ...]:
        """What changes on one job, as each of the two bases reads it."""
        if isinstance(before, AdvisorError) or isinstance(after, AdvisorError):
            return (self._unread(before, after),)
        old, spoke_old = self.old.sheet(before)
        new, spoke_new = self.new.sheet(after)
        found = differences(old, new)
        if not found:
            return ()
        spoke = [identity for identity in self.edits.rules if identity in spoke_old | spoke_new]
        if len(spoke) > MOST_TAKEN_BACK:
            return tuple(Change(difference=item, rules=tuple(spoke)) for item in found)
        moved = {identity: self._moved(identity, after, old, found) for identity in spoke}
        return tuple(self._change(item, spoke, moved) for item in found)

    def _unread(self, old: Job | AdvisorError, new: Job | AdvisorError) -> Change:
        told = [
            f"cannot be read: {job}" if isinstance(job, AdvisorError) else "is read" for job in (old, new)
        ]
        difference = Difference(kind="job", field="job", old=told[0], new=told[1])
        return Change(difference=difference, rows=self.edits.rows)

    def _moved(
        self, identity: str, job: Job, old: Sheet, found: Iterable[Difference]
    ) -> frozenset[Difference]:
        """The differences that go or become others once a rule is taken back."""
        if identity not in self._back:
            self._back[identity] = _Side(taken_back(self.new.knowledge, self.old.knowledge, identity))
        sheet, _ = self._back[identity].sheet(job)
        return frozenset(found) - frozenset(differences(old, sheet))

    def _change(
        self, item: Difference, spoke: list[str], moved: Mapping[str, frozenset[Difference]]
    ) -> Change:
        alone = tuple(identity for identity in spoke if item in moved[identity])
        if alone:
            return Change(difference=item, rules=alone, shown=True)
        rows = (*self.edits.rows, *(f"vocabulary: {key}" for key in self.edits.vocabulary))
        return Change(difference=item, rules=tuple(spoke), rows=rows)


def taken_back(new: Knowledge, old: Knowledge, identity: str) -> Knowledge:
    """The new knowledge with one rule as it was in the old one, absent where it was absent."""
    rules: dict[str, Rule] = {rule.id: rule for rule in new.rules if rule.id != identity}
    if identity in old.rule:
        rules[identity] = old.rule[identity]
    parts: dict[str, Any] = {name: getattr(new, name) for name in Knowledge.model_fields}
    parts |= {"rules": tuple(rules[key] for key in sorted(rules)), "layout": ()}
    return Knowledge.model_construct(None, **parts)  # checked already; nothing worked out is carried over
