"""What accepting a proposal refuses, and what it leaves as people wrote it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from advisor.cli import proposing
from advisor.errors import InputError
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.learning.accept import accepted
from advisor.learning.propose import Change, Proposer
from advisor.pipeline import Desk
from tests.cli.test_learning import filled
from tests.learning.planted import fails_on_one_alloy
from tests.learning.trials import desk, knowledge, read_trials, shop_trials

FILE = "reference/coefficients.yaml"
ROW = "specific-energy-zinc-die-cast"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    copy = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), copy)
    return copy


def moved(folder: Path) -> Change:
    """The proposal to move the row of zinc, made for a folder."""
    proposer = Proposer(Desk(load_knowledge(folder), "plain"), folder)
    changes = proposer.changes(read_trials(shop_trials(80)))
    return next(each for each in changes if each.proposal.rule == ROW)


def test_a_moved_row_keeps_every_comment_and_every_other_line(folder: Path) -> None:
    path = folder / FILE
    text = path.read_text("utf-8").replace(f"  - key: {ROW}\n", f"  # a note of ours\n  - key: {ROW}\n")
    path.write_text(text, "utf-8")
    change = moved(folder)
    assert change.text is not None
    old, new = text.splitlines(), change.text.splitlines()
    assert [line for line in new if line.lstrip().startswith("#")] == [
        line for line in old if line.lstrip().startswith("#")
    ]
    gone = [line for line in old if line not in new]
    assert len(gone) <= 4, "three figures of the band, and a note that goes on"
    assert len(new) <= len(old) + 2


def test_a_row_that_is_moved_again_names_all_its_trials(folder: Path) -> None:
    text = (folder / FILE).read_text("utf-8")
    head, _, tail = text.partition(f"  - key: {ROW}\n")
    body, dash, rest = tail.partition("\n  - key:")
    (folder / FILE).write_text(f"{head}  - key: {ROW}\n{body}\n    evidence: [early-one]{dash}{rest}", "utf-8")
    change = moved(folder)
    assert change.text is not None
    (folder / FILE).write_text(change.text, "utf-8")
    row = load_knowledge(folder).tables.coefficients[ROW]
    assert row.evidence == ("early-one", *change.proposal.evidence.trials)


def test_a_file_that_is_laid_out_otherwise_is_refused_and_says_why(folder: Path) -> None:
    path = folder / FILE
    text = path.read_text("utf-8")
    assert f"  - key: {ROW}\n    name:" in text
    path.write_text(text.replace(f"  - key: {ROW}\n    name:", f"  -\n    key: {ROW}\n    name:"), "utf-8")
    proposer = Proposer(Desk(load_knowledge(folder), "plain"), folder)
    change = next(
        each for each in proposer.changes(read_trials(shop_trials(80))) if each.proposal.rule == ROW
    )
    assert change.text is None
    assert "edited by hand" in change.proposal.change
    (fault,) = proposer.examined(change).proposal.checks or ()
    assert "cannot be written into the file as it is laid out" in fault
    with pytest.raises(InputError, match="edit it by hand"):
        accepted(change, proposer, knowledge())


def test_a_change_with_which_the_check_finds_a_fault_is_refused() -> None:
    proposer = Proposer(desk(), knowledge_folder())
    change = proposer.changes(read_trials(fails_on_one_alloy()))[0]
    assert change.text is not None
    broken = Change(change.proposal, change.text + "\n- rule: half-a-rule\n")
    with pytest.raises(InputError, match=r"fault\(s\) with this change; nothing was written"):
        accepted(broken, proposer, knowledge())


def test_a_file_that_somebody_changed_meanwhile_is_left_alone(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = filled(tmp_path / "log", shop_trials(80))
    identity = moved(folder).proposal.id
    path = folder / FILE

    def slow(change: Change, *others: object) -> str:
        path.write_text(path.read_text("utf-8") + "# another hand was here\n", "utf-8")
        return str(change.text)

    monkeypatch.setattr(proposing, "accepted", slow)
    with pytest.raises(InputError, match="was changed by somebody else meanwhile; nothing was written"):
        proposing.apply_proposal(identity, str(log), str(folder))
    assert path.read_text("utf-8").endswith("# another hand was here\n")
