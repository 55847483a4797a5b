"""Every kind of bad trial, log and place through the command line: told, refused with 2, and nothing is lost."""

from __future__ import annotations

import errno
import json
import os
import re
import resource
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.cli import trialling
from advisor.knowledge.load import load_knowledge
from advisor.trials import store as storing
from tests.cli.conftest import Run
from tests.trials.made import JOB, TRIAL, changed, trial

ROOT = Path(__file__).parents[2]


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a job and a log that holds one trial already; commands run in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "gate-arm.yaml").write_text(yaml.safe_dump(JOB), "utf-8")
    (tmp_path / "first.yaml").write_text(yaml.safe_dump(changed(job="gate-arm.yaml")), "utf-8")
    storing.store(trial(load_knowledge()), tmp_path / "log", datetime(2026, 6, 1, tzinfo=UTC))
    return tmp_path


def listed(run: Run) -> list[str]:
    """The ids in the log, as the command lists them."""
    return [row["id"] for row in json.loads(run("trial", "list", "--log", "log", "--format", "json").out)]


def refused(run: Run, shop: Path, content: dict[str, Any]) -> str:
    """What is said when a trial is handed in; it must be refused, and the log stay as it was."""
    before = {path.name: path.read_bytes() for path in (shop / "log").iterdir()}
    (shop / "bad.yaml").write_text(yaml.safe_dump(content), "utf-8")
    ended = run("trial", "new", "bad.yaml", "--log", "log")
    assert (ended.code, ended.out) == (2, "")
    assert "Traceback" not in ended.err
    assert {path.name: path.read_bytes() for path in (shop / "log").iterdir()} == before
    assert len(listed(run)) == 1
    return re.sub(r"\s+", " ", ended.err)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"used__force": "45 kg"}, "used.force: 45 kg is a mass; a force is needed: N, "),
        ({"used__force": 45}, "used.force: .*needs a unit.* given '45'"),
        ({"used__surface_speed": "22 N"}, "used.surface_speed: 22 N is a force; a surface speed is needed: m/s, "),
        ({"measured__ra": "1.2 s"}, "measured.ra: 1.2 s is a time; a roughness is needed: um, "),
        ({"measured__removal": "-85 um"}, "measured.removal: outside what is possible, given '-85 um'"),
        ({"measured__ra": "201 um"}, "measured.ra: outside what is possible, given '201 um'; allowed: .* 200 um"),
        ({"measured__removal": "4.1 mm"}, "measured.removal: .*thinnest wall.* given '4100 um'; .* than 4 mm"),
        ({"measured__time": "-1 s"}, "measured.time: outside what is possible"),
        ({"measured__parts_per_media": 0}, "measured.parts_per_media"),
        ({"used__passes": 0}, "used.passes"),
        ({"used__media_age": -1}, "used.media_age"),
        ({"step": 9}, "has no such step for 'outer sweep', given '9'; allowed: 1 to"),
        ({"step": 0}, "step: .* given '0'; allowed: 1 to"),
        ({"symptoms": ["chater"]}, "unknown symptom, given 'chater'; .* nearest: chatter"),
        ({"feature": "outer swep"}, "no such feature, given 'outer swep'; .* nearest: outer sweep"),
        ({"used__media": "bellt"}, "used.media: .* nearest: belt"),
        ({"used__grade": "P81"}, "used.grade: .* nearest: P80"),
        ({"verdict": "good"}, "verdict: .* given 'good'; allowed: pass, fail"),
        ({"verdict": None}, "a trial ends with a verdict"),
        ({"date": "2026-02-30"}, "date: not a day"),
        ({"date": "2999-01-01"}, "date: lies ahead of this machine's clock"),
        ({"photos": ["nowhere.jpg"]}, "photos: no such file, given 'nowhere.jpg'"),
        ({"corrects": "t123456789ab"}, "corrects: no such trial in this log"),
        ({"job": "nowhere.yaml"}, "job: .*nowhere.yaml"),
        ({"mesured": {"ra": "1 um"}}, "mesured.*nearest: measured"),
    ],
)  # fmt: skip
def test_a_bad_trial_is_refused(run: Run, shop: Path, fields: dict[str, Any], says: str) -> None:
    taken = [name for name, value in fields.items() if value is None]
    content = {key: value for key, value in changed(**fields).items() if key not in taken}
    assert re.search(says, refused(run, shop, {"note": "a new one", **content})), says


def test_all_faults_are_told_at_once(run: Run, shop: Path) -> None:
    said = refused(run, shop, changed(used__force="45 kg", measured__removal="-3 um", symptoms=["chater"]))
    assert all(part in said for part in ("used.force", "measured.removal", "nearest: chatter"))


def test_the_same_trial_handed_in_again_is_refused(run: Run, shop: Path) -> None:
    (key,) = listed(run)
    assert f"in the log already, as {key}" in refused(run, shop, changed())


