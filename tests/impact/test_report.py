"""What differs between two folders is found, and each change is put down to the rule that makes it."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import InputError, KnowledgeError
from advisor.impact.corpus import cases
from advisor.impact.edits import edits_between
from advisor.impact.model import Report
from advisor.impact.report import impact, taken_back
from advisor.impact.show import to_json
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.trials.store import store
from tests.trials import made

JOB = "manganese-bronze-cleat"
SHORE = {"should": {"wheel_hardness": {"at most": 30}}}


def _rule(identity: str, *then: dict[str, Any], family: str = "bronze", **more: Any) -> dict[str, Any]:
    when = {"stage": ["refine", "finish"], "media": "belt", "alloy.family": family}
    return {
        "rule": identity, "title": "A test", "when": when, "then": list(then), "concern": "look",
        "because": "It is a test.", "not for": "Anything but this test.", "source": "common-practice",
        "examples": [
            {"given": {"stage": "refine", "media": "belt", "alloy.family": family}, "expect": "fires"},
            {"given": {"stage": "clear", "media": "belt", "alloy.family": family}, "expect": "silent"},
        ],
        **more,
    }  # fmt: skip


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the knowledge with one worked job; shared, so that it is parsed once."""
    copy = tmp_path_factory.mktemp("base") / "knowledge"
    shutil.copytree(knowledge_folder(), copy, ignore=shutil.ignore_patterns("jobs", "trials"))
    (copy / "jobs").mkdir()
    shutil.copy(knowledge_folder() / "jobs" / f"{JOB}.yaml", copy / "jobs")
    return copy


class Folders:
    """The knowledge as it was, and a copy of it that a test may change."""

    def __init__(self, base: Path, folder: Path) -> None:
        self.old, self.new = base, folder / "new"
        shutil.copytree(base, self.new)

    def own_old(self) -> None:
        """Let the old folder be a copy that may be changed as well."""
        self.old = Path(shutil.copytree(self.old, self.new.parent / "old"))

    def say(self, folder: Path, *rules: dict[str, Any]) -> None:
        """Put rules into a folder; JSON is YAML."""
        (folder / "rules" / "test.yaml").write_text(json.dumps(rules), encoding="utf-8")

    def edit(self, name: str, old: str, new: str) -> None:
        """Change a file of the new folder."""
        path = self.new / name
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    def impact(self, log: Path | None = None) -> Report:
        return impact(self.old, self.new, log)


@pytest.fixture
def folders(base: Path, tmp_path: Path) -> Folders:
    return Folders(base, tmp_path)


def _through(report: Report, field: str) -> set[tuple[str, ...]]:
    return {
        change.rules for job in report.changed for change in job.changes if change.difference.field == field
    }


def test_two_copies_say_the_same(folders: Folders) -> None:
    report = folders.impact()
    assert report.edits.none
    assert report.old == report.new
    assert (report.jobs, report.changed) == (1, ())


def test_only_the_rule_that_moves_a_setting_is_named_for_it(folders: Folders) -> None:
    lubricated = {"should": {"lubricant": "wax"}}
    folders.say(
        folders.new,
        _rule("a-soft-wheel", SHORE, {"avoid": {"wheel_hardness": {"at least": 40}}}),
        _rule("a-waxed-belt", lubricated, {"avoid": {"lubricant": "dry"}}),
        _rule("a-word-for-titanium", SHORE, family="titanium"),
        _rule("a-caution", {"caution": "Mind the test."}),
    )
    report = folders.impact()
    assert report.edits.added == ("a-caution", "a-soft-wheel", "a-waxed-belt", "a-word-for-titanium")
    assert _through(report, "wheel hardness") == {("a-soft-wheel",)}
    (said,) = (each for job in report.changed for each in job.changes if each.difference.kind == "caution")
    assert (said.difference.new, said.rules) == ("Mind the test.", ("a-caution",))
    named = {rule for job in report.changed for change in job.changes for rule in change.rules}
    assert "a-word-for-titanium" not in named
    assert all(change.shown for job in report.changed for change in job.changes if change.rules)


