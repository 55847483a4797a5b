"""The log keeps every trial whole: with many writers, with one killed, with a full disk, with foreign files."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import tempfile
import textwrap
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.trials import store as storing
from advisor.trials.log import read_log
from advisor.trials.store import store
from advisor.trials.write import file_text, identity, to_plain
from tests.trials.made import JOB, TRIAL, changed, trial

NOW = datetime(2026, 6, 1, 9, 30, tzinfo=UTC)
ROOT = Path(__file__).parents[2]


def keep(knowledge: Knowledge, folder: Path, **fields: Any) -> str:
    return store(trial(knowledge, **fields), folder, NOW).id


def test_what_is_stored_is_read_back(knowledge: Knowledge, tmp_path: Path) -> None:
    kept = store(trial(knowledge), tmp_path, NOW)
    log = read_log(tmp_path, knowledge)
    assert (log.trials, log.left_out) == ((kept,), ())
    assert kept.stored == "2026-06-01T09:30:00.000000Z"
    assert [path.name for path in tmp_path.iterdir()] == [f"{kept.id}.yaml"]
    assert yaml.safe_load(Path(kept.file).read_text("utf-8"))["used"]["force"] == "45 N"  # plain YAML too


def test_the_same_trial_twice_is_refused_however_it_is_written(knowledge: Knowledge, tmp_path: Path) -> None:
    first = keep(knowledge, tmp_path)
    later = datetime(2026, 6, 3, tzinfo=UTC)
    for fields in ({}, {"used__force": "45.0 N"}, {"measured__ra": "0.0012 mm"}):
        with pytest.raises(InputError, match=f"in the log already, as {first}"):
            store(trial(knowledge, **fields), tmp_path, later)
    assert keep(knowledge, tmp_path, used__force="46 N") != first
    assert len(read_log(tmp_path, knowledge).trials) == 2


def test_trials_come_in_the_order_of_their_days(knowledge: Knowledge, tmp_path: Path) -> None:
    days = ["2026-05-09", "2026-05-01", "2026-05-30", "2026-05-04"]
    for day in days:
        keep(knowledge, tmp_path, date=day)
    assert [item.date for item in read_log(tmp_path, knowledge).trials] == sorted(days)


def test_a_correction_replaces_and_the_old_trial_stays(knowledge: Knowledge, tmp_path: Path) -> None:
    old = keep(knowledge, tmp_path)
    new = keep(knowledge, tmp_path, measured__ra="2.1 um", corrects=old)
    log = read_log(tmp_path, knowledge)
    assert {item.id for item in log.trials} == {old, new}
    assert [item.id for item in log.standing] == [new]
    assert log.corrected == {old: new}


def test_a_trial_is_found_by_the_beginning_of_its_id(knowledge: Knowledge, tmp_path: Path) -> None:
    key = keep(knowledge, tmp_path)
    log = read_log(tmp_path, knowledge)
    assert log.find(key[:6]).id == key
    with pytest.raises(InputError, match="no such trial in this log"):
        log.find("t00000000000")


WRITERS = """
    import os, sys, json
    from datetime import UTC, datetime
    from pathlib import Path
    from advisor.knowledge.load import load_knowledge
    from advisor.errors import InputError
    from advisor.trials.store import store
    from tests.trials.made import trial

    folder, knowledge = Path(sys.argv[1]), load_knowledge()
    mine = [[trial(knowledge, used__passes=7 + w, note=f"writer {w}, trial {n}") for n in range(6)] for w in range(20)]
    shared = trial(knowledge, note="all of them hand in this one")
    gate, start = os.pipe()
    children = []
    for writer in range(20):
        child = os.fork()
        if child == 0:
            os.close(start)
            os.read(gate, 1)  # all begin together, when the other end is closed
            won = 0
            for each in [*mine[writer][:3], shared, *mine[writer][3:]]:
                try:
                    store(each, folder, datetime(2026, 6, 1, tzinfo=UTC))
                    won += each is shared
                except InputError as error:
                    if each is not shared:
                        os._exit(90)
            os._exit(won)
        children.append(child)
    os.close(start)
    print(json.dumps([os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]))