def test_a_correction_of_a_corrected_trial_is_sent_on(run: Run, shop: Path) -> None:
    (old,) = listed(run)
    (shop / "better.yaml").write_text(yaml.safe_dump(changed(measured__ra="2.1 um", corrects=old)), "utf-8")
    new = run("trial", "new", "better.yaml", "--log", "log").out.strip()
    assert f"Corrected by trial {new}" in run("trial", "show", old, "--log", "log").out
    assert f"Corrects trial {old}" in run("trial", "show", new, "--log", "log").out
    (shop / "again.yaml").write_text(yaml.safe_dump(changed(measured__ra="3 um", corrects=old)), "utf-8")
    ended = run("trial", "new", "again.yaml", "--log", "log")
    assert ended.code == 2
    assert f"already corrected by {new}; name that one" in ended.err


DAMAGE: dict[str, bytes] = {
    "half.yaml": yaml.safe_dump(TRIAL).encode()[:300],
    "half.json": json.dumps(TRIAL).encode()[:300],
    "empty.yaml": b"",
    "letter.yaml": b"dear: reader\n",
    "binary.yaml": bytes(range(256)),
    "program.exe": b"MZ",
    "t0123456789ab.yaml": b"{}\n",
}


@pytest.mark.parametrize(
    "command", [("list",), ("show", "last"), ("next", "last"), ("learn",), ("like", "gate-arm.yaml"),
                ("propose", "--quick")],
)  # fmt: skip
def test_damaged_and_foreign_files_are_told_and_the_rest_is_used(
    run: Run, shop: Path, command: tuple[str, ...]
) -> None:
    sound = run("trial", *command, "--log", "log")
    for name, data in DAMAGE.items():
        (shop / "log" / name).write_bytes(data)
    ended = run("trial", *command, "--log", "log")
    assert ended.code == 0
    assert ended.out == sound.out
    assert all(name in ended.err for name in DAMAGE)
    assert "the other 1 trials are used" in ended.err
    assert "Traceback" not in ended.err


def test_trials_that_lie_ahead_of_the_clock_are_told(run: Run, shop: Path) -> None:
    (shop / "log" / "early.yaml").write_text(yaml.safe_dump(changed(date="2999-05-04")), "utf-8")
    ended = run("trial", "list", "--log", "log")
    assert (ended.code, len(ended.out.splitlines())) == (0, 2)
    assert "1 trial(s) lie ahead of this machine's clock (early ...)" in ended.err


def test_a_clock_that_was_never_set_costs_no_trial(
    run: Run, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Stopped(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> datetime:
            return datetime(1970, 1, 1, 0, 7, tzinfo=tz)

    monkeypatch.setattr(trialling, "datetime", Stopped)
    (shop / "new.yaml").write_text(yaml.safe_dump(changed(note="after a power cut")), "utf-8")
    ended = run("trial", "new", "new.yaml", "--log", "log")
    assert ended.code == 0
    assert "This machine's clock says 1970-01-01, which cannot be" in ended.err
    assert len(listed(run)) == 2


def _fails(number: int) -> Callable[..., None]:
    def fail(*_: Any, **__: Any) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize(
    ("call", "number", "says"),
    [
        ("fsync", errno.ENOSPC, "No space left on device; nothing was stored"),
        ("link", errno.EIO, "Input/output error; nothing was stored"),
        ("mkstemp", errno.EROFS, "Read-only file system; nothing was stored"),
        ("mkstemp", errno.EACCES, "Permission denied; nothing was stored"),
    ],
)
def test_a_full_disk_or_a_read_only_folder_stores_nothing(
    run: Run, shop: Path, monkeypatch: pytest.MonkeyPatch, call: str, number: int, says: str
) -> None:
    module = storing.tempfile if call == "mkstemp" else storing.os
    with monkeypatch.context() as broken:
        broken.setattr(module, call, _fails(number))
        said = _handed_in(run, shop)
    assert says in said
    assert len(listed(run)) == 1
    assert len(list((shop / "log").iterdir())) == 1


def _handed_in(run: Run, shop: Path) -> str:
    (shop / "new.yaml").write_text(yaml.safe_dump(changed(note="a new one")), "utf-8")
    ended = run("trial", "new", "new.yaml", "--log", "log")
    assert (ended.code, ended.out) == (2, "")
    return re.sub(r"\s+", " ", ended.err)


@pytest.mark.skipif(sys.platform == "win32", reason="needs limits of the system")
def test_a_disk_that_fills_up_in_the_middle_of_the_file_stores_nothing(run: Run, shop: Path) -> None:
    """The system itself refuses to write more than 400 bytes: the file is cut for real."""
    (shop / "new.yaml").write_text(yaml.safe_dump(changed(note="a new one")), "utf-8")
    ended = subprocess.run(
        [sys.executable, "-m", "advisor", "trial", "new", "new.yaml", "--log", "log"],
        cwd=shop, capture_output=True, text=True, check=False, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (400, 400)),
    )  # fmt: skip
    assert (ended.returncode, ended.stdout) == (2, ""), ended.stderr
    assert "nothing was stored" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert len(listed(run)) == 1
    assert len(list((shop / "log").iterdir())) == 1


def test_a_log_that_is_a_file_is_told(run: Run, shop: Path) -> None:
    for command in (("new", "first.yaml"), ("list",), ("next", "last"), ("learn",), ("propose",)):
        ended = run("trial", *command, "--log", "gate-arm.yaml")
        assert (ended.code, ended.out) == (2, "")
        assert "gate-arm.yaml" in ended.err