def test_the_way_back_names_the_same_rule_as_gone(folders: Folders) -> None:
    folders.own_old()
    folders.say(folders.old, _rule("a-soft-wheel", SHORE, {"avoid": {"wheel_hardness": {"at least": 40}}}))
    report = folders.impact()
    assert report.edits.removed == ("a-soft-wheel",)
    assert _through(report, "wheel hardness") == {("a-soft-wheel",)}


def test_an_edited_rule_is_edited_and_one_that_only_moved_is_not(folders: Folders) -> None:
    mild = _rule("a-soft-wheel", {"should": {"wheel_hardness": {"at most": 40}}})
    caution = _rule("a-caution", {"caution": "Mind the test."})
    folders.own_old()
    folders.say(folders.old, mild, caution)
    folders.say(folders.new, caution, _rule("a-soft-wheel", SHORE))
    report = folders.impact()
    assert report.edits.edited == ("a-soft-wheel",)
    assert report.edits.rules == ("a-soft-wheel",)
    assert _through(report, "wheel hardness") <= {("a-soft-wheel",)}


def test_a_row_that_differs_is_named_where_no_rule_differs(folders: Folders) -> None:
    folders.edit("reference/defects.yaml", "depth_mm: [0.25, 0.8]", "depth_mm: [0.6, 0.9]")
    report = folders.impact()
    assert report.edits.rows == ("defects: casting-skin",)
    assert report.edits.rules == ()
    changes = [change for job in report.changed for change in job.changes]
    assert all(change.rows == ("defects: casting-skin",) and not change.rules for change in changes)


def test_a_job_that_only_one_side_reads_has_changed(folders: Folders) -> None:
    text = (folders.new / "reference" / "cells.yaml").read_text(encoding="utf-8")
    cell = text.split("- key: ", 2)[1].split("\n", 1)[0]
    job = (folders.new / "jobs" / f"{JOB}.yaml").read_text(encoding="utf-8")
    folders.edit("reference/cells.yaml", f"- key: {cell}", "- key: a-new-cell")
    named = next(line for line in job.splitlines() if line.strip().startswith("cell:"))
    (folders.new / "jobs" / f"{JOB}.yaml").write_text(
        job.replace(named, "  cell: a-new-cell"), encoding="utf-8"
    )
    (impacted,) = folders.impact().changed
    (change,) = impacted.changes
    assert change.difference.kind == "job"
    assert change.difference.old is not None
    assert "a-new-cell" in change.difference.old
    assert change.difference.new == "is read"


def test_the_same_folders_give_the_same_bytes(folders: Folders) -> None:
    folders.say(folders.new, _rule("a-soft-wheel", SHORE))
    assert to_json(folders.impact()) == to_json(folders.impact())


def test_progress_is_told_to_the_end(folders: Folders) -> None:
    folders.say(folders.new, _rule("a-soft-wheel", SHORE))
    told: list[tuple[int, int]] = []
    impact(folders.old, folders.new, progress=lambda done, of: told.append((done, of)))
    assert told == [(0, 1), (1, 1)]


def test_a_job_of_the_old_folder_alone_is_looked_at_too(folders: Folders) -> None:
    (folders.new / "jobs" / f"{JOB}.yaml").unlink()
    assert [case.key for case in cases(folders.old, folders.new)[0]] == [f"jobs/{JOB}"]