"""

KILLED = """
    import os, signal, sys, json
    from datetime import UTC, datetime
    from pathlib import Path
    from advisor.knowledge.load import load_knowledge
    from advisor.trials import store as storing
    from advisor.trials.write import file_text, to_plain
    from tests.trials.made import trial

    folder, knowledge = Path(sys.argv[1]), load_knowledge()
    one = trial(knowledge, note=None, incoming=None, used={"media": "belt", "grain": "ceramic-alumina", "grade": "P80"})
    whole = len(file_text(to_plain(one.model_copy(update={"stored": "2026-06-01T00:00:00.000000Z"}))).encode())
    real_fdopen, real_link, real_fsync, real_unlink = os.fdopen, os.link, os.fsync, os.unlink

    def die(*_):
        os.kill(os.getpid(), signal.SIGKILL)

    class Dying:
        def __init__(self, stream, most): self.stream, self.most = stream, most
        def __enter__(self): return self
        def __exit__(self, *_): self.stream.close()
        def write(self, data):
            self.stream.write(data[:self.most]); self.stream.flush(); die()

    def killed(name, replacement):
        child = os.fork()
        if child == 0:
            setattr(os, name, replacement)
            storing.store(one, folder, datetime(2026, 6, 1, tzinfo=UTC))
            os._exit(0)
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])

    ended = [killed("fdopen", lambda handle, mode, most=most: Dying(real_fdopen(handle, mode), most))
             for most in range(whole + 1)]
    ended += [killed(name, die) for name in ("fsync", "link", "chmod")]
    before = [path.name for path in folder.iterdir() if not path.name.startswith(".")]
    after_link = killed("unlink", die)  # the name is given, the other name not yet taken away
    print(json.dumps([ended, before, after_link, one.model_dump_json()]))
"""


def _script(text: str, folder: Path) -> Any:
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(text), str(folder)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_twenty_processes_write_at_once_and_nothing_is_lost(knowledge: Knowledge, tmp_path: Path) -> None:
    won = _script(WRITERS, tmp_path)
    assert sum(won) == 1, "exactly one of them got the trial that all handed in"
    log = read_log(tmp_path, knowledge)
    assert (len(log.trials), log.left_out) == (20 * 6 + 1, ())
    assert len({item.note for item in log.trials}) == 20 * 6 + 1


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_writer_killed_at_any_byte_leaves_no_half_trial(knowledge: Knowledge, tmp_path: Path) -> None:
    whole = keep(knowledge, tmp_path, note="there before")
    ended, before, after_link, _ = _script(KILLED, tmp_path)
    assert set(ended) == {-9}
    assert before == [f"{whole}.yaml"]
    assert after_link == -9
    log = read_log(tmp_path, knowledge)
    assert len(log.trials) == 2, "killed after the file had its name: it is there, and whole"
    assert log.left_out == ()
    for path in tmp_path.glob(".*.part"):  # long after, what the killed left behind is told
        os.utime(path, (1, 1))
    told = read_log(tmp_path, knowledge)
    assert len(told.trials) == 2
    assert len(told.left_out) == len(ended) + 1
    assert all("interrupted" in str(problem) for problem in told.left_out)
    kept = next(each for each in told.trials if each.id != whole)
    with pytest.raises(InputError, match="in the log already"):
        store(kept.model_copy(update={"id": ""}), tmp_path, NOW)


def test_a_trial_cut_at_any_byte_is_told_and_costs_no_other(knowledge: Knowledge, tmp_path: Path) -> None:
    """As a disk may leave it after a loss of power: every beginning of a file under its final name."""
    good = keep(knowledge, tmp_path)
    cut = Path(store(trial(knowledge, note="cut"), tmp_path, NOW).file)
    data = cut.read_bytes()
    for length in range(len(data)):
        cut.write_bytes(data[:length])
        log = read_log(tmp_path, knowledge)
        assert [item.id for item in log.trials] == [good], length
        assert [problem.place for problem in log.left_out] == [str(cut)], length
    cut.write_bytes(data)
    assert len(read_log(tmp_path, knowledge).trials) == 2


def test_a_foreign_file_under_a_name_of_the_log_is_told(knowledge: Knowledge, tmp_path: Path) -> None:
    """Even where its name fits its content: what is no trial is left out."""
    for text in ("[]\n", "{}\n", "{\n\n}\n", "1\n2\n3\n", "{\n\"job\": 1,\n[}\n"):
        (tmp_path / f"{identity(text)}.yaml").write_text(text, "utf-8")
    good = keep(knowledge, tmp_path)
    log = read_log(tmp_path, knowledge)
    assert [item.id for item in log.trials] == [good]
    assert len({problem.place for problem in log.left_out}) == 5


def test_a_write_that_was_stopped_between_claim_and_name_is_told(
    knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without hard links a writer claims the name first; a claim that stays behind must not pass for a trial."""

    def refuse(*_: Any) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(storing.os, "link", refuse)
    key = identity(file_text(to_plain(trial(knowledge))))
    claim = tmp_path / f".{key}.claim"
    claim.write_bytes(b"")
    with pytest.raises(InputError, match=f"is being stored by another, or was when it was stopped.*{claim.name}"):
        keep(knowledge, tmp_path)
    claim.unlink()
    assert keep(knowledge, tmp_path) == key


