"""A record holds what is needed to replay a sheet, whatever happens while it is written."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from advisor.audit.kept_log import log_files, mark_of
from advisor.audit.record import Recorded, knowledge_beside, record, recorded_sheets
from advisor.audit.replay import read_stored
from advisor.errors import InputError
from advisor.figures.learned import Learned
from advisor.knowledge.files import read_files
from advisor.knowledge.locate import knowledge_folder
from advisor.render.json import to_json
from advisor.trials.log import Log
from tests import invented
from tests.audit import shop_log

FILES = read_files(knowledge_folder())
#: A few files stand for all where it is about the order of writing, not about what is in them.
FEW = {name: content[:2000] for name, content in list(FILES.items())[:4]}


def keep(
    folder: Path, name: str = "oar-lock", files: dict[str, bytes] | None = None, log: Log | None = None
) -> Recorded:
    sheet = invented.sheet(name)
    if log is not None:  # a sheet made with a log and a lesson: where they lie hangs on nothing else
        lesson = Learned(knowledge="", trials=3)
        mark, taught = mark_of(log_files(log.trials)), lesson.fingerprint()
        more = {"trial_log": mark, "learned_from": lesson, "learned_fingerprint": taught}
        sheet = sheet.model_copy(update=more)
    return record(folder, sheet, to_json(sheet), f"name: {name}\n", FILES if files is None else files, log)


def everything(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    }


def test_a_record_holds_sheet_job_and_the_exact_knowledge(tmp_path: Path) -> None:
    kept = keep(tmp_path)
    assert kept.sheet.read_text(encoding="utf-8") == to_json(invented.sheet("oar-lock"))
    assert kept.job.read_text(encoding="utf-8") == "name: oar-lock\n"
    assert read_files(kept.knowledge) == FILES
    fingerprint = read_stored(kept.sheet.read_text(encoding="utf-8")).sheet.knowledge.fingerprint
    beside = knowledge_beside(kept.sheet, fingerprint)
    assert beside is not None and beside.samefile(kept.knowledge)
    assert knowledge_beside(tmp_path / "elsewhere" / "sheets" / "a.json", fingerprint) is None


def test_the_same_knowledge_and_the_same_sheet_are_stored_once(tmp_path: Path) -> None:
    keep(tmp_path)
    before = everything(tmp_path)
    keep(tmp_path)
    assert everything(tmp_path) == before
    keep(tmp_path, "bell-cap")
    assert len(recorded_sheets(tmp_path)) == 2
    assert len(list((tmp_path / "knowledge").iterdir())) == 1


class Killed(BaseException):
    """The process ends here: nothing that would clean up runs."""


def dying_after(writes: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the process die at one of the calls that touch the disk, and clean nothing up."""
    left = [writes]

    def counted(call: Callable[..., Any]) -> Callable[..., Any]:
        def wrapped(*arguments: Any, **more: Any) -> Any:
            if left[0] == 0:
                raise Killed
            left[0] -= 1
            return call(*arguments, **more)

        return wrapped

    for name in ("replace", "rename", "fsync"):
        monkeypatch.setattr(os, name, counted(getattr(os, name)))
    monkeypatch.setattr(shutil, "rmtree", lambda *_, **__: None)


@pytest.mark.parametrize("with_log", [False, True])
def test_a_run_killed_at_any_moment_leaves_only_whole_records(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, with_log: bool
) -> None:
    whole = tmp_path / "whole"
    log = shop_log.read(shop_log.fill(tmp_path / "log", 3)) if with_log else None
    keep(whole, files=FEW, log=log)
    wanted = everything(whole)
    assert with_log == any(name.startswith("logs/") for name in wanted)
    assert with_log == any(name.startswith("learned/") for name in wanted)
    for writes in range(60):
        folder = tmp_path / f"killed-{writes}"
        with monkeypatch.context() as patch:
            dying_after(writes, patch)
            try:
                keep(folder, files=FEW, log=log)
            except Killed:
                pass
            else:
                break
        found = everything(folder)
        assert found.items() <= wanted.items(), "no file is there in part"
        if any(name.startswith("sheets/") for name in found):
            assert found == wanted, "the sheet comes last"
        keep(folder, files=FEW, log=log)  # the next run goes on from there
        assert everything(folder) == wanted
    else:
        raise AssertionError("the run was never let through")
    assert writes > (14 if with_log else 8)


def test_half_written_files_are_never_in_their_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed in the middle of a file: what has its name is whole."""
    wanted = everything(keep(tmp_path / "whole", files=FEW).sheet.parents[1])
    real = Path.open

    def torn(path: Path, mode: str = "r", *rest: Any, **more: Any) -> Any:
        stream = real(path, mode, *rest, **more)
        if "w" in mode and path.name.endswith((".part", ".yaml")) and chosen(path):
            stream.write(b"half of")
            stream.close()
            raise Killed
        return stream

    for part in ("vocabulary.yaml", ".part"):
        chosen = lambda path, part=part: path.name.endswith(part)  # noqa: E731
        folder = tmp_path / f"torn{part}"
        with monkeypatch.context() as patch:
            patch.setattr(Path, "open", torn)
            with pytest.raises(Killed):
                keep(folder, files=FEW)
        assert everything(folder).items() <= wanted.items()


def test_two_at_once_are_as_good_as_one_after_the_other(tmp_path: Path) -> None:
    start = threading.Barrier(6)
    faults: list[BaseException] = []

    def one(name: str) -> None:
        try:
            start.wait()
            keep(tmp_path, name)
        except BaseException as error:
            faults.append(error)

    for name in ("oar-lock", "bell-cap"):
        invented.sheet(name)
    runs = [threading.Thread(target=one, args=(name,)) for name in ("oar-lock", "bell-cap") * 3]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert not faults
    assert len(recorded_sheets(tmp_path)) == 2
    assert not [path for path in tmp_path.rglob("*") if path.name.startswith(".")]


def test_a_stored_knowledge_that_was_edited_is_not_built_upon(tmp_path: Path) -> None:
    kept = keep(tmp_path)
    (kept.knowledge / "sources.yaml").write_text("broken: [\n", encoding="utf-8")
    with pytest.raises(InputError, match="no longer what its name says"):
        keep(tmp_path, "bell-cap")


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "sheets").write_text("a file", encoding="utf-8")
    with pytest.raises(InputError, match="cannot keep a record"):
        keep(tmp_path)
    with pytest.raises(InputError, match="without recorded sheets"):
        recorded_sheets(tmp_path)
