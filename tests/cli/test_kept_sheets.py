"""A sheet that was made before is found again, and never where anything that it was made from differs."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from advisor import store
from advisor.cli import sheets
from advisor.cli.sheets import sheet_of
from advisor.errors import InputError
from advisor.knowledge.locate import demo_jobs, knowledge_folder
from advisor.render.json import to_json
from advisor.sheet.model import Sheet


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job file beside an empty store of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "store"))
    return Path(shutil.copy(demo_jobs() / "vent-lever.yaml", tmp_path / "job.yaml"))


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The jobs that were worked out, not found."""
    names: list[str] = []
    honest = sheets._made

    def counted(text: str, name: str, root: Path, robustness: bool) -> Sheet:
        names.append(name)
        return honest(text, name, root, robustness)

    monkeypatch.setattr(sheets, "_made", counted)
    return names


def kept(job: Path) -> list[Path]:
    return sorted((job.parent / "store").rglob("sheets/*.json"))


def test_the_same_question_is_worked_out_once_and_answered_alike(job: Path, made: list[str]) -> None:
    first, second = sheet_of(str(job), None), sheet_of(str(job), None)
    assert first == second and to_json(first) == to_json(second)
    assert made == [str(job)] and len(kept(job)) == 1


def test_another_word_in_the_job_is_another_question(job: Path, made: list[str]) -> None:
    sheet_of(str(job), None)
    job.write_text(job.read_text().replace("batch: 600", "batch: 601"))
    assert sheet_of(str(job), None).job["batch"] == 601
    assert len(made) == 2


def test_another_letter_in_the_knowledge_is_another_question(job: Path, made: list[str]) -> None:
    root = Path(shutil.copytree(knowledge_folder(), job.parent / "knowledge"))
    first = sheet_of(str(job), str(root))
    words = root / "sources.yaml"
    words.write_text(words.read_text().replace("title: ", "title: Of ", 1))
    assert sheet_of(str(job), str(root)).knowledge.fingerprint != first.knowledge.fingerprint
    assert len(made) == 2


def test_other_code_is_another_question(job: Path, made: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    sheet_of(str(job), None)
    changed = job.parent / "build.py"
    changed.write_text("# another way")
    monkeypatch.setattr(sheets, "_program", lambda: [changed])
    sheet_of(str(job), None)
    assert len(made) == 2


@pytest.mark.parametrize("damage", [b"", b"{}", b"0000\n{}"], ids=["empty", "no checksum", "wrong checksum"])
def test_a_damaged_sheet_is_worked_out_again(job: Path, made: list[str], damage: bytes) -> None:
    first = sheet_of(str(job), None)
    (entry,) = kept(job)
    whole = entry.read_bytes()
    entry.write_bytes(damage or b"")
    assert sheet_of(str(job), None) == first
    assert entry.read_bytes() == whole and len(made) == 2


def test_an_entry_that_is_no_sheet_is_worked_out_again(job: Path, made: list[str]) -> None:
    first = sheet_of(str(job), None)
    (entry,) = kept(job)
    store.keep("sheets", entry.stem, b'{"sheet_version": 1}')
    assert sheet_of(str(job), None) == first
    assert len(made) == 2


def test_a_faulty_job_is_refused_each_time(job: Path) -> None:
    sheet_of(str(job), None)
    job.write_text(job.read_text().replace("alloy:", "aloy:"))
    for _ in range(2):
        with pytest.raises(InputError, match="aloy"):
            sheet_of(str(job), None)
    assert len(kept(job)) == 1


def test_only_so_many_are_kept(tmp_path: Path) -> None:
    for number in range(30):
        store.keep("sheets", f"{number:02}", b"{}", tmp_path, most=7)
    assert len(list((tmp_path / "sheets").glob("*.json"))) == 7
    assert store.fetch("sheets", "29", tmp_path) == b"{}"


def test_without_a_store_the_sheet_is_made(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(job))  # a file, not a folder
    assert sheet_of(str(job), None).features