def test_damaged_and_foreign_files_are_told_and_the_rest_is_used(
    knowledge: Knowledge, tmp_path: Path
) -> None:
    good = keep(knowledge, tmp_path)
    cut = store(trial(knowledge, note="cut"), tmp_path, NOW)
    Path(cut.file).write_bytes(Path(cut.file).read_bytes()[:700])
    edited = store(trial(knowledge, note="edited"), tmp_path, NOW)
    Path(edited.file).write_text(Path(edited.file).read_text("utf-8").replace("45 N", "54 N"), "utf-8")
    (tmp_path / "letter.yaml").write_text("dear: reader\n", "utf-8")
    (tmp_path / "list.json").write_text("[1, 2", "utf-8")
    (tmp_path / "binary.yaml").write_bytes(b"\x00\x01\x02")
    (tmp_path / "program.exe").write_bytes(b"MZ")
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8")
    (tmp_path / "photos").mkdir()
    log = read_log(tmp_path, knowledge)
    assert [item.id for item in log.trials] == [good]
    told = {Path(problem.place.split(":")[0]).name for problem in log.left_out}
    assert told == {
        Path(cut.file).name, Path(edited.file).name, "letter.yaml", "list.json", "binary.yaml", "program.exe"
    }  # fmt: skip


def test_a_trial_laid_in_by_hand_counts_and_so_does_the_job_beside_it(
    knowledge: Knowledge, tmp_path: Path
) -> None:
    (tmp_path / "gate-arm.yaml").write_text(yaml.safe_dump(JOB), "utf-8")
    (tmp_path / "tuesday.yaml").write_text(yaml.safe_dump({**TRIAL, "job": "gate-arm.yaml"}), "utf-8")
    (tmp_path / "wednesday.yaml").write_text(yaml.safe_dump(changed(step="x")), "utf-8")
    log = read_log(tmp_path, knowledge)
    assert [item.id for item in log.trials] == ["tuesday"]
    assert [problem.place.startswith(str(tmp_path / "wednesday.yaml")) for problem in log.left_out] == [True]


def _no_space(*_: Any) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_stores_nothing_and_says_so(
    knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(storing.os, "fsync", _no_space)
    with pytest.raises(InputError, match="No space left on device; nothing was stored"):
        keep(knowledge, tmp_path)
    assert list(tmp_path.iterdir()) == []


READ_ONLY = """
    import os, sys, json
    from datetime import UTC, datetime
    from pathlib import Path
    from advisor.errors import InputError
    from advisor.knowledge.load import load_knowledge
    from advisor.trials.store import store
    from tests.trials.made import trial

    one = trial(load_knowledge())
    if os.geteuid() == 0:  # root writes everywhere: go on as nobody
        os.setgid(65534)
        os.setuid(65534)
    try:
        store(one, Path(sys.argv[1]), datetime(2026, 6, 1, tzinfo=UTC))
    except InputError as error:
        print(json.dumps(str(error)))
"""


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="needs users")
def test_a_read_only_folder_stores_nothing_and_says_so() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o555)
        assert "cannot be stored here: Permission denied; nothing was stored" in _script(READ_ONLY, folder)
        assert list(folder.iterdir()) == []
        folder.chmod(0o700)


def test_a_read_only_disk_stores_nothing_and_says_so(
    knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(**_: Any) -> None:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr(storing.tempfile, "mkstemp", refuse)
    with pytest.raises(InputError, match="cannot be stored here: Read-only file system; nothing was stored"):
        keep(knowledge, tmp_path)


def test_a_folder_that_is_a_file_or_nowhere_is_told(knowledge: Knowledge, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", "utf-8")
    for folder in (tmp_path / "file", tmp_path / "no" / "where"):
        with pytest.raises(InputError, match="cannot be stored here"):
            keep(knowledge, folder)
        with pytest.raises(InputError, match="the log cannot be read"):
            read_log(folder, knowledge)
    assert read_log(tmp_path / "nothing yet", knowledge, must_exist=False).trials == ()


def test_without_hard_links_it_is_as_safe(
    knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(storing.os, "link", refuse)
    key = keep(knowledge, tmp_path)
    with pytest.raises(InputError, match="in the log already"):
        keep(knowledge, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [f"{key}.yaml"]


def test_a_day_ahead_of_the_clock_is_refused(knowledge: Knowledge, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="date: lies ahead of this machine's clock"):
        keep(knowledge, tmp_path, date="2026-06-03")
    assert not list(tmp_path.iterdir())
    assert keep(knowledge, tmp_path, date="2026-06-02")  # tomorrow is today elsewhere


def test_a_clock_that_was_never_set_is_not_believed_and_costs_no_trial(
    knowledge: Knowledge, tmp_path: Path
) -> None:
    kept = store(trial(knowledge), tmp_path, datetime(1970, 1, 1, 0, 7, tzinfo=UTC))
    assert kept.stored is None
    assert read_log(tmp_path, knowledge).trials == (kept,)


def test_a_damaged_file_in_the_place_of_a_trial_is_told(knowledge: Knowledge, tmp_path: Path) -> None:
    kept = store(trial(knowledge), tmp_path, NOW)
    Path(kept.file).write_bytes(b"{")
    with pytest.raises(InputError, match="a damaged file stands where trial"):
        keep(knowledge, tmp_path)
