"""Finds rules whose standing trials have changed: trusted ones that are contradicted, trial ones that proved good."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.knowledge.rules import Rule, Status
from advisor.learning.chance import Table, evidence_above, evidence_of_difference, fisher_above, wilson
from advisor.learning.proposal import ALPHA
from advisor.learning.track_record import TrackRecord

#: A rule on trial is trusted where its advice passes clearly more often than this; and at least so many trials.
PASSES = 0.7
FEWEST = 10


@dataclass(frozen=True, slots=True)
class Moved:
    """A rule whose status should change, with the counts and the evidence."""

    rule: Rule
    kind: str  # demotion | promotion
    status: Status
    record: TrackRecord
    e_value: float
    asked: int
    p_value: float | None

    @property
    def says(self) -> str:
        """Why, in one sentence."""
        return " ".join(self.record.lines())


def demoted(records: Mapping[str, TrackRecord], rules: Mapping[str, Rule]) -> Iterator[Moved]:
    """Rules that fail more often when followed than when not: trusted ones go on trial, those retire.

    Rules of safety are never in question.
    """
    open_ = {
        key: record
        for key, record in records.items()
        if rules[key].concern != "safety"
        and record.passed + record.failed
        and record.passed_against + record.failed_against
    }
    for key, record in open_.items():
        table = Table(
            len(record.failed), len(record.failed) + len(record.passed),
            len(record.failed_against), len(record.failed_against) + len(record.passed_against),
        )  # fmt: skip
        e_value = evidence_of_difference(table)
        worse = table.failed_in * table.outside > table.failed_out * table.inside
        if worse and 2 * table.failed_in >= table.inside and e_value >= len(open_) / ALPHA:
            status: Status = "on trial" if rules[key].status == "trusted" else "retired"
            yield Moved(rules[key], "demotion", status, record, e_value, len(open_), fisher_above(table))


def promoted(records: Mapping[str, TrackRecord], rules: Mapping[str, Rule]) -> Iterator[Moved]:
    """Rules on trial whose advice passes clearly more than seven times in ten."""
    open_ = {key: record for key, record in records.items() if rules[key].status == "on trial"}
    for key, record in open_.items():
        count = len(record.passed) + len(record.failed)
        e_value = evidence_above(len(record.passed), count, PASSES)
        sure = count >= FEWEST and wilson(len(record.passed), count)[0] > PASSES
        if sure and e_value >= len(open_) / ALPHA:
            yield Moved(rules[key], "promotion", "trusted", record, e_value, len(open_), None)
