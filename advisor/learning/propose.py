"""Gathers every proposal that a log supports, each ready to be accepted: change, evidence, checks, impact."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.learning.bench import Bench
from advisor.learning.drafts import Remedy, draft, repeated
from advisor.learning.exceptions import Failing, failing
from advisor.learning.followed import heard
from advisor.learning.impact_on_jobs import ImpactBench
from advisor.learning.proposal import Evidence, Proposal, ProposalKind, in_words, proposal_id
from advisor.learning.rule_edits import with_exception, with_status
from advisor.learning.standing import Moved, demoted, promoted
from advisor.learning.teach import teach
from advisor.learning.track_record import track_records
from advisor.learning.trial_folder import TrialFolder
from advisor.learning.updates import moved_rows
from advisor.learning.yaml_edit import find_block
from advisor.pipeline import Desk
from advisor.trials.model import Trial

_NO_LAYOUT = "the change cannot be written into the file as it is laid out"


@dataclass(frozen=True)
class Change:
    """A proposal with the whole new text of its file (None where the file is laid out otherwise)."""

    proposal: Proposal
    text: str | None = field(repr=False)


class Proposer:
    """Everything that a log suggests for one knowledge folder."""

    def __init__(self, desk: Desk, folder: Path) -> None:
        self._desk = desk
        self._folder = folder
        self._knowledge = desk.knowledge
        self._texts: dict[str, str] = {}
        self._trial_folder: TrialFolder | None = None  # read when the first change is tried

    def changes(self, trials: Iterable[Trial]) -> tuple[Change, ...]:
        """Every proposal, unchecked: coefficients, exceptions, demotions, promotions, drafts."""
        standing = tuple(trials)
        spoke = heard(standing, Bench(self._desk))
        records, rules = track_records(spoke), self._knowledge.rule
        asked_for = track_records(item for item in spoke if item.wanted or not item.followed)
        return (
            *self._coefficients(standing),
            *(self._exception(item) for item in failing(spoke)),
            *(self._status(item) for item in demoted(records, rules)),
            *(self._status(item) for item in promoted(asked_for, rules)),
            *(self._draft(item) for item in repeated(standing, self._knowledge)),
        )

    def examined(self, change: Change, bench: ImpactBench | None = None) -> Change:
        """The same change after `advisor check` has run on it, and with its impact on the worked jobs."""
        if change.text is None:
            faults: tuple[str, ...] = (f"{change.proposal.file}: {_NO_LAYOUT}",)
            return Change(change.proposal.model_copy(update={"checks": faults}), None)
        if self._trial_folder is None:
            self._trial_folder = TrialFolder(self._folder)
        knowledge, faults = self._trial_folder.checked({change.proposal.file: change.text})
        update: dict[str, object] = {"checks": faults}
        if bench is not None and knowledge is not None and not faults:
            update["impact"] = bench.impact(change.proposal, knowledge)
        return Change(change.proposal.model_copy(update=update), change.text)

    # ------------------------------------------------------------------ one kind each
    def _coefficients(self, trials: tuple[Trial, ...]) -> Iterator[Change]:
        text = self._file("reference/coefficients.yaml")
        for proposal, new in moved_rows(teach(trials, self._desk), self._knowledge, text):
            yield Change(proposal, new)

    def _exception(self, item: Failing) -> Change:
        rule, table = item.rule, item.table
        file = f"rules/{rule.topic}.yaml"
        what = _thing(item.attribute, item.value, self._knowledge)
        says = (
            f"{rule.title}: followed on {what} it failed in {table.failed_in} of {table.inside} trials, "
            f"elsewhere in {table.failed_out} of {table.outside}. It should not speak there."
        )
        strength = in_words(item.e_value, item.share)
        if item.alike:
            count = len(item.alike)
            strength += (
                f"; these trials cannot tell it from {count} other rule{'s' if count > 1 else ''} that spoke on "
                "the same ones: try the part once against each before accepting"
            )
        evidence = Evidence(
            trials=item.inside,
            counts=dict(table._asdict()),
            asked=item.asked,
            e_value=item.e_value,
            p_value=item.p_value,
        )
        try:
            text = with_exception(
                self._file(file), rule, item.attribute, item.value, item.elsewhere[0], item.inside
            )
            change = find_block(text, f"rule: {rule.id}", file).text()
        except InputError as error:
            text, change = None, f"# {_NO_LAYOUT}: {error.problems[0].what}\n"
        proposal = Proposal(
            id=proposal_id("exception", rule.id, f"{item.attribute}={item.value}"), kind="exception",
            rule=rule.id, says=says, change=change, file=file, evidence=evidence, strength=strength,
            where={item.attribute: item.value}, alike=item.alike,
        )  # fmt: skip
        return Change(proposal, text)

    def _status(self, item: Moved) -> Change:
        rule, record = item.rule, item.record
        file = f"rules/{rule.topic}.yaml"
        trials = record.failed + record.passed_against if item.kind == "demotion" else record.passed
        evidence = Evidence(
            trials=tuple(sorted(trials)),
            counts={
                "followed_passed": len(record.passed), "followed_failed": len(record.failed),
                "against_passed": len(record.passed_against), "against_failed": len(record.failed_against),
            },
            asked=item.asked, e_value=item.e_value, p_value=item.p_value,
        )  # fmt: skip
        to = {"on trial": "put on trial", "retired": "retired", "trusted": "trusted"}[item.status]
        try:
            text = with_status(self._file(file), rule, item.status, evidence.trials)
            change = find_block(text, f"rule: {rule.id}", file).text()
        except InputError as error:
            text, change = None, f"# {_NO_LAYOUT}: {error.problems[0].what}\n"
        kind: ProposalKind = "demotion" if item.kind == "demotion" else "promotion"
        proposal = Proposal.model_validate(
            {
                "id": proposal_id(kind, rule.id, item.status), "kind": kind, "rule": rule.id,
                "says": f"{rule.title}: {item.says} It should be {to}.", "change": change, "file": file,
                "evidence": evidence, "strength": in_words(item.e_value, 1.0 / item.asked),
            }
        )  # fmt: skip
        return Change(proposal, text)

    def _draft(self, remedy: Remedy) -> Change:
        key, change = draft(remedy, self._knowledge)
        file = "rules/symptoms.yaml"
        text = self._file(file).rstrip("\n") + "\n\n" + change
        helped = len(remedy.helped)
        proposal = Proposal(
            id=proposal_id("draft", key, f"{remedy.decision}={remedy.to}"), kind="draft", rule=key,
            says=f"{remedy.symptom.replace('-', ' ')} on {remedy.media}: {remedy.decision.replace('_', ' ')} "
            f"{remedy.to} took it away in {helped} of {remedy.tried} tries.",
            change=change, file=file,
            evidence=Evidence(
                trials=remedy.trials, counts={"helped": helped, "tried": remedy.tried}
            ),
            strength="a draft: seen again and again, but the trials were not set up to test it",
        )  # fmt: skip
        return Change(proposal, text)

    def _file(self, name: str) -> str:
        if name not in self._texts:
            path = self._folder / name
            self._texts[name] = path.read_text(encoding="utf-8") if path.exists() else ""
        return self._texts[name]


def _thing(attribute: str, value: str, knowledge: Knowledge) -> str:
    """An alloy, a shape or a media in words."""
    if attribute == "alloy.key":
        return knowledge.tables.alloys[value].name
    if attribute == "media":
        return f"a {knowledge.tables.media[value].name}"
    return f"a {value} face" if value != "edge" else "an edge"
