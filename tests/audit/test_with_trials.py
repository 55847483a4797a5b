"""A sheet that was made with a trial log and with what trials taught is proved like any other."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import advisor
from advisor.audit.kept_log import as_it_was, log_files, mark_of
from advisor.audit.make import make_sheet
from advisor.audit.model import Replay
from advisor.audit.record import LEARNED, LOGS, log_beside, record
from advisor.audit.replay import read_stored, replay
from advisor.errors import InputError
from advisor.knowledge.files import read_files
from advisor.knowledge.locate import knowledge_folder
from advisor.render.json import to_json
from advisor.sheet.model import Sheet
from tests.audit import shop_log
from tests.audit.leaves import changed
from tests.learning.trials import desk


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = shop_log.fill(tmp_path_factory.mktemp("shop") / "log")
    shop_log.lay_by_hand(found)
    return found


@pytest.fixture(scope="module")
def sheet(folder: Path) -> Sheet:
    return make_sheet(shop_log.job(), desk().with_learned(shop_log.learned()), log=shop_log.read(folder))


def replayed(text: str, log: Path | None, **how: bool) -> Replay:
    return replay(read_stored(text), desk(), None if log is None else shop_log.read(log), **how)


def test_the_sheet_shows_both_and_says_which_log(sheet: Sheet, folder: Path) -> None:
    assert sheet.past and sheet.learned and sheet.trial_log is not None
    assert any("In this shop: " in reason.text for reason in sheet.reasons.values())
    assert sheet.trial_log.trials == 9 == len(shop_log.read(folder).trials)


def test_it_follows_with_its_log(sheet: Sheet, folder: Path) -> None:
    assert replayed(to_json(sheet), folder).follows


def test_it_follows_from_a_log_that_has_grown_since(sheet: Sheet, folder: Path, tmp_path: Path) -> None:
    grown = tmp_path / "log"
    shutil.copytree(folder, grown)
    shop_log.fill(grown, 4, since=8)
    assert len(shop_log.read(grown).trials) == 13
    assert replayed(to_json(sheet), grown).follows


def test_without_its_log_or_with_another_it_is_not_judged(sheet: Sheet, folder: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="9 trials that is not at hand; name its folder with --log") as caught:
        replayed(to_json(sheet), None)
    assert len(caught.value.problems) == 1 and "trial_log.fingerprint" in str(caught.value)
    other = shop_log.fill(tmp_path / "other", 3, since=20)
    with pytest.raises(InputError, match="another trial log, of 9 trials, than the 3 trials in"):
        replayed(to_json(sheet), other)
    anyway = replayed(to_json(sheet), other, other_knowledge=True)
    shown = {item.path.split("[")[0].split(".")[0] for item in anyway.mismatches}
    assert "trial_log" in shown and shown & {"past", "reasons"}


def test_a_trial_that_was_changed_by_hand_is_another_log(sheet: Sheet, folder: Path, tmp_path: Path) -> None:
    other = tmp_path / "log"
    shutil.copytree(folder, other)
    shop_log.lay_by_hand(other, verdict="pass")
    with pytest.raises(InputError, match="another trial log"):
        replayed(to_json(sheet), other)


EDITS = {
    ("trial_log", "trials"): (10, None),  # then it names a log that is nowhere
    ("trial_log",): (None, None),
    ("made_with", 0): ("nothing", "made_with[0]"),
    ("learned_fingerprint",): ("sha256:0", "learned_fingerprint"),
    ("learned_from", "trials"): (7, "learned_fingerprint"),
    ("learned_from", "factors", 0, "latest", 0): ("t9", "learned_fingerprint"),
    ("learned_from", "factors", 0, "tried", "speed", 0): (1.5, "learned_fingerprint"),
    ("past", 0, "verdict"): ("perhaps", "past[0].verdict"),
    ("past", 0, "points"): (0.25, "past[0].points"),
}


@pytest.mark.parametrize("place", EDITS, ids=str)
def test_an_edit_of_what_trials_brought_is_found(sheet: Sheet, folder: Path, place: tuple[str | int, ...]) -> None:
    new, named = EDITS[place]
    edited = json.dumps(changed(json.loads(to_json(sheet)), place, new))
    if named is None:
        with pytest.raises(InputError):
            replayed(edited, folder)
        return
    assert named in [item.path for item in replayed(edited, folder).mismatches]


def test_a_factor_that_was_edited_is_found_in_the_fingerprint_and_in_the_figures(sheet: Sheet, folder: Path) -> None:
    data = json.loads(to_json(sheet))
    for place in (0, len(data["learned_from"]["factors"]) - 1):
        path = ("learned_from", "factors", place, "factor")
        edited = json.dumps(changed(data, path, data["learned_from"]["factors"][place]["factor"] * 1.01))
        assert "learned_fingerprint" in [item.path for item in replayed(edited, folder).mismatches]


def test_a_log_written_out_is_read_as_the_same_log(folder: Path, tmp_path: Path) -> None:
    log = shop_log.read(folder)
    files = log_files(log.trials)
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    again = shop_log.read(tmp_path)
    assert log_files(again.trials) == files and not again.left_out
    first, second = ([each.model_copy(update={"file": ""}) for each in read.trials] for read in (log, again))
    assert first == second
    found = as_it_was(again, mark_of(files))
    assert found is not None and found.trials == again.trials


def test_the_record_holds_the_log_and_the_lesson_once_and_is_enough(sheet: Sheet, folder: Path, tmp_path: Path) -> None:
    place = tmp_path / "record"
    kept = [
        record(place, each, to_json(each), "name: x\n", read_files(knowledge_folder()), shop_log.read(folder))
        for each in (sheet, sheet.model_copy(update={"symptoms": ()}))
    ]
    assert len(list((place / LOGS).iterdir())) == len(list((place / LEARNED).iterdir())) == 1
    moved = tmp_path / "elsewhere"
    shutil.move(place, moved)
    stored = moved / "sheets" / kept[0].sheet.name
    assert sheet.trial_log is not None and log_beside(stored, sheet.trial_log) is not None
    assert advisor.replay(stored).follows
    edited = advisor.replay(moved / "sheets" / kept[1].sheet.name)
    assert {item.path.partition("[")[0] for item in edited.mismatches} == {"symptoms"}


def test_a_stored_log_that_was_edited_is_not_built_upon(sheet: Sheet, folder: Path, tmp_path: Path) -> None:
    log, files = shop_log.read(folder), {"vocabulary.yaml": b"x"}
    record(tmp_path, sheet, to_json(sheet), "", files, log)
    (trial, *_) = sorted(next((tmp_path / LOGS).iterdir()).iterdir())
    trial.write_text("{}\n", encoding="utf-8")
    with pytest.raises(InputError, match="is no longer what its name says"):
        record(tmp_path, sheet, to_json(sheet), "", files, log)
