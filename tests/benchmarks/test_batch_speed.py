"""How many jobs a batch does in a second on two processors: one cell, a few alloys, no two jobs alike."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.batch.journal import Journal
from advisor.batch.run import run
from advisor.batch.task import Way
from tests import invented
from tests.batch.conftest import tasks

#: Jobs in a round; with two workers half of them each, so that opening the desks counts little.
JOBS = 300


@pytest.mark.parametrize("workers", [1, 2])
def test_a_batch(workers: int, benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    todo = tasks(JOBS)
    rounds = iter(range(100))

    def batch() -> int:
        folder = tmp_path / f"{workers}-{next(rounds)}"
        folder.mkdir()
        way = Way(None, invented.knowledge().fingerprint, "json")
        keep = lambda name, text: (folder / name).write_text(text, encoding="utf-8") and None  # noqa: E731
        return len(run(todo, way, keep, Journal(folder), workers).lines)

    run(
        tasks(2 * workers), Way(None, invented.knowledge().fingerprint, "json"), workers=workers
    )  # desks open
    assert benchmark.pedantic(batch, rounds=1) == JOBS
    benchmark.extra_info["jobs"] = JOBS
