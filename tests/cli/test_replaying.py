"""The commands `replay` and `recommend --record`, as a user runs them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from advisor.knowledge.locate import knowledge_folder
from tests.cli.conftest import Run


@pytest.fixture
def record(run: Run, job: Path, tmp_path: Path) -> Path:
    """A record with one sheet in it."""
    folder = tmp_path / "record"
    asked = ("recommend", str(job), "--no-robustness", "--output", str(tmp_path / "sheet.md"))
    outcome = run(*asked, "--record", str(folder))
    assert (outcome.code, outcome.out) == (0, "")
    assert outcome.err.startswith("Kept as ")
    return folder


def recorded(record: Path) -> Path:
    (sheet,) = (record / "sheets").glob("*.json")
    return sheet


def test_a_recorded_sheet_is_replayed_with_the_knowledge_beside_it(run: Run, record: Path) -> None:
    outcome = run("replay", str(recorded(record)))
    assert outcome.code == 0 and "follows from its job" in outcome.out and outcome.err == ""
    assert run("replay", str(record)).code == 0


def test_it_keeps_following_when_the_packaged_knowledge_has_gone_on(run: Run, job: Path, tmp_path: Path) -> None:
    older = tmp_path / "older"
    shutil.copytree(knowledge_folder(), older)
    safety = older / "rules" / "safety.yaml"
    safety.write_text(safety.read_text(encoding="utf-8").replace("title: ", "title: Once ", 1), encoding="utf-8")
    record, sheet = str(tmp_path / "record"), str(tmp_path / "sheet.json")
    asked = ("recommend", str(job), "--knowledge", str(older), "--format", "json", "--output", sheet)
    asked = (*asked, "--no-robustness")
    assert run(*asked, "--record", record).code == 0
    shutil.rmtree(older)
    assert run("replay", record).code == 0
    (recorded_sheet,) = Path(record, "sheets").glob("*.json")
    why = run("why", str(recorded_sheet), "--step", "1", "--decision", "media")
    assert why.code == 0 and "another knowledge" not in why.err
    alone = run("replay", sheet)
    assert alone.code == 2 and "knowledge that is not at hand" in alone.err and alone.err.count("\n") == 1
    today = run("replay", sheet, "--anyway")
    assert today.code == 1 and "knowledge.fingerprint" in today.out


def test_a_changed_sheet_ends_with_1_and_names_the_place(run: Run, record: Path) -> None:
    sheet = recorded(record)
    content = json.loads(sheet.read_text(encoding="utf-8"))
    content["features"][0]["steps"][0]["passes"] += 1
    sheet.write_text(json.dumps(content), encoding="utf-8")
    outcome = run("replay", str(sheet))
    assert outcome.code == 1 and "features[0].steps[0].passes" in outcome.out
    told = json.loads(run("replay", str(sheet), "--format", "json").out)
    assert told["follows"] is False and len(told["mismatches"]) == 1


def test_standard_input_is_read_too(run: Run, record: Path) -> None:
    outcome = run("replay", "-", typed=recorded(record).read_bytes())
    assert outcome.code == 0 and outcome.out.startswith("standard input: follows")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ('{"sheet_version": 2}', "newer program"),
        ('{"sheet_version": 1, "job": {', "not valid JSON"),
        ('{"a": 1}', "not a process sheet"),
        ("name: gate-arm\n", "not valid JSON"),
        ("", "not valid JSON"),
    ],
)
def test_what_is_no_sheet_ends_with_2_and_one_line(run: Run, tmp_path: Path, content: str, said: str) -> None:
    sheet = tmp_path / "sheet.json"
    sheet.write_text(content, encoding="utf-8")
    outcome = run("replay", str(sheet))
    assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1)
    assert said in outcome.err


def test_a_real_sheet_cut_short_anywhere_ends_with_2_and_one_line(run: Run, record: Path, tmp_path: Path) -> None:
    text, short = recorded(record).read_text(encoding="utf-8"), tmp_path / "short.json"
    for share in (0.02, 0.3, 0.6, 0.9, 0.999):
        short.write_text(text[: int(share * len(text))], encoding="utf-8")
        outcome = run("replay", str(short))
        assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1), share
        assert "not valid JSON" in outcome.err


REAL = {
    ("program", "version"): ("99.0", "written by a newer program"),
    ("sheet_version",): (7, "written by a newer program"),
    ("knowledge", "fingerprint"): ("sha256:" + "0" * 64, "made with knowledge that is not at hand"),
    ("job", "alloy"): ("unobtainium", "the job in the sheet is no job"),
    ("features", 0, "shpae"): ("flat", "nearest: shape"),
}


@pytest.mark.parametrize("place", REAL, ids=str)
def test_a_real_sheet_that_is_none_of_ours_ends_with_2_and_one_line(
    run: Run, record: Path, tmp_path: Path, place: tuple[str | int, ...]
) -> None:
    new, said = REAL[place]
    content = json.loads(recorded(record).read_text(encoding="utf-8"))
    at = content
    for step in place[:-1]:
        at = at[step]
    at[place[-1]] = new
    sheet = tmp_path / "sheet.json"
    sheet.write_text(json.dumps(content), encoding="utf-8")
    outcome = run("replay", str(sheet))
    assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1)
    assert said in outcome.err and "Traceback" not in outcome.err


def test_a_file_that_is_not_there_and_a_folder_that_is_no_record_are_named(run: Run, tmp_path: Path) -> None:
    assert "no such file" in run("replay", str(tmp_path / "none.json")).err
    outcome = run("replay", str(tmp_path))
    assert outcome.code == 2 and "without recorded sheets" in outcome.err


def test_a_record_that_cannot_be_kept_ends_with_2_before_any_sheet(run: Run, job: Path) -> None:
    outcome = run("recommend", str(job), "--record", str(job))
    assert (outcome.code, outcome.out) == (2, "")
    assert "a folder is needed" in outcome.err