def test_the_job_of_a_trial_is_looked_at_inline_or_by_its_file(folders: Folders) -> None:
    trials = folders.new / "trials"
    trials.mkdir()
    job = (folders.new / "jobs" / f"{JOB}.yaml").read_text(encoding="utf-8").split("\njob:\n")[1]
    body = job.split("\nexpect:")[0]
    (trials / "one.yaml").write_text(f"job:\n{body}\nverdict: pass\n", encoding="utf-8")
    (folders.new / "whole.yaml").write_text("name: x\n", encoding="utf-8")
    (trials / "two.yaml").write_text("job: ../whole.yaml\nverdict: pass\n", encoding="utf-8")
    found = {case.key: case for case in cases(folders.old, folders.new)[0]}
    assert set(found) == {f"jobs/{JOB}", "trials/one", "trials/two"}
    assert not isinstance(found["trials/one"].read(load_knowledge()), Exception)
    assert found["trials/two"].file.endswith("whole.yaml")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A trial log with two trials of one job and one of another, beside a file that is no trial."""
    folder = tmp_path / "log"
    knowledge = load_knowledge()
    bronze = {**made.JOB, "name": "a-bronze-arm", "alloy": "c87300"}
    now = datetime(2026, 5, 6, tzinfo=UTC)
    for fields in ({}, {"step": 2}, {"job": bronze}):
        store(made.trial(knowledge, **fields), folder, now)
    (folder / "damaged.yaml").write_text("job: [", encoding="utf-8")
    (folder / "picture.jpg").write_bytes(b"\xff")
    return folder


def test_the_trials_of_a_log_are_looked_at_by_their_jobs(folders: Folders, log: Path) -> None:
    folders.say(folders.new, _rule("a-soft-wheel", SHORE, {"avoid": {"wheel_hardness": {"at least": 40}}}))
    report = folders.impact(log)
    assert report.jobs == 3
    (of_trial,) = (job for job in report.changed if job.key.startswith("log/t"))
    assert any(change.rules == ("a-soft-wheel",) for change in of_trial.changes)
    assert len(report.left_out) == 1
    assert "damaged.yaml" in report.left_out[0]


def test_all_trials_of_one_job_are_named_together(folders: Folders, log: Path) -> None:
    found, _ = cases(folders.old, folders.new, log)
    trials = [case for case in found if case.of_trial]
    assert sorted(len(case.title.split(",")) if case.title else 0 for case in trials) == [0, 1]
    named = {path.stem for path in log.glob("t*.yaml")}
    told = " ".join(f"{case.key} {case.title}" for case in trials)
    assert all(name in told for name in named)


def test_a_trial_that_neither_side_reads_is_left_out_and_told(folders: Folders, log: Path) -> None:
    (log / "odd.json").write_text('{"job": {"name": "odd"}}', encoding="utf-8")
    folders.say(folders.new, _rule("a-soft-wheel", SHORE))
    report = folders.impact(log)
    assert any("odd.json" in each for each in report.left_out)


def test_a_log_that_is_not_there_is_refused(folders: Folders, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="--log: no such folder"):
        folders.impact(tmp_path / "nowhere")


def test_folders_without_a_job_are_refused(folders: Folders) -> None:
    folders.own_old()
    for folder in (folders.old, folders.new):
        (folder / "jobs" / f"{JOB}.yaml").unlink()
    with pytest.raises(InputError, match="no worked job"):
        folders.impact()


@pytest.mark.parametrize("text", ["", "title: x\n", "- a\n", "job: nowhere.yaml\n", "a: [\n"])
def test_a_job_file_that_is_none_is_named(folders: Folders, text: str) -> None:
    (folders.new / "jobs" / "broken.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"broken\.yaml|nowhere\.yaml"):
        folders.impact()


def test_a_job_that_neither_side_reads_is_refused(folders: Folders) -> None:
    (folders.new / "jobs" / "odd.yaml").write_text("job: {name: odd}\n", encoding="utf-8")
    folders.say(folders.new, _rule("a-soft-wheel", SHORE))
    with pytest.raises(KnowledgeError, match=r"odd\.yaml"):
        folders.impact()


def test_a_folder_that_cannot_be_loaded_is_refused(folders: Folders) -> None:
    folders.say(folders.new, {"rule": "half"})
    with pytest.raises(KnowledgeError, match=r"test\.yaml"):
        folders.impact()


def test_taking_back_every_edit_leads_to_the_old_rules(folders: Folders) -> None:
    folders.own_old()
    folders.say(folders.old, _rule("stays", SHORE), _rule("goes", SHORE), _rule("alters", SHORE))
    folders.say(
        folders.new, _rule("stays", SHORE), _rule("comes", SHORE), _rule("alters", SHORE, title="Other")
    )
    old, new = load_knowledge(folders.old), load_knowledge(folders.new)
    edits = edits_between(old, new)
    assert (edits.added, edits.removed, edits.edited) == (("comes",), ("goes",), ("alters",))
    back = new
    for identity in edits.rules:
        back = taken_back(back, old, identity)
    assert [(rule.id, rule.title) for rule in back.rules] == [(rule.id, rule.title) for rule in old.rules]
    assert [place.names for place in back.places] == [place.names for place in old.places]
