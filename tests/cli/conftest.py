"""Runs the real command, in this process or as one of its own, and keeps what it printed."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import pytest

from advisor.cli.app import app

ROOT = Path(__file__).parents[2]

JOB = """\
name: gate-arm
alloy: s31603
part:
  mass: 0.9 kg
  size: 180 mm
  wall: 4 mm
start:
  defect: parting-line
  depth: 0.25 mm
features:
  - name: outer sweep
    shape: convex
    radius: 18 mm
    width: 30 mm
    area: 40 cm2
finish: satin-fine
cell: robot-floor-stand
batch: 400
"""


@dataclass(frozen=True)
class Outcome:
    """How a command ended."""

    code: int
    out: str
    err: str


Run = Callable[..., Outcome]


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The store of parsed knowledge is a folder of this test run's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        patch.delenv("ADVISOR_DEBUG", raising=False)
        yield


def _stream() -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(), encoding="utf-8")


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    buffer = stream.buffer
    assert isinstance(buffer, io.BytesIO)
    return buffer.getvalue().decode()


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in this process; `typed` is what comes in on standard input."""

    def command(*words: str, typed: str | bytes = "") -> Outcome:
        out, err = _stream(), _stream()
        content = typed.encode() if isinstance(typed, str) else typed
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(content), encoding="utf-8"))
        with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as ended:
            app(args=list(words))
        return Outcome(int(ended.value.code or 0), _text(out), _text(err))

    return command


def environment(**more: str) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT), **more}


@pytest.fixture
def process(tmp_path: Path) -> Run:
    """Run a command as a process of its own, in an empty folder."""

    def command(*words: str, typed: str = "", **more: str) -> Outcome:
        done = subprocess.run(
            [sys.executable, "-m", "advisor", *words],
            input=typed.encode(),
            capture_output=True,
            cwd=tmp_path,
            env=environment(**more),
            timeout=120,
            check=False,
        )
        return Outcome(done.returncode, done.stdout.decode(), done.stderr.decode())

    return command


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A sound job file."""
    path = tmp_path / "job.yaml"
    path.write_text(JOB, encoding="utf-8")
    return path
