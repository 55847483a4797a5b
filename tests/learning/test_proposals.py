"""Proposals out of whole logs: what is suggested, that the change fits, and that nothing weakens safety."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from advisor.errors import InputError
from advisor.impact.compare import differences
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.rules import Rule
from advisor.learning.accept import accepted, find, writable
from advisor.learning.followed import heard
from advisor.learning.impact_on_jobs import ImpactBench
from advisor.learning.propose import Change, Proposer
from advisor.learning.standing import demoted, promoted
from advisor.learning.track_record import TrackRecord, track_records
from advisor.learning.trial_folder import TrialFolder
from advisor.pipeline import Desk, recommend
from tests.learning.planted import BAD, fails_on_one_alloy, helps_again
from tests.learning.trials import bench, desk, knowledge, read_trials, shop_trials


@pytest.fixture(scope="module")
def proposer() -> Proposer:
    return Proposer(desk(), knowledge_folder())


@pytest.fixture(scope="module")
def planted(proposer: Proposer) -> tuple[Change, ...]:
    return proposer.changes(read_trials(fails_on_one_alloy()))


def few_jobs(folder: Path) -> Path:
    """The packaged knowledge with a third of its worked jobs."""
    shutil.copytree(knowledge_folder(), folder)
    for number, path in enumerate(sorted((folder / "jobs").rglob("*.yaml"))):
        if number % 3:
            path.unlink()
    return folder


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> ImpactBench:
    return ImpactBench(knowledge(), few_jobs(tmp_path_factory.mktemp("few") / "knowledge"))


def reloaded(folder: Path, change: Change, tmp_path: Path) -> tuple[Rule, dict[str, Rule]]:
    """The changed rule and all others, read from a copy of the knowledge with the change in it."""
    copy = tmp_path / "knowledge"
    shutil.copytree(folder, copy)
    assert change.text is not None
    (copy / change.proposal.file).write_text(change.text, encoding="utf-8")
    rules = dict(load_knowledge(copy).rule)
    return rules.pop(change.proposal.rule), rules


def content(rule: Rule) -> str:
    """A rule without the lines on which it stands."""
    return rule.model_dump_json(exclude={"place": True, "examples": {"__all__": {"line"}}})


def test_a_rule_that_fails_on_one_alloy_is_proposed_for_an_exception(planted: tuple[Change, ...]) -> None:
    rules = {change.proposal.rule for change in planted if change.proposal.kind == "exception"}
    assert "belt-on-stainless-refining" in rules or "stainless-on-coated-media" in rules
    for change in planted:
        assert change.proposal.evidence.counts["inside"] == 12
        assert len(change.proposal.evidence.trials) == 12
        assert f"alloy.key: {BAD}" in change.proposal.change or BAD in change.proposal.change
        assert "strong" in change.proposal.strength


def test_an_exception_changes_its_rule_and_nothing_else(
    planted: tuple[Change, ...], proposer: Proposer, tmp_path: Path
) -> None:
    change = planted[0]
    examined = proposer.examined(change).proposal
    assert examined.checks == ()
    before = dict(knowledge().rule)
    old = before.pop(change.proposal.rule)
    new, others = reloaded(knowledge_folder(), change, tmp_path)
    assert {key: content(rule) for key, rule in others.items()} == {
        key: content(rule) for key, rule in before.items()
    }
    kept = {"unless", "when", "examples", "evidence", "place"}
    assert new.model_dump(exclude=kept) == old.model_dump(exclude=kept)
    assert set(change.proposal.evidence.trials) <= set(new.evidence)
    text = (knowledge_folder() / change.proposal.file).read_text(encoding="utf-8")
    assert change.text is not None
    comments = [line for line in text.splitlines() if line.lstrip().startswith("#")]
    assert comments == [line for line in change.text.splitlines() if line.lstrip().startswith("#")]
    untouched = [line for line in text.splitlines() if line not in change.text.splitlines()]
    assert len(untouched) <= 2 * len(old.examples), "only lines of the rule itself may change"


def test_every_exception_can_be_accepted(planted: tuple[Change, ...], proposer: Proposer) -> None:
    kinds = {bool(knowledge().rule[each.proposal.rule].unless): each for each in planted}
    assert set(kinds) == {True, False}, "a rule that has exceptions already, and one that has none"
    for change in kinds.values():
        assert accepted(change, proposer, knowledge()) == change.text


def test_the_impact_names_worked_jobs_of_that_metal_only(
    planted: tuple[Change, ...], proposer: Proposer, jobs: ImpactBench
) -> None:
    found = proposer.examined(planted[-1], jobs).proposal.impact
    assert found is not None
    assert found.looked_at > 15
    texts = {f"jobs/{path.stem}": path.read_text() for path in (knowledge_folder() / "jobs").glob("*.yaml")}
    assert all(BAD in texts[key] or "316L" in texts[key] for key in found.changed)
    assert all(line.startswith((*found.changed, "and ")) for line in found.lines)


def test_a_job_that_a_change_is_said_not_to_touch_has_the_same_sheet(
    planted: tuple[Change, ...], proposer: Proposer, jobs: ImpactBench
) -> None:
    """What is left out of the impact is worked out in full here, for a rule and for a row."""
    moved = proposer.changes(read_trials(shop_trials(80)))
    row = next(each for each in moved if each.proposal.rule == "specific-energy-zinc-die-cast")
    files = TrialFolder(knowledge_folder())
    for change in (planted[0], row):
        assert change.text is not None
        changed, _ = files.checked({change.proposal.file: change.text})
        assert changed is not None
        touched = jobs.touched(change.proposal)
        others = [each for each in jobs.known if each not in touched]
        assert touched
        assert others
        other = Desk(changed, "plain")
        for known in others[:: max(1, len(others) // 5)]:
            assert differences(known.sheet, recommend(known.job, other)) == ()


def test_a_remedy_that_helps_again_and_again_becomes_a_draft(proposer: Proposer, tmp_path: Path) -> None:
    (change,) = proposer.changes(read_trials(helps_again()))
    assert change.proposal.kind == "draft"
    assert proposer.examined(change).proposal.checks == ()
    new, _ = reloaded(knowledge_folder(), change, tmp_path)
    assert new.status == "on trial"
    assert new.notes("remedy")[0].change == {"feed": "lower"}
    assert set(new.evidence) == set(change.proposal.evidence.trials)


def test_a_draft_is_not_made_twice(proposer: Proposer, tmp_path: Path) -> None:
    (change,) = proposer.changes(read_trials(helps_again()))
    copy = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), copy)
    assert change.text is not None
    (copy / change.proposal.file).write_text(change.text, encoding="utf-8")
    again = Proposer(type(desk())(load_knowledge(copy), "plain"), copy)
    assert again.changes(read_trials(helps_again())) == ()


def test_a_coefficient_moves_with_its_trials_in_a_note(proposer: Proposer, tmp_path: Path) -> None:
    changes = proposer.changes(read_trials(shop_trials(80)))
    change = next(each for each in changes if each.proposal.rule == "specific-energy-zinc-die-cast")
    assert proposer.examined(change).proposal.checks == ()
    copy = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), copy)
    assert change.text is not None
    (copy / change.proposal.file).write_text(change.text, encoding="utf-8")
    old = knowledge().tables.coefficients
    new = load_knowledge(copy).tables.coefficients
    moved = new["specific-energy-zinc-die-cast"]
    assert moved.band.expected == pytest.approx(old[moved.key].band.expected / 1.4, rel=0.07)
    assert moved.band.low < moved.band.expected < moved.band.high
    assert moved.note is not None
    assert "evidence" in moved.note
    assert moved.evidence == change.proposal.evidence.trials
    assert {key for key in new if new[key] != old[key]} == {moved.key}


def test_a_quiet_log_proposes_nothing(proposer: Proposer) -> None:
    changes = proposer.changes(read_trials(shop_trials(40, removal=1.0, ra=1.0)))
    assert {change.proposal.kind for change in changes} <= {"promotion"}, "all of them passed"


def test_an_id_that_no_longer_stands_is_refused(planted: tuple[Change, ...]) -> None:
    with pytest.raises(InputError, match="no such proposal now"):
        find("exception-000000", planted)
    assert find(planted[1].proposal.id, planted) is planted[1]


def test_the_packaged_knowledge_is_never_written() -> None:
    with pytest.raises(InputError, match="packaged knowledge is not changed"):
        writable(None)


def test_a_rule_of_safety_is_never_weakened(planted: tuple[Change, ...], proposer: Proposer) -> None:
    spoke = heard(read_trials(fails_on_one_alloy()), bench())
    safety = {rule.id for rule in knowledge().rules if rule.concern == "safety"}
    assert safety
    assert not safety & {change.proposal.rule for change in planted}
    forged = Change(planted[0].proposal.model_copy(update={"rule": min(safety)}), planted[0].text)
    with pytest.raises(InputError, match="safety"):
        accepted(forged, proposer, knowledge())
    failed = tuple(f"t{number}" for number in range(40))
    records = {key: TrackRecord(key, failed=failed, passed_against=failed) for key in safety}
    assert not list(demoted(records, knowledge().rule))
    assert spoke


def test_a_contradicted_rule_goes_on_trial_and_a_proven_one_is_trusted() -> None:
    rules = dict(knowledge().rule)
    form = next(rule for rule in rules.values() if rule.concern == "form" and rule.status == "trusted")
    many = tuple(f"t{number}" for number in range(20))
    (moved,) = demoted({form.id: TrackRecord(form.id, (), many, many, ())}, rules)
    assert (moved.rule.id, moved.status) == (form.id, "on trial")
    assert not list(demoted({form.id: TrackRecord(form.id, many, many[:2], many, many[:2])}, rules))
    tried = form.model_copy(update={"status": "on trial"})
    rules[form.id] = tried
    (risen,) = promoted({form.id: TrackRecord(form.id, many + many)}, rules)
    assert risen.status == "trusted"
    assert not list(promoted({form.id: TrackRecord(form.id, many[:8])}, rules)), "eight are too few"


def test_the_record_counts_every_trial_once() -> None:
    trials = read_trials(fails_on_one_alloy())
    records = track_records(heard(trials, bench()))
    for record in records.values():
        ids = (*record.passed, *record.failed, *record.passed_against, *record.failed_against)
        assert len(ids) == len(set(ids)) <= len(trials)
    assert any(len(record.passed) + len(record.failed) == 42 for record in records.values())
